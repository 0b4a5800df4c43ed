package trace

import (
	"math"
	"slices"

	"padside/footage"
	"padside/register"
	"padside/stabilise"
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
func (f *follower) slats(frames []footage.Frame, st *stabilise.Background, rest *still) []*piece {
	if f.o.Rod == [2]float64{} || !f.finder.ends {
		return nil
	}
	first := frames[0].Luma
	w, h := slatWide, slatLong
	if math.Abs(f.o.Rod[0]) > math.Abs(f.o.Rod[1]) {
		w, h = h, w
	}
	change := f.changesIn(frames, st, rest)
	dx, dy := slatShift, slatLong/4
	if w > h {
		dx, dy = dy, dx
	}
	var out []*piece
	for y := 3; y+h+3 <= first.Height; y += dy {
		for x := 3; x+w+3 <= first.Width; x += dx {
			p := &piece{Area: register.Area{X: x, Y: y, W: w, H: h}, side: pieceSide}
			if slices.ContainsFunc(change, func(c *changes) bool { return c.share(p.Area) > leastChange }) {
				out = append(out, p)
			}
		}
	}
	edge := map[*piece]float64{}
	for _, p := range out {
		p.weigh(first)
		edge[p] = p.straightEdge(first) * math.Sqrt(p.info[2*min(1, h/w)])
	}
	out = slices.DeleteFunc(out, func(p *piece) bool { return !(p.texture() > leastTexture*rest.noise*rest.noise) })
	slices.SortStableFunc(out, func(a, b *piece) int {
		switch {
		case edge[a] > edge[b]:
			return -1
		case edge[a] < edge[b]:
			return 1
		}
		return 0
	})
	var thin []*piece
	for _, p := range out {
		if len(thin) < mostSlats && !slices.ContainsFunc(thin, func(q *piece) bool { return abs(p.X-q.X) < w/2 && abs(p.Y-q.Y) < h/2 }) {
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
