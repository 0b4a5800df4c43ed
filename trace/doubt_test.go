package trace

import (
	"math"
	"testing"

	"padside/camera"
	"padside/register"
	"padside/stabilise"
)

// flightOf is a refiner of a vehicle that stands in `still` frames and then rises by 4 px a frame, its paint at a height below its
// middle told by look, matched by its looks at rest. It returns by how much px the places in flight lie too far along.
func flightOf(still, moving int, look func(moving bool, below float64) float64) (*refiner, float64) {
	const w, h = 20, 30
	n := still + moving
	r := &refiner{basis: register.NewBasis(), workers: 1, patchW: w, patchH: h, line: camera.FlightLine{Uy: -1}, steady: &stabilise.Background{},
		blur: make([]int, n), sharper: make([]float64, n), until: n, reach: 3, weight: register.Flat(w * h)}
	at := register.Area{W: w, H: h}.Grown(register.Margin + cropSlack)
	cx, cy := float64(at.W-1)/2, float64(at.H-1)/2
	r.line.Rest.X, r.line.Rest.Y = cx, cy
	for i := range n {
		way := 4 * max(0, i-still+1)
		c := crop{Area: register.Area{Y: -way, W: at.W, H: at.H}, grey: 1.0 / 256, pix16: make([]uint16, at.W*at.H)}
		for k := range c.pix16 {
			x, y := float64(k%at.W)-cx, float64(k/at.W)-cy
			c.pix16[k] = uint16(256 * (look(i >= still, y) + 10*math.Sin(x/3)))
		}
		r.sights = append(r.sights, sighting{frame: i, t: float64(i), crop: c})
		r.warps = append(r.warps, register.Warp{X: cx, Y: cy - float64(way), A: 1})
		if i < still {
			r.rest = append(r.rest, i)
		}
	}
	r.patch = &register.Patch{W: w, H: h, Weight: r.weight, Pix: r.resample([]int{0}, r.warps[:1])}
	m, _ := r.patch.Matcher(r.basis, 0, 0)
	off := 0.0
	r.matches = make([]register.Match, n)
	register.Parallel(n, 1, r.basis, func(s *register.Scratch, i int) {
		at := r.warps[i].Y
		r.matches[i] = r.match(s, m, i)
		r.matches[i].OK = true
		r.warps[i] = r.matches[i].Warp
		if i >= still {
			off += (at - r.warps[i].Y) / float64(moving)
		}
	})
	return r, off
}

// Light that falls on the vehicle in flight alone pulls its place. A reference of the looks in flight differs there, of few frames
// as of many, and what it differs by near rest is stated of all frames at rest together.
func TestOtherLooksShowWhatRestErrsBy(t *testing.T) {
	t.Parallel()
	edge := func(_ bool, below float64) float64 { return 120 + 50*math.Tanh(below/3) }
	lit := func(moving bool, below float64) float64 {
		if moving {
			return edge(moving, below) + 25*math.Exp(-(below-4)*(below-4)/20)
		}
		return edge(moving, below)
	}
	for _, moving := range []int{6, 40} {
		r, off := flightOf(8, moving, lit)
		r.weighDoubt()
		if r.restDoubt < 0.03 || r.doubt[len(r.doubt)-1] < 0.03 || math.Abs(off) < 0.1 {
			t.Errorf("%d frames in flight lie %.3f px off; doubt at rest %.3f px, in flight %.3f", moving, off, r.restDoubt, r.doubt[len(r.doubt)-1])
		}
		r, off = flightOf(8, moving, edge)
		if r.weighDoubt(); r.restDoubt > 0.005 || math.Abs(off) > 0.005 {
			t.Errorf("%d frames in one light: %.3f px off, doubt at rest %.3f px", moving, off, r.restDoubt)
		}
	}
}

// What differences show is no less where they cross zero, and more where they are large.
func TestDoubtDoesNotCrossZero(t *testing.T) {
	t.Parallel()
	by := make([]float64, 40)
	for k := range by {
		by[k] = math.Sin(2 * math.Pi * float64(k) / 16)
		if k < 20 {
			by[k] *= 0.1
		}
	}
	size := around(by)
	all := math.Sqrt((0.01 + 1) / 4)
	for k, v := range size {
		if v < 0.49*all {
			t.Errorf("difference %d, %.2f, of %.2f in all: %.2f", k, by[k], all, v)
		}
	}
	if size[30] < 0.6 || size[4] > 0.5*size[30] {
		t.Errorf("large differences show %.2f, small ones %.2f", size[30], size[4])
	}
}

// Where no frame is near rest, the first that is off it tells; what lies within the edges' width of rest tells nothing.
func TestNearRest(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		way, by []float64
		want    float64
	}{
		{[]float64{1, 5, 10, 50}, []float64{9, 0.3, -0.3, 7}, 0.3},
		{[]float64{1, 40, 80}, []float64{9, 0.2, 7}, 0.2},
		{[]float64{1, 1.5}, []float64{9, 9}, 0},
	} {
		if got := nearRest(c.way, c.by); math.Abs(got-c.want) > 1e-12 {
			t.Errorf("%v at %v px: %g, want %g", c.by, c.way, got, c.want)
		}
	}
}
