package logbook

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"time"

	"padside/disk"
	"padside/fault"
)

// deed is what a line of the history does.
type deed string

const (
	deedFound   deed = "found"   // the text as it was when the history began
	deedEdit    deed = "edit"    // a new text
	deedOutside deed = "outside" // a new text, written by another program
	deedUndo    deed = "undo"
	deedRedo    deed = "redo"
)

// line is one line of history.jsonl: one deed, never changed again.
type line struct {
	Number int       `json:"number"` // from 1, one more than the line before
	Time   time.Time `json:"time"`
	Who    string    `json:"who,omitempty"`
	Do     deed      `json:"do"`
	What   string    `json:"what,omitempty"`
	Text   *string   `json:"text,omitempty"`   // the launch file after it, where it is new
	Base64 []byte    `json:"base64,omitempty"` // the same where it is not UTF-8, which JSON cannot hold
	Patch  *patch    `json:"patch,omitempty"`  // or how it differs from the one before
	SHA256 string    `json:"sha256"`           // of the launch file after it
}

// history is what happened to a launch file. The texts that undo and redo walk through form a line of their own: an edit after
// an undo leaves the undone ones in the file and takes their place in that line. Only the text that holds now is kept whole.
type history struct {
	count  int    // lines
	last   string // digest of the text after the last line
	before string // digest of the text before it
	text   []byte // that holds now
	steps  []step // from the first text on; of the first only the words count
	at     int    // of steps: the one that led to text
	size   int64  // of the file
}

// step is a change of text that undo and redo can walk over.
type step struct {
	what string
	by   patch
}

func digest(text []byte) string {
	sum := sha256.Sum256(text)
	return hex.EncodeToString(sum[:])
}

// begin starts a history with the text found, of which no line is written yet.
func (h *history) begin(text []byte) {
	*h = history{text: text, steps: []step{{}}}
}

// take plays one line. It reports false for a line that cannot follow, and changes nothing then.
func (h *history) take(l line) bool {
	if l.Number != h.count+1 {
		return false
	}
	steps, at := h.steps, h.at
	var text []byte
	ok := true
	switch l.Do {
	case deedFound, deedEdit, deedOutside:
		if text, ok = l.after(h.text); !ok || l.Do == deedFound && h.count > 0 {
			return false
		}
		if h.count == 0 {
			steps = nil
		} else {
			steps = steps[:at+1]
		}
		steps = append(steps, step{l.What, difference(h.text, text)})
		at = len(steps) - 1
	case deedUndo:
		if at == 0 {
			return false
		}
		text, ok = steps[at].by.reversed().apply(h.text)
		at--
	case deedRedo:
		if at+1 >= len(steps) {
			return false
		}
		at++
		text, ok = steps[at].by.apply(h.text)
	default:
		return false
	}
	if !ok || digest(text) != l.SHA256 {
		return false
	}
	h.steps, h.at, h.text = steps, at, text
	h.count, h.before, h.last = l.Number, h.last, l.SHA256
	return true
}

// neighbour is the text that an undo (-1) or a redo (1) leads to; false where there is none.
func (h *history) neighbour(by int) ([]byte, bool) {
	switch {
	case by < 0 && h.at > 0:
		return h.steps[h.at].by.reversed().apply(h.text)
	case by > 0 && h.at+1 < len(h.steps):
		return h.steps[h.at+1].by.apply(h.text)
	}
	return nil, false
}

// parseHistory plays a history file. rest is what follows the last whole line that makes sense: a line that a crash cut short, or
// damage.
func parseHistory(data []byte) (h *history, rest []byte) {
	h = &history{}
	for len(data) > 0 {
		end := bytes.IndexByte(data, '\n')
		if end < 0 {
			break
		}
		var l line
		if json.Unmarshal(data[:end], &l) != nil || !h.take(l) {
			break
		}
		h.size += int64(end + 1)
		data = data[end+1:]
	}
	return h, data
}

// readHistory reads the history of a launch. What a crash cut short at its end is put aside, into a file of its own, and cut off.
func readHistory(root *os.Root, dir string) (*history, error) {
	path := filepath.Join(dir, historyName)
	data, err := disk.ReadIn(root, path, MostKept)
	if errors.Is(err, fs.ErrNotExist) {
		return &history{}, nil
	}
	if err != nil {
		return nil, fault.Failedf(err, "check the file's permissions", "read %s: %v", path, err)
	}
	h, rest := parseHistory(data)
	if len(rest) == 0 {
		return h, nil
	}
	if err := putAside(root, dir, h.size, rest); err != nil {
		return nil, fault.Failedf(err, "make room on the disk", "put the damaged end of %s aside: %v", path, err)
	}
	if err := cutBack(root, dir, h.size); err != nil {
		return nil, fault.Failedf(err, "check the file's permissions", "mend %s: %v", path, err)
	}
	return h, nil
}

// putAside keeps what is about to be cut off a history of the given size, under a name that no earlier cut has.
func putAside(root *os.Root, dir string, size int64, rest []byte) error {
	name := fmt.Sprintf("history-cut-%d.txt", size)
	for i := 2; ; i++ {
		if _, err := root.Lstat(filepath.Join(dir, name)); errors.Is(err, fs.ErrNotExist) {
			return WriteAtomic(filepath.Join(root.Name(), dir), map[string][]byte{name: rest})
		}
		name = fmt.Sprintf("history-cut-%d-%d.txt", size, i)
	}
}

// errMoved says that a history file is not as it was left.
var errMoved = errors.New("the history was changed by another program")

// write adds lines to the history on disk, all or none of them, and then plays them.
func (h *history) write(root *os.Root, dir string, lines ...line) error {
	var b bytes.Buffer
	for _, l := range lines {
		j, err := json.Marshal(l)
		if err != nil {
			return fmt.Errorf("write history: %w", err)
		}
		b.Write(append(j, '\n'))
	}
	if err := appendSynced(root, filepath.Join(dir, historyName), h.size, b.Bytes()); err != nil {
		return &fault.Error{Kind: fault.Failed, Cause: err, Message: fmt.Sprintf("cannot write the edit down: %v", err),
			Hint: "make room on the disk; nothing was changed"}
	}
	h.size += int64(b.Len())
	for _, l := range lines {
		if !h.take(l) {
			return fault.Failedf(nil, "", "history line %d does not follow", l.Number) // a broken invariant of this package
		}
	}
	return nil
}

// appendSynced adds to a file of a known size and syncs it. What was written of it in vain is cut off again.
func appendSynced(root *os.Root, path string, size int64, data []byte) (err error) {
	f, err := root.OpenFile(path, os.O_WRONLY|os.O_CREATE, 0o644)
	if err != nil {
		return err
	}
	defer func() {
		if e := f.Close(); err == nil {
			err = e
		}
	}()
	if info, err := f.Stat(); err != nil || info.Size() != size {
		return errors.Join(errMoved, err)
	}
	if _, err = f.WriteAt(data, size); err == nil {
		err = f.Sync()
	}
	if err != nil {
		_ = f.Truncate(size) // the next reading cuts it off otherwise
		return err
	}
	if size == 0 {
		syncFolder(filepath.Join(root.Name(), filepath.Dir(path)))
	}
	return nil
}

// cutBack takes lines off the end of a history again whose deed could not be done.
func cutBack(root *os.Root, dir string, size int64) error {
	f, err := root.OpenFile(filepath.Join(dir, historyName), os.O_WRONLY, 0)
	if err != nil {
		return err
	}
	defer f.Close()
	if err := f.Truncate(size); err != nil {
		return err
	}
	return f.Sync()
}
