package motion

import (
	"math"
	"math/rand/v2"

	"gonum.org/v1/gonum/mat"
)

// tDof is the number of degrees of freedom of the proposals: heavier tails than the
// posterior, so that weights stay bounded.
const tDof = 6

// kernel is one multivariate Student-t part of a proposal.
type kernel struct {
	share float64
	mean  []float64
	root  *mat.TriDense // lower Cholesky factor of the scale matrix
	logd  float64       // logarithm of the density at the mean
}

func newKernel(mean []float64, cov *mat.SymDense, share float64) (kernel, bool) {
	d := len(mean)
	var chol mat.Cholesky
	if !chol.Factorize(cov) {
		return kernel{}, false
	}
	k := kernel{share: share, mean: mean, root: mat.NewTriDense(d, mat.Lower, nil)}
	chol.LTo(k.root)
	a, _ := math.Lgamma(0.5 * float64(tDof+d))
	b, _ := math.Lgamma(0.5 * tDof)
	k.logd = a - b - 0.5*float64(d)*math.Log(tDof*math.Pi) - 0.5*chol.LogDet()
	return k, true
}

func (k *kernel) draw(r *rand.Rand) []float64 {
	d := len(k.mean)
	var chi2 float64
	z := make([]float64, d)
	for i := range z {
		z[i] = r.NormFloat64()
	}
	for range tDof {
		g := r.NormFloat64()
		chi2 += g * g
	}
	f := math.Sqrt(tDof / chi2)
	u := make([]float64, d)
	for i := range u {
		u[i] = k.mean[i]
		for j := 0; j <= i; j++ {
			u[i] += f * k.root.At(i, j) * z[j]
		}
	}
	return u
}

func (k *kernel) logDensity(u []float64) float64 {
	d := len(u)
	z := make([]float64, d)
	var r2 float64
	for i := range z {
		x := u[i] - k.mean[i]
		for j := range i {
			x -= k.root.At(i, j) * z[j]
		}
		z[i] = x / k.root.At(i, i)
		r2 += z[i] * z[i]
	}
	return k.logd - 0.5*float64(tDof+d)*math.Log1p(r2/tDof)
}

// particle is one point of a posterior with the logarithm of its density and weight.
type particle struct {
	u     []float64
	l     float64   // log target density
	cells []float64 // ln of it in each cell of the grid of first motion
	// The hypothesis about the correlated error, and ln of the probability with which it was picked
	// for this point.
	hypothesis int
	logPick    float64
	logWeight  float64
}

// population is a posterior held as weighted points, and the logarithm of its integral.
type population struct {
	problem   *problem
	particles []particle
	evidence  float64
	effective float64 // number of equally weighted points it is worth
}

// mixture is a sum of kernels.
type mixture []kernel

func (m mixture) draw(r *rand.Rand) []float64 {
	x := r.Float64()
	for i := range m {
		if x -= m[i].share; x < 0 || i == len(m)-1 {
			return m[i].draw(r)
		}
	}
	return nil
}

func (m mixture) logDensity(u []float64) float64 {
	var s logSum
	for i := range m {
		s.add(math.Log(m[i].share) + m[i].logDensity(u))
	}
	return s.value()
}

// populate samples a posterior by adaptive importance sampling: a mixture of Student-t
// kernels, begun at the modes, is refitted to the weighted points of each stage
// (population Monte Carlo; Cappe et al., Statistics and Computing 18:447, 2008, from
// memory); points of all stages but the first are kept, each weighted by the target over
// the mean of the stages' proposals (deterministic mixture).
func populate(p *problem, bumps []bump, stages []int, r *rand.Rand, each func(n int, f func(i int))) *population {
	q := startMixture(bumps)
	var kept []particle
	var proposals []mixture
	var counts []int
	for stage, n := range stages {
		if len(q) == 0 {
			break
		}
		points := make([]particle, n)
		for i := range points {
			points[i].u = q.draw(r)
			points[i].hypothesis, points[i].logPick = p.pickHypothesis(r)
		}
		each(n, func(i int) { points[i].l, points[i].cells = p.densities(points[i].u, points[i].hypothesis) })
		for i := range points {
			points[i].logWeight = points[i].l - q.logDensity(points[i].u) - points[i].logPick
		}
		if stage == len(stages)-1 || stage > 0 {
			kept = append(kept, points...)
			proposals, counts = append(proposals, q), append(counts, n)
		}
		if stage == 0 && len(stages) > 1 {
			p.regrid(points)
		}
		if stage < len(stages)-1 {
			q = q.refit(points)
		}
	}
	return weigh(p, kept, proposals, counts)
}

// regrid sets the grid of first motion by weighted points.
func (p *problem) regrid(points []particle) {
	w := normalise(points)
	var us [][]float64
	for i, x := range w {
		if x > 0.2/float64(len(points)) {
			us = append(us, points[i].u)
		}
	}
	p.widen(us[:min(len(us), 40)])
}

func startMixture(bumps []bump) mixture {
	var q mixture
	var s logSum
	mass := make([]float64, len(bumps))
	for i, b := range bumps {
		var chol mat.Cholesky
		mass[i] = b.value
		if chol.Factorize(b.cov) {
			mass[i] += 0.5 * chol.LogDet()
		}
		s.add(mass[i])
	}
	total := 0.0
	for i, b := range bumps {
		wide := mat.NewSymDense(len(b.u), nil)
		wide.ScaleSym(1.7, b.cov)
		share := math.Max(math.Exp(mass[i]-s.value()), 0.1)
		if k, ok := newKernel(b.u, wide, share); ok {
			q = append(q, k)
			total += share
		}
	}
	for i := range q {
		q[i].share /= total
	}
	return q
}

// refit moves the kernels onto the weighted points.
func (m mixture) refit(points []particle) mixture {
	w := normalise(points)
	d := len(m[0].mean)
	var out mixture
	total := 0.0
	for i := range m {
		var sum, sum2 float64
		mean := make([]float64, d)
		rho := make([]float64, len(points))
		for j := range points {
			u := points[j].u
			rho[j] = w[j] * math.Exp(math.Log(m[i].share)+m[i].logDensity(u)-m.logDensity(u))
			sum += rho[j]
			sum2 += rho[j] * rho[j]
			for a := range d {
				mean[a] += rho[j] * u[a]
			}
		}
		if sum < 0.01 {
			continue
		}
		for a := range mean {
			mean[a] /= sum
		}
		cov := mat.NewSymDense(d, nil)
		for j := range points {
			u := points[j].u
			for a := range d {
				for b := 0; b <= a; b++ {
					cov.SetSym(a, b, cov.At(a, b)+rho[j]/sum*(u[a]-mean[a])*(u[b]-mean[b]))
				}
			}
		}
		// few effective points: keep part of the old shape so that the kernel cannot collapse
		keep := float64(d+2) / (float64(d+2) + sum*sum/sum2)
		var old mat.SymDense
		old.SymOuterK(keep, m[i].root)
		cov.ScaleSym(1-keep, cov)
		cov.AddSym(cov, &old)
		if k, ok := newKernel(mean, cov, sum); ok {
			out = append(out, k)
			total += sum
		}
	}
	if len(out) == 0 {
		return m
	}
	for i := range out {
		out[i].share /= total
	}
	return out
}

// normalise returns the weights of the points, summing to one.
func normalise(points []particle) []float64 {
	var s logSum
	for i := range points {
		s.add(points[i].logWeight)
	}
	w := make([]float64, len(points))
	for i := range points {
		if l := points[i].logWeight; s.any && !math.IsInf(l, -1) && !math.IsNaN(l) {
			w[i] = math.Exp(l - s.value())
		}
	}
	return w
}

func weigh(p *problem, points []particle, proposals []mixture, counts []int) *population {
	total := 0
	for _, c := range counts {
		total += c
	}
	pop := &population{problem: p, particles: points, evidence: math.Inf(-1)}
	var s logSum
	for i := range points {
		var mix logSum
		for j, q := range proposals {
			mix.add(math.Log(float64(counts[j])/float64(total)) + q.logDensity(points[i].u))
		}
		points[i].logWeight = points[i].l - mix.value() - points[i].logPick
		s.add(points[i].logWeight)
	}
	if !s.any {
		return pop
	}
	truncate(points, s.value(), total)
	pop.evidence = s.value() - math.Log(float64(total))
	var sum2 float64
	for _, w := range normalise(points) {
		sum2 += w * w
	}
	pop.effective = 1 / sum2
	return pop
}

// truncate caps the weights at sqrt(n) times their mean, so that no single point rules
// (Ionides, J. Comput. Graph. Stat. 17:295, 2008, from memory).
func truncate(points []particle, logTotal float64, n int) {
	limit := logTotal - 0.5*math.Log(float64(n))
	for i := range points {
		points[i].logWeight = math.Min(points[i].logWeight, limit)
	}
}
