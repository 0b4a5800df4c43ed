package trace

import (
	"math"

	"padside/footage"
)

// Other looks. A ball that is dark before the sky may have the brightness of the field it falls before: of all that the reference knows, only a stripe is
// still seen. It has not gone: something at the place predicted still differs from the picture at rest. From there a reference is taken of what
// differs, with what lies around it, and followed on; fine matching, which knows the background, decides in the end whether it was the vehicle.
// What trails flame and smoke is not followed so, for those differ from the picture at rest too.

const (
	leastSeen   = 8 // pixels that must differ
	seenAround  = 3 // px around them that belong to the new reference: their edges
	mostRenewed = 6 // references taken so in a row
	// guessU is what each place that was only predicted adds, px, to the error of the coarse places from there on: three balls drawn erred by
	// 0.6 to 1.1 px after four and five such places (bench/finder -coded: ball 105, near 5003).
	guessU    = 0.25
	lookReach = 3 // px from the prediction within which it is looked for from then on
)

// renew takes a reference at the predicted top left corner (x, y) where something is seen there. It reports whether it did.
func (l *lane) renew(pic *footage.Luma, x, y float64) bool {
	if !l.down || l.backward || l.light || !l.steadily() || l.still == nil || l.still.noise == 0 || l.guessed >= mostRenewed {
		return false
	}
	a := area{int(math.Round(x)), int(math.Round(y)), l.patch.w, l.patch.h}
	if !a.grown(2).within(area{0, 0, pic.Width, pic.Height}) {
		return false
	}
	dx, dy := l.camera(l.frame, x, y)
	sx, sy := int(math.Round(dx)), int(math.Round(dy))
	g := l.still
	seen := make([]float32, a.w*a.h)
	n := 0
	for k := range seen {
		px, py := a.x+k%a.w, a.y+k/a.w
		bx, by := px-sx, py-sy
		if bx < 0 || by < 0 || bx >= g.w || by >= g.h {
			return false
		}
		limit := 5*g.noise + 1
		if math.Hypot(dx, dy) > 0.1 {
			limit += steep(pic, px, py)
		}
		if float64(abs32(level(pic, px, py)-g.at(bx, by))) > limit {
			seen[k] = 1
			n++
		}
	}
	if n < leastSeen {
		return false
	}
	l.recent = cut(pic, a, l.recent)
	l.look = widened(seen, a.w, a.h, seenAround)
	l.first = newSearcher(l.recent, l.look, a.w, a.h, mostSought)
	l.base = [2]float64{x - float64(a.x), y - float64(a.y)}
	l.fresh, l.gain = nil, 1
	l.renewed++
	l.guessed++
	l.guesses++
	return true
}
