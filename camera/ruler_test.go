package camera

import (
	"math"
	"math/rand/v2"
	"strings"
	"testing"
)

// barrelSetup is a rod of eight marks beside a flight of unknown lean.
func barrelSetup(r *rand.Rand) (pinhole, flight, Spec) {
	c := pinhole{3600, 4 * degree * r.NormFloat64()}
	fl := flight{y: -0.8, z: 8.15, lean: 2 * degree * r.NormFloat64()}
	s := rodSpec(c, 0.3, -0.8, 8, 0, 0.3, 0.6, 0.9, 1.1, 1.4, 1.7, 2)
	for i := range s.Marks {
		s.Marks[i].At = near(r, s.Marks[i].At, 0.5)
	}
	s.Lean = Measured{}
	s.RodRange = Measured{Value: 8 + 0.01*r.NormFloat64(), U: 0.01, Given: true}
	s.FlightRange = Measured{Value: 8.15 + 0.01*r.NormFloat64(), U: 0.01, Given: true}
	return c, fl, s
}

// ruler measures a ruler of 0.2 m that flies along by projecting its ends: its axis is off the flight by an angle, and it
// stretches on the way, as is allowed for. The line through 1 at rest is fitted as whoever traces would.
func (c pinhole) ruler(r *rand.Rand, f flight, reach float64) Growth {
	const n, long, noise = 24, 0.2, 0.001
	off, stretch := math.Hypot(axisU, taperU)*r.NormFloat64(), stretchU*r.NormFloat64()
	length := func(h float64) float64 {
		x, y, z := f.x+h*math.Sin(f.aside), f.y+h*math.Cos(f.lean), f.z+h*math.Sin(f.lean)
		return apart(c.see(x, y, z), c.see(x, y+long*math.Cos(f.lean+off), z+long*math.Sin(f.lean+off)))
	}
	var sxx, sxy float64
	for i := range n {
		h := 2.4 * float64(i+1) / n
		s := apart(f.at(c, 0), f.at(c, h))
		size := length(h)/length(0) + stretch*s/reach + noise*r.NormFloat64()
		sxx, sxy = sxx+s*s, sxy+s*(size-1)
	}
	return Growth{Rate: sxy / sxx, U: noise / math.Sqrt(sxx), Known: true, Ruler: true}
}

// TestRulerTellsLean: with the barrel's length the heights of a flight that leans unknown are less than half as uncertain as without, and nearer to the truth.
func TestRulerTellsLean(t *testing.T) {
	t.Parallel()
	const setups = 40
	var blind, told, wide, narrow float64
	for k := range setups {
		r := rand.New(rand.NewPCG(uint64(k), 11))
		c, fl, spec := barrelSetup(r)
		line, reach := fl.line(c, 2.4)
		p := fl.at(c, 2.2)
		a, _ := mustCalibrate(t, spec, line, reach)
		b, w, err := Calibrate(spec, line, reach, c.ruler(r, fl, reach))
		if err != nil {
			t.Fatal(err)
		}
		if !strings.Contains(codes(w), "scale-lean-seen") {
			t.Fatalf("warnings %q", codes(w))
		}
		if k == 0 {
			t.Logf("leans by %.2f degrees: %s", fl.lean/degree, w)
		}
		blind, told = blind+math.Pow(a.HeightAt(p)/2.2-1, 2), told+math.Pow(b.HeightAt(p)/2.2-1, 2)
		wide, narrow = wide+a.halfWidth("")/setups, narrow+b.halfWidth("")/setups
	}
	blind, told = math.Sqrt(blind/setups), math.Sqrt(told/setups)
	t.Logf("rms error %.2f %% without, %.2f %% with; half widths %.2f and %.2f %%", 100*blind, 100*told, 100*wide, 100*narrow)
	if narrow > wide/2 || told > blind/2 {
		t.Errorf("heights err by %.2f %% (rms) with the ruler, by %.2f %% without; half widths %.2f and %.2f %%", 100*told, 100*blind, 100*narrow, 100*wide)
	}
}

// TestRulerContradicts: a length that no lean to be expected explains is left out; an assumed lean becomes so uncertain that the interval holds either, a
// stated one stays.
func TestRulerContradicts(t *testing.T) {
	t.Parallel()
	r := rand.New(rand.NewPCG(1, 12))
	c, fl, spec := barrelSetup(r)
	fl.lean = 10 * degree
	line, reach := fl.line(c, 2.4)
	g := c.ruler(r, fl, reach)
	for _, stated := range []bool{false, true} {
		if spec.Lean = (Measured{}); stated {
			spec.Lean = Measured{U: 0.5 * degree, Given: true}
		}
		plain, _ := mustCalibrate(t, spec, line, reach)
		s, w, err := Calibrate(spec, line, reach, g)
		if err != nil {
			t.Fatal(err)
		}
		if !strings.Contains(codes(w), "scale-size-contradicted") {
			t.Errorf("stated %v: warnings %q", stated, codes(w))
		}
		if s.Height(300) != plain.Height(300) {
			t.Errorf("stated %v: the length moves heights", stated)
		}
		off, half := math.Abs(s.HeightAt(fl.at(c, 2.2))/2.2-1), s.halfWidth("")
		t.Logf("stated %v: off by %.2f %%, half width %.2f %% (%.2f %% without)", stated, 100*off, 100*half, 100*plain.halfWidth(""))
		if grown := half > 1.5*plain.halfWidth(""); grown == stated {
			t.Errorf("stated %v: half width %.2f %%, without the length %.2f %%", stated, 100*half, 100*plain.halfWidth(""))
		}
		if !stated && off > half {
			t.Errorf("off by %.2f %%, half width %.2f %%", 100*off, 100*half)
		}
	}
}

// TestRulerWhereMarksScatter: of marks that may scatter tenfold the ruler corrects what a scatter of that size leaves, so that no draw runs away: the
// heights' standard deviation is near their interval's, a long lens included.
func TestRulerWhereMarksScatter(t *testing.T) {
	t.Parallel()
	for _, lens := range []float64{1, 3} { // times as long: three times the picture's scale
		r := rand.New(rand.NewPCG(1, 14))
		c := pinhole{3600 * lens, 1 * degree}
		fl := flight{y: -0.3, z: 9.5}
		spec := rodSpec(c, 0.3, -0.3, 9.5, 0, 0.6/lens, 1.1/lens, 2/lens)
		for i := range spec.Marks {
			spec.Marks[i].At = near(r, spec.Marks[i].At, 0.5)
		}
		spec.Lean = Measured{}
		line, reach := fl.line(c, 1.6/lens)
		s, _, err := Calibrate(spec, line, reach, Growth{Rate: -0.013 / reach, U: 0.002 / reach, Known: true, Ruler: true})
		if err != nil {
			t.Fatal(err)
		}
		const draws, farthest = 20000, 0.2 // of the height: four times what the widest draw of the marks alone makes
		for k := range draws {
			own := rand.New(rand.NewPCG(uint64(k), 15))
			d := s.rest()
			s.draw(own, own, "", d)
			if off := math.Abs(s.along(d).at(s.reach)/s.top - 1); off > farthest {
				t.Fatalf("lens %g: draw %d moves the height by %.0f %% (the marks' scatter is %.1f times what is stated)", lens, k, 100*off, d.spread)
			}
		}
	}
}
