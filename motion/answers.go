package motion

import (
	"math"

	"padside/metrology"
)

// Ids of the answers, as in the answers file.
const (
	FirstMotion             = "first_motion"
	TimeToSpeed             = "time_to_speed"
	MeanAccelerationToSpeed = "mean_acceleration_to_speed"
	PeakSpeed               = "peak_speed"
	PeakAcceleration        = "peak_acceleration"
	GateCrossing            = "gate_crossing"
	GateSpeed               = "gate_speed"
	SplitSpeed              = "split_speed"
	ViewTime                = "view_time"
	FreeFallAcceleration    = "free_fall_acceleration"
	AverageSpeed            = "average_speed" // needs no motion: package pairs answers it
)

// question is one answer to be computed on every draw.
type question struct {
	answer metrology.Answer
	// read gives the value on one draw, NaN where it is not reached.
	read func(r *reading, at place) float64
	// missing stands in where a few draws do not reach what nearly all do.
	missing func(r *reading, at place) float64
	what    string // what is not reached, for Reason
	since   origin // what it counts from
}

// origin is what an answer counts from, beside the frames it speaks of.
type origin uint8

const (
	nowhere     origin = iota
	firstMotion        // the instant of first motion
	restPlace          // the place at rest
)

// questions lists what is asked, in the order of the answers file. window is the one of
// peak_acceleration, 0 for none.
func questions(in *Input, window float64) []question {
	untilEnd := func(r *reading, at place) float64 { return r.clocked(r.p.last()) - r.begin() }
	ask := func(id, unit string) question {
		return question{answer: metrology.Answer{ID: id, Lane: in.Lane, Unit: unit}}
	}
	var qs []question

	q := ask(FirstMotion, "s")
	q.since = firstMotion
	q.read = func(r *reading, _ place) float64 { return r.begin() }
	qs = append(qs, q)

	for _, v := range in.Questions.Speeds {
		q := ask(TimeToSpeed, "s")
		q.answer.Speed, q.what, q.since = &v, "speed", firstMotion
		q.read = func(r *reading, _ place) float64 { return r.timeToSpeed(v) }
		q.missing = untilEnd
		qs = append(qs, q)
		q = ask(MeanAccelerationToSpeed, "m/s2")
		q.answer.Speed, q.what, q.since = &v, "speed", firstMotion
		q.read = func(r *reading, _ place) float64 { return v / r.timeToSpeed(v) }
		q.missing = func(r *reading, at place) float64 { return v / untilEnd(r, at) }
		qs = append(qs, q)
	}

	q = ask(PeakSpeed, "m/s")
	q.read = func(r *reading, at place) float64 { return r.speedAt(at.speed) }
	qs = append(qs, q)
	if window > 0 {
		q = ask(PeakAcceleration, "m/s2")
		q.answer.Window = &window
		q.read = func(r *reading, at place) float64 { return r.meanAcceleration(at.accel, window) }
		qs = append(qs, q)
	}
	qs = append(qs, gateQuestions(in.Questions.Gates, ask)...)

	q = ask(ViewTime, "s")
	q.since = firstMotion
	q.read = func(r *reading, at place) float64 { return r.clocked(at.leave) - r.begin() }
	return append(qs, q)
}

func gateQuestions(gates []float64, ask func(id, unit string) question) []question {
	var qs []question
	for _, h := range gates {
		q := ask(GateCrossing, "s")
		q.answer.Height, q.what, q.since = &h, "height", restPlace
		q.read = func(r *reading, _ place) float64 { return r.clocked(r.gate(h)) }
		q.missing = func(r *reading, _ place) float64 { return r.clocked(r.p.last()) }
		qs = append(qs, q)
		q = ask(GateSpeed, "m/s")
		q.answer.Height, q.what, q.since = &h, "height", restPlace
		q.read = func(r *reading, _ place) float64 {
			t := r.gate(h)
			if math.IsNaN(t) {
				return t
			}
			return r.speedAt(t)
		}
		q.missing = func(r *reading, _ place) float64 { return r.speed[len(r.speed)-1] / r.tr.clock }
		qs = append(qs, q)
	}
	for i := 1; i < len(gates); i++ {
		from, to := gates[i-1], gates[i]
		q := ask(SplitSpeed, "m/s")
		q.answer.From, q.answer.To, q.what, q.since = &from, &to, "height", restPlace
		q.read = func(r *reading, _ place) float64 {
			return (to - from) / (r.clocked(r.gate(to)) - r.clocked(r.gate(from)))
		}
		q.missing = func(r *reading, _ place) float64 { return r.speed[len(r.speed)-1] / r.tr.clock }
		qs = append(qs, q)
	}
	return qs
}
