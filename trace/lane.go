package trace

import (
	"fmt"
	"math"
	"slices"

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
	ground   *still     // what the vehicle passes before: still or, for a lane that looks backward, the picture it starts from
	rest     [2]float64 // the patch's centre at rest
	learned  int        // sightings in motion when the weights were last learned
	frame    int        // being looked at
	number   int
	patch    area // in the frame it was taken from
	weight   []float32
	ahead    [2]float64 // where the vehicle is expected to go: unit vector in the picture
	first    *searcher  // the reference as it was at first
	renewed  int        // times a fresh reference was taken
	recent   []float32  // the patch as it was last seen
	base     [2]float64 // the same of the first reference, once it was taken anew
	offset   [2]float64 // of the fresh reference, px: where its vehicle lies beside the whole pixel
	fresh    *searcher  // the reference as it was last seen well, for when its looks change
	sights   []sighting
	dropped  []Dropped
	missing  int
	usual    float64    // correlation of late
	gain     float32    // contrast of late
	contrast float32    // mean difference between vehicle and background, levels; 0: not known
	level    float32    // the vehicle's brightness of late, levels
	surprise [2]float64 // px, how far predictions were off of late
	moved    bool
	done     bool
	left     bool
	loose    bool // the patch may hold much beside the vehicle: it was drawn by hand, or the vehicle is looked for backward
	backward bool // looks into earlier frames: the vehicle will come to rest where it was at rest
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
		number: number, patch: patch, weight: weight, pix: pix, usual: 1, gain: 1, ahead: [2]float64{0, -1},
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
	l.gain = 0.7*l.gain + 0.3*float32(got.gain)
	l.level = 0.7*l.level + 0.3*float32(got.level)
	l.add(sighting{frame: frame, t: t, x: x, y: y, quality: got.quality}, pic)
	l.refresh(pic, got, math.Hypot(x-px, y-py))
	l.relearn()
}

// find looks around the predicted top left corner (x, y), wider and wider until the best place is
// good and not at the border of the search.
func (l *lane) find(pic *footage.Luma, x, y float64) found {
	rx := 2 + int(2*l.surprise[0]) + 2*l.missing
	ry := 2 + int(2*l.surprise[1]) + 2*l.missing
	var best found
	best.quality = -1
	tries := 4
	switch {
	case l.steadily():
		tries = 2
	case l.light:
		tries = 3
	}
	for try := range tries {
		places := area{int(math.Round(x)) - rx, int(math.Round(y)) - ry, 2*rx + 1, 2*ry + 1}
		got := l.seek(pic, places, 1+try/2, l.nearness(x, y))
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
	if l.steadily() {
		return best // what went as predicted does not leap
	}
	step := 2
	if l.light {
		step = 3
	}
	if got := l.seek(pic, l.band(pic, x, y), step, nil); got.quality > best.quality+farther {
		best = got
	}
	return best
}

// steadily reports whether the last predictions were right to about a pixel, and the vehicle not lost since.
func (l *lane) steadily() bool {
	return l.moved && len(l.sights) >= 5 && l.missing < 3 && l.surprise[0] < 2.5 && l.surprise[1] < 2.5
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
func (l *lane) seek(pic *footage.Luma, a area, step int, near func(x, y int) float32) found {
	occupied := l.occupied(pic)
	unit := grey(pic)
	worth := func(x, y int, c alike) float32 {
		if l.light {
			if occupied != nil && occupied(x, y, c.q) {
				return -1
			}
			return c.q
		}
		if l.moved && (c.gain < l.gain*leastGain || c.gain > l.gain/leastGain) || occupied != nil && occupied(x, y, c.q) {
			return -1
		}
		q := c.q
		if near != nil {
			q -= near(x, y)
		}
		if l.contrast > 0 {
			q -= levelCost * min(1, abs32(c.level*unit-l.level)/l.contrast)
			if l.backward {
				q -= absentCost * l.absent(pic, x, y)
			}
		}
		return q
	}
	got := l.first.seek(pic, a, step, worth)
	got.x, got.y = got.x+l.base[0], got.y+l.base[1]
	if l.fresh != nil && got.quality < 0.85 {
		if f := l.fresh.seek(pic, a, step, worth); f.quality > got.quality+0.05 {
			f.quality = min(f.quality, 0.99)
			f.x, f.y = f.x+l.offset[0], f.y+l.offset[1]
			return f
		}
	}
	return got
}

// levelCost is what a place loses whose brightness is off that of the vehicle of late by as much as the background's is. It
// stands for what the correlation, which knows no levels, does not see.
const levelCost = 0.6

// absentCost is what a place loses where nothing differs from the picture without the vehicle.
const absentCost = 0.6

// absent is the share of the pixels compared, the reference's top left at (x, y), that look as the picture does without the vehicle.
func (l *lane) absent(pic *footage.Luma, x, y int) float32 {
	g, s := l.ground, l.first
	dx, dy := l.camera(l.frame, l.rest[0], l.rest[1])
	bx, by := x-int(math.Round(dx)), y-int(math.Round(dy))
	if bx < 0 || by < 0 || bx > g.w-s.w || by > g.h-s.h {
		return 0
	}
	limit := max(float32(6*g.noise), 0.12*l.contrast)
	same := 0
	for i := 0; i < len(s.at); i += 2 {
		px, py := int(s.at[i]), int(s.at[i+1])
		if abs32(level(pic, x+px, y+py)-g.at(bx+px, by+py)) < limit {
			same++
		}
	}
	return 2 * float32(same) / float32(len(s.at))
}

func abs32(x float32) float32 { return max(x, -x) }

// leastGain is the share of its contrast of late that the vehicle may lose, or gain, from one frame to the next.
const leastGain = 0.25

// nearness returns what a place loses for lying off the prediction (x, y): predictions are right to about a pixel and
// what they were off by of late.
func (l *lane) nearness(x, y float64) func(px, py int) float32 {
	if !l.steadily() && !(l.backward && l.moved && len(l.sights) >= 3) {
		return nil
	}
	sx, sy := 1+l.surprise[0]+float64(l.missing), 1+l.surprise[1]+float64(l.missing)
	return func(px, py int) float32 {
		dx, dy := (float64(px)-x)/sx, (float64(py)-y)/sy
		return float32(min(farther, 0.02*(dx*dx+dy*dy)))
	}
}

// occupied returns a test of whether what correlates at a place was there at rest already: a match with quality q
// counts only where it is better than with the picture at rest. It is nil where that is not known.
func (l *lane) occupied(pic *footage.Luma) func(x, y int, q float32) bool {
	if l.ground == nil || l.ground.n < 1 || len(l.sights) == 0 {
		return nil
	}
	dx, dy := l.camera(l.frame, l.rest[0], l.rest[1])
	sx, sy := int(math.Round(dx)), int(math.Round(dy))
	rx, ry := l.rest[0]+dx-float64(l.patch.w-1)/2, l.rest[1]+dy-float64(l.patch.h-1)/2
	near := max(3, 0.5*float64(min(l.patch.w, l.patch.h)))
	return func(x, y int, q float32) bool {
		if q < leastMatch || math.Hypot(float64(x)-rx, float64(y)-ry) < near {
			return false
		}
		bx, by := x-sx, y-sy
		if bx < 0 || by < 0 || bx > l.ground.w-l.patch.w || by > l.ground.h-l.patch.h {
			return false
		}
		return q <= correlate(l.first, l.ground.sum[by*l.ground.w+bx:]).q+better
	}
}

// better is by how much a match must beat the one with the background.
const better = 0.05

// relearn tells vehicle from background among the patch's pixels as soon as it is seen in other places: a pixel of
// the vehicle looks as it did at rest, a pixel of the background as that place did at rest.
func (l *lane) relearn() {
	if !l.moved || l.ground == nil || l.ground.noise == 0 {
		return
	}
	var moving []*sighting
	for i := range l.sights {
		s := &l.sights[i]
		dx, dy := l.camera(s.frame, s.x, s.y)
		if s.crop.w == 0 || math.Hypot(s.x-dx-l.rest[0], s.y-dy-l.rest[1]) <= 4 {
			continue
		}
		if l.backward && i > 0 && math.Hypot(s.x-l.sights[i-1].x, s.y-l.sights[i-1].y) < restSlack {
			continue // it may have come to rest: there the picture at rest shows the vehicle
		}
		moving = append(moving, s)
	}
	n := len(moving)
	if n < max(1, 2*l.learned) && (n < l.learned+4 || l.sights[len(l.sights)-1].quality > 0.85) {
		return
	}
	l.learned = n
	hx, hy := float64(l.patch.w-1)/2, float64(l.patch.h-1)/2
	if last := &l.sights[len(l.sights)-1]; l.backward && l.recent != nil && last.quality > refreshBelow {
		// Earlier means slower, hence less blurred.
		l.pix = slices.Clone(l.recent)
		l.base = [2]float64{last.x - hx - math.Round(last.x-hx), last.y - hy - math.Round(last.y-hy)}
	}
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
	last := moving[len(moving)-1]
	clear := len(moving) >= 4 && math.Hypot(last.x-l.rest[0], last.y-l.rest[1]) > float64(max(w, h))
	weight := l.apart(vehicle, ground, float32(l.ground.noise)*float32(len(moving)), l.loose || clear)
	if weight == nil {
		return
	}
	l.first = newSearcher(l.pix, weight, w, h, mostSought)
	l.mask = weight
	if !l.loose {
		l.usual = min(l.usual, 0.9)
		return
	}
	var sum, of float32
	for k, w := range weight {
		if w > 0 {
			sum, of = sum+ground[k], of+1
		}
	}
	l.contrast = sum / of / float32(len(moving))
	l.level = l.mean(weight)
	l.usual = min(l.usual, 0.9)
}

// mean is the vehicle's brightness as it was last seen, over the weighted pixels.
func (l *lane) mean(weight []float32) float32 {
	pix := l.recent
	if pix == nil {
		pix = l.pix
	}
	return newSearcher(pix, weight, l.patch.w, l.patch.h, mostSought).mean
}

// apart weighs the pixels of the patch by how much they differed, in all, from the reference and from the picture at rest behind
// them: those of the vehicle, and what is so near to them that the edge between may show in it, count. What looks like both tells
// nothing. It is nil where too few remain, and leaves out what is background where none evidently belong to the vehicle.
func (l *lane) apart(vehicle, ground []float32, noise float32, strict bool) []float32 {
	w, h := l.patch.w, l.patch.h
	weight := make([]float32, w*h)
	evident := 0
	sorted := slices.Clone(ground)
	slices.Sort(sorted)
	// Light and the camera's movement are never quite those at rest: the vehicle is what stands out from that.
	plain := faint * sorted[len(sorted)*19/20]
	for k := range weight {
		if ground[k] > 4*vehicle[k]+noise+plain && l.weight[k] > 0 {
			evident++
			for y := max(0, k/w-rim); y <= min(h-1, k/w+rim); y++ {
				for x := max(0, k%w-rim); x <= min(w-1, k%w+rim); x++ {
					weight[y*w+x] = l.weight[y*w+x]
				}
			}
		}
	}
	some := 0
	for k := range weight {
		if !strict || evident < leastEvident {
			weight[k] = l.weight[k]
		}
		if vehicle[k] > 1.5*ground[k]+noise {
			weight[k] = 0
		}
		if weight[k] > 0 {
			some++
		}
	}
	if some < max(leastEvident, w*h/16) {
		return nil
	}
	return weight
}

const (
	faint        = 0.2 // of the strongest difference from the background
	rim          = 0   // px around the vehicle's pixels
	leastEvident = 30  // pixels, that make a correlation good to about 1/5 (its standard deviation for unlike pictures)
)

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
		if bx >= 0 && by >= 0 && bx < l.ground.w && by < l.ground.h {
			ground[k] += float32(math.Abs(float64(f - l.ground.at(bx, by))))
		}
	}
}

// refresh takes a second reference where the first, and the second so far, begin to differ: blur, size and light change the
// vehicle's looks. It is taken only where the vehicle was found as predicted, and seldom, for each one brings in an error of its own;
// the first reference stays.
func (l *lane) refresh(pic *footage.Luma, got found, off float64) {
	if !l.moved || l.missing > 0 || got.quality < 0.6 || off > refreshWithin {
		return
	}
	a := area{int(math.Round(got.x)), int(math.Round(got.y)), l.patch.w, l.patch.h}
	if !a.within(area{0, 0, pic.Width, pic.Height}) {
		return
	}
	l.recent = cut(pic, a, l.recent)
	if got.quality > refreshBelow {
		return
	}
	weight := l.weight
	if l.mask != nil {
		weight = l.mask
	}
	l.fresh = newSearcher(l.recent, weight, a.w, a.h, mostSought)
	l.renewed++
	l.offset = [2]float64{got.x - float64(a.x), got.y - float64(a.y)}
}

const (
	refreshWithin = 1.5 // px from the prediction
	refreshBelow  = 0.9 // correlation
)

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
