package trace

import (
	"context"
	"math"
	"testing"

	"padside/camera"
	"padside/footage"
	"padside/register"
	"padside/stabilise"
)

func TestEqualShareFindsCopies(t *testing.T) {
	t.Parallel()
	const w, h = 40, 60
	picture := func(seed uint32) []uint8 {
		out := make([]uint8, w*h)
		for i := range out {
			seed = seed*1664525 + 1013904223
			out[i] = uint8(100 + seed>>30) // four levels: a quarter agree by chance
		}
		return out
	}
	at := func(x, y int, pix []uint8) *crop {
		return &crop{Area: register.Area{X: x, Y: y, W: w, H: h}, pix8: pix, grey: 1}
	}
	one, other := picture(1), picture(2)
	moved := make([]uint8, w*h)
	for y := range h - 1 {
		copy(moved[y*w:(y+1)*w], one[(y+1)*w:(y+2)*w])
	}
	for _, c := range []struct {
		name   string
		a, b   *crop
		lo, hi float64
	}{
		{"the same picture", at(5, 7, one), at(5, 7, one), 1, 1},
		{"the same picture, cut out a row further", at(5, 7, one), at(5, 8, moved), 0.99, 1},
		{"another picture", at(5, 7, one), at(5, 7, other), 0.2, 0.3},
		{"the same samples at another place", at(5, 7, one), at(5, 8, one), 0.2, 0.3},
		{"far apart", at(5, 7, one), at(200, 7, one), 0, 0},
		{"none", at(5, 7, one), &crop{}, 0, 0},
	} {
		if got := equalShare(c.a, c.b, 20, 30); got < c.lo || got > c.hi {
			t.Errorf("%s: share %.3f, want %g to %g", c.name, got, c.lo, c.hi)
		}
	}
}

// resting is a refiner of an edge of so many levels that was at rest for a while, s.
func resting(contrast float32, long float64) *refiner {
	const side = 16
	p := &register.Patch{W: side, H: side, Weight: register.Flat(side * side), Pix: make([]float32, (side+2*register.Margin)*(side+2*register.Margin))}
	for k := range p.Pix {
		p.Pix[k] = contrast * min(1, max(0, float32(k/(side+2*register.Margin)-register.Margin-3)/3))
	}
	return &refiner{patch: p, patchW: side, patchH: side, line: camera.FlightLine{Uy: -1}, rest: []int{0, 1}, sights: []sighting{{t: 3}, {t: 3 + long}}, matches: make([]register.Match, 2)}
}

// The longer the rest was one picture, the less is known of where the camera was meanwhile, up to
// what would have been coded anew: the more, the coarser the step and the fainter the vehicle.
func TestHeldU(t *testing.T) {
	rest := func(contrast float32, q, long float64) float64 { return resting(contrast, long).heldU(q) }
	if short, medium, long := rest(90, 8, 0.01), rest(90, 8, 0.1), rest(90, 8, 3); !(heldLeast <= short && short < medium && medium < long) {
		t.Errorf("heldU after 0.01, 0.1 and 3 s: %.4f, %.4f, %.4f", short, medium, long)
	}
	part := func(contrast float32, q float64) float64 {
		return math.Sqrt(math.Pow(rest(contrast, q, 3), 2) - heldLeast*heldLeast)
	}
	for _, c := range []struct {
		contrast float32
		q, times float64
	}{{90, 8, 1}, {90, 16, 2}, {45, 8, 2}} {
		if got := part(c.contrast, c.q) / part(90, 8); math.Abs(got-c.times) > 1e-3 {
			t.Errorf("contrast %g, step %g: %.3f times that of 90 and 8, want %g", c.contrast, c.q, got, c.times)
		}
	}
}

// Under lamps that pulse the vehicle moves unseen in the dark.
func TestHeldInTheDark(t *testing.T) {
	for _, c := range []struct{ dark, bright, times float64 }{{1, 1, 1}, {0.5, 2, math.Sqrt(17. / 8)}, {1.5, 1.5, 1}} {
		r := resting(90, 3)
		r.matches[0], r.matches[1] = register.Match{OK: true, G: c.dark}, register.Match{OK: true, G: c.bright}
		if got := r.dimmed(); math.Abs(got-c.times) > 1e-9 {
			t.Errorf("gains %g and %g: %.3f times as far, want %.3f", c.dark, c.bright, got, c.times)
		}
		plain := resting(90, 3).heldU(8)
		if got := r.heldU(8); c.times > 1 && !(got > 1.3*plain) {
			t.Errorf("gains %g and %g: heldU %.4f, in even light %.4f", c.dark, c.bright, got, plain)
		}
	}
}

// What was coded anew is told by squares, and weighed by the slopes that show a movement along the flight.
func TestRenewedShare(t *testing.T) {
	t.Parallel()
	const w, h = 24, 24
	stripes := func(anew func(x, y int) bool) *crop {
		pix := make([]uint8, w*h)
		for i := range pix {
			x, y := i%w, i/w
			pix[i] = uint8(100 + 20*(y%4/2)) // across a flight upwards
			if x < w/2 {
				pix[i] = uint8(100 + 20*(x%4/2)) // along it
			}
			if anew(x, y) {
				pix[i] += uint8(4 * ((x + y) % 2)) // no change of light
			}
		}
		return &crop{Area: register.Area{X: 0, Y: 0, W: w, H: h}, pix8: pix, grey: 1}
	}
	old := stripes(func(int, int) bool { return false })
	for _, c := range []struct {
		name   string
		anew   func(x, y int) bool
		lo, hi float64
	}{
		{"nothing", func(int, int) bool { return false }, 0, 0},
		{"all", func(int, int) bool { return true }, 1, 1},
		{"what does not show it", func(x, y int) bool { return x < w/2 }, 0, 0.1},
		{"half of what shows it", func(x, y int) bool { return x >= w/2 && y < h/2 }, 0.4, 0.65},
		{"a sample here and there", func(x, y int) bool { return x%4 == 0 && y%4 == 0 }, 0, 0},
	} {
		if got := renewedShare(old, stripes(c.anew), w, h, 'y'); got < c.lo || got > c.hi {
			t.Errorf("%s: %.3f, want %g to %g", c.name, got, c.lo, c.hi)
		}
	}
	if got := renewedShare(old, &crop{}, w, h, 'y'); got != 1 {
		t.Errorf("nothing in common: %.3f, want 1", got)
	}
}

// Of copies of the rest the last tells, and the first; a frame mixed of both its neighbours tells nothing near rest; a vehicle of which a part is
// coded anew is farther than it is seen.
func TestTelling(t *testing.T) {
	t.Parallel()
	const w, h = 16, 16
	r := &refiner{patchW: w, patchH: h, drift: stabilise.NewDrift(clip{n: 10, keys: []int{0}, between: []int{1, 5}}), steady: &stabilise.Background{}, line: camera.FlightLine{Ux: 0, Uy: -1}}
	// rows of a picture are renewed from the top down to so many
	for i, c := range []struct {
		way  float64
		anew int
	}{{0, 0}, {0, 0}, {0.001, 0}, {0, 0}, {0.002, 0}, {0.02, 0}, {0.06, 4}, {0.2, 16}, {0.4, 16}, {0.7, 16}} {
		pix := make([]uint8, w*h)
		for k := range pix {
			pix[k] = uint8(100 + 20*(k/w%4/2))
			if k/w < c.anew {
				pix[k] += uint8(i)
			}
		}
		r.sights = append(r.sights, sighting{frame: i, crop: crop{Area: register.Area{X: 0, Y: 0, W: w, H: h}, pix8: pix, grey: 1}})
		r.warps = append(r.warps, register.Warp{Y: -c.way, A: 1})
	}
	got := r.telling()
	silent := []bool{false, true, true, true, false, true, false, false, false, false}
	for i := range got {
		if got[i].silent != silent[i] {
			t.Errorf("frame %d: silent %v, want %v", i, got[i].silent, silent[i])
		}
	}
	if got[0].lag != restCreep || got[4].lag != StillLag || got[7].lag != 0 {
		t.Errorf("lags of the first copy, the last, and the first frame coded anew: %g, %g, %g", got[0].lag, got[4].lag, got[7].lag)
	}
	// a third of the slopes are new: it has gone between 0.058 px and three times that
	if b := got[6].behind; b < 0.02 || b > 0.05 || got[6].lag < partLag {
		t.Errorf("a third coded anew: behind by %.3f px, u %.3f", b, got[6].lag)
	}
}

// clip is footage of which only the key frames are known.
type clip struct {
	n             int
	keys, between []int
}

func (c clip) Size() (int, int) { return 0, 0 }
func (c clip) Len() int         { return c.n }
func (c clip) KeyFrames() []int { return c.keys }
func (c clip) Between() []int   { return c.between }
func (c clip) Read(context.Context, int, int, func(footage.Frame) error) error {
	return nil
}
