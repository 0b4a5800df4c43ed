package pairs

import (
	"math"
	"math/rand/v2"

	"padside/motion"
	"padside/noise"
)

// Input is one vehicle: its places, and what is asked of them.
type Input struct {
	Motion *motion.Input        // what all frames share, what is stated of phase and rest, the seeds
	Places []motion.Observation // in order of time, followed or marked by hand; copies of a codec too
	Spans  []Span               // the mean speeds asked for
}

// FrameTimes names, in budgets, what the time of each picture errs by itself.
const FrameTimes = "frame times"

// statedSpread is the standard deviation of the logarithm of the factor by which places scatter otherwise than their uncertainty states (common
// practice, no source: a person's clicks and a tracker's own statement are right to about a seventh).
const statedSpread = 0.15

// survey is one vehicle's places, ready for drawing.
type survey struct {
	Input
	moving     int // index of the first place off rest; 0 where none is at rest
	course     noise.Course
	hypotheses []noise.Hypothesis // how errors of neighbours may be correlated
	scatter    float64            // factor on the stated U that the places themselves show, 1 or more
}

func newSurvey(in Input) *survey {
	s := &survey{Input: in, scatter: 1, hypotheses: noise.Hypotheses(true)}
	if k := in.Motion.FirstMoving(); k > 0 {
		frame := in.Motion.Observations[k].Frame
		for s.moving < len(in.Places) && in.Places[s.moving].Frame < frame {
			s.moving++
		}
	}
	var t, h []float64
	for i := range in.Places {
		t, h = append(t, in.Places[i].T), append(h, in.Places[i].H)
	}
	s.course = noise.NewCourse(t, h, max(0, s.moving-1))
	s.scatter = s.scattered()
	return s
}

// slip is what one place errs by in one draw.
type slip struct{ h, t float64 }

// slips draws the errors of the places idx, in order of time, that are their own: white noise of a
// level known to statedSpread; the error between pixels, of two amplitudes that all share; what
// those at rest share; the correlated error under a hypothesis drawn too; stamps. It takes the same
// numbers from r whatever is held.
func (s *survey) slips(idx []int, r *rand.Rand, hold string, out []slip) {
	m := s.Motion
	level := s.scatter * math.Exp(statedSpread*r.NormFloat64())
	q := noise.Phase{m.PhaseU * r.NormFloat64(), m.PhaseU * r.NormFloat64()}
	rest := m.RestU * r.NormFloat64()
	h := noise.Pick(s.hypotheses, r)
	along := make([]float64, len(idx))
	for k, i := range idx {
		along[k] = s.course.At(h, i)
	}
	doubt := h.Draw(along, r)
	for k, i := range idx {
		p := &s.Places[i]
		e := slip{h: level*p.U*r.NormFloat64() + q[0]*p.Phase[0] + q[1]*p.Phase[1] + p.DoubtU*doubt[k], t: p.UT * r.NormFloat64()}
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
	u = math.Hypot(u, a.Phase.Less(b.Phase).Size(s.Motion.PhaseU))
	if i < s.moving && j >= s.moving {
		u = math.Hypot(u, s.Motion.RestU)
	}
	return math.Hypot(u, v*math.Hypot(a.UT, b.UT)) / dt
}
