package study

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/stat/distuv"

	"padside/fault"
	"padside/metrology"
)

// SweepPoint is one launch of a sweep: a condition in SI, an answer, and the answer's draws.
type SweepPoint struct {
	At    float64
	Value float64
	Draws []float64
}

// CurvePoint is the curve at one condition with its 95 % band.
type CurvePoint struct {
	At    float64 `json:"at"`
	Value float64 `json:"value"`
	Low   float64 `json:"low"`
	High  float64 `json:"high"`
}

// Sweep is how an answer depends on one condition.
type Sweep struct {
	Degree    int // of the polynomial
	Curve     []CurvePoint
	ScatterSD float64 // of launches about the curve, measurement included

	Best         float64    // the condition at which the curve is best within the range flown
	BestInterval [2]float64 // 95 %
	BestValue    float64    // there
	Outside      float64    // probability that the best lies at or beyond an end of the range flown
}

const (
	curvePoints = 61
	sweepDraws  = 2000
	leastSweep  = 4    // launches: a parabola and one to see the scatter by
	cubicLevel  = 0.05 // probability of so large a gain by chance below which a cubic is taken
	// outsideSay is the probability from which the best is said to lie outside.
	outsideSay = 0.025
)

// RunSweep fits a smooth curve through a sweep: a parabola, or a cubic where five launches or more beyond its coefficients show that it
// fits better (F test at 5 %). The launches' scatter about it is taken from the residuals, and not for less than what measuring
// contributes by itself. Coefficients are drawn from their Student posterior (flat prior; Gelman et al., Bayesian Data Analysis, 3rd
// ed., 14.2), and the best condition is sought on each draw within the range flown. What all launches share moves the whole
// curve and widens its band, and leaves the best where it is. maximum says whether the largest value is best or the smallest.
func RunSweep(points []SweepPoint, maximum bool, seed uint64) (*Sweep, error) {
	points = slices.Clone(points)
	slices.SortStableFunc(points, func(a, b SweepPoint) int {
		if a.At < b.At {
			return -1
		}
		if a.At > b.At {
			return 1
		}
		return 0
	})
	levels := 1
	for i := 1; i < len(points); i++ {
		if points[i].At > points[i-1].At {
			levels++
		}
	}
	if len(points) < leastSweep || levels < 3 {
		return nil, fault.NoAnswerf(fmt.Sprintf("fly %d launches or more at three conditions or more", leastSweep),
			"%d launches at %d conditions do not show a curve", len(points), levels)
	}
	draws := make([][]float64, len(points))
	for i, p := range points {
		draws[i] = p.Draws
	}
	shared, own, err := parts(draws)
	if err != nil {
		return nil, fmt.Errorf("sweep: %w", err)
	}
	f, err := fitCurve(points, 2)
	if err != nil {
		return nil, err
	}
	if len(points) >= 9 && levels >= 5 {
		if g, err := fitCurve(points, 3); err == nil && better(f, g) {
			f = g
		}
	}
	s := &Sweep{Degree: f.degree, ScatterSD: math.Sqrt(math.Max(f.ss/float64(f.dof), own))}
	s.draw(f, points, math.Sqrt(shared), maximum, seed)
	return s, nil
}

// curve is a polynomial in z, the condition scaled to -1 to 1 over the range flown.
type curve struct {
	degree, dof int
	mid, half   float64
	c           []float64
	ss          float64 // sum of squared residuals
	root        *mat.Dense
}

func (f *curve) z(at float64) float64 { return (at - f.mid) / f.half }

func polynomial(c []float64, z float64) float64 {
	v := 0.0
	for i := len(c) - 1; i >= 0; i-- {
		v = v*z + c[i]
	}
	return v
}

// fitCurve fits a polynomial by least squares through QR. root is the inverse of R: root times standard normal numbers, times the
// scatter, is a draw of the coefficients' error.
func fitCurve(points []SweepPoint, degree int) (*curve, error) {
	n := len(points)
	lo, hi := points[0].At, points[n-1].At
	f := &curve{degree: degree, dof: n - degree - 1, mid: (lo + hi) / 2, half: (hi - lo) / 2}
	x, y := mat.NewDense(n, degree+1, nil), mat.NewVecDense(n, nil)
	for i, p := range points {
		v := 1.0
		for k := range degree + 1 {
			x.Set(i, k, v)
			v *= f.z(p.At)
		}
		y.SetVec(i, p.Value)
	}
	var qr mat.QR
	qr.Factorize(x)
	var c mat.VecDense
	if err := qr.SolveVecTo(&c, false, y); err != nil {
		return nil, fault.NoAnswerf("fly more conditions", "%d launches do not fix a curve of degree %d", n, degree)
	}
	for k := range degree + 1 {
		f.c = append(f.c, c.AtVec(k))
	}
	for _, p := range points {
		e := p.Value - polynomial(f.c, f.z(p.At))
		f.ss += e * e
	}
	var r, inv mat.Dense
	qr.RTo(&r)
	if err := inv.Inverse(r.Slice(0, degree+1, 0, degree+1)); err != nil {
		return nil, fault.NoAnswerf("fly more conditions", "%d launches do not fix a curve of degree %d", n, degree)
	}
	f.root = &inv
	return f, nil
}

// better says whether g, of one degree more, fits better than chance would have it.
func better(f, g *curve) bool {
	gain := (f.ss - g.ss) / (g.ss / float64(g.dof))
	return distuv.F{D1: 1, D2: float64(g.dof)}.Survival(gain) < cubicLevel
}

// draw draws curves and sums them up.
func (s *Sweep) draw(f *curve, points []SweepPoint, shared float64, maximum bool, seed uint64) {
	r := rand.New(rand.NewPCG(seed, 0x7377656570))
	sign := 1.0
	if !maximum {
		sign = -1
	}
	at := make([]float64, curvePoints)
	lo, hi := points[0].At, points[len(points)-1].At
	for i := range at {
		at[i] = lo + (hi-lo)*float64(i)/(curvePoints-1)
	}
	values := make([][]float64, curvePoints)
	var best []float64
	outside := 0
	chi := distuv.ChiSquared{K: float64(f.dof), Src: r}
	c, one := make([]float64, len(f.c)), make([]float64, curvePoints)
	for range sweepDraws {
		scatter := s.ScatterSD * math.Sqrt(float64(f.dof)/chi.Rand())
		noise := make([]float64, len(c))
		for k := range noise {
			noise[k] = scatter * r.NormFloat64()
		}
		for k := range c {
			c[k] = f.c[k]
			for j := range noise {
				c[k] += f.root.At(k, j) * noise[j]
			}
		}
		move := shared * r.NormFloat64()
		for i := range at {
			one[i] = sign * polynomial(c, f.z(at[i]))
			values[i] = append(values[i], sign*one[i]+move)
		}
		x, end := summit(at, one)
		best = append(best, x)
		if end {
			outside++
		}
	}
	s.Outside = float64(outside) / sweepDraws
	for i := range at {
		v := polynomial(f.c, f.z(at[i]))
		one[i] = sign * v
		iv, err := metrology.SymmetricInterval(values[i], 0.95)
		if err != nil {
			continue // cannot be: the draws are finite and many
		}
		s.Curve = append(s.Curve, CurvePoint{at[i], v, iv.Lo, iv.Hi})
	}
	s.Best, _ = summit(at, one)
	s.BestValue = polynomial(f.c, f.z(s.Best))
	if iv, err := metrology.ShortestInterval(best, 0.95); err == nil {
		s.BestInterval = [2]float64{iv.Lo, iv.Hi}
	}
}

// summit is where a curve given at evenly spaced places is largest: the top of the parabola through the largest and its neighbours. It
// reports whether the largest lies at an end.
func summit(at, v []float64) (x float64, end bool) {
	top := 0
	for i := range v {
		if v[i] > v[top] {
			top = i
		}
	}
	if top == 0 || top == len(v)-1 {
		return at[top], true
	}
	a, b, c := v[top-1], v[top], v[top+1]
	if bend := a - 2*b + c; bend < 0 {
		return at[top] + 0.5*(a-c)/bend*(at[1]-at[0]), false
	}
	return at[top], false
}

// LiesOutside says whether the best may well lie outside the range flown.
func (s *Sweep) LiesOutside() bool { return s.Outside > outsideSay }
