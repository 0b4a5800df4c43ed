package logbook

import (
	"bytes"
	"fmt"
	"os"
	"path/filepath"
	"time"

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

// tracked is a launch whose history was read.
type tracked struct {
	h       *history
	changed time.Time // of the launch file, when it was last seen to agree
	size    int64
}

// state describes where the history stands.
func (t *tracked) state(text []byte) State {
	s := State{Text: text, Revision: fmt.Sprintf("r%d", len(t.h.lines)), Changed: t.changed}
	if t.h.at > 0 {
		s.CanUndo, s.UndoWhat = true, t.h.steps[t.h.at].what
	}
	if t.h.at+1 < len(t.h.steps) {
		s.CanRedo, s.RedoWhat = true, t.h.steps[t.h.at+1].what
	}
	return s
}

// State returns a launch file and where it stands. A change that another program made to the file is taken into the history
// as an edit of its own.
func (b *Logbook) State(name string) (State, error) {
	b.mu.Lock()
	defer b.mu.Unlock()
	t, text, err := b.load(name)
	if err != nil {
		return State{}, err
	}
	return t.state(text), nil
}

// load reads a launch and makes its history and its file agree. The history is written first and is the truth: where the
// program was killed between the two, the file is the text before the last deed, and is brought up to it when the launch is first
// seen. Any other text was written from outside. The lock is held.
func (b *Logbook) load(name string) (*tracked, []byte, error) {
	if err := b.known(name); err != nil {
		return nil, nil, err
	}
	dir := filepath.Join(launchesDir, name)
	info, err := b.root.Stat(filepath.Join(dir, launchName))
	if err != nil {
		return nil, nil, fault.Failedf(err, "", "read the launch %s: %v", name, err)
	}
	t := b.launches[name]
	if t != nil && info.ModTime().Equal(t.changed) && info.Size() == t.size && len(t.h.steps) > 0 {
		return t, t.h.now(), nil
	}
	text, err := b.root.ReadFile(filepath.Join(dir, launchName))
	if err != nil {
		return nil, nil, fault.Failedf(err, "check the file's permissions", "read the launch %s: %v", name, err)
	}
	first := t == nil
	if first {
		t = &tracked{}
		if t.h, err = readHistory(b.root, dir); err != nil {
			return nil, nil, err
		}
		b.launches[name] = t
	}
	t.changed, t.size = info.ModTime(), info.Size()
	switch {
	case len(t.h.lines) == 0: // never edited here: the history begins with the first edit
		t.h.steps, t.h.at = []step{{text: text}}, 0
	case bytes.Equal(text, t.h.now()):
	case first && t.h.interrupted(text):
		text = t.h.now()
		if err := b.put(name, t, text); err != nil {
			return nil, nil, err
		}
	default:
		if err := b.record(name, t, line{Do: deedOutside, What: "edited the launch file with another program", Text: ptr(string(text))}, text); err != nil {
			return nil, nil, err
		}
	}
	return t, text, nil
}

// interrupted says whether text is the one before the last deed.
func (h *history) interrupted(text []byte) bool {
	n := len(h.lines)
	return n > 1 && h.lines[n-2].SHA256 == digest(text)
}

func ptr[T any](v T) *T { return &v }

// record writes a deed down, after the text found where there is no history yet. after is the launch file after it.
func (b *Logbook) record(name string, t *tracked, l line, after []byte) error {
	now := time.Now().UTC().Truncate(time.Millisecond)
	var lines []line
	n := len(t.h.lines)
	if n == 0 {
		found := t.h.now()
		lines = append(lines, line{Number: 1, Time: now, Do: deedFound, Text: ptr(string(found)), SHA256: digest(found)})
		n = 1
		t.h.steps, t.h.at = nil, 0
	}
	l.Number, l.Time, l.SHA256 = n+1, now, digest(after)
	if err := t.h.write(b.root, filepath.Join(launchesDir, name), append(lines, l)...); err != nil {
		delete(b.launches, name) // read it again
		return err
	}
	return nil
}

// put writes the launch file.
func (b *Logbook) put(name string, t *tracked, text []byte) error {
	if err := WriteAtomic(b.Folder(name), map[string][]byte{launchName: text}); err != nil {
		delete(b.launches, name) // the edit is in the history: it is taken up when the launch is next read
		return err
	}
	info, err := os.Stat(b.LaunchPath(name))
	if err != nil {
		return fault.Failedf(err, "", "read the launch %s: %v", name, err)
	}
	t.changed, t.size = info.ModTime(), info.Size()
	return nil
}

// Edit replaces the text of a launch file. base is the revision that was edited: where it is not the newest, nothing
// is changed and the error wraps ErrConflict. When Edit returns without an error, the edit is on disk.
func (b *Logbook) Edit(name, base, who, what string, text []byte) (State, error) {
	return b.change(name, base, func(t *tracked) (line, []byte, error) {
		return line{Who: who, Do: deedEdit, What: what, Text: ptr(string(text))}, text, nil
	})
}

// Undo takes back the last edit that was not taken back yet.
func (b *Logbook) Undo(name, base, who string) (State, error) {
	return b.change(name, base, func(t *tracked) (line, []byte, error) {
		if t.h.at == 0 {
			return line{}, nil, fault.Requestf("there is nothing before it", "nothing of %s can be undone", name)
		}
		return line{Who: who, Do: deedUndo, What: t.h.steps[t.h.at].what}, t.h.steps[t.h.at-1].text, nil
	})
}

// Redo does again what was last taken back.
func (b *Logbook) Redo(name, base, who string) (State, error) {
	return b.change(name, base, func(t *tracked) (line, []byte, error) {
		if t.h.at+1 >= len(t.h.steps) {
			return line{}, nil, fault.Requestf("there is nothing after it", "nothing of %s can be redone", name)
		}
		return line{Who: who, Do: deedRedo, What: t.h.steps[t.h.at+1].what}, t.h.steps[t.h.at+1].text, nil
	})
}

// change writes one deed down and then the launch file.
func (b *Logbook) change(name, base string, do func(*tracked) (line, []byte, error)) (State, error) {
	b.mu.Lock()
	defer b.mu.Unlock()
	t, text, err := b.load(name)
	if err != nil {
		return State{}, err
	}
	if s := t.state(text); s.Revision != base {
		return State{}, &fault.Error{Kind: fault.Request, Cause: ErrConflict,
			Message: fmt.Sprintf("%s was edited elsewhere in the meantime", name), Hint: "look at it as it is now, and edit again"}
	}
	l, after, err := do(t)
	if err != nil {
		return State{}, err
	}
	if err := b.record(name, t, l, after); err != nil {
		return State{}, err
	}
	if err := b.put(name, t, after); err != nil {
		return State{}, err
	}
	return t.state(after), nil
}
