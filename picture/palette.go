package picture

import "image/color"

// The colours of a laboratory recorder's paper. Told apart by lightness as well as hue,
// so that they hold for colour-blind readers and in grey print.
var (
	paper = color.NRGBA{0xfb, 0xf8, 0xf1, 0xff}
	ink   = color.NRGBA{0x1f, 0x29, 0x33, 0xff}
	pen   = color.NRGBA{0xd9, 0x48, 0x0f, 0xff} // the trace
	gate  = color.NRGBA{0x0b, 0x72, 0x85, 0xff} // gates and instants
)

// pens are the inks of launches beside each other, dashes their strokes (px drawn and left out, for a line 2 px wide): those of the
// pages. Launch n has pen n%5; beyond the fifth the strokes shift, so that no two of 25 look alike.
var (
	pens = [...]color.NRGBA{{0xd9, 0x48, 0x0f, 0xff}, {0x0b, 0x6a, 0xa8, 0xff}, {0xa3, 0x3a, 0x7a, 0xff}, {0x1b, 0x7a, 0x55, 0xff}, {0x8f, 0x64, 0x00, 0xff}}
	// Their darker kin, for text: 7:1 against the paper.
	penTexts = [...]color.NRGBA{{0x8f, 0x2f, 0x08, 0xff}, {0x08, 0x4f, 0x7e, 0xff}, {0x7c, 0x2a, 0x5c, 0xff}, {0x12, 0x5a, 0x3e, 0xff}, {0x69, 0x4a, 0x00, 0xff}}
	dashes   = [...][]float64{nil, {7, 3}, {2, 3}, {8, 3, 2, 3}, {14, 4}}
)

// penOf is the pen of launch n, from 0: its ink, that of its text, and a stroke of a width.
func penOf(n int, width float64) (ink, text color.NRGBA, s stroke) {
	s = stroke{col: pens[n%len(pens)], width: width}
	for _, d := range dashes[(n+n/len(pens))%len(dashes)] {
		s.dash = append(s.dash, d*max(1, width/2))
	}
	return pens[n%len(pens)], penTexts[n%len(pens)], s
}

// faded is a colour laid thinly, so much of 255.
func faded(c color.NRGBA, alpha uint8) color.NRGBA { return color.NRGBA{c.R, c.G, c.B, alpha} }
