package trace

import (
	"math"

	"padside/footage"
	"padside/register"
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
	a := register.Area{X: int(math.Round(x)), Y: int(math.Round(y)), W: l.patch.W, H: l.patch.H}
	if !a.Grown(2).Within(register.Area{X: 0, Y: 0, W: pic.Width, H: pic.Height}) {
		return false
	}
	dx, dy := l.camera(l.frame, x, y)
	sx, sy := int(math.Round(dx)), int(math.Round(dy))
	g := l.still
	seen := make([]float32, a.W*a.H)
	n := 0
	for k := range seen {
		px, py := a.X+k%a.W, a.Y+k/a.W
		bx, by := px-sx, py-sy
		if bx < 0 || by < 0 || bx >= g.w || by >= g.h {
			return false
		}
		limit := 5*g.noise + 1
		if math.Hypot(dx, dy) > 0.1 {
			limit += steep(pic, px, py)
		}
		if float64(abs32(register.Level(pic, px, py)-g.at(bx, by))) > limit {
			seen[k] = 1
			n++
		}
	}
	if n < leastSeen {
		return false
	}
	l.recent = register.Cut(pic, a, l.recent)
	l.look = widened(seen, a.W, a.H, seenAround)
	l.first = register.NewSearcher(l.recent, l.look, a.W, a.H, register.MostSought)
	l.base = [2]float64{x - float64(a.X), y - float64(a.Y)}
	l.fresh, l.gain = nil, 1
	l.renewed++
	l.guessed++
	l.guesses++
	return true
}
