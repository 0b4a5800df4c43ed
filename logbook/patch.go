package logbook

import (
	"bytes"
	"unicode/utf8"
)

// patch is the difference between two texts: at a byte offset, Old gives way to New. It can be reversed. Histories of many small edits
// of a long launch file stay small by it.
type patch struct {
	At  int    `json:"at"`
	Old string `json:"old"`
	New string `json:"new"`
}

// difference is the patch that leads from one text to another. Where both are UTF-8, it cuts no character apart.
func difference(from, to []byte) patch {
	at := 0
	for at < min(len(from), len(to)) && from[at] == to[at] {
		at++
	}
	for at > 0 && (at < len(from) && !utf8.RuneStart(from[at]) || at < len(to) && !utf8.RuneStart(to[at])) {
		at--
	}
	tail := 0
	for tail < min(len(from), len(to))-at && from[len(from)-1-tail] == to[len(to)-1-tail] {
		tail++
	}
	for tail > 0 && !utf8.RuneStart(from[len(from)-tail]) {
		tail--
	}
	return patch{at, string(from[at : len(from)-tail]), string(to[at : len(to)-tail])}
}

// apply makes the change; false where the text is not one that it can follow.
func (p patch) apply(text []byte) ([]byte, bool) {
	if p.At < 0 || p.At > len(text) || !bytes.HasPrefix(text[p.At:], []byte(p.Old)) {
		return nil, false
	}
	return splice(text, p.At, p.At+len(p.Old), p.New), true
}

func (p patch) reversed() patch { return patch{p.At, p.New, p.Old} }

// write puts the text after the line into it: as a patch of the text before where that is much shorter.
func (l *line) write(before, after []byte) {
	l.SHA256 = digest(after)
	const short = 4 // a patch is worth it from a quarter of the text on
	p := difference(before, after)
	switch {
	case !utf8.Valid(after):
		l.Base64 = after
	case utf8.Valid(before) && short*(len(p.Old)+len(p.New)) < len(after):
		l.Patch = &p
	default:
		text := string(after)
		l.Text = &text
	}
}

// after is the text after a line that holds a new one, however it is held; false where it holds none.
func (l *line) after(before []byte) ([]byte, bool) {
	switch {
	case l.Text != nil:
		return []byte(*l.Text), true
	case l.Base64 != nil:
		return l.Base64, true
	case l.Patch != nil:
		return l.Patch.apply(before)
	}
	return nil, false
}
