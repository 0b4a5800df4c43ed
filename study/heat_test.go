package study

import (
	"math"
	"math/rand/v2"
	"reflect"
	"testing"

	"padside/metrology"
	"padside/motion"
)

// TestHeatOrder: of four launches one may not race and one has no value; the others are ordered, those alike tied.
func TestHeatOrder(t *testing.T) {
	t.Parallel()
	r := rand.New(rand.NewPCG(21, 1))
	list := []Launch{launchOf(t, "a", r, 0.300, 1e-3), launchOf(t, "b", r, 0.250, 1e-3), launchOf(t, "c", r, 0.3005, 1e-3), launchOf(t, "d", r, 0.200, 1e-3), launchOf(t, "e", r, 0.1, 1e-3)}
	list[4].Answers[1], list[4].Draws[1] = metrology.WithoutValue(list[4].Answers[1], metrology.NotReached, "no"), nil
	at := 2.0
	q := metrology.Answer{ID: motion.GateCrossing, Height: &at, Unit: "s"}
	h := RunHeat(list, q, []bool{true, true, true, false, true}, true)
	if want := [][]int{{2}, {1, 3}}; !reflect.DeepEqual(h.Order, want) {
		t.Errorf("Order = %v, want %v", h.Order, want)
	}
	if h.First[1] < 0.999 || h.First[3] != 0 || h.First[4] != 0 || math.Abs(h.First[0]+h.First[1]+h.First[2]-1) > 1e-9 {
		t.Errorf("First = %v, want nearly all on launch 2, and the sum 1", h.First)
	}
	h = RunHeat(list, q, []bool{true, false, true, false, false}, true)
	if want := [][]int{{1, 3}}; !reflect.DeepEqual(h.Order, want) || math.Abs(h.First[0]-0.63) > 0.08 {
		t.Errorf("Order = %v, want a tie; First = %v, want 0.64 for launch 1: it lies 0.35 standard deviations ahead", h.Order, h.First)
	}
	if h = RunHeat(list, q, make([]bool, 5), true); len(h.Order) != 0 || h.Order == nil {
		t.Errorf("nobody races: order %v", h.Order)
	}
	if h = RunHeat(list[:2], q, []bool{true, true}, false); !reflect.DeepEqual(h.Order, [][]int{{1}, {2}}) {
		t.Errorf("the largest wins: order %v", h.Order)
	}
}

// TestHeatOddsAreTrue simulates heats of three whose true times are drawn from what the measured ones allow: of all entries given a probability of
// being first of about p, a share of about p is first in truth.
func TestHeatOddsAreTrue(t *testing.T) {
	t.Parallel()
	const heats, draws, own, spread = 3000, 300, 0.01, 0.01
	r := rand.New(rand.NewPCG(22, 1))
	at := 26.8224
	q := metrology.Answer{ID: motion.TimeToSpeed, Speed: &at, Unit: "s"}
	var said, came [5]float64
	for range heats {
		var list []Launch
		best, first := math.Inf(1), 0
		for i := range 3 {
			truth := 1 + spread*r.NormFloat64()
			if truth < best {
				best, first = truth, i
			}
			// Posterior of the truth: prior N(1, spread²) and measurement N(truth, own²).
			w := spread * spread / (spread*spread + own*own)
			middle, sd := 1+w*(truth+own*r.NormFloat64()-1), own*math.Sqrt(w)
			a, d := measured(t, motion.TimeToSpeed, at, middle, sd, 0, make([]float64, draws), r)
			list = append(list, Launch{Setup: "mast", Answers: []metrology.Answer{a}, Draws: [][]float64{d}})
		}
		h := RunHeat(list, q, []bool{true, true, true}, true)
		for i, p := range h.First {
			bin := min(4, int(5*p))
			said[bin] += p
			if i == first {
				came[bin]++
			}
		}
	}
	for bin := range said {
		// The count of a bin scatters by its square root at most.
		if slack := 3 * math.Sqrt(said[bin]+1); math.Abs(said[bin]-came[bin]) > slack {
			t.Errorf("odds from %.1f to %.1f: %.0f firsts foretold, %.0f came, more than %.0f apart", 0.2*float64(bin), 0.2*float64(bin+1), said[bin], came[bin], slack)
		}
	}
}

// TestConform: guarded acceptance and rejection, JCGM 106:2012, 8.3: inside or outside where the whole 95 % interval is.
func TestConform(t *testing.T) {
	t.Parallel()
	inf := math.Inf(1)
	for _, c := range []struct {
		value, u, lo, hi float64
		want             Verdict
	}{
		{350, 0, 340, 360, Inside},
		{360, 0, 340, 360, Inside}, // the limit itself is allowed
		{0.1 + 0.2, 0, 0, 0.3, Inside},
		{361, 0, 340, 360, Outside},
		{350, 5, 340, 360, Inside},      // 340.2 to 359.8
		{352, 5, 340, 360, CannotTell},  // 342.2 to 361.8
		{365, 5, 340, 360, CannotTell},  // 355.2 to 374.8
		{370, 5, 340, 360, Outside},     // 360.2 to 379.8
		{350, 50, 340, 360, CannotTell}, // wider than what is allowed
		{100, 1, -inf, 150, Inside},
		{100, 1, 150, inf, Outside},
	} {
		if got := Conform(c.value, c.u, c.lo, c.hi); got != c.want {
			t.Errorf("Conform(%g, %g, %g, %g) = %s, want %s", c.value, c.u, c.lo, c.hi, got, c.want)
		}
	}
	for _, c := range []struct {
		v    []float64
		want float64
	}{{nil, 0}, {[]float64{3}, 3}, {[]float64{5, 1}, 3}, {[]float64{9, 1, 2}, 2}} {
		if got := Middle(c.v); got != c.want {
			t.Errorf("Middle(%v) = %g, want %g", c.v, got, c.want)
		}
	}
}
