package desk

import (
	"encoding/json"
	"errors"
	"path/filepath"
	"time"

	"padside/fault"
	"padside/footage"
	"padside/logbook"
)

// footageFile is what is known of the footage of a launch that was measured, as it lies now, in the launch's folder.
const footageFile = "footage.json"

// FootageNote is the content of footage.json. It spares reading footage again whose time of change alone is another, and keeps what was accepted.
type FootageNote struct {
	Format   string            `json:"format"` // "padside-footage"
	Version  int               `json:"version"`
	Measured string            `json:"measured_sha256"` // of the footage that the answers come from: a note on other answers counts for nothing
	Found    *footage.Identity `json:"found"`           // the footage that lies in its place; null: none does
	Accepted bool              `json:"accepted"`        // the answers count all the same: somebody said so
}

// looked is how the footage of a launch is, held against what was measured.
type looked struct {
	state    LaunchState // StateMeasured: as it was; else StateFootageChanged or StateFootageMissing
	what     string      // is the matter: "has 5 bytes, where 7 were measured"
	accepted bool
	reading  bool              // it is being read for its digest: its state may become StateMeasured
	found    *footage.Identity // that lies there; nil: none
}

// holds says whether answers measured from the footage count.
func (f looked) holds() bool { return f.state == StateMeasured || f.accepted }

// measuredFrom is the footage that what was kept comes from. Results of earlier versions have its digest alone.
func (k keptLaunch) measuredFrom() footage.Identity {
	switch {
	case k.record != nil && k.record.Footage != nil:
		return *k.record.Footage
	case k.sheet != nil:
		return footage.Identity{SHA256: k.sheet.Footage.SHA256}
	}
	return footage.Identity{}
}

// look holds the footage of a launch against that which was measured. Nothing is read where the folder says that it is as it was.
func (d *Desk) look(name string, l *logbook.Launch, k keptLaunch) looked {
	was := k.measuredFrom()
	if was.SHA256 == "" {
		return looked{state: StateMeasured} // nothing is known to hold it against
	}
	note := d.note(name)
	if note.Measured != was.SHA256 {
		note = FootageNote{}
	}
	f := d.compare(l.Footage.Path, was, note.Found, func(id footage.Identity) { d.noteFound(name, was, id) })
	if note.Accepted && f.state != StateMeasured {
		f.accepted = note.Found == nil && f.found == nil || note.Found != nil && f.found != nil && note.Found.Unread(*f.found)
	}
	return f
}

// compare holds the footage at a path against what was measured; noted is what was last found there. Where it must be read for that, then is
// told once it was.
func (d *Desk) compare(path string, was footage.Identity, noted *footage.Identity, then func(footage.Identity)) looked {
	lay, err := footage.Identify(path)
	if err != nil {
		return looked{state: StateFootageMissing, what: err.Error()}
	}
	if was.Unread(lay) {
		return looked{state: StateMeasured, found: &lay}
	}
	f := looked{state: StateFootageChanged, what: was.Other(lay), found: &lay}
	if f.what != "" {
		return f
	}
	if noted != nil && noted.SHA256 != "" && noted.Unread(lay) {
		return f.read(was, *noted)
	}
	id, ok, err := d.witness.identity(path, lay, then)
	switch {
	case err != nil:
		f.what = err.Error()
	case ok:
		return f.read(was, id)
	case len(was.Files) == 0:
		f.state, f.reading = StateMeasured, true // results of earlier versions are taken at their word until the digest is known
	default:
		f.what, f.reading = "its time of change is another; it is being read to tell whether it is the same", true
	}
	return f
}

// read judges footage whose digest is known.
func (f looked) read(was, is footage.Identity) looked {
	f.found = &is
	switch {
	case is.SHA256 == was.SHA256:
		f.state, f.what = StateMeasured, ""
	case len(is.Files) == 1:
		f.what = is.Files[0].Name + " holds something else, by its digest"
	default:
		f.what = "its files hold something else, by their digests"
		if list := was.Differing(is); len(list) > 0 {
			f.what = list[0] + ", by its digest"
		}
	}
	return f
}

// problem says what is the matter with footage, and what to do.
func (f looked) problem() *Problem {
	if f.holds() {
		return nil
	}
	const until = "until then the launch is left out of heats and comparisons"
	switch {
	case f.state == StateFootageMissing:
		return &Problem{Kind: "footage", Message: "its footage is not where it was when it was measured: " + f.what,
			Hint: "put it back, write where it is now as path under [footage], or accept that the answers count without it; " + until,
			Card: "its footage is missing: put it back, or accept its answers on its page"}
	case f.reading:
		return &Problem{Kind: "footage", Message: "its footage may have changed since it was measured: " + f.what, Hint: "wait a moment; " + until,
			Card: "its footage may have changed: it is being read"}
	}
	return &Problem{Kind: "footage", Message: "its footage has changed since it was measured: " + f.what,
		Hint: "measure it again, or accept that the answers count all the same; " + until,
		Card: "its footage has changed: measure it again, or accept its answers on its page"}
}

// noted says on a page that answers count by acceptance.
func (f looked) noted() string {
	switch {
	case !f.accepted:
		return ""
	case f.state == StateFootageMissing:
		return "Its footage is not where it was; the answers were accepted without it."
	}
	return "Its footage has changed since it was measured (" + f.what + "); the answers were accepted all the same."
}

// note reads what is known of the footage of a launch; what cannot be read is as if it were not there.
func (d *Desk) note(name string) FootageNote {
	var n FootageNote
	b, err := d.book.File(name, footageFile)
	if err != nil || json.Unmarshal(b, &n) != nil {
		return FootageNote{}
	}
	return n
}

func (d *Desk) keepNote(name string, n FootageNote) error {
	n.Format, n.Version = "padside-footage", 1
	b, err := indented(n)
	if err != nil {
		return err
	}
	return d.book.Keep(name, map[string][]byte{footageFile: b})
}

// noteFound keeps the digest of footage as it lies, and tells who watches. Where nothing can be written, it is read again next time.
func (d *Desk) noteFound(name string, was, is footage.Identity) {
	if is.SHA256 != "" {
		old := d.note(name)
		accepted := old.Accepted && old.Measured == was.SHA256 && old.Found != nil && old.Found.SHA256 == is.SHA256
		_ = d.keepNote(name, FootageNote{Measured: was.SHA256, Found: &is, Accepted: accepted})
	}
	d.tellState(name)
}

// tellState tells who watches that the state of a launch is another, of the same launch file.
func (d *Desk) tellState(name string) {
	if s, err := d.book.State(name); err == nil {
		d.watch.tell(Event{Kind: "launch", Launch: name, Revision: s.Revision})
	}
}

// AcceptFootage says that the answers of a launch count although its footage changed or went.
func (d *Desk) AcceptFootage(name string) error {
	l, s, err := d.resolved(name)
	if err != nil {
		return err
	}
	k := d.brief(name)
	if k.record == nil || k.record.Of != d.standing(l, s.Text) {
		return fault.Requestf("measure it", "%s has not been measured as it stands", name)
	}
	f := d.look(name, l, k)
	switch {
	case f.holds():
		return nil
	case f.reading:
		return fault.Requestf("wait until it has been read", "the footage of %s is being read to tell whether it is the same", name)
	}
	if err := d.keepNote(name, FootageNote{Measured: k.measuredFrom().SHA256, Found: f.found, Accepted: true}); err != nil {
		return err
	}
	d.tellState(name)
	return nil
}

// waiting is the cause of errors about a launch whose answers do not count as it stands: what it waits for.
type waiting string

func (w waiting) Error() string { return string(w) }

// readPatience is how long who compares launches waits for one whose footage must be read first.
const readPatience = 3 * time.Second

// counts refuses a launch whose answers do not count for others: never measured, not as it stands, of footage that changed or went.
func (d *Desk) counts(name string, l *logbook.Launch, s logbook.State, k keptLaunch) error {
	refuse := func(w waiting, hint, message string) error {
		return &fault.Error{Kind: fault.NoAnswer, Cause: w, Message: message, Hint: hint}
	}
	const measure = "open its page and measure it"
	switch {
	case k.damage != nil:
		return refuse("is not measured: what was kept of it is damaged", measure, k.damage.Error())
	case k.record == nil || k.record.Of != d.standing(l, s.Text):
		return refuse("has not been measured as it stands", measure, name+" has not been measured as it stands")
	}
	f := d.look(name, l, k)
	if f.reading && !f.holds() { // footage of a few hundred megabytes has been read by then
		d.witness.await(l.Footage.Path, readPatience)
		f = d.look(name, l, k)
	}
	if p := f.problem(); p != nil {
		return refuse(waiting(p.Message), "open its page: "+p.Hint, name+" does not count: "+p.Message)
	}
	return nil
}

// waitsFor is what a launch waits for, where an error says that it does.
func waitsFor(err error) (waiting, bool) {
	var w waiting
	ok := errors.As(err, &w)
	return w, ok
}

// stands is the part of a cache's key that changes when the footage of a launch does.
func (d *Desk) stands(name string, l *logbook.Launch, k keptLaunch) string {
	if l == nil || k.sheet == nil {
		return ""
	}
	f := d.look(name, l, k)
	return k.measuredFrom().SHA256 + string(f.state) + f.what + f.noted()
}

// lies is a text that changes when the footage at a path does, by what its folder says.
func lies(path string) string {
	id, err := footage.Identify(path)
	b, e := json.Marshal(id)
	if err != nil || e != nil {
		return filepath.Base(path) + " cannot be read"
	}
	return string(b)
}
