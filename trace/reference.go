package trace

import (
	"math"

	"padside/camera"
	"padside/fit"
	"padside/register"
)

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
	if c.W == 0 {
		return false
	}
	cx, cy := float64(c.X+c.W/2)-0.5*float64(1-c.W%2), float64(c.Y+c.H/2)-0.5*float64(1-c.H%2)
	single := &register.Patch{W: r.patchW, H: r.patchH, Along: r.axis(), Weight: r.weight, Pix: r.resample([]int{base}, []register.Warp{{X: cx, Y: cy, A: 1}})}
	m, ok := single.Matcher(r.basis, 0, 0)
	if !ok {
		return false
	}
	got := make([]register.Match, len(r.refs))
	register.Parallel(len(got), r.workers, r.basis, func(s *register.Scratch, k int) { got[k] = r.match(s, m, r.refs[k]) })
	var idx []int
	var at []register.Warp
	var spread float64
	for k, g := range got {
		if g.OK && math.Hypot(g.X-r.warps[r.refs[k]].X, g.Y-r.warps[r.refs[k]].Y) < cropSlack {
			idx, at = append(idx, r.refs[k]), append(at, register.Warp{X: g.X, Y: g.Y, A: 1})
			spread = max(spread, math.Abs(g.X-cx), math.Abs(g.Y-cy))
		}
	}
	r.patch, r.seenAt = single, nil
	var noise []float64
	for _, g := range got {
		if g.OK {
			noise = append(noise, g.Noise/math.Sqrt2)
		}
	}
	r.noise = fit.Median(noise)
	if len(idx) > 1 {
		if spread < 0.1 {
			for k := range at {
				at[k] = register.Warp{X: cx, Y: cy, A: 1}
			}
		}
		r.patch = &register.Patch{W: r.patchW, H: r.patchH, Along: r.axis(), Weight: r.weight, Pix: r.resample(idx, at)}
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
	idx, at := []int{}, []register.Warp{}
	for i, m := range r.matches {
		if m.OK && r.blur[i] <= 4 && math.Abs(r.warps[i].Size()-1) < 0.02 && math.Abs(m.G-1) < 0.2 && len(idx) < averaged {
			idx, at = append(idx, i), append(at, register.Warp{X: r.warps[i].X, Y: r.warps[i].Y, A: 1})
		}
	}
	if len(idx) < 3 {
		return
	}
	pix := r.resample(idx, at)
	r.patch.Pix, r.seenAt = pix, nil
}

const averaged = 24

// resample averages the sightings' crops over the patch and its margin, centred on the given warps.
func (r *refiner) resample(idx []int, at []register.Warp) []float32 {
	W, H := r.patchW+2*register.Margin, r.patchH+2*register.Margin
	parts := make([][]float32, len(idx))
	register.Parallel(len(idx), r.workers, r.basis, func(s *register.Scratch, k int) {
		c := &r.sights[idx[k]].crop
		out := make([]float32, W*H)
		x0, y0 := at[k].X-float64(c.X)-float64(W-1)/2, at[k].Y-float64(c.Y)-float64(H-1)/2
		ix, iy := math.Round(x0), math.Round(y0)
		whole := math.Abs(x0-ix) < 1e-6 && math.Abs(y0-iy) < 1e-6
		if whole {
			s.Pix = c.levels(s.Pix)
		} else {
			c.load(s)
		}
		for y := range H {
			for x := range W {
				if whole {
					px, py := min(max(x+int(ix), 0), c.W-1), min(max(y+int(iy), 0), c.H-1)
					out[y*W+x] = s.Pix[py*c.W+px]
					continue
				}
				fx := min(max(x0+float64(x), 2), float64(c.W)-4.01)
				fy := min(max(y0+float64(y), 2), float64(c.H)-4.01)
				out[y*W+x] = s.Window.At(float32(fx), float32(fy))
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
