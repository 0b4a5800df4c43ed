package trace

import (
	"cmp"
	"math"
	"slices"

	"padside/fit"
	"padside/footage"
	"padside/register"
	"padside/stabilise"
)

// piece is a small part of the picture that is followed to see whether it belongs to a vehicle.
type piece struct {
	likeness float64 // median correlation while it was followed
	register.Area
	side    int // px, of a square piece in this picture
	lane    *lane
	info    [3]float64 // sums of gx², gx gy, gy²
	way     [2]float64 // px gone, camera's movement taken out
	company int        // pieces that went the same way, itself included
}

// lookout is where pieces are looked for: in the first of some frames, where later ones differ from it.
type lookout struct {
	first  *footage.Luma
	change []*changes
	noise  float64 // of the rest
	side   int     // px, of a square piece in this picture
}

// lookoutOf compares the last frames, and some on the way, with the first.
func (f *follower) lookoutOf(frames []footage.Frame, st *stabilise.Background, rest *still) *lookout {
	first := frames[0].Luma
	side := min(pieceSide, first.Width/8, first.Height/8)
	l := &lookout{first: first, noise: rest.noise, side: side - side%4}
	end := []*footage.Frame{&frames[len(frames)-1], &frames[len(frames)*2/3], &frames[len(frames)/2]}
	limit := 4*rest.noise + 2*float64(register.Grey(first))
	l.change = make([]*changes, len(end))
	f.parallel(len(end), func(_ *register.Scratch, i int) {
		e := end[i]
		l.change[i] = changesOf(first, e.Luma, limit, func(x, y float64) (dx, dy float64) { return st.Raw(e.Index, x, y) })
	})
	return l
}

// raster says which pieces are tried: of w by h px, one every dx and dy px.
type raster struct{ w, h, dx, dy int }

// textured lists the pieces of a raster that have texture and where later frames differ, those worth most first.
func (f *follower) textured(l *lookout, r raster, worth func(*piece) float64) []*piece {
	var out []*piece
	for y := 3; y+r.h+3 <= l.first.Height; y += r.dy {
		for x := 3; x+r.w+3 <= l.first.Width; x += r.dx {
			p := &piece{Area: register.Area{X: x, Y: y, W: r.w, H: r.h}, side: l.side}
			if slices.ContainsFunc(l.change, func(c *changes) bool { return c.share(p.Area) > leastChange }) {
				out = append(out, p)
			}
		}
	}
	f.parallel(len(out), func(_ *register.Scratch, i int) { out[i].weigh(l.first) })
	out = slices.DeleteFunc(out, func(p *piece) bool { return !(p.texture() > leastTexture*l.noise*l.noise) })
	worths := map[*piece]float64{}
	for _, p := range out {
		worths[p] = worth(p)
	}
	sortByWorth(out, worths)
	return out
}

// sortByWorth puts those worth most at the front; of equals the order stays.
func sortByWorth(p []*piece, worth map[*piece]float64) {
	slices.SortStableFunc(p, func(a, b *piece) int { return cmp.Compare(worth[b], worth[a]) })
}

// pieces are square ones, those to look at first at the front.
func (f *follower) pieces(l *lookout) []*piece {
	out := f.textured(l, raster{l.side, l.side, l.side / 4, l.side / 4}, (*piece).texture)
	// Where much changes, pieces that lie on one another add little.
	most := mostPieces
	if f.o.Rod != [2]float64{} {
		most = allPieces
	}
	var thin []*piece
	for gap := l.side; len(thin) < most && gap >= l.side/4; gap /= 2 {
		for _, p := range out {
			if len(thin) < most && !slices.ContainsFunc(thin, func(q *piece) bool {
				return max(abs(p.X-q.X), abs(p.Y-q.Y)) < gap
			}) {
				thin = append(thin, p)
			}
		}
	}
	return thin
}

const (
	leastChange  = 0.12 // share of a piece that must differ later
	leastTexture = 60.0 // gradient that a piece must have, in variances of the noise
)

// steep is how much the picture changes over a pixel's way: what a shift of the camera by a pixel does.
func steep(l *footage.Luma, x, y int) float64 {
	return math.Abs(float64(register.Level(l, x+1, y)-register.Level(l, x-1, y)))/2 + math.Abs(float64(register.Level(l, x, y+1)-register.Level(l, x, y-1)))/2
}

// weigh sums the piece's gradient products.
func (p *piece) weigh(l *footage.Luma) {
	for y := p.Y; y < p.Y+p.H; y++ {
		for x := p.X; x < p.X+p.W; x++ {
			gx, gy := float64(register.Level(l, x+1, y)-register.Level(l, x-1, y))/2, float64(register.Level(l, x, y+1)-register.Level(l, x, y-1))/2
			p.info[0] += gx * gx
			p.info[1] += gx * gy
			p.info[2] += gy * gy
		}
	}
}

// texture is the piece's gradient in its weaker direction, and a little of that in the stronger one.
func (p *piece) texture() float64 {
	half, d := (p.info[0]+p.info[2])/2, math.Hypot((p.info[0]-p.info[2])/2, p.info[1])
	return half - d + 0.02*(half+d)
}

// along is the piece's gradient along the way it went.
func (p *piece) along() float64 {
	n := math.Hypot(p.way[0], p.way[1])
	ux, uy := p.way[0]/n, p.way[1]/n
	return ux*ux*p.info[0] + 2*ux*uy*p.info[1] + uy*uy*p.info[2]
}

// follows reports whether the piece was found again throughout, and went far and straight.
func (f *follower) follows(p *piece, frames []footage.Frame, st *stabilise.Background, rest *still, last bool) bool {
	l := newLane(0, p.Area, register.Flat(p.W*p.H), frames[0].Luma)
	l.first = register.NewSearcher(l.pix, l.weight, p.W, p.H, piecePixels)
	l.light, l.camera, l.leaps = true, st.Raw, last && f.few()
	if f.o.ExpectDown {
		l.ahead = [2]float64{0, 1}
	}
	l.still, l.ground = rest, rest
	p.lane = l
	for k := range frames {
		l.step(frames[k].Index, f.o.FrameTime(frames[k].Index), frames[k].Luma)
		if l.missing > 1 || l.done {
			break
		}
	}
	n := len(l.sights)
	if n < 2 || !l.left && n < (len(frames)*3+3)/4 {
		return false
	}
	x0, y0 := p.place(0, st)
	x1, y1 := p.place(n-1, st)
	p.way = [2]float64{x1 - x0, y1 - y0}
	way := math.Hypot(p.way[0], p.way[1])
	if way < leastWay || way < clearWay && !last {
		return false
	}
	ux, uy := p.way[0]/way, p.way[1]/way
	if f.o.ExpectDown && uy < 0.7 {
		return false
	}
	var off, back, high float64
	for i := range l.sights {
		x, y := p.place(i, st)
		s, c := (x-x0)*ux+(y-y0)*uy, (x-x0)*uy-(y-y0)*ux
		off = max(off, math.Abs(c))
		back = max(back, high-s)
		high = max(high, s)
	}
	var qs []float64
	for _, s := range l.sights[1:] {
		qs = append(qs, s.quality)
	}
	p.likeness = fit.Median(qs)
	if !l.leaps && (p.likeness < leastLikeness || !smooth(p, st)) {
		return false
	}
	if off > straightness*way+1 || back > straightness*way+1 {
		return false
	}
	return true
}

// fewFrames is up to how many frames a vehicle may leap farther than it is long from one to the next.
const fewFrames = 30

// few reports whether there are so few.
func (f *follower) few() bool { return f.o.To-f.o.From <= fewFrames }

// smooth reports whether the piece speeds up and slows down like a body: no step differs from the one before by
// much more than a third of the longest.
func smooth(p *piece, st *stabilise.Background) bool {
	n := len(p.lane.sights)
	var longest, jump float64
	for i := 1; i < n; i++ {
		x0, y0 := p.place(i-1, st)
		x1, y1 := p.place(i, st)
		longest = max(longest, math.Hypot(x1-x0, y1-y0))
		if i > 1 {
			xx, yy := p.place(i-2, st)
			jump = max(jump, math.Hypot(x1-2*x0+xx, y1-2*y0+yy))
		}
	}
	return jump < 0.35*longest+1
}

// place is where sighting i of the piece lies with the camera's movement taken out.
func (p *piece) place(i int, st *stabilise.Background) (x, y float64) {
	s := &p.lane.sights[i]
	dx, dy := st.Raw(s.frame, s.x, s.y)
	return s.x - dx, s.y - dy
}
