package main

import (
	"math"

	"gonum.org/v1/gonum/mat"

	"padside/fit"
	"padside/scene"
	"padside/trace"
)

// common is what the frames of a trace err by together near rest, px: those at rest against those in motion (trace.RestU is its standard
// uncertainty), and the amplitudes of the error between pixels (trace.PhaseU). Left is the standard deviation of what remains.
type common struct {
	rest, cos, sin, left float64
	ok                   bool
}

// nearRest is how far from rest, px, the points are that tell it: further away background and size take over.
const nearRest = 40.0

// commonOf fits error = rest + cos dC + sin dS to the points between 0.4 and nearRest px from rest, C and S their phase less that at rest.
func commonOf(t *scene.Take, p *trace.Path) common {
	seen := followed(t.Scene, p)
	var zero []float64
	var x, y []float64
	first := p.Points[0].Phase
	for _, q := range p.Points {
		tr := seen.Truth(q.Frame)
		e := (q.X-tr.Steady.X)*p.Line.Ux + (q.Y-tr.Steady.Y)*p.Line.Uy
		way := (tr.Steady.X-p.Line.Rest.X)*p.Line.Ux + (tr.Steady.Y-p.Line.Rest.Y)*p.Line.Uy
		switch {
		case math.Abs(tr.Height) < 1e-6:
			zero = append(zero, e)
		case way > 0.4 && way < nearRest && q.Phase != [2]float64{}:
			x, y = append(x, 1, q.Phase[0]-first[0], q.Phase[1]-first[1]), append(y, e)
		}
	}
	if len(zero) == 0 || len(y) < 8 {
		return common{}
	}
	for i := range y {
		y[i] -= mean(zero)
	}
	l, err := fit.LeastSquares(mat.NewDense(len(y), 3, x), y, fit.Options{})
	if err != nil {
		return common{}
	}
	c := l.Coefficients
	return common{c[0], c[1], c[2], l.ResidualSD, true}
}
