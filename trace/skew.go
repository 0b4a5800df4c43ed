package trace

import (
	"math"

	"padside/fit"
	"padside/register"
)

// Length by speed. A rolling shutter reads one row after the other. Let s be px up the flight line, and a place be read k s later for each px farther up. Of a body that
// flies at v the end that lies L farther up is seen at s' = s + L + v k (s' - s): the length seen is L/(1 - k v), and so is the speed that is seen from stamp to stamp, w =
// v/(1 - k v), against the true one. So the length is 1 + k w times the true one, exactly for even flight. Tilt, lens and lean change it by (1 + c s)^2, whatever the speed. Blur does
// not: both ends are drawn out alike.

// length is how long the barrel is seen in one frame, relative to rest, at s px up the flight line and at a speed of w px/s.
type length struct{ s, w, size float64 }

// lengths are those of the frames idx that say something, drawn out by an exposure: where there is no match that says nothing, nor does one of a large uncertainty.
func (b *barrel) lengths(r *refiner, idx []int, exposure float64) []length {
	for _, i := range idx {
		b.draw(r, r.blurOf(i, exposure))
	}
	seen := make([]measured, len(idx))
	register.Parallel(len(idx), r.workers, r.basis, func(s *register.Scratch, k int) {
		seen[k] = b.matched(r, s, idx[k], b.looks[r.blurOf(idx[k], exposure)])
	})
	var out []length
	for k, m := range seen {
		if m.size != 0 && m.u <= rulerScatter {
			out = append(out, length{r.along(idx[k]), r.speed(idx[k]), m.size})
		}
	}
	return out
}

const (
	skewRounds = 4 // of Gauss-Newton: k w is below 0.1
	// skewShape is the share of what all sizes far up err by together that may go with speed instead of with the way.
	skewShape = 0.5
	// leastSkewPart is the least share of the speeds' squares that does not go with the way: less, and the two cannot be told apart.
	leastSkewPart = 1e-3
)

// fitRuler fits rate and skew; least is the standard uncertainty of what all sizes far up err by together. Lengths that lie off by more than four deviations are left out.
// Frames is 0 where too few are left, or they scatter by more than a change of distance and a shutter explain.
func fitRuler(all []length, least float64) Ruler {
	used, scatter := all, math.Inf(1)
	var f rulerFit
	for range 3 {
		if len(used) < leastRuler {
			return Ruler{}
		}
		f = fitLengths(used)
		off := make([]float64, len(all))
		for i, l := range all {
			off[i] = math.Abs(f.off(l))
		}
		scatter = 1.4826 * fit.Median(off)
		used = nil
		for i, l := range all {
			if off[i] <= 4*max(scatter, least) {
				used = append(used, l)
			}
		}
	}
	if scatter > rulerScatter || len(used) < leastRuler {
		return Ruler{}
	}
	return f.ruler(used, scatter*math.Sqrt(float64(len(all))/float64(len(all)-2)), least)
}

// rulerFit is size = (1 + c s)^2 (1 + k w) fitted to lengths, and the sums of the equations.
type rulerFit struct{ c, k, ss, sw, ww float64 }

// off is by how much a length lies off the fit.
func (f rulerFit) off(l length) float64 {
	return l.size - math.Pow(1+f.c*l.s, 2)*(1+f.k*l.w)
}

// fitLengths fits by Gauss-Newton; k is 0 where speed and way cannot be told apart.
func fitLengths(used []length) (f rulerFit) {
	for range skewRounds {
		var ss, sw, ww, se, we float64
		for _, l := range used {
			p, e := 1+f.c*l.s, f.off(l)
			ds, dw := 2*l.s*p*(1+f.k*l.w), l.w*p*p
			ss, sw, ww, se, we = ss+ds*ds, sw+ds*dw, ww+dw*dw, se+ds*e, we+dw*e
		}
		if det := ss*ww - sw*sw; det > leastSkewPart*ss*ww {
			f.c, f.k = f.c+(ww*se-sw*we)/det, f.k+(ss*we-sw*se)/det
		} else {
			f.c += se / ss
		}
	}
	for _, l := range used {
		f.ss, f.sw, f.ww = f.ss+l.s*l.s, f.sw+l.s*l.w, f.ww+l.w*l.w
	}
	return f
}

// ruler is what the fit says, of lengths that scatter so much each and err by least together far up: the straight line through 1 for any given skew, and the skew.
func (f rulerFit) ruler(used []length, scatter, least float64) Ruler {
	out := Ruler{Frames: len(used)}
	for _, l := range used {
		out.Rate += l.s * (l.size - 1) / f.ss
		out.RatePerSkew -= l.s * l.size * l.w / f.ss
		out.RateBend += l.s * l.size * l.w * l.w / f.ss
		out.Reach = max(out.Reach, l.s)
	}
	out.U = math.Hypot(scatter/math.Sqrt(f.ss), least/out.Reach)
	if part := f.ww - f.sw*f.sw/f.ss; part > leastSkewPart*f.ww {
		out.Skew = f.k
		out.SkewU = math.Hypot(scatter, skewShape*least*math.Sqrt(float64(len(used)))) / math.Sqrt(part)
	}
	return out
}
