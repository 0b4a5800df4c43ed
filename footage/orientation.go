package footage

import (
	"math"

	"padside/timebase"
)

// orientation turns a stored picture upright: first mirrored left to right, if mirror is set, then turned clockwise by quarter
// turns. These are all eight ways of laying a picture.
type orientation struct {
	mirror bool
	turns  int // 0 to 3
}

// fromEXIF returns the orientation of EXIF's Orientation tag (Exif 2.3, CIPA DC-008, tag 0x0112); values outside 1 to 8 count
// as 1, "as stored".
func fromEXIF(tag uint32) orientation {
	if tag < 1 || tag > 8 {
		tag = 1
	}
	return [9]orientation{
		1: {}, 2: {mirror: true}, 3: {turns: 2}, 4: {mirror: true, turns: 2},
		5: {mirror: true, turns: 3}, 6: {turns: 1}, 7: {mirror: true, turns: 1}, 8: {turns: 3},
	}[tag]
}

// fromMatrix returns the orientation nearest to a display matrix (ISO/IEC 14496-12, 6.2.2): a stored point (x, y), y down, is
// shown at (a x + c y, b x + d y). exact is false where the matrix is more than a degree away from it.
func fromMatrix(a, b, c, d float64) (best orientation, exact bool) {
	scale := math.Sqrt(math.Abs(a*d - b*c))
	if !(scale > 0) || math.IsInf(scale, 0) {
		return orientation{}, a == 0 && b == 0 && c == 0 && d == 0
	}
	const degree = math.Pi / 180
	least := math.Inf(1)
	for tag := uint32(1); tag <= 8; tag++ {
		o := fromEXIF(tag)
		p, q, r, s := o.matrix()
		away := max(math.Abs(a/scale-p), math.Abs(b/scale-q), math.Abs(c/scale-r), math.Abs(d/scale-s))
		if away < least {
			best, least = o, away
		}
	}
	return best, least < degree
}

// matrix is the display matrix of the orientation.
func (o orientation) matrix() (a, b, c, d float64) {
	a, b, c, d = 1, 0, 0, 1
	if o.mirror {
		a = -1
	}
	for range o.turns { // (x, y) goes to (-y, x)
		a, b, c, d = -b, a, -d, c
	}
	return a, b, c, d
}

// turned returns the orientation followed by more degrees clockwise, a multiple of 90.
func (o orientation) turned(degrees int) orientation {
	o.turns = ((o.turns+degrees/90)%4 + 4) % 4
	return o
}

// degrees is the clockwise turn, 0 to 270.
func (o orientation) degrees() int { return 90 * o.turns }

// size returns the size of the upright picture.
func (o orientation) size(width, height int) (int, int) {
	if o.turns%2 == 1 {
		return height, width
	}
	return width, height
}

// mirrorFilter and turnFilter are the two steps as ffmpeg's filters, which move pixels and change none.
func (o orientation) mirrorFilter() []string {
	if o.mirror {
		return []string{"hflip"}
	}
	return nil
}

func (o orientation) turnFilter() []string {
	return [4][]string{nil, {"transpose=clock"}, {"hflip", "vflip"}, {"transpose=cclock"}}[o.turns]
}

// strides returns where stored pixel (0, 0) lands in the upright picture's samples, and the steps there for one stored pixel
// to the right and one down.
func (o orientation) strides(width, height int) (start, dx, dy int) {
	w, h := o.size(width, height)
	a, b, c, d := o.matrix()
	dx, dy = int(a)+int(b)*w, int(c)+int(d)*w
	if a+c < 0 {
		start += w - 1
	}
	if b+d < 0 {
		start += (h - 1) * w
	}
	return start, dx, dy
}

// lay copies src, rows of width samples stride apart, upright into dst without padding.
func lay[T any](o orientation, src, dst []T, width, height, stride int) {
	start, dx, dy := o.strides(width, height)
	for y := range height {
		row, at := src[y*stride:][:width], start+y*dy
		if dx == 1 {
			copy(dst[at:], row)
			continue
		}
		for _, v := range row {
			dst[at] = v
			at += dx
		}
	}
}

// readout says which stored row shows a place of the upright picture of a size.
func (o orientation) readout(width, height int) timebase.Readout {
	a, b, c, d := o.matrix()
	r := timebase.Readout{X: c, Y: d}
	if a+c < 0 {
		r.First -= c * float64(width-1)
	}
	if b+d < 0 {
		r.First -= d * float64(height-1)
	}
	return r
}
