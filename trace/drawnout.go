package trace

import (
	"math"
	"slices"

	"padside/fit"
	"padside/register"
)

// drawnOut is how far one frame is drawn out: the square of the length, px^2, against that of the way in a frame interval.
type drawnOut struct{ way, square, u float64 }

// remains matches the sightings idx with the reference drawn out by so many steps and returns the mean square of what each leaves, levels^2; 0 where it is not found.
type remains func(idx []int, blur func(i int) int) []float64

// leftBy is what remains of the patch.
func (r *refiner) leftBy(idx []int, blur func(i int) int) []float64 {
	kept := slices.Clone(r.blur)
	defer func() { r.blur = kept }()
	for _, i := range idx {
		r.blur[i] = blur(i)
	}
	ms := r.matchers(idx, 4)
	out := make([]float64, len(idx))
	register.Parallel(len(idx), r.workers, r.basis, func(s *register.Scratch, k int) {
		if m := r.match(s, ms[r.blur[idx[k]]], idx[k]); m.OK && math.Hypot(m.X-r.warps[idx[k]].X, m.Y-r.warps[idx[k]].Y) < 3 {
			out[k] = m.Noise * m.Noise
		}
	})
	return out
}

// leftBy is what remains of the barrel, its length and place, light and turn anew each time.
func (b *barrel) leftBy(r *refiner, idx []int, blur func(i int) int) []float64 {
	steps := make([]int, len(idx))
	for k, i := range idx {
		steps[k] = blur(i)
		b.draw(r, steps[k])
	}
	out := make([]float64, len(idx))
	register.Parallel(len(idx), r.workers, r.basis, func(s *register.Scratch, k int) {
		if m := b.matched(r, s, idx[k], b.looks[steps[k]]); m.size > 0 {
			out[k] = m.left
		}
	})
	return out
}

// scanExposure returns that of a few exposures which leaves least of the frames idx. From one to the next the middle frame's change counts, of those whose blur the patch can show.
func (r *refiner) scanExposure(idx []int, remain remains) float64 {
	fastest := 0.0
	for _, i := range idx {
		fastest = max(fastest, math.Sqrt(r.quicker(i)))
	}
	before := remain(idx, func(int) int { return 0 })
	var sum, best, exposure float64
	for b := 1.0; b <= fastest*r.most+1; b += max(1, b/4) {
		e := min(b/fastest, r.most)
		left := remain(idx, func(i int) int { return r.blurOf(i, e) })
		var by []float64
		for k, i := range idx {
			if left[k] > 0 && before[k] > 0 && float64(r.blurOf(i, e))*blurStep <= clearBlur {
				by = append(by, math.Log(left[k]/before[k]))
			}
		}
		if len(by) < leastExposed/2 {
			break
		}
		if sum += fit.Median(by); sum < best {
			best, exposure = sum, e
		}
		before = left
	}
	return exposure
}

// drawnOut measures it for each of the sightings idx, about an exposure.
func (r *refiner) drawnOut(idx []int, exposure, wide float64, remain remains) []drawnOut {
	var some []int
	for _, i := range idx {
		if float64(r.blurOf(i, exposure))*blurStep < clearBlur/1.3 {
			some = append(some, i)
		}
	}
	var steps, left [3][]float64
	for level := range steps {
		at := func(i int) int {
			b := float64(r.blurOf(i, exposure)) * blurStep
			by := wide * max(1, b/8)
			lo, hi := math.Pow(max(0, b-by), 2), math.Pow(b+by, 2)
			return int(math.Round(math.Sqrt(lo+float64(level)*(hi-lo)/2) / blurStep))
		}
		left[level] = remain(some, at)
		for _, i := range some {
			steps[level] = append(steps[level], float64(at(i))*blurStep)
		}
	}
	var out []drawnOut
	for k, i := range some {
		a, b, c := left[0][k], left[1][k], left[2][k]
		if a == 0 || b == 0 || c == 0 {
			continue
		}
		x0, x1, x2 := steps[0][k]*steps[0][k], steps[1][k]*steps[1][k], steps[2][k]*steps[2][k]
		s01, s12 := (b-a)/(x1-x0), (c-b)/(x2-x1)
		bend := (s12 - s01) / (x2 - x0) // half the second derivative
		if !(bend > 0) {
			continue
		}
		least := (x0+x1)/2 - s01/(2*bend)
		least = min(max(least, 2*x0-x2), 2*x2-x0)
		size := r.warps[i].Size()
		out = append(out, drawnOut{math.Sqrt(r.quicker(i)) * r.most, least * size * size, math.Sqrt(min(a, b, c)/bend) * size * size})
	}
	return out
}

// exposureOf works out the exposure, at most most, from how far frames are drawn out; doubt is how many times blurDoubt and blurShare all of them may err by together.
func exposureOf(seen []drawnOut, most, doubt float64) Exposure {
	share2, u, ok := shareOf(seen)
	if !ok {
		return unknownExposure(most)
	}
	var far, weight float64 // of the way that counts most, for what all have together
	for _, d := range seen {
		w := d.way * d.way / (d.u * d.u)
		far, weight = far+w*d.way*d.way, weight+w
	}
	way := math.Sqrt(far / weight)
	length := math.Sqrt(max(0, share2)) * way
	common := doubt * math.Hypot(blurDoubt, blurShare*length)
	u = math.Hypot(u, (2*length*common+common*common)/(way*way))
	root := func(v float64) float64 { return min(1, math.Sqrt(max(0, v))) * most }
	out := Exposure{Value: root(share2), Least: root(share2 - 1.96*u), Most: root(share2 + 1.96*u), Seen: true}
	if out.Least == 0 && out.Most == most {
		return unknownExposure(most)
	}
	if out.Least == 0 {
		out.Value = min(out.Value, out.Most/2)
	}
	out.U = (out.Most - out.Least) / (2 * 1.96)
	return out
}

// shareOf fits square = share^2 way^2 + c, c being known to be 0 within softening, by reweighted least squares, so that lone frames do not count. It returns share^2
// with its standard uncertainty from the frames' scatter.
func shareOf(seen []drawnOut) (share2, u float64, ok bool) {
	c, scale := 0.0, math.Inf(1)
	for range 6 {
		var aa, ab, bb, ay, by float64
		var off []float64
		for _, d := range seen {
			e := (d.square - share2*d.way*d.way - c) / d.u
			off = append(off, math.Abs(e))
			w := 1 / (d.u * d.u)
			if scale < math.Inf(1) {
				w /= 1 + e*e/(4*scale*scale)
			}
			x := d.way * d.way
			aa, ab, bb, ay, by = aa+w*x*x, ab+w*x, bb+w, ay+w*x*d.square, by+w*d.square
		}
		if scale < math.Inf(1) {
			bb += scale * scale / (softening * softening)
		}
		det := aa*bb - ab*ab
		if !(det > 0) {
			return 0, 0, false
		}
		share2, c = (bb*ay-ab*by)/det, (aa*by-ab*ay)/det
		scale = max(1.4826*fit.Median(off), 1e-3)
		u = scale * math.Sqrt(bb/det)
	}
	n := float64(len(seen))
	return share2, u * math.Sqrt(n/(n-2)*lasting(seen, share2, c)), true
}

// lasting is by how much the variance of a fit to what scatters so is larger than if each frame erred by itself: (1 + a)/(1 - a) for errors of which a share a is the last
// frame's (a first-order autoregression), as they are while the same background lies behind.
func lasting(seen []drawnOut, share2, c float64) float64 {
	var own, next, before float64
	for k, d := range seen {
		e := (d.square - share2*d.way*d.way - c) / d.u
		own += e * e
		if k > 0 {
			next += e * before
		}
		before = e
	}
	if own == 0 {
		return 1
	}
	a := min(max(next/own, 0), 0.9)
	return (1 + a) / (1 - a)
}
