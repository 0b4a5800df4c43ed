package study

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"

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
	Curve     []CurvePoint
	ScatterSD float64 // of launches about the curve, measurement included

	Best         float64    // the condition at which the curve is best within the range flown
	BestInterval [2]float64 // 95 %
	Outside      float64    // probability that the best lies at or beyond an end of the range flown
}

const (
	curvePoints = 61
	sweepDraws  = 2000
	leastSweep  = 4 // launches: fewer show no bend
	// outsideSay is the probability from which the best is said to lie outside.
	outsideSay = 0.025
)

// RunSweep draws a smooth curve through a sweep (see curvePosterior) and seeks the best condition on each draw within the range flown.
// What all launches share moves the whole curve and widens its band, and leaves the best where it is. maximum says whether the
// largest value is best or the smallest.
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
	s := &Sweep{}
	s.draw(points, own, math.Sqrt(shared), maximum, seed)
	return s, nil
}

// draw draws curves and sums them up.
func (s *Sweep) draw(points []SweepPoint, own, shared float64, maximum bool, seed uint64) {
	r := rand.New(rand.NewPCG(seed, 0x7377656570))
	sign := 1.0
	if !maximum {
		sign = -1
	}
	var x, y []float64
	for _, p := range points {
		x, y = append(x, p.At), append(y, sign*p.Value)
	}
	at := make([]float64, curvePoints)
	for i := range at {
		at[i] = x[0] + (x[len(x)-1]-x[0])*float64(i)/(curvePoints-1)
	}
	f := newCurve(x, y, at, own)
	s.ScatterSD = f.sd
	values := make([][]float64, curvePoints)
	var best []float64
	outside := 0
	one := make([]float64, curvePoints)
	for range sweepDraws {
		f.draw(one, r)
		move := shared * r.NormFloat64()
		for i := range at {
			values[i] = append(values[i], sign*one[i]+move)
		}
		top, end := summit(at, one)
		best = append(best, top)
		if end {
			outside++
		}
	}
	s.Outside = float64(outside) / sweepDraws
	for i := range at {
		iv, err := metrology.SymmetricInterval(values[i], 0.95)
		if err != nil {
			continue // cannot be: the draws are finite and many
		}
		s.Curve = append(s.Curve, CurvePoint{at[i], sign * f.mean[i], iv.Lo, iv.Hi})
	}
	s.Best, _ = summit(at, f.mean)
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
