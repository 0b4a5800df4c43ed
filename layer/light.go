package layer

import "math"

// light is a frame's gain and offset against a reference, and how far off the line a cell may lie
// that tells them.
type light struct{ gain, offset, within float32 }

const (
	lightRounds = 4
	leastCells  = 10   // that tell the light
	gainU       = 0.03 // standard uncertainty of a frame's gain, that of the frame before being known
	farOff      = 3.0  // standard deviations
)

// even brings all frames to the gain and offset of the reference, so that exposure steps, lamps on
// mains and clouds before the sun do not matter. A frame's light is told by what lies ahead of the
// vehicle, from row front on: behind it, smoke covers the background and would be taken for another
// light; where too little lies ahead, it stays as it was.
func (b *Band) even(ref []float32, front []float64) {
	was := light{gain: 1}
	off := make([]float32, 0, len(ref))
	for i := range b.Frames {
		pix := b.Frames[i].Pix
		from := min(max(0, int(math.Ceil(front[i]+clearance))), b.Rows) * b.Cols
		l := was
		l.within = float32(math.Inf(1))
		for range lightRounds {
			l = l.fit(pix[from:], ref[from:], was, off)
		}
		for k, v := range pix {
			pix[k] = (v - l.offset) / l.gain
		}
		was = l
	}
}

// fit is a least-squares line of the frame's cells over the reference's, without those that lie
// more than three standard deviations off the line so far: leaves and birds are. Where the
// reference has no contrast the gain is that of the frame before. The cells' distances
// from the line are put into off.
func (l light) fit(pix, ref []float32, was light, off []float32) light {
	var n, sx, sy, sxx, sxy float64
	off = off[:0]
	for k, v := range pix {
		x := ref[k]
		if !(v <= saturated && x <= saturated) {
			continue
		}
		d := v - l.offset - l.gain*x
		off = append(off, max(d, -d))
		if d <= l.within && d >= -l.within {
			n, sx, sy, sxx, sxy = n+1, sx+float64(x), sy+float64(v), sxx+float64(x)*float64(x), sxy+float64(x)*float64(v)
		}
	}
	if n < leastCells {
		return was
	}
	noise := 1.4826 * float64(middle(off))
	ridge := max(1, noise*noise) / (gainU * gainU)
	slope := (sxy - sx*sy/n + ridge*float64(was.gain)) / (sxx - sx*sx/n + ridge)
	g := float32(min(max(slope, 0.2), 5))
	return light{gain: g, offset: float32(sy/n) - g*float32(sx/n), within: float32(farOff*noise + 1)}
}

// fronts are the rows of the vehicle's front in each frame, by the places known: between two by a
// straight line, before the first and after the last as there.
func (l *locator) fronts() []float64 {
	out := make([]float64, len(l.places))
	last := -1
	ahead := l.k.Ahead / l.b.Step
	for i, p := range l.places {
		if p.weight == 0 {
			continue
		}
		out[i] = p.row + ahead
		for k := last + 1; k < i; k++ {
			out[k] = out[i]
			if last >= 0 {
				out[k] = out[last] + (out[i]-out[last])*float64(k-last)/float64(i-last)
			}
		}
		last = i
	}
	for k := last + 1; last >= 0 && k < len(out); k++ {
		out[k] = out[last]
	}
	return out
}
