package explain

import (
	"context"
	"math"
	"testing"

	"padside/flight"
)

// TestCurvesFindTheBestFill: three fills of one bottle, explained together, foretell the fill for the greatest apogee, which none of them
// has, and the band holds the truth.
func TestCurvesFindTheBestFill(t *testing.T) {
	t.Parallel()
	fills := []float64{0.2e-3, 0.4e-3, 0.7e-3}
	var in Input
	in.Seed = 2
	for i, w := range fills {
		b := heron()
		b.Water = w
		l := filmed(t, b, uint64(20+i), 2, 0.003)
		l.Setup = "mast" // each has drawn an error of its own, all within what the setup allows
		if i > 0 {
			l.Setup = ""
		}
		in.Launches = append(in.Launches, l)
	}
	own := Unknown{Key: "pressure", Start: 5e5, U: 2e3, Least: 4e5, Most: 6e5}
	in.Unknowns = []Unknown{discharge, exponent}
	for i := range fills {
		own.Launch = i + 1
		in.Unknowns = append(in.Unknowns, own)
	}
	at := func(water float64, v []float64) flight.Bottle {
		b := heron()
		b.Water, b.Discharge, b.Exponent = water, v[0], v[1]
		return b
	}
	in.Model = func(launch int, v []float64, until float64) (*flight.Flight, error) {
		b := at(fills[launch], v)
		b.Pressure = v[2+launch]
		return b.FlyUntil(until)
	}
	res, err := Run(context.Background(), in)
	if err != nil {
		t.Fatal(err)
	}
	apogee := func(water float64, v []float64) []float64 {
		b := at(water, v)
		f, err := b.Fly()
		if err != nil {
			return []float64{math.NaN()}
		}
		_, h, _ := f.Apogee()
		return []float64{h}
	}
	var places []float64
	for i := range 41 {
		places = append(places, 0.15e-3+float64(i)*0.015e-3)
	}
	curves, err := res.Curves(context.Background(), places, []bool{true}, apogee, nil)
	if err != nil {
		t.Fatal(err)
	}
	best, where := 0.0, 0.0
	for w := 0.15e-3; w < 0.75e-3; w += 1e-6 {
		if h := apogee(w, []float64{0.96, 1.28})[0]; h > best {
			best, where = h, w
		}
	}
	c := curves[0]
	slack := 0.1 * (c.BestEnds[1] - c.BestEnds[0]) // 200 draws place the ends of an interval to a tenth of it
	if c.AtEnd || where < c.BestEnds[0]-slack || where > c.BestEnds[1]+slack || c.BestEnds[1]-c.BestEnds[0] > 0.05e-3 {
		t.Errorf("best %.4g in %.4g, truth %.4g", c.Best, c.BestEnds, where)
	}
	held := 0
	for i, w := range places {
		if h := apogee(w, []float64{0.96, 1.28})[0]; h >= c.Low[i] && h <= c.High[i] {
			held++
		}
	}
	if held < len(places)*3/4 {
		t.Errorf("the band holds the truth at %d of %d places", held, len(places))
	}
}

// TestSummit: the top of a parabola between places, an end, and places without a value.
func TestSummit(t *testing.T) {
	t.Parallel()
	at := []float64{0, 1, 2, 3, 4}
	x, v, end, ok := summit(at, true, func(i int) float64 { d := at[i] - 2.3; return 5 - d*d })
	if !ok || end || math.Abs(x-2.3) > 1e-12 || math.Abs(v-5) > 1e-12 {
		t.Errorf("summit at %g, %g, %v", x, v, end)
	}
	x, v, end, _ = summit(at, false, func(i int) float64 { d := at[i] - 1.8; return 1 + d*d })
	if end || math.Abs(x-1.8) > 1e-12 || math.Abs(v-1) > 1e-12 {
		t.Errorf("least at %g, %g, %v", x, v, end)
	}
	if _, _, end, _ := summit(at, true, func(i int) float64 { return at[i] }); !end {
		t.Error("a slope has its best at an end")
	}
	if _, _, _, ok := summit(at, true, func(int) float64 { return math.NaN() }); ok {
		t.Error("nothing has a summit")
	}
}
