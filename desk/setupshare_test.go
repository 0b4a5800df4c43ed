package desk

import (
	"errors"
	"strings"
	"testing"

	"padside/logbook"
	"padside/wording"
)

// TestShareSetup marks a rod once for two launches: the scale of one becomes the setup's, the other takes it from there, and Undo gives the first
// its own back.
func TestShareSetup(t *testing.T) {
	t.Parallel()
	d, _ := bench(t)
	add := func(title, text string) string {
		t.Helper()
		name, err := d.book.New(title, func(string) []byte { return []byte(text) })
		if err != nil {
			t.Fatal(err)
		}
		return name
	}
	first := add("first", "format = 1\ntitle = \"first\"\n[footage]\npath = \"a.mp4\"\n[footage.time]\nbasis = \"rate\"\nrate = \"1000 Hz\"\n[scale] # by hand\nkind = \"rod\"\nmarks = [\n"+
		"  { at = \"0 m\", x = 5, y = 100.25 },\n  { at = \"0.4 m\", x = 5.0, y = 10.0 },\n]\n[camera]\ntilt = \"3(1) deg\"\nk1 = 0.01\n")
	second := add("second", "format = 1\nsetup = \"north-mast\"\n[footage]\npath = \"b.mp4\"\n")
	was, err := d.book.State(first)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := d.ShareSetup(t.Context(), first, "old", "tab", "north-mast", wording.Units{}); !errors.Is(err, logbook.ErrConflict) {
		t.Errorf("an old revision gave %v", err)
	}
	for _, bad := range []string{"", "../north"} {
		if _, err := d.ShareSetup(t.Context(), first, was.Revision, "tab", bad, wording.Units{}); err == nil {
			t.Errorf("the setup %q was shared", bad)
		}
	}
	v, err := d.ShareSetup(t.Context(), first, was.Revision, "tab", "north-mast", wording.Units{})
	if err != nil || v.Setup != "north-mast" {
		t.Fatalf("ShareSetup: %v, setup %q", err, v.Setup)
	}
	for _, name := range []string{first, second} {
		l, s, err := d.resolved(name)
		if err != nil {
			t.Fatal(err)
		}
		if len(l.Scale.Marks) != 2 || l.Scale.Marks[0].Y != 100.25 || l.Time.Rate.Value != 1000 || l.Camera.K1 != 0.01 || !l.Camera.TiltGiven {
			t.Errorf("%s has %+v, %+v, %+v", name, l.Scale, l.Time, l.Camera)
		}
		if strings.Contains(string(s.Text), "[scale]") {
			t.Errorf("%s keeps a scale of its own:\n%s", name, s.Text)
		}
	}
	if _, err := d.Undo(t.Context(), first, v.Revision, "tab", wording.Units{}); err != nil {
		t.Fatal(err)
	}
	if s, err := d.book.State(first); err != nil || string(s.Text) != string(was.Text) {
		t.Errorf("Undo left (%v)\n%s", err, s.Text)
	}
	// Shared again with another mark: what the setup was is kept.
	s, err := d.book.State(first)
	if err != nil {
		t.Fatal(err)
	}
	v, err = d.Edit(t.Context(), first, s.Revision, "tab", []Change{{Do: "camera", Values: map[string]any{"tilt": "4(1) deg"}}}, wording.Units{})
	if err != nil {
		t.Fatal(err)
	}
	if _, err := d.ShareSetup(t.Context(), first, v.Revision, "tab", "north-mast", wording.Units{}); err != nil {
		t.Fatal(err)
	}
	if before := d.book.SetupText("north-mast-before"); !strings.Contains(string(before), "3(1) deg") || !strings.Contains(string(d.book.SetupText("north-mast")), "4(1) deg") {
		t.Errorf("the setup before:\n%s", before)
	}
}

// TestASetupThatChangedMakesAnswersStale: what a launch takes from its setup counts as much as what it says itself.
func TestASetupThatChangedMakesAnswersStale(t *testing.T) {
	t.Parallel()
	d, _ := bench(t)
	const setup = "format = 1\n[scale]\nkind = \"rod\"\nmarks = [ { at = \"0 m\", x = 5.0, y = 100.0 }, { at = \"%s m\", x = 5.0, y = 10.0 } ]\n"
	put := func(at string) {
		t.Helper()
		if err := d.book.PutSetup("mast", []byte(strings.Replace(setup, "%s", at, 1))); err != nil {
			t.Fatal(err)
		}
	}
	put("0.4")
	name, err := d.book.New("a", func(string) []byte { return []byte("format = 1\nsetup = \"mast\"\n[footage]\npath = \"a.mp4\"\n") })
	if err != nil {
		t.Fatal(err)
	}
	standing := func() string {
		t.Helper()
		s, err := d.book.State(name)
		if err != nil {
			t.Fatal(err)
		}
		l, err := d.book.ResolveText(name, s.Text)
		if err != nil {
			t.Fatal(err)
		}
		return d.standing(l, s.Text)
	}
	before := standing()
	if again := standing(); again != before {
		t.Errorf("nothing changed, and the digest went from %s to %s", before, again)
	}
	put("0.5")
	if after := standing(); after == before {
		t.Error("the setup changed, and the answers still stand")
	}
}
