package stabilise

import "math"

// Light that changes. Under lamps on mains each frame has a light of its own, and so has a camera
// whose exposure follows the scene. A codec predicts such a frame as the last one times a weight
// (ITU-T H.264, 8.4.2.3): every sample changes, and nothing was coded anew. So what is held against
// the frame before is what the change of light leaves.

const (
	// relitLeast is the change of the mean, levels, from which on the light has changed: rounding
	// and noise leave less.
	relitLeast = 0.5
	// relitEqual is the share of samples that stay what they were above which it has not: a part of
	// them was copied.
	relitEqual = 0.3
	// relitLeft is by how much a sample may then differ from the one before times the weight,
	// levels, and still be a copy: weight and result are rounded.
	relitLeft = 1.5
)

// Light is what makes the samples of a frame from those of another: gain times the sample and
// offset.
type Light struct {
	gain, offset float32
	changed      bool
}

// LightOf fits it to n samples of two frames by least squares. Where the mean is the same, or many
// samples are, nothing changed.
func LightOf(n int, at func(k int) (before, now float32)) Light {
	var sa, sb, saa, sab float64
	equal := 0
	for k := range n {
		a, b := at(k)
		x, y := float64(a), float64(b)
		sa, sb, saa, sab = sa+x, sb+y, saa+x*x, sab+x*y
		if a == b {
			equal++
		}
	}
	m := float64(n)
	out := Light{gain: 1}
	if n == 0 || math.Abs(sb-sa) < relitLeast*m || float64(equal) > relitEqual*m {
		return out
	}
	out.changed = true
	if v := saa - sa*sa/m; v > m { // else there is nothing to tell a gain by
		out.gain = float32((sab - sa*sb/m) / v)
	}
	out.offset = float32(sb/m - float64(out.gain)*sa/m)
	return out
}

// Differs is by how much a sample differs from the one before in the light of now; 0 where it is a
// copy.
func (l Light) Differs(before, now float32) float32 {
	if !l.changed {
		return now - before
	}
	if e := now - l.gain*before - l.offset; math.Abs(float64(e)) > relitLeft {
		return e
	}
	return 0
}
