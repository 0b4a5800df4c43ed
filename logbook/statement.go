package logbook

import (
	"bytes"
	"strings"

	"github.com/pelletier/go-toml/v2"
)

// statement is a stretch of a TOML text: a heading, or a key with its value. from..to are its bytes with the line break; value..end
// those of its value.
type statement struct {
	heading  bool
	list     bool   // a heading in double brackets: one more of a list of tables
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
			list := bytes.HasPrefix(text[at:], []byte("[["))
			section = keyPath(strings.Trim(string(beforeComment(text[at:end])), "[] \t\r\n"))
			out = append(out, statement{heading: true, list: list, path: section, from: start, to: end})
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
