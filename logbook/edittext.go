package logbook

import (
	"bytes"
	"strings"

	"github.com/pelletier/go-toml/v2"

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

// statement is a stretch of a TOML text: a heading, or a key with its value. from..to are its bytes with the line break; value..end
// those of its value.
type statement struct {
	heading  bool
	path     string // of a heading, or of a key with that of its heading before it; parts joined by "."
	from, to int
	value    int
	end      int
}

// statements finds headings and keys. The text must be valid TOML.
func statements(text []byte) []statement {
	var out []statement
	section := ""
	for at := 0; at < len(text); {
		start := at
		at = skipBlank(text, at)
		switch {
		case at >= len(text):
		case text[at] == '\n':
			at++
			continue
		case text[at] == '#':
			at = lineEnd(text, at)
			continue
		case text[at] == '[':
			end := lineEnd(text, at)
			section = keyPath(strings.Trim(string(beforeComment(text[at:end])), "[] \t\r\n"))
			out = append(out, statement{heading: true, path: section, from: start, to: end})
			at = end
			continue
		default:
			s := statement{from: start}
			eq := equals(text, at)
			s.path = keyPath(strings.TrimSpace(string(text[at:eq])))
			if section != "" {
				s.path = section + "." + s.path
			}
			s.value = skipBlank(text, eq+1)
			s.end = valueEnd(text, s.value)
			s.to = lineEnd(text, s.end)
			out = append(out, s)
			at = s.to
		}
	}
	return out
}

func skipBlank(text []byte, at int) int {
	for at < len(text) && (text[at] == ' ' || text[at] == '\t' || text[at] == '\r') {
		at++
	}
	return at
}

// lineEnd is the place behind the next line break.
func lineEnd(text []byte, at int) int {
	if i := bytes.IndexByte(text[at:], '\n'); i >= 0 {
		return at + i + 1
	}
	return len(text)
}

// quoted is the place behind the string that begins at at.
func quoted(text []byte, at int) int {
	q := text[at]
	if bytes.HasPrefix(text[at:], []byte{q, q, q}) {
		for i := at + 3; i < len(text); i++ {
			switch {
			case q == '"' && text[i] == '\\':
				i++
			case bytes.HasPrefix(text[i:], []byte{q, q, q}):
				i += 3
				for i < len(text) && text[i] == q { // up to two quotes may stand before the closing three
					i++
				}
				return i
			}
		}
		return len(text)
	}
	for i := at + 1; i < len(text); i++ {
		switch {
		case q == '"' && text[i] == '\\':
			i++
		case text[i] == q:
			return i + 1
		}
	}
	return len(text)
}

// equals is the place of the sign between key and value.
func equals(text []byte, at int) int {
	for at < len(text) && text[at] != '=' {
		if text[at] == '"' || text[at] == '\'' {
			at = quoted(text, at)
			continue
		}
		at++
	}
	return at
}

// valueEnd is the place behind a value.
func valueEnd(text []byte, at int) int {
	depth, end := 0, at
	for at < len(text) {
		switch c := text[at]; c {
		case '"', '\'':
			at = quoted(text, at)
			end = at
			continue
		case '[', '{':
			depth++
		case ']', '}':
			depth--
		case '#':
			if depth == 0 {
				return end
			}
			at = lineEnd(text, at)
			continue
		case '\n':
			if depth == 0 {
				return end
			}
		}
		if c := text[at]; c != ' ' && c != '\t' && c != '\r' && c != '\n' {
			end = at + 1
		}
		at++
	}
	return end
}

// beforeComment cuts a comment off a heading.
func beforeComment(b []byte) []byte {
	for at := 0; at < len(b); at++ {
		switch b[at] {
		case '"', '\'':
			at = quoted(b, at) - 1
		case '#':
			return b[:at]
		}
	}
	return b
}

// keyPath writes a dotted key with its parts unquoted and joined by ".".
func keyPath(key string) string {
	var t map[string]any
	if toml.Unmarshal([]byte(key+" = 0"), &t) != nil {
		return key
	}
	var parts []string
	for t != nil {
		for k, v := range t {
			parts = append(parts, k)
			t, _ = v.(map[string]any)
		}
	}
	return strings.Join(parts, ".")
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
	if _, err := parseTree(launchName, text); err != nil {
		return nil, err
	}
	list := statements(text)
	for _, s := range list {
		if !s.heading && section != "" && (s.path == section || strings.HasPrefix(section, s.path+".")) {
			return nil, fault.Requestf("write it under a heading of its own: ["+section+"]", "%s holds %s in one line, which cannot be edited here", launchName, s.path)
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
	if _, err := parseTree(launchName, text); err != nil {
		return nil, err
	}
	return text, nil
}
