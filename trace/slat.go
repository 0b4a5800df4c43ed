package trace

import (
	"math"
	"slices"

	"padside/footage"
	"padside/register"
)

// A slender vehicle fills a third of a square piece, and what lies behind it, which stays, the rest. A slat is a piece as
// slender as such a vehicle: narrow across the way that a rod tells, long along it. Where at the last look at a change no
// square piece goes along the rod, slats are followed that hold an edge along it over their whole length, as the side of a
// vehicle is and grass, leaves and smoke are not, and that change along it too, so that their way is seen.
const (
	slatWide  = 6
	slatLong  = 40
	slatShift = 2 // px across, and slatLong/4 along, from one slat tried to the next
	mostSlats = 96
)

// slats are those to follow, the straightest edges first; none where no rod tells the way.
func (f *follower) slats(l *lookout) []*piece {
	if f.o.Rod == [2]float64{} || !f.finder.ends {
		return nil
	}
	r, along := raster{slatWide, slatLong, slatShift, slatLong / 4}, 2 // of piece.info: the gradient down the picture
	if math.Abs(f.o.Rod[0]) > math.Abs(f.o.Rod[1]) {
		r, along = raster{slatLong, slatWide, slatLong / 4, slatShift}, 0
	}
	var thin []*piece
	for _, p := range f.textured(l, r, func(p *piece) float64 { return p.straightEdge(l.first) * math.Sqrt(p.info[along]) }) {
		if len(thin) < mostSlats && !slices.ContainsFunc(thin, func(q *piece) bool { return abs(p.X-q.X) < r.w/2 && abs(p.Y-q.Y) < r.h/2 }) {
			thin = append(thin, p)
		}
	}
	return thin
}

// straightEdge is the strongest change, levels, from a line along the slat to the next but one: of the means of whole lines.
func (p *piece) straightEdge(l *footage.Luma) float64 {
	line := func(k int) (sum float64) { // the k-th line along the slat, 0 the first within
		if p.W < p.H {
			for y := p.Y; y < p.Y+p.H; y++ {
				sum += float64(register.Level(l, p.X+k, y))
			}
			return sum / float64(p.H)
		}
		for x := p.X; x < p.X+p.W; x++ {
			sum += float64(register.Level(l, x, p.Y+k))
		}
		return sum / float64(p.W)
	}
	var most float64
	for k := range min(p.W, p.H) {
		most = max(most, math.Abs(line(k+1)-line(k-1)))
	}
	return most
}
