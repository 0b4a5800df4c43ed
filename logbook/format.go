package logbook

import (
	"bytes"
	"fmt"
	"strings"
)

// writer collects the lines of a file.
type writer struct{ b bytes.Buffer }

func (w *writer) line(format string, args ...any) { fmt.Fprintf(&w.b, format+"\n", args...) }

func (w *writer) section(name string) { w.line("\n[%s]", name) }

// quote writes a TOML basic string.
func quote(s string) string {
	var b strings.Builder
	b.WriteByte('"')
	for _, r := range s {
		switch {
		case r == '"' || r == '\\':
			b.WriteByte('\\')
			b.WriteRune(r)
		case r < ' ' || r == 0x7f:
			fmt.Fprintf(&b, `\u%04X`, r)
		default:
			b.WriteRune(r)
		}
	}
	b.WriteByte('"')
	return b.String()
}

// bareKey says whether a key needs no quotes.
func bareKey(s string) bool {
	return s != "" && strings.Trim(s, "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789_-") == ""
}

func (w *writer) textUnlessEmpty(key, s string) {
	if s != "" {
		w.line("%s = %s", key, quote(s))
	}
}
