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
	e := effort{stages: []int{30, 40, 60}, climb: 30, sets: 512, pairs: 4, ends: 40}
	if frames > 400 {
		e = effort{stages: []int{20, 25, 35}, climb: 20, sets: 256, pairs: 8, ends: 24}
	}
	return e
}

// posterior is the result of inference: structures of launch, each with its points.
type posterior struct {
	s     *series
	pops  []*population
	share []float64 // posterior probability of each population's structure

	evidence float64 // ln of the probability of the heights, in the units of s
}

// cellWidth is the width of the cells of the grid of first motion, in its standard
// deviations: the midpoint rule is as good as exact for a normal density at this width.
const cellWidth = 0.6

// twiceFrames is the fewest moving frames in which two changes of thrust are looked for: fewer
// cannot tell them apart, and the freedom only widens every interval.
const twiceFrames = 60

// changeFrames is the fewest in which a change to anything is looked for beside an end of thrust, for the same reason.
const changeFrames = 12

// discardBelow is how far (in the logarithm of the evidence) a structure may lie behind the
// best before it is left out.
const discardBelow = 5

// emptyStep is how far apart frames are, s, that show what is left when a bottle's water is gone: air
// that goes on pushing for some hundredths of a second (common practice, no source).
const emptyStep = 20e-3

// emptied says whether the vehicle may lose its water in view. Where it does its thrust changes, of
// few frames too: what is only asked whether its thrust ends coasts from then on.
func (s *series) emptied(k Kind) bool {
	return s.step*s.unitT < emptyStep && (k == Bottle || k == AnyKind && s.pull > joltPull)
}

// hopeless is how far a structure may lie behind the best before it is not followed further: a second change of thrust seldom gains as much. What
// lies behind gets fewer points, leastEffort of them at least.
const (
	hopeless    = 20
	leastEffort = 0.35
)

// infer finds the posterior of the launch, given a first guess.
func infer(ctx context.Context, first guess, kind Kind, e effort, seed uint64) (*posterior, error) {
	s := first.p.s
	each := func(n int, f func(int)) { parallel(e.workers, n, f) }
	look := first.look()
	s.atOnce, s.pull = kind.stepOdds(look), look.peak
	first = firstGuess(s, e, &first)
	shapes := shapes[:]
	if len(s.t)-s.move < twiceFrames {
		shapes = shapes[:4*begins]
	}
	probs := make([]*problem, len(shapes))
	bumps := make([][]bump, len(shapes))
	for i, sh := range shapes {
		probs[i] = &problem{s: s, shape: sh, grid: first.p.grid, jolt: sh.begin == atOnce && s.jolts(kind)}
		switch {
		case sh.underWay():
			probs[i].grid = s.underWayGrid()
		case first.p.shape.underWay():
			probs[i].grid = s.firstGrid()
		}
	}
	// The two ways to begin first, with thrust lasting; then each with its endings.
	each(begins, func(i int) {
		bumps[i] = modes(probs[i], probs[i].beginStarts(first), e)
	})
	follow := func(i, earlier int) {
		if from := bumps[earlier]; len(from) > 0 {
			at, _ := probs[earlier].onsetMoments(from[0].u)
			probs[i].grid = probs[earlier].grid
			bumps[i] = modes(probs[i], probs[i].endStarts(from[0].u, at, e.ends), e)
		}
	}
	best, laplace := evidences(bumps)
	_, impact := s.impact()
	each(3*begins, func(i int) {
		sh := shapes[i+begins]
		few := sh.end == changes && len(s.t)-s.move < changeFrames && !(sh.begin == atOnce && s.emptied(kind))
		if sh.underWay() && laplace[i%begins] < best-hopeless || sh.end == lands && !impact || few {
			return
		}
		follow(i+begins, i%begins)
	})
	rampUp(probs[:4*begins], bumps, e, each)
	best, laplace = evidences(bumps)
	each(len(shapes)-4*begins, func(i int) {
		if laplace[i+begins] > best-hopeless {
			follow(i+4*begins, i+begins)
		}
	})
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	best, laplace = evidences(bumps)
	post := &posterior{s: s}
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
		thin := math.Max(leastEffort, math.Exp((laplace[i]-best)/2))
		for j, n := range e.stages {
			stages[j] = int(thin * float64(n*d))
		}
		bumps[i] = probs[i].weighHypotheses(bumps[i], e, each)
		pop := populate(probs[i], bumps[i], stages, r, each)
		if !math.IsInf(pop.evidence, -1) {
			post.pops = append(post.pops, pop)
		}
	}
	post.weigh()
	return post, nil
}

// evidences returns the evidence of each structure by Laplace's method, and the best; -Inf where no mode was found.
func evidences(bumps [][]bump) (best float64, each []float64) {
	best = math.Inf(-1)
	for _, modes := range bumps {
		l := math.Inf(-1)
		for _, b := range modes {
			l = math.Max(l, b.value+b.logVolume())
		}
		best, each = math.Max(best, l), append(each, l)
	}
	return best, each
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

// firstGuess fits the plainest structures: a step, or under way, thrust lasting; it returns the more probable. It climbs from an earlier
// guess where there is one.
func firstGuess(s *series, e effort, from *guess) guess {
	w := s.walkScale(wander)
	u, rounds := []float64{0, math.Log(w.jerk * unevenness), math.Log(w.snap)}, 2
	if from != nil {
		u, rounds = from.bump.u, 1
	}
	rest := (&problem{s: s, grid: s.firstGrid()}).plainest(u, rounds, e)
	moving := &problem{s: s, shape: shape{begin: underWay}, grid: s.underWayGrid()}
	if moving.logDensity(u) < rest.bump.value-hopeless && moving.logDensity(rest.bump.u) < rest.bump.value-hopeless {
		return rest
	}
	if other := moving.plainest(u, rounds, e); other.bump.value > rest.bump.value {
		return other
	}
	return rest
}

// plainest climbs from u to the maximum of a structure without coordinates of its own.
func (p *problem) plainest(u []float64, rounds int, e effort) guess {
	steps := p.stepSizes()
	for range rounds {
		p.zoom([][]float64{u})
		u, _ = climb(p.logDensity, u, steps, e.climb*len(u))
	}
	p.zoom([][]float64{u})
	return guess{p, bump{u: u, value: p.logDensity(u)}}
}

// firstGrid covers every instant first motion could have: from well before the first frame
// that is plainly off the rest level, though not before the first of all, to that frame.
func (s *series) firstGrid() grid {
	hi := s.t[s.move]
	// how long the vehicle may have moved unnoticed, at a tenth of the mean acceleration
	back := math.Sqrt(2*3*s.unnoticed()/(0.1*s.accel)) + 2*s.step
	lo := hi - math.Min(back, s.span)
	if s.move > 1 {
		lo = math.Min(lo, s.t[s.move-1])
	}
	lo = math.Max(lo, s.t[0])
	n := 200
	return grid{lo, (hi - lo) / float64(n), n}
}

// zoom narrows the grid of first motion to where the posterior is, given some points.
func (p *problem) zoom(us [][]float64) {
	if p.shape.underWay() {
		return
	}
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
	lo = math.Max(lo, s.t[0])
	hi = math.Min(hi, s.t[len(s.t)-1])
	n := math.Ceil((hi - lo) / (narrow * cellWidth))
	n = math.Max(16, math.Min(n, 100))
	p.grid = grid{lo, (hi - lo) / n, int(n)}
}

// modes finds the maxima of the posterior of one structure near some points.
func modes(p *problem, starts [][]float64, e effort) []bump {
	steps := p.stepSizes()
	var found []bump
	for _, u := range starts {
		v, l := climb(p.logDensity, u, steps, e.climb*len(u)/2)
		if math.IsInf(l, 0) || math.IsNaN(l) {
			continue
		}
		found = append(found, bump{u: v, value: l})
	}
	found = distinct(found, steps)
	for i := range found {
		b := &found[i]
		p.widen([][]float64{b.u})
		b.u, b.value = climb(p.logDensity, b.u, steps, e.climb*len(steps)/2)
		b.cov = curvature(p.logDensity, b, steps, p.widest())
	}
	us := make([][]float64, len(found))
	for i := range found {
		us[i] = found[i].u
	}
	p.widen(us)
	return found
}

// widen sets the grid to hold first motion for all the points.
func (p *problem) widen(us [][]float64) {
	if len(us) == 0 || p.shape.underWay() {
		return
	}
	wide := p.s.firstGrid()
	p.grid = grid{math.Min(p.grid.lo, wide.lo), (math.Max(p.grid.hi(), wide.hi()) - math.Min(p.grid.lo, wide.lo)) / 300, 300}
	p.zoom(us)
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
