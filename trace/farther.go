package trace

import (
	"math"

	"padside/fit"
	"padside/footage"
)

const (
	// farReach is how far lost patches of background are looked for, as a share of the picture's longer side, and at least leastFar px.
	farReach = 0.1
	leastFar = 32
	// farAgree is how close to the middle shift, px, patches found far away must lie to be followed there: a turn and a change of size part them.
	farAgree = 12.0
)

// seekFar looks for the patches that matching has lost, by correlation around where they were last, and lets each begin where it is found, or where most
// are. It reports whether most of those that can be looked for agree.
func (s *steady) seekFar(l *footage.Luma) bool {
	reach := max(leastFar, int(farReach*float64(max(l.Width, l.Height))))
	var xs, ys []float64
	at := make([][2]float64, len(s.anchors))
	for i, a := range s.anchors {
		at[i] = [2]float64{math.NaN()}
		x, y := int(math.Round(a.last[0])), int(math.Round(a.last[1]))
		got := a.searcher().seek(l, area{a.from.x + x, a.from.y + y, 1, 1}.grown(reach), 2, nil)
		if got.quality < leastMatch || got.edge {
			continue
		}
		at[i] = [2]float64{got.x - float64(a.from.x), got.y - float64(a.from.y)}
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
func (a *anchor) searcher() *searcher {
	if a.far == nil {
		a.far = newSearcher(a.looks, flat(a.from.w*a.from.h), a.from.w, a.from.h, mostSought)
	}
	return a.far
}
