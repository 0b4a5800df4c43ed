package camera

import "math"

// A shutter that reads row by row changes the length of a ruler that flies along by 1 + k w, w being its speed in the picture, px/s, and k the skew: by how much later
// a place is read for each px farther up the flight line, s/px. What is known of k beforehand, with what the lengths alone tell of it (by what goes with speed and not
// with the way), is Growth.Skew with SkewU. What is left of it in doubt widens the ruler, and the geometry tells it in turn: a lean of many degrees is less likely
// than a skew. So whoever has to know both, for the skew moves times as well, draws k first, of everything that is known of it, and then
// takes the scale for that k: At. Together those are draws of all unknowns, exactly where the perspective is linear in them.

// At is the Rate where the skew is k.
func (g Growth) At(k float64) float64 { return g.Rate + k*(g.RatePerSkew+k*g.RateBend) }

// perSkew is by how much Rate changes with the skew about what is known of it.
func (g Growth) perSkew() float64 { return g.RatePerSkew + 2*g.Skew*g.RateBend }

// At returns the scale for a shutter whose skew is k: the same heights at best, and a Warp whose draws are those of all other errors given that k. Of a
// scale that takes nothing from a ruler it is the same scale.
func (s *Scale) At(k float64) *Scale {
	if !s.sized.used || !s.sized.ruler {
		return s
	}
	out := *s
	out.sized = *s.sharp
	out.sized.rate = s.growth.At(k)
	return &out
}

// SkewSeen is the skew that the geometry makes of the ruler, with its standard uncertainty: the one with which the perspective of marks, tilt and distances and the expected
// lean show the ruler as long as it was seen. It takes nothing from Growth.Skew, which is to be put together with it by whoever draws the skew. ok is false where it tells nothing.
func (s *Scale) SkewSeen() (k, u float64, ok bool) {
	if !s.sized.used || !s.sized.ruler || s.growth.RatePerSkew == 0 {
		return 0, 0, false
	}
	z, rest := *s.sharp, s.rest()
	want := s.geometry(rest).c
	const step = 1e-3 // of the change of length over the way
	k = s.growth.Skew
	var slope float64
	for range sizeSteps {
		d := step / (z.reach * math.Abs(s.growth.RatePerSkew))
		z.rate = s.growth.At(k + d)
		more := z.seen(rest)
		z.rate = s.growth.At(k)
		c := z.seen(rest)
		if slope = (more - c) / d; slope == 0 {
			return 0, 0, false
		}
		k += (want - c) / slope
	}
	return k, math.Sqrt(s.seenVariance) / math.Abs(slope), true
}
