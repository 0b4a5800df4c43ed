package trace

import (
	"math"
	"slices"

	"padside/fit"
	"padside/register"
)

// The barrel: where the vehicle is equally wide over a stretch of its length, a tube or the straight part of a bottle. What is painted there
// lies equally far in front of the axis, so that it stays a rigid ruler from wherever it is looked at. Seen from below instead of from above, a
// band on the nose, which is thinner, moves against one on the tube by several per cent of their distance; two on the tube do not.

const (
	barrelTolerance = 0.02  // by which share the barrel's width may vary
	barrelSlack     = 1.5   // px, beside it
	barrelGap       = 6     // rows of another width that are bridged: a dark band before dark trees
	barrelInset     = 3.0   // px from the outline that are left out, or a quarter of the width: the background shows there
	leastBarrel     = 24    // px long
	leastWide       = 3     // px
	mostBarrel      = 400   // px long, of the whole vehicle: more is not kept
	widestBarrel    = 160   // px
	barrelBeside    = 4     // px beside the patch, or a quarter of it
	barrelLooks     = 12    // frames in motion that tell what is vehicle and what is not
	barrelOff       = 0.3   // px by which an edge of the vehicle may be matched off while that is told,
	barrelGrows     = 0.006 // and so much more for each pixel from the traced point, for the ruler's own size is not known yet
	barrelNoise     = 6.0   // times the patch's usual variance beyond which a pixel is no vehicle
)

// wholeOf is the area of the whole vehicle, length px long, relative to the top left of its patch, which is its front; for a vehicle that goes
// up the picture. To either side it shows where fins stand out, for a tail that fins hide would pass for the barrel. It is empty where there is too little or too much of it.
func wholeOf(patch register.Area, length float64) register.Area {
	n := int(math.Ceil(length)) + 4
	if n < max(leastBarrel, patch.H) || n > mostBarrel || patch.W > widestBarrel {
		return register.Area{}
	}
	aside := max(barrelBeside, patch.W/4)
	return register.Area{X: -aside, Y: 0, W: patch.W + 2*aside, H: n}
}

// barrel is the whole vehicle as it looks at rest, and which of its pixels are the barrel's.
type barrel struct {
	w, h   int
	u, v   float64   // px, of the top left pixel from the traced point
	pix    []float32 // w + 2 margin by h + 2 margin, mean at rest
	keep   []int     // the barrel's pixels,
	weight []float64 // and what each counts
	middle float64   // px, v of the barrel's middle
	wide   float64   // px
	axis   float64   // px, x of its axis in the reference
	turn   float64   // rad per px of the flight line, by which it is seen more from above as it goes
	looks  map[int]*register.Field
}

// newBarrel finds the barrel. It returns nil where there is none to be seen.
func (r *refiner) newBarrel(moving []int) *barrel {
	base := -1
	for _, i := range r.rest {
		if r.sights[i].body.W > 0 {
			base = i
		}
	}
	if base < 0 {
		return nil
	}
	a := r.sights[base].body.Grown(-register.Margin - cropSlack)
	b := &barrel{w: a.W, h: a.H, u: float64(a.X) - r.warps[base].X, v: float64(a.Y) - r.warps[base].Y}
	b.average(r)
	b.drawAll(r, moving)
	if !b.mark(r, moving) {
		return nil
	}
	for range barrelTurns { // again, now that it is known how it turns
		if b.wide < leastRound {
			break
		}
		if b.turn = b.turning(r, moving); b.turn == 0 || !b.mark(r, moving) {
			return nil
		}
	}
	return b
}

// mark finds the barrel's pixels by how they look over the frames in motion. It reports whether there are enough.
func (b *barrel) mark(r *refiner, moving []int) bool {
	v := b.scatter(r, thinned(moving, barrelLooks))
	if v == nil {
		return false
	}
	b.keep, b.weight = nil, nil
	return b.find(r, v)
}

// average makes the reference of all frames at rest.
func (b *barrel) average(r *refiner) {
	W, H := b.w+2*register.Margin, b.h+2*register.Margin
	b.pix = make([]float32, W*H)
	s := register.NewScratch(r.basis)
	n := float32(0)
	for _, i := range r.rest {
		c := &r.sights[i].body
		if c.W == 0 {
			continue
		}
		s.Pix = c.levels(s.Pix)
		x0, y0 := r.warps[i].X+b.u-register.Margin-float64(c.X), r.warps[i].Y+b.v-register.Margin-float64(c.Y)
		ix, iy := int(math.Round(x0)), int(math.Round(y0))
		whole := math.Abs(x0-float64(ix)) < 0.1 && math.Abs(y0-float64(iy)) < 0.1 // a codec's frames at rest are the same anyway
		if !whole {
			s.Set(s.Pix, c.W, c.H)
		}
		for y := range H {
			for x := range W {
				if whole {
					b.pix[y*W+x] += s.Pix[min(max(y+iy, 0), c.H-1)*c.W+min(max(x+ix, 0), c.W-1)]
				} else {
					b.pix[y*W+x] += s.Window.At(float32(min(max(x0+float64(x), 2), float64(c.W)-4.01)), float32(min(max(y0+float64(y), 2), float64(c.H)-4.01)))
				}
			}
		}
		n++
	}
	for k := range b.pix {
		b.pix[k] /= n
	}
}

// rise is how much of the barrel's near side is seen higher in sighting i, px for each px that it bulges towards the camera.
func (b *barrel) rise(r *refiner, i int) float64 {
	if b.turn == 0 {
		return 0
	}
	return b.turn * r.along(i)
}

// place is where pixel (x, y) of the reference is seen in the crop of sighting i, by the patch's place, size and turn, and the barrel's rise there.
func (b *barrel) place(r *refiner, i int, rise, x, y float64) (px, py float64) {
	w, c := &r.warps[i], &r.sights[i].body
	u, v := b.u+x, b.v+y
	if rise != 0 {
		v += rise * b.bulge(x)
	}
	return w.X + w.A*u - w.B*v - float64(c.X), w.Y + w.B*u + w.A*v - float64(c.Y)
}

// scatter is by how much each pixel differs from the reference over the frames idx in motion, levels²; nil where too few say so.
func (b *barrel) scatter(r *refiner, idx []int) []float64 {
	maps := make([][]float32, len(idx))
	register.Parallel(len(idx), r.workers, r.basis, func(s *register.Scratch, k int) {
		i := idx[k]
		c := &r.sights[i].body
		c.load(s)
		ref := b.looks[r.blur[i]].T
		out := make([]float32, b.w*b.h)
		g, o := float32(r.matches[i].G), float32(r.matches[i].O)
		rise := b.rise(r, i) // once a frame: it asks for the camera's movement
		for y := range b.h {
			for x := range b.w {
				px, py := b.place(r, i, rise, float64(x), float64(y))
				if !s.Window.Holds(px, py) {
					return
				}
				out[y*b.w+x] = (s.Window.At(float32(px), float32(py))-o)/g - ref[y*b.w+x]
			}
		}
		maps[k] = out
	})
	v := make([]float64, b.w*b.h)
	n := 0.0
	for _, m := range maps {
		if m == nil {
			continue
		}
		n++
		for k, e := range m {
			v[k] += float64(e * e)
		}
	}
	if n < leastSamples {
		return nil
	}
	for k := range v {
		v[k] /= n
	}
	return v
}

// find marks the barrel's pixels, v being by how much each scatters. It reports whether there are enough.
func (b *barrel) find(r *refiner, v []float64) bool {
	f := b.looks[0]
	steep := steepest(f, b.w, b.h)
	var core []float64
	for y := range b.h {
		if math.Abs(b.v+float64(y)+r.centre[1]) < float64(r.patchH)/2-4 { // the patch is the vehicle's for sure
			core = append(core, v[y*b.w+b.w/3:y*b.w+b.w-b.w/3]...)
		}
	}
	usual := fit.Median(core) + r.noise*r.noise
	off := func(y int) float64 { return math.Pow(barrelOff+barrelGrows*math.Abs(b.v+float64(y)), 2) }
	is := func(x, y int) bool {
		k := y*b.w + x
		return x >= 0 && x < b.w && v[k] < barrelNoise*usual+off(y)*steep[k]
	}
	left, right, widths := make([]float64, b.h), make([]float64, b.h), make([]float64, b.h)
	for y := range b.h {
		l, h := b.w/2, b.w/2
		for is(l-1, y) || is(l-2, y) {
			l--
		}
		for is(h+1, y) || is(h+2, y) {
			h++
		}
		left[y], right[y], widths[y] = float64(l), float64(h), float64(h-l+1)
	}
	wide, lo, hi := straight(widths)
	if hi-lo < leastBarrel {
		return false
	}
	inset := min(barrelInset, max(1, wide/4))
	l := int(math.Round(fit.Median(slices.Clone(left[lo:hi])) + inset))
	h := int(math.Round(fit.Median(slices.Clone(right[lo:hi])) - inset))
	for y := lo; y < hi; y++ {
		if !asWide(widths[y], wide) {
			continue
		}
		for x := max(l, 0); x <= min(h, b.w-1); x++ {
			k := y*b.w + x
			if is(x, y) {
				b.keep = append(b.keep, k)
				b.weight = append(b.weight, min(1, (usual+off(y)*steep[k])/max(v[k], 1e-6)))
			}
		}
	}
	b.middle, b.wide, b.axis = b.v+float64(lo+hi-1)/2, wide, (fit.Median(left[lo:hi])+fit.Median(right[lo:hi]))/2
	return h-l >= 1
}

// steepest is the largest squared gradient in the 3 by 3 neighbourhood of each pixel.
func steepest(f *register.Field, w, h int) []float64 {
	out := make([]float64, w*h)
	for y := range h {
		for x := range w {
			for j := max(0, y-1); j <= min(h-1, y+1); j++ {
				for i := max(0, x-1); i <= min(w-1, x+1); i++ {
					gx, gy := float64(f.GX[j*w+i]), float64(f.GY[j*w+i])
					out[y*w+x] = max(out[y*w+x], gx*gx+gy*gy)
				}
			}
		}
	}
	return out
}

// asWide reports whether a row is as wide as the barrel.
func asWide(width, wide float64) bool {
	return math.Abs(width-wide) <= barrelTolerance*wide+barrelSlack
}

// straight returns the width that most rows have, and the longest stretch of rows lo..hi-1 that have it.
func straight(widths []float64) (wide float64, lo, hi int) {
	most := 0
	for _, w := range widths {
		if w < leastWide { // no vehicle, or the launcher's pole
			continue
		}
		n := 0
		for _, o := range widths {
			if asWide(o, w) {
				n++
			}
		}
		if n > most || n == most && w > wide {
			most, wide = n, w
		}
	}
	from, last := -1, -1
	for y, w := range widths {
		if !asWide(w, wide) {
			continue
		}
		if from < 0 || y-last > barrelGap {
			from = y
		}
		last = y
		if last+1-from > hi-lo {
			lo, hi = from, last+1
		}
	}
	return wide, lo, hi
}
