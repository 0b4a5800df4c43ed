package desk

import (
	"slices"
	"strconv"
	"strings"

	"padside/logbook"
	"padside/wording"
)

// Keep writes heat.html, heat.json and results.csv into dir, which is made when missing. heat.json comes last and holds the digests of the others.
func (s *HeatSheet) Keep(dir string) error {
	files := map[string][]byte{}
	var err error
	if files["results.csv"], err = s.CSV(); err != nil {
		return err
	}
	if files["heat.html"], err = s.HTML(wording.Units{}); err != nil {
		return err
	}
	return logbook.Whole{Files: files, Last: "heat.json", Seal: func(digests map[string]string) ([]byte, error) {
		kept := *s
		kept.Files = digests
		return kept.JSON()
	}}.Write(dir)
}

// HTML is the result sheet to print or send, in the units wanted: one file that needs nothing beside it.
func (s *HeatSheet) HTML(want wording.Units) ([]byte, error) {
	v, err := s.View(want)
	if err != nil {
		return nil, err
	}
	return v.HTML()
}

// CSV writes one line per entry, in the order of the heat file, in SI.
func (s *HeatSheet) CSV() ([]byte, error) {
	return table([]string{"place", "number", "name", "vehicle", "launch", "lane", "standing", "answer", "unit", "value", "standard_uncertainty", "low95", "high95", "first_probability", "reasons"},
		len(s.Entries), func(i int) []string {
			e := &s.Entries[i]
			var low, high *float64
			if e.Answer.Interval != nil {
				low, high = &e.Answer.Interval[0], &e.Answer.Interval[1]
			}
			lane := ""
			if e.Lane > 0 {
				lane = strconv.Itoa(e.Lane)
			}
			return []string{e.Place, safeCell(e.Number), safeCell(e.called()), safeCell(e.Vehicle), safeCell(e.Launch), lane, string(e.Standing), s.Question.ID, s.Question.Unit,
				optional(e.Answer.Value), optional(e.Answer.U), optional(low), optional(high), optional(e.First), safeCell(strings.Join(reasonsOf(e), "; "))}
		})
}

// reasonsOf says why an entry has no place.
func reasonsOf(e *HeatEntry) []string {
	if e.Problem == "" {
		return e.Reasons
	}
	return append(slices.Clone(e.Reasons), e.Problem)
}

// optional writes a number that may be missing.
func optional(p *float64) string {
	if p == nil {
		return ""
	}
	return number(*p)
}

// safeCell keeps a spreadsheet from taking words for a formula.
func safeCell(s string) string {
	if s != "" && strings.ContainsRune("=+-@\t\r", rune(s[0])) {
		return "'" + s
	}
	return s
}
