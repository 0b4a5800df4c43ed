package footage

import (
	"time"

	"padside/fault"
)

// Bounds against files that lie about their size, whether broken or hostile. Real footage stays far below them.
const (
	maxPixels   = 100_000_000      // of one picture
	maxSide     = 65_500           // px; JPEG's own bound
	maxFrames   = 2_000_000        // of a clip: 20 minutes at 1600 Hz
	maxStills   = 100_000          // of one run
	maxStill    = 1 << 30          // bytes of one still's file
	maxAnswer   = 512 << 20        // bytes of ffprobe's answer, about 200 a packet
	maxComplain = 64 << 10         // bytes kept of what a child complains of
	stall       = 60 * time.Second // a child that says nothing for so long is taken to hang
)

// checkSize refuses pictures that are empty or too large to hold several of.
func checkSize(what string, width, height int) error {
	if width <= 0 || height <= 0 {
		return fault.Requestf("export it again: it may be damaged", "%s: its picture has no size (%d x %d)", what, width, height)
	}
	if width > maxSide || height > maxSide || width > maxPixels/height {
		return fault.Requestf("export it smaller, or cropped to the flight",
			"%s: a picture of %d x %d px is larger than the %d megapixels that are read", what, width, height, maxPixels/1_000_000)
	}
	return nil
}
