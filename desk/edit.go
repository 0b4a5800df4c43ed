package desk

import (
	"context"

	"padside/logbook"
	"padside/wording"
)

// Edit changes a launch file. base is the revision the editor saw: where the launch was edited since, nothing is changed and the
// error wraps logbook.ErrConflict. who names the tab, so that others can tell. Where footage need not be followed anew,
// the new answers are in the view; otherwise it names the job that measures.
func (d *Desk) Edit(ctx context.Context, name, base, who string, list []Change, want wording.Units) (*View, error) {
	s, err := d.book.State(name)
	if err != nil {
		return nil, err
	}
	text, err := edits(s.Text, d.book.LaunchPath(name), list)
	if err != nil {
		return nil, err
	}
	if _, err := d.book.ResolveText(name, text); err != nil {
		return nil, err
	}
	s, err = d.book.Edit(name, base, who, whatAll(list), text)
	if err != nil {
		return nil, err
	}
	return d.edited(ctx, name, who, s, want)
}

// Undo takes back the last edit of a launch.
func (d *Desk) Undo(ctx context.Context, name, base, who string, want wording.Units) (*View, error) {
	s, err := d.book.Undo(name, base, who)
	if err != nil {
		return nil, err
	}
	return d.edited(ctx, name, who, s, want)
}

// Redo does again what was taken back.
func (d *Desk) Redo(ctx context.Context, name, base, who string, want wording.Units) (*View, error) {
	s, err := d.book.Redo(name, base, who)
	if err != nil {
		return nil, err
	}
	return d.edited(ctx, name, who, s, want)
}

// edited measures a launch that was measured before, and returns its view.
func (d *Desk) edited(ctx context.Context, name, who string, s logbook.State, want wording.Units) (*View, error) {
	d.watch.tell(Event{Kind: "launch", Launch: name, Revision: s.Revision, Who: who})
	if d.kept(name).sheet == nil {
		return d.view(name, s, want) // the first measuring is asked for
	}
	l, err := d.book.ResolveText(name, s.Text)
	if err != nil {
		return d.view(name, s, want)
	}
	if d.recall(name, l) != nil {
		if err := d.measure(ctx, name, Options{}); err != nil {
			v, viewErr := d.view(name, s, want)
			if viewErr == nil {
				v.State, v.Problem = StateFailed, problemOf(err)
			}
			return v, viewErr
		}
		return d.view(name, s, want)
	}
	if _, err := d.Measure(name); err != nil {
		return nil, err
	}
	return d.view(name, s, want)
}
