package pairs

import (
	"math"
	"math/rand/v2"

	"padside/motion"
)

// Place is where the traced point was in one frame, followed or marked by hand.
type Place struct {
	// Observation has the nominal height. Its U is what this frame errs by itself: neither DoubtU nor what goes with Phase is in it.
	motion.Observation
	DoubtU float64 // m, standard uncertainty of an error that neighbouring places have together
}

// Input is one vehicle: its places, and what is asked of them.
type Input struct {
	Motion *motion.Input // what all frames share, what is stated of phase and rest, the seeds
	Places []Place       // in order of time; copies of a codec too
	Spans  []Span        // the mean speeds asked for
}

// FrameTimes names, in budgets, what the time of each picture errs by itself.
const FrameTimes = "frame times"

// statedSpread is the standard deviation of the logarithm of the factor by which places scatter otherwise than their uncertainty states (common
// practice, no source: a person's clicks and a tracker's own statement are right to about a seventh).
const statedSpread = 0.15

// The length in time of the error that neighbouring places share is unknown: from a thirtieth to a third of the time in flight, evenly in the logarithm.
const (
	shortestDoubt = 1. / 30
	longestDoubt  = 1. / 3
)

// survey is one vehicle's places, ready for drawing.
type survey struct {
	Input
	moving  int     // index of the first place off rest; 0 where none is at rest
	flight  float64 // s, from the last place at rest to the last
	scatter float64 // factor on the stated U that the places themselves show, 1 or more
}

func newSurvey(in Input) *survey {
	s := &survey{Input: in, scatter: 1}
	if k := in.Motion.FirstMoving(); k > 0 {
		frame := in.Motion.Observations[k].Frame
		for s.moving < len(in.Places) && in.Places[s.moving].Frame < frame {
			s.moving++
		}
	}
	if n := len(in.Places); n > 0 {
		s.flight = in.Places[n-1].T - in.Places[max(0, s.moving-1)].T
	}
	s.scatter = s.scattered()
	return s
}

// slip is what one place errs by in one draw.
type slip struct{ h, t float64 }

// slips draws the errors of the places idx, in order of time, that are their own: white noise of a level known to statedSpread; the error between pixels, of two
// amplitudes that all share; what those at rest share; a first-order autoregressive error of DoubtU; stamps. It takes the same
// numbers from r whatever is held.
func (s *survey) slips(idx []int, r *rand.Rand, hold string, out []slip) {
	m := s.Motion
	level := s.scatter * math.Exp(statedSpread*r.NormFloat64())
	q := motion.Phase{m.PhaseU * r.NormFloat64(), m.PhaseU * r.NormFloat64()}
	rest := m.RestU * r.NormFloat64()
	length := s.flight * shortestDoubt * math.Pow(longestDoubt/shortestDoubt, r.Float64())
	var doubt float64
	for k, i := range idx {
		p := &s.Places[i]
		z := r.NormFloat64()
		if k == 0 || !(length > 0) {
			doubt = z
		} else {
			rho := math.Exp(-(p.T - s.Places[idx[k-1]].T) / length)
			doubt = rho*doubt + math.Sqrt(1-rho*rho)*z
		}
		e := slip{h: level*p.U*r.NormFloat64() + q[0]*p.Phase[0] + q[1]*p.Phase[1] + p.DoubtU*doubt, t: p.UT * r.NormFloat64()}
		if i < s.moving {
			e.h += rest
		}
		if hold == motion.TraceNoise {
			e.h = 0
		}
		if hold == FrameTimes {
			e.t = 0
		}
		out[k] = e
	}
}

// ownU is the standard uncertainty, m/s, of the mean speed between places i and j from what is theirs alone, with the doubt of both taken for
// independent, which it is not of neighbours: never too small.
func (s *survey) ownU(i, j int) float64 {
	a, b := &s.Places[i], &s.Places[j]
	dt := b.T - a.T
	v := (b.H - a.H) / dt
	level := s.scatter * math.Exp(2*statedSpread)
	u := math.Hypot(level*math.Hypot(a.U, b.U), math.Hypot(a.DoubtU, b.DoubtU))
	u = math.Hypot(u, s.Motion.PhaseU*math.Hypot(a.Phase[0]-b.Phase[0], a.Phase[1]-b.Phase[1]))
	if i < s.moving && j >= s.moving {
		u = math.Hypot(u, s.Motion.RestU)
	}
	return math.Hypot(u, v*math.Hypot(a.UT, b.UT)) / dt
}
