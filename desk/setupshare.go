package desk

import (
	"context"
	"encoding/json"
	"fmt"

	"padside/fault"
	"padside/logbook"
	"padside/wording"
)

// setupSections are what a setup holds, as changes name them and as files write them.
var setupSections = [...]struct{ do, section string }{{"time", "footage.time"}, {"scale", "scale"}, {"camera", "camera"}}

// ShareSetup makes scale, time base and camera of a launch those of a setup of the logbook, whose name the launch takes on: every launch that names the
// setup and has no such section of its own takes them from there. The launch itself loses its own, which Undo brings back. base and who are as in
// Edit.
func (d *Desk) ShareSetup(ctx context.Context, name, base, who, setup string, want wording.Units) (*View, error) {
	if setup == "" {
		return nil, fault.Requestf("name it, for example north-mast", "the setup has no name")
	}
	l, s, err := d.resolved(name)
	if err != nil {
		return nil, err
	}
	if s.Revision != base {
		return nil, &fault.Error{Kind: fault.Request, Cause: logbook.ErrConflict, Message: fmt.Sprintf("%s was edited elsewhere meanwhile", name), Hint: "look at it as it is now, then share it again"}
	}
	shared, bare := []byte("format = 1\n"), s.Text
	var v SetupView
	if err := v.sections(s.Text, d.book.SetupText(l.Setup)); err != nil {
		return nil, err
	}
	for i, values := range []map[string]any{v.Time, v.Scale, v.Camera} {
		section := setupSections[i].section
		if values, err = asSent(values); err != nil {
			return nil, err
		}
		if len(values) > 0 {
			if shared, err = setSection(shared, section, values); err != nil {
				return nil, err
			}
		}
		if bare, err = logbook.SetSection(bare, section, nil); err != nil {
			return nil, err
		}
	}
	if bare, err = logbook.SetKey(bare, "", "setup", logbook.Quote(setup)); err != nil {
		return nil, err
	}
	if err := d.book.PutSetup(setup, shared); err != nil {
		return nil, err
	}
	if s, err = d.book.Edit(name, base, who, "shared its setup as "+setup, bare); err != nil {
		return nil, err
	}
	d.tellSharers(setup, name)
	return d.edited(ctx, name, who, s, want)
}

// asSent is a table of a file as a page would send it.
func asSent(values map[string]any) (map[string]any, error) {
	b, err := json.Marshal(values)
	if err != nil {
		return nil, err
	}
	out := map[string]any{}
	return out, json.Unmarshal(b, &out)
}

// tellSharers tells the pages of all launches of a setup but one that it has changed.
func (d *Desk) tellSharers(setup, but string) {
	names, err := d.book.SharedBy(setup)
	if err != nil {
		return // their pages show it when they are read again
	}
	for _, n := range names {
		if s, err := d.book.State(n); err == nil && n != but { // else it was put aside meanwhile
			d.watch.tell(Event{Kind: "launch", Launch: n, Revision: s.Revision})
		}
	}
}
