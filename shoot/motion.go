package shoot

import (
	"math"

	"padside/flight"
)

// Motion is how the vehicle is expected to move: its state at a time from first motion, its height counted from rest.
type Motion interface {
	At(t float64) flight.State
}

// Even is an even pull up to a top speed, which then stays. The pull may build up first, as that of a motor does.
type Even struct {
	Pull float64 // m/s2
	Top  float64 // m/s; +Inf: none
	Rise float64 // s, until the pull is whole; 0: at once
}

// MotorRise is how long a motor's thrust takes to build up, s (common practice, no source: 0.03 to 0.07 s).
const MotorRise = 0.05

// At returns the state t after first motion.
//
// While the pull P builds up over r it is P t/r, for a vehicle leaves its pad where thrust, which grows, passes its weight; speed and height are then
//
//	v = P t^2/(2 r),  h = P t^3/(6 r)
//
// and from then on those of an even pull.
func (e Even) At(t float64) flight.State {
	if t <= 0 {
		return flight.State{}
	}
	r := math.Min(e.Rise, e.Top/e.Pull) // at the latest it is whole at the top speed
	if t < r {
		return flight.State{Height: e.Pull * t * t * t / (6 * r), Speed: e.Pull * t * t / (2 * r), Acceleration: e.Pull * t / r}
	}
	v, h := e.Pull*r/2, e.Pull*r*r/6 // where it is whole
	t -= r
	last := (e.Top - v) / e.Pull
	if t < last {
		return flight.State{Height: h + v*t + e.Pull*t*t/2, Speed: v + e.Pull*t, Acceleration: e.Pull}
	}
	return flight.State{Height: h + v*last + e.Pull*last*last/2 + e.Top*(t-last), Speed: e.Top}
}

// Flown is a flight of the flight model, from first motion on.
type Flown struct{ Flight *flight.Flight }

// At returns the state t after first motion.
func (f Flown) At(t float64) flight.State {
	if t < 0 {
		return flight.State{}
	}
	return f.Flight.At(f.Flight.FirstMotion + t)
}

// Recorded is a motion that was measured: rows in order of time, from first motion on. Between rows the height is the cubic that has their heights and
// speeds (Hermite's); after the last it goes on with the last speed.
type Recorded []Row

// Row is a state at a time, s from first motion.
type Row struct {
	T float64
	flight.State
}

// At returns the state t after first motion.
func (r Recorded) At(t float64) flight.State {
	if len(r) == 0 || t <= 0 {
		return flight.State{}
	}
	lo, hi := 0, len(r)-1
	if last := r[hi]; t >= last.T {
		return flight.State{Height: last.Height + last.Speed*(t-last.T), Speed: last.Speed}
	}
	if t < r[0].T { // evenly up to the first row
		first, part := r[0], t/r[0].T
		return flight.State{Height: first.Height * part * part, Speed: first.Speed * part, Acceleration: first.Acceleration}
	}
	for hi-lo > 1 {
		if mid := (lo + hi) / 2; r[mid].T <= t {
			lo = mid
		} else {
			hi = mid
		}
	}
	a, b := r[lo], r[hi]
	d := b.T - a.T
	s := (t - a.T) / d
	h00, h10 := (1+2*s)*(1-s)*(1-s), s*(1-s)*(1-s)
	h01, h11 := s*s*(3-2*s), s*s*(s-1)
	return flight.State{
		Height:       h00*a.Height + h10*d*a.Speed + h01*b.Height + h11*d*b.Speed,
		Speed:        a.Speed + s*(b.Speed-a.Speed),
		Acceleration: a.Acceleration + s*(b.Acceleration-a.Acceleration),
	}
}

// longest is how long a motion is looked at, s: what takes longer than this to leave the view is not a launch that needs a plan.
const longest = 60

// first returns the first time at which a quantity of the motion reaches a value, to 1e-9 of the steps it is looked for in; ok is false where it does
// not until the time until.
func first(m Motion, value, until float64, of func(flight.State) float64) (t float64, ok bool) {
	const steps = 4000
	for i := range steps {
		// Short steps first: a launch begins fast.
		lo, hi := until*sq(float64(i)/steps), until*sq(float64(i+1)/steps)
		if of(m.At(hi)) < value {
			continue
		}
		for range 60 {
			if mid := (lo + hi) / 2; of(m.At(mid)) < value {
				lo = mid
			} else {
				hi = mid
			}
		}
		return hi, true
	}
	return 0, false
}

func sq(x float64) float64 { return x * x }

func heightOf(s flight.State) float64 { return s.Height }
func speedOf(s flight.State) float64  { return s.Speed }

// TopSpeed returns the highest speed up to a time.
func TopSpeed(m Motion, until float64) float64 {
	top := 0.0
	for i := range 2001 {
		top = math.Max(top, m.At(until*float64(i)/2000).Speed)
	}
	return top
}
