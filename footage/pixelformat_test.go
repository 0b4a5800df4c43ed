package footage

import (
	"context"
	"encoding/binary"
	"path/filepath"
	"testing"
)

// TestLumaOfEveryLayout takes the samples out of the raw pictures by the layout's definition,
// in Go, and holds what Read gives against them, bit by bit.
func TestLumaOfEveryLayout(t *testing.T) {
	t.Parallel()
	const width, height, frames = 64, 48, 3
	little, big := binary.LittleEndian.Uint16, binary.BigEndian.Uint16
	deep := func(order func([]byte) uint16) func(raw []byte, i int) int {
		return func(raw []byte, i int) int { return int(order(raw[2*i:])) }
	}
	every := func(step, first int) func(raw []byte, i int) int {
		return func(raw []byte, i int) int { return int(raw[step*i+first]) }
	}
	for format, c := range map[string]struct {
		bytes, depth int // of one whole picture; of a sample
		at           func(raw []byte, i int) int
	}{
		"yuv420p":     {width * height * 3 / 2, 8, every(1, 0)},
		"nv12":        {width * height * 3 / 2, 8, every(1, 0)},
		"yuyv422":     {width * height * 2, 8, every(2, 0)},
		"uyvy422":     {width * height * 2, 8, every(2, 1)},
		"gray":        {width * height, 8, every(1, 0)},
		"ya8":         {width * height * 2, 8, every(2, 0)},
		"gray10le":    {width * height * 2, 10, deep(little)},
		"yuv420p10le": {width * height * 3, 10, deep(little)},
		"yuv422p10be": {width * height * 4, 10, deep(big)},
		"yuv444p12le": {width * height * 6, 12, deep(little)},
	} {
		t.Run(format, func(t *testing.T) {
			t.Parallel()
			path := filepath.Join(t.TempDir(), format+".nut")
			raw := ffmpeg(t, "-f", "lavfi", "-i", "testsrc2=s=64x48:r=30:d=0.1", "-pix_fmt", format, "-c:v", "rawvideo", path,
				"-pix_fmt", format, "-c:v", "rawvideo", "-f", "rawvideo", "pipe:1")
			if len(raw) != frames*c.bytes {
				t.Fatalf("%d bytes of pictures, want %d", len(raw), frames*c.bytes)
			}
			f := opened(t, path, Options{})
			if got := f.Info().Depth; got != c.depth {
				t.Errorf("depth = %d, want %d", got, c.depth)
			}
			err := f.Read(context.Background(), 0, 0, func(fr Frame) error {
				picture := raw[fr.Index*c.bytes:][:c.bytes]
				for i := range width * height {
					got := 0
					if fr.Luma.Pix16 != nil {
						got = int(fr.Luma.Pix16[i])
					} else {
						got = int(fr.Luma.Pix8[i])
					}
					if want := c.at(picture, i); got != want {
						t.Fatalf("frame %d sample %d = %d, want %d", fr.Index, i, got, want)
					}
				}
				return nil
			})
			if err != nil {
				t.Fatal(err)
			}
		})
	}
}

// TestLumaFromColours checks the luma of ITU-R BT.601 (0.299 R + 0.587 G + 0.114 B, full
// range) for a clip that stores RGB, with plain colours.
func TestLumaFromColours(t *testing.T) {
	t.Parallel()
	const rounding = 1.0                                       // level: swscale's fixed-point matrix
	names := []string{"red", "lime", "blue", "white", "black"} // five fields side by side
	var fields, stack string
	for _, n := range names {
		fields += "color=" + n + ":s=32x32:r=30:d=0.1,format=rgb24[" + n + "];"
		stack += "[" + n + "]"
	}
	path := filepath.Join(t.TempDir(), "colours.nut")
	ffmpeg(t, "-filter_complex", fields+stack+"hstack=inputs=5", "-c:v", "rawvideo", path)
	l, err := opened(t, path, Options{}).Frame(context.Background(), 1)
	if err != nil {
		t.Fatal(err)
	}
	for i, want := range []float64{0.299 * 255, 0.587 * 255, 0.114 * 255, 255, 0} {
		if got := l.At(32*i+16, 16); got < want-rounding || got > want+rounding {
			t.Errorf("luma of %s = %g, want %g", names[i], got, want)
		}
	}
}
