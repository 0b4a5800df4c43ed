package trace

import (
	"math"

	"padside/footage"
	"padside/register"
)

// Leaps. In a burst of stills the vehicle moves by as much as its length, or several times that, from one picture to the next. Nothing predicts
// where it will be, and a band of its body looks like another one: a third of a vehicle too low, the correlation is nearly as good as at the
// right place. What tells is the silhouette against the background at rest. Nothing flies ahead of the nose, and flame and smoke trail behind: the
// farthest place along the flight at which a picture differs from the one at rest is the nose. There the front of the vehicle is cut out,
// without any background, and looked for at the noses of the other pictures and, in the picture at rest, where the vehicle stood.

const (
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
		f.steady.Step(frames[i].Index, frames[i].Luma)
	}
	f.steady.Rewind()
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
				if m := &r.matches[k]; m.OK && m.Quality > register.LeastMatch {
					sum += m.Quality
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
	p := &leaper{lane: l, frames: f.ring.frames, times: f.o.FrameTime, ux: 0, uy: int(l.ahead[1]), half: l.patch.H / 2, wide: l.patch.W}
	cx, cy := l.patch.Centre()
	p.x, p.y = int(cx), int(cy)
	if math.Abs(way[0]) > 2*math.Abs(way[1]) {
		p.ux, p.uy, p.half, p.wide = 1, 0, l.patch.W/2, l.patch.H
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
	s := register.NewSearcher(t.pix, t.weight, t.W, t.H, register.MostSought)
	// Where it stood: at the middle of what was found there, give or take.
	first := p.frames[0].Luma
	back := noses[i].along - p.half
	x, y := t.X-back*p.ux-noses[i].across*p.uy, t.Y-back*p.uy-noses[i].across*p.ux
	around := p.reach(x, y, restReach, p.wide/2+6)
	rest := s.Seek(first, around, 1, nil)
	apart := twinApart * float64(max(t.W, t.H))
	twin := s.Seek(first, around, 1, func(x, y int, c register.Alike) float32 {
		if math.Hypot(float64(x)-rest.X, float64(y)-rest.Y) < apart {
			return -1
		}
		return c.Q
	})
	if rest.Quality < register.LeastMatch || rest.Edge || twin.Quality > rest.Quality-twinLeast {
		return false
	}
	places := make([]register.Found, len(p.frames))
	px, py := rest.X, rest.Y
	moving := 0
	for k := range p.frames {
		places[k] = s.Seek(p.frames[k].Luma, p.reach(int(math.Round(px)), int(math.Round(py)), slightReach, 4), 1, nil)
		if n := noses[k]; n.seen {
			by, side := n.along-noses[i].along, n.across-noses[i].across
			at := s.Seek(p.frames[k].Luma, p.reach(t.X+by*p.ux+side*p.uy, t.Y+by*p.uy+side*p.ux, noseReach, 6), 1, nil)
			if at.Quality > register.LeastMatch {
				places[k] = at
			} else if math.Hypot(px-rest.X, py-rest.Y) > slightReach {
				places[k].Quality = at.Quality
			}
		}
		if places[k].Quality > register.LeastMatch {
			px, py = places[k].X, places[k].Y
			if math.Hypot(px-rest.X, py-rest.Y) > restSlack {
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
func (p *leaper) reach(x, y, along, across int) register.Area {
	if p.ux != 0 {
		along, across = across, along
	}
	return register.Area{X: x - across, Y: y - along, W: 2*across + 1, H: 2*along + 1}
}

// take makes the places the lane's sightings, of the front as it stood at rest.
func (p *leaper) take(t front, rest register.Found, places []register.Found) {
	l := p.lane
	l.patch = register.Area{X: int(math.Round(rest.X)), Y: int(math.Round(rest.Y)), W: t.W, H: t.H}
	l.weight, l.mask, l.pix = t.weight, t.weight, register.Cut(p.frames[0].Luma, l.patch, nil)
	hx, hy := float64(t.W-1)/2, float64(t.H-1)/2
	for k := range p.frames {
		fr, at := &p.frames[k], places[k]
		if at.Quality < register.LeastMatch {
			l.miss(fr.Index, at.Quality)
			continue
		}
		l.missing, l.frame = 0, fr.Index
		l.add(sighting{frame: fr.Index, t: p.times(fr.Index), x: at.X + hx, y: at.Y + hy, quality: at.Quality}, fr.Luma)
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
