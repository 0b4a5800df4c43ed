package camera

import (
	"math"
	"math/rand/v2"
	"testing"
)

// TestNeverAbsurd: whatever is stated, Calibrate refuses or gives finite heights and finite draws.
func TestNeverAbsurd(t *testing.T) {
	t.Parallel()
	const trials = 3000
	accepted := 0
	for i := range trials {
		r := rand.New(rand.NewPCG(uint64(i), 5))
		some := func() Measured { // given or not, exact or not, sometimes absurd
			m := Measured{Value: math.Exp(3 * r.NormFloat64()), Given: r.IntN(3) > 0}
			switch r.IntN(4) {
			case 0:
				m.Exact = true
			case 1:
				m.U = m.Value * math.Exp(3*r.NormFloat64()-3)
			}
			return m
		}
		at := func() Pixel { return Pixel{1000 * r.Float64(), 2000 * r.Float64()} }
		s := Spec{Kind: []string{KindRod, KindLength, KindPlane}[r.IntN(3)], Width: 1001, Height: 2001,
			RodRange: some(), FlightRange: some(), Length: some(), Ends: [2]Pixel{at(), at()}}
		s.Lean = Measured{Value: 0.3 * r.NormFloat64(), U: 0.1 * r.Float64(), Given: r.IntN(2) == 0}
		s.OnLine = s.Kind == KindRod && r.IntN(2) == 0
		s.Lens.Tilt = Measured{Value: 0.4 * r.NormFloat64(), U: 0.1 * r.Float64(), Given: r.IntN(2) == 0, Exact: true}
		if r.IntN(2) == 0 {
			s.Lens.FocalLength, s.Lens.PixelPitch = Measured{Value: 0.01 * r.Float64(), Given: true}, Measured{Value: 5e-6, Given: true}
			s.Lens.K1 = 0.1 * r.NormFloat64()
		}
		if r.IntN(3) == 0 {
			u := float64(r.IntN(3))
			s.MarkU = &u
		}
		y, h := 1900*r.Float64(), 0.0
		for range 1 + r.IntN(6) { // a rod of a sort, its marks out of place by little or much
			s.Marks = append(s.Marks, Mark{Height: h, At: Pixel{500 + 10*r.NormFloat64(), max(0, y)}, Width: float64(r.IntN(3)) * 20 * r.Float64()})
			y, h = y-400*r.Float64(), h+math.Exp(2*r.NormFloat64())
		}
		for range 3 + r.IntN(4) {
			p := at()
			s.Plane = append(s.Plane, PlanePoint{X: p.X/100 + 0.1*r.NormFloat64(), Y: (2000 - p.Y) / 100, At: p})
		}
		line := FlightLine{Rest: at(), Uy: -1}
		g := Growth{Rate: 1e-3 * r.NormFloat64(), U: 1e-3 * r.Float64(), Known: r.IntN(2) == 0}
		scale, _, err := Calibrate(s, line, line.Rest.Y, g)
		if err != nil {
			continue
		}
		accepted++
		for range 20 {
			top := scale.Height(line.Rest.Y)
			y, dy, ddy := scale.Warp(r, r, "").At(top)
			if v := top + y + dy + ddy; math.IsNaN(v) || math.IsInf(v, 0) || top <= 0 {
				t.Fatalf("trial %d: height %g, drawn %g (%g, %g)\n%+v", i, top, y, dy, ddy, s)
			}
		}
	}
	if accepted < trials/20 {
		t.Errorf("only %d of %d setups are accepted: the test tries nothing", accepted, trials)
	}
	t.Logf("%d of %d setups accepted", accepted, trials)
}
