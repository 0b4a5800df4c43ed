package trace

import (
	"math"

	"padside/footage"
)

// searcher finds a reference in a picture to the nearest pixel by zero-mean normalised
// correlation of a thinned-out set of its pixels.
type searcher struct {
	w, h int
	at   []int32 // x, y of each pixel of the reference, from its top left
	t    []float32
	mean float32 // of the pixels compared; t is less that
	norm float32 // root of the sum of t²
	off  []int32 // offsets into a picture of width stride
	wide int
}

// mostSought bounds the pixels compared at each place: enough for a correlation good to 1/25.
const mostSought = 600

// leastSought is how many pixels are compared at least, where so many have a weight: of a thin
// vehicle in a wide patch a coarse grid may meet none.
const leastSought = leastEvident

// newSearcher takes the w by h reference with its weights; pix is w by h. At most about most pixels are compared.
func newSearcher(pix, weight []float32, w, h, most int) *searcher {
	s := &searcher{w: w, h: h}
	step := 1
	for (w/step)*(h/step) > most {
		step++
	}
	for s.sample(pix, weight, step); len(s.t) < leastSought && step > 1; {
		step--
		s.sample(pix, weight, step)
	}
	var sum float64
	for i := range s.t {
		s.t[i] -= s.mean
		sum += float64(s.t[i] * s.t[i])
	}
	s.norm = float32(math.Sqrt(sum))
	return s
}

// sample takes every step-th pixel, in either direction, that has a weight, and their mean.
func (s *searcher) sample(pix, weight []float32, step int) {
	s.at, s.t, s.mean = s.at[:0], s.t[:0], 0
	for y := step / 2; y < s.h; y += step {
		for x := step / 2; x < s.w; x += step {
			if weight[y*s.w+x] < 0.2 {
				continue
			}
			s.at = append(s.at, int32(x), int32(y))
			s.t = append(s.t, pix[y*s.w+x])
			s.mean += pix[y*s.w+x]
		}
	}
	s.mean /= max(1, float32(len(s.t)))
}

// blind reports whether the reference has no contrast, or no pixel to compare: it is found nowhere.
func (s *searcher) blind() bool { return s.norm == 0 }

// found is a place of the best correlation: x, y of the reference's top left pixel.
type found struct {
	x, y    float64 // refined by a parabola
	quality float64 // correlation
	gain    float64 // contrast in units of the reference's
	level   float64 // mean, levels of an 8-bit picture
	edge    bool    // the best place lies at the border of the places tried
}

// seek tries every place x0..x1, y0..y1 (inclusive) of the top left pixel at steps of step and returns the one of most
// worth; places at which the reference would leave the picture are left out. Worth, at most a place's
// correlation, may lower it, or rule places out (-1); nil: it is the correlation.
func (s *searcher) seek(l *footage.Luma, places area, step int, worth func(x, y int, c alike) float32) found {
	places = places.clip(area{0, 0, l.Width - s.w + 1, l.Height - s.h + 1})
	if places.w <= 0 || places.h <= 0 || s.blind() {
		return found{quality: -1}
	}
	if s.wide != l.Width {
		s.wide = l.Width
		s.off = grow(s.off, len(s.t))
		for i := range s.off {
			s.off[i] = s.at[2*i+1]*int32(l.Width) + s.at[2*i]
		}
	}
	at := func(x, y int) alike {
		if l.Pix8 != nil {
			return correlate(s, l.Pix8[y*l.Width+x:])
		}
		return correlate(s, l.Pix16[y*l.Width+x:])
	}
	bx, by, most := places.x, places.y, float32(-1)
	var best alike
	for y := places.y; y < places.y+places.h; y += step {
		for x := places.x; x < places.x+places.w; x += step {
			c := at(x, y)
			v := c.q
			if worth != nil && v > most {
				v = worth(x, y, c)
			}
			if v > most {
				bx, by, most, best = x, y, v, c
			}
		}
	}
	if step > 1 {
		around := area{bx - step, by - step, 2*step + 1, 2*step + 1}
		return s.seek(l, around.clip(places), 1, worth)
	}
	if most <= -1 {
		return found{quality: -1}
	}
	q := func(x, y int) float32 { return at(x, y).q }
	out := found{x: float64(bx), y: float64(by), quality: float64(best.q), gain: float64(best.gain), level: float64(best.level * grey(l))}
	out.edge = places.w > 2 && (bx == places.x || bx == places.x+places.w-1) || places.h > 2 && (by == places.y || by == places.y+places.h-1)
	if bx > 0 && bx < l.Width-s.w {
		out.x += crest(q(bx-1, by), best.q, q(bx+1, by))
	}
	if by > 0 && by < l.Height-s.h {
		out.y += crest(q(bx, by-1), best.q, q(bx, by+1))
	}
	return out
}

// crest is where the parabola through three neighbours has its top, -1/2 to 1/2.
func crest(a, b, c float32) float64 {
	d := a - 2*b + c
	if d >= 0 {
		return 0
	}
	return float64(min(max((a-c)/(2*d), -0.5), 0.5))
}

// alike says how the pixels at a place compare with a reference.
type alike struct {
	q     float32 // zero-mean normalised correlation
	gain  float32 // slope of these pixels over the reference's
	level float32 // their mean, in steps of the samples
}

// correlate compares the pixels that start at pix[0].
func correlate[T uint8 | uint16 | float32](s *searcher, pix []T) alike {
	var sf, sff, st float32
	// Numbers relative to the first pixel keep float32 sums exact enough for bright pictures.
	base := float32(pix[s.off[0]])
	for i, o := range s.off {
		f := float32(pix[o]) - base
		sf += f
		sff += f * f
		st += f * s.t[i]
	}
	n := float32(len(s.off))
	out := alike{level: base + sf/n}
	if v := sff - sf*sf/n; v > 0 {
		out.q, out.gain = st/(s.norm*float32(math.Sqrt(float64(v)))), st/(s.norm*s.norm)
	}
	return out
}
