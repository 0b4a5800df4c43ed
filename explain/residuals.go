package explain

import (
	"math"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/stat/distuv"
)

// ResidualTest says whether what the fit leaves over looks like noise, and like the drift that a trace may have. Correlation, runs and waves are
// those of residuals less what those before foretell by that drift. Probabilities are those of residuals at least as odd if the model were
// right.
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
	// Smooth is the root mean square of what is slow in the residuals, m: the drift that the trace is allowed, by its stated uncertainty, and slow waves
	// along the flight beyond it where there are any. SmoothProbability is that of such waves by chance: below 0.001 the model does not fit.
	// Noise is the root mean square of what neighbours do not share.
	Smooth            float64 `json:"smooth_m"`
	Noise             float64 `json:"noise_m"`
	SmoothProbability float64 `json:"smooth_probability"`
}

const (
	// waves is how many half waves along the flight make what counts as slow.
	waves = 10
	// oddBelow is the probability below which residuals are said not to be noise.
	oddBelow = 0.001
	// correlatedBelow is the one below which waves are worth a word.
	correlatedBelow = 0.05
)

// test judges the residuals of a solution.
func (p *problem) test(s *solution) ResidualTest {
	t := ResidualTest{Frames: p.rows, Dof: s.dof}
	var cross, square, steps, number, wander float64
	below, above := 0, 0
	for _, l := range p.launches {
		t.Aside += l.aside
		last, lastRaw := 0.0, math.NaN()
		slow := l.whitener().Correlated(s.raw[l.row : l.row+len(l.t)])
		for k := range l.t {
			r, raw := s.residuals[l.row+k], s.raw[l.row+k]
			t.ChiSquare += raw * raw / (l.u[k] * l.u[k])
			if !(l.after[k] > 0) {
				continue
			}
			square, number, wander = square+r*r, number+1, wander+slow[k]*slow[k]
			if r < 0 {
				below++
			} else {
				above++
			}
			if last != 0 {
				cross += r * last
			}
			if !math.IsNaN(lastRaw) {
				steps += (raw - lastRaw) * (raw - lastRaw)
			}
			if last*r <= 0 {
				t.Runs++
			}
			last, lastRaw = r, raw
		}
	}
	t.Lag1 = cross / square
	t.Lag1Probability = oneSided(t.Lag1 * math.Sqrt(number))
	t.runs(float64(below), float64(above))
	t.Noise = math.Sqrt(steps / (2 * (number - 1)))
	t.Probability = distuv.ChiSquared{K: t.Dof}.Survival(t.ChiSquare)
	t.Smooth, t.SmoothProbability = p.smooth(s, math.Sqrt(wander/number))
	t.Fits = t.SmoothProbability >= oddBelow
	return t
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

// smooth returns how large what is slow in the residuals is (rms, m): wander, the drift that the
// errors' hypothesis has taken up, and waves along each flight that it has not; and the probability
// of as much of these by chance. They are fitted besides the parameters in the linear model at the
// solution, whitened like the rest: this is the F test of their coefficients; it needs no knowledge
// of the noise's size.
func (p *problem) smooth(s *solution, wander float64) (size, probability float64) {
	rows, n := s.jacobian.Dims()
	ripple := p.ripples(rows)
	if ripple == nil {
		return wander, 1
	}
	_, m := ripple.Dims()
	if rows-n-m < 4 {
		return wander, 1
	}
	white := mat.DenseCopyOf(ripple)
	p.whitenColumns(p.whiteners(), white)
	var a mat.Dense
	a.Augment(s.jacobian, white)
	r := mat.NewDense(rows, 1, append([]float64(nil), s.residuals...))
	var qr mat.QR
	qr.Factorize(&a)
	var c, rest mat.Dense
	if err := qr.SolveTo(&c, false, r); err != nil {
		return wander, 1
	}
	rest.Mul(&a, &c)
	rest.Sub(r, &rest)
	before, after := 0.0, 0.0
	for i, x := range s.residuals {
		before += x * x
		after += rest.At(i, 0) * rest.At(i, 0)
	}
	free := float64(rows - n - m)
	probability = distuv.F{D1: float64(m), D2: free}.Survival((before - after) / float64(m) / (after / free))
	if probability > correlatedBelow {
		return wander, probability
	}
	gain := math.Max(0, before-after-float64(m)*after/free) // what noise alone would take is no wave
	moving, sd := 0.0, 0.0
	for _, l := range p.launches {
		for k, t := range l.after {
			if t > 0 {
				moving, sd = moving+1, sd+l.sd(k)
			}
		}
	}
	return math.Hypot(wander, math.Sqrt(gain/moving)*sd/moving), probability
}

// ripples are half waves of 1 m along each flight, a column each; nil where there are too few frames.
func (p *problem) ripples(rows int) *mat.Dense {
	var columns [][]float64
	for _, l := range p.launches {
		moving := 0
		for _, t := range l.after {
			if t > 0 {
				moving++
			}
		}
		end := l.after[len(l.after)-1]
		for w := range min(waves, moving/4) {
			column := make([]float64, rows)
			for k, t := range l.after {
				if t > 0 {
					column[l.row+k] = math.Cos(math.Pi * float64(w) * t / end)
				}
			}
			columns = append(columns, column)
		}
	}
	if len(columns) == 0 {
		return nil
	}
	a := mat.NewDense(rows, len(columns), nil)
	for j, c := range columns {
		a.SetCol(j, c)
	}
	return a
}
