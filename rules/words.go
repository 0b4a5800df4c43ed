package rules

import (
	"fmt"
	"strings"

	"padside/logbook"
	"padside/study"
)

// Folded is words without what a hand may write either way: capitals and spaces.
func Folded(s string) string { return strings.ToLower(strings.Join(strings.Fields(s), " ")) }

// judgeWords compares a condition as words. Where all are to be alike, what most entries write is what the others are held against; where no
// reading has more than the others there is none, and nobody keeps the rule.
func judgeWords(rule logbook.HeatRule, entries []Stated) Judged {
	j := Judged{Rule: Rule{Key: rule.Key, Same: rule.Same, Text: rule.Words}}
	flown := make([]string, len(entries))
	count := map[string]int{}
	for i := range entries {
		c, _ := entries[i](rule.Key)
		flown[i] = c.Text
		if c.Text != "" {
			count[Folded(c.Text)]++
		}
	}
	if rule.Same {
		j.Text = commonest(flown, count)
	}
	key := Words(rule.Key)
	j.Words = fmt.Sprintf("%s: %s", key, j.Text)
	if rule.Same {
		j.Words = key + ": the same for all"
		if j.Text != "" {
			j.Words += ", " + j.Text
		}
	}
	for i := range flown {
		c := Check{Flown: flown[i], Verdict: study.Outside}
		switch {
		case flown[i] == "":
			c.Verdict, c.Message = NotStated, fmt.Sprintf("its %s is not stated, where %s is allowed", key, orSame(j.Text))
		case Folded(flown[i]) == Folded(j.Text):
			c.Verdict, c.Message = study.Inside, fmt.Sprintf("%s %s", key, flown[i])
		default:
			c.Message = fmt.Sprintf("%s %s, where %s is allowed", key, flown[i], orSame(j.Text))
		}
		j.Checks = append(j.Checks, c)
	}
	return j
}

func orSame(text string) string {
	if text == "" {
		return "one for all"
	}
	return text
}

// commonest is what more entries write than anything else; empty where nothing is.
func commonest(flown []string, count map[string]int) string {
	best, most, twice := "", 0, false
	done := map[string]bool{}
	for _, f := range flown {
		k := Folded(f)
		if f == "" || done[k] {
			continue
		}
		done[k] = true
		switch n := count[k]; {
		case n > most:
			best, most, twice = f, n, false
		case n == most:
			twice = true
		}
	}
	if twice {
		return ""
	}
	return best
}
