package trace

import (
	"fmt"
	"math"

	"padside/footage"
	"padside/register"
)

// lane follows one vehicle to about a tenth of a pixel while the footage is read, and keeps what
// the fine matching needs afterwards: a piece of each frame around the patch.
type lane struct {
	marks    map[int]Mark
	columns  *columns
	strip    *strip     // nil: none
	mask     []float32  // weights learned while following; nil: none yet
	leaps    bool       // a light lane that looks far
	leapt    bool       // followed by its silhouette; see leaper
	light    bool       // keeps no crops: only to see whether a piece moves
	pix      []float32  // of the patch, grey levels
	still    *still     // the picture at rest; nil: unknown
	ground   *still     // what the vehicle passes before: still or, for a lane that looks backward, the picture it starts from
	rest     [2]float64 // the patch's centre at rest
	learned  int        // sightings in motion when the weights were last learned
	frame    int        // being looked at
	number   int
	patch    register.Area // in the frame it was taken from
	body     register.Area // the whole vehicle's, relative to the patch; empty: not known
	weight   []float32
	ahead    [2]float64         // where the vehicle is expected to go: unit vector in the picture
	first    *register.Searcher // the reference as it was at first
	renewed  int                // times a fresh reference was taken
	look     []float32          // weights of references taken since; nil: it still looks as at first
	guesses  int                // references taken at a predicted place in all
	guessed  int                // times of late that it was taken at the place predicted; see renew
	recent   []float32          // the patch as it was last seen
	base     [2]float64         // the same of the first reference, once it was taken anew
	offset   [2]float64         // of the fresh reference, px: where its vehicle lies beside the whole pixel
	fresh    *register.Searcher // the reference as it was last seen well, for when its looks change
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
	torn     bool // from another start many frames are matched elsewhere; see startAgain
	turned   bool // thrown back: the fall has ended
	loose    bool // the patch may hold much beside the vehicle: it was drawn by hand, or the vehicle is looked for backward
	backward bool // looks into earlier frames: the vehicle will come to rest where it was at rest
	down     bool
	bytes    int // held by crops
	bodies   int // held by pieces of the whole vehicle
	camera   func(frame int, x, y float64) (dx, dy float64)
	prepare  func(*crop) // makes what fine matching will want; nil: nothing is made ahead
}

const (
	restKept    = 60  // frames at rest that are kept before first motion
	restSlack   = 1.5 // px: less is not yet motion for the coarse search
	mostMissing = 8   // frames in a row without the vehicle, then it is taken as gone
	cropSlack   = 5   // px the fine place may lie from the coarse one, size and turn included
	// cropMemory bounds what all crops of a lane may take: about 3,500 frames of a 64 px patch.
	cropMemory = 32 << 20
	bodyMemory = 12 << 20 // the same for pieces of the whole vehicle: 500 frames of 300 by 80 px
)

// newLane starts a lane with the patch in frame l.
func newLane(number int, patch register.Area, weight []float32, l *footage.Luma) *lane {
	pix := register.Cut(l, patch, nil)
	return &lane{
		number: number, patch: patch, weight: weight, pix: pix, usual: 1, gain: 1, ahead: [2]float64{0, -1},
		first: register.NewSearcher(pix, weight, patch.W, patch.H, register.MostSought),
	}
}

// step looks for the vehicle in the next frame (in either direction of time).
func (l *lane) step(frame int, t float64, pic *footage.Luma) {
	if l.reseed(frame, t, pic) || l.done {
		return
	}
	px, py := predict(l.sights, t)
	if len(l.sights) == 0 {
		px, py = l.patch.Centre()
	}
	hx, hy := float64(l.patch.W-1)/2, float64(l.patch.H-1)/2
	inside := px-hx >= 0.5 && py-hy >= 0.5 && px+hx <= float64(pic.Width)-1.5 && py+hy <= float64(pic.Height)-1.5
	if l.moved && !inside {
		l.done, l.left = true, true
		return
	}
	l.frame = frame
	got := l.find(pic, px-hx, py-hy)
	x, y := got.X+hx, got.Y+hy
	if got.Quality < register.LeastMatch || got.Quality < 0.6*l.usual {
		if l.renew(pic, px-hx, py-hy) {
			l.add(sighting{frame: frame, t: t, x: px, y: py, quality: register.LeastMatch}, pic)
			return
		}
		l.miss(frame, got.Quality)
		return
	}
	if l.moved && (got.X <= 0 || got.Y <= 0 || got.X >= float64(pic.Width-l.patch.W) || got.Y >= float64(pic.Height-l.patch.H)) {
		l.done, l.left = true, true
		return
	}
	if len(l.sights) > 0 {
		l.surprise[0] = 0.6*l.surprise[0] + 0.4*min(math.Abs(x-px), 40)
		l.surprise[1] = 0.6*l.surprise[1] + 0.4*min(math.Abs(y-py), 40)
	}
	l.missing, l.guessed = 0, 0
	l.usual = 0.8*l.usual + 0.2*got.Quality
	l.gain = 0.7*l.gain + 0.3*float32(got.Gain)
	l.level = 0.7*l.level + 0.3*float32(got.Level)
	l.add(sighting{frame: frame, t: t, x: x, y: y, quality: got.Quality}, pic)
	l.refresh(pic, got, math.Hypot(x-px, y-py))
	l.relearn()
}

func (l *lane) miss(frame int, quality float64) {
	l.missing++
	l.dropped = append(l.dropped, Dropped{frame, fmt.Sprintf("not found: best correlation %.2f", max(0, quality))})
	if l.missing > mostMissing && l.moved {
		l.done = true
		// What was looked for after the last sighting is not a gap in the trace but its end.
		l.dropped = l.dropped[:max(0, len(l.dropped)-l.missing)]
	}
}

// add keeps a sighting; while nothing moves only the last restKept stay.
func (l *lane) add(s sighting, pic *footage.Luma) {
	if !l.light {
		l.cut(&s, pic)
	}
	s.guesses = l.guesses
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
		l.bytes, l.bodies = l.bytes-first.crop.bytes(), l.bodies-first.body.bytes()
		if l.columns != nil {
			delete(l.columns.byTime, first.frame)
		}
		l.sights = append(l.sights[:0], l.sights[1:]...)
	}
}

// cut keeps the piece of the picture about a sighting, while there is memory for it.
func (l *lane) cut(s *sighting, pic *footage.Luma) {
	if l.bytes >= cropMemory {
		return
	}
	place := register.Area{X: int(math.Round(s.x - float64(l.patch.W-1)/2)), Y: int(math.Round(s.y - float64(l.patch.H-1)/2)), W: l.patch.W, H: l.patch.H}
	s.crop = keep(pic, place.Grown(register.Margin+cropSlack))
	if l.body.H > 0 && l.bodies < bodyMemory {
		s.body = keep(pic, register.Area{X: place.X + l.body.X, Y: place.Y + l.body.Y, W: l.body.W, H: l.body.H}.Grown(register.Margin+cropSlack))
	}
	l.bytes, l.bodies = l.bytes+s.crop.bytes(), l.bodies+s.body.bytes()
	if l.prepare != nil {
		l.prepare(&s.crop)
	}
}

// picture adds the frame's column to the streak.
func (l *lane) picture(s *sighting, pic *footage.Luma) {
	if l.light || l.still == nil || l.still.n == 0 {
		return
	}
	if l.columns == nil {
		l.columns = newColumns(pic)
	}
	dx, dy := l.camera(s.frame, s.x, s.y)
	l.columns.take(s, pic, l, dx, dy)
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
		l.done, l.turned = true, true
		l.bytes, l.bodies = l.bytes-c.crop.bytes(), l.bodies-c.body.bytes()
		l.sights = l.sights[:n-1]
	}
}
