package metrology

import (
	"math"
	"math/rand/v2"
	"strings"
	"testing"
)

func normals(seed uint64, n int) []float64 {
	r := rand.New(rand.NewPCG(seed, 0))
	x := make([]float64, n)
	for i := range x {
		x[i] = r.NormFloat64()
	}
	return x
}

func TestIntervalsOfKnownDraws(t *testing.T) {
	t.Parallel()
	// The integers 1..1000: q = 950, every candidate is equally long.
	x := make([]float64, 1000)
	for i := range x {
		x[i] = float64(1000 - i)
	}
	if iv, err := ShortestInterval(x, 0.95); err != nil || iv.Width() != 950 {
		t.Errorf("ShortestInterval(1..1000) = %v, %v, want a width of 950", iv, err)
	}
	if iv, err := SymmetricInterval(x, 0.95); err != nil || iv != (Interval{26, 976}) {
		t.Errorf("SymmetricInterval(1..1000) = %v, %v, want 26 to 976", iv, err)
	}
	if x[0] != 1000 {
		t.Error("the draws were sorted in place")
	}
	// Exponential: the shortest interval starts at zero and ends at -ln 0.05 (closed form).
	const trials = 200_000
	r := rand.New(rand.NewPCG(5, 0))
	e := make([]float64, trials)
	for i := range e {
		e[i] = r.ExpFloat64()
	}
	iv, err := ShortestInterval(e, 0.95)
	if err != nil || iv.Lo > 0.01 || math.Abs(iv.Hi+math.Log(0.05)) > 0.05 { // 0.05: five standard errors of that quantile
		t.Errorf("ShortestInterval(exponential) = %v, %v, want 0 to %v", iv, err, -math.Log(0.05))
	}
}

func TestDrawsRefused(t *testing.T) {
	t.Parallel()
	bad := normals(1, 200)
	bad[7] = math.NaN()
	if _, err := ShortestInterval(bad, 0.95); err == nil || !strings.Contains(err.Error(), "draw 7 is NaN") {
		t.Errorf("ShortestInterval(NaN) = %v, want an error naming draw 7", err)
	}
	if _, err := ShortestInterval(normals(1, 99), 0.95); err == nil {
		t.Error("ShortestInterval of 99 draws is given")
	}
	for _, p := range []float64{0, 1, -1, math.NaN()} {
		if _, err := SymmetricInterval(normals(1, 200), p); err == nil {
			t.Errorf("SymmetricInterval(p = %v) is given", p)
		}
	}
}

func TestFromDraws(t *testing.T) {
	t.Parallel()
	x := normals(2, 4000)
	a, err := FromDraws(Answer{ID: "peak_speed", Unit: "m/s"}, 0.1, x)
	if err != nil {
		t.Fatal(err)
	}
	if a.Status != Measured || *a.Value != 0.1 || math.Abs(*a.U-1) > 0.05 { // 4 standard errors of s at 4000
		t.Errorf("FromDraws = %+v", a)
	}
	iv, err := ShortestInterval(x, 0.95)
	if err != nil || *a.Interval != [2]float64{iv.Lo, iv.Hi} {
		t.Errorf("interval = %v, want %v, %v", *a.Interval, iv, err)
	}
	if _, err := FromDraws(a, 50, x); err == nil {
		t.Error("a best value of 50 among standard normal draws is accepted")
	}
	b := WithoutValue(a, NotReached, "not reached in view")
	if b.Value != nil || b.U != nil || b.Interval != nil || b.Status != NotReached {
		t.Errorf("WithoutValue = %+v", b)
	}
}

func TestBudget(t *testing.T) {
	t.Parallel()
	const trials = 20_000
	a, b := normals(3, trials), normals(4, trials)
	draw := func(f func(a, b float64) float64, keepA, keepB float64) []float64 {
		y := make([]float64, trials)
		for i := range y {
			y[i] = f(a[i]*keepA, b[i]*keepB)
		}
		return y
	}
	const slack = 0.02 // five standard errors of a ratio of variances from 20 000 draws
	for _, c := range []struct {
		name string
		f    func(a, b float64) float64
		want map[string]float64
	}{
		// Variances 9 and 1: shares 0.9 and 0.1.
		{"sum", func(a, b float64) float64 { return 3*a + b }, map[string]float64{"a": 0.9, "b": 0.1}},
		// Product of zero means: either one held takes all of it away, so each gets half.
		{"product", func(a, b float64) float64 { return a * b }, map[string]float64{"a": 0.5, "b": 0.5}},
		// Two sources the budget was not told of one of: the rest is owned up to.
		{"hidden", func(a, b float64) float64 { return a + b }, map[string]float64{"a": 0.5, Together: 0.5}},
	} {
		held := []Held{{"b", draw(c.f, 1, 0)}, {"a", draw(c.f, 0, 1)}}
		if c.name == "hidden" {
			held = held[1:]
		}
		shares, err := Budget(draw(c.f, 1, 1), held)
		if err != nil || len(shares) != len(c.want) {
			t.Fatalf("%s: Budget = %v, %v", c.name, shares, err)
		}
		for i, s := range shares {
			if math.Abs(s.Share-c.want[s.Source]) > slack {
				t.Errorf("%s: share of %s = %v, want %v", c.name, s.Source, s.Share, c.want[s.Source])
			}
			if i > 0 && s.Share > shares[i-1].Share {
				t.Errorf("%s: shares are not sorted: %v", c.name, shares)
			}
		}
	}
	if shares, err := Budget(make([]float64, 200), nil); err != nil || shares != nil {
		t.Errorf("Budget of constant draws = %v, %v, want nothing", shares, err)
	}
}
