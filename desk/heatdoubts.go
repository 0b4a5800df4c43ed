package desk

import (
	"fmt"
	"math"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"padside/fault"
	"padside/logbook"
	"padside/motion"
	"padside/rules"
	"padside/study"
)

// unruled says in which quantities classified entries differ though no rule is about them.
func (r *racing) unruled(s *HeatSheet) {
	ruled := map[string]bool{}
	for _, rule := range r.file.Rules {
		ruled[rule.Key] = true
	}
	first, keys, differ := map[string]float64{}, []string(nil), map[string]bool{}
	for i := range r.entries {
		e := &r.entries[i]
		if s.Entries[i].Standing != Classified {
			continue
		}
		for _, c := range slices.Concat(e.Conditions, e.launch.Conditions) {
			if own, _ := e.condition(c.Key); c.Dimension == 0 || ruled[c.Key] || weather[c.Key] || own.Text != c.Text {
				continue
			}
			v, seen := first[c.Key]
			if !seen {
				first[c.Key] = c.Quantity.Value
			} else if math.Abs(v-c.Quantity.Value) > 1e-9*math.Abs(v) && !differ[c.Key] {
				keys, differ[c.Key] = append(keys, rules.Words(c.Key)), true
			}
		}
	}
	if len(keys) > 0 {
		s.Warnings = append(s.Warnings, fault.Warning{Code: "unruled-conditions", Message: fmt.Sprintf(
			"the entries differ in %s, about which this heat has no rule", strings.Join(keys, ", "))})
	}
}

// cautions carries over what was doubtful in measuring the entries; what several share is said once.
func (r *racing) cautions(s *HeatSheet) {
	said := map[*logbook.Launch]bool{}
	var list []shared
	for i := range r.entries {
		e := &r.entries[i]
		if e.sheet == nil || said[e.launch] {
			continue
		}
		said[e.launch] = true
		for _, w := range e.sheet.Warnings {
			if w.Code == "still-accelerating" && s.Question.ID != motion.PeakSpeed {
				continue // it doubts an answer that was not raced on
			}
			who := fmt.Sprintf("%s (%s)", e.Number, s.Entries[i].called())
			k := slices.IndexFunc(list, func(q shared) bool { return q.alike(w) })
			if k < 0 {
				k, list = len(list), append(list, shared{code: w.Code})
			}
			list[k].who, list[k].messages = append(list[k].who, who), append(list[k].messages, w.Message)
		}
	}
	for _, q := range list {
		s.Warnings = append(s.Warnings, fault.Warning{Code: q.code, Message: strings.Join(q.who, ", ") + ": " + q.words()})
	}
}

// shared is a doubt of several entries that differs in its numbers at most.
type shared struct {
	code          string
	who, messages []string
}

var aNumber = regexp.MustCompile(`[0-9]+(\.[0-9]+)?`)

func (q *shared) alike(w fault.Warning) bool {
	return q.code == w.Code && aNumber.ReplaceAllString(q.messages[0], "#") == aNumber.ReplaceAllString(w.Message, "#")
}

// words is the doubt with the least and the most of each number that differs.
func (q *shared) words() string {
	numbers := make([][]string, len(q.messages))
	for i, m := range q.messages {
		numbers[i] = aNumber.FindAllString(m, -1)
	}
	k := -1
	return aNumber.ReplaceAllStringFunc(q.messages[0], func(string) string {
		k++
		least, most := numbers[0][k], numbers[0][k]
		for _, n := range numbers {
			v, _ := strconv.ParseFloat(n[k], 64)
			if lo, _ := strconv.ParseFloat(least, 64); v < lo {
				least = n[k]
			}
			if hi, _ := strconv.ParseFloat(most, 64); v > hi {
				most = n[k]
			}
		}
		if least == most {
			return most
		}
		return least + " to " + most
	})
}

// doubts adds what the order must be read with.
func (s *HeatSheet) doubts() {
	warn := func(code, format string, args ...any) {
		s.Warnings = append(s.Warnings, fault.Warning{Code: code, Message: fmt.Sprintf(format, args...)})
	}
	classified := 0
	for i := range s.Entries {
		e := &s.Entries[i]
		if e.Standing == Classified {
			classified++
		}
		for _, c := range e.Checks {
			if c.Verdict == study.CannotTell {
				warn("rule-cannot-tell", "entry %s (%s): it cannot be told whether it keeps the rule on %s: %s", e.Number, e.called(), s.Rules[c.Rule-1].Key, c.Message)
			}
		}
	}
	switch classified {
	case 0:
		warn("nobody-classified", "no entry is classified: there is no order")
	case 1:
		warn("one-classified", "one entry alone is classified: nobody raced it")
	}
}
