package study

import (
	"math"
	"math/rand/v2"
	"reflect"
	"testing"

	"padside/fault"
	"padside/metrology"
	"padside/motion"
)

// measured is an answer with draws: truth seen through own noise and a shared relative error. Both launches of a pair use the same
// shared draws, as launches of one setup do.
func measured(t testing.TB, id string, at, value, own, shared float64, sharedDraws []float64, r *rand.Rand) (metrology.Answer, []float64) {
	t.Helper()
	draws := make([]float64, len(sharedDraws))
	for k := range draws {
		draws[k] = value*(1+shared*sharedDraws[k]) + own*r.NormFloat64()
	}
	a := metrology.Answer{ID: id, Unit: "s"}
	switch id {
	case motion.TimeToSpeed:
		a.Speed = &at
	case motion.GateCrossing:
		a.Height = &at
	}
	a, err := metrology.FromDraws(a, value, draws)
	if err != nil {
		t.Fatal(err)
	}
	return a, draws
}

func normals(n int, r *rand.Rand) []float64 {
	out := make([]float64, n)
	for i := range out {
		out[i] = r.NormFloat64()
	}
	return out
}

// TestRatiosHoldTheTruth simulates pairs of launches, with and without a shared setup: the intervals of ratio and difference hold the
// truth as often as they say, and a shared setup makes the ratio's narrower by what the shared error contributes.
func TestRatiosHoldTheTruth(t *testing.T) {
	t.Parallel()
	pairs := 2000
	if testing.Short() {
		pairs = 400
	}
	const draws, own, shared = 500, 0.01, 0.03 // relative
	r := rand.New(rand.NewPCG(4, 1))
	for _, c := range []struct {
		name   string
		setup  bool
		spread float64 // standard uncertainty of the ratio, relative
	}{{"one setup", true, own * math.Sqrt2}, {"two setups", false, math.Hypot(own, shared) * math.Sqrt2}} {
		held, heldDiff, width := 0, 0, 0.0
		for range pairs {
			trueA, trueB := 0.05*(1+r.Float64()), 0.2*(1+r.Float64())
			errA := shared * r.NormFloat64()
			errB := errA
			drawsA := normals(draws, r)
			drawsB := drawsA
			if !c.setup {
				errB, drawsB = shared*r.NormFloat64(), normals(draws, r)
			}
			a, da := measured(t, motion.TimeToSpeed, 26.8224, trueA*(1+errA+own*r.NormFloat64()), own*trueA, shared, drawsA, r)
			b, db := measured(t, motion.TimeToSpeed, 26.8224, trueB*(1+errB+own*r.NormFloat64()), own*trueB, shared, drawsB, r)
			got, err := Compare([]Launch{{Answers: []metrology.Answer{a}, Draws: [][]float64{da}}, {Answers: []metrology.Answer{b}, Draws: [][]float64{db}}})
			if err != nil {
				t.Fatal(err)
			}
			p := got.Rows[0].Ratios[0]
			truth := trueB / trueA
			if p.Interval[0] <= truth && truth <= p.Interval[1] {
				held++
			}
			width += (p.Interval[1] - p.Interval[0]) / p.Value / float64(pairs)
			if d := got.Rows[0].Differences[0]; d.Interval[0] <= trueB-trueA && trueB-trueA <= d.Interval[1] {
				heldDiff++
			}
		}
		part, partDiff := float64(held)/float64(pairs), float64(heldDiff)/float64(pairs)
		t.Logf("%s: ratio holds %.1f %%, difference %.1f %%, width %.4f", c.name, 100*part, 100*partDiff, width)
		// 2,000 pairs leave half a point of chance; 500 draws make a shortest interval a point too narrow.
		if part < 0.92 || part > 0.97 || partDiff < 0.92 || partDiff > 0.97 {
			t.Errorf("%s: the intervals hold the truth in %.1f %% (ratio) and %.1f %% (difference), want 92 to 97", c.name, 100*part, 100*partDiff)
		}
		if want := 2 * 1.96 * c.spread; math.Abs(width/want-1) > 0.06 {
			t.Errorf("%s: the ratio's interval is %.4f wide, want %.4f", c.name, width, want)
		}
	}
}

func launchOf(t testing.TB, title string, r *rand.Rand, gate float64, own float64) Launch {
	t.Helper()
	z := make([]float64, 2000)
	first, d0 := measured(t, motion.FirstMotion, 0, 1, 1e-4, 0, z, r)
	at, d1 := measured(t, motion.GateCrossing, 2, 1+gate, own, 0, z, r)
	return Launch{Title: title, Answers: []metrology.Answer{first, at}, Draws: [][]float64{d0, d1}}
}

func TestOrderAdmitsTies(t *testing.T) {
	t.Parallel()
	r := rand.New(rand.NewPCG(5, 1))
	c, err := Compare([]Launch{launchOf(t, "a", r, 0.300, 1e-3), launchOf(t, "b", r, 0.250, 1e-3), launchOf(t, "c", r, 0.301, 1e-3), launchOf(t, "d", r, 0.400, 1e-3)})
	if err != nil {
		t.Fatal(err)
	}
	if want := [][]int{{2}, {1, 3}, {4}}; !reflect.DeepEqual(c.Order, want) {
		t.Errorf("Order = %v, want %v", c.Order, want)
	}
	var words []string
	for i := range c.Order {
		words = append(words, PlaceWords(c.Order, i))
	}
	if want := []string{"1", "2 =", "4"}; !reflect.DeepEqual(words, want) {
		t.Errorf("places are %v, want %v", words, want)
	}
	// Gates count from first motion: the absolute clocks differ by nothing here, but the value must be the gate's own.
	if got := *c.Rows[0].Each[0].Value; math.Abs(got-0.3) > 1e-9 {
		t.Errorf("the gate was crossed after %g s, want 0.3", got)
	}
}

func TestCompareNamesWhatCannotBeCompared(t *testing.T) {
	t.Parallel()
	r := rand.New(rand.NewPCG(6, 1))
	a, b := launchOf(t, "a", r, 0.3, 1e-3), launchOf(t, "b", r, 0.4, 1e-3)
	if _, err := Compare([]Launch{a}); err == nil {
		t.Error("one launch was compared")
	}
	b.Answers, b.Draws = b.Answers[:1], b.Draws[:1]
	if _, err := Compare([]Launch{a, b}); err == nil {
		t.Error("launches without a common answer were compared")
	}
	b = launchOf(t, "b", r, 0.4, 1e-3)
	b.Answers[1], b.Draws[1] = metrology.WithoutValue(b.Answers[1], metrology.NotReached, "no"), nil
	b.Warnings = []fault.Warning{{Code: "still-accelerating"}}
	c, err := Compare([]Launch{a, b})
	if err != nil || len(c.Rows[0].Ratios) != 0 || len(c.Order) != 0 {
		t.Errorf("a gate that one did not reach: %d ratios, order %v, %v", len(c.Rows[0].Ratios), c.Order, err)
	}
	codes := map[string]bool{}
	for _, w := range c.Warnings {
		codes[w.Code] = true
	}
	if !codes["still-accelerating"] || !codes["setups-differ"] {
		t.Errorf("warnings: %v", c.Warnings)
	}
}

// TestRatioOfTheTrade: common practice, no source: 60 mph in 0.375 s and in 0.050 s are averages of 7.3 g and 54.7 g, a ratio of 7.5.
func TestRatioOfTheTrade(t *testing.T) {
	t.Parallel()
	const mph, g = 0.44704, 9.80665
	r := rand.New(rand.NewPCG(7, 1))
	z := normals(4000, r)
	var list []Launch
	for _, s := range []float64{0.050, 0.375} {
		a, d := measured(t, motion.TimeToSpeed, 60*mph, s, 0.01*s, 0.02, z, r)
		list = append(list, Launch{Setup: "mast", Answers: []metrology.Answer{a}, Draws: [][]float64{d}})
		if got, want := 60*mph/s/g, map[float64]float64{0.050: 54.7, 0.375: 7.3}[s]; math.Abs(got-want) > 0.05 {
			t.Errorf("60 mph in %g s is %.2f g, want %.1f", s, got, want)
		}
	}
	c, err := Compare(list)
	if err != nil {
		t.Fatal(err)
	}
	p := c.Rows[0].Ratios[0]
	if p.Of != 2 || p.To != 1 || math.Abs(p.Value-7.5) > 1e-9 || p.Interval[0] > 7.5 || p.Interval[1] < 7.5 || p.Interval[1]-p.Interval[0] > 0.5 {
		t.Errorf("ratio %+v, want 7.5 with an interval narrower than 0.5", p)
	}
	if len(c.Warnings) != 0 {
		t.Errorf("one setup: warnings %v", c.Warnings)
	}
}
