package study

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/stat/distuv"

	"padside/fault"
	"padside/metrology"
)

// Repeats is what the same launch, flown several times, says.
type Repeats struct {
	N         int
	Mean      metrology.Answer // of such launches in general, with its interval
	BetweenSD float64          // how much launches differ truly; 0 where measuring explains it all
	WithinSD  float64          // how much one measurement errs by itself, shared errors apart
	SharedU   float64          // standard uncertainty that all share: repeating does not make it smaller
	Outlier   int              // the launch that lies off the others, from 1; 0: none
	OutlierP  float64          // probability of one so far off among so many by chance
}

// outlierLevel is the probability below which a launch is named as lying off.
const outlierLevel = 0.05

// Repeat sums up one answer over launches that repeat each other: values y with their joint draws. The mean is that of launches in
// general, so that its variance is s²/n, with s the standard deviation of the values and n-1 degrees of freedom, plus that of what
// all share, which s does not show; the two are joined by Welch and Satterthwaite (JCGM 100:2008, 4.2.3, G.4.1, H.5). What measurements
// share is the mean covariance of their draws. An outlier is named by Grubbs' two-sided test (Technometrics 11 (1969) 1) and never
// left out.
func Repeat(values []float64, draws [][]float64, of metrology.Answer) (*Repeats, error) {
	n := len(values)
	if n < 2 || len(draws) != n {
		return nil, fault.Requestf("fly it again", "%d launch cannot show how launches differ", n)
	}
	shared, own, err := parts(draws)
	if err != nil {
		return nil, fmt.Errorf("repeat: %w", err)
	}
	mean, s2 := metrology.Variance(values)
	r := &Repeats{N: n, WithinSD: math.Sqrt(own), SharedU: math.Sqrt(shared), BetweenSD: math.Sqrt(math.Max(0, s2-own))}
	u2 := s2/float64(n) + shared
	e := metrology.Known(mean, math.Sqrt(u2))
	if s2 > 0 {
		e.Dof = u2 * u2 / (s2 / float64(n) * s2 / float64(n) / float64(n-1))
	}
	if r.Mean, err = metrology.FromEstimate(of, e); err != nil {
		return nil, err
	}
	r.Mean.Lane = 0
	r.grubbs(values, mean, math.Sqrt(s2))
	return r, nil
}

// parts splits the variance of draws into what all launches share, the mean covariance of two, and the mean rest.
func parts(draws [][]float64) (shared, own float64, err error) {
	n := len(draws)
	if n == 1 {
		_, own = metrology.Variance(draws[0])
		return 0, own, nil
	}
	samples := make([][]float64, len(draws[0]))
	for k := range samples {
		samples[k] = make([]float64, n)
		for i := range draws {
			samples[k][i] = draws[i][k]
		}
	}
	_, cov, err := metrology.Covariance(samples)
	if err != nil {
		return 0, 0, err
	}
	var diag, off float64
	for i := range n {
		diag += cov.At(i, i) / float64(n)
		for j := range i {
			off += cov.At(i, j) / float64(n*(n-1)/2)
		}
	}
	shared = math.Max(0, math.Min(off, diag))
	return shared, diag - shared, nil
}

// grubbs names the value farthest from the mean where one so far is improbable.
func (r *Repeats) grubbs(values []float64, mean, s float64) {
	if r.N < 3 || s == 0 {
		return
	}
	far, at := 0.0, 0
	for i, v := range values {
		if d := math.Abs(v-mean) / s; d > far {
			far, at = d, i
		}
	}
	r.OutlierP = grubbsP(far, r.N)
	if r.OutlierP < outlierLevel {
		r.Outlier = at + 1
	}
}

// grubbsP bounds the probability that the farthest of n normal values lies g standard deviations of the sample or more from its
// mean: n times that of one doing so, from t² = n(n-2)g² / ((n-1)² - n g²) with n-2 degrees of freedom.
func grubbsP(g float64, n int) float64 {
	N := float64(n)
	rest := (N-1)*(N-1) - N*g*g
	if rest <= 0 {
		return 0
	}
	t := math.Sqrt(N * (N - 2) * g * g / rest)
	return math.Min(1, 2*N*distuv.StudentsT{Mu: 0, Sigma: 1, Nu: N - 2}.Survival(t))
}

// mostLaunches bounds what needed counts to.
const mostLaunches = 10000
