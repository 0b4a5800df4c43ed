package logbook

import (
	"time"
)

// HeatText is a heat as a person fills it in: quantities as written. FormatHeat writes it; ParseHeat says whether it holds.
type HeatText struct {
	Title, Date string
	Answer      string // the id of an answer
	Speed       string
	Height      string
	Rules       []HeatRuleText
	Entries     []HeatEntryText
}

// HeatRuleText is a rule as written. Is alone, on a condition that is no quantity, asks for these words.
type HeatRuleText struct {
	Key    string `json:"key"`
	Is     string `json:"is,omitempty"`
	Same   bool   `json:"same,omitempty"`
	Within string `json:"within,omitempty"`
	Least  string `json:"least,omitempty"`
	Most   string `json:"most,omitempty"`
}

// HeatEntryText is an entry as written.
type HeatEntryText struct {
	Launch     string
	Lane       int // 0: not stated
	Number     string
	Name       string
	Conditions []Condition
}

// FormatHeat writes a heat as the text of a heat file.
func FormatHeat(h *HeatText) []byte {
	w := &writer{}
	w.line("format = %d", Format)
	w.textUnlessEmpty("title", h.Title)
	if _, err := time.Parse(time.DateOnly, h.Date); err == nil {
		w.line("date = %s", h.Date)
	} else {
		w.textUnlessEmpty("date", h.Date)
	}
	w.section("question")
	w.line("answer = %s", quote(h.Answer))
	w.textUnlessEmpty("speed", h.Speed)
	w.textUnlessEmpty("height", h.Height)
	if len(h.Rules) > 0 {
		w.section("rules")
	}
	for _, r := range h.Rules {
		w.heatRule(r)
	}
	for _, e := range h.Entries {
		w.line("\n[[entry]]")
		w.line("launch = %s", quote(e.Launch))
		if e.Lane > 0 {
			w.line("lane = %d", e.Lane)
		}
		w.textUnlessEmpty("number", e.Number)
		w.textUnlessEmpty("name", e.Name)
		if len(e.Conditions) == 0 {
			continue
		}
		line := ""
		for _, c := range e.Conditions {
			if line != "" {
				line += ", "
			}
			line += keyText(c.Key) + " = " + quote(c.Text)
		}
		w.line("conditions = { %s }", line)
	}
	return w.b.Bytes()
}

// keyText is a key as TOML has it.
func keyText(key string) string {
	if bareKey(key) {
		return key
	}
	return quote(key)
}

func (w *writer) heatRule(r HeatRuleText) {
	line := ""
	add := func(key, value string) {
		if line != "" {
			line += ", "
		}
		line += key + " = " + value
	}
	if r.Same {
		add("same", "true")
	}
	for _, p := range [][2]string{{"is", r.Is}, {"within", r.Within}, {"least", r.Least}, {"most", r.Most}} {
		if p[1] != "" {
			add(p[0], quote(p[1]))
		}
	}
	w.line("%s = { %s }", keyText(r.Key), line)
}

// Written is a rule as a person wrote it, quantities in their own units.
func (u *HeatRule) Written() HeatRuleText { return u.written }
