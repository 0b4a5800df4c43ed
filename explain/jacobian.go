package explain

import (
	"math"

	"gonum.org/v1/gonum/mat"
)

// jacobian fills j with the derivatives of residuals: by central differences over flights for the unknowns, in closed form for the rest.
func (p *problem) jacobian(x []float64, j *mat.Dense) {
	j.Zero()
	for c := range p.in.Unknowns {
		for i := range p.launches {
			if own := p.in.Unknowns[c].Launch; own == 0 || own == i+1 {
				p.differences(i, c, x, j)
			}
		}
	}
	for i, l := range p.launches {
		if _, err := p.fly(i, x); err == nil {
			l.ownColumns(x, j)
		}
	}
	for k, q := range p.priors() {
		d := 1.0
		if q.parameter < len(p.scale) {
			d = p.slope(q.parameter, x[q.parameter])
		}
		j.Set(p.rows+k, q.parameter, d/q.u)
	}
}

// differences fills the rows of launch i in the column of unknown c.
func (p *problem) differences(i, c int, x []float64, j *mat.Dense) {
	l := p.launches[i]
	at := append([]float64(nil), x...)
	h := 1e-5 * math.Max(math.Abs(x[c]), 1)
	at[c] = x[c] + h
	_, errUp := p.fly(i, at)
	plus := append([]float64(nil), l.nominal...)
	at[c] = x[c] - h
	_, errDown := p.fly(i, at)
	width := 2 * h
	if errUp != nil || errDown != nil { // at the edge of what flies: from the one side
		if width = h; errUp != nil {
			width = -h
		}
		if errDown == nil {
			copy(plus, l.nominal)
		}
		if _, err := p.fly(i, x); err != nil || errUp != nil && errDown != nil {
			width = math.NaN()
		}
	}
	for k := range l.t {
		j.Set(l.row+k, c, -(plus[k]-l.nominal[k])/width)
	}
}

// ownColumns fills the columns of a launch's own parameters and of its setup's.
func (l *launch) ownColumns(x []float64, j *mat.Dense) {
	clock := l.setup.clock(x)
	for k := range l.t {
		row, speed := l.row+k, l.speed[k]*l.bend[k]
		j.Set(row, l.first+atMotion, speed*l.step*clock)
		j.Set(row, l.first+atLevel, -l.unit)
		if k < l.moving && l.restU > 0 {
			j.Set(row, l.first+atRest, -l.restU)
		}
		if l.phaseU > 0 {
			for c, q := range l.phase[k] {
				j.Set(row, l.first+l.atPhase()+c, -l.phaseU*q)
			}
		}
		for c, part := range l.parts {
			j.Set(row, l.first+l.atParts()+c, moved(part, l.nominal[k])*l.bend[k])
		}
		for c, part := range l.setup.parts {
			j.Set(row, l.setup.first+c, moved(part, l.nominal[k])*l.bend[k])
		}
		if l.setup.rateU > 0 {
			j.Set(row, l.setup.first+len(l.setup.parts), -speed*l.after[k]/clock*l.setup.rateU)
		}
	}
}
