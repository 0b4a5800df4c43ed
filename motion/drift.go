package motion

import "padside/noise"

// fallWhitener turns residuals of all free flights into independent ones of unit variance, under a
// hypothesis about their correlated errors (package noise). Where the trace states none, these are
// sized by what single frames err by. The process goes on from one flight into the next.
func fallWhitener(flights []freeFlight, h noise.Hypothesis) *noise.Whitener {
	var t, way, own, size []float64
	stated := statesDoubt(flights)
	for _, f := range flights {
		for _, o := range f {
			t, way, own = append(t, o.T), append(way, o.H), append(own, o.U)
			u := noise.UnstatedSize * o.U
			if stated {
				u = o.DoubtU
			}
			size = append(size, h.Size*u)
		}
	}
	c := noise.NewCourse(t, way, 0)
	return noise.NewWhitener(h, own, size, c.Along(h))
}

// statesDoubt says whether the trace states correlated errors of the flights.
func statesDoubt(flights []freeFlight) bool {
	for _, f := range flights {
		for _, o := range f {
			if o.DoubtU > 0 {
				return true
			}
		}
	}
	return false
}
