package sheet

import (
	"encoding/xml"
	"fmt"
	"math"
	"strings"
	"testing"
)

func heat() *Heat {
	n := func(v float64) *float64 { return &v }
	line := func(i int, place, standing string, v float64) HeatLine {
		return HeatLine{Entry: i, Number: fmt.Sprint(i), Name: fmt.Sprintf(`<b>"Entry" %d</b>`, i), Place: place, Standing: standing,
			Text: fmt.Sprintf("%.1f m/s2", v), Interval: "x to y", Value: n(v), Low: n(v - 0.4), High: n(v + 0.5)}
	}
	h := &Heat{Title: `Club & "friends" </title><script>alert(1)</script>`, Date: "2026-05-16", RacedOn: "peak acceleration", Best: "the largest wins", Unit: "m/s2",
		Rules: []string{"air temperature: 18 degC"}, Lines: []HeatLine{line(3, "1", "classified", 52), line(1, "2 =", "classified", 50), line(2, "2 =", "classified", 49.9), line(4, "", "not-classified", 900), line(5, "", "no-result", 0)}}
	h.Lines[3].Reasons = []string{"water 1 L, where 350 mL is allowed"}
	h.Lines[4].Value, h.Lines[4].Text, h.Lines[4].Reasons = nil, "", []string{"nothing moves"}
	return h
}

// TestHeatSheet: one file that loads and runs nothing, with every entry on it, ties in one group, and nobody's title taken for markup.
func TestHeatSheet(t *testing.T) {
	t.Parallel()
	b, err := heat().HTML()
	if err != nil {
		t.Fatal(err)
	}
	page := string(b)
	for _, want := range []string{`&lt;b&gt;&#34;Entry&#34; 4&lt;/b&gt;`, "Water 1 L, where 350 mL is allowed.", "Nothing moves.", "m/s²", "18 °C", `rowspan="2">2 =</th>`, "@page", "A place with &#34;=&#34; is shared"} {
		if !strings.Contains(page, want) {
			t.Errorf("the sheet lacks %q", want)
		}
	}
	for _, not := range []string{"<script", "<b>", "http:", "https:", "src=", "url(", "ZgotmplZ", "NaN"} {
		if strings.Contains(page, not) {
			t.Errorf("the sheet holds %q", not)
		}
	}
	if got := strings.Count(page, `class="reach"`); got != 3 {
		t.Errorf("%d strokes, want one for each of the 3 with a place", got)
	}
	d := xml.NewDecoder(strings.NewReader(page))
	d.Strict, d.AutoClose, d.Entity = false, xml.HTMLAutoClose, xml.HTMLEntity
	for {
		if _, err := d.Token(); err != nil {
			if err.Error() != "EOF" {
				t.Errorf("the sheet is not well formed: %v", err)
			}
			break
		}
	}
	told := heat()
	told.Lines = told.Lines[:2]
	told.Lines[1].Place = "2"
	if b, err = told.HTML(); err != nil || !strings.Contains(string(b), "No place is shared") {
		t.Errorf("a heat whose entries are told apart says nothing of it: %v", err)
	}
	h := &Heat{Title: "Nobody"}
	if b, err = h.HTML(); err != nil || !strings.Contains(string(b), "no order") {
		t.Errorf("an empty heat: %v", err)
	}
}

func TestAxis(t *testing.T) {
	t.Parallel()
	n := func(v float64) *float64 { return &v }
	for _, c := range [][2]float64{{49.5, 52.5}, {0.001, 0.0013}, {-5, 5}, {1e6, 1.2e6}, {3, 3}, {0, 0}} {
		a := AxisOf([]HeatLine{{Low: n(c[0]), High: n(c[1])}})
		if len(a.Ticks) < 1 || len(a.Ticks) > mostTicks {
			t.Errorf("%v: ticks %v", c, a.Ticks)
		}
		for _, v := range c {
			if at := a.At(v); at < 0 || at > 100 || math.IsNaN(at) {
				t.Errorf("%v: %g lies at %g %%", c, v, at)
			}
		}
		for i := 1; i < len(a.Ticks); i++ {
			if a.Ticks[i].Text == a.Ticks[i-1].Text || a.Ticks[i].At <= a.Ticks[i-1].At {
				t.Errorf("%v: ticks %v", c, a.Ticks)
			}
		}
	}
	if AxisOf(nil).Has() {
		t.Error("an axis of nothing has ticks")
	}
}
