package trace

import (
	"math"

	"padside/fit"
	"padside/register"
)

// smoothShape replaces size and turn of each frame by their smooth course up the flight line, a cubic
// that is 1 (and 0) where the reference was taken, so that their noise does not reach the place. Edges against another background mimic
// another size by some percent: a course that differs by no more than that is not believed.
func (r *refiner) smoothShape() {
	size, turn := r.course(func(w register.Warp) float64 { return w.Size() - 1 }), r.course(func(w register.Warp) float64 { return math.Atan2(w.B, w.A) })
	r.usizes = make([]float64, len(r.warps))
	for i := range r.until { // those beyond keep the shape they were first matched with
		if r.matches[i].OK {
			r.usizes[i] = r.matches[i].USize
		}
		k, t := 1+size(r.along(i)), turn(r.along(i))
		r.warps[i].A, r.warps[i].B = k*math.Cos(t), k*math.Sin(t)
	}
}

// shapeDoubt is the standard uncertainty of size and of turn (rad) that backgrounds may cause.
const shapeDoubt = 0.02

// course fits v = s (c1 + c2 s + c3 s²) over all sightings, s in units of the longest way, each
// coefficient drawn towards 0 as if it were known to be 0 within a third, and shrinks it by what backgrounds may cause.
func (r *refiner) course(v func(register.Warp) float64) func(s float64) float64 {
	var far, lo, hi float64
	n := 0
	for i := range r.matches {
		if m := &r.matches[i]; m.OK && m.USize > 0 && math.Abs(r.along(i)-r.origin) > 3 {
			far = max(far, math.Abs(r.along(i)-r.origin))
			lo, hi = min(lo, r.along(i)-r.origin), max(hi, r.along(i)-r.origin)
			n++
		}
	}
	none := func(float64) float64 { return 0 }
	if n < leastSamples {
		return none
	}
	var c [3]float64
	scale := 1.0
	for range 5 { // reweighted, so that lone failures do not count
		var a [register.MaxTerms * register.MaxTerms]float64
		var rhs [3]float64
		var dev []float64
		for i := range r.matches {
			m := &r.matches[i]
			s := (r.along(i) - r.origin) / far
			if !m.OK || m.USize <= 0 || math.Abs(r.along(i)-r.origin) <= 3 {
				continue
			}
			e := v(m.Warp) - s*(c[0]+s*(c[1]+s*c[2]))
			dev = append(dev, math.Abs(e))
			u := math.Hypot(m.USize, shapeDoubt)
			w := 1 / (u * u) / (1 + e*e/(4*scale*scale))
			row := [3]float64{s, s * s, s * s * s}
			for j := range row {
				for k := range row {
					a[j*register.MaxTerms+k] += w * row[j] * row[k]
				}
				rhs[j] += w * row[j] * v(m.Warp)
			}
		}
		scale = max(fit.Median(dev), 1e-4)
		for j := range rhs {
			a[j*register.MaxTerms+j] += 9
		}
		if !register.Invert(&a, 3) {
			return none
		}
		for j := range c {
			c[j] = a[j*register.MaxTerms]*rhs[0] + a[j*register.MaxTerms+1]*rhs[1] + a[j*register.MaxTerms+2]*rhs[2]
		}
	}
	end := c[0] + c[1] + c[2]
	if -lo > hi {
		end = -c[0] + c[1] - c[2]
	}
	end *= end
	believed := end / (end + shapeDoubt*shapeDoubt)
	return func(s float64) float64 {
		s = min(max(s-r.origin, lo), hi) / far
		return believed * s * (c[0] + s*(c[1]+s*c[2]))
	}
}
