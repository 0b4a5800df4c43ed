package pairs

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"

	"padside/metrology"
	"padside/motion"
)

// Span is the mean speed from one frame to a later one, both counted from 0.
type Span struct{ From, To int }

const (
	// fewestDraws is how many draws an answer has at least.
	fewestDraws = 4096
	// budgetDraws is how many of them the budget is taken from.
	budgetDraws = 1024
	// mostTimeU is the standard uncertainty of the time between two pictures, relative to it, from which no speed is given: beyond it
	// the interval grows without bound.
	mostTimeU = 0.25
	// leastTime keeps a draw far out from turning the pictures' order over: their order is known. A share of the nominal time between them.
	leastTime = 0.05
)

// Speeds answers the mean speeds along the flight line that are asked for and, where fewer pictures than a motion is fitted to show the vehicle moving, those
// between each two neighbouring pictures in which it moves:
//
//	(h(to) - h(from)) / (t(to) - t(from)),
//
// positive away from the pad, on at least fewestDraws joint draws (JCGM 101:2008) of what all frames share (Truth) and of what each place and time errs by
// itself. n is how many draws the fitted motion's answers have, 0 for none. The draws are aligned with the answers, nil where there is no value.
func Speeds(in Input, n int) ([]metrology.Answer, [][]float64) {
	s := newSurvey(in)
	spans := s.asked()
	if len(spans) == 0 {
		return nil, nil
	}
	answers, draws := make([]metrology.Answer, len(spans)), make([][]float64, len(spans))
	ends := make([][2]int, len(spans))
	for k, span := range spans {
		a := metrology.Answer{ID: motion.AverageSpeed, Lane: in.Motion.Lane, FromFrame: &span.From, ToFrame: &span.To, Unit: "m/s"}
		var reason string
		if ends[k], reason = s.ends(span); reason != "" {
			a = metrology.WithoutValue(a, metrology.Insufficient, reason)
		}
		answers[k] = a
	}
	all := s.drawn(answers, ends, max(n, fewestDraws), "")
	sources := s.sources()
	held := make([][][]float64, len(sources))
	for i, name := range sources {
		held[i] = s.drawn(answers, ends, budgetDraws, name)
	}
	for k := range answers {
		if answers[k].Status == "" {
			answers[k], draws[k] = settled(answers[k], all[k], sources, func(i int) []float64 { return held[i][k] })
		}
	}
	return answers, draws
}

// asked are the spans asked for, and where too few pictures show the vehicle moving for a motion, those between neighbours.
func (s *survey) asked() []Span {
	out := slices.Clone(s.Spans)
	obs := s.Motion.Observations
	first := s.Motion.FirstMoving()
	if first < 0 || len(obs)-first >= motion.FewestMoving {
		return out
	}
	for i := max(1, first); i < len(obs); i++ {
		if span := (Span{obs[i-1].Frame, obs[i].Frame}); !slices.Contains(out, span) {
			out = append(out, span)
		}
	}
	return out
}

// ends are the places of a span, or why it cannot be answered.
func (s *survey) ends(span Span) (ij [2]int, reason string) {
	for k, frame := range [...]int{span.From, span.To} {
		i, found := slices.BinarySearchFunc(s.Places, frame, func(p motion.Observation, f int) int { return p.Frame - f })
		if !found {
			return ij, fmt.Sprintf("the vehicle has no place in frame %d: mark it there by hand", frame)
		}
		ij[k] = i
	}
	a, b := &s.Places[ij[0]], &s.Places[ij[1]]
	if u, dt := math.Hypot(a.UT, b.UT), b.T-a.T; u > mostTimeU*dt {
		return ij, fmt.Sprintf("the time from frame %d to frame %d, %.3g s, is known to %.2g s only (standard uncertainty)", span.From, span.To, dt, u)
	}
	return ij, ""
}

// sources names the parts of the budget.
func (s *survey) sources() []string {
	list := s.Motion.SharedSources()
	if slices.ContainsFunc(s.Places, func(p motion.Observation) bool { return p.UT > 0 }) {
		list = append(list, FrameTimes)
	}
	return append(list, motion.TraceNoise)
}

// ownStream sets the draws of the places apart from those of the motion.
const ownStream = 0x7061697273 // "pairs"

// drawn is every answer on n draws with one source held; nil for those that have a status.
func (s *survey) drawn(answers []metrology.Answer, ends [][2]int, n int, hold string) [][]float64 {
	var idx []int
	out := make([][]float64, len(answers))
	for k, a := range answers {
		if a.Status == "" {
			idx = append(idx, ends[k][:]...)
			out[k] = make([]float64, n)
		}
	}
	slices.Sort(idx)
	idx = slices.Compact(idx)
	r := rand.New(rand.NewPCG(s.Motion.Seed, ownStream))
	slips, h, t := make([]slip, len(idx)), make([]float64, len(s.Places)), make([]float64, len(s.Places))
	for i := range n {
		truth := s.Motion.Truth(i, hold)
		s.slips(idx, r, hold, slips)
		for k, j := range idx {
			o := s.Places[j]
			o.H, o.T = o.H+slips[k].h, o.T+slips[k].t
			h[j], t[j] = truth.Height(o.H), truth.Instant(&o)
		}
		for k := range out {
			if out[k] != nil {
				a, b := ends[k][0], ends[k][1]
				out[k][i] = (h[b] - h[a]) / math.Max(t[b]-t[a], leastTime*(s.Places[b].T-s.Places[a].T))
			}
		}
	}
	return out
}

// settled fills an answer in from its draws: median, shortest 95 % interval, budget.
func settled(a metrology.Answer, draws []float64, sources []string, held func(source int) []float64) (metrology.Answer, []float64) {
	sorted := slices.Sorted(slices.Values(draws))
	got, err := metrology.FromDraws(a, sorted[len(sorted)/2], draws)
	if err != nil { // never a value without an interval
		return metrology.WithoutValue(a, metrology.Insufficient, "the places are not known well enough to say"), nil
	}
	got.Interval[0], got.Interval[1] = math.Min(got.Interval[0], *got.Value), math.Max(got.Interval[1], *got.Value)
	var list []metrology.Held
	for i, name := range sources {
		list = append(list, metrology.Held{Source: name, Draws: held(i)})
	}
	if got.Budget, err = metrology.Budget(draws[:budgetDraws], list); err != nil {
		got.Budget = nil
	}
	return got, draws
}
