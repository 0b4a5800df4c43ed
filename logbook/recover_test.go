package logbook

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"
)

// edited makes a logbook whose launch was edited, undone and redone, and closes it. It returns the folder and the texts, one for each line of
// its history.
func edited(t *testing.T) (dir, name string, texts [][]byte) {
	t.Helper()
	b, name := newBook(t)
	s, err := b.State(name)
	step := func(next State, e error) {
		if err == nil {
			s, err = next, e
			texts = append(texts, s.Text)
		}
	}
	texts = append(texts, s.Text)
	for i := range 6 {
		step(b.Edit(name, s.Revision, "tab", "edit", titled(fmt.Sprint("größer ", i))))
	}
	step(b.Undo(name, s.Revision, "tab"))
	step(b.Undo(name, s.Revision, "tab"))
	step(b.Redo(name, s.Revision, "tab"))
	step(b.Edit(name, s.Revision, "tab", "fork", []byte("format = 1\n[footage]\npath = \"b.mp4\"\n")))
	if err != nil {
		t.Fatal(err)
	}
	b.Close()
	return b.Dir(), name, texts
}

// TestHistoryTornAtEveryByte: whatever part of the history a lost disk cache left, whole lines count and the rest is kept aside.
func TestHistoryTornAtEveryByte(t *testing.T) {
	t.Parallel()
	dir, name, texts := edited(t)
	path := filepath.Join(dir, LaunchesDir, name, historyName)
	whole, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	for cut := range len(whole) {
		h, rest := parseHistory(whole[:cut])
		lines := bytes.Count(whole[:cut], []byte("\n"))
		if h.count != lines || int(h.size)+len(rest) != cut || lines > 0 && !bytes.Equal(h.text, texts[lines-1]) {
			t.Fatalf("cut at %d: %d lines and %d bytes more, want %d lines", cut, h.count, len(rest), lines)
		}
	}
	cut := bytes.LastIndexByte(whole[:len(whole)-1], '\n') + 30
	if err := os.WriteFile(path, whole[:cut], 0o644); err != nil {
		t.Fatal(err)
	}
	b := open(t, dir)
	s, err := b.State(name)
	if last := texts[len(texts)-1]; err != nil || !bytes.Equal(s.Text, last) || !s.CanUndo {
		t.Errorf("with the last line torn: %q (%v), want the launch file as it was", s.Text, err)
	}
	aside, _ := filepath.Glob(filepath.Join(b.Folder(name), "history-cut-*"))
	if len(aside) != 1 {
		t.Fatalf("put aside: %v, want one file", aside)
	}
	if got, _ := os.ReadFile(aside[0]); !bytes.Equal(got, whole[cut-29:cut]) && !bytes.Equal(got, whole[cut-30:cut]) {
		t.Errorf("put aside: %q", got)
	}
}

func open(t *testing.T, dir string) *Logbook {
	t.Helper()
	b, err := Open(dir, Options{})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { b.Close() })
	return b
}

// TestInterruptedOrPutBack: a launch file as it was before the last deed is an interrupted edit where it is older than the history,
// and somebody's wish where it is newer.
func TestInterruptedOrPutBack(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		what  string
		age   time.Duration
		wants int // text, counted from the last
	}{{"killed between history and file", -time.Minute, 1}, {"put back by another program", time.Minute, 2}} {
		t.Run(c.what, func(t *testing.T) {
			t.Parallel()
			dir, name, texts := edited(t)
			path := filepath.Join(dir, LaunchesDir, name, LaunchName)
			if err := os.WriteFile(path, texts[len(texts)-2], 0o644); err != nil {
				t.Fatal(err)
			}
			if at := time.Now().Add(c.age); os.Chtimes(path, at, at) != nil {
				t.Fatal("no time was set")
			}
			b := open(t, dir)
			s, err := b.State(name)
			if want := texts[len(texts)-c.wants]; err != nil || !bytes.Equal(s.Text, want) {
				t.Errorf("the text is %q (%v), want %q", s.Text, err, want)
			}
			if got := digestOfFile(t, path); got != digest(s.Text) {
				t.Error("launch file and history differ")
			}
		})
	}
}

// TestAnotherProgramsText: whatever another program leaves is taken into the history whole, and nothing after it is lost.
func TestAnotherProgramsText(t *testing.T) {
	t.Parallel()
	for what, text := range map[string][]byte{
		"Latin-1":            []byte("format = 1\ntitle = \"H\xf6he 3 \xb5m\"\n"),
		"zeros":              make([]byte, 40),
		"nothing":            {},
		"half a character":   append([]byte(plainLaunch), 0xe2, 0x82),
		"a mark, CRLF":       []byte("\ufeffformat = 1\r\ntitle = \"x\"\r\n"),
		"separators of text": []byte("# \u2028 \u2029 <&>\nformat = 1\n"),
	} {
		t.Run(what, func(t *testing.T) {
			t.Parallel()
			b, name := newBook(t)
			s, _ := b.State(name)
			s, err := b.Edit(name, s.Revision, "", "before", titled("before"))
			if err != nil {
				t.Fatal(err)
			}
			if err := os.WriteFile(b.LaunchPath(name), text, 0o644); err != nil {
				t.Fatal(err)
			}
			// Within the grain of the file system's clock the same size can hide it from State, never from Edit.
			if _, err := b.Edit(name, s.Revision, "", "over it", titled("over")); !errors.Is(err, ErrConflict) {
				t.Fatalf("an edit over another program's gave %v, want ErrConflict", err)
			}
			if s, err = b.State(name); err != nil || !bytes.Equal(s.Text, text) {
				t.Fatalf("the text is %q (%v), want %q", s.Text, err, text)
			}
			if _, err := b.Edit(name, s.Revision, "", "after", titled("after")); err != nil {
				t.Fatal(err)
			}
			b.Close()
			b = open(t, b.Dir())
			for _, want := range [][]byte{titled("after"), text, titled("before"), []byte(plainLaunch)} {
				if s, err = b.State(name); err != nil || !bytes.Equal(s.Text, want) {
					t.Fatalf("after reopening the text is %q (%v), want %q", s.Text, err, want)
				}
				if s.CanUndo {
					if _, err := b.Undo(name, s.Revision, ""); err != nil {
						t.Fatal(err)
					}
				}
			}
		})
	}
}

// TestSameSizeSameTime: an edit is never made over a text that was not seen, however well the file's size and time hide it.
func TestSameSizeSameTime(t *testing.T) {
	t.Parallel()
	b, name := newBook(t)
	s, err := b.State(name)
	if err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(b.LaunchPath(name), titled("Egret"), 0o644); err != nil {
		t.Fatal(err)
	}
	if err := os.Chtimes(b.LaunchPath(name), s.Changed, s.Changed); err != nil {
		t.Fatal(err)
	}
	if _, err := b.Edit(name, s.Revision, "", "edit", titled("Heron 2")); !errors.Is(err, ErrConflict) {
		t.Errorf("Edit gave %v, want ErrConflict", err)
	}
}

// TestBothFilesComeFromElsewhere: version control may replace launch file and history under an open logbook.
func TestBothFilesComeFromElsewhere(t *testing.T) {
	t.Parallel()
	dir, name, texts := edited(t)
	files := map[string][]byte{}
	for _, f := range []string{LaunchName, historyName} {
		files[f], _ = os.ReadFile(filepath.Join(dir, LaunchesDir, name, f))
	}
	b, mine := newBook(t)
	s, _ := b.State(mine)
	s, err := b.Edit(mine, s.Revision, "", "mine", titled("mine"))
	if err != nil {
		t.Fatal(err)
	}
	if err := WriteAtomic(b.Folder(mine), files); err != nil {
		t.Fatal(err)
	}
	if _, err := b.Edit(mine, s.Revision, "", "over it", titled("over")); !errors.Is(err, ErrConflict) {
		t.Errorf("Edit gave %v, want ErrConflict", err)
	}
	if s, err = b.State(mine); err != nil || !bytes.Equal(s.Text, texts[len(texts)-1]) || b.launches[mine].h.count != len(texts) {
		t.Errorf("the text is %q after %d deeds (%v), want the other's after %d", s.Text, b.launches[mine].h.count, err, len(texts))
	}
	if got, _ := os.ReadFile(filepath.Join(b.Folder(mine), historyName)); !bytes.Equal(got, files[historyName]) {
		t.Error("the other's history was changed")
	}
}

// TestEditsAtOnce: of edits made at once on one revision one is made; nothing is lost when each is based on the newest.
func TestEditsAtOnce(t *testing.T) {
	t.Parallel()
	b, name := newBook(t)
	const tabs, each = 4, 10
	var conflicts atomic.Int32
	var all sync.WaitGroup
	for tab := range tabs {
		all.Go(func() {
			for i := 0; i < each; {
				s, err := b.State(name)
				if err == nil {
					text := append(s.Text, fmt.Sprintf("# tab %d, edit %d\n", tab, i)...)
					_, err = b.Edit(name, s.Revision, fmt.Sprint(tab), "edit", text)
				}
				switch {
				case errors.Is(err, ErrConflict):
					conflicts.Add(1)
				case err != nil:
					t.Error(err)
					return
				default:
					i++
				}
			}
		})
	}
	all.Wait()
	s, err := b.State(name)
	if got := strings.Count(string(s.Text), "# tab"); err != nil || got != tabs*each {
		t.Errorf("%d edits are in the text (%v), want %d", got, err, tabs*each)
	}
	t.Logf("%d edits, %d told that another came first", tabs*each, conflicts.Load())
}

func mustJSON(l line) []byte {
	b, err := json.Marshal(l)
	if err != nil {
		panic(err) // a line always can
	}
	return b
}

func FuzzHistory(f *testing.F) {
	h := &history{}
	var file []byte
	for i, text := range []string{"a = 1\n", "a = 2\n", "b = \xff\n"} {
		l := line{Number: i + 1, Do: deedEdit}
		l.write(h.text, []byte(text))
		h.take(l)
		file = append(append(file, mustJSON(l)...), '\n')
	}
	f.Add(file)
	f.Add([]byte(`{"number":1,"do":"undo","sha256":""}` + "\n"))
	f.Add([]byte(`{"number":1,"do":"edit","patch":{"at":-1,"old":"","new":"x"},"sha256":""}` + "\n"))
	f.Fuzz(func(t *testing.T, data []byte) {
		h, rest := parseHistory(data)
		if int(h.size)+len(rest) != len(data) || !bytes.HasSuffix(data, rest) || h.count > 0 && digest(h.text) != h.last {
			t.Fatalf("%d lines, %d bytes and %d more of %d", h.count, h.size, len(rest), len(data))
		}
		again, more := parseHistory(data[:h.size])
		if again.count != h.count || len(more) != 0 {
			t.Errorf("read again: %d lines and %d bytes more, want %d and 0", again.count, len(more), h.count)
		}
	})
}

func FuzzPatch(f *testing.F) {
	f.Add([]byte("größer"), []byte("größte"))
	f.Add([]byte("aaa"), []byte("aa"))
	f.Add([]byte("\xc3\xa4"), []byte("\xc3\xb6"))
	f.Fuzz(func(t *testing.T, a, b []byte) {
		var l line
		l.write(a, b)
		var read line
		if err := json.Unmarshal(mustJSON(l), &read); err != nil {
			t.Fatal(err)
		}
		if got, ok := read.after(a); !ok || !bytes.Equal(got, b) {
			t.Errorf("the text after %q is %q, want %q", mustJSON(l), got, b)
		}
		p := difference(a, b)
		if got, ok := p.reversed().apply(b); !ok || !bytes.Equal(got, a) {
			t.Errorf("%+v taken back gives %q, want %q", p, got, a)
		}
	})
}
