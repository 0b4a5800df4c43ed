package logbook

import (
	"bytes"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"
)

const plainLaunch = `# kept
format = 1
title = "Heron"

[footage]
path = "clip.mp4" # beside it

[scale]
kind = "rod"
marks = [ { at = "0 m", x = 5.0, y = 100.0 }, { at = "0.4 m", x = 5.0, y = 10.0 } ]
`

// newBook makes a logbook with one launch, "heron".
func newBook(t testing.TB) (*Logbook, string) {
	t.Helper()
	dir := filepath.Join(t.TempDir(), "book")
	b, err := Open(dir, Options{Make: true})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { b.Close() })
	name, err := b.New("Heron", func(string) []byte { return []byte(plainLaunch) })
	if err != nil {
		t.Fatal(err)
	}
	return b, name
}

func titled(title string) []byte {
	return []byte(strings.Replace(plainLaunch, `"Heron"`, strconv.Quote(title), 1))
}

func TestUndoAndRedoWithoutLimitAlsoAfterARestart(t *testing.T) {
	t.Parallel()
	b, name := newBook(t)
	const edits = 40
	s, err := b.State(name)
	if err != nil {
		t.Fatal(err)
	}
	for i := range edits {
		if s, err = b.Edit(name, s.Revision, "tab", fmt.Sprintf("edit %d", i), titled(fmt.Sprint("t", i))); err != nil {
			t.Fatal(err)
		}
	}
	reopen := func() {
		t.Helper()
		b.Close()
		if b, err = Open(b.Dir(), Options{}); err != nil {
			t.Fatal(err)
		}
		t.Cleanup(func() { b.Close() })
		if s, err = b.State(name); err != nil {
			t.Fatal(err)
		}
	}
	reopen()
	for i := edits - 1; i >= 0; i-- {
		if want := fmt.Sprintf("edit %d", i); s.UndoWhat != want {
			t.Fatalf("undo would take back %q, want %q", s.UndoWhat, want)
		}
		if s, err = b.Undo(name, s.Revision, "tab"); err != nil {
			t.Fatal(err)
		}
	}
	if string(s.Text) != plainLaunch || s.CanUndo {
		t.Fatalf("after all undos the text is %q, more: %v", s.Text, s.CanUndo)
	}
	reopen()
	for range edits / 2 {
		if s, err = b.Redo(name, s.Revision, "tab"); err != nil {
			t.Fatal(err)
		}
	}
	if want := titled(fmt.Sprint("t", edits/2-1)); !bytes.Equal(s.Text, want) {
		t.Errorf("after %d redos the text is %q, want %q", edits/2, s.Text, want)
	}
	// An edit now takes the place of what was undone.
	if s, err = b.Edit(name, s.Revision, "tab", "fork", titled("fork")); err != nil || s.CanRedo {
		t.Errorf("after an edit a redo is possible: %v (%v)", s.CanRedo, err)
	}
	if _, err := b.Redo(name, s.Revision, "tab"); err == nil {
		t.Error("Redo with nothing to redo gave no error")
	}
	on, _ := os.ReadFile(b.LaunchPath(name))
	if !bytes.Equal(on, titled("fork")) {
		t.Errorf("the launch file is %q", on)
	}
}

func TestEditsOfTwoTabsAndOfAnotherProgram(t *testing.T) {
	t.Parallel()
	b, name := newBook(t)
	first, _ := b.State(name)
	second, err := b.Edit(name, first.Revision, "a", "a's", titled("a"))
	if err != nil {
		t.Fatal(err)
	}
	if _, err := b.Edit(name, first.Revision, "b", "b's", titled("b")); !errors.Is(err, ErrConflict) {
		t.Errorf("an edit of an old revision gave %v, want ErrConflict", err)
	}
	if s, _ := b.State(name); s.Revision != second.Revision {
		t.Errorf("the refused edit changed the revision to %s", s.Revision)
	}
	// A text editor writes the file: that is an edit too, and can be undone.
	later := time.Now().Add(time.Second) // another modification time, however coarse the disk's clock
	if err := errors.Join(os.WriteFile(b.LaunchPath(name), titled("by hand"), 0o644), os.Chtimes(b.LaunchPath(name), later, later)); err != nil {
		t.Fatal(err)
	}
	s, err := b.State(name)
	if err != nil || !bytes.Equal(s.Text, titled("by hand")) || s.Revision == second.Revision {
		t.Fatalf("after another program's edit: %q, revision %s (%v)", s.Text, s.Revision, err)
	}
	if s, err = b.Undo(name, s.Revision, "a"); err != nil || !bytes.Equal(s.Text, titled("a")) {
		t.Errorf("undo of another program's edit gave %q (%v)", s.Text, err)
	}
}

func TestOneProcessHoldsALogbook(t *testing.T) {
	t.Parallel()
	b, _ := newBook(t)
	_, err := Open(b.Dir(), Options{})
	if !errors.Is(err, ErrHeld) || !strings.Contains(err.Error(), strconv.Itoa(os.Getpid())) {
		t.Errorf("a second Open gave %v, want ErrHeld with the process", err)
	}
	b.Close()
	again, err := Open(b.Dir(), Options{})
	if err != nil {
		t.Fatalf("Open after Close: %v", err)
	}
	again.Close()
}

func TestOpenRefuses(t *testing.T) {
	t.Parallel()
	other := t.TempDir()
	os.WriteFile(filepath.Join(other, "letter.txt"), nil, 0o644)
	file := filepath.Join(other, "letter.txt")
	for name, c := range map[string]struct {
		dir  string
		make bool
	}{
		"no folder":           {filepath.Join(other, "none"), false},
		"a folder of letters": {other, true},
		"a file":              {file, true},
		"an empty folder":     {t.TempDir(), false},
	} {
		if b, err := Open(c.dir, Options{Make: c.make}); err == nil {
			b.Close()
			t.Errorf("%s: Open gave no error", name)
		}
	}
}

func TestNamesLeadNowhereElse(t *testing.T) {
	t.Parallel()
	b, name := newBook(t)
	for _, bad := range []string{"", ".", "..", "../heron", "heron/..", "/etc", `a\b/..`, ".hidden", "none"} {
		if _, err := b.State(bad); !errors.Is(err, ErrUnknown) {
			t.Errorf("State(%q) gave %v, want ErrUnknown", bad, err)
		}
		if _, err := b.File(name, bad); !errors.Is(err, ErrUnknown) {
			t.Errorf("File(%q) gave %v, want ErrUnknown", bad, err)
		}
	}
}

func TestTrashAndRestoreKeepTheHistory(t *testing.T) {
	t.Parallel()
	b, name := newBook(t)
	s, _ := b.State(name)
	if _, err := b.Edit(name, s.Revision, "", "edit", titled("x")); err != nil {
		t.Fatal(err)
	}
	if err := b.Trash(name); err != nil {
		t.Fatal(err)
	}
	if names, _ := b.Names(); len(names) != 0 {
		t.Errorf("after Trash the launches are %v", names)
	}
	if err := b.Restore(name); err != nil {
		t.Fatal(err)
	}
	if s, err := b.State(name); err != nil || !s.CanUndo {
		t.Errorf("after Restore an undo is possible: %v (%v)", s.CanUndo, err)
	}
	if err := b.Restore(name); !errors.Is(err, ErrUnknown) {
		t.Errorf("Restore of what is not in the trash gave %v", err)
	}
}

// What lies in the trash is listed, what was put there last first, and comes back by its name there: under its own name, or one like it.
func TestTakeBackFromTheTrash(t *testing.T) {
	t.Parallel()
	b, name := newBook(t)
	heat, err := b.NewHeat("Spring", func(string) []byte {
		return FormatHeat(&HeatText{Title: "Spring", Answer: "peak_speed", Entries: []HeatEntryText{{Launch: LaunchFrom(name)}, {Launch: LaunchFrom("elsewhere")}}})
	})
	if err != nil {
		t.Fatal(err)
	}
	if err := errors.Join(b.Trash(name), b.TrashHeat(heat)); err != nil {
		t.Fatal(err)
	}
	list, err := b.Trashed()
	if err != nil || len(list) != 2 || list[0].What != "heat" || list[0].Title != "Spring" || list[1].What != "launch" || list[1].Entry != name || list[1].At.IsZero() {
		t.Fatalf("the trash holds %+v, %v", list, err)
	}
	if _, err := b.New(name, func(string) []byte { return []byte("format = 1\n[footage]\npath = \"x.mp4\"\n") }); err != nil {
		t.Fatal(err)
	}
	for _, a := range list {
		if _, _, err := b.TakeBack(a.Entry); err != nil {
			t.Errorf("TakeBack(%q): %v", a.Entry, err)
		}
	}
	names, _ := b.Names()
	heats, _ := b.HeatNames()
	if list, _ := b.Trashed(); len(names) != 2 || len(heats) != 1 || heats[0] != heat || len(list) != 0 {
		t.Errorf("after all came back: launches %v, heats %v, trash %v", names, heats, list)
	}
	for _, bad := range []string{name, "..", "../launches/" + name, ""} {
		if _, _, err := b.TakeBack(bad); !errors.Is(err, ErrUnknown) {
			t.Errorf("TakeBack(%q) gave %v, want ErrUnknown", bad, err)
		}
	}
}

func TestSetupFillsInWhatALaunchLacks(t *testing.T) {
	t.Parallel()
	b, _ := newBook(t)
	setup := "format = 1\n[footage.time]\nbasis = \"rate\"\nrate = \"1600 Hz\"\n\n" + plainLaunch[strings.Index(plainLaunch, "[scale]"):]
	if err := b.PutSetup("north-mast", []byte(setup)); err != nil {
		t.Fatal(err)
	}
	bare := "format = 1\nsetup = \"north-mast\"\n[footage]\npath = \"a.mp4\"\n"
	name, err := b.New("bare", func(string) []byte { return []byte(bare) })
	if err != nil {
		t.Fatal(err)
	}
	for what, read := range map[string]func() (*Launch, error){
		"Resolve": func() (*Launch, error) { return b.Resolve(name) }, "ReadLaunch": func() (*Launch, error) { return ReadLaunch(b.LaunchPath(name)) },
	} {
		l, err := read()
		if err != nil || l.Scale.Kind != "rod" || len(l.Scale.Marks) != 2 || l.Time.Basis != "rate" {
			t.Errorf("%s: scale %+v, time %+v (%v)", what, l.Scale, l.Time, err)
		}
	}
	if by, err := b.SharedBy("north-mast"); err != nil || !slices.Equal(by, []string{name}) {
		t.Errorf("SharedBy = %v (%v), want [%s]", by, err, name)
	}
	if err := b.PutSetup("bad", []byte("format = 1\n[scale]\nkind = \"ruler\"\n")); err == nil {
		t.Error("PutSetup of a scale that cannot be gave no error")
	}
	if err := b.PutSetup("bad", []byte("format = 1\n[footage.time]\nbasis = \"rate\"\n")); err == nil || !strings.HasPrefix(err.Error(), "bad.toml:3:") {
		t.Errorf("PutSetup of a rate that is none gave %v, want the setup's line", err)
	}
	if err := b.PutSetup("../x", []byte(setup)); err == nil {
		t.Error("PutSetup under a path gave no error")
	}
}

func BenchmarkList1000(b *testing.B) {
	book, _ := newBook(b)
	for i := range 999 {
		if _, err := book.New(fmt.Sprint("launch ", i), func(string) []byte { return titled(fmt.Sprint(i)) }); err != nil {
			b.Fatal(err)
		}
	}
	for b.Loop() {
		names, err := book.Names()
		if err != nil || len(names) != 1000 {
			b.Fatal(len(names), err)
		}
		for _, n := range names {
			if _, err := book.State(n); err != nil {
				b.Fatal(err)
			}
		}
	}
}
