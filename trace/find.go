package trace

import (
	"math"

	"padside/fault"
	"padside/register"
	"padside/stabilise"
)

// finder looks for what moves along a line as one: not merely for change, for smoke, leaves, flicker and
// the camera change the picture too. Small pieces of a frame before the change are followed through the frames
// after it; those that keep their looks and go straight belong to a vehicle.
type finder struct {
	watch     watch
	triggered int // frame of the first change that is not explained yet; -1: none
	next      int // frame at which to look again
	from      int // frame before which nothing is looked for
	wait      int
	looked    int  // times
	barred    bool // something went straight, but not along the rod
	ends      bool // this look is the last at this change
}

const (
	pieceSide    = 16
	mostPieces   = 48
	allPieces    = 192  // where none of the first goes and a rod tells the way: textured ground that smoke hides has the first places
	piecePixels  = 70   // compared of each piece
	lookBack     = 48   // frames through which pieces are followed
	shortLook    = 14   // the same for what soon changes its looks, by blur above all
	restBefore   = 2    // frames before the first change from which pieces are followed: a slow start shows late
	firstWait    = 8    // frames after the first change
	leastWay     = 6.0  // px a piece must have gone
	clearWay     = 20.0 // px after which the vehicle stands out well; so long is waited
	straightness = 0.08
	// leastLikeness: smoke and leaves change their looks faster.
	leastLikeness = 0.8
)

const (
	// leastCompany is how many pieces must go the same way, itself included: chance does not bring that about.
	leastCompany = 3
	// farWay is after how many px, straight along the way that is expected, two are enough: smoke does not go so far unchanged. Of what falls
	// they are not, for the hand that lets it go may swing down as far.
	farWay = 100.0
)

// alone reports whether a piece has too little company for a vehicle's.
func (f *follower) alone(p *piece) bool {
	if up := -p.way[1]; !f.o.ExpectDown && up > farWay && up > 0.95*math.Hypot(p.way[0], p.way[1]) {
		return p.company < leastCompany-1
	}
	return p.company < leastCompany
}

// begin sets the finder up for pictures of w by h px.
func (d *finder) begin(w, h int) {
	d.triggered = -1
	d.watch = watch{step: watchStep(w, h), most: watchForget}
}

// see takes in the ring's newest frame. It starts following where a vehicle is found.
func (f *follower) see() error {
	w := &f.finder
	n := len(f.ring.frames)
	fr := &f.ring.frames[n-1]
	changed := w.watch.changed(fr.Luma, false)
	if w.held(fr) {
		return nil
	}
	if !changed {
		since := max(w.triggered, f.expected)
		if fr.Index-since > lookBack {
			w.triggered = -1 // a flicker that is long over
			return f.quiet()
		}
		return nil
	}
	if w.triggered < 0 {
		w.triggered, w.wait = fr.Index, firstWait
		w.next = fr.Index + w.wait
	}
	if fr.Index < w.next || f.held() {
		return nil
	}
	return f.look(false)
}

// look tries to find the vehicles in the ring's frames; last says that no more will come.
func (f *follower) look(last bool) error {
	w := &f.finder
	n := len(f.ring.frames)
	if n < 2 {
		return nil
	}
	w.looked++
	over := f.ring.frames[n-1].Index-w.triggered > lookBack
	w.ends = last || over
	at := max(0, n-1-lookBack)
	for k := range f.ring.frames {
		if f.ring.frames[k].Index == w.triggered-restBefore {
			at = max(at, k)
		}
	}
	if f.held() {
		f.onset = max(f.o.From, w.triggered)
		var found []vehicles
		for _, end := range []int{n, n * 3 / 4, n / 2} {
			if v := f.findVehicles(0, max(2, end), true); v.patches != nil {
				found = append(found, v)
			}
		}
		if found != nil {
			return f.leapFrom(found)
		}
		return nil
	}
	for _, from := range []int{at, max(at, n-1-shortLook)} {
		if v := f.findVehicles(from, n, last); v.patches != nil {
			f.onset = max(f.o.From, w.triggered)
			return f.begin(v, last)
		}
		if from == n-1-shortLook || last {
			break
		}
	}
	w.wait = min(w.wait*3/2, shortLook)
	w.next = f.ring.frames[n-1].Index + w.wait
	if over {
		// Whatever changed was no vehicle: watch anew.
		w.triggered = -1
		w.watch.age = w.watch.most
		if w.watch.learns {
			w.watch.settle()
		}
		return f.quiet()
	}
	return nil
}

// vehicles are what the finder found: of each one the part to follow in frame at of the ring, its weights, and the whole's length.
type vehicles struct {
	at      int
	patches []register.Area
	weights [][]float32
	lengths []float64
	groups  [][]*piece            // by which each was found
	st      *stabilise.Background // by which they were followed
}

// begin follows the vehicles as they are found anew from rest or, where these do not go where v went, from v.
func (f *follower) begin(v vehicles, last bool) error {
	if again := f.fromRest(v); again.at != v.at {
		f.lengths = again.lengths
		if err := f.start(again); err != nil && err != errDone || f.went(v) {
			return err
		}
		f.lanes, f.still = nil, still{}
	}
	f.lengths = v.lengths
	return f.start(v)
}

// went reports whether the lanes went to the ring's newest frame as the pieces by which v was found did.
func (f *follower) went(v vehicles) bool {
	for i, l := range f.lanes {
		p := v.groups[i][0]
		first, last := &p.lane.sights[0], &p.lane.sights[len(p.lane.sights)-1]
		x0, y0, ok0 := l.at(first.frame)
		x1, y1, ok1 := l.at(last.frame)
		if !ok0 || !ok1 || math.Hypot(x1-x0-p.way[0], y1-y0-p.way[1]) > sameWay+0.1*math.Hypot(p.way[0], p.way[1]) {
			return false
		}
	}
	return true
}

// sameWay is by how much, px, the ways of two parts of one vehicle may differ, beside a tenth of the way.
const sameWay = 3.0

// at is the lane's place in a frame, the camera's movement taken out.
func (l *lane) at(frame int) (x, y float64, ok bool) {
	for i := range l.sights {
		if s := &l.sights[i]; s.frame == frame {
			dx, dy := l.camera(s.frame, s.x, s.y)
			return s.x - dx, s.y - dy, true
		}
	}
	return 0, 0, false
}

// fromRest finds the vehicles anew from rest; where that fails, v stands.
func (f *follower) fromRest(v vehicles) vehicles {
	if f.few() {
		return v // each frame counts: they were looked for from rest
	}
	var all window
	for i, g := range v.groups {
		w, ok := f.restWindow(g, v.st, v.at)
		if !ok {
			return v
		}
		if i == 0 {
			all = w
		}
		all.first, all.last = min(all.first, w.first), max(all.last, w.last)
	}
	if again := f.findVehicles(all.first, all.last+1, true); len(again.patches) == len(v.patches) {
		return again
	}
	return v
}

// errNothing says that nothing was found, and why.
func (f *follower) errNothing() error {
	w := &f.finder
	n := f.o.To - f.o.From
	hint := "give the frame and the box of the part to follow, or a longer stretch of the footage"
	if w.looked == 0 {
		return fault.NoAnswerf(hint, "nothing in the footage moves: no region changes in %d frames", n)
	}
	if w.barred {
		return fault.NoAnswerf("look whether the rod's marks stand at their heights, and whether kind is right; or "+hint,
			"nothing in the footage moves along the rod as it should: what moves goes across it, or down it where a launch is stated")
	}
	return fault.NoAnswerf(hint, "nothing in the footage moves along a line: the picture changes, but in %d frames nothing keeps its looks and goes %g px", n, leastWay)
}

func abs(x int) int { return max(x, -x) }
