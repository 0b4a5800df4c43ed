package flight

import (
	"encoding/csv"
	"errors"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strconv"
	"testing"

	"padside/fault"
)

// stand is a drawn record: 3 s of thrust 800 sin^2, whose impulse is 1200 N s, on a cell with an offset that follows the weight of the
// propellant, 1 kHz, noise 8 N.
func stand(r *rand.Rand, before, after float64) []ThrustPoint {
	var out []ThrustPoint
	for i := range 8000 {
		t := float64(i) / 1000
		x := math.Min(math.Max(0, t-2.2)/3, 1)
		s := math.Sin(math.Pi * x)
		share := x - math.Sin(2*math.Pi*x)/(2*math.Pi)
		out = append(out, ThrustPoint{t, 800*s*s + before + (after-before)*share + 8*r.NormFloat64()})
	}
	return out
}

func TestReduceFiring(t *testing.T) {
	t.Parallel()
	const seeds = 200
	held := 0
	for seed := range uint64(seeds) {
		r := rand.New(rand.NewPCG(seed, 3))
		f, err := ReduceFiring(stand(r, -60, -60+5*r.NormFloat64()))
		if err != nil {
			t.Fatal(err)
		}
		if iv := f.Impulse.Interval(0.95); iv.Holds(1200) {
			held++
		}
		if m := (Motor{Thrust: f.Curve}); f.Curve[0] != (ThrustPoint{}) || math.Abs(m.Impulse()/1200-1) > 0.01 {
			t.Fatalf("curve begins at %v and has %g N s", f.Curve[0], m.Impulse())
		}
		if math.Abs(f.Noise-8) > 2 || math.Abs(f.Before+60) > 1 {
			t.Errorf("noise %g N, offset %g N, want 8 and -60", f.Noise, f.Before)
		}
	}
	// The way of the offset is allowed more than it takes here.
	if held < seeds*92/100 {
		t.Errorf("the impulse's interval holds the truth in %d of %d records", held, seeds)
	}
	for name, record := range map[string][]ThrustPoint{
		"short": stand(rand.New(rand.NewPCG(1, 1)), 0, 0)[:40], "no end": stand(rand.New(rand.NewPCG(1, 1)), 0, 0)[:4000],
		"no thrust": stand(rand.New(rand.NewPCG(1, 1)), 0, 0)[:2000], "NaN": {{0, math.NaN()}},
	} {
		var e *fault.Error
		if _, err := ReduceFiring(record); !errors.As(err, &e) || e.Hint == "" {
			t.Errorf("%s: %v, want a refusal with a hint", name, err)
		}
	}
}

// columns reads a file of measured data, outside the project; the test skips where it is absent.
func columns(t *testing.T, parts ...string) [][]float64 {
	t.Helper()
	name := filepath.Join(append([]string{"..", "..", "shared", "data"}, parts...)...)
	file, err := os.Open(name)
	if err != nil {
		t.Skipf("../shared/data/%s is absent: %v", filepath.ToSlash(filepath.Join(parts...)), err)
	}
	defer file.Close()
	rows, err := csv.NewReader(file).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	out := make([][]float64, len(rows[0]))
	for _, row := range rows[1:] {
		for i, s := range row {
			v, err := strconv.ParseFloat(s, 64)
			if err != nil {
				t.Fatal(err)
			}
			out[i] = append(out[i], v)
		}
	}
	return out
}

// A real static firing, 1 kHz: peak 1787 N as logged, impulse about 4950 N s once the offset is out (../shared/data/SOURCE.md).
func TestReduceRealFiring(t *testing.T) {
	t.Parallel()
	c := columns(t, "thrust", "static-firing-1khz.csv")
	record := make([]ThrustPoint, len(c[0]))
	for i := range record {
		record[i] = ThrustPoint{c[0][i], c[1][i]}
	}
	f, err := ReduceFiring(record)
	if err != nil {
		t.Fatal(err)
	}
	t.Logf("impulse %.0f N s, u %.1f; offset %.1f before, %.1f after; noise %.1f N; ignition at %.3f s, burns %.3f s",
		f.Impulse.Value, f.Impulse.U, f.Before, f.After, f.Noise, f.Ignition, f.Curve[len(f.Curve)-1].Time)
	// The rough figure holds the offset before ignition for all of it; the cell shows 45 N less weight afterwards.
	rough := f.Impulse.Value + (f.After-f.Before)/2*f.Curve[len(f.Curve)-1].Time
	wantRel(t, "impulse above the offset before ignition", rough, 4950, 5e-3)
	if iv := f.Impulse.Interval(0.95); !iv.Holds(rough) || f.Impulse.U > 0.02*f.Impulse.Value {
		t.Errorf("impulse %.0f N s in %v, which leaves out %.0f N s", f.Impulse.Value, iv, rough)
	}
	m := Motor{Thrust: f.Curve, DryMass: 20, BodyDiameter: 0.1, DragCoefficient: 0.5, Site: StandardSite()}
	if _, err := m.Fly(); err != nil {
		t.Errorf("a rocket with the measured curve does not fly: %v", err)
	}
}

// A real flight, 100 Hz: integrated acceleration (gravity removed) against the logged speed, 118.1 m/s at its peak.
func TestIntegrateRealFlight(t *testing.T) {
	t.Parallel()
	c := columns(t, "flight-log", "boost-100hz.csv")
	got := integrated(c[0], c[1])
	peak, logged := 0.0, 0.0
	for i, v := range got {
		peak, logged = math.Max(peak, v), math.Max(logged, c[3][i])
		if c[0][i] < 8 && c[3][i] > 20 {
			wantRel(t, "integrated speed", v, c[3][i], 5e-3)
		}
	}
	wantRel(t, "peak speed", peak, logged, 5e-3)
}

// integrated is the running integral of y over t from y's first time on, by trapezoids: speed of acceleration, impulse of force.
// Times increase; the error of a smooth y is of second order in the step.
func integrated(t, y []float64) []float64 {
	out := make([]float64, len(t))
	for i := 1; i < len(t); i++ {
		out[i] = out[i-1] + (t[i]-t[i-1])*(y[i]+y[i-1])/2
	}
	return out
}
