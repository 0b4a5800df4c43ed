package picture

import (
	"strings"
	"unicode"

	"golang.org/x/image/font/sfnt"
	"golang.org/x/text/unicode/bidi"
	"golang.org/x/text/unicode/norm"
)

// visual returns a text as its letters are drawn one after another from the left: composed as far
// as Unicode has letters for that, what reads from right to left turned about, and what is not seen
// (controls, marks of direction) left out or a space. Letters are not joined: of scripts that need
// it, the type holds none.
func visual(s string) string {
	plain, rtl := true, false
	for _, r := range s {
		plain = plain && r < 0x300 && !unicode.IsControl(r)
		rtl = rtl || r >= 0x590
	}
	if plain {
		return s
	}
	s = strings.Map(func(r rune) rune {
		switch {
		case unicode.IsSpace(r), unicode.IsControl(r), unicode.In(r, unicode.Zl, unicode.Zp):
			return ' '
		case unicode.Is(unicode.Cf, r), unicode.Is(unicode.Variation_Selector, r):
			return -1
		}
		return r
	}, norm.NFC.String(strings.ToValidUTF8(s, "\uFFFD")))
	if !rtl {
		return s
	}
	return turnAbout(s)
}

// turnAbout puts a text into the order in which it is seen (Unicode Standard Annex 9, rule L2). Its
// levels are told by direction: what reads from the left is of level 2 in a text that reads from
// the right, and so are digits after letters that do.
func turnAbout(s string) string {
	var p bidi.Paragraph
	if _, err := p.SetString(s); err != nil {
		return s
	}
	order, err := p.Order()
	if err != nil {
		return s
	}
	var runs []string
	var levels []int
	for i := range order.NumRuns() {
		r := order.Run(i)
		text, level := r.String(), 0
		switch {
		case r.Direction() == bidi.RightToLeft:
			text, level = bidi.ReverseString(text), 1
		case !p.IsLeftToRight(), i > 0 && levels[i-1] > 0 && !strings.ContainsFunc(text, unicode.IsLetter) && i+1 < order.NumRuns():
			level = 2
		}
		runs, levels = append(runs, text), append(levels, level)
	}
	for level := 2; level > 0; level-- {
		for i := 0; i < len(runs); i++ {
			j := i
			for j < len(runs) && levels[j] >= level {
				j++
			}
			for a, b := i, j-1; a < b; a, b = a+1, b-1 {
				runs[a], runs[b], levels[a], levels[b] = runs[b], runs[a], levels[b], levels[a]
			}
			i = max(i, j-1)
		}
	}
	return strings.Join(runs, "")
}

// NotHeld are the letters of a text that the built-in type does not hold, each once: they are drawn
// as boxes.
func NotHeld(s string) []rune {
	l := newLettering()
	l.face(12, false) // reads the type
	var b sfnt.Buffer
	var out []rune
	seen := map[rune]bool{' ': true}
	for _, r := range visual(s) {
		if seen[r] {
			continue
		}
		seen[r] = true
		if i, err := l.fonts[false].GlyphIndex(&b, r); err != nil || i == 0 {
			out = append(out, r)
		}
	}
	return out
}
