package camera

import (
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"padside/metrology"
)

// Coverage: of the 95 % intervals of 1100 simulated setups, 93 to 97 % hold the true height.
const (
	setups       = 1100
	drawsEach    = 250
	leastCovered = 0.93
	mostCovered  = 0.97
)

// trial makes one setup with its own errors: what is given to Calibrate, the true height
// and where it is seen.
type trial func(r *rand.Rand) (Spec, FlightLine, float64, Growth, Pixel, float64)

// covered runs the simulation; width is the mean relative half width.
func covered(t *testing.T, f trial) (share, width float64) {
	t.Helper()
	var held int
	for k := range setups {
		r := rand.New(rand.NewPCG(uint64(k), 8))
		spec, line, reach, growth, p, h := f(r)
		s, _, err := calibrate(spec, line, reach, growth)
		if err != nil {
			t.Fatal(err)
		}
		nominal := s.HeightAt(p)
		y := make([]float64, drawsEach)
		for i := range y {
			y[i], _, _ = s.Warp(r, r, "").At(nominal)
		}
		iv, err := metrology.SymmetricInterval(y, 0.95) // the shortest one's ends scatter inwards
		if err != nil {
			t.Fatal(err)
		}
		if iv.Holds(h) {
			held++
		}
		width += iv.Width() / 2 / h / setups
	}
	return float64(held) / setups, width
}

func near(r *rand.Rand, p Pixel, u float64) Pixel {
	return Pixel{p.X + u*r.NormFloat64(), p.Y + u*r.NormFloat64()}
}

func TestCoverage(t *testing.T) {
	t.Parallel()
	if testing.Short() {
		t.Skip("simulates 1100 setups of each kind")
	}
	cam := func(r *rand.Rand, tilt float64) pinhole { return pinhole{1800, tilt * r.NormFloat64()} }
	lens := Lens{FocalLength: exactly(9e-3), PixelPitch: exactly(5e-6)}
	for name, f := range map[string]trial{
		"rod of five marks, tilt and lean unknown": func(r *rand.Rand) (Spec, FlightLine, float64, Growth, Pixel, float64) {
			c := cam(r, 8*degree)
			fl := flight{y: -1.2, z: 8.15, lean: 2 * degree * r.NormFloat64()}
			s := rodSpec(c, 0.02, -1.2, 8, 0, 0.5, 1, 1.5, 2)
			for i := range s.Marks {
				s.Marks[i].At = near(r, s.Marks[i].At, 0.5)
			}
			s.Lean, s.Lens = Measured{}, lens
			s.RodRange = Measured{Value: 8 + 0.02*r.NormFloat64(), U: 0.02, Given: true}
			s.FlightRange = Measured{Value: 8.15 + 0.05*r.NormFloat64(), U: 0.05, Given: true}
			line, reach := fl.line(c, 2.4)
			return s, line, reach, Growth{}, fl.at(c, 2.2), 2.2
		},
		"long lens tilted up, lens and lean unknown, low down": func(r *rand.Rand) (Spec, FlightLine, float64, Growth, Pixel, float64) {
			c := pinhole{5500, 8*degree + degree*r.NormFloat64()}
			fl := flight{y: -0.1, z: 23, lean: 2 * degree * r.NormFloat64()}
			s := rodSpec(c, -1.5, -1.2, 22.7, 0, 1, 2, 3, 4, 5, 6, 7)
			for i := range s.Marks {
				s.Marks[i].At = near(r, s.Marks[i].At, 0.5)
			}
			s.Lean = Measured{}
			s.RodRange = Measured{Value: 22.7 + 0.01*r.NormFloat64(), U: 0.01, Given: true}
			s.FlightRange = Measured{Value: 23 + 0.01*r.NormFloat64(), U: 0.01, Given: true}
			line, reach := fl.line(c, 9)
			return s, line, reach, Growth{}, fl.at(c, 1), 1
		},
		"rod of two marks, tilt known to a degree": func(r *rand.Rand) (Spec, FlightLine, float64, Growth, Pixel, float64) {
			c := cam(r, 6*degree)
			fl := flight{y: -1.2, z: 8}
			s := rodSpec(c, 0, -1.2, 8, 0, 1)
			for i := range s.Marks {
				s.Marks[i].At = near(r, s.Marks[i].At, 0.5)
			}
			s.Lens = lens
			s.Lens.Tilt = Measured{Value: c.tilt + degree*r.NormFloat64(), U: degree, Given: true}
			line, reach := fl.line(c, 2.4)
			return s, line, reach, Growth{}, fl.at(c, 2), 2
		},
		"rod, ranges not given": func(r *rand.Rand) (Spec, FlightLine, float64, Growth, Pixel, float64) {
			c := pinhole{1800, 0}
			ratio := 1 + rangeAllowance*(2*r.Float64()-1)
			fl := flight{y: -1.2, z: 8 * ratio, lean: 2 * degree * r.NormFloat64()}
			s := rodSpec(c, 0.1, -1.2, 8, 0, 0.5, 1, 1.5, 2)
			for i := range s.Marks {
				s.Marks[i].At = near(r, s.Marks[i].At, 0.5)
			}
			s.Lean, s.Lens, s.RodRange, s.FlightRange = Measured{}, lens, Measured{}, Measured{}
			line, reach := fl.line(c, 2.4)
			return s, line, reach, Growth{}, fl.at(c, 2.2), 2.2
		},
		"length, camera roughly level": func(r *rand.Rand) (Spec, FlightLine, float64, Growth, Pixel, float64) {
			c := cam(r, levelU)
			fl := flight{y: -1.2, z: 8, lean: 2 * degree * r.NormFloat64()}
			s := Spec{Kind: KindLength, Width: wide, Height: high, Lens: lens}
			s.Length = Measured{Value: 0.6 + 0.003*r.NormFloat64(), U: 0.003, Given: true}
			s.Ends = [2]Pixel{near(r, c.see(0, -1.5, 8), 0.5), near(r, c.see(0, -0.9, 8), 0.5)}
			line, reach := fl.line(c, 2.4)
			return s, line, reach, Growth{}, fl.at(c, 2), 2
		},
		"length, apparent size measured": func(r *rand.Rand) (Spec, FlightLine, float64, Growth, Pixel, float64) {
			c := cam(r, levelU)
			fl := flight{y: -1.2, z: 8, lean: 2 * degree * r.NormFloat64()}
			s := Spec{Kind: KindLength, Width: wide, Height: high, Lens: lens}
			s.Length = Measured{Value: 0.6 + 0.003*r.NormFloat64(), U: 0.003, Given: true}
			s.Ends = [2]Pixel{near(r, c.see(0, -1.5, 8), 0.5), near(r, c.see(0, -0.9, 8), 0.5)}
			line, reach := fl.line(c, 2.4)
			return s, line, reach, c.growth(r, fl, reach, line), fl.at(c, 2), 2
		},
		"rod of two exact marks, tilt assumed, apparent size measured": func(r *rand.Rand) (Spec, FlightLine, float64, Growth, Pixel, float64) {
			c := cam(r, levelU)
			fl := flight{y: -1.2, z: 8, lean: 2 * degree * r.NormFloat64()}
			s := rodSpec(c, 0, -1.2, 8, 0, 1)
			s.MarkU = new(float64)
			s.Lens, s.Lean = lens, Measured{}
			line, reach := fl.line(c, 2.4)
			return s, line, reach, c.growth(r, fl, reach, line), fl.at(c, 2), 2
		},
		"rod of eight marks, lean unknown, the vehicle's barrel seen": func(r *rand.Rand) (Spec, FlightLine, float64, Growth, Pixel, float64) {
			c, fl, s := barrelSetup(r)
			line, reach := fl.line(c, 2.4)
			return s, line, reach, c.ruler(r, fl, reach), fl.at(c, 2.2), 2.2
		},
		"rod of two marks, widths seen there": func(r *rand.Rand) (Spec, FlightLine, float64, Growth, Pixel, float64) {
			c := cam(r, 8*degree)
			fl := flight{y: -1.2, z: 8}
			s := rodSpec(c, 0, -1.2, 8, 0, 2)
			for i, m := range s.Marks { // a pole 0.2 m wide
				left, right := c.see(-0.1, m.Height-1.2, 8), c.see(0.1, m.Height-1.2, 8)
				s.Marks[i].Width, s.Marks[i].WidthU = right.X-left.X+0.3*r.NormFloat64(), 0.3
			}
			s.MarkU, s.OnLine = new(float64), true
			line, reach := fl.line(c, 2)
			return s, line, reach, Growth{}, fl.at(c, 0.7), 0.7
		},
		"plane of six points": func(r *rand.Rand) (Spec, FlightLine, float64, Growth, Pixel, float64) {
			c := cam(r, 8*degree)
			fl := flight{y: -1.2, z: 8}
			s := Spec{Kind: KindPlane, Width: wide, Height: high, Lean: exactly(0), RodRange: exactly(8), FlightRange: exactly(8), Lens: lens}
			for _, q := range [][2]float64{{-1, 0}, {1, 0}, {-1, 1}, {1, 1}, {-1, 2}, {1, 2}} {
				s.Plane = append(s.Plane, PlanePoint{X: q[0], Y: q[1], At: near(r, c.see(q[0], q[1]-1.2, 8), 0.5)})
			}
			line, reach := fl.line(c, 2.4)
			return s, line, reach, Growth{}, fl.at(c, 2.3), 2.3
		},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			share, width := covered(t, f)
			t.Logf("held %.1f %%, mean half width %.2f %%", 100*share, 100*width)
			if share < leastCovered || share > mostCovered {
				t.Errorf("95 %% intervals hold the true height %.1f %% of the time", 100*share)
			}
		})
	}
}

// TestMarkScatter: marks that scatter as stated give intervals that hold the truth 95 % of the
// time; where they scatter three times as much, residuals widen them as far as they can tell.
func TestMarkScatter(t *testing.T) {
	t.Parallel()
	if testing.Short() {
		t.Skip("simulates 500 setups of each kind")
	}
	const (
		trials = 500
		chance = 0.02 // two standard deviations of a share of 95 % among 500
	)
	for _, k := range []struct {
		marks         int
		factor        float64
		least, most   float64 // shares, from bench/scale with 4000 setups, rounded outwards
		warnedAtLeast float64
	}{{4, 1, 0.94, 0.975, 0}, {8, 1, 0.935, 0.965, 0}, {4, 3, 0.75, 0.9, 0.4}, {5, 3, 0.78, 0.92, 0.6}, {8, 3, 0.88, 0.96, 0.85}} {
		var held, warned float64
		for i := range trials {
			r := rand.New(rand.NewPCG(uint64(i), 3))
			c, fl := pinhole{1800, 6 * degree}, flight{y: -1.2, z: 8}
			heights := make([]float64, k.marks)
			for j := range heights {
				heights[j] = 2 * float64(j) / float64(k.marks-1)
			}
			spec := rodSpec(c, 0, -1.2, 8, heights...)
			for j := range spec.Marks {
				spec.Marks[j].At = near(r, spec.Marks[j].At, k.factor*defaultMarkU)
			}
			line, reach := fl.line(c, 2.2)
			s, w, err := Calibrate(spec, line, reach, Growth{})
			if err != nil {
				t.Fatal(err)
			}
			if strings.Contains(codes(w), "scale-marks-scatter") {
				warned += 1.0 / trials
			}
			y := make([]float64, drawsEach)
			for j := range y {
				y[j], _, _ = s.Warp(r, r, "").At(s.HeightAt(fl.at(c, 2.2)))
			}
			iv, err := metrology.SymmetricInterval(y, 0.95)
			if err != nil {
				t.Fatal(err)
			}
			if iv.Holds(2.2) {
				held += 1.0 / trials
			}
		}
		t.Logf("%d marks, %g times the stated scatter: held %.1f %%, warned %.0f %%", k.marks, k.factor, 100*held, 100*warned)
		if held < k.least-chance || held > k.most+chance || warned < k.warnedAtLeast-chance {
			t.Errorf("%d marks, %g times the stated scatter: intervals hold the truth %.1f %% of the time, warned %.0f %%", k.marks, k.factor, 100*held, 100*warned)
		}
	}
}

func apart(p, q Pixel) float64 { return math.Hypot(p.X-q.X, p.Y-q.Y) }

// growth measures the apparent size of a small body by projecting it: at every height along the
// flight a short piece along it and one across it, their sizes mixed by a power that the program
// does not know, with noise of each and an error common to all. The line through 1 at rest is fitted as
// whoever traces would.
func (c pinhole) growth(r *rand.Rand, f flight, reach float64, line FlightLine) Growth {
	const n, piece, noise = 40, 1e-4, 0.003
	body := func(h float64) (along, across float64) {
		p, q := f.at(c, h), f.at(c, h+piece)
		beside := f
		beside.x += piece
		return apart(p, q), apart(p, beside.at(c, h))
	}
	along0, across0 := body(0)
	share, common := r.Float64(), sizeDoubt*r.NormFloat64()
	var sxx, sxy float64
	for i := range n {
		h := 2.4 * float64(i+1) / n
		s := apart(line.Rest, f.at(c, h))
		along, across := body(h)
		size := math.Pow(along/along0, share)*math.Pow(across/across0, 1-share) + noise*r.NormFloat64() + common*s/reach
		w := 1 / (noise * noise)
		sxx, sxy = sxx+w*s*s, sxy+w*s*(size-1)
	}
	return Growth{Rate: sxy / sxx, U: 1 / math.Sqrt(sxx), Known: true}
}
