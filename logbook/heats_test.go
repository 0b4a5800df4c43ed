package logbook

import (
	"errors"
	"os"
	"path/filepath"
	"reflect"
	"strings"
	"testing"
)

func TestFormatHeatIsReadBack(t *testing.T) {
	t.Parallel()
	h := &HeatText{Title: `Spring "heat"`, Date: "2026-05-16", Answer: "time_to_speed", Speed: "60 mph",
		Rules: []HeatRuleText{{Key: "water", Same: true, Within: "10 mL"}, {Key: "pressure", Is: "5.2 bar", Within: "2 %"}, {Key: "dry_mass", Least: "100 g", Most: "150 g"},
			{Key: "class", Is: "two litres"}, {Key: "nose cone", Same: true}},
		Entries: []HeatEntryText{{Launch: LaunchFrom("heron"), Number: "7b", Name: "The tall one"}, {Launch: LaunchFrom("pair"), Lane: 2, Conditions: []Condition{{Key: "water", Text: "350(5) mL"}, {Key: "my key", Text: `a "b"`}}}}}
	got, err := ParseHeat(FormatHeat(h), filepath.Join("heats", "x", "heat.toml"))
	if err != nil {
		t.Fatalf("%v\n%s", err, FormatHeat(h))
	}
	var rules []HeatRuleText
	for i := range got.Rules {
		rules = append(rules, got.Rules[i].Written())
	}
	if !reflect.DeepEqual(rules, h.Rules) {
		t.Errorf("rules %+v, want %+v", rules, h.Rules)
	}
	if got.Title != h.Title || got.Date != h.Date || got.Question.At.Unit != "mph" || got.Entries[0].Number != "7b" || got.Entries[1].Lane != 2 || got.Entries[1].Conditions[1].Text != `a "b"` {
		t.Errorf("read back %+v", got)
	}
	h.Date = "in May"
	if got, err = ParseHeat(FormatHeat(h), "heat.toml"); err != nil || got.Date != "in May" {
		t.Errorf("a date in words: %v, %v", got, err)
	}
}

func TestHeatsOfALogbook(t *testing.T) {
	t.Parallel()
	b, err := Open(filepath.Join(t.TempDir(), "book"), Options{Make: true})
	if err != nil {
		t.Fatal(err)
	}
	defer b.Close()
	if names, err := b.HeatNames(); err != nil || len(names) != 0 {
		t.Errorf("a new logbook has heats %v, %v", names, err)
	}
	text := FormatHeat(&HeatText{Title: "Spring", Answer: "peak_speed", Entries: []HeatEntryText{{Launch: LaunchFrom("a")}, {Launch: LaunchFrom("b")}}})
	name, err := b.NewHeat("Spring, field one!", func(string) []byte { return text })
	if err != nil || name != "spring-field-one" {
		t.Fatalf("NewHeat = %q, %v", name, err)
	}
	if second, err := b.NewHeat("Spring, field one", func(string) []byte { return text }); err != nil || second != "spring-field-one-2" {
		t.Errorf("a second of that title = %q, %v", second, err)
	}
	if _, err := b.NewHeat("bad", func(string) []byte { return []byte("format = 1\n") }); err == nil {
		t.Error("a heat without entries was kept")
	}
	if names, _ := b.HeatNames(); len(names) != 2 {
		t.Errorf("heats %v, want 2", names)
	}
	changed := []byte(strings.Replace(string(text), "Spring", "Autumn", 1))
	if err := b.PutHeat(name, []byte("something else"), changed); !errors.Is(err, ErrConflict) {
		t.Errorf("a change made on another text gave %v", err)
	}
	if err := b.PutHeat(name, text, []byte("format = 1\n")); err == nil {
		t.Error("a file that is no heat was kept")
	}
	if err := b.PutHeat(name, text, changed); err != nil {
		t.Fatal(err)
	}
	if now, err := b.HeatText(name); err != nil || string(now) != string(changed) {
		t.Errorf("after the change: %s, %v", now, err)
	}
	if old, err := os.ReadFile(filepath.Join(filepath.Dir(b.HeatPath(name)), heats.before)); err != nil || string(old) != string(text) {
		t.Errorf("what it was: %s, %v", old, err)
	}
	if err := b.TrashHeat(name); err != nil {
		t.Fatal(err)
	}
	if _, err := b.HeatText(name); !errors.Is(err, ErrUnknown) {
		t.Errorf("a heat put aside gave %v", err)
	}
	if _, err := os.Stat(filepath.Join(b.Dir(), trashDir, "heat-"+name, heats.file)); err != nil {
		t.Errorf("it is not in the trash: %v", err)
	}
	for _, bad := range []string{"", ".", "..", "../launches/a", "nobody", "a/b"} {
		if _, err := b.HeatText(bad); !errors.Is(err, ErrUnknown) {
			t.Errorf("HeatText(%q) gave %v", bad, err)
		}
	}
	if got, ok := b.LaunchAt(filepath.Clean(filepath.Join(filepath.Dir(b.HeatPath("x")), LaunchFrom("heron")))); !ok || got != "heron" {
		t.Errorf("LaunchAt = %q, %v", got, ok)
	}
	for _, bad := range []string{b.HeatPath("x"), filepath.Join(b.Dir(), "launches", "launch.toml"), filepath.Join(b.Dir(), "launches", "a", "b", "launch.toml"), "/etc/launch.toml"} {
		if got, ok := b.LaunchAt(bad); ok {
			t.Errorf("LaunchAt(%q) = %q", bad, got)
		}
	}
}
