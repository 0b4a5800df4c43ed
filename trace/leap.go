package trace

import (
	"math"

	"padside/fit"
	"padside/footage"
)

// Leaps. In a burst of stills the vehicle moves by as much as its length, or several times that, from one picture to the next. Nothing predicts
// where it will be, and a band of its body looks like another one: a third of a vehicle too low, the correlation is nearly as good as at the
// right place. What tells is the silhouette against the background at rest. Nothing flies ahead of the nose, and flame and smoke trail behind: the
// farthest place along the flight at which a picture differs from the one at rest is the nose. There the front of the vehicle is cut out,
// without any background, and looked for at the noses of the other pictures and, in the picture at rest, where the vehicle stood.

const (
	noseRows    = 12   // px: a nose is where from this many rows on most differ from the picture at rest
	noseWide    = 3    // times as wide as the part that was found may a silhouette be; what is wider is cloud or smoke
	noseReach   = 10   // px from the nose seen within which the front is looked for: a thin tip shows late before a like background
	restReach   = 100  // px along the flight within which the front is looked for at rest: what was found there may have left it out
	slightReach = 16   // px within which it is looked for where no nose stands out: it has hardly moved
	twinLeast   = 0.06 // by which correlation the place at rest must beat any other: half more than that of unlike pictures scatters by over mostSought pixels
	twinApart   = 0.15 // lengths of the front from which on two places are two
	// fewMemory is up to how many pixels few frames are all kept, so that they can be looked at in any order.
	fewMemory = 384 << 20
)

// held reports whether the frames are few enough for all of them to be kept.
func (f *follower) held() bool { return f.few() && f.width*f.height*(f.o.To-f.o.From) <= fewMemory }

// nose is where a silhouette ends: along the flight from the middle of the part that was found at rest, and across it, px.
type nose struct {
	along, across int
	seen          bool
}

// leaper follows one vehicle through all frames by its silhouette.
type leaper struct {
	*lane
	frames []footage.Frame
	x, y   int // middle of the part found at rest
	ux, uy int // along the flight, along an axis of the picture
	half   int // of the part found, along
	wide   int // of it, across
	times  func(frame int) float64
	noise  float64   // of one picture, levels
	moves  []float64 // per frame: by how much the camera has moved, px
}

// leapAll follows the lanes so, where the silhouettes tell.
func (f *follower) leapAll(v vehicles) {
	frames := f.ring.frames
	for i := v.at + 1; i < len(frames); i++ {
		f.steady.step(frames[i].Index, frames[i].Luma)
	}
	f.steady.forward()
	for i, a := range v.patches {
		l := f.newLane(i+1, a, v.weights[i], frames[v.at].Luma)
		var way [2]float64
		var length float64
		if v.groups != nil {
			way, length = v.groups[i][0].way, v.lengths[i]
		}
		if len(l.marks) == 0 && f.leap(l, way, length) {
			f.lanes[i] = l
		}
	}
}

// matched is how well the lanes that leapt are matched finely: the sum of the correlations of what moves.
func (f *follower) matched() float64 {
	var sum float64
	for _, l := range f.lanes {
		if !l.leapt {
			continue
		}
		if r, ok := f.refined(l); ok && !r.astray {
			for k := l.rested(); k < len(r.matches); k++ {
				if m := &r.matches[k]; m.ok && m.quality > leastMatch {
					sum += m.quality
				}
			}
		}
	}
	return sum
}

// leapFrom begins the lanes with what was found in the stretches of few frames: with that which is matched best.
func (f *follower) leapFrom(stretches []vehicles) error {
	best := -1.0
	var take follower
	for _, v := range stretches {
		f.lanes, f.still = nil, still{}
		f.lengths = v.lengths
		if err := f.start(v); err != nil && err != errDone {
			return err
		}
		if m := f.matched(); m > best {
			best, take = m, *f
		}
	}
	f.lanes, f.still, f.steady, f.lengths = take.lanes, take.still, take.steady, take.lengths
	return nil
}

// leap follows the lane through the ring by its silhouette. It reports false where that does not tell: then the lane is as it was.
func (f *follower) leap(l *lane, way [2]float64, length float64) bool {
	p := &leaper{lane: l, frames: f.ring.frames, times: f.o.FrameTime, ux: 0, uy: int(l.ahead[1]), half: l.patch.h / 2, wide: l.patch.w}
	cx, cy := l.patch.centre()
	p.x, p.y = int(cx), int(cy)
	if math.Abs(way[0]) > 2*math.Abs(way[1]) {
		p.ux, p.uy, p.half, p.wide = 1, 0, l.patch.w/2, l.patch.h
		if way[0] < 0 {
			p.ux = -1
		}
	}
	p.noise = max(f.still.noise, f.still.difference(p.frames[min(1, len(p.frames)-1)].Luma))
	noses := make([]nose, len(p.frames))
	for k := range p.frames {
		dx, dy := p.camera(p.frames[k].Index, cx, cy)
		p.moves = append(p.moves, math.Hypot(dx, dy))
		noses[k] = p.nose(k)
	}
	for i, n := range noses { // the front from the first picture that shows it clear of its place at rest or, if none does, from the farthest
		if n.seen && n.along > 3*p.half && p.through(i, noses, length) {
			return true
		}
	}
	return false
}

// at is the place (s, c) along and across the flight, in a frame in which the camera has moved by (dx, dy).
func (p *leaper) at(s, c, dx, dy int) (x, y int) {
	return p.x + s*p.ux + c*p.uy + dx, p.y + s*p.uy + c*p.ux + dy
}

// differs reports whether frame k differs from the picture at rest at (s, c); inside is false beyond either's border.
func (p *leaper) differs(k, s, c, dx, dy int) (differs, inside bool) {
	l, g := p.frames[k].Luma, p.still
	x, y := p.at(s, c, dx, dy)
	bx, by := x-dx, y-dy
	if x < 2 || y < 2 || x >= l.Width-2 || y >= l.Height-2 || bx < 0 || by < 0 || bx >= g.w || by >= g.h {
		return false, false
	}
	limit := 6*p.noise + 2
	if p.moves[k] > 0.1 {
		limit += steep(l, x, y)
	}
	return float64(abs32(level(l, x, y)-g.at(bx, by))) > limit, true
}

// shift is the camera's movement in frame k, whole px.
func (p *leaper) shift(k int) (dx, dy int) {
	x, y := p.camera(p.frames[k].Index, float64(p.x), float64(p.y))
	return int(math.Round(x)), int(math.Round(y))
}

// row is the longest run of places that differ, across the flight at s; whole is false where it reaches the end of what is looked at.
func (p *leaper) row(k, s, dx, dy int) (from, to int, whole, inside bool) {
	side := p.wide/2 + 10 + max(0, s)/12
	from, to, whole = 0, 0, true
	start := -side
	for c := -side; c <= side+1; c++ {
		d, in := false, false
		if c <= side {
			d, in = p.differs(k, s, c, dx, dy)
			inside = inside || in
		}
		if d {
			continue
		}
		if c-start > to-from {
			from, to, whole = start, c, start > -side && c <= side
		}
		start = c + 1
	}
	return from, to, whole, inside
}

// nose finds where the silhouette ends in frame k.
func (p *leaper) nose(k int) nose {
	dx, dy := p.shift(k)
	far := p.half
	for _, _, _, in := p.row(k, far, dx, dy); in; _, _, _, in = p.row(k, far, dx, dy) {
		far++
	}
	shows := make([]bool, 0, far+p.half)
	middle := make([]int, 0, far+p.half)
	count := 0
	for s := far - 1; s >= -p.half; s-- {
		from, to, whole, _ := p.row(k, s, dx, dy)
		on := to-from >= 2 && to-from <= noseWide*p.wide && whole
		shows, middle = append(shows, on), append(middle, (from+to-1)/2)
		n := len(shows)
		if on {
			count++
		}
		if n > noseRows && shows[n-1-noseRows] {
			count--
		}
		if n >= noseRows && shows[n-noseRows] && 4*count >= 3*noseRows {
			return nose{along: s + noseRows - 1, across: middle[n-1], seen: true}
		}
	}
	return nose{}
}

// front is the foremost part of a vehicle, cut out of a picture by its silhouette.
type front struct {
	area   // in that picture
	pix    []float32
	weight []float32
}

// cutFront cuts it out of frame k, long px at most; false where it does not lie in the picture or stands out too little.
func (p *leaper) cutFront(k int, n nose, long int) (front, bool) {
	dx, dy := p.shift(k)
	type run struct{ s, from, to int }
	var runs []run
	var widths, middles []float64
	for s := n.along; s > n.along-long; s-- {
		from, to, whole, inside := p.row(k, s, dx, dy)
		if !inside {
			return front{}, false
		}
		if to-from >= 2 && to-from <= noseWide*p.wide && whole {
			runs = append(runs, run{s, from, to})
			widths, middles = append(widths, float64(to-from)), append(middles, float64(from+to-1)/2)
		}
	}
	if len(runs) < noseRows {
		return front{}, false
	}
	// What differs beside the vehicle, an edge of the background or smoke, is wider than most rows are.
	middle, half := fit.Median(middles), 0.75*fit.Median(widths)+2
	in := map[[2]int]bool{}
	x0, y0, x1, y1 := math.MaxInt, math.MaxInt, -1, -1
	for _, r := range runs {
		for c := max(r.from, int(middle-half)); c < min(r.to, int(middle+half)+1); c++ {
			x, y := p.at(r.s, c, dx, dy)
			in[[2]int{x, y}] = true
			x0, y0, x1, y1 = min(x0, x), min(y0, y), max(x1, x), max(y1, y)
		}
	}
	l := p.frames[k].Luma
	out := front{area: area{x0, y0, x1 - x0 + 1, y1 - y0 + 1}.grown(2)}
	if len(in) < leastEvident || !out.within(area{2, 2, l.Width - 4, l.Height - 4}) {
		return front{}, false
	}
	out.pix, out.weight = cut(l, out.area, nil), make([]float32, out.w*out.h)
	for at := range in {
		out.weight[(at[1]-out.y)*out.w+at[0]-out.x] = 1
	}
	return out, true
}

// through cuts the front out of frame i and follows it through all frames.
func (p *leaper) through(i int, noses []nose, length float64) bool {
	long := longestPart
	if length > 0 {
		long = min(long, int(frontShare*length))
	}
	t, ok := p.cutFront(i, noses[i], max(long, leastSide))
	if !ok {
		return false
	}
	s := newSearcher(t.pix, t.weight, t.w, t.h, mostSought)
	// Where it stood: at the middle of what was found there, give or take.
	first := p.frames[0].Luma
	back := noses[i].along - p.half
	x, y := t.x-back*p.ux-noses[i].across*p.uy, t.y-back*p.uy-noses[i].across*p.ux
	around := p.reach(x, y, restReach, p.wide/2+6)
	rest := s.seek(first, around, 1, nil)
	apart := twinApart * float64(max(t.w, t.h))
	twin := s.seek(first, around, 1, func(x, y int, c alike) float32 {
		if math.Hypot(float64(x)-rest.x, float64(y)-rest.y) < apart {
			return -1
		}
		return c.q
	})
	if rest.quality < leastMatch || rest.edge || twin.quality > rest.quality-twinLeast {
		return false
	}
	places := make([]found, len(p.frames))
	px, py := rest.x, rest.y
	moving := 0
	for k := range p.frames {
		places[k] = s.seek(p.frames[k].Luma, p.reach(int(math.Round(px)), int(math.Round(py)), slightReach, 4), 1, nil)
		if n := noses[k]; n.seen {
			by, side := n.along-noses[i].along, n.across-noses[i].across
			at := s.seek(p.frames[k].Luma, p.reach(t.x+by*p.ux+side*p.uy, t.y+by*p.uy+side*p.ux, noseReach, 6), 1, nil)
			if at.quality > leastMatch {
				places[k] = at
			} else if math.Hypot(px-rest.x, py-rest.y) > slightReach {
				places[k].quality = at.quality
			}
		}
		if places[k].quality > leastMatch {
			px, py = places[k].x, places[k].y
			if math.Hypot(px-rest.x, py-rest.y) > restSlack {
				moving++
			}
		}
	}
	if moving < 2 {
		return false
	}
	p.take(t, rest, places)
	return true
}

// reach is the places about (x, y): by along px along the flight and across px to its sides.
func (p *leaper) reach(x, y, along, across int) area {
	if p.ux != 0 {
		along, across = across, along
	}
	return area{x - across, y - along, 2*across + 1, 2*along + 1}
}

// take makes the places the lane's sightings, of the front as it stood at rest.
func (p *leaper) take(t front, rest found, places []found) {
	l := p.lane
	l.patch = area{int(math.Round(rest.x)), int(math.Round(rest.y)), t.w, t.h}
	l.weight, l.mask, l.pix = t.weight, t.weight, cut(p.frames[0].Luma, l.patch, nil)
	hx, hy := float64(t.w-1)/2, float64(t.h-1)/2
	for k := range p.frames {
		fr, at := &p.frames[k], places[k]
		if at.quality < leastMatch {
			l.miss(fr.Index, at.quality)
			continue
		}
		l.missing, l.frame = 0, fr.Index
		l.add(sighting{frame: fr.Index, t: p.times(fr.Index), x: at.x + hx, y: at.y + hy, quality: at.quality}, fr.Luma)
		if l.done {
			return
		}
	}
	last := l.sights[len(l.sights)-1]
	for len(l.dropped) > 0 && l.dropped[len(l.dropped)-1].Frame > last.frame {
		l.dropped = l.dropped[:len(l.dropped)-1]
	}
	if n := len(l.sights); n > 1 {
		x, y := 2*last.x-l.sights[n-2].x, 2*last.y-l.sights[n-2].y
		w, h := float64(p.frames[0].Luma.Width), float64(p.frames[0].Luma.Height)
		l.left = x-hx < 0 || y-hy < 0 || x+hx > w-1 || y+hy > h-1
	}
	l.done, l.leapt = true, true
}
