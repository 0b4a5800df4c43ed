package logbook

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"time"

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
	Text   *string   `json:"text,omitempty"` // the launch file after it, where it is new
	SHA256 string    `json:"sha256"`         // of the launch file after it
}

// history is what happened to a launch file. The texts that undo and redo walk through form a line of their own: an edit after
// an undo leaves the undone ones in the file and takes their place in that line.
type history struct {
	lines []line // texts left out: those are in steps
	steps []step
	at    int // of steps: the text that holds now
	size  int64
}

// step is one text that undo and redo can reach.
type step struct {
	text []byte
	what string
}

func digest(text []byte) string {
	sum := sha256.Sum256(text)
	return hex.EncodeToString(sum[:])
}

// take plays one line. It reports false for a line that cannot follow.
func (h *history) take(l line) bool {
	if l.Number != len(h.lines)+1 {
		return false
	}
	switch l.Do {
	case deedFound, deedEdit, deedOutside:
		if l.Text == nil || digest([]byte(*l.Text)) != l.SHA256 {
			return false
		}
		if len(h.steps) > 0 {
			h.steps = h.steps[:h.at+1]
		}
		h.steps = append(h.steps, step{[]byte(*l.Text), l.What})
		h.at = len(h.steps) - 1
	case deedUndo:
		if h.at == 0 {
			return false
		}
		h.at--
	case deedRedo:
		if h.at+1 >= len(h.steps) {
			return false
		}
		h.at++
	default:
		return false
	}
	if digest(h.now()) != l.SHA256 {
		return false
	}
	l.Text = nil
	h.lines = append(h.lines, l)
	return true
}

func (h *history) now() []byte {
	if len(h.steps) == 0 {
		return nil
	}
	return h.steps[h.at].text
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
	data, err := root.ReadFile(path)
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
	aside := filepath.Join(dir, fmt.Sprintf("history-cut-%d.txt", h.size))
	if err := root.WriteFile(aside, rest, 0o644); err != nil {
		return nil, fault.Failedf(err, "make room on the disk", "put the damaged end of %s aside: %v", path, err)
	}
	f, err := root.OpenFile(path, os.O_WRONLY, 0)
	if err != nil {
		return nil, fault.Failedf(err, "check the file's permissions", "mend %s: %v", path, err)
	}
	defer f.Close()
	if err := f.Truncate(h.size); err != nil {
		return nil, fault.Failedf(err, "", "mend %s: %v", path, err)
	}
	return h, f.Sync()
}

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
	if _, err = f.Seek(size, io.SeekStart); err == nil {
		if _, err = f.Write(data); err == nil {
			err = f.Sync()
		}
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
