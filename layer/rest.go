package layer

import (
	"math"
	"slices"
)

// Resting looks for the place at rest by the looks that the vehicle has in flight, with nothing
// known of its rest: k.Places are of the flight alone, and rest lists the frames of the footage in
// which it rests. It returns the places that it may rest at, the likeliest first, with their
// probabilities; what is left of one is that of none of them. It changes the band's brightness to
// that at rest.
func Resting(b *Band, k Known, rest []int) []Place {
	k.Rests = false
	l := newLocator(b, k)
	var still []int
	for _, f := range rest {
		if i, ok := l.number[f]; ok {
			still = append(still, i)
		}
	}
	if len(still) == 0 || !l.begin(still) {
		return nil
	}
	for range rounds {
		l.learn()
		l.grow()
	}
	b.Frames = append(b.Frames, Frame{Index: rest[0], T: b.Frames[still[0]].T, Pix: b.usual(still)})
	defer func() { b.Frames = b.Frames[:len(b.Frames)-1] }()
	s := newSight(b, l.d)
	s.frame(len(b.Frames) - 1)
	s.looks(l.t.scaled(l.size(lesson{row: b.row(0), weight: 1}, l.grows)))
	return l.chances(s.look([2]int{0, b.Rows}, [2]int{0, b.Cols}), rest[0])
}

// chances are the probabilities of the candidates of one frame, all alike before it is seen.
func (l *locator) chances(all []candidate, frame int) []Place {
	none := leastWorth
	most := none
	for _, c := range all {
		most = max(most, c.worth)
	}
	sum := math.Exp(none - most)
	for _, c := range all {
		sum += math.Exp(c.worth - most)
	}
	var out []Place
	for _, c := range all {
		s, a := l.b.place(c.row, c.col)
		out = append(out, Place{Frame: frame, S: s, C: a, U: c.u * l.b.Step, P: math.Exp(c.worth-most) / sum})
	}
	slices.SortStableFunc(out, func(a, b Place) int { return compare(b.P, a.P) })
	return out
}
