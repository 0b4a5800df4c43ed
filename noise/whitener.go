package noise

import "math"

// Whitener turns errors of the frames of one flight into independent ones of unit variance: each
// less what those before foretell, over the standard deviation of what is left (innovations of the
// Kalman filter of the process; R. E. Kalman, J. Basic Eng. 82 (1960) 35).
type Whitener struct {
	LogSD float64 // sum of the logarithms of the innovations' standard deviations

	own, size []float64 // of each frame
	step      []Step    // to each frame from the one before
	gain      []State   // the filter's
	inv       []float64 // 1/sd of the innovation
}

// NewWhitener makes that of frames with their own standard uncertainties (own, above 0) and with
// standard deviations of the correlated part (size, 0 for frames at rest; the hypothesis's own Size
// is in it already), at rising places along, in correlation lengths (Course.Along).
func NewWhitener(h Hypothesis, own, size, along []float64) *Whitener {
	n := len(own)
	w := &Whitener{own: own, size: size, step: make([]Step, n), gain: make([]State, n), inv: make([]float64, n)}
	a, c, b := 1.0, 0.0, 1.0 // covariance of the state, given the frames before: value, between, slope
	for k := range n {
		if k > 0 {
			s := h.Step(math.Max(0, along[k]-along[k-1]))
			w.step[k] = s
			// P' = 1 + F (P - 1) F'
			left, right := s.On(State{a - 1, c}), s.On(State{c, b - 1})
			top, low := s.On(State{left[0], right[0]}), s.On(State{left[1], right[1]})
			a, c, b = 1+top[0], (top[1]+low[0])/2, 1+low[1]
		}
		v := own[k]*own[k] + size[k]*size[k]*a
		g := State{size[k] * a / v, size[k] * c / v}
		a, c, b = a-g[0]*size[k]*a, c-g[0]*size[k]*c, b-g[1]*size[k]*c
		w.gain[k], w.inv[k] = g, 1/math.Sqrt(v)
		w.LogSD += math.Log(v) / 2
	}
	return w
}

// Apply whitens errors v of the frames, in place.
func (w *Whitener) Apply(v []float64) {
	var s State
	for k := range w.inv {
		if k > 0 {
			s = w.step[k].On(s)
		}
		e := v[k] - w.size[k]*s[0]
		s[0], s[1] = s[0]+w.gain[k][0]*e, s[1]+w.gain[k][1]*e
		v[k] = e * w.inv[k]
	}
}

// InverseSD is the reciprocal of the standard deviation of frame k's innovation.
func (w *Whitener) InverseSD(k int) float64 { return w.inv[k] }

// Correlated returns the correlated part that errors v of the frames show, its conditional mean: v
// less the share of each frame's own variance in all, seen backwards (J. Durbin, S. J. Koopman,
// Time Series Analysis by State Space Methods, 2001, section 4.4; from memory).
func (w *Whitener) Correlated(v []float64) []float64 {
	out := append([]float64(nil), v...)
	w.Apply(out)
	var later State // of the frames after
	for k := len(out) - 1; k >= 0; k-- {
		u := out[k]*w.inv[k] - w.gain[k][0]*later[0] - w.gain[k][1]*later[1]
		later[0] += w.size[k] * u
		if k > 0 {
			later = w.step[k].Back(later)
		}
		out[k] = v[k] - w.own[k]*w.own[k]*u
		if w.size[k] == 0 {
			out[k] = 0
		}
	}
	return out
}
