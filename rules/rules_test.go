package rules

import (
	"testing"

	"padside/logbook"
	"padside/study"
	"padside/units"
)

// TestJudge holds what three entries state against a quantity and against words. The first is inside by its interval, the second may be either, the
// third states nothing that could be held against the rule.
func TestJudge(t *testing.T) {
	t.Parallel()
	h, err := logbook.ParseHeat([]byte(`format = 1
[question]
answer = "peak_speed"
[rules]
pressure = { is = "5.2 bar", within = "0.2 bar" }
class = "two litres"
[[entry]]
launch = "a.toml"
[[entry]]
launch = "b.toml"
[[entry]]
launch = "c.toml"
`), "heat.toml")
	if err != nil {
		t.Fatal(err)
	}
	entry := func(texts map[string]string) Stated {
		return func(key string) (logbook.Condition, bool) {
			text, ok := texts[key]
			c := logbook.Condition{Key: key, Text: text}
			if q, err := units.Parse(text, units.Pressure); err == nil {
				c.Quantity, c.Dimension = q, units.Pressure
			}
			return c, ok
		}
	}
	judged := Judge(h.Rules, []Stated{
		entry(map[string]string{"pressure": "75.4(5) psi", "class": "Two  Litres"}), // 5.199(34) bar
		entry(map[string]string{"pressure": "5.38(5) bar", "class": "one litre"}),
		entry(map[string]string{"pressure": "much"}),
	})
	want := [][]study.Verdict{{study.Inside, study.CannotTell, NotStated}, {study.Inside, study.Outside, NotStated}}
	if len(judged) != len(want) {
		t.Fatalf("%d rules were applied, want %d", len(judged), len(want))
	}
	for i, one := range judged {
		for k, c := range one.Checks {
			if c.Verdict != want[i][k] || c.Rule != i+1 || c.Message == "" {
				t.Errorf("%s, entry %d: %+v, want %s", one.Key, k+1, c, want[i][k])
			}
		}
	}
}
