package register

import (
	"math"

	"padside/footage"
)

// Searcher finds a reference in a picture to the nearest pixel by zero-mean normalised
// correlation of a thinned-out set of its pixels.
type Searcher struct {
	W, H int     // px, of the reference
	At   []int32 // x, y of each pixel of the reference, from its top left
	t    []float32
	Mean float32 // of the pixels compared; t is less that
	norm float32 // root of the sum of t²
	off  []int32 // offsets into a picture of width stride
	wide int
}

// MostSought bounds the pixels compared at each place: enough for a correlation good to 1/25.
const MostSought = 600

// leastSought is how many pixels are compared at least, where so many have a weight: of a thin
// vehicle in a wide patch a coarse grid may meet none. So many make a correlation good to about 1/5
// (its standard deviation for unlike pictures).
const leastSought = 30

// NewSearcher takes the w by h reference with its weights; pix is w by h. At most about most pixels
// are compared.
func NewSearcher(pix, weight []float32, w, h, most int) *Searcher {
	s := &Searcher{W: w, H: h}
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
		s.t[i] -= s.Mean
		sum += float64(s.t[i] * s.t[i])
	}
	s.norm = float32(math.Sqrt(sum))
	return s
}

// sample takes every step-th pixel, in either direction, that has a weight, and their mean.
func (s *Searcher) sample(pix, weight []float32, step int) {
	s.At, s.t, s.Mean = s.At[:0], s.t[:0], 0
	for y := step / 2; y < s.H; y += step {
		for x := step / 2; x < s.W; x += step {
			if weight[y*s.W+x] < 0.2 {
				continue
			}
			s.At = append(s.At, int32(x), int32(y))
			s.t = append(s.t, pix[y*s.W+x])
			s.Mean += pix[y*s.W+x]
		}
	}
	s.Mean /= max(1, float32(len(s.t)))
}

// Blind reports whether the reference has no contrast, or no pixel to compare: it is found nowhere.
func (s *Searcher) Blind() bool { return s.norm == 0 }

// Found is the place of the best correlation: X, Y of the reference's top left pixel in the
// picture.
type Found struct {
	X, Y    float64 // refined by a parabola
	Quality float64 // correlation
	Gain    float64 // contrast in units of the reference's
	Level   float64 // mean, levels of an 8-bit picture
	Edge    bool    // the best place lies at the border of the places tried
}

// Worth is what a place of the top left pixel counts for, by how alike it is: at most its
// correlation; -1 rules it out.
type Worth func(x, y int, c Alike) float32

// Seek tries every one of the places of the top left pixel at steps of step px and returns the one
// of most worth; places at which the reference would leave the picture are left out. A nil worth is
// the correlation.
func (s *Searcher) Seek(l *footage.Luma, places Area, step int, worth Worth) Found {
	places = places.Clip(Area{0, 0, l.Width - s.W + 1, l.Height - s.H + 1})
	if places.W <= 0 || places.H <= 0 || s.Blind() {
		return Found{Quality: -1}
	}
	if s.wide != l.Width {
		s.wide = l.Width
		s.off = grow(s.off, len(s.t))
		for i := range s.off {
			s.off[i] = s.At[2*i+1]*int32(l.Width) + s.At[2*i]
		}
	}
	at := func(x, y int) Alike {
		if l.Pix8 != nil {
			return correlate(s, l.Pix8[y*l.Width+x:])
		}
		return correlate(s, l.Pix16[y*l.Width+x:])
	}
	bx, by, most := places.X, places.Y, float32(-1)
	var best Alike
	for y := places.Y; y < places.Y+places.H; y += step {
		for x := places.X; x < places.X+places.W; x += step {
			c := at(x, y)
			v := c.Q
			if worth != nil && v > most {
				v = worth(x, y, c)
			}
			if v > most {
				bx, by, most, best = x, y, v, c
			}
		}
	}
	if step > 1 {
		around := Area{bx - step, by - step, 2*step + 1, 2*step + 1}
		return s.Seek(l, around.Clip(places), 1, worth)
	}
	if most <= -1 {
		return Found{Quality: -1}
	}
	q := func(x, y int) float32 { return at(x, y).Q }
	out := Found{X: float64(bx), Y: float64(by), Quality: float64(best.Q), Gain: float64(best.Gain)}
	out.Level = float64(best.Level * Grey(l))
	out.Edge = places.W > 2 && (bx == places.X || bx == places.X+places.W-1) ||
		places.H > 2 && (by == places.Y || by == places.Y+places.H-1)
	if bx > 0 && bx < l.Width-s.W {
		out.X += crest(q(bx-1, by), best.Q, q(bx+1, by))
	}
	if by > 0 && by < l.Height-s.H {
		out.Y += crest(q(bx, by-1), best.Q, q(bx, by+1))
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

// Alike says how the pixels at a place compare with a reference.
type Alike struct {
	Q     float32 // zero-mean normalised correlation
	Gain  float32 // slope of these pixels over the reference's
	Level float32 // their mean, in steps of the samples
}

// Like is the correlation of the pixels that start at pix[0], of a picture as wide as the one that
// is sought in.
func (s *Searcher) Like(pix []float32) float32 { return correlate(s, pix).Q }

// correlate compares the pixels that start at pix[0].
func correlate[T uint8 | uint16 | float32](s *Searcher, pix []T) Alike {
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
	out := Alike{Level: base + sf/n}
	if v := sff - sf*sf/n; v > 0 {
		out.Q, out.Gain = st/(s.norm*float32(math.Sqrt(float64(v)))), st/(s.norm*s.norm)
	}
	return out
}

// LeastMatch is the correlation below which nothing was found (common practice, no source).
const LeastMatch = 0.5
