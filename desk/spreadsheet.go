package desk

import (
	"bytes"
	"encoding/csv"
	"strconv"
)

// TraceCSV returns the trace as comma-separated values with a heading line; SI and pixels,
// full precision, a decimal point whatever the machine's language.
func (s *Sheet) TraceCSV() ([]byte, error) {
	return table([]string{"lane", "frame", "t", "x", "y", "u", "height", "u_height", "quality", "source"},
		len(s.Trace), func(i int) []string {
			r := s.Trace[i]
			return []string{strconv.Itoa(r.Lane), strconv.Itoa(r.Frame), number(r.T), number(r.X), number(r.Y),
				number(r.U), number(r.Height), number(r.UHeight), number(r.Quality), r.Source}
		})
}

// HistoryCSV returns the smoothed motion in the same form.
func (s *Sheet) HistoryCSV() ([]byte, error) {
	return table([]string{"lane", "t", "height", "speed", "acceleration", "u_height", "u_speed", "u_acceleration"},
		len(s.History), func(i int) []string {
			r := s.History[i]
			return []string{strconv.Itoa(r.Lane), number(r.T), number(r.Height), number(r.Speed), number(r.Acceleration),
				number(r.UHeight), number(r.USpeed), number(r.UAcceleration)}
		})
}

func number(v float64) string { return strconv.FormatFloat(v, 'g', -1, 64) }

func table(heading []string, n int, row func(int) []string) ([]byte, error) {
	var b bytes.Buffer
	w := csv.NewWriter(&b)
	if err := w.Write(heading); err != nil {
		return nil, err
	}
	for i := range n {
		if err := w.Write(row(i)); err != nil {
			return nil, err
		}
	}
	w.Flush()
	return b.Bytes(), w.Error()
}
