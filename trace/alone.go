package trace

import (
	"slices"

	"padside/footage"
	"padside/stabilise"
)

// Compression frame by frame. A clip whose frames are coded each by itself makes the same error of the same picture: all frames at rest share it, and their
// scatter does not show it.

// aloneRestU is the standard uncertainty, px, of what all frames at rest err by together against those in motion in such a clip: 0.035 root mean square, 0.012 to
// 0.060, on six drawn launches through JPEG of quality 2 to 5, 120 to 480 frames a second (bench/world, seeds 100 to 199).
const aloneRestU = 0.035

// lossless are codecs, by ffmpeg's names, that keep every sample.
var lossless = []string{"ffv1", "huffyuv", "ffvhuff", "utvideo", "rawvideo", "png", "qtrle", "v210", "r210", "v410"}

// codedAlone reports whether the footage is a clip that is not known to be coded as what differs from other frames, nor to keep every sample. Stills are no clip: see
// RestU.
func codedAlone(src Source) bool {
	c, ok := src.(interface{ Info() footage.Info })
	if !ok || stabilise.CodedBetween(src) {
		return false
	}
	info := c.Info()
	return info.Kind == footage.Clip && !slices.Contains(lossless, info.Codec)
}

// restU is the standard uncertainty, px, of what all frames at rest err by together; between: what they are is coded as what differs from others.
func (r *refiner) restU(between bool) float64 {
	switch {
	case between:
		return r.heldU(r.drift.Quantum())
	case r.alone:
		return aloneRestU
	}
	return RestU
}
