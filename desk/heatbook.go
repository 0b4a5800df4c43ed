package desk

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"sync"

	"padside/fault"
	"padside/logbook"
	"padside/sheet"
	"padside/wording"
)

// HeatCard is a heat in a list.
type HeatCard struct {
	Name    string   `json:"name"`
	Title   string   `json:"title"`
	Date    string   `json:"date"`
	Entries int      `json:"entries"`
	Problem *Problem `json:"problem"` // where its file cannot be read
}

// HeatPage is a heat as its page shows it: the result, and the form it is changed with.
type HeatPage struct {
	Name     string      `json:"name"`
	Revision string      `json:"revision"`
	Heat     *sheet.Heat `json:"heat"`    // null where the file cannot be read
	Form     *HeatForm   `json:"form"`    // the same
	Problem  *Problem    `json:"problem"` // why
}

// heats are the results worked out last, so that a board of many screens costs no more than one.
type heats struct {
	mu   sync.Mutex
	made map[string]*madeHeat // by name
}

// madeHeat is a heat's result and what it belongs to.
type madeHeat struct {
	mu    sync.Mutex
	key   string
	sheet *HeatSheet
	err   error
}

func (h *heats) of(name string) *madeHeat {
	h.mu.Lock()
	defer h.mu.Unlock()
	if h.made == nil {
		h.made = map[string]*madeHeat{}
	}
	if h.made[name] == nil {
		h.made[name] = &madeHeat{}
	}
	return h.made[name]
}

// Heats lists the logbook's heats, the one changed last first.
func (d *Desk) Heats(ctx context.Context) ([]HeatCard, error) {
	names, err := d.book.HeatNames()
	if err != nil {
		return nil, err
	}
	out := []HeatCard{}
	for _, name := range names {
		c := HeatCard{Name: name, Title: name}
		h, _, err := d.readHeat(name)
		if errors.Is(err, logbook.ErrUnknown) {
			continue // put aside meanwhile
		}
		if err != nil {
			c.Problem = problemOf(err)
		} else {
			c.Title, c.Date, c.Entries = titleOr(h.Title, name), h.Date, len(h.Entries)
		}
		out = append(out, c)
	}
	return out, ctx.Err()
}

func titleOr(title, name string) string {
	if title == "" {
		return name
	}
	return title
}

func (d *Desk) readHeat(name string) (*logbook.HeatFile, []byte, error) {
	text, err := d.book.HeatText(name)
	if err != nil {
		return nil, nil, err
	}
	h, err := logbook.ParseHeat(text, d.book.HeatPath(name))
	return h, text, err
}

// HeatSheet is the result of a heat of the logbook, from what was kept of its launches: no footage is read. Entries that have not been measured as
// they stand wait.
func (d *Desk) HeatSheet(ctx context.Context, name string) (*HeatSheet, error) {
	h, text, err := d.readHeat(name)
	if err != nil {
		return nil, err
	}
	made := d.heats.of(name)
	made.mu.Lock()
	defer made.mu.Unlock()
	key := d.heatKey(h, text)
	if made.key != key {
		s, err := d.runHeat(ctx, h)
		if ctx.Err() != nil {
			return nil, ctx.Err()
		}
		made.key, made.sheet, made.err = key, s, err
	}
	return made.sheet, made.err
}

// heatKey is the digest of all that the result of a heat depends on.
func (d *Desk) heatKey(h *logbook.HeatFile, text []byte) string {
	b := bytes.NewBuffer(text)
	for _, e := range h.Entries {
		name, ok := d.book.LaunchAt(e.Launch)
		if !ok {
			continue
		}
		s, err := d.book.State(name)
		if err != nil {
			fmt.Fprintf(b, "\x00%s gone", name)
			continue
		}
		l, _ := d.book.ResolveText(name, s.Text) // one that cannot be read is its text
		of, k := "", d.brief(name)
		if k.record != nil {
			of = k.record.Of
		}
		fmt.Fprintf(b, "\x00%s %s %s %s", name, d.standing(l, s.Text), of, d.stands(name, l, k))
	}
	return digestOf(b.Bytes())
}

// runHeat races launches of the logbook from what was kept of them.
func (d *Desk) runHeat(ctx context.Context, h *logbook.HeatFile) (*HeatSheet, error) {
	r := &racing{file: h, lenient: true}
	names := map[*logbook.Launch]string{}
	err := r.gather(func(path string) (*logbook.Launch, error) {
		name, ok := d.book.LaunchAt(path)
		if !ok {
			return nil, fault.Requestf("name launches as "+logbook.LaunchFrom("NAME"), "its launch is none of this logbook's")
		}
		l, _, err := d.resolved(name)
		if err == nil {
			names[l] = name
		}
		return l, err
	})
	if err != nil {
		return nil, err
	}
	answerers := map[*logbook.Launch]answerer{}
	return r.run(ctx, func(ctx context.Context, l *logbook.Launch, o Options) (*Measurement, error) {
		a := answerers[l]
		if a == nil {
			var err error
			_, a, err = d.answererOf(names[l])
			if err != nil {
				return nil, err
			}
			answerers[l] = a
		}
		return a(ctx, l, o)
	})
}

// HeatView is the result of a heat of the logbook in words.
func (d *Desk) HeatView(ctx context.Context, name string, want wording.Units) (*sheet.Heat, error) {
	s, err := d.HeatSheet(ctx, name)
	if err != nil {
		return nil, err
	}
	v, err := s.View(want)
	if err != nil {
		return nil, err
	}
	v.Name = name
	path := d.book.HeatPath(name)
	for i := range v.Lines {
		if launch, ok := d.book.LaunchAt(logbook.Beside(path, s.Entries[v.Lines[i].Entry-1].Launch)); ok {
			v.Lines[i].Launch = launch
		}
	}
	return v, nil
}

// HeatPage is a heat of the logbook with its form.
func (d *Desk) HeatPage(ctx context.Context, name string, want wording.Units) (*HeatPage, error) {
	text, err := d.book.HeatText(name)
	if err != nil {
		return nil, err
	}
	p := &HeatPage{Name: name, Revision: digestOf(text)}
	h, err := logbook.ParseHeat(text, d.book.HeatPath(name))
	if err != nil {
		p.Problem = problemOf(err)
		return p, nil
	}
	p.Form = d.formOf(h)
	if p.Heat, err = d.HeatView(ctx, name, want); err != nil {
		p.Problem = problemOf(err)
	}
	return p, ctx.Err()
}

// HeatMark is a digest that changes when any heat's result does, or the list of heats.
func (d *Desk) HeatMark(ctx context.Context) (string, error) {
	names, err := d.book.HeatNames()
	if err != nil {
		return "", err
	}
	var b bytes.Buffer
	for _, name := range names {
		h, text, err := d.readHeat(name)
		key := digestOf(text)
		if err == nil {
			key = d.heatKey(h, text)
		}
		fmt.Fprintf(&b, "%s %s\n", name, key)
	}
	return digestOf(b.Bytes()), ctx.Err()
}
