package logbook

import (
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

func TestNewerLogbookIsRefused(t *testing.T) {
	t.Parallel()
	for what, c := range map[string]struct{ text, message string }{
		"newer":     {"format = 2\n", "format 2 is not known"},
		"no format": {"# nothing\n", "does not say its format"},
		"no TOML":   {"format: 1\n", "not valid TOML"},
	} {
		b, _ := newBook(t)
		b.Close()
		if err := os.WriteFile(filepath.Join(b.Dir(), marker), []byte(c.text), 0o644); err != nil {
			t.Fatal(err)
		}
		if _, err := Open(b.Dir(), Options{Make: true}); err == nil || !strings.Contains(err.Error(), c.message) {
			t.Errorf("%s: Open gave %v, want %q", what, err, c.message)
		}
	}
}

// TestOpenSweeps: what a killed program left half-written goes; all else stays.
func TestOpenSweeps(t *testing.T) {
	t.Parallel()
	b, name := newBook(t)
	incoming, err := b.ImportDir()
	if err != nil {
		t.Fatal(err)
	}
	b.Close()
	gone := []string{
		filepath.Join(b.Dir(), tempPrefix+"12"), filepath.Join(b.Folder(name), tempPrefix+"34"),
		filepath.Join(b.Dir(), LaunchesDir, tempPrefix+"56", LaunchName), filepath.Join(incoming, "clip.mp4"),
	}
	stays := []string{
		filepath.Join(b.Folder(name), "notes.txt"), filepath.Join(b.Dir(), ".gitignore"),
		filepath.Join(b.Dir(), footageDir, tempPrefix+"is-my-name.mp4"), filepath.Join(b.Dir(), incomingDir, "mine.mp4"),
	}
	for _, path := range append(gone, stays...) {
		if err := WriteAtomic(filepath.Dir(path), map[string][]byte{filepath.Base(path): nil}); err != nil {
			t.Fatal(err)
		}
	}
	open(t, b.Dir())
	for _, path := range gone {
		if _, err := os.Lstat(path); err == nil {
			t.Errorf("%s is still there", path)
		}
	}
	for _, path := range stays {
		if _, err := os.Lstat(path); err != nil {
			t.Errorf("%s is gone", path)
		}
	}
}

// TestLockRemoved: when somebody removed the lock's file, another process may hold the logbook too; nothing is edited then.
func TestLockRemoved(t *testing.T) {
	t.Parallel()
	b, name := newBook(t)
	s, err := b.State(name)
	if err != nil {
		t.Fatal(err)
	}
	if err := os.Remove(filepath.Join(b.Dir(), lockName)); err != nil {
		t.Skip("the system lets nobody remove the file: ", err)
	}
	other := open(t, b.Dir())
	if _, err := b.Edit(name, s.Revision, "", "edit", titled("lost")); !errors.Is(err, ErrHeld) {
		t.Errorf("Edit gave %v, want ErrHeld", err)
	}
	if _, err := other.Edit(name, s.Revision, "", "edit", titled("kept")); err != nil {
		t.Errorf("the other's edit gave %v", err)
	}
}

func TestSlug(t *testing.T) {
	t.Parallel()
	for title, want := range map[string]string{
		"Heron, 350 mL at 5.2 bar": "heron-350-ml-at-5-2-bar", "  ": "launch", "../../etc": "etc", "Höhe 3": "höhe-3", "AUX": "launch-aux", "com7": "launch-com7", "comet": "comet",
	} {
		if got := slug(title); got != want {
			t.Errorf("slug(%q) = %q, want %q", title, got, want)
		}
	}
}
