package trace

import (
	"slices"

	"padside/register"
)

const (
	mostSamples  = 48 // frames from which weights are learned
	leastSamples = 3
)

// learnWeights finds how well each pixel of the patch keeps up with the vehicle: the variance of
// its residual over frames in motion, beside what noise does at rest. A pixel of the background, or one half covered, differs as soon as
// another background lies behind it; it is weighed down, by inverse variance.
func (r *refiner) learnWeights() {
	idx := slices.DeleteFunc(r.inMotion(mostSamples), func(i int) bool { return !r.flight && !r.matches[i].OK })
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
	r.weight, r.patch.Weight = w, w
}

// inMotion picks up to most sightings, evenly, from those that are off the rest place and may be learned from.
func (r *refiner) inMotion(most int) []int {
	var idx []int
	for i := range r.until {
		if r.along(i) > 3 && r.sights[i].crop.W > 0 {
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
func (r *refiner) residuals(p *register.Patch, idx []int) [][]float32 {
	ms := r.matchers(idx, register.MaxTerms)
	// The same references over every pixel, for residuals outside the weights too.
	wide := *p
	wide.Weight = register.Flat(p.W * p.H)
	keep := r.patch
	r.patch = &wide
	every := r.matchers(idx, 4)
	r.patch = keep
	out := make([][]float32, len(idx))
	register.Parallel(len(idx), r.workers, r.basis, func(s *register.Scratch, k int) {
		i := idx[k]
		m, e := ms[r.blur[i]], every[r.blur[i]]
		got := r.match(s, m, i)
		if !got.OK || e == nil || e.Pixels() != p.W*p.H {
			return
		}
		local := got
		local.X -= float64(r.sights[i].crop.X)
		local.Y -= float64(r.sights[i].crop.Y)
		res := e.Residuals(s, local)
		if res == nil {
			return
		}
		r.warps[i] = got.Warp
		out[k] = res
	})
	return out
}

// edgeError is the misplacement of an edge, px, that is taken for granted: at sharp edges the sampling itself leaves residuals
// as large as such a shift would, and these pixels tell most about the place.
const edgeError = 0.06

// steepness is the largest squared gradient of the reference in the 3 by 3 neighbourhood of each pixel.
func (r *refiner) steepness() []float64 {
	sp := register.NewSpline(r.basis, r.patch.Pix, r.patchW+2*register.Margin, r.patchH+2*register.Margin)
	W := r.patchW + 2
	_, gx, gy := sp.Derivatives(register.Margin-1, register.Margin-1, W, r.patchH+2)
	out := make([]float64, r.patchW*r.patchH)
	for k := range out {
		for j := range 3 {
			o := (k/r.patchW+j)*W + k%r.patchW
			for i := o; i < o+3; i++ {
				out[k] = max(out[k], float64(gx[i]*gx[i]+gy[i]*gy[i]))
			}
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
