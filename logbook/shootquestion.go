package logbook

import (
	"slices"
	"strings"

	"padside/motion"
	"padside/shoot"
	"padside/units"
)

// asks lists what can be asked of a plan, and what each question needs to be told.
var asks = []struct {
	answer string
	needs  []string
}{
	{motion.TimeToSpeed, []string{"speed"}}, {motion.MeanAccelerationToSpeed, []string{"speed"}}, {motion.PeakSpeed, nil}, {motion.PeakAcceleration, nil},
	{motion.GateCrossing, []string{"height"}}, {motion.GateSpeed, []string{"height"}}, {motion.SplitSpeed, []string{"from", "to"}}, {motion.ViewTime, nil},
	{motion.FreeFallAcceleration, nil},
	{shoot.Pictures, []string{"count"}},
}

func (r *reader) question(t *table, s *shoot.Shoot) {
	r.known(t, "a [[question]]", "answer", "speed", "height", "from", "to", "count", "within")
	q := shoot.Question{Answer: r.text(t, "answer")}
	var names []string
	found := -1
	for i, a := range asks {
		names = append(names, a.answer)
		if a.answer == q.Answer {
			found = i
		}
	}
	if found < 0 {
		r.fail(t.line, "ask for one of: "+strings.Join(names, ", "), "a plan cannot be asked for %q", q.Answer)
		return
	}
	for _, key := range []string{"speed", "height", "from", "to", "count"} {
		if needed := slices.Contains(asks[found].needs, key); needed != (t.get(key) != nil) {
			if needed {
				r.fail(t.line, "add "+key, "%s needs %s", q.Answer, key)
			} else {
				r.fail(t.get(key).line, "leave it out", "%s has no %s", q.Answer, key)
			}
		}
	}
	if v, ok := r.positive(t, "speed", units.Speed); ok {
		q.Speed, q.Unit = v.Value, v.Unit
	}
	for key, to := range map[string]*float64{"height": &q.Height, "from": &q.From, "to": &q.To} {
		if v, ok := r.positive(t, key, units.Length); ok {
			*to = v.Value
		}
	}
	q.Count = r.whole(t, "count", 0)
	switch {
	case q.Answer == motion.SplitSpeed && q.From >= q.To:
		r.fail(t.line, "give from below to", "a split from %g m to %g m has no length", q.From, q.To)
	case q.Answer == motion.FreeFallAcceleration && !s.Expected.Falls():
		r.fail(t.line, `write [motion] kind = "drop", or ask for another`, "%s is asked of what is dropped", q.Answer)
	case q.Answer == shoot.Pictures && (q.Count < 1 || q.Count > 100_000):
		r.fail(t.line, "give count = 3", "%d pictures cannot be asked for", q.Count)
	case q.Answer != shoot.Pictures:
		q.Within = r.must(t, "within", units.Ratio, "a [[question]]")
	}
	s.Questions = append(s.Questions, q)
}
