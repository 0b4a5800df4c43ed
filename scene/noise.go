package scene

import (
	"math"
	"math/rand/v2"
)

// noise is smooth gradient noise on the plane: mean 0, within about -1 to 1, features of size 1
// (K. Perlin, "Improving noise", SIGGRAPH 2002).
type noise struct{ perm [512]uint8 }

func newNoise(seed uint64) *noise {
	n := &noise{}
	r := rand.New(rand.NewPCG(seed, 0x6e6f697365))
	for i, p := range r.Perm(256) {
		n.perm[i], n.perm[i+256] = uint8(p), uint8(p)
	}
	return n
}

// at evaluates the noise.
func (n *noise) at(x, y float64) float64 {
	fx, fy := math.Floor(x), math.Floor(y)
	ix, iy := int(fx)&255, int(fy)&255
	x, y = x-fx, y-fy
	a, b := int(n.perm[ix])+iy, int(n.perm[ix+1])+iy
	u, v := x*x*x*(x*(x*6-15)+10), y*y*y*(y*(y*6-15)+10)
	low := mixf(slope(n.perm[a], x, y), slope(n.perm[b], x-1, y), u)
	high := mixf(slope(n.perm[a+1], x, y-1), slope(n.perm[b+1], x-1, y-1), u)
	return 1.5 * mixf(low, high, v)
}

// slope is the inner product of (x, y) with one of eight directions.
func slope(h uint8, x, y float64) float64 {
	const d = math.Sqrt2 / 2
	switch h & 7 {
	case 0:
		return x
	case 1:
		return -x
	case 2:
		return y
	case 3:
		return -y
	case 4:
		return d * (x + y)
	case 5:
		return d * (x - y)
	case 6:
		return d * (y - x)
	}
	return -d * (x + y)
}

// fractal sums octaves of noise from wavelength 1 down to finest, each half as strong as
// the one before; octaves near finest fade, so that nothing finer than a pixel is drawn.
func (n *noise) fractal(x, y, finest float64, octaves int) float64 {
	sum, weight, size := 0.0, 1.0, 1.0
	for range octaves {
		fade := smooth(1, 2.5, size/finest)
		if fade == 0 {
			break
		}
		sum += weight * fade * n.at(x/size+17.3*weight, y/size-9.1*weight)
		size /= 2.07
		weight *= 0.5
	}
	return sum
}

// row adds weight times the noise at (x + i step, y), i = 0, 1, ..., step > 0, to out. Within a cell of the lattice the slopes of its left
// and of its right corners are linear in x along a row, so that a place costs two of them and a blend.
func (n *noise) row(out []float64, x, step, y, weight float64) {
	fy := math.Floor(y)
	iy := int(fy) & 255
	y -= fy
	v := y * y * y * (y*(y*6-15) + 10)
	weight *= 1.5
	corner := func(ix int, x float64) float64 { // of the cell's left (x from 0) or right (x from -1) side
		a := int(n.perm[ix&255]) + iy
		return weight * mixf(slope(n.perm[a], x, y), slope(n.perm[a+1], x, y-1), v)
	}
	for i := 0; i < len(out); {
		at := x + float64(i)*step
		cell := math.Floor(at)
		ix := int(cell)
		left, right := corner(ix, 0), corner(ix+1, -1)
		steepLeft, steepRight := corner(ix, 1)-left, corner(ix+1, 0)-right
		for at -= cell; at < 1 && i < len(out); i++ {
			l, r := left+steepLeft*at, right+steepRight*at
			out[i] += l + (r-l)*at*at*at*(at*(at*6-15)+10)
			at += step
		}
	}
}

// fractalRow adds the fractal at (x + i step, y), i = 0, 1, ..., to out.
func (n *noise) fractalRow(out []float64, x, step, y, finest float64, octaves int) {
	weight, size := 1.0, 1.0
	for range octaves {
		fade := smooth(1, 2.5, size/finest)
		if fade == 0 {
			return
		}
		n.row(out, x/size+17.3*weight, step/size, y/size-9.1*weight, weight*fade)
		size /= 2.07
		weight *= 0.5
	}
}

func mixf(a, b, t float64) float64 { return a + (b-a)*t }

func clamp01(x float64) float64 { return min(1, max(0, x)) }

// smooth rises from 0 at lo to 1 at hi.
func smooth(lo, hi, x float64) float64 {
	t := clamp01((x - lo) / (hi - lo))
	return t * t * (3 - 2*t)
}

// RGB is linear light, relative to white.
type RGB [3]float64

func (a RGB) times(k float64) RGB { return RGB{a[0] * k, a[1] * k, a[2] * k} }

func (a RGB) toward(b RGB, t float64) RGB {
	return RGB{mixf(a[0], b[0], t), mixf(a[1], b[1], t), mixf(a[2], b[2], t)}
}

// luminance is the relative luminance of linear light (ITU-R BT.709).
func (a RGB) luminance() float64 { return 0.2126*a[0] + 0.7152*a[1] + 0.0722*a[2] }
