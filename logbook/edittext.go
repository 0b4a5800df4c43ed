package logbook

import (
	"bytes"
	"strings"

	"padside/fault"
)

// KeyValue is a key of a launch file and its value as TOML text.
type KeyValue struct{ Key, Value string }

// Quote writes text as a TOML basic string.
func Quote(s string) string { return quote(s) }

// Key writes a key, in quotes where it needs them.
func Key(s string) string {
	if bareKey(s) {
		return s
	}
	return quote(s)
}

// SetKey sets one key of a section of a launch file to a value written in TOML and leaves the rest of the text as it is, byte
// for byte. section is empty for keys before the first heading, "footage.time" for a table in a table; a section that is
// missing is added. An empty value takes the key away.
func SetKey(text []byte, section, key, value string) ([]byte, error) {
	if rest, marked := bytes.CutPrefix(text, []byte(mark)); marked {
		out, err := SetKey(rest, section, key, value)
		return splice(out, 0, 0, mark), err
	}
	list, err := editable(text, section)
	if err != nil {
		return nil, err
	}
	path := key
	if section != "" {
		path = section + "." + key
	}
	for _, s := range list {
		switch {
		case s.heading || s.path != path:
		case value == "":
			return checked(splice(text, s.from, s.to, ""))
		default:
			return checked(splice(text, s.value, s.end, value))
		}
	}
	if value == "" {
		return text, nil
	}
	at, heading := sectionEnd(text, list, section)
	br := "\n"
	if bytes.Contains(text, []byte("\r\n")) { // the text's own line breaks
		br = "\r\n"
	}
	return checked(splice(text, at, at, strings.ReplaceAll(heading, "\n", br)+Key(key)+" = "+value+br))
}

// SetSection gives a section these keys, in this order, and no others; without keys it goes. Keys that stay keep their place and
// what is written beside them.
func SetSection(text []byte, section string, keys []KeyValue) ([]byte, error) {
	if rest, marked := bytes.CutPrefix(text, []byte(mark)); marked {
		out, err := SetSection(rest, section, keys)
		return splice(out, 0, 0, mark), err
	}
	list, err := editable(text, section)
	if err != nil {
		return nil, err
	}
	want := map[string]bool{}
	for _, k := range keys {
		want[section+"."+k.Key] = true
	}
	out := text
	for i := len(list) - 1; i >= 0; i-- {
		s := list[i]
		inside := !s.heading && strings.HasPrefix(s.path, section+".")
		if s.heading && s.path == section && len(keys) == 0 || inside && !want[s.path] && !nested(list, section, s) {
			out = splice(out, s.from, s.to, "")
		}
	}
	for _, k := range keys {
		if out, err = SetKey(out, section, k.Key, k.Value); err != nil {
			return nil, err
		}
	}
	return checked(out)
}

// nested says whether a key stands under the heading of a section within the section, which is a section of its own.
func nested(list []statement, section string, of statement) bool {
	under := ""
	for _, s := range list {
		if s.heading {
			under = s.path
		}
		if s.from == of.from {
			break
		}
	}
	return strings.HasPrefix(under, section+".")
}

// mark begins the UTF-8 texts of some editors; TOML knows none.
const mark = "\ufeff"

// editable finds the statements of a text in which a section can be edited.
func editable(text []byte, section string) ([]statement, error) {
	if _, err := parseTree(LaunchName, text); err != nil {
		return nil, err
	}
	list := statements(text)
	for _, s := range list {
		around := section != "" && (s.path == section || strings.HasPrefix(section, s.path+"."))
		if around && s.list {
			return nil, fault.Requestf("write it under a heading in single brackets: ["+section+"]", "%s holds a list of %s, which cannot be edited here", LaunchName, s.path)
		}
		if around && !s.heading {
			return nil, fault.Requestf("write it under a heading of its own: ["+section+"]", "%s holds %s in one line, which cannot be edited here", LaunchName, s.path)
		}
	}
	return list, nil
}

// sectionEnd is where a new key of a section belongs: behind its last key, else at the end of the text under a new heading.
func sectionEnd(text []byte, list []statement, section string) (at int, heading string) {
	at = -1
	if section == "" {
		at = 0
	}
	under := ""
	for _, s := range list {
		if s.heading {
			under = s.path
		}
		if under == section {
			at = s.to
		}
	}
	if at >= 0 {
		if at > 0 && text[at-1] != '\n' {
			heading = "\n"
		}
		return at, heading
	}
	if len(text) > 0 && text[len(text)-1] != '\n' {
		heading = "\n"
	}
	return len(text), heading + "\n[" + sectionKey(section) + "]\n"
}

func sectionKey(section string) string {
	parts := strings.Split(section, ".")
	for i, p := range parts {
		parts[i] = Key(p)
	}
	return strings.Join(parts, ".")
}

func splice(text []byte, from, to int, with string) []byte {
	out := make([]byte, 0, len(text)+len(with))
	return append(append(append(out, text[:from]...), with...), text[to:]...)
}

// checked refuses a text that is no TOML any more: a value that was none.
func checked(text []byte) ([]byte, error) {
	if _, err := parseTree(LaunchName, text); err != nil {
		return nil, err
	}
	return text, nil
}
