package logbook

import (
	"reflect"
	"strings"
	"testing"
	"unicode/utf8"

	"github.com/pelletier/go-toml/v2"
)

func TestSetKeyLeavesTheRestAlone(t *testing.T) {
	t.Parallel()
	text := "# a = 1\nformat = 1   # format\n\n[footage] # here\npath = \"a#b].mp4\" # the clip\n\n  [footage.time]\n  rate = '''1600 Hz'''\n\n[trace]\nmarks = [ # by hand\n  { frame = 3, x = 1.0, y = 2.0 }, # first\n]\nlanes = 1"
	for _, c := range []struct{ name, section, key, value, old, new string }{
		{"root key", "", "format", "2", "format = 1   #", "format = 2   #"},
		{"string with signs of a comment", "footage", "path", `"c.mp4"`, `"a#b].mp4" #`, `"c.mp4" #`},
		{"indented table in a table", "footage.time", "rate", `"8 Hz"`, "'''1600 Hz'''", `"8 Hz"`},
		{"list over lines", "trace", "marks", "[]", "[ # by hand\n  { frame = 3, x = 1.0, y = 2.0 }, # first\n]", "[]"},
		{"taken away", "trace", "marks", "", "marks = [ # by hand\n  { frame = 3, x = 1.0, y = 2.0 }, # first\n]\n", ""},
		{"new in a section", "footage", "rotate", "1", "# the clip\n", "# the clip\nrotate = 1\n"},
		{"new at the end", "trace", "frame", "3", "lanes = 1", "lanes = 1\nframe = 3\n"},
		{"new section", "questions", "gates", "[]", "lanes = 1", "lanes = 1\n\n[questions]\ngates = []\n"},
		{"new in the root", "", "title", `"T"`, "# format\n", "# format\ntitle = \"T\"\n"},
		{"absent, taken away", "camera", "k1", "", "", ""},
	} {
		got, err := SetKey([]byte(text), c.section, c.key, c.value)
		if want := strings.Replace(text, c.old, c.new, 1); err != nil || string(got) != want {
			t.Errorf("%s: SetKey gave\n%s\nwant\n%s (%v)", c.name, got, want, err)
		}
	}
	if _, err := SetKey([]byte(text), "trace", "lanes", "[1"); err == nil {
		t.Error("a value that is no TOML was taken")
	}
	if _, err := SetKey([]byte("footage = { path = 'a' }\n"), "footage", "path", "'b'"); err == nil {
		t.Error("a section written in one line was edited")
	}
}

// TestSetKeyOfAnotherEditorsText keeps the mark and the line breaks that editors on Windows write.
func TestSetKeyOfAnotherEditorsText(t *testing.T) {
	t.Parallel()
	text := "\ufeffformat = 1\r\n\r\n[footage]\r\npath = \"a.mp4\"\r\n"
	for _, c := range []struct{ section, key, value, want string }{
		{"", "format", "1", text},
		{"footage", "rotate", "1", text + "rotate = 1\r\n"},
		{"camera", "k1", "0.1", text + "\r\n[camera]\r\nk1 = 0.1\r\n"},
	} {
		got, err := SetKey([]byte(text), c.section, c.key, c.value)
		if err != nil || string(got) != c.want {
			t.Errorf("SetKey(%s, %s) = %q, want %q (%v)", c.section, c.key, got, c.want, err)
		}
	}
	got, err := SetSection([]byte(text), "footage", nil)
	if want := "\ufeffformat = 1\r\n\r\n"; err != nil || string(got) != want {
		t.Errorf("SetSection gave %q, want %q (%v)", got, want, err)
	}
}

func TestSetSection(t *testing.T) {
	t.Parallel()
	text := "format = 1\n[scale]\nkind = \"rod\" # kept\nlean = \"0(2) deg\"\n[camera]\nk1 = 0.1\n"
	got, err := SetSection([]byte(text), "scale", []KeyValue{{"kind", `"rod"`}, {"rod_range", `"8 m"`}})
	if want := "format = 1\n[scale]\nkind = \"rod\" # kept\nrod_range = \"8 m\"\n[camera]\nk1 = 0.1\n"; err != nil || string(got) != want {
		t.Errorf("SetSection gave\n%s\nwant\n%s (%v)", got, want, err)
	}
	got, err = SetSection([]byte(text), "scale", nil)
	if want := "format = 1\n[camera]\nk1 = 0.1\n"; err != nil || string(got) != want {
		t.Errorf("SetSection without keys gave\n%s\nwant\n%s (%v)", got, want, err)
	}
}

// FuzzSetKey: what is parsed after an edit is what was parsed before it with that one key changed.
func FuzzSetKey(f *testing.F) {
	f.Add("format = 1\n[footage]\npath = \"a\"\n", "footage", "path", "new")
	f.Add("a.b = 1\n[a.c]\nd = '''x\n''' # e\n", "a.c", "d", "\"\\")
	f.Add("[\"a.b\"]\nx = [1, # ]\n 2]\n", "a", "x", "")
	f.Add("x = \"\"\"\"two\"\"\"\"\ny = 1979-05-27 07:32:00Z\n", "", "y", "z")
	f.Fuzz(func(t *testing.T, text, section, key, value string) {
		if strings.ContainsAny(section+key, ".\"'") || key == "" || len(text) > 4096 || !utf8.ValidString(section) || !utf8.ValidString(key) || !utf8.ValidString(value) {
			return
		}
		var before, after map[string]any
		if toml.Unmarshal([]byte(text), &before) != nil {
			return
		}
		if before == nil {
			before = map[string]any{}
		}
		out, err := SetKey([]byte(text), section, key, quote(value))
		if err != nil {
			return // refused: a section in one line, a key that is a table
		}
		if err := toml.Unmarshal(out, &after); err != nil {
			t.Fatalf("SetKey made %q, no TOML: %v", out, err)
		}
		at := before
		if section != "" {
			next, ok := before[section].(map[string]any)
			if !ok {
				if before[section] != nil {
					t.Fatalf("SetKey into %q, which is no table, gave %q", section, out)
				}
				next = map[string]any{}
				before[section] = next
			}
			at = next
		}
		at[key] = value
		if !reflect.DeepEqual(before, after) {
			t.Errorf("SetKey(%q, %q, %q, %q) = %q: parsed %v, want %v", text, section, key, value, out, after, before)
		}
	})
}
