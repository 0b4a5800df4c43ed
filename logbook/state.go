package logbook

import (
	"bytes"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"sync"
	"time"

	"padside/disk"
	"padside/fault"
)

// State is a launch file as it stands, and where it stands in its history.
type State struct {
	Text     []byte
	Revision string // changes with every edit, undo and redo
	CanUndo  bool
	CanRedo  bool
	UndoWhat string // the edit that an undo would take back, in words
	RedoWhat string
	Changed  time.Time
}

// tracked is what is known of a launch. It may be known of none: the folder is looked at each time.
type tracked struct {
	mu      sync.Mutex
	h       *history  // nil: to be read
	changed time.Time // of the launch file, when it was last seen to agree
	size    int64
}

// track returns what is known of a launch.
func (b *Logbook) track(name string) *tracked {
	b.mu.Lock()
	defer b.mu.Unlock()
	t := b.launches[name]
	if t == nil {
		t = &tracked{}
		b.launches[name] = t
	}
	return t
}

// state describes where the history stands.
func (t *tracked) state() State {
	h := t.h
	sum := h.last
	if h.count == 0 {
		sum = digest(h.text)
	}
	s := State{Text: bytes.Clone(h.text), Revision: fmt.Sprintf("r%d-%.12s", h.count, sum), Changed: t.changed}
	if h.at > 0 {
		s.CanUndo, s.UndoWhat = true, h.steps[h.at].what
	}
	if h.at+1 < len(h.steps) {
		s.CanRedo, s.RedoWhat = true, h.steps[h.at+1].what
	}
	return s
}

// State returns a launch file and where it stands. A change that another program made to the file is taken into the history
// as an edit of its own.
func (b *Logbook) State(name string) (State, error) {
	if err := b.known(name); err != nil {
		return State{}, err
	}
	t := b.track(name)
	t.mu.Lock()
	defer t.mu.Unlock()
	if err := b.load(name, t, true); err != nil {
		return State{}, err
	}
	return t.state(), nil
}

// load makes the history of a launch and its file agree. The history is written first and is the truth: where the program was
// killed between the two, the file is the text before the last deed, older than the history, and is brought up to it when the launch
// is first seen. Any other text was written from outside. A file of known time and size is trusted where trust is true.
func (b *Logbook) load(name string, t *tracked, trust bool) error {
	err := b.agree(name, t, trust)
	if errors.Is(err, errMoved) { // both files came from elsewhere, out of version control, say: begin anew with them
		t.h = nil
		err = b.agree(name, t, false)
	}
	if err != nil {
		t.h = nil // read it again
	}
	return err
}

func (b *Logbook) agree(name string, t *tracked, trust bool) error {
	dir := filepath.Join(LaunchesDir, name)
	info, err := b.root.Stat(filepath.Join(dir, LaunchName))
	if errors.Is(err, fs.ErrNotExist) {
		return unknownLaunch(name)
	}
	if err == nil && info.Size() > longestFile {
		return fault.Requestf("a launch file is a short text", "%s of %s is larger than %d bytes", LaunchName, name, longestFile)
	}
	if err != nil {
		return fault.Failedf(err, "", "read the launch %s: %v", name, err)
	}
	if trust && t.h != nil && info.ModTime().Equal(t.changed) && info.Size() == t.size {
		return nil
	}
	text, err := disk.ReadIn(b.root, filepath.Join(dir, LaunchName), longestFile)
	if errors.Is(err, disk.ErrNotRegular) || errors.Is(err, disk.ErrFolder) || errors.Is(err, disk.ErrTooLarge) {
		return &fault.Error{Kind: fault.Request, Cause: err, Message: fmt.Sprintf("read the launch %s: %v", name, err), Hint: "put the launch's file back"}
	}
	if err != nil {
		return fault.Failedf(err, "check the file's permissions", "read the launch %s: %v", name, err)
	}
	first := t.h == nil
	if first {
		if t.h, err = readHistory(b.root, dir); err != nil {
			return err
		}
	}
	t.changed, t.size = info.ModTime(), info.Size()
	switch {
	case t.h.count == 0: // never edited here: the history begins with the first edit
		t.h.begin(text)
	case bytes.Equal(text, t.h.text):
	case first && t.h.before == digest(text) && b.older(dir, info.ModTime()):
		return b.write(name, t, t.h.text, nil)
	default:
		return b.record(name, t, line{Do: deedOutside, What: "edited the launch file with another program"}, text)
	}
	return nil
}

// older says whether a launch file of that time was last written before its history was.
func (b *Logbook) older(dir string, at time.Time) bool {
	info, err := b.root.Stat(filepath.Join(dir, historyName))
	return err == nil && !at.After(info.ModTime())
}

// record writes a deed down, after the text found where there is no history yet. after is the launch file after it.
func (b *Logbook) record(name string, t *tracked, l line, after []byte) error {
	now := time.Now().UTC().Truncate(time.Millisecond)
	var lines []line
	if t.h.count == 0 {
		found := line{Number: 1, Time: now, Do: deedFound}
		found.write(nil, t.h.text)
		lines = append(lines, found)
	}
	l.Number, l.Time = t.h.count+len(lines)+1, now
	if l.Do == deedUndo || l.Do == deedRedo {
		l.SHA256 = digest(after)
	} else {
		l.write(t.h.text, after)
	}
	return t.h.write(b.root, filepath.Join(LaunchesDir, name), append(lines, l)...)
}

// write replaces the launch file. It is whole on disk under another name before down, where there is one, writes the deed down;
// then it takes its name.
func (b *Logbook) write(name string, t *tracked, text []byte, down func() error) error {
	dir := b.Folder(name)
	temp, err := writeTemp(dir, text)
	if temp != "" {
		defer os.Remove(temp) // gone already when renamed
	}
	if err != nil {
		return unwritten(dir, err)
	}
	info, err := os.Stat(temp)
	if err != nil {
		return unwritten(dir, err)
	}
	if down != nil {
		if err := down(); err != nil {
			return err
		}
	}
	if err := replace(temp, filepath.Join(dir, LaunchName)); err != nil {
		return unwritten(dir, err)
	}
	t.changed, t.size = info.ModTime(), info.Size()
	syncFolder(dir)
	return nil
}

// Edit replaces the text of a launch file. base is the revision that was edited: where it is not the newest, nothing
// is changed and the error wraps ErrConflict. When Edit returns without an error, the edit is on disk; with one, it is not made.
func (b *Logbook) Edit(name, base, who, what string, text []byte) (State, error) {
	if len(text) > longestFile {
		return State{}, fault.Requestf("a launch file is a short text", "the new text of %s is larger than %d bytes", name, longestFile)
	}
	return b.change(name, base, func(*history) (line, []byte, error) {
		return line{Who: who, Do: deedEdit, What: what}, bytes.Clone(text), nil
	})
}

// Undo takes back the last edit that was not taken back yet.
func (b *Logbook) Undo(name, base, who string) (State, error) {
	return b.change(name, base, func(h *history) (line, []byte, error) {
		text, ok := h.neighbour(-1)
		if !ok {
			return line{}, nil, fault.Requestf("there is nothing before it", "nothing of %s can be undone", name)
		}
		return line{Who: who, Do: deedUndo, What: h.steps[h.at].what}, text, nil
	})
}

// Redo does again what was last taken back.
func (b *Logbook) Redo(name, base, who string) (State, error) {
	return b.change(name, base, func(h *history) (line, []byte, error) {
		text, ok := h.neighbour(1)
		if !ok {
			return line{}, nil, fault.Requestf("there is nothing after it", "nothing of %s can be redone", name)
		}
		return line{Who: who, Do: deedRedo, What: h.steps[h.at+1].what}, text, nil
	})
}

// change writes one deed down and then the launch file. Where the file cannot take its place, the deed is taken off the history again.
func (b *Logbook) change(name, base string, do func(*history) (line, []byte, error)) (State, error) {
	if err := b.known(name); err != nil {
		return State{}, err
	}
	if err := b.holding(); err != nil {
		return State{}, err
	}
	t := b.track(name)
	t.mu.Lock()
	defer t.mu.Unlock()
	if err := b.load(name, t, false); err != nil {
		return State{}, err
	}
	if t.state().Revision != base {
		return State{}, conflict(name)
	}
	l, after, err := do(t.h)
	if err != nil {
		return State{}, err
	}
	size, recorded := t.h.size, false
	err = b.write(name, t, after, func() error {
		err := b.record(name, t, l, after)
		recorded = err == nil
		return err
	})
	if err == nil {
		return t.state(), nil
	}
	t.h = nil // read it again
	if recorded {
		if e := cutBack(b.root, filepath.Join(LaunchesDir, name), size); e != nil {
			return State{}, fault.Failedf(errors.Join(err, e), "look at it again: it may be made or not", "the edit of %s is half made: %v", name, e)
		}
	}
	if errors.Is(err, errMoved) {
		return State{}, conflict(name)
	}
	return State{}, err
}

func conflict(name string) error {
	return &fault.Error{Kind: fault.Request, Cause: ErrConflict,
		Message: fmt.Sprintf("%s was edited elsewhere in the meantime", name), Hint: "look at it as it is now, and edit again"}
}
