package wording

import (
	"encoding/json"
	"fmt"

	"padside/metrology"
	"padside/units"
)

// Answer is an answer with its words in the reader's units.
type Answer struct {
	metrology.Answer
	Label        string `json:"label"`
	Text         string `json:"text"`          // value and unit, rounded by its uncertainty
	IntervalText string `json:"interval_text"` // "28.30 to 28.52 m/s", or why there is none
	Sentence     string `json:"sentence"`
}

// MarshalJSON puts the answer's own keys beside the words.
func (a Answer) MarshalJSON() ([]byte, error) {
	type words struct {
		metrology.Answer
		Label        string `json:"label"`
		Text         string `json:"text"`
		IntervalText string `json:"interval_text"`
		Sentence     string `json:"sentence"`
	}
	return json.Marshal(words(a))
}

// bounds is what stands before a value that the footage only bounds.
var bounds = map[metrology.Bound]string{metrology.Lower: "at least ", metrology.Upper: "at most "}

// Text writes value and interval in a unit, or why there is none. A value that
// is only a bound begins with "at least" or "at most".
func Text(a metrology.Answer, u units.Unit) (value, interval string) {
	if a.Value == nil {
		if a.Status == metrology.NotReached {
			return "not reached", a.Reason
		}
		return "cannot say", a.Reason
	}
	sd := u.DeltaFromSI(*a.U)
	place, ok := metrology.Place(sd, metrology.Digits)
	if !ok {
		place = -6
	}
	lo, hi := metrology.Ends(metrology.Interval{Lo: u.FromSI(a.Interval[0]), Hi: u.FromSI(a.Interval[1])}, sd, metrology.Digits)
	value = bounds[a.Bound] + metrology.Round(u.FromSI(*a.Value), place) + " " + u.Symbol
	return value, lo + " to " + hi
}

// Limit says what makes up most of an answer's variance; empty where nothing is known of that.
func Limit(a metrology.Answer) string {
	if len(a.Budget) == 0 {
		return ""
	}
	return fmt.Sprintf("%s (%.0f %%)", a.Budget[0].Source, 100*a.Budget[0].Share)
}
