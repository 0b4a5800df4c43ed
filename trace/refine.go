package trace

import (
	"math"
	"slices"

	"padside/camera"
	"padside/fit"
)

// refiner turns a lane's coarse sightings into places good to a few hundredths of a pixel. It has
// all frames before it, so it learns from all of them: the reference from the frames at rest,
// which pixels belong to the vehicle from how they keep up with it, size and turn from their
// smooth course.
type refiner struct {
	centre   [2]float64 // px, the traced point from the patch's centre
	plain    bool       // match the place alone, with the weights as they came
	core     []float32  // weights of the pixels that are evidently the vehicle's; with flight
	flight   bool       // the reference is taken from frames in flight
	refs     []int      // sightings the reference is made from: those at rest, or some in flight
	origin   float64    // px along the flight line where the reference was taken
	reach    float64    // px the fine place may lie from the coarse one
	astray   bool       // fine matching left the coarse path
	basis    *basis
	workers  int
	exposure float64 // s
	steady   *steady
	patchW   int
	patchH   int
	sights   []sighting
	renewed  int // times the coarse search took a new reference
	weight   []float32
	patch    *patch
	anchor   camera.Pixel // where the reference's centre lay in the frame as filmed
	back     *backdrop    // nil: unknown
	veil     *veil
	noise    float64   // of one frame, grey levels
	stray    []bool    // per sighting: not on the path
	doubt    []float64 // per sighting: standard uncertainty along the line that another reference shows, px; nil: not known
	usizes   []float64 // per sighting: standard uncertainty of the size as matched, 0: not known
	coarse   []bool    // per sighting: only the coarse search found it; nil: none
	line     camera.FlightLine
	rest     []int   // sightings at rest
	blur     []int   // per sighting, in steps of blurStep along the line
	warps    []warp  // per sighting, in frame coordinates
	matches  []match // per sighting
}

const (
	blurStep = 0.5 // px: a blur length off by half of it is not seen
	mostBlur = 100 // steps
)

// load filters the crop of sighting i and returns the warp relative to it.
func (r *refiner) load(s *scratch, i int) warp {
	c := &r.sights[i].crop
	s.pix = c.levels(s.pix)
	s.sp.set(s.pix, c.w, c.h)
	w := r.warps[i]
	w.X -= float64(c.x)
	w.Y -= float64(c.y)
	return w
}

// match registers sighting i with m.
func (r *refiner) match(s *scratch, m *matcher, i int) match {
	if r.sights[i].crop.w == 0 || m == nil {
		return match{warp: r.warps[i]}
	}
	w := r.load(s, i)
	s.back = nil
	if r.back != nil && m.beta != nil {
		s.back = &r.back.spline
		dx, dy := r.behind(i)
		s.bx, s.by = float32(dx), float32(dy)
	}
	got := m.register(s, w)
	got.X += float64(r.sights[i].crop.x)
	got.Y += float64(r.sights[i].crop.y)
	return got
}

// run does all of it. It reports whether the patch has texture to hold on to.
func (r *refiner) run() bool {
	n := len(r.sights)
	r.warps, r.matches, r.blur = make([]warp, n), make([]match, n), make([]int, n)
	for i, s := range r.sights {
		r.warps[i] = warp{X: s.x, Y: s.y, A: 1}
	}
	r.reach = cropSlack - 1
	if r.flight {
		r.reach = margin - 1
	}
	r.orient()
	r.restFrames(0.6)
	if !r.makeReference() {
		return false
	}
	if r.exposure == 0 {
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
	ok := r.register(4)
	if r.flight {
		r.fillCoarse()
	}
	r.astray = r.strayed()
	if !r.astray && !r.plain {
		r.weighDoubt()
	}
	r.recentre()
	r.orient()
	return ok
}

// strayed reports whether fine matching lost its way: more than a quarter of the frames were not matched, or as many lie more
// than strayedBy from where the coarse search saw the patch, give or take what is common to all, and nothing tells that it was
// the coarse search that drifted. The coarse search takes a new picture of the vehicle as it changes its looks and errs a
// little each time; fine matching compares all frames with one reference. Where that one fits better in most frames and
// gives a path as smooth, it is believed.
func (r *refiner) strayed() bool {
	n := len(r.matches)
	coarse := func(i int) float64 {
		s := &r.sights[i]
		k := r.steady.at(s.frame, s.x, s.y)
		return (s.x-k.dx-r.line.Rest.X)*r.line.Ux + (s.y-k.dy-r.line.Rest.Y)*r.line.Uy
	}
	var apart, fits, fitted []float64
	for i := range r.matches {
		if r.matches[i].ok {
			apart = append(apart, r.along(i)-coarse(i))
			fits, fitted = append(fits, r.matches[i].quality), append(fitted, r.sights[i].quality)
		}
	}
	if 4*len(apart) < 3*n {
		return true
	}
	mid, bad := fit.Median(apart), n-len(apart)
	for _, v := range apart {
		if math.Abs(v-mid) > strayedBy {
			bad++
		}
	}
	if 4*bad <= n {
		return false
	}
	return fit.Median(fits) < fit.Median(fitted) || roughness(n, r.along) > asSmooth*roughness(n, coarse)
}

const (
	strayedBy = 1.2 // px, farther than the coarse search errs while it does not drift
	asSmooth  = 1.5
)

// roughness is the standard deviation, px, of white noise on a smooth course of n places, from the median size of fourth
// differences: that of white noise has 70 times its variance.
func roughness(n int, place func(i int) float64) float64 {
	var e []float64
	for i := 2; i+2 < n; i++ {
		e = append(e, math.Abs(place(i-2)-4*place(i-1)+6*place(i)-4*place(i+1)+place(i+2))/math.Sqrt(70))
	}
	if len(e) == 0 {
		return 0
	}
	return 1.4826 * fit.Median(e)
}

// recentre moves the traced point from the middle of the patch to the middle of the texture it
// is followed by, where errors of size and turn do not move it (to first order).
func (r *refiner) recentre() {
	m, ok := r.patch.matcher(r.basis, 0, 0)
	if !ok {
		return
	}
	var sum, su, sv float64
	for k, w := range m.weight {
		g := float64(m.reg[2][k])*r.line.Ux + float64(m.reg[3][k])*r.line.Uy
		g *= g * float64(w)
		sum += g
		su += g * float64(m.u[k])
		sv += g * float64(m.v[k])
	}
	if sum == 0 {
		return
	}
	u, v := su/sum, sv/sum
	r.centre = [2]float64{u, v}
	for i := range r.warps {
		w := &r.warps[i]
		w.X, w.Y = w.X+w.A*u-w.B*v, w.Y+w.B*u+w.A*v
		r.matches[i].warp = *w
	}
}

func (r *refiner) regressors() int {
	if r.plain {
		return 4
	}
	return maxReg
}

// learn goes round: match, learn from the matches, match better.
func (r *refiner) learn() bool {
	if !r.register(maxReg) {
		return false
	}
	if r.plain {
		r.measureBlur()
		return r.register(4)
	}
	for range 3 {
		r.measureBlur()
		r.average()
		if !r.flight {
			r.learnVeil()
		}
		r.learnWeights()
		if !r.registerSome(r.lesson(), maxReg) {
			return false
		}
		r.smoothShape()
	}
	r.learnWeights()
	if !r.register(maxReg) {
		return false
	}
	r.smoothShape()
	r.measureBlur()
	return true
}

// steadied is the place of sighting i with the camera's movement taken out.
func (r *refiner) steadied(i int) (x, y float64) {
	w := r.warps[i]
	k := r.steady.at(r.sights[i].frame, w.X, w.Y)
	return w.X - k.dx, w.Y - k.dy
}

// orient fits the flight line to the places, from rest towards the farthest one.
func (r *refiner) orient() {
	n := len(r.sights)
	rest := r.rest
	if rest == nil {
		rest = []int{0}
	}
	var xs, ys []float64
	for _, i := range rest {
		x, y := r.steadied(i)
		xs, ys = append(xs, x), append(ys, y)
	}
	r.line.Rest = camera.Pixel{X: fit.Median(xs), Y: fit.Median(ys)}
	// Total least squares through the rest place: the main axis of the moments about it.
	var sxx, sxy, syy, far, fx, fy float64
	for i := range n {
		x, y := r.steadied(i)
		dx, dy := x-r.line.Rest.X, y-r.line.Rest.Y
		sxx += dx * dx
		sxy += dx * dy
		syy += dy * dy
		if d := math.Hypot(dx, dy); d > far {
			far, fx, fy = d, dx, dy
		}
	}
	angle := 0.5 * math.Atan2(2*sxy, sxx-syy)
	ux, uy := math.Cos(angle), math.Sin(angle)
	if ux*fx+uy*fy < 0 {
		ux, uy = -ux, -uy
	}
	r.line.Ux, r.line.Uy = ux, uy
}

// along is how far up the flight line sighting i is, px.
func (r *refiner) along(i int) float64 {
	x, y := r.steadied(i)
	return (x-r.line.Rest.X)*r.line.Ux + (y-r.line.Rest.Y)*r.line.Uy
}

// restFrames finds the sightings before motion: the leading ones within slack px of the first ones.
func (r *refiner) restFrames(slack float64) {
	n := len(r.sights)
	r.rest = r.rest[:0]
	var lead []float64
	for i := range min(n, 5) {
		lead = append(lead, r.along(i))
	}
	zero := fit.Median(lead[:max(1, len(lead)-2)])
	for i := range n {
		if math.Abs(r.along(i)-zero) > slack {
			break
		}
		r.rest = append(r.rest, i)
	}
	if len(r.rest) == 0 {
		r.rest = append(r.rest, 0)
	}
	if len(r.rest) > restKept {
		r.rest = r.rest[len(r.rest)-restKept:]
	}
}

// makeReference averages the frames at rest. Where they do not lie on one another to a
// twentieth of a pixel they are first brought there.
func (r *refiner) makeReference() bool {
	r.chooseReference()
	base := r.refs[len(r.refs)/2]
	for _, i := range r.refs { // the one most like the patch as it was chosen
		if r.sights[i].quality > r.sights[base].quality {
			base = i
		}
	}
	c := &r.sights[base].crop
	if c.w == 0 {
		return false
	}
	cx, cy := float64(c.x+c.w/2)-0.5*float64(1-c.w%2), float64(c.y+c.h/2)-0.5*float64(1-c.h%2)
	single := &patch{w: r.patchW, h: r.patchH, along: r.axis(), weight: r.weight, pix: r.resample([]int{base}, []warp{{X: cx, Y: cy, A: 1}})}
	m, ok := single.matcher(r.basis, 0, 0)
	if !ok {
		return false
	}
	got := make([]match, len(r.refs))
	parallel(len(got), r.workers, r.basis, func(s *scratch, k int) { got[k] = r.match(s, m, r.refs[k]) })
	var idx []int
	var at []warp
	var spread float64
	for k, g := range got {
		if g.ok && math.Hypot(g.X-r.warps[r.refs[k]].X, g.Y-r.warps[r.refs[k]].Y) < cropSlack {
			idx, at = append(idx, r.refs[k]), append(at, warp{X: g.X, Y: g.Y, A: 1})
			spread = max(spread, math.Abs(g.X-cx), math.Abs(g.Y-cy))
		}
	}
	r.patch = single
	var noise []float64
	for _, g := range got {
		if g.ok {
			noise = append(noise, g.noise/math.Sqrt2)
		}
	}
	r.noise = fit.Median(noise)
	if len(idx) > 1 {
		if spread < 0.1 {
			for k := range at {
				at[k] = warp{X: cx, Y: cy, A: 1}
			}
		}
		r.patch = &patch{w: r.patchW, h: r.patchH, along: r.axis(), weight: r.weight, pix: r.resample(idx, at)}
	}
	r.anchor = camera.Pixel{X: cx, Y: cy}
	return true
}

// leastRest is how many frames at rest make a reference that need not be helped.
const leastRest = 8

// average makes the reference from frames in motion too where few are at rest, each brought to
// its place by the match: the more frames, the less noise, and the less any one frame's own sampling counts.
func (r *refiner) average() {
	if len(r.rest) >= leastRest || r.flight {
		return
	}
	idx, at := []int{}, []warp{}
	for i, m := range r.matches {
		if m.ok && r.blur[i] <= 4 && math.Abs(r.warps[i].size()-1) < 0.02 && math.Abs(m.g-1) < 0.2 && len(idx) < averaged {
			idx, at = append(idx, i), append(at, warp{X: r.warps[i].X, Y: r.warps[i].Y, A: 1})
		}
	}
	if len(idx) < 3 {
		return
	}
	pix := r.resample(idx, at)
	r.patch.pix = pix
}

const averaged = 24

// resample averages the sightings' crops over the patch and its margin, centred on the given warps.
func (r *refiner) resample(idx []int, at []warp) []float32 {
	W, H := r.patchW+2*margin, r.patchH+2*margin
	parts := make([][]float32, len(idx))
	parallel(len(idx), r.workers, r.basis, func(s *scratch, k int) {
		c := &r.sights[idx[k]].crop
		s.pix = c.levels(s.pix)
		out := make([]float32, W*H)
		x0, y0 := at[k].X-float64(c.x)-float64(W-1)/2, at[k].Y-float64(c.y)-float64(H-1)/2
		ix, iy := math.Round(x0), math.Round(y0)
		whole := math.Abs(x0-ix) < 1e-6 && math.Abs(y0-iy) < 1e-6
		if !whole {
			s.sp.set(s.pix, c.w, c.h)
		}
		for y := range H {
			for x := range W {
				if whole {
					px, py := min(max(x+int(ix), 0), c.w-1), min(max(y+int(iy), 0), c.h-1)
					out[y*W+x] = s.pix[py*c.w+px]
					continue
				}
				fx := min(max(x0+float64(x), 2), float64(c.w)-4.01)
				fy := min(max(y0+float64(y), 2), float64(c.h)-4.01)
				out[y*W+x] = s.sp.at(float32(fx), float32(fy))
			}
		}
		parts[k] = out
	})
	sum := make([]float32, W*H)
	for _, p := range parts {
		for i, v := range p {
			sum[i] += v / float32(len(parts))
		}
	}
	return sum
}

// speed is how fast the picture of the vehicle moves in sighting i, px/s.
func (r *refiner) speed(i int) float64 {
	a, b := max(0, i-1), min(len(r.sights)-1, i+1)
	way := math.Hypot(r.warps[b].X-r.warps[a].X, r.warps[b].Y-r.warps[a].Y)
	if a == b || way < 0.5 {
		return 0
	}
	return way / (r.sights[b].t - r.sights[a].t)
}

// measureBlur works out how far each frame's picture is drawn out, speed times exposure in px of the reference, beyond what the
// reference itself is where no frame is at rest.
func (r *refiner) measureBlur() {
	if r.exposure <= 0 {
		return
	}
	var own float64
	for _, i := range r.refs {
		own += r.speed(i) / float64(len(r.refs))
	}
	for i := range r.sights {
		r.blur[i] = min(mostBlur, int(math.Round(max(0, r.speed(i)-own)*r.exposure/r.warps[i].size()/blurStep)))
	}
}

// guessExposure finds the exposure with which the fastest frames look most like the reference drawn out by it.
func (r *refiner) guessExposure() {
	n := len(r.sights)
	idx := make([]int, 0, n)
	for i := range n {
		if r.sights[i].crop.w > 0 {
			idx = append(idx, i)
		}
	}
	slices.SortStableFunc(idx, func(a, b int) int {
		return int(math.Round(1000 * (r.speed(b) - r.speed(a)) * (r.sights[n-1].t - r.sights[0].t) / float64(n)))
	})
	idx = idx[:min(len(idx), 8)]
	if n < 2 || len(idx) == 0 {
		return
	}
	step := (r.sights[n-1].t - r.sights[0].t) / float64(r.sights[n-1].frame-r.sights[0].frame)
	if r.speed(idx[0])*step < leastDrawn {
		return
	}
	best, exposure := 0.0, 0.0
	for _, share := range []float64{0, 0.1, 0.2, 0.3, 0.45, 0.6, 0.8, 1} {
		r.exposure = share * step
		r.measureBlur()
		ms := r.matchers(idx, 4)
		q := make([]float64, len(idx))
		parallel(len(idx), r.workers, r.basis, func(s *scratch, k int) {
			if m := r.match(s, ms[r.blur[idx[k]]], idx[k]); m.ok {
				q[k] = m.quality
			}
		})
		if m := fit.Median(q); m > best+0.002 {
			best, exposure = m, r.exposure
		}
	}
	r.exposure = exposure
	clear(r.blur)
}

// leastDrawn is the way in one frame interval, px, from which on an unknown exposure may show.
const leastDrawn = 3.0

// matchers makes one for each blur that occurs among the sightings, with n regressors.
func (r *refiner) matchers(idx []int, n int) map[int]*matcher {
	var keys []int
	for _, i := range idx {
		keys = append(keys, r.blur[i])
	}
	slices.Sort(keys)
	keys = slices.Compact(keys)
	made := make([]*matcher, len(keys))
	parallel(len(keys), r.workers, r.basis, func(_ *scratch, k int) {
		b := float64(keys[k]) * blurStep
		m, ok := r.patch.matcher(r.basis, b*r.line.Ux, b*r.line.Uy)
		if ok && n != m.n && !m.solve(n) {
			ok = m.solve(4)
		}
		if ok {
			made[k] = m
		}
	})
	out := map[int]*matcher{}
	for k, key := range keys {
		out[key] = made[k]
	}
	return out
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
		r.matches[i].ok = false
	}
	r.matchAll(idx, n)
	var failed []int
	for _, i := range idx {
		if !r.near(i) {
			failed = append(failed, i)
		}
	}
	if n == maxReg && len(failed) > 0 {
		r.matchAll(failed, 4)
	}
	if r.flight {
		r.matchCore(failed)
	}
	some := false
	for _, i := range idx {
		m := &r.matches[i]
		m.ok = r.near(i)
		if m.ok {
			r.warps[i] = m.warp
			some = true
		}
	}
	return some
}

func (r *refiner) matchAll(idx []int, n int) {
	ms := r.matchers(idx, n)
	parallel(len(idx), r.workers, r.basis, func(s *scratch, k int) {
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
	return m.ok && math.Hypot(m.X-s.x, m.Y-s.y) <= r.reach && math.Abs(m.size()-1) < mostSize
}

// mostSize is how much larger or smaller a vehicle may be matched.
const mostSize = 0.6

const (
	mostSamples  = 48 // frames from which weights are learned
	leastSamples = 3
)

// learnWeights finds how well each pixel of the patch keeps up with the vehicle: the variance of
// its residual over frames in motion, beside what noise does at rest. A pixel of the background, or one half covered, differs as soon as
// another background lies behind it; it is weighed down, by inverse variance.
func (r *refiner) learnWeights() {
	idx := r.inMotion(mostSamples)
	if len(idx) < leastSamples {
		return
	}
	maps := r.residuals(r.patch, idx)
	v := make([]float64, r.patchW*r.patchH)
	used := 0
	for _, m := range maps {
		if m == nil {
			continue
		}
		used++
		for k, e := range m {
			v[k] += float64(e * e)
		}
	}
	if used < leastSamples {
		return
	}
	for k := range v {
		v[k] /= float64(used)
	}
	w := r.inverse(v, r.steepness())
	if r.veil != nil {
		if in := r.inside(); in != nil {
			for k := range w {
				w[k] *= in[k]
			}
		}
	}
	r.weight, r.patch.weight = w, w
}

// inMotion picks up to most sightings, evenly, from those that are off the rest place.
func (r *refiner) inMotion(most int) []int {
	var idx []int
	for i := range r.sights {
		if r.along(i) > 3 && r.sights[i].crop.w > 0 {
			idx = append(idx, i)
		}
	}
	if len(idx) <= most {
		return idx
	}
	some := make([]int, most)
	for k := range some {
		some[k] = idx[k*len(idx)/most]
	}
	return some
}

// residuals returns, per frame, picture less matched reference at each pixel of the patch (nil where not found).
func (r *refiner) residuals(p *patch, idx []int) [][]float32 {
	ms := r.matchers(idx, maxReg)
	// The same references over every pixel, for residuals outside the weights too.
	wide := *p
	wide.weight = flat(p.w * p.h)
	keep := r.patch
	r.patch = &wide
	every := r.matchers(idx, 4)
	r.patch = keep
	out := make([][]float32, len(idx))
	parallel(len(idx), r.workers, r.basis, func(s *scratch, k int) {
		i := idx[k]
		m, e := ms[r.blur[i]], every[r.blur[i]]
		got := r.match(s, m, i)
		if !got.ok || e == nil || len(e.t) != p.w*p.h {
			return
		}
		local := got.warp
		local.X -= float64(r.sights[i].crop.x)
		local.Y -= float64(r.sights[i].crop.y)
		if s.back != nil && e.beta != nil {
			if e = e.unveil(s, local); e == nil {
				return
			}
		}
		if !e.sample(s, local) {
			return
		}
		r.warps[i] = got.warp
		res := make([]float32, len(e.t))
		g, o := float32(got.g), float32(got.o)
		for j, f := range s.f {
			res[j] = (f+e.mean-o)/g - e.t[j] - e.mean
		}
		out[k] = res
	})
	return out
}

// edgeError is the misplacement of an edge, px, that is taken for granted: at sharp edges the sampling itself leaves residuals
// as large as such a shift would, and these pixels tell most about the place.
const edgeError = 0.06

// steepness is the largest squared gradient of the reference in the 3 by 3 neighbourhood of each pixel.
func (r *refiner) steepness() []float64 {
	W, H := r.patchW+2*margin, r.patchH+2*margin
	sp := &spline{basis: r.basis}
	sp.set(r.patch.pix, W, H)
	g := make([]float64, W*H)
	for y := margin - 1; y <= H-margin; y++ {
		for x := margin - 1; x <= W-margin; x++ {
			gx, gy := sp.gradient(x, y)
			g[y*W+x] = float64(gx*gx + gy*gy)
		}
	}
	out := make([]float64, r.patchW*r.patchH)
	for k := range out {
		x, y := k%r.patchW+margin, k/r.patchW+margin
		for j := y - 1; j <= y+1; j++ {
			out[k] = max(out[k], g[j*W+x-1], g[j*W+x], g[j*W+x+1])
		}
	}
	return out
}

// inverse turns variances into weights, the least noisy quarter of the pixels setting the floor;
// smoothed over neighbours, for few frames tell little about one pixel.
func (r *refiner) inverse(v, steep []float64) []float32 {
	w, h := r.patchW, r.patchH
	smooth := make([]float64, len(v))
	for y := range h {
		for x := range w {
			var sum, n float64
			for j := max(0, y-1); j <= min(h-1, y+1); j++ {
				for i := max(0, x-1); i <= min(w-1, x+1); i++ {
					sum += v[j*w+i]
					n++
				}
			}
			smooth[y*w+x] = sum / n
		}
	}
	sorted := slices.Clone(smooth)
	slices.Sort(sorted)
	floor := max(sorted[len(sorted)/4], 1e-6)
	out := make([]float32, len(v))
	for k, s := range smooth {
		out[k] = float32(min(1, (floor+edgeError*edgeError*steep[k])/s))
		if out[k] < 0.02 {
			out[k] = 0
		}
	}
	return out
}

// smoothShape replaces size and turn of each frame by their smooth course up the flight line, a cubic
// that is 1 (and 0) where the reference was taken, so that their noise does not reach the place. Edges against another background mimic
// another size by some percent: a course that differs by no more than that is not believed.
func (r *refiner) smoothShape() {
	size, turn := r.course(func(w warp) float64 { return w.size() - 1 }), r.course(func(w warp) float64 { return math.Atan2(w.B, w.A) })
	r.usizes = make([]float64, len(r.warps))
	for i := range r.warps {
		if r.matches[i].ok {
			r.usizes[i] = r.matches[i].usize
		}
		k, t := 1+size(r.along(i)), turn(r.along(i))
		r.warps[i].A, r.warps[i].B = k*math.Cos(t), k*math.Sin(t)
	}
}

// shapeDoubt is the standard uncertainty of size and of turn (rad) that backgrounds may cause.
const shapeDoubt = 0.02

// course fits v = s (c1 + c2 s + c3 s²) over all sightings, s in units of the longest way, each
// coefficient drawn towards 0 as if it were known to be 0 within a third, and shrinks it by what backgrounds may cause.
func (r *refiner) course(v func(warp) float64) func(s float64) float64 {
	var far, lo, hi float64
	n := 0
	for i := range r.matches {
		if m := &r.matches[i]; m.ok && m.usize > 0 && math.Abs(r.along(i)-r.origin) > 3 {
			far = max(far, math.Abs(r.along(i)-r.origin))
			lo, hi = min(lo, r.along(i)-r.origin), max(hi, r.along(i)-r.origin)
			n++
		}
	}
	none := func(float64) float64 { return 0 }
	if n < leastSamples {
		return none
	}
	var c [3]float64
	scale := 1.0
	for range 5 { // reweighted, so that lone failures do not count
		var a [maxReg * maxReg]float64
		var rhs [3]float64
		var dev []float64
		for i := range r.matches {
			m := &r.matches[i]
			s := (r.along(i) - r.origin) / far
			if !m.ok || m.usize <= 0 || math.Abs(r.along(i)-r.origin) <= 3 {
				continue
			}
			e := v(m.warp) - s*(c[0]+s*(c[1]+s*c[2]))
			dev = append(dev, math.Abs(e))
			u := math.Hypot(m.usize, shapeDoubt)
			w := 1 / (u * u) / (1 + e*e/(4*scale*scale))
			row := [3]float64{s, s * s, s * s * s}
			for j := range row {
				for k := range row {
					a[j*maxReg+k] += w * row[j] * row[k]
				}
				rhs[j] += w * row[j] * v(m.warp)
			}
		}
		scale = max(fit.Median(dev), 1e-4)
		for j := range rhs {
			a[j*maxReg+j] += 9
		}
		if !invert(&a, 3) {
			return none
		}
		for j := range c {
			c[j] = a[j*maxReg]*rhs[0] + a[j*maxReg+1]*rhs[1] + a[j*maxReg+2]*rhs[2]
		}
	}
	end := c[0] + c[1] + c[2]
	if -lo > hi {
		end = -c[0] + c[1] - c[2]
	}
	end *= end
	believed := end / (end + shapeDoubt*shapeDoubt)
	return func(s float64) float64 {
		s = min(max(s-r.origin, lo), hi) / far
		return believed * s * (c[0] + s*(c[1]+s*c[2]))
	}
}

// axis is the picture's axis nearest the flight line.
func (r *refiner) axis() byte {
	if math.Abs(r.line.Ux) > math.Abs(r.line.Uy) {
		return 'x'
	}
	return 'y'
}
