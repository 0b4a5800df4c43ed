package rules

import (
	"strings"

	"padside/logbook"
	"padside/study"
)

// Rule is a rule as it was applied. Quantities are SI.
type Rule struct {
	Key   string   `json:"key"`
	Words string   `json:"words"`          // what it allows, for a person
	Same  bool     `json:"same,omitempty"` // all entries alike
	Is    *float64 `json:"is,omitempty"`   // what it is about: as written, or the middle of what the entries state
	Text  string   `json:"text,omitempty"` // where words are compared
	Low   *float64 `json:"low,omitempty"`
	High  *float64 `json:"high,omitempty"`
	Unit  string   `json:"unit,omitempty"`
}

// Check is an entry held against a rule.
type Check struct {
	Rule    int           `json:"rule"` // from 1
	Verdict study.Verdict `json:"verdict"`
	Flown   string        `json:"flown"` // as the launch or heat file writes it; empty: not stated
	Value   *float64      `json:"value,omitempty"`
	U       *float64      `json:"standard_uncertainty,omitempty"`
	Message string        `json:"message"` // what was flown, what is allowed
}

// NotStated is the verdict on a condition that nobody wrote down.
const NotStated study.Verdict = "not-stated"

// Judged is a rule with every entry's check.
type Judged struct {
	Rule
	Checks []Check // one per entry
}

// Stated is what an entry states under a key; false where it states nothing.
type Stated func(key string) (logbook.Condition, bool)

// Judge holds all entries against all rules of a heat.
func Judge(list []logbook.HeatRule, entries []Stated) []Judged {
	var out []Judged
	for i, rule := range list {
		j := judgeQuantity
		if rule.Dimension == 0 {
			j = judgeWords
		}
		one := j(rule, entries)
		for k := range one.Checks {
			one.Checks[k].Rule = i + 1
		}
		out = append(out, one)
	}
	return out
}

// Words writes a key as words.
func Words(key string) string { return strings.ReplaceAll(key, "_", " ") }
