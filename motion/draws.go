package motion

import (
	"context"
	"math"
	"math/rand/v2"
)

// set is one parameter set of the resampled posterior and how many launches it gets.
type set struct {
	pop   *population
	at    *particle
	pairs int
	first int // index of its first pair among all
}

// resample picks n parameter sets in proportion to their weight (systematic resampling)
// and gives each pick the same number of pairs.
func (post *posterior) resample(n, pairs int, r *rand.Rand) []set {
	var sets []set
	x, cum, count := (r.Float64())/float64(n), 0.0, 0
	for i, pop := range post.pops {
		w := normalise(pop.particles)
		for j := range pop.particles {
			cum += w[j] * post.share[i]
			picks := 0
			for x < cum && count < n {
				picks, count, x = picks+1, count+1, x+1/float64(n)
			}
			if picks > 0 {
				sets = append(sets, set{pop, &pop.particles[j], picks * pairs, (count - picks) * pairs})
			}
		}
	}
	if short := n - count; short > 0 && len(sets) > 0 { // rounding of the sum of weights
		sets[len(sets)-1].pairs += short * pairs
	}
	return sets
}

// shuffle spreads the sets so that draws of one set are not neighbours of like sets.
func shuffle(sets []set, r *rand.Rand) {
	r.Shuffle(len(sets), func(i, j int) { sets[i], sets[j] = sets[j], sets[i] })
	first := 0
	for i := range sets {
		sets[i].first = first
		first += sets[i].pairs
	}
}

// chunks is the number of pieces the draws are worked in: fixed, so that sums do not depend
// on the number of workers.
const chunks = 16

// forEach draws all paths of the sets and calls see with the draw's index (two per pair), its path and
// the mean of its pair. Calls of one chunk come in order from one goroutine.
func forEach(ctx context.Context, sets []set, seed uint64, workers int, see func(chunk, draw int, p, mean *path)) error {
	parallel(workers, chunks, func(c int) {
		var sim simulator
		for i := c * len(sets) / chunks; i < (c+1)*len(sets)/chunks; i++ {
			if ctx.Err() != nil {
				return
			}
			st := &sets[i]
			r := stream(seed, uint64(st.first)+1)
			if !sim.prepare(st.pop.problem, st.at, st.pairs, r) {
				continue
			}
			for j := range sim.launchs {
				a, b, mean := sim.pair(j, r)
				d := 2 * (st.first + j)
				see(c, d, a, mean)
				see(c, d+1, b, mean)
			}
		}
	})
	return ctx.Err()
}

// total returns the number of draws of the sets.
func total(sets []set) int {
	n := 0
	for _, s := range sets {
		n += 2 * s.pairs
	}
	return n
}

// central returns the mean path of the most probable parameter set, the best value of the
// vehicle's own motion.
func (post *posterior) central() *path {
	var best *population
	var at particle
	top := math.Inf(-1)
	for _, pop := range post.pops {
		for _, p := range pop.particles {
			if p.l > top {
				top, best, at = p.l, pop, p
			}
		}
	}
	if best == nil {
		return nil
	}
	return at.meanPath(best.problem)
}

// meanPath returns the mean path for the coordinates u, nil where they are impossible.
func meanPath(p *problem, u []float64) *path {
	at := particle{u: u, hypothesis: p.hypothesis}
	return at.meanPath(p)
}

// meanPath returns the mean path at a point, nil where it is impossible.
func (at *particle) meanPath(p *problem) *path {
	var sim simulator
	_, at.cells = p.densities(at.u, at.hypothesis)
	if !sim.prepare(p, at, 1, nil) {
		return nil
	}
	_, _, mean := sim.pair(0, nil)
	return mean
}
