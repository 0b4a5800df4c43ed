package motion

import "math"

// fall is the way of a body in free flight, positive downward, from height h and speed v at time t0 on,
// under an acceleration a (gravity less buoyancy and added mass) and quadratic drag k v^2 against the motion. T = t - t0;
// with w = sqrt(a k), falling (v >= 0):
//
//	h + (1/k) ln(cosh wT + v sqrt(k/a) sinh wT)
//
// and rising (v < 0) until T1 = atan(-v sqrt(k/a))/w, where it falls from rest:
//
//	h - (1/k) ln(cos(w(T1 - T))/cos(w T1))
//
// (any textbook of mechanics; differentiate twice). SI; a > 0, k > 0, T >= 0.
type fall struct{ a, k, t0, h, v float64 }

// leastDrag stands in for no drag: over 10 m it takes 1e-4 m off.
const leastDrag = 1e-6 // 1/m

func (f *fall) at(t float64) float64 {
	T := t - f.t0
	k := math.Max(f.k, leastDrag)
	w, c := math.Sqrt(f.a*k), math.Sqrt(k/f.a)
	if f.v >= 0 {
		// ln(cosh x + q sinh x) = x + ln((1 + q)/2 + (1 - q)/2 exp(-2x)), kept exact for small x
		x, q := w*T, f.v*c
		return f.h + (x+math.Log1p((1-q)/2*math.Expm1(-2*x)))/k
	}
	rise := math.Atan(-f.v * c)
	if x := w * T; x < rise {
		return f.h - math.Log(math.Cos(rise-x)/math.Cos(rise))/k
	}
	top := fall{a: f.a, k: k, t0: f.t0 + rise/w, h: f.h + math.Log(math.Cos(rise))/k}
	return top.at(t)
}

// freeFlight is one stretch of free flight: of the body let go, or thrown back by the floor.
type freeFlight []Observation

// Which frames show the free fall. The first part of it is left out: a hand that lets go moves, and
// rubs. Falling freely, what came before does not matter: any height and speed are as good to start from.
const (
	flightFrom   = 0.28 // of the highest speed: a twelfth of the fall is behind
	fewestFlying = 6    // frames
)

// flightsOf returns the frames from release, and some speed, until the landing, those in which the floor has thrown the
// body back up, and how many after the landing show no flight.
func flightsOf(obs []Observation) (flights []freeFlight, cut int) {
	end := landing(obs)
	after := obs[end:]
	if end < len(obs) {
		end-- // it may show the beginning of the impact
	}
	obs = obs[:max(end, 0)]
	top := topSpeed(obs)
	from := len(obs) - 1
	for from > 1 && (slope(obs, from) > flightFrom*top || slope(obs, from-1) > flightFrom*top) {
		from--
	}
	flights = append(flights, freeFlight(obs[max(from, 0):]))
	cut = len(after)
	if up := rebound(after, top); len(up) > 0 {
		flights = append(flights, up)
		cut -= len(up)
	}
	return flights, cut
}

// slope is the speed at frame i from two frames to either side.
func slope(obs []Observation, i int) float64 {
	a, b := obs[max(i-2, 0)], obs[min(i+2, len(obs)-1)]
	return (b.H - a.H) / (b.T - a.T)
}

// topSpeed is the highest speed that three frames in a row have.
func topSpeed(obs []Observation) float64 {
	top := 0.0
	for i := 3; i < len(obs)-3; i++ {
		top = math.Max(top, math.Min(slope(obs, i), math.Min(slope(obs, i-1), slope(obs, i+1))))
	}
	return top
}

// A body thrown back counts where it rises at more than leastRebound of the speed it came with, and is seen in so
// many frames: else it shows more of the floor than of gravity.
const (
	leastRebound = 0.15
	fewestThrown = 10
)

// rebound returns the frames, of those after the landing, in which the body flies freely again: from the first in which
// it rises until it comes down.
func rebound(after []Observation, top float64) freeFlight {
	from := 0
	for from+1 < len(after) && after[from+1].H-after[from].H > -leastRebound*top*(after[from+1].T-after[from].T) {
		from++
	}
	from++ // the floor may still touch it in the first
	if from >= len(after) {
		return nil
	}
	up := after[from:]
	apex := 0
	for i := range up {
		if up[i].H < up[apex].H {
			apex = i
		}
	}
	if end := apex + landing(up[apex:]); end < len(up) {
		up = up[:max(end-1, 0)]
	}
	if len(up) < fewestThrown || apex < 2 {
		return nil
	}
	return freeFlight(up)
}

// fastShare is the share of the highest speed in view that a body must have had to have landed: what trembles in a hand turns back too.
const fastShare = 0.5

// landing returns the first frame of a stretch of three in which the speed has dropped by half at
// once, or the number of frames.
func landing(obs []Observation) int {
	fast := fastShare * topSpeed(obs)
	v := func(i, j int) float64 { return (obs[j].H - obs[i].H) / (obs[j].T - obs[i].T) }
	top := 0.0
	for i := 4; i < len(obs); i++ {
		a, b, c := v(i-4, i-3), v(i-3, i-2), v(i-2, i-1)
		top = math.Max(top, math.Max(math.Min(a, b), math.Min(math.Max(a, b), c))) // the middle one
		// seen from two frames, so that one that is off does not look like a landing
		slow := top > 0 && top > fast
		for _, base := range [...]int{i - 1, i - 2} {
			for j := 2*i - 1 - base; j < min(2*i+2-base, len(obs)); j++ {
				u := 6 * math.Hypot(obs[base].U, obs[j].U) / (obs[j].T - obs[base].T)
				slow = slow && v(base, j) < 0.5*top-u
			}
		}
		if slow {
			return i
		}
	}
	return len(obs)
}
