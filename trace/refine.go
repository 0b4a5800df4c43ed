package trace

import (
	"math"
	"slices"

	"padside/camera"
	"padside/register"
	"padside/stabilise"
)

// refiner turns a lane's coarse sightings into places good to a few hundredths of a pixel. It has
// all frames before it, so it learns from all of them: the reference from the frames at rest,
// which pixels belong to the vehicle from how they keep up with it, size and turn from their
// smooth course.
type refiner struct {
	centre    [2]float64        // px, the traced point from the patch's centre
	plain     bool              // match the place alone, with the weights as they came
	core      []float32         // weights of the pixels that are evidently the vehicle's; with flight
	flight    bool              // the reference is taken from frames in flight
	refs      []int             // sightings the reference is made from: those at rest, or some in flight
	origin    float64           // px along the flight line where the reference was taken
	until     int               // sightings before this one are learned from
	reach     float64           // px the fine place may lie from the coarse one
	falls     bool              // nothing trails behind it
	few       bool              // few pictures: no coarse place is sure
	drift     *stabilise.Drift  // of footage coded between frames; nil for other footage
	alone     bool              // each frame is coded by itself, with loss
	cameras   []stabilise.Shift // per sighting: where the camera was when its patch was coded; nil: not known
	astray    bool              // fine matching left the coarse path
	basis     *register.Basis
	workers   int
	exposure  float64 // s, by which moving pictures are drawn out
	most      float64 // s, longest possible; 0: times are not known
	shown     Exposure
	steady    *stabilise.Background
	patchW    int
	patchH    int
	sights    []sighting
	renewed   int // times the coarse search took a new reference
	weight    []float32
	patch     *register.Patch
	seenAt    map[int]*register.Field // how the patch looks at each blur; nil: to be made anew, for patch or line changed
	rough     bool                    // still learning: no covariance is wanted
	anchor    camera.Pixel            // where the reference's centre lay in the frame as filmed
	back      *backdrop               // nil: unknown
	veil      *veil
	noise     float64   // of one frame, grey levels
	stray     []bool    // per sighting: not on the path
	restDoubt float64   // standard uncertainty along the line of all frames at rest together that another reference shows, px
	doubt     []float64 // per sighting: standard uncertainty along the line that another reference shows, px; nil: not known
	torn      bool      // many frames match elsewhere as well
	usizes    []float64 // per sighting: standard uncertainty of the size as matched, 0: not known
	coarse    []bool    // per sighting: only the coarse search found it; nil: none
	wander    []float64 // px, per sighting: what such a place may be off by together with those around it; nil: not known
	adrift    []bool    // per sighting: coarse, and on no smooth path
	line      camera.FlightLine
	rest      []int            // sightings at rest
	blur      []int            // per sighting, in steps of blurStep along the line
	sharper   []float64        // per sighting, px: by how much less than a reference from flight it is drawn out
	warps     []register.Warp  // per sighting, in frame coordinates
	matches   []register.Match // per sighting
}

// load makes the crop of sighting i ready for interpolation and returns the warp relative to it.
func (r *refiner) load(s *register.Scratch, i int) register.Warp {
	c := &r.sights[i].crop
	c.load(s)
	w := r.warps[i]
	w.X -= float64(c.X)
	w.Y -= float64(c.Y)
	return w
}

// match registers sighting i with m.
func (r *refiner) match(s *register.Scratch, m *register.Matcher, i int) register.Match {
	return r.matchFrom(s, m, i, r.warps[i])
}

// matchFrom does so from place w.
func (r *refiner) matchFrom(s *register.Scratch, m *register.Matcher, i int, w register.Warp) register.Match {
	if r.sights[i].crop.W == 0 || m == nil {
		return register.Match{Warp: w}
	}
	r.load(s, i)
	if b := r.sharper[i]; b >= leastSharper {
		s.Pix = register.Blurred(s.Window, b*r.line.Ux, b*r.line.Uy)
		s.Set(s.Pix, s.Window.W, s.Window.H)
	}
	w.X, w.Y = w.X-float64(r.sights[i].crop.X), w.Y-float64(r.sights[i].crop.Y)
	s.Back = nil
	if r.back != nil {
		s.Back = r.back.spline
		dx, dy := r.behind(i)
		s.BX, s.BY = float32(dx), float32(dy)
	}
	got := m.Register(s, w)
	got.X += float64(r.sights[i].crop.X)
	got.Y += float64(r.sights[i].crop.Y)
	return got
}

// run does all of it. It reports whether the patch has texture to hold on to.
func (r *refiner) run() bool {
	n := len(r.sights)
	r.warps, r.matches, r.blur, r.sharper, r.until = make([]register.Warp, n), make([]register.Match, n), make([]int, n), make([]float64, n), n
	for i, s := range r.sights {
		r.warps[i] = register.Warp{X: s.x, Y: s.y, A: 1}
	}
	r.reach = cropSlack - 1
	if r.flight {
		r.reach = register.Margin - 1
	}
	r.rough = true
	r.orient()
	r.cameras = r.codedCameras()
	r.orient()
	r.restFrames(0.6)
	if !r.makeReference() {
		return false
	}
	if !r.shown.Given {
		r.guessExposure()
	}
	r.measureBlur()
	if r.flight {
		r.registerOutward()
	} else if !r.register(r.regressors()) {
		return false
	}
	r.orient()
	r.restFrames(0.1)
	if !r.makeReference() {
		return false
	}
	if !r.learn() {
		return false
	}
	r.rough = false
	ok := r.register(4)
	if r.settleExposure() {
		ok = r.blurAnew() || ok
	}
	if r.flight {
		r.fillCoarse(register.LeastMatch)
	}
	r.astray = r.strayed()
	switch {
	case r.flight || r.astray || r.few:
	case r.falls:
		r.fillCoarse(register.LeastMatch)
	default:
		r.fillCoarse(sureCoarse)
	}
	r.judgeCoarse()
	r.judgeRest()
	if !r.astray && !r.plain {
		r.weighDoubt()
		r.exposureDoubt()
	}
	r.doubtCoarse()
	r.recentre()
	r.orient()
	return ok
}

func (r *refiner) regressors() int {
	if r.plain {
		return 4
	}
	return register.MaxTerms
}

// learn goes round: match, learn from the matches, match better.
func (r *refiner) learn() bool {
	if r.plain {
		if !r.register(register.MaxTerms) {
			return false
		}
		r.measureBlur()
		return r.register(4)
	}
	r.outward(1)
	if !r.registerSome(r.lesson(), register.MaxTerms) {
		return false
	}
	r.heed()
	for stage := range stages {
		r.measureBlur()
		r.average()
		if !r.flight {
			r.learnVeil()
		}
		r.learnWeights()
		r.outward(stage + 2)
		if !r.registerSome(r.lesson(), register.MaxTerms) {
			return false
		}
		r.heed()
		r.smoothShape()
	}
	r.learnWeights()
	if !r.register(register.MaxTerms) {
		return false
	}
	r.smoothShape()
	r.measureBlur()
	return true
}

// register matches all sightings and takes over the places of those that succeed. With maxReg regressors, size and
// turn are matched too; where that fails, the place alone.
func (r *refiner) register(n int) bool {
	all := make([]int, len(r.sights))
	for i := range all {
		all[i] = i
	}
	return r.registerSome(all, n)
}

// registerSome does so for the sightings idx alone; the others keep their places and count as not matched.
func (r *refiner) registerSome(idx []int, n int) bool {
	for i := range r.matches {
		r.matches[i].OK = false
	}
	r.matchAll(idx, n)
	var failed []int
	for _, i := range idx {
		if !r.near(i) {
			failed = append(failed, i)
		}
	}
	if n == register.MaxTerms && len(failed) > 0 {
		r.matchAll(failed, 4)
	}
	if r.flight {
		r.matchCore(failed)
	}
	some := false
	for _, i := range idx {
		m := &r.matches[i]
		m.OK = r.near(i)
		if m.OK {
			r.warps[i] = m.Warp
			some = true
		}
	}
	return some
}

func (r *refiner) matchAll(idx []int, n int) {
	ms := r.matchers(idx, n)
	register.Parallel(len(idx), r.workers, r.basis, func(s *register.Scratch, k int) {
		i := idx[k]
		r.matches[i] = r.match(s, ms[r.blur[i]], i)
	})
}

// lesson picks the sightings to learn from: all in motion of a short flight, else an even selection.
func (r *refiner) lesson() []int {
	idx := r.inMotion(mostSamples)
	if len(r.rest) < leastRest {
		idx = append(idx, r.rest...)
		slices.Sort(idx)
		idx = slices.Compact(idx)
	}
	return idx
}

// near reports whether the match of sighting i succeeded and lies where the coarse search saw the patch.
func (r *refiner) near(i int) bool {
	m, s := &r.matches[i], &r.sights[i]
	return m.OK && math.Hypot(m.X-s.x, m.Y-s.y) <= r.reach && math.Abs(m.Size()-1) < mostSize
}

// sureCoarse is the correlation from which the coarse place stands where fine matching fails though flame and smoke may trail.
const sureCoarse = 0.85

// mostSize is how much larger or smaller a vehicle may be matched.
const mostSize = 0.6
