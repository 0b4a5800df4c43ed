package stabilise

import (
	"math"

	"padside/fit"
	"padside/footage"
	"padside/register"
)

const (
	// farReach is how far lost patches of background are looked for, as a share of the picture's
	// longer side, and at least leastFar px.
	farReach = 0.1
	leastFar = 32
	// farAgree is how close to the middle shift, px, patches found far away must lie to be followed
	// there: a turn and a change of size part them.
	farAgree = 12.0
)

// SeekFar lets patches that are lost be looked for farther away from now on: between stills a hand
// moves by more than matching bridges.
func (s *Background) SeekFar() { s.far = true }

// seekFar looks for the patches that matching has lost, by correlation around where they were last,
// and lets each begin where it is found, or where most are. It reports whether most of those that
// can be looked for agree.
func (s *Background) seekFar(l *footage.Luma) bool {
	reach := max(leastFar, int(farReach*float64(max(l.Width, l.Height))))
	var xs, ys []float64
	at := make([][2]float64, len(s.anchors))
	for i, a := range s.anchors {
		at[i] = [2]float64{math.NaN()}
		x, y := int(math.Round(a.last[0])), int(math.Round(a.last[1]))
		around := register.Area{X: a.from.X + x, Y: a.from.Y + y, W: 1, H: 1}.Grown(reach)
		got := a.searcher().Seek(l, around, 2, nil)
		if got.Quality < register.LeastMatch || got.Edge {
			continue
		}
		at[i] = [2]float64{got.X - float64(a.from.X), got.Y - float64(a.from.Y)}
		xs, ys = append(xs, at[i][0]+a.offX), append(ys, at[i][1]+a.offY)
	}
	if len(xs) < fewestAnchors && !(s.given && len(xs) > 0) {
		return false
	}
	mx, my := fit.Median(xs), fit.Median(ys)
	agree := 0
	for i, a := range s.anchors {
		dx, dy := at[i][0]+a.offX-mx, at[i][1]+a.offY-my
		if math.Hypot(dx, dy) < farAgree { // never of NaN
			a.last, a.bad = at[i], 0
			agree++
		} else {
			a.last, a.bad = [2]float64{mx - a.offX, my - a.offY}, 0
		}
	}
	return 2*agree > len(xs)
}

// searcher finds the anchor to the nearest pixel.
func (a *anchor) searcher() *register.Searcher {
	if a.far == nil {
		w, h := a.from.W, a.from.H
		a.far = register.NewSearcher(a.looks, register.Flat(w*h), w, h, register.MostSought)
	}
	return a.far
}
