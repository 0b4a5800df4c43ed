package trace

import "padside/fit"

// unlike is the share of its correlation in flight below which what is found at rest is not known
// to be the vehicle: two thirds of what the reference shows are not there. A launcher hides less; a
// hand that lets a ball fall hides more.
const unlike = 0.65

// judgeRest marks as adrift what a reference from flight found before the frames it was made from,
// where that looks too little like it: it may be what the vehicle stands beside. The trace then
// begins in flight.
func (r *refiner) judgeRest() {
	if !r.flight || r.falls || len(r.refs) == 0 {
		return
	}
	var q []float64
	for _, i := range r.refs {
		q = append(q, r.matches[i].Quality)
	}
	usual := fit.Median(q)
	for i := range r.refs[0] {
		if r.matches[i].OK && r.matches[i].Quality < unlike*usual {
			r.adrift[i], r.matches[i].OK = true, false
		}
	}
}
