package explain

import (
	"context"
	"math"
	"runtime"

	"padside/guard"
	"padside/metrology"
)

// Curve is what the fitted model has for one answer over a range of a condition, with the 95 % band of what the fit leaves open.
type Curve struct {
	At        []float64
	Value     []float64 // of the most probable values; NaN where it has none
	Low, High []float64
	Best      float64    // where the answer is best
	BestEnds  [2]float64 // 95 %
	BestValue float64
	AtEnd     bool // the best lies at an end of the range: beyond it may be better
}

// curveDraws is how many draws of the fit are flown at each place.
const curveDraws = 200

// Curves flies the fitted model at each place of a range (even steps), with the most probable values of the unknowns and with draws of them, the same
// at every place, so that the best place of each draw is one draw of the best. answers returns the answers of one flight, NaN where it has
// none; more says of each whether more is better.
func (r *Result) Curves(ctx context.Context, at []float64, more []bool, answers func(at float64, values []float64) []float64, progress func(done, total int)) ([]Curve, error) {
	n := min(curveDraws, len(r.Draws))
	flown := make([][][]float64, len(at)) // place, draw (the last one: most probable), answer
	g, ctx := guard.WithContext(ctx)
	g.SetLimit(runtime.GOMAXPROCS(0)) // flights need a processor and nothing else
	for i := range at {
		g.Go(func() error {
			flown[i] = make([][]float64, n+1)
			for d := range n {
				if ctx.Err() != nil {
					return ctx.Err()
				}
				flown[i][d] = answers(at[i], r.Draws[d*len(r.Draws)/n])
			}
			flown[i][n] = answers(at[i], r.Values)
			if progress != nil {
				progress(i, len(at))
			}
			return nil
		})
	}
	if err := g.Wait(); err != nil {
		return nil, err
	}
	out := make([]Curve, len(more))
	for a := range more {
		out[a] = curve(at, more[a], n, func(i, d int) float64 { return flown[i][d][a] })
	}
	return out, nil
}

// curve sums up one answer: value(i, d) is that of draw d at place i, of the most probable values for d = n.
func curve(at []float64, more bool, n int, value func(i, d int) float64) Curve {
	c := Curve{At: at}
	for i := range at {
		v := value(i, n)
		lo, hi := v, v
		var draws []float64
		for d := range n {
			if x := value(i, d); !math.IsNaN(x) {
				draws = append(draws, x)
			}
		}
		if iv, err := metrology.SymmetricInterval(draws, 0.95); err == nil {
			lo, hi = math.Min(v, iv.Lo), math.Max(v, iv.Hi)
		}
		c.Value, c.Low, c.High = append(c.Value, v), append(c.Low, lo), append(c.High, hi)
	}
	var bests []float64
	for d := range n {
		if x, _, _, ok := summit(at, more, func(i int) float64 { return value(i, d) }); ok {
			bests = append(bests, x)
		}
	}
	c.Best, c.BestValue, c.AtEnd, _ = summit(at, more, func(i int) float64 { return value(i, n) })
	c.BestEnds = [2]float64{c.Best, c.Best}
	if iv, err := metrology.ShortestInterval(bests, 0.95); err == nil {
		c.BestEnds = [2]float64{math.Min(iv.Lo, c.Best), math.Max(iv.Hi, c.Best)}
	}
	if len(at) > 1 { // what the parabola between places may miss
		slack := (at[1] - at[0]) / 10
		c.BestEnds[0], c.BestEnds[1] = math.Max(at[0], c.BestEnds[0]-slack), math.Min(at[len(at)-1], c.BestEnds[1]+slack)
	}
	return c
}

// summit is the best place: the top of the parabola through the best value and its neighbours. ok is false where there is no value.
func summit(at []float64, more bool, value func(i int) float64) (x, best float64, end, ok bool) {
	sign := 1.0
	if !more {
		sign = -1
	}
	top := -1
	for i := range at {
		if v := value(i); !math.IsNaN(v) && (top < 0 || sign*v > sign*value(top)) {
			top = i
		}
	}
	if top < 0 {
		return math.NaN(), math.NaN(), false, false
	}
	x, best = at[top], value(top)
	if top == 0 || top == len(at)-1 || math.IsNaN(value(top-1)) || math.IsNaN(value(top+1)) {
		return x, best, true, true
	}
	l, m, h := value(top-1), best, value(top+1)
	if bend := l - 2*m + h; sign*bend < 0 {
		shift := 0.5 * (l - h) / bend
		x, best = x+shift*(at[1]-at[0]), m-0.25*(l-h)*shift
	}
	return x, best, false, true
}
