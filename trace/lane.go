package trace

import (
	"fmt"
	"math"

	"padside/footage"
)

// lane follows one vehicle to about a tenth of a pixel while the footage is read, and keeps what
// the fine matching needs afterwards: a piece of each frame around the patch.
type lane struct {
	marks    map[int]Mark
	columns  *columns
	mask     []float32  // weights learned while following; nil: none yet
	leaps    bool       // a light lane that looks far
	light    bool       // keeps no crops: only to see whether a piece moves
	pix      []float32  // of the patch, grey levels
	still    *still     // the picture at rest; nil: unknown
	rest     [2]float64 // the patch's centre at rest
	learned  int        // sightings in motion when the weights were last learned
	frame    int        // being looked at
	number   int
	patch    area // in the frame it was taken from
	weight   []float32
	ahead    [2]float64 // where the vehicle is expected to go: unit vector in the picture
	first    *searcher  // the reference as it was at first
	fresh    *searcher  // the reference as it was last seen well, for when its looks change
	sights   []sighting
	dropped  []Dropped
	missing  int
	usual    float64    // correlation of late
	surprise [2]float64 // px, how far predictions were off of late
	moved    bool
	done     bool
	left     bool
	down     bool
	bytes    int // held by crops
	camera   func(frame int, x, y float64) (dx, dy float64)
}

const (
	restKept    = 60  // frames at rest that are kept before first motion
	restSlack   = 1.5 // px: less is not yet motion for the coarse search
	leastMatch  = 0.5 // correlation below which nothing was found (common practice, no source)
	mostMissing = 8   // frames in a row without the vehicle, then it is taken as gone
	cropSlack   = 5   // px the fine place may lie from the coarse one, size and turn included
	// cropMemory bounds what all crops of a lane may take: about 3,500 frames of a 64 px patch.
	cropMemory = 32 << 20
)

// newLane starts a lane with the patch in frame l.
func newLane(number int, patch area, weight []float32, l *footage.Luma) *lane {
	pix := cut(l, patch, nil)
	return &lane{
		number: number, patch: patch, weight: weight, pix: pix, usual: 1, ahead: [2]float64{0, -1},
		first: newSearcher(pix, weight, patch.w, patch.h, mostSought),
	}
}

// step looks for the vehicle in the next frame (in either direction of time).
func (l *lane) step(frame int, t float64, pic *footage.Luma) {
	if l.reseed(frame, t, pic) || l.done {
		return
	}
	px, py := predict(l.sights, t)
	if len(l.sights) == 0 {
		px, py = l.patch.centre()
	}
	hx, hy := float64(l.patch.w-1)/2, float64(l.patch.h-1)/2
	inside := px-hx >= 0.5 && py-hy >= 0.5 && px+hx <= float64(pic.Width)-1.5 && py+hy <= float64(pic.Height)-1.5
	if l.moved && !inside {
		l.done, l.left = true, true
		return
	}
	l.frame = frame
	got := l.find(pic, px-hx, py-hy)
	x, y := got.x+hx, got.y+hy
	if got.quality < leastMatch || got.quality < 0.6*l.usual {
		l.miss(frame, got.quality)
		return
	}
	if l.moved && (got.x <= 0 || got.y <= 0 || got.x >= float64(pic.Width-l.patch.w) || got.y >= float64(pic.Height-l.patch.h)) {
		l.done, l.left = true, true
		return
	}
	if len(l.sights) > 0 {
		l.surprise[0] = 0.6*l.surprise[0] + 0.4*min(math.Abs(x-px), 40)
		l.surprise[1] = 0.6*l.surprise[1] + 0.4*min(math.Abs(y-py), 40)
	}
	l.missing = 0
	l.usual = 0.8*l.usual + 0.2*got.quality
	l.add(sighting{frame: frame, t: t, x: x, y: y, quality: got.quality}, pic)
	l.relearn()
	l.refresh(pic, got)
}

// find looks around the predicted top left corner (x, y), wider and wider until the best place is
// good and not at the border of the search.
func (l *lane) find(pic *footage.Luma, x, y float64) found {
	rx := 2 + int(2*l.surprise[0]) + 2*l.missing
	ry := 2 + int(2*l.surprise[1]) + 2*l.missing
	var best found
	best.quality = -1
	tries := 4
	if l.light {
		tries = 3
	}
	for try := range tries {
		got := l.seek(pic, area{int(math.Round(x)) - rx, int(math.Round(y)) - ry, 2*rx + 1, 2*ry + 1}, 1+try/2)
		// What lies farther from the prediction must be clearly better.
		if got.quality > best.quality+farther*float64(min(try, 1)) || best.edge && got.quality > best.quality {
			best = got
		}
		if got.quality >= 0.8*l.usual && !got.edge {
			return best
		}
		rx, ry = 2*rx+1, 3*ry+1
	}
	if best.quality >= 0.8*l.usual && !best.edge {
		return best
	}
	if l.light && !l.leaps {
		return best
	}
	step := 2
	if l.light {
		step = 3
	}
	if got := l.seek(pic, l.band(pic, x, y), step); got.quality > best.quality+farther {
		best = got
	}
	return best
}

// farther is by how much a match far from the prediction must beat one near it.
const farther = 0.1

// band is everywhere the vehicle may have got to from (x, y): ahead of it, within some 20 degrees.
func (l *lane) band(pic *footage.Luma, x, y float64) area {
	reach := float64(max(pic.Width, pic.Height))
	ex, ey := x+l.ahead[0]*reach, y+l.ahead[1]*reach
	side := 0.2*float64(min(pic.Width, pic.Height)) + float64(l.patch.w)
	x0, x1 := min(x, ex)-side*math.Abs(l.ahead[1])-8, max(x, ex)+side*math.Abs(l.ahead[1])+8
	y0, y1 := min(y, ey)-side*math.Abs(l.ahead[0])-8, max(y, ey)+side*math.Abs(l.ahead[0])+8
	return area{int(x0), int(y0), int(x1-x0) + 1, int(y1-y0) + 1}
}

// seek tries the first reference and, where that is no longer alike, the fresh one.
func (l *lane) seek(pic *footage.Luma, a area, step int) found {
	admit := l.occupied(pic)
	got := l.first.seek(pic, a, step, admit)
	if l.fresh != nil && got.quality < 0.85 {
		if f := l.fresh.seek(pic, a, step, admit); f.quality > got.quality+0.05 {
			f.quality = min(f.quality, 0.99)
			return f
		}
	}
	return got
}

// occupied returns a test of whether what correlates at a place was not there at rest already: a match with quality q
// counts only where it is better than with the picture at rest. It is nil where that is not known.
func (l *lane) occupied(pic *footage.Luma) func(x, y int, q float32) bool {
	if l.still == nil || l.still.n < 1 || len(l.sights) == 0 {
		return nil
	}
	dx, dy := l.camera(l.frame, l.rest[0], l.rest[1])
	sx, sy := int(math.Round(dx)), int(math.Round(dy))
	rx, ry := l.rest[0]+dx-float64(l.patch.w-1)/2, l.rest[1]+dy-float64(l.patch.h-1)/2
	near := max(3, 0.5*float64(min(l.patch.w, l.patch.h)))
	return func(x, y int, q float32) bool {
		if q < leastMatch || math.Hypot(float64(x)-rx, float64(y)-ry) < near {
			return true
		}
		bx, by := x-sx, y-sy
		if bx < 0 || by < 0 || bx > l.still.w-l.patch.w || by > l.still.h-l.patch.h {
			return true
		}
		return q > correlate(l.first, l.still.sum[by*l.still.w+bx:])+better
	}
}

// better is by how much a match must beat the one with the background.
const better = 0.05

// relearn tells vehicle from background among the patch's pixels as soon as it is seen in other places: a pixel of
// the vehicle looks as it did at rest, a pixel of the background as that place did at rest.
func (l *lane) relearn() {
	if !l.moved || l.still == nil || l.still.n < 2 {
		return
	}
	var moving []*sighting
	for i := range l.sights {
		s := &l.sights[i]
		dx, dy := l.camera(s.frame, s.x, s.y)
		if math.Hypot(s.x-dx-l.rest[0], s.y-dy-l.rest[1]) > 4 && s.crop.w > 0 {
			moving = append(moving, s)
		}
	}
	n := len(moving)
	if n < max(1, 2*l.learned) && (n < l.learned+4 || l.sights[len(l.sights)-1].quality > 0.85) {
		return
	}
	l.learned = n
	if n > relearnFrom {
		for k := range relearnFrom {
			moving[k] = moving[(k+1)*n/relearnFrom-1]
		}
		moving = moving[:relearnFrom]
	}
	w, h := l.patch.w, l.patch.h
	vehicle, ground := make([]float32, w*h), make([]float32, w*h)
	for _, s := range moving {
		dx, dy := l.camera(s.frame, s.x, s.y)
		s.compare(l, int(math.Round(dx)), int(math.Round(dy)), vehicle, ground)
	}
	weight := make([]float32, w*h)
	var some int
	for k := range weight {
		weight[k] = l.weight[k]
		if vehicle[k] > 1.5*ground[k]+float32(l.still.noise)*float32(len(moving)) {
			weight[k] = 0
			continue
		}
		some++
	}
	if some < max(12, w*h/8) {
		return
	}
	l.first = newSearcher(l.pix, weight, w, h, mostSought)
	l.mask = weight
	l.usual = min(l.usual, 0.9)
}

// relearnFrom is how many sightings, spread over all, the coarse weights are learned from.
const relearnFrom = 24

// compare adds, per pixel of the patch, how much this sighting differs from the reference and from the picture at rest behind it.
func (s *sighting) compare(l *lane, sx, sy int, vehicle, ground []float32) {
	x0, y0 := int(math.Round(s.x-float64(l.patch.w-1)/2)), int(math.Round(s.y-float64(l.patch.h-1)/2))
	for k := range vehicle {
		px, py := x0+k%l.patch.w, y0+k/l.patch.w
		f := s.crop.at(px-s.crop.x, py-s.crop.y)
		vehicle[k] += float32(math.Abs(float64(f - l.pix[k])))
		bx, by := px-sx, py-sy
		if bx >= 0 && by >= 0 && bx < l.still.w && by < l.still.h {
			ground[k] += float32(math.Abs(float64(f - l.still.at(bx, by))))
		}
	}
}

// refresh takes a new reference for the coarse search where the first one begins to differ.
func (l *lane) refresh(pic *footage.Luma, got found) {
	if got.quality > 0.93 || !l.moved || l.missing > 0 || got.quality < 0.6 {
		return
	}
	a := area{int(math.Round(got.x)), int(math.Round(got.y)), l.patch.w, l.patch.h}
	if a.within(area{0, 0, pic.Width, pic.Height}) {
		l.fresh = newSearcher(cut(pic, a, nil), l.weight, a.w, a.h, mostSought)
	}
}

func (l *lane) miss(frame int, quality float64) {
	l.missing++
	l.dropped = append(l.dropped, Dropped{frame, fmt.Sprintf("not found: best correlation %.2f", max(0, quality))})
	if l.missing > mostMissing && l.moved {
		l.done = true
		// What was looked for after the last sighting is not a gap in the trace but its end.
		l.dropped = l.dropped[:len(l.dropped)-l.missing]
	}
}

// add keeps a sighting; while nothing moves only the last restKept stay.
func (l *lane) add(s sighting, pic *footage.Luma) {
	if !l.light && l.bytes < cropMemory {
		place := area{int(math.Round(s.x - float64(l.patch.w-1)/2)), int(math.Round(s.y - float64(l.patch.h-1)/2)), l.patch.w, l.patch.h}
		s.crop = keep(pic, place.grown(margin+cropSlack))
		l.bytes += s.crop.bytes()
	}
	l.sights = append(l.sights, s)
	l.picture(&s, pic)
	if l.moved {
		l.turnBack()
		return
	}
	first := &l.sights[0]
	l.rest = [2]float64{first.x, first.y}
	if l.camera != nil {
		ax, ay := l.camera(first.frame, first.x, first.y)
		l.rest = [2]float64{first.x - ax, first.y - ay}
	}
	dx, dy := s.x-first.x, s.y-first.y
	if l.camera != nil {
		ax, ay := l.camera(first.frame, first.x, first.y)
		bx, by := l.camera(s.frame, s.x, s.y)
		dx, dy = dx-bx+ax, dy-by+ay
	}
	if math.Hypot(dx, dy) > restSlack {
		l.moved = true
		return
	}
	if len(l.sights) > restKept && !l.light {
		l.bytes -= first.crop.bytes()
		if l.columns != nil {
			delete(l.columns.byTime, first.frame)
		}
		l.sights = append(l.sights[:0], l.sights[1:]...)
	}
}

// picture adds the frame's column to the streak.
func (l *lane) picture(s *sighting, pic *footage.Luma) {
	if l.light || l.still == nil || l.still.n == 0 {
		return
	}
	if l.columns == nil {
		x, y := l.patch.centre()
		l.columns = newColumns(pic, x, y, l.ahead[0], l.ahead[1])
		l.rest = [2]float64{x, y}
	}
	dx, dy := l.camera(s.frame, l.rest[0], l.rest[1])
	l.columns.take(s.frame, pic, l.still, l, dx, dy)
}

// turnBack ends a fall where the falling thing is thrown back: that is the floor.
func (l *lane) turnBack() {
	n := len(l.sights)
	if !l.down || n < 4 {
		return
	}
	a, b, c := &l.sights[n-3], &l.sights[n-2], &l.sights[n-1]
	fell := (b.y - a.y) / (b.t - a.t)
	if now := (c.y - b.y) / (c.t - b.t); fell*(b.t-a.t) > 2 && now < 0.4*fell {
		l.done = true
		l.bytes -= c.crop.bytes()
		l.sights = l.sights[:n-1]
	}
}
