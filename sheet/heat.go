package sheet

import (
	"bytes"
	"embed"
	"fmt"
	"html/template"
	"slices"
	"strings"
)

// Heat is a heat in words. Numbers are in Unit.
type Heat struct {
	Name     string     `json:"name"` // in the logbook; empty elsewhere
	Title    string     `json:"title"`
	Date     string     `json:"date"`
	RacedOn  string     `json:"raced_on"`
	Best     string     `json:"best"` // "the smallest wins"
	Unit     string     `json:"unit"`
	Rules    []string   `json:"rules"`
	Lines    []HeatLine `json:"lines"`   // those with a place first, in order; then the others
	Sharing  string     `json:"sharing"` // what Shared says, for pages that are drawn from JSON
	Measured []string   `json:"measured"`
	Warnings []string   `json:"warnings"`
	Made     string     `json:"made"` // by which program, from which seed
}

// HeatLine is one entry in words.
type HeatLine struct {
	Entry    int      `json:"entry"` // from 1, as listed in the heat file
	Number   string   `json:"number"`
	Name     string   `json:"name"`
	About    string   `json:"about"`  // its launch's title, where that says more than the name
	Launch   string   `json:"launch"` // in the logbook; empty elsewhere
	Lane     int      `json:"lane"`   // 0: the footage shows one vehicle
	Standing string   `json:"standing"`
	Place    string   `json:"place"` // "1", "2 ="; empty: none
	Text     string   `json:"text"`
	Interval string   `json:"interval_text"`
	Value    *float64 `json:"value"`
	Low      *float64 `json:"low"`
	High     *float64 `json:"high"`
	Behind   string   `json:"behind"` // how far behind the best; empty for the best itself
	Between  string   `json:"behind_interval"`
	First    string   `json:"first"`   // the odds of being first
	Reasons  []string `json:"reasons"` // why it has no place
	Problem  string   `json:"problem"` // why it could not be measured; may name files
	Notes    []string `json:"notes"`   // what its place must be read with
	Film     string   `json:"film"`
}

// Group is what lines have in common: a place, or a reason to have none.
type Group struct {
	Place string // empty where they have none
	Words string // "1 =", "not classified"
	Lines []HeatLine
}

// Placed are the places in order, ties together.
func (h *Heat) Placed() []Group {
	var out []Group
	for _, l := range h.Lines {
		switch n := len(out); {
		case l.Place == "":
		case n > 0 && out[n-1].Place == l.Place:
			out[n-1].Lines = append(out[n-1].Lines, l)
		default:
			out = append(out, Group{l.Place, l.Place, []HeatLine{l}})
		}
	}
	return out
}

// Shared says what "=" beside a place means; where no place is shared, that the intervals tell the entries apart. Empty where there is nothing to tell.
func (h *Heat) Shared() string {
	places := h.Placed()
	entries := 0
	for _, g := range places {
		entries += len(g.Lines)
	}
	switch {
	case entries < 2:
		return ""
	case len(places) < entries:
		return `A place with "=" is shared: the intervals do not tell those entries apart.`
	}
	return `No place is shared: the intervals tell all entries apart. A shared one would stand with "=".`
}

// Standings of entries without a place, in the order in which they are shown.
var unplaced = [...][2]string{{"waiting", "waiting to be measured"}, {"no-result", "no result"}, {"not-classified", "not classified"}}

// Unplaced are those without a place, by the reason.
func (h *Heat) Unplaced() []Group {
	var out []Group
	for _, one := range unplaced {
		g := Group{Words: one[1]}
		for _, l := range h.Lines {
			if l.Place == "" && l.Standing == one[0] {
				g.Lines = append(g.Lines, l)
			}
		}
		if len(g.Lines) > 0 {
			out = append(out, g)
		}
	}
	return out
}

// Why says why a line has no place.
func (l HeatLine) Why() []string {
	if l.Problem == "" {
		return l.Reasons
	}
	return append(slices.Clone(l.Reasons), l.Problem)
}

//go:embed heat.html
var files embed.FS

// HTML is the result sheet: one file that needs nothing beside it.
func (h *Heat) HTML() ([]byte, error) {
	var placed []HeatLine
	for _, g := range h.Placed() {
		placed = append(placed, g.Lines...)
	}
	axis := AxisOf(placed)
	t, err := template.New("heat.html").Funcs(template.FuncMap{"written": Written, "upper": upper, "at": axis.At}).ParseFS(files, "heat.html")
	if err != nil {
		return nil, fmt.Errorf("read the sheet's template: %w", err)
	}
	var b bytes.Buffer
	if err := t.Execute(&b, struct {
		*Heat
		Axis Axis
	}{h, axis}); err != nil {
		return nil, fmt.Errorf("write the sheet: %w", err)
	}
	return b.Bytes(), nil
}

// Written writes units as a person does.
func Written(s string) string {
	return strings.NewReplacer("m/s2", "m/s²", "degC", "°C").Replace(s)
}

// upper begins a sentence.
func upper(s string) string {
	if s == "" {
		return s
	}
	r := []rune(s)
	return strings.ToUpper(string(r[:1])) + string(r[1:])
}
