package explain

import "math"

// drift is how errors in flight hang together from frame to frame: beside what each errs by itself they wander smoothly, or roughly, in steps, with the
// covariance
//
//	smooth: size^2 (1 + q |d|) exp(-q |d|),  q = sqrt(3)/length
//	rough:  size^2 exp(-q |d|),  q = 1/length
//
// (Matern's of order 3/2 and 1/2: C. E. Rasmussen, C. K. I. Williams, Gaussian Processes for Machine Learning, 2006, eqs 4.17 and 4.18; the rough one is
// the first-order Gauss-Markov process), size in m, d how far two observations lie apart along what the drift goes with: time, s, or the way, m; length
// likewise. At rest there is none of it. Size 0: they do not wander.
type drift struct {
	size, length float64
	rough        bool
	along        []float64 // of each observation, never falling
}

// pair is the drift's state: its value, m, and its slope times 1/q, m; so both have the variance size^2.
type pair [2]float64

// step carries a state over x = q d.
func (s pair) step(x, fade float64) pair {
	return pair{fade * ((1+x)*s[0] + x*s[1]), fade * (-x*s[0] + (1-x)*s[1])}
}

// back is the transpose of step.
func (s pair) back(x, fade float64) pair {
	return pair{fade * ((1+x)*s[0] - x*s[1]), fade * (x*s[0] + (1-x)*s[1])}
}

// whitener turns errors of a launch's observations into independent ones of unit variance: each less what those before foretell, over the standard
// deviation of what is left (innovations of the Kalman filter of the drift; R. E. Kalman, J. Basic Eng. 82 (1960) 35).
type whitener struct {
	from  int       // the first observation that drifts
	x     []float64 // of each observation: q times how far the one before lies back; 0 where the drift is rough
	fade  []float64 // exp(-q d)
	gain  []pair    // the filter's
	inv   []float64 // 1/sd of the innovation
	logSD float64   // sum of the logarithms of the innovations' standard deviations
}

// whitener is that of the launch's noise and drift.
func (l *launch) whitener() *whitener {
	n := len(l.t)
	w := &whitener{from: l.moving, x: make([]float64, n), fade: make([]float64, n), gain: make([]pair, n), inv: make([]float64, n)}
	a := l.drift.size * l.drift.size
	p, c, r := a, 0.0, a // the state's covariance, given the observations before: value, between, rate
	for k := range n {
		s := l.sd(k) * l.sd(k)
		if k >= w.from && a > 0 {
			if k > w.from {
				x := (l.drift.along[k] - l.drift.along[k-1]) / l.drift.length
				if !l.drift.rough { // the slope of a rough one is no part of it, and steps over x = 0 leave it out
					x *= math.Sqrt(3)
					w.x[k] = x
				}
				w.fade[k] = math.Exp(-x)
				// P' = a 1 + F (P - a 1) F'
				left, right := pair{p - a, c}.step(w.x[k], w.fade[k]), pair{c, r - a}.step(w.x[k], w.fade[k])
				top, low := pair{left[0], right[0]}.step(w.x[k], w.fade[k]), pair{left[1], right[1]}.step(w.x[k], w.fade[k])
				p, c, r = a+top[0], (top[1]+low[0])/2, a+low[1]
			}
			s += p
			w.gain[k] = pair{p / s, c / s}
			p, c, r = p-p*w.gain[k][0], c-c*w.gain[k][0], r-c*w.gain[k][1]
		}
		w.inv[k] = 1 / math.Sqrt(s)
		w.logSD += math.Log(s) / 2
	}
	return w
}

// apply whitens errors v of the launch's observations, in place.
func (w *whitener) apply(v []float64) {
	var s pair
	for k := range v {
		if k > w.from {
			s = s.step(w.x[k], w.fade[k])
		}
		e := v[k] - s[0]
		s[0], s[1] = s[0]+w.gain[k][0]*e, s[1]+w.gain[k][1]*e
		v[k] = e * w.inv[k]
	}
}

// wandered returns the drift that errors v of the observations show, m: v less the share of each frame's own variance in all, seen backwards
// (J. Durbin, S. J. Koopman, Time Series Analysis by State Space Methods, 2001, section 4.4; from memory).
func (l *launch) wandered(v []float64) []float64 {
	w := l.whitener()
	out := append([]float64(nil), v...)
	w.apply(out)
	var later pair // of the observations after
	for k := len(out) - 1; k >= 0; k-- {
		u := out[k]*w.inv[k] - w.gain[k][0]*later[0] - w.gain[k][1]*later[1]
		later[0] += u
		if k > w.from {
			later = later.back(w.x[k], w.fade[k])
		}
		out[k] = v[k] - l.sd(k)*l.sd(k)*u
		if k < w.from || l.drift.size == 0 {
			out[k] = 0
		}
	}
	return out
}
