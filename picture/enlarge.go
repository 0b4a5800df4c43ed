package picture

import (
	"encoding/binary"
	"image"
	"math"

	"golang.org/x/image/draw"
	"golang.org/x/image/math/f64"
)

// enlarge draws part of a picture, whose corner is at (0, 0), through a map that turns by quarter turns, enlarges and shifts, between its pixels in straight lines.
// Such a map leads each row and each column of the result to one of the source, so that places and weights are worked out once for
// each; a general transformation takes about three times as long (BenchmarkPrint).
func enlarge(to canvas, m f64.Aff3, from *image.RGBA, part image.Rectangle) {
	w, h := to.Rect.Dx(), to.Rect.Dy()
	var across, down []tap
	if m[0] != 0 {
		across = taps(w, m[0], m[2], part.Min.X, part.Max.X, 4)
		down = taps(h, m[4], m[5], part.Min.Y, part.Max.Y, from.Stride)
	} else {
		across = taps(w, m[1], m[2], part.Min.Y, part.Max.Y, from.Stride)
		down = taps(h, m[3], m[5], part.Min.X, part.Max.X, 4)
	}
	for y, d := range down {
		if !d.in {
			continue
		}
		out := to.Pix[y*to.Stride : y*to.Stride+4*w]
		for x, a := range across {
			if !a.in {
				continue
			}
			upper := between(four(from.Pix, d.lo+a.lo), four(from.Pix, d.lo+a.hi), a.w)
			lower := between(four(from.Pix, d.hi+a.lo), four(from.Pix, d.hi+a.hi), a.w)
			binary.LittleEndian.PutUint32(out[4*x:], between(upper, lower, d.w)|0xff<<24)
		}
	}
}

func four(b []byte, i int) uint32 { return binary.LittleEndian.Uint32(b[i : i+4 : i+4]) }

// between mixes two pixels of four bytes, w of 256 of the second, two bytes at a time; each is rounded.
func between(a, b, w uint32) uint32 {
	const even, half = 0x00ff00ff, 0x00800080
	low := ((a&even)*(256-w) + (b&even)*w + half) >> 8 & even
	high := ((a>>8&even)*(256-w) + (b>>8&even)*w + half) & ^uint32(even)
	return high | low
}

// tap says between which two rows, or columns, of the source one of the result lies: their offsets in bytes, and the weight of the
// second, of 256.
type tap struct {
	lo, hi int
	w      uint32
	in     bool
}

// taps works out n taps of a map x -> k x + shift on pixel corners, for source places least..most-1, each stride bytes from the last.
func taps(n int, k, shift float64, least, most, stride int) []tap {
	out := make([]tap, n)
	for i := range out {
		s := (float64(i)+0.5-shift)/k - 0.5
		if s < float64(least)-0.5 || s >= float64(most)-0.5 {
			continue
		}
		lo := int(math.Floor(s))
		out[i] = tap{lo: max(lo, least) * stride, hi: min(lo+1, most-1) * stride, w: uint32(math.Round(256 * (s - float64(lo)))), in: true}
	}
	return out
}

// rgba returns the picture with its corner at (0, 0), in the one form that enlarge reads.
func rgba(m image.Image) *image.RGBA {
	b := m.Bounds()
	if own, ok := m.(*image.RGBA); ok && b.Min == (image.Point{}) {
		return own
	}
	out := image.NewRGBA(image.Rect(0, 0, b.Dx(), b.Dy()))
	draw.Draw(out, out.Rect, m, b.Min, draw.Src)
	return out
}
