package desk

import (
	"context"
	"encoding/json"
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"padside/fault"
	"padside/footage"
	"padside/logbook"
	"padside/wording"
)

// filmedBook is a keptBook whose results hold the identity of their footage, as they do since it is looked at.
func filmedBook(t *testing.T) (d *Desk, clip string) {
	t.Helper()
	d, dir := keptBook(t)
	clip = filepath.Join(dir, "x.mp4")
	id, err := footage.Digest(context.Background(), clip)
	if err != nil || id.SHA256 != keptFootageSum {
		t.Fatalf("the digest is %s, %v; want %s", id.SHA256, err, keptFootageSum)
	}
	b, err := json.Marshal(id)
	if err != nil {
		t.Fatal(err)
	}
	path := filepath.Join(dir, recorderFile)
	text, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	put(t, path, strings.Replace(string(text), `"times"`, `"footage":`+string(b)+`,"times"`, 1))
	return d, clip
}

func put(t *testing.T, path, text string) {
	t.Helper()
	if err := os.WriteFile(path, []byte(text), 0o644); err != nil {
		t.Fatal(err)
	}
}

// aged sets when a file was changed last: seconds after a day, so that the grain of the disk's clock does not count.
func aged(t *testing.T, path string, seconds int) {
	t.Helper()
	at := time.Date(2026, 5, 16, 12, 0, seconds, 0, time.UTC)
	if err := os.Chtimes(path, at, at); err != nil {
		t.Fatal(err)
	}
}

// read lets the footage be read, where it is not known yet, and wants the launch in a state, on its page, on its card, in a heat and in comparisons.
func (s footageSteps) want(step string, state LaunchState, says string) *View {
	s.t.Helper()
	s.seen(step)
	v := s.seen(step)
	cards, err := s.d.Cards(context.Background())
	if err != nil || len(cards) != 1 || cards[0].State != v.State {
		s.t.Fatalf("%s: cards %+v, %v; the page says %q", step, cards, err, v.State)
	}
	_, _, answers := s.d.answererOf("avocet")
	heat, err := s.d.HeatSheet(context.Background(), s.heat)
	if err != nil {
		s.t.Fatal(err)
	}
	if v.State != state {
		s.t.Errorf("%s: the launch is %q, %+v, want %q", step, v.State, v.Problem, state)
	}
	if counts := v.State == StateMeasured; counts != (answers == nil) || counts == (heat.Entries[0].Standing == Waiting) {
		s.t.Errorf("%s: the launch is %q; compared: %v; in the heat: %q, %q", step, v.State, answers, heat.Entries[0].Standing, heat.Entries[0].Problem)
	}
	var f *fault.Error
	if answers != nil && (!errors.As(answers, &f) || f.Hint == "" || !strings.Contains(f.Message, says) || v.Problem == nil || v.Problem.Hint == "" || !strings.HasPrefix(cards[0].Problem, "its footage ")) {
		s.t.Errorf("%s: said are %v, %+v and %q; want %q and what to do", step, answers, v.Problem, cards[0].Problem, says)
	}
	if len(v.Answers) != 2 {
		s.t.Errorf("%s: the page shows %d answers", step, len(v.Answers))
	}
	return v
}

type footageSteps struct {
	t    *testing.T
	d    *Desk
	heat string
}

// seen opens the launch's page, and waits for the footage that this lets be read.
func (s footageSteps) seen(step string) *View {
	s.t.Helper()
	v, err := s.d.Sheet(context.Background(), "avocet", wording.Units{})
	if err != nil {
		s.t.Fatalf("%s: %v", step, err)
	}
	if err := s.d.witness.over.Wait(); err != nil {
		s.t.Fatal(err)
	}
	return v
}

func newFootageSteps(t *testing.T, d *Desk) footageSteps {
	t.Helper()
	name, err := d.book.NewHeat("Spring", func(string) []byte {
		return []byte("format = 1\n[question]\nanswer = \"peak_speed\"\n[[entry]]\nlaunch = \"" + logbook.LaunchFrom("avocet") + "\"\n[[entry]]\nlaunch = \"" + logbook.LaunchFrom("other") + "\"\n")
	})
	if err != nil {
		t.Fatal(err)
	}
	return footageSteps{t, d, name}
}

// A launch whose footage changed or went is said to be so and left out of heats and comparisons, until it is as it was, or is accepted.
func TestFootageThatChangedIsNoticed(t *testing.T) {
	t.Parallel()
	d, clip := filmedBook(t)
	s := newFootageSteps(t, d)
	s.want("as measured", StateMeasured, "")

	aged(t, clip, 1)
	if v, err := d.Sheet(context.Background(), "avocet", wording.Units{}); err != nil || v.State != StateFootageChanged || !strings.Contains(v.Problem.Message, "may have") {
		t.Errorf("before it was read, touched footage is %q, %+v, %v", v.State, v.Problem, err)
	}
	s.want("touched", StateMeasured, "")
	if len(d.note("avocet").Found.Files) != 1 {
		t.Error("what was read of it is not kept")
	}

	put(t, clip, "A clip") // as long
	aged(t, clip, 2)
	s.want("other content", StateFootageChanged, "by its digest")
	put(t, clip, "a longer clip")
	aged(t, clip, 3)
	s.want("other size", StateFootageChanged, "13 bytes, where 6 were measured")
	if err := d.AcceptFootage("avocet"); err != nil {
		t.Fatal(err)
	}
	if v := s.want("accepted", StateMeasured, ""); !strings.Contains(v.Accepted, "accepted all the same") {
		t.Errorf("the page says %q of what was accepted", v.Accepted)
	}
	put(t, clip, "another one")
	aged(t, clip, 4)
	s.want("changed again", StateFootageChanged, "11 bytes")

	if err := os.Remove(clip); err != nil {
		t.Fatal(err)
	}
	s.want("gone", StateFootageMissing, "not where it was")
	if err := d.AcceptFootage("avocet"); err != nil {
		t.Fatal(err)
	}
	s.want("accepted without it", StateMeasured, "")
	put(t, clip, "another one")
	aged(t, clip, 5)
	s.want("another one in its place", StateFootageChanged, "11 bytes")
	put(t, clip, keptFootageText)
	s.want("put back", StateMeasured, "")
}

// Who compares waits for footage that must be read first.
func TestComparingWaitsForFootage(t *testing.T) {
	t.Parallel()
	d, clip := filmedBook(t)
	d.witness.turn <- struct{}{} // other footage is being read
	aged(t, clip, 1)
	if v, err := d.Sheet(context.Background(), "avocet", wording.Units{}); err != nil || v.State != StateFootageChanged {
		t.Errorf("unread, the launch is %q, %v", v.State, err)
	}
	if _, _, err := d.answererOf("avocet"); err != nil {
		t.Errorf("compared unread: %v", err)
	}
	<-d.witness.turn
}

// A logbook whose footage was copied, and so has other times, is read once: what was found is kept.
func TestFootageIsReadOnce(t *testing.T) {
	t.Parallel()
	d, clip := filmedBook(t)
	s := newFootageSteps(t, d)
	aged(t, clip, 1)
	s.want("touched", StateMeasured, "")
	dir := d.Dir()
	if err := d.Close(); err != nil {
		t.Fatal(err)
	}
	again, err := Open(dir, false)
	if err != nil {
		t.Fatal(err)
	}
	defer again.Close()
	if v, err := again.Sheet(context.Background(), "avocet", wording.Units{}); err != nil || v.State != StateMeasured || len(again.witness.seen) != 0 {
		t.Errorf("opened again, the launch is %q, %v, and %d pieces of footage are read", v.State, err, len(again.witness.seen))
	}
}

// Results of versions that kept no more of the footage than its digest are held against that.
func TestFootageOfEarlierResults(t *testing.T) {
	t.Parallel()
	d, dir := keptBook(t)
	s := newFootageSteps(t, d)
	if v, err := d.Sheet(context.Background(), "avocet", wording.Units{}); err != nil || v.State != StateMeasured {
		t.Fatalf("before it was read the launch is %q, %v", v.State, err)
	}
	s.want("as measured", StateMeasured, "")
	put(t, filepath.Join(dir, "x.mp4"), "other")
	s.want("changed", StateFootageChanged, "by its digest")
}

// What was followed of footage is not remembered for other footage in its place.
func TestRecallLooksAtTheFootage(t *testing.T) {
	t.Parallel()
	d, clip := filmedBook(t)
	l, err := d.book.Resolve("avocet")
	if err != nil {
		t.Fatal(err)
	}
	l.Trace.Follow = false
	id, err := footage.Identify(clip)
	if err != nil {
		t.Fatal(err)
	}
	d.remember("avocet", l, &followed{id: id})
	if d.recall("avocet", l) == nil {
		t.Error("nothing is remembered")
	}
	put(t, clip, "another clip")
	if d.recall("avocet", l) != nil {
		t.Error("another clip counts as followed")
	}
	if err := os.Remove(clip); err != nil {
		t.Fatal(err)
	}
	if d.recall("avocet", l) != nil {
		t.Error("no clip counts as followed")
	}
}

// TestVerifyLogbook: a logbook is verified launch by launch, without its lock.
func TestVerifyLogbook(t *testing.T) {
	t.Parallel()
	d, clip := filmedBook(t)
	if _, err := d.book.New("Never measured", func(string) []byte { return []byte(keptLaunchText) }); err != nil {
		t.Fatal(err)
	}
	verdict := func(step string, want Verdict, differs bool) {
		t.Helper()
		s, err := Verify(context.Background(), d.Dir(), VerifyOptions{})
		if err != nil || len(s.Launches) != 2 || s.Launches[0].Verdict != want || s.Launches[1].Verdict != VerifiedNothing || (s.Differs() != nil) != differs {
			t.Errorf("%s: verified as %+v, %v; want %q", step, s, err, want)
		}
	}
	verdict("as measured", VerifiedSame, false)
	put(t, clip, "A clip")
	verdict("changed", VerifiedOther, true)
	if err := os.Remove(clip); err != nil {
		t.Fatal(err)
	}
	verdict("gone", VerifiedMissing, true)
	put(t, filepath.Join(filepath.Dir(clip), answersFile), "{")
	verdict("damaged", VerifiedDamaged, true)
}
