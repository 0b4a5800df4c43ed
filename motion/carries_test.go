package motion

import (
	"context"
	"math"
	"math/rand/v2"
	"testing"

	"padside/camera"
	"padside/metrology"
)

// The result depends on the input and its seeds alone: not on the run, not on the number of workers.
func TestSameResultForAnyNumberOfWorkers(t *testing.T) {
	t.Parallel()
	in := film(bottle(t), 1600, 1e-4, 20, 60, 3)
	one, err := measure(context.Background(), in, 1)
	if err != nil {
		t.Fatal(err)
	}
	eight, err := measure(context.Background(), in, 8)
	if err != nil {
		t.Fatal(err)
	}
	for i := range one.Answers {
		for j := range one.Draws[i] {
			if one.Draws[i][j] != eight.Draws[i][j] {
				t.Fatalf("%s, draw %d: %v with one worker, %v with eight", one.Answers[i].ID, j, one.Draws[i][j], eight.Draws[i][j])
			}
		}
	}
	for i := range one.History {
		if one.History[i] != eight.History[i] {
			t.Fatalf("history row %d: %+v and %+v", i, one.History[i], eight.History[i])
		}
	}
}

// A later clock shifts instants and nothing else. The numbers go through a search and draws,
// so they agree to a fraction of the uncertainty, not to the last digit.
func TestTimeShiftCarriesThrough(t *testing.T) {
	t.Parallel()
	const shift, tolerance = 64.0, 0.15 // s (a power of two: times stay exact); of u
	in := film(bottle(t), 1024, 1e-4, 20, 60, 4)
	a := mustMeasure(t, in)
	in.Observations = append([]Observation(nil), in.Observations...)
	for i := range in.Observations {
		in.Observations[i].T += shift
	}
	b := mustMeasure(t, in)
	for i, x := range a.Answers {
		y := b.Answers[i]
		if x.Status != y.Status {
			t.Errorf("%s: status %s after the shift, want %s", x.ID, y.Status, x.Status)
		}
		if x.Value == nil || y.Value == nil {
			continue
		}
		want := *x.Value
		if x.ID == FirstMotion || x.ID == GateCrossing {
			want += shift
		}
		if math.Abs(*y.Value-want) > tolerance*(*x.U) {
			t.Errorf("%s: %g after the shift, want %g (u %g)", x.ID, *y.Value, want, *x.U)
		}
	}
}

// A common scale error known exactly multiplies speeds and accelerations and leaves times of
// first motion alone.
func TestScaleCarriesThrough(t *testing.T) {
	t.Parallel()
	const factor = 1.25
	in := film(bottle(t), 1600, 1e-4, 20, 60, 5)
	in.Questions.Speeds, in.Questions.Gates = nil, nil
	a := mustMeasure(t, in)
	in.Common.Warp = func(_, _ *rand.Rand, _ string) camera.Warp { return camera.Warp{E: [3]float64{factor - 1}} }
	b := mustMeasure(t, in)
	for i, x := range a.Answers {
		want := *x.Value
		if x.Unit != "s" {
			want *= factor
		}
		if got := *b.Answers[i].Value; math.Abs(got-want) > 1e-9*math.Abs(want) {
			t.Errorf("%s: %g with the scale %g times as large, want %g", x.ID, got, factor, want)
		}
	}
}

// Launches that share a setup see the same common error draw by draw, so their ratio is far
// better known than either.
func TestSetupErrorsCancel(t *testing.T) {
	t.Parallel()
	warp := func(r, _ *rand.Rand, _ string) camera.Warp { return camera.Warp{E: [3]float64{0.05 * r.NormFloat64()}} }
	var speeds [2][]float64
	for k := range speeds {
		in := film(bottle(t), 1600, 1e-4, 20, 80, uint64(10+k))
		in.Common = Common{Sources: []string{"scale"}, Warp: warp}
		_, speeds[k] = find(t, mustMeasure(t, in), GateSpeed)
	}
	ratio := make([]float64, len(speeds[0]))
	for i := range ratio {
		ratio[i] = speeds[0][i] / speeds[1][i]
	}
	if u := metrology.SD(ratio); u > 0.01 {
		t.Errorf("standard uncertainty of the ratio %g, want below 0.01 (each speed has 0.05)", u)
	}
}
