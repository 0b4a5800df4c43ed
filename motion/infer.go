package motion

import (
	"cmp"
	"context"
	"math"
	"math/rand/v2"
	"slices"

	"gonum.org/v1/gonum/mat"
)

// effort is how much work the posterior is given.
type effort struct {
	stages  []int // points per stage of importance sampling, per coordinate
	climb   int   // evaluations per climb, per coordinate
	sets    int   // parameter sets kept
	pairs   int   // launches per parameter set, each with two mirrored paths
	ends    int   // instants tried for the end of thrust
	workers int
}

// effortFor spends less per frame on long flights, where each evaluation costs more and
// the posterior is narrower.
func effortFor(frames int) effort {
	e := effort{stages: []int{50, 70, 120}, climb: 40, sets: 512, pairs: 4, ends: 40}
	if frames > 400 {
		e = effort{stages: []int{30, 40, 60}, climb: 25, sets: 256, pairs: 8, ends: 30}
	}
	return e
}

// posterior is the result of inference: structures of launch, each with its points.
type posterior struct {
	s     *series
	pops  []*population
	share []float64 // posterior probability of each population's structure
}

// cellsPerFrame: the grid of first motion is at least this fine.
const cellsPerFrame = 10

// discardBelow is how far (in the logarithm of the evidence) a structure may lie behind the
// best before it is left out.
const discardBelow = 8

// infer finds the posterior of the launch.
func infer(ctx context.Context, s *series, e effort, seed uint64) (*posterior, error) {
	each := func(n int, f func(int)) { parallel(e.workers, n, f) }
	first := firstGuess(s, e)
	var probs []*problem
	var bumps [][]bump
	for _, sh := range shapes {
		probs = append(probs, &problem{s: s, shape: sh, grid: first.p.grid})
		bumps = append(bumps, nil)
	}
	each(len(shapes), func(i int) { bumps[i] = modes(probs[i], first.bump, e) })
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	best := math.Inf(-1)
	laplace := make([]float64, len(shapes))
	for i := range shapes {
		laplace[i] = math.Inf(-1)
		for _, b := range bumps[i] {
			laplace[i] = math.Max(laplace[i], b.value+b.logVolume())
		}
		best = math.Max(best, laplace[i])
	}
	post := &posterior{s: s}
	var total logSum
	for i := range shapes {
		if laplace[i] < best-discardBelow || len(bumps[i]) == 0 {
			continue
		}
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		r := rand.New(rand.NewPCG(seed, uint64(i)+1))
		d := probs[i].dim()
		stages := make([]int, len(e.stages))
		for j, n := range e.stages {
			stages[j] = n * d
		}
		pop := populate(probs[i], bumps[i], stages, r, each)
		if !math.IsInf(pop.evidence, -1) {
			post.pops = append(post.pops, pop)
			total.add(pop.evidence)
		}
	}
	for _, pop := range post.pops {
		post.share = append(post.share, math.Exp(pop.evidence-total.value()))
	}
	return post, nil
}

// logVolume is the logarithm of the integral of a normal bump of height one.
func (b *bump) logVolume() float64 {
	var chol mat.Cholesky
	if !chol.Factorize(b.cov) {
		return 0
	}
	return 0.5*chol.LogDet() + 0.5*float64(len(b.u))*math.Log(2*math.Pi)
}

type guess struct {
	p    *problem
	bump bump
}

// firstGuess fits the plainest structure: a step, thrust not ending in view.
func firstGuess(s *series, e effort) guess {
	p := &problem{s: s}
	p.grid = s.firstGrid()
	w := s.walkScale(wander)
	u := []float64{0, math.Log(w.jerk * unevenness), math.Log(w.snap)}
	steps := []float64{0.3, 1.5, 1.5}
	for range 3 {
		p.zoom([][]float64{u})
		u, _ = climb(p.logDensity, u, steps, e.climb*len(u))
	}
	p.zoom([][]float64{u})
	l := p.logDensity(u)
	return guess{p, bump{u: u, cov: curvature(p.logDensity, u, l, steps), value: l}}
}

// firstGrid covers every instant first motion could have: from well before the first frame
// that is plainly off the rest level, to that frame.
func (s *series) firstGrid() grid {
	hi := s.t[s.move]
	// how long the vehicle may have moved unnoticed, at a tenth of the mean acceleration
	back := math.Sqrt(2*3*offRest/(0.1*s.accel)) + 2*s.step
	lo := hi - math.Min(back, s.span)
	if s.move > 0 {
		lo = math.Min(lo, s.t[s.move-1])
	}
	n := 200
	return grid{lo, (hi - lo) / float64(n), n}
}

// zoom narrows the grid of first motion to where the posterior is, given some points.
func (p *problem) zoom(us [][]float64) {
	lo, hi := math.Inf(1), math.Inf(-1)
	narrow := math.Inf(1)
	for _, u := range us {
		m, sd := p.onsetMoments(u)
		if math.IsNaN(m) {
			continue
		}
		lo, hi = math.Min(lo, m-7*sd), math.Max(hi, m+7*sd)
		narrow = math.Min(narrow, sd)
	}
	if math.IsInf(lo, 1) {
		return
	}
	s := p.s
	lo = math.Max(lo, s.t[0]-s.span)
	hi = math.Min(hi, s.t[len(s.t)-1])
	n := math.Ceil((hi - lo) / math.Min(narrow/3, 1e9))
	n = math.Max(n, math.Min((hi-lo)/s.step*cellsPerFrame, 120))
	n = math.Max(24, math.Min(n, 160))
	p.grid = grid{lo, (hi - lo) / n, int(n)}
}

// modes finds the maxima of the posterior of one structure.
func modes(p *problem, from bump, e effort) []bump {
	starts, steps := p.starts(from, e)
	var found []bump
	for _, u := range starts {
		v, _ := climb(p.logDensity, u, steps, e.climb*len(u)/2)
		p.zoomAbout(v)
		v, l := climb(p.logDensity, v, steps, e.climb*len(u))
		if math.IsInf(l, 0) || math.IsNaN(l) {
			continue
		}
		found = append(found, bump{u: v, value: l})
	}
	found = distinct(found, steps)
	for i := range found {
		found[i].cov = curvature(p.logDensity, found[i].u, found[i].value, steps)
	}
	us := make([][]float64, len(found))
	for i := range found {
		us[i] = found[i].u
	}
	p.widen(us)
	return found
}

// zoomAbout refits the grid to the neighbourhood of u, never losing the first guess.
func (p *problem) zoomAbout(u []float64) {
	p.widen([][]float64{u})
	p.zoom([][]float64{u})
}

// widen sets the grid to hold first motion for all the points.
func (p *problem) widen(us [][]float64) {
	if len(us) == 0 {
		return
	}
	wide := p.s.firstGrid()
	p.grid = grid{math.Min(p.grid.lo, wide.lo), (math.Max(p.grid.hi(), wide.hi()) - math.Min(p.grid.lo, wide.lo)) / 300, 300}
	p.zoom(us)
}

// starts returns points to climb from and the size of a step in each coordinate.
func (p *problem) starts(from bump, e effort) ([][]float64, []float64) {
	s := p.s
	last := s.t[len(s.t)-1]
	first, _ := (&problem{s: s, grid: p.grid}).onsetMoments(from.u)
	starts := [][]float64{append([]float64(nil), from.u...)}
	steps := []float64{0.3, 1.5, 1.5}
	if p.shape.buildUp {
		var more [][]float64
		for _, ms := range [...]float64{4e-3, 15e-3, 50e-3} {
			d := ms / s.unitT
			if d > s.span || (len(more) > 0 && d < 0.3*s.step) {
				continue
			}
			more = append(more, append(append([]float64(nil), from.u...), math.Min(first+d, last-0.1*s.step)))
		}
		if len(more) == 0 {
			more = append(more, append(append([]float64(nil), from.u...), first+0.5*s.span))
		}
		starts = more
		steps = append(steps, math.Max(0.3*s.step, 0.004/s.unitT))
	}
	if p.shape.end != lasts {
		var more [][]float64
		for _, u := range starts {
			more = append(more, p.endStarts(u, first, e.ends)...)
		}
		starts = more
		steps = append(steps, math.Max(0.5*s.step, s.span/60), 1)
	}
	return starts, steps
}

// endStarts scans the instant of the end of thrust and returns its best local maxima.
func (p *problem) endStarts(u []float64, first float64, n int) [][]float64 {
	s := p.s
	last := s.t[len(s.t)-1]
	type try struct {
		u []float64
		l float64
	}
	tries := make([]try, n)
	for i := range tries {
		t := first + (last-first)*(float64(i)+0.5)/float64(n)
		v := append(append([]float64(nil), u...), t, p.shape.calm())
		tries[i] = try{v, p.logDensity(v)}
	}
	var best []try
	for i, x := range tries {
		if (i == 0 || x.l >= tries[i-1].l) && (i == n-1 || x.l >= tries[i+1].l) && !math.IsInf(x.l, -1) {
			best = append(best, x)
		}
	}
	slices.SortStableFunc(best, func(a, b try) int { return cmp.Compare(b.l, a.l) })
	var out [][]float64
	for _, b := range best[:min(len(best), 2)] {
		out = append(out, b.u)
	}
	return out
}

// distinct drops modes that repeat a better one, and hopeless ones.
func distinct(found []bump, steps []float64) []bump {
	slices.SortStableFunc(found, func(a, b bump) int { return cmp.Compare(b.value, a.value) })
	var out []bump
	for _, f := range found {
		if len(out) > 0 && f.value < out[0].value-discardBelow {
			continue
		}
		same := false
		for _, o := range out {
			d := 0.0
			for i := range steps {
				d = math.Max(d, math.Abs(f.u[i]-o.u[i])/steps[i])
			}
			same = same || d < 1
		}
		if !same {
			out = append(out, f)
		}
	}
	return out[:min(len(out), 4)]
}
