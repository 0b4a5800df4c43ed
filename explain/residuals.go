package explain

import (
	"math"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/stat/distuv"
)

// ResidualTest says whether what the fit leaves over looks like noise. Probabilities are those of residuals at least as odd if the model
// were right and the observations' errors independent.
type ResidualTest struct {
	Fits bool `json:"fits"`
	// Frames that were fitted, and left out because they lie far off all others.
	Frames int `json:"frames"`
	Aside  int `json:"frames_set_aside"`
	// ChiSquare is the sum of squared residuals over the trace's own uncertainties, with its degrees of freedom. The trace's uncertainties
	// are trusted to a factor only, so that this alone decides nothing.
	ChiSquare   float64 `json:"chi_square"`
	Dof         float64 `json:"degrees_of_freedom"`
	Probability float64 `json:"chi_square_probability"`
	// Lag1 is the correlation of neighbouring residuals in flight, Runs their runs of one sign against what is expected.
	Lag1            float64 `json:"neighbour_correlation"`
	Lag1Probability float64 `json:"neighbour_probability"`
	Runs            int     `json:"runs"`
	RunsExpected    float64 `json:"runs_expected"`
	RunsProbability float64 `json:"runs_probability"`
	// Smooth is the root mean square of what slow waves along the flight take out of the residuals, m: what the model lacks. Noise is that
	// of what neighbours do not share, m. A model does not fit where the waves are beyond chance and larger than both the noise and the trace's
	// own uncertainty: smaller ones are as likely the trace's slow errors, and widen the intervals. Where slow errors of the trace are part of
	// the fit, Smooth is theirs, and its probability that of as much within their stated uncertainty.
	Smooth            float64 `json:"smooth_m"`
	Noise             float64 `json:"noise_m"`
	SmoothProbability float64 `json:"smooth_probability"`
}

const (
	// waves is how many half waves along the flight make what counts as slow.
	waves = 10
	// oddBelow is the probability below which residuals are said not to be noise.
	oddBelow = 0.001
	// correlatedBelow is the one below which neighbours are taken to share errors, and intervals are widened.
	correlatedBelow = 0.05
)

// test judges the residuals of a solution.
func (p *problem) test(s *solution) ResidualTest {
	t := ResidualTest{Frames: p.rows, Dof: s.dof}
	var cross, square, steps, number, unit, allowed float64
	below, above := 0, 0
	for _, l := range p.launches {
		t.Aside += l.aside
		last := 0.0
		for k := range l.t {
			stated := s.residuals[l.row+k] * l.sd(k) / l.u[k]
			t.ChiSquare += stated * stated
			if !(l.after[k] > 0) {
				continue
			}
			r := s.residuals[l.row+k]
			square, number, unit, allowed = square+r*r, number+1, unit+l.sd(k), allowed+l.u[k]
			if r < 0 {
				below++
			} else {
				above++
			}
			if last != 0 {
				cross, steps = cross+r*last, steps+(r-last)*(r-last)
			}
			if last*r <= 0 {
				t.Runs++
			}
			last = r
		}
	}
	unit, allowed = unit/number, allowed/number
	t.Lag1 = cross / square
	t.Lag1Probability = oneSided(t.Lag1 * math.Sqrt(number))
	t.runs(float64(below), float64(above))
	t.Noise = math.Sqrt(steps/(2*(number-1))) * unit
	t.Probability = distuv.ChiSquared{K: t.Dof}.Survival(t.ChiSquare)
	gain, probability := p.smooth(s)
	t.SmoothProbability, t.Smooth = probability, math.Sqrt(gain/number)*unit
	t.Fits = !(probability < oddBelow && t.Smooth > math.Max(t.Noise, allowed))
	if sum, wander, nodes := p.wandering(s); nodes > 0 && t.Fits {
		t.Smooth, t.SmoothProbability = wander, distuv.ChiSquared{K: float64(nodes)}.Survival(sum)
		t.Fits = t.SmoothProbability >= oddBelow
	}
	return t
}

// wandering sums up the slow errors that the fit had to allow the trace: the sum of squares at their nodes in units of their standard
// uncertainty, their root mean square in flight (m), and how many nodes there are.
func (p *problem) wandering(s *solution) (sum, wander float64, nodes int) {
	number := 0.0
	for _, l := range p.launches {
		nodes += l.nodes
		for n := range l.nodes {
			sum += s.x[l.first+atNodes+n] * s.x[l.first+atNodes+n]
		}
		for k := l.rest; k < len(l.t); k++ {
			wander += l.slow(s.x, k) * l.slow(s.x, k)
			number++
		}
	}
	return sum, math.Sqrt(wander / number), nodes
}

// oneSided is the probability of a standard normal number above z.
func oneSided(z float64) float64 { return distuv.UnitNormal.Survival(z) }

// runs compares the number of runs with the normal approximation (A. Wald, J. Wolfowitz, Ann. Math. Stat. 11 (1940) 147).
func (t *ResidualTest) runs(a, b float64) {
	n := a + b
	t.RunsExpected = 2*a*b/n + 1
	v := 2 * a * b * (2*a*b - n) / (n * n * (n - 1))
	t.RunsProbability = 1
	if v > 0 {
		t.RunsProbability = oneSided((t.RunsExpected - float64(t.Runs)) / math.Sqrt(v))
	}
}

// smooth returns by how much the sum of squares falls when slow waves along each flight are fitted besides the parameters, less what noise
// alone would take, and the probability of so much by chance. In the linear model at the solution this is the F test of the waves'
// coefficients; it needs no knowledge of the noise's size.
func (p *problem) smooth(s *solution) (gain, probability float64) {
	rows, n := s.jacobian.Dims()
	each := make([]int, len(p.launches))
	m := 0
	for i, l := range p.launches {
		moving := 0
		for k := range l.t {
			if l.after[k] > 0 {
				moving++
			}
		}
		each[i] = min(waves, moving/4)
		m += each[i]
	}
	if rows-n-m < 4 || m == 0 {
		return 0, 1
	}
	a := mat.NewDense(rows, n+m, nil)
	a.Slice(0, rows, 0, n).(*mat.Dense).Copy(s.jacobian)
	column := n
	for i, l := range p.launches {
		end := l.after[len(l.after)-1]
		for w := range each[i] {
			for k := range l.t {
				if l.after[k] > 0 {
					a.Set(l.row+k, column, math.Cos(math.Pi*float64(w)*l.after[k]/end))
				}
			}
			column++
		}
	}
	r := mat.NewDense(rows, 1, append([]float64(nil), s.residuals...))
	var qr mat.QR
	qr.Factorize(a)
	var c mat.Dense
	if err := qr.SolveTo(&c, false, r); err != nil {
		return 0, 1
	}
	var rest mat.Dense
	rest.Mul(a, &c)
	rest.Sub(r, &rest)
	before, after := 0.0, 0.0
	for i, x := range s.residuals {
		before += x * x
		after += rest.At(i, 0) * rest.At(i, 0)
	}
	free := float64(rows - n - m)
	f := (before - after) / float64(m) / (after / free)
	return math.Max(0, before-after-float64(m)*after/free), distuv.F{D1: float64(m), D2: free}.Survival(f)
}

// correlated is by what factor the variances grow because neighbouring errors are alike: the sum of the residuals' correlations up to where
// they die out, 1 where they look independent.
func (p *problem) correlated(s *solution, t *ResidualTest) float64 {
	if t.Lag1Probability > correlatedBelow && (t.SmoothProbability > correlatedBelow || p.launches[0].nodes > 0) {
		return 1
	}
	factor := 1.0
	for lag := 1; lag < 60; lag++ {
		var cross, square float64
		for _, l := range p.launches {
			for k := range l.t {
				if !(l.after[k] > 0) {
					continue
				}
				r := s.residuals[l.row+k]
				square += r * r
				if k >= lag && l.after[k-lag] > 0 {
					cross += r * s.residuals[l.row+k-lag]
				}
			}
		}
		c := cross / square
		if c < 0.05 {
			break
		}
		factor += 2 * c
	}
	return factor
}
