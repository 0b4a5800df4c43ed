package desk

import (
	"fmt"
	"math"
	"slices"

	"padside/fault"
	"padside/logbook"
	"padside/metrology"
	"padside/motion"
	"padside/pairs"
)

// repeatedU is what the place of a codec's copy errs by besides, px: it shows the vehicle as it was in an earlier frame, and a vehicle moves by up to this before its
// picture changes (package trace, copies.go).
const repeatedU = 0.1

// strayShare is the standard uncertainty of a frame's time whose stamps stray from even ones, as a share of the root mean square of by how much: whether the
// stamps or the even times are the instants of the pictures, two places do not tell.
const strayShare = 0.5

// strayRMS is the root mean square of by how much the stamps stray, s.
func (s *seen) strayRMS() float64 {
	var sum float64
	for _, q := range s.spots {
		sum += q.stray * q.stray
	}
	return math.Sqrt(sum / float64(max(1, len(s.spots))))
}

// places are a lane's spots as pairs takes them.
func (s *seen) places(lane *Lane) []motion.Observation {
	var out []motion.Observation
	clock, unsure := &lane.Motion.Clock, strayShare*s.strayRMS()
	for i, q := range s.spots {
		if clock.Repeats(q.frame) {
			continue
		}
		pitch := lane.Scale.MetresPerPixel(s.along(q))
		o := lane.Heights[i]
		o.T, o.UT = o.T+clock.Later(q.frame), math.Hypot(o.UT, unsure)
		own := s.own(q)
		if q.copy {
			own = math.Hypot(own, repeatedU)
		}
		o.Phase, o.U, o.DoubtU = q.phase, own*pitch, q.uDoubt*pitch
		out = append(out, o)
	}
	return out
}

// pairUp holds the fitted motion of a lane against pairs of its places, and adds the mean speeds that these tell by themselves.
func (s *seen) pairUp(l *logbook.Launch, lane *Lane) []fault.Warning {
	in := pairs.Input{Motion: &lane.told, Places: s.places(lane)}
	for _, a := range l.Questions.AverageSpeeds {
		in.Spans = append(in.Spans, pairs.Span(a))
	}
	m := lane.Motion
	warnings := pairs.Guard(in, m)
	answers, draws := pairs.Speeds(in, drawsOf(m))
	if !slices.ContainsFunc(m.Answers, func(a metrology.Answer) bool { return a.Status == metrology.Measured }) {
		s.unproven(answers, draws)
	}
	m.Answers, m.Draws = append(m.Answers, answers...), append(m.Draws, draws...)
	return warnings
}

// unproven withdraws mean speeds between places that were followed, where no motion shows that what was followed is the vehicle. Places
// marked by hand need no proof.
func (s *seen) unproven(answers []metrology.Answer, draws [][]float64) {
	marked := func(frame int) bool {
		return slices.ContainsFunc(s.spots, func(q spot) bool { return q.frame == frame && q.byHand })
	}
	for i := range answers {
		a := &answers[i]
		if a.Status == metrology.Measured && !(marked(*a.FromFrame) && marked(*a.ToFrame)) {
			*a = metrology.WithoutValue(*a, metrology.Insufficient, fmt.Sprintf(
				"no motion shows that what was followed is the vehicle: mark it by hand in frames %d and %d", *a.FromFrame, *a.ToFrame))
			draws[i] = nil
		}
	}
}

// drawsOf is how many draws the answers of a motion have.
func drawsOf(m *motion.Result) int {
	n := 0
	for _, d := range m.Draws {
		n = max(n, len(d))
	}
	return n
}

// withinFootage refuses mean speeds between frames that there are none of, or that the launch file leaves out.
func withinFootage(l *logbook.Launch, frames int) error {
	first, last := l.Footage.From, frames-1
	if l.Footage.To >= 0 {
		last = min(last, l.Footage.To)
	}
	for _, a := range l.Questions.AverageSpeeds {
		for _, f := range [...]int{a.From, a.To} {
			switch {
			case f >= frames:
				return fault.Requestf("frames count from 0",
					"%s: [questions] average_speeds { from = %d, to = %d }: frame %d is beyond the footage, whose last frame is %d", l.Path, a.From, a.To, f, frames-1)
			case f < first || f > last:
				return fault.Requestf("name frames within from and to of [footage], or widen those",
					"%s: [questions] average_speeds { from = %d, to = %d }: frame %d is not among frames %d to %d, which [footage] uses", l.Path, a.From, a.To, f, first, last)
			}
		}
	}
	return nil
}
