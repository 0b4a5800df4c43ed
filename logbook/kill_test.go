package logbook

import (
	"bufio"
	"bytes"
	"fmt"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"
)

// TestKilled kills a process that edits, undoes, redoes, measures and lets other programs edit a launch at random moments, and looks
// whether everything it acknowledged is there.
func TestKilled(t *testing.T) {
	if os.Getenv("PADSIDE_EDITOR") != "" {
		editUntilKilled(os.Getenv("PADSIDE_EDITOR"))
		return
	}
	t.Parallel()
	kills := 200
	if testing.Short() {
		kills = 20
	}
	const books = 4 // at once: the time goes into waiting for the disk
	var sum [books]killed
	t.Run("logbooks", func(t *testing.T) {
		for i := range books {
			t.Run(fmt.Sprint(i), func(t *testing.T) {
				t.Parallel()
				sum[i] = killOften(t, uint64(i), kills/books)
			})
		}
	})
	for _, s := range sum[1:] {
		sum[0].deeds += s.deeds
		sum[0].mended += s.mended
	}
	t.Logf("%d kills, %d deeds acknowledged, the launch file brought up to its history %d times", kills, sum[0].deeds, sum[0].mended)
	if !t.Failed() && sum[0].deeds < kills {
		t.Errorf("%d deeds were acknowledged in %d runs: the test does not try what it should", sum[0].deeds, kills)
	}
}

// killed counts what was acknowledged before kills, and how often opening had to mend.
type killed struct{ deeds, mended int }

// killOften kills processes that work on one logbook, one after the other.
func killOften(t *testing.T, book uint64, kills int) (sum killed) {
	b, name := newBook(t)
	dir := b.Dir()
	b.Close()
	r := rand.New(rand.NewPCG(7, book))
	for k := range kills {
		// By deeds, not by the clock: a slow machine must not make the test an easy one.
		after := r.IntN(5)
		done, begun := killOnce(t, dir, uint64(k)+book<<32, after, time.Duration(r.IntN(6000))*time.Microsecond)
		on := digestOfFile(t, filepath.Join(dir, LaunchesDir, name, LaunchName))
		b, err := Open(dir, Options{})
		if err != nil {
			t.Fatalf("kill %d: the logbook does not open: %v", k, err)
		}
		s, err := b.State(name)
		if err != nil {
			t.Fatalf("kill %d: %v", k, err)
		}
		now := digest(s.Text)
		if last := len(done) - 1; last >= 0 && now != done[last] && now != begun {
			t.Fatalf("kill %d: deed %d of %d was acknowledged, the logbook holds neither it nor the one begun after it", k, last, len(done))
		}
		if now != on {
			sum.mended++
		}
		if got := digestOfFile(t, b.LaunchPath(name)); got != now {
			t.Fatalf("kill %d: history and launch file differ", k)
		}
		missing(t, b, name, done)
		sum.deeds += len(done)
		if left, _ := filepath.Glob(filepath.Join(b.Folder(name), tempPrefix+"*")); len(left) > 0 {
			t.Fatalf("kill %d: left behind after opening: %v", k, left)
		}
		b.Close()
	}
	return sum
}

func digestOfFile(t *testing.T, path string) string {
	t.Helper()
	text, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	return digest(text)
}

// missing looks for the acknowledged deeds in the history, in their order.
func missing(t *testing.T, b *Logbook, name string, done []string) {
	t.Helper()
	history, err := os.ReadFile(filepath.Join(b.Folder(name), historyName))
	if err != nil && len(done) > 0 {
		t.Fatal(err)
	}
	for i, d := range done {
		at := bytes.Index(history, []byte(d))
		if at < 0 {
			t.Fatalf("deed %d was acknowledged and is not in the history", i)
		}
		history = history[at+len(d):]
	}
}

// killOnce lets a child do so many deeds and work on for a moment (from its start, where none are asked), kills it and returns the digests
// of the texts it acknowledged, and of the one begun after them.
func killOnce(t *testing.T, dir string, seed uint64, deeds int, moment time.Duration) (done []string, begun string) {
	t.Helper()
	cmd := exec.Command(os.Args[0], "-test.run=^TestKilled$")
	cmd.Env = append(os.Environ(), "PADSIDE_EDITOR="+dir, fmt.Sprint("PADSIDE_EDITOR_RUN=", seed))
	out, err := cmd.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	started, over := make(chan bool), make(chan bool)
	go func() {
		defer close(over)
		for lines, waiting := bufio.NewScanner(out), true; lines.Scan(); {
			word, sum, _ := strings.Cut(lines.Text(), " ")
			switch word {
			case "begin":
				begun = sum
			case "done":
				done = append(done, sum)
			case "ready", "kept":
			default:
				t.Errorf("the editing process said: %s", lines.Text())
			}
			if waiting && len(done) >= deeds {
				waiting = false
				close(started)
			}
		}
	}()
	select {
	case <-started:
	case <-over:
	}
	time.Sleep(moment)
	_ = cmd.Process.Kill() // gone already where it failed: then nothing more was acknowledged
	<-over
	_ = cmd.Wait() // killed on purpose
	return done, begun
}

// editUntilKilled is the child: it says what it begins to do and what it has done.
func editUntilKilled(dir string) {
	refuse := func(what string, err error) {
		fmt.Println("refused:", what, err)
		os.Exit(1)
	}
	var run uint64
	fmt.Sscan(os.Getenv("PADSIDE_EDITOR_RUN"), &run)
	fmt.Println("ready")
	b, err := Open(dir, Options{})
	if err != nil {
		refuse("open", err)
	}
	names, _ := b.Names()
	r := rand.New(rand.NewPCG(run, 1))
	for n := 0; ; n++ {
		s, err := b.State(names[0])
		if err != nil {
			refuse("state", err)
		}
		t := b.launches[names[0]]
		undone, _ := t.h.neighbour(-1)
		redone, _ := t.h.neighbour(1)
		switch k := r.IntN(10); {
		case k < 2 && s.CanUndo:
			fmt.Println("begin", digest(undone))
			s, err = b.Undo(names[0], s.Revision, "child")
		case k < 4 && s.CanRedo:
			fmt.Println("begin", digest(redone))
			s, err = b.Redo(names[0], s.Revision, "child")
		case k == 4: // another program; known once it is seen
			text := titled(fmt.Sprintf("outside %d %s", run, strings.Repeat("-", 40+n))) // of a size of its own: seen whatever the clock's grain
			fmt.Println("begin", digest(text))
			if err = WriteAtomic(b.Folder(names[0]), map[string][]byte{LaunchName: text}); err == nil {
				s, err = b.State(names[0])
			}
		case k == 5:
			err = b.Keep(names[0], map[string][]byte{"answers.json": fmt.Append(nil, n), "trace.csv": nil})
			fmt.Println("kept")
			if err == nil {
				continue
			}
		default:
			text := titled(fmt.Sprintf("edit %d %d", run, n))
			fmt.Println("begin", digest(text))
			s, err = b.Edit(names[0], s.Revision, "child", "edit", text)
		}
		if err != nil {
			refuse("deed", err)
		}
		fmt.Println("done", digest(s.Text))
	}
}
