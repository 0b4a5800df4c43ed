package desk

import (
	"strings"

	"padside/logbook"
	"padside/rules"
	"padside/study"
)

// line is an entry with its checks, before it is put in order. i counts it from 0.
func (e *racer) line(judged []rules.Judged, i int) HeatEntry {
	out := HeatEntry{Number: e.Number, Name: e.Name, Title: e.launch.Title, Vehicle: e.vehicle(), Setup: e.launch.Setup, Launch: e.Given, Lane: e.Lane,
		Standing: Classified, Reasons: []string{}, Checks: []rules.Check{}}
	if e.sheet != nil {
		footage := e.sheet.Footage
		out.Footage = &footage
	}
	for _, rule := range judged {
		if e.unread {
			break // nothing is known of it
		}
		c := rule.Checks[i]
		out.Checks = append(out.Checks, c)
		if c.Verdict == study.Outside || c.Verdict == rules.NotStated {
			out.Standing, out.Reasons = NotClassified, append(out.Reasons, c.Message)
		}
	}
	out.Problem = e.problem
	if e.problem != "" && out.Standing == Classified {
		out.Standing = e.standing
	}
	return out
}

// condition is what an entry states under a key: itself, else its launch file, where "vehicle" and "setup" count as conditions too.
func (e *racer) condition(key string) (logbook.Condition, bool) {
	own := []logbook.Condition{{Key: "vehicle", Text: e.vehicle()}, {Key: "setup", Text: e.launch.Setup}}
	for _, list := range [][]logbook.Condition{e.Conditions, e.launch.Conditions, own} {
		for _, c := range list {
			if c.Key == key && c.Text != "" {
				return c, true
			}
		}
	}
	return logbook.Condition{}, false
}

// vehicle is the name of the entry's own vehicle: of several in the launch file, separated by commas, that of its lane.
func (e *racer) vehicle() string {
	names := strings.Split(e.launch.Vehicle, ",")
	if e.Lane > 0 && len(names) == e.launch.Trace.Lanes {
		return strings.TrimSpace(names[e.Lane-1])
	}
	return e.launch.Vehicle
}
