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
