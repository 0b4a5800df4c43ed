package desk

import (
	"fmt"

	"padside/fault"
	"padside/logbook"
	"padside/units"
)

// HeatForm is a heat as a person fills it in on its page: quantities as written.
type HeatForm struct {
	Title   string                 `json:"title"`
	Date    string                 `json:"date"`
	Answer  string                 `json:"answer"`
	Speed   string                 `json:"speed"`
	Height  string                 `json:"height"`
	Rules   []logbook.HeatRuleText `json:"rules"`
	Entries []HeatFormEntry        `json:"entries"`
}

// HeatFormEntry is a launch of the logbook that races.
type HeatFormEntry struct {
	Launch     string    `json:"launch"` // its name in the logbook; elsewhere its path
	Lane       int       `json:"lane"`   // 0: not stated
	Number     string    `json:"number"`
	Name       string    `json:"name"`
	Conditions []KeyText `json:"conditions"`
}

// formOf is the form of a heat file.
func (d *Desk) formOf(h *logbook.HeatFile) *HeatForm {
	f := &HeatForm{Title: h.Title, Date: h.Date, Answer: h.Question.Answer, Rules: []logbook.HeatRuleText{}, Entries: []HeatFormEntry{}}
	if q := h.Question; q.Of != 0 {
		u, _ := units.Lookup(q.At.Unit, q.Of)
		text := fmt.Sprintf("%.9g %s", u.FromSI(q.At.Value), u.Symbol)
		if q.Of == units.Speed {
			f.Speed = text
		} else {
			f.Height = text
		}
	}
	for i := range h.Rules {
		f.Rules = append(f.Rules, h.Rules[i].Written())
	}
	for i, e := range h.Entries {
		one := HeatFormEntry{Launch: e.Given, Lane: e.Lane, Number: e.Number, Name: e.Name, Conditions: []KeyText{}}
		if e.Number == fmt.Sprint(i+1) {
			one.Number = "" // counted: it moves with its place in the list
		}
		if name, ok := d.book.LaunchAt(e.Launch); ok {
			one.Launch = name
		}
		for _, c := range e.Conditions {
			one.Conditions = append(one.Conditions, KeyText{c.Key, c.Text})
		}
		f.Entries = append(f.Entries, one)
	}
	return f
}

// text writes a form as a heat file.
func (d *Desk) text(f *HeatForm) []byte {
	t := &logbook.HeatText{Title: f.Title, Date: f.Date, Answer: f.Answer, Speed: f.Speed, Height: f.Height, Rules: f.Rules}
	for _, e := range f.Entries {
		one := logbook.HeatEntryText{Launch: e.Launch, Lane: e.Lane, Number: e.Number, Name: e.Name}
		if _, err := d.book.State(e.Launch); err == nil {
			one.Launch = logbook.LaunchFrom(e.Launch)
		}
		for _, c := range e.Conditions {
			one.Conditions = append(one.Conditions, logbook.Condition{Key: c.Key, Text: c.Text})
		}
		t.Entries = append(t.Entries, one)
	}
	return logbook.FormatHeat(t)
}

// NewHeat adds a heat to the logbook and returns its name.
func (d *Desk) NewHeat(f HeatForm) (string, error) {
	if f.Title == "" {
		return "", fault.Requestf("give it one, such as Spring heat", "the heat has no title")
	}
	name, err := d.book.NewHeat(f.Title, func(string) []byte { return d.text(&f) })
	if err == nil {
		d.watch.tell(Event{Kind: "heat"})
	}
	return name, err
}

// PutHeat replaces a heat of the logbook, where its file still is of the revision that the change was made on.
func (d *Desk) PutHeat(name, base string, f HeatForm) error {
	now, err := d.book.HeatText(name)
	if err != nil {
		return err
	}
	if digestOf(now) != base {
		now = nil // never equal to what is there: the logbook says that it changed
	}
	if err := d.book.PutHeat(name, now, d.text(&f)); err != nil {
		return err
	}
	d.watch.tell(Event{Kind: "heat"})
	return nil
}

// TrashHeat puts a heat aside.
func (d *Desk) TrashHeat(name string) error {
	if err := d.book.TrashHeat(name); err != nil {
		return err
	}
	d.watch.tell(Event{Kind: "heat"})
	return nil
}
