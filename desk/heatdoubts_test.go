package desk

import (
	"testing"

	"padside/fault"
)

// A doubt that several entries share is said once, with the range of a number in which it differs.
func TestSharedDoubtIsSaidOnce(t *testing.T) {
	t.Parallel()
	q := shared{code: "lean", messages: []string{"heights are good to ±0.84 %, give or take 2", "heights are good to ±0.9 %, give or take 2", "heights are good to ±0.82 %, give or take 2"}}
	if got, want := q.words(), "heights are good to ±0.82 to 0.9 %, give or take 2"; got != want {
		t.Errorf("words() = %q, want %q", got, want)
	}
	for _, c := range []struct {
		w    fault.Warning
		want bool
	}{{fault.Warning{Code: "lean", Message: "heights are good to ±10 %, give or take 3.5"}, true}, {fault.Warning{Code: "lean", Message: "heights are good"}, false},
		{fault.Warning{Code: "rod", Message: q.messages[0]}, false}} {
		if got := q.alike(c.w); got != c.want {
			t.Errorf("alike(%v) = %v, want %v", c.w, got, c.want)
		}
	}
}
