package trace

import "math"

const (
	// mostFalse is how many sightings before the rest may be false: the search looks back past
	// frames that it cannot read, a key frame coded in another way above all, over the whole
	// picture.
	mostFalse = 8
	// restFirst is how many sightings show that the vehicle rests.
	restFirst = 4
)

// cutFalseStart drops the sightings before a rest from which the vehicle would have had to leap
// there, by more than half of its patch: what rests waits for its start, and came from nowhere.
func (l *lane) cutFalseStart() {
	s := l.sights
	place := func(i int) (x, y float64) {
		dx, dy := l.camera(s[i].frame, s[i].x, s[i].y)
		return s[i].x - dx, s[i].y - dy
	}
	apart := func(i, k int) float64 {
		x, y := place(i)
		u, v := place(k)
		return math.Hypot(u-x, v-y)
	}
	for k := min(mostFalse, len(s)-restFirst); k > 0; k-- {
		if apart(k-1, k) <= float64(max(l.patch.W, l.patch.H))/2 {
			continue
		}
		for i := range restFirst {
			if apart(k, k+i) > restSlack {
				return
			}
		}
		x, y := place(k)
		l.sights, l.rest = s[k:], [2]float64{x, y}
		return
	}
}
