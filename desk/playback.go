package desk

import (
	"fmt"
	"math"

	"padside/fault"
	"padside/footage"
	"padside/logbook"
	"padside/metrology"
	"padside/motion"
	"padside/timebase"
)

// Slow motion that is stored to be played slowly has stamps of its playback, and a flight by those
// pulls as many times less as the square of how much it is slowed. Where nobody stated what the stamps are,
// that is a hypothesis like any other (common practice, no source).
const (
	slowedClips = 0.05  // of clips that play at up to ordinaryRate: their stamps are playback time
	slowedFast  = 0.002 // of faster ones
	leastSlowed = 2.0   // times; evenly in the logarithm up to
	mostSlowed  = 100.0
	// doubtfulClock is the probability of that at which no answer is given.
	doubtfulClock = 0.05
)

const ordinaryRate = 61.0 // Hz

// pulls is how hard what flies pulls at most: log-normal (m/s2), with a share of launches that pull
// anything from least to most.
type pulls struct{ middle, spread float64 }

const (
	oddPulls              = 0.02
	leastPulls, mostPulls = 0.5, 5000.0 // m/s2
)

// pullsOf are those of each kind: as package motion judges a kind, and gravity for what falls, which
// nothing does that goes up.
func pullsOf(k motion.Kind, up bool) []pulls {
	bottle, motor := pulls{450, 0.9}, pulls{110, 0.8}
	switch k {
	case motion.Bottle:
		return []pulls{bottle}
	case motion.Motor:
		return []pulls{motor}
	case motion.Dropped:
		return []pulls{{gravityStandard, 0.2}}
	}
	if up {
		return []pulls{bottle, motor}
	}
	return []pulls{bottle, motor, {gravityStandard, 0.2}}
}

// coasts is how hard gravity and drag slow what coasts upwards: 9.8 m/s2 and more.
var coasts = []pulls{{16, 0.5}}

// density is that of ln a.
func density(list []pulls, a float64) float64 {
	var sum float64
	for _, p := range list {
		z := math.Log(a/p.middle) / p.spread
		sum += math.Exp(-z*z/2) / (p.spread * math.Sqrt(2*math.Pi)) / float64(len(list))
	}
	odd := 0.0
	if a > leastPulls && a < mostPulls {
		odd = 1 / math.Log(mostPulls/leastPulls)
	}
	return (1-oddPulls)*sum + oddPulls*odd
}

// pace is how fast what flies gains and loses speed by a clip's stamps, m/s2; 0 where it does not show.
type pace struct{ pull, coast float64 }

// likely is the density of a pace if the clip plays slowed s times.
func (p pace) likely(list []pulls, s float64) float64 {
	d := 1.0
	if p.pull > 0 {
		d *= density(list, p.pull*s*s)
	}
	if p.coast > 0 {
		d *= density(coasts, p.coast*s*s)
	}
	return d
}

// slowedOdds is the probability that a clip whose stamps nobody vouches for plays slowed, given the
// pace of what flies by its stamps.
func slowedOdds(list []pulls, p pace, rate float64) float64 {
	prior := slowedClips
	if rate > ordinaryRate {
		prior = slowedFast
	}
	const steps = 64
	var slow float64
	for i := range steps {
		s := leastSlowed * math.Pow(mostSlowed/leastSlowed, (float64(i)+0.5)/steps)
		slow += p.likely(list, s) / steps
	}
	slow *= prior
	return slow / (slow + (1-prior)*p.likely(list, 1))
}

// unvouched is the rate of a clip of which nobody said what its stamps are, so that they may be those of
// a slowed playback, Hz; else 0.
func unvouched(l *logbook.Launch, info footage.Info, b *timebase.Base) float64 {
	if l.Time.Basis != "" || info.Kind != footage.Clip || b.Basis != timebase.Container || info.CaptureRate > 0 {
		return 0
	}
	return meanRate(b)
}

// paceSeen is the pace of a motion, up or down. A flight whose largest acceleration is a loss of speed
// shows a coast alone.
func paceSeen(r *motion.Result, up bool) pace {
	pull := pullSeen(r)
	switch {
	case pull > 0 && up:
		return pace{pull: pull, coast: coastSeen(r.History)}
	case pull < 0 && up:
		return pace{coast: -pull}
	}
	return pace{pull: math.Max(pull, 0)}
}

// pullSeen is the largest mean acceleration answered, or else that of the whole way in view, m/s2; 0 if
// neither tells.
func pullSeen(r *motion.Result) float64 {
	for _, a := range r.Answers {
		if a.ID == motion.PeakAcceleration && a.Status == metrology.Measured {
			return *a.Value
		}
	}
	var most float64
	for _, s := range r.History {
		most = math.Max(most, s.Acceleration)
	}
	return most
}

// coastSeen is the mean loss of speed over the later half of the time after the highest speed, m/s2:
// thrust that ends slowly is then over. 0 if the loss is less than three standard uncertainties.
func coastSeen(h []motion.State) float64 {
	if len(h) == 0 {
		return 0
	}
	top := h[0]
	for _, s := range h {
		if s.Speed > top.Speed {
			top = s
		}
	}
	end := h[len(h)-1]
	from := top
	for _, s := range h {
		if s.T <= (top.T+end.T)/2 && s.T > from.T {
			from = s
		}
	}
	lost, u := from.Speed-end.Speed, math.Hypot(from.USpeed, end.USpeed)
	if end.T <= from.T || lost < 3*u {
		return 0
	}
	return lost / (end.T - from.T)
}

// playback withdraws the answers of a launch that is likely to be timed by a slowed playback, but for
// a drop's own check of its clock. rate is the clip's, by stamps that nobody vouches for.
func playback(k motion.Kind, up bool, rate float64, r *motion.Result) []fault.Warning {
	seen := paceSeen(r, up)
	if seen == (pace{}) || rate == 0 {
		return nil
	}
	odds := slowedOdds(pullsOf(k, up), seen, rate)
	if odds < doubtfulClock {
		return nil
	}
	reason := "by the clip's time stamps it " + seen.text() + ", as footage does whose stamps are those of a slowed playback"
	withhold(r, reason, motion.FreeFallAcceleration)
	return []fault.Warning{{Code: "playback-times", Message: fmt.Sprintf(
		`%s (probability %.2g): state basis = "rate" and the true capture rate under [footage.time]; if the stamps are real time, state basis = "container"`, reason, odds)}}
}

func (p pace) text() string {
	switch {
	case p.coast == 0:
		return fmt.Sprintf("gains speed at %.2g m/s2 at most", p.pull)
	case p.pull == 0:
		return fmt.Sprintf("loses speed at %.2g m/s2 in its coast", p.coast)
	}
	return fmt.Sprintf("gains speed at %.2g m/s2 at most and loses it at %.2g m/s2 in its coast", p.pull, p.coast)
}
