package trace

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"

	"padside/register"
)

// Ruler is how the length of the vehicle's barrel changes on the way up the flight line, against rest: the slope of a straight line through
// size 1 at rest, per pixel, with its standard uncertainty from the scatter of the frames. It tells how the flight's distance from the camera
// changes, whatever the cause: a length is seen (1 + c s)^2 as long at s px.
//
// A picture that is read row by row shows another length of what moves, in proportion to its speed. Of a place that is read k s later for each pixel farther up the
// flight line a length is seen 1 + k v times as long, v being the apparent speed, px/s from stamp to stamp (see skew.go). Rate is right for k = 0; At gives it for another.
type Ruler struct {
	Rate, U float64
	Reach   float64 // px up to which it was seen
	Wide    float64 // px, width of the barrel at rest
	Frames  int     // that it was seen in; 0: none
	// Skew is k, s/px, positive where higher places are read later, as the lengths alone tell it: by whatever of them goes with speed and not with the way. SkewU is
	// its standard uncertainty; 0: they tell nothing.
	Skew, SkewU float64
	// RatePerSkew and RateBend say how Rate changes with a given k: Rate + RatePerSkew k + RateBend k^2. U stays.
	RatePerSkew, RateBend float64
}

// At is the Rate for a given skew k, s/px; its standard uncertainty is U.
func (r Ruler) At(k float64) float64 { return r.Rate + k*(r.RatePerSkew+k*r.RateBend) }

const (
	rulerFrames = 24 // in motion that are measured
	leastRuler  = 10
	rulerSteps  = 5
	// rulerUpright is the least cosine between the flight and the picture's columns, along which lengths are taken.
	rulerUpright = 0.95
	// rulerScatter is the standard deviation of sizes about the line beyond which something else than the distance changes them (drawn
	// bottles: 0.0005 to 0.001).
	rulerScatter = 0.006
	// rulerU is the least standard uncertainty of a size far up, relative: what codec, blur and shading leave (drawn bottles: 0.0005). The
	// background shows through the edges of a barrel that is rulerNarrow px wide, and doubles it (drawn motor rockets, 4 to 7 px wide: 0.0017).
	rulerU      = 0.0007
	rulerNarrow = 8.0
	// tone: what moves is drawn out in light, and numbers go as light^(1/tone), with 1 for a bare sensor and about 2.2 for video (IEC
	// 61966-2-1). This is between; drawn bottles' rulers change by 0.001 at most from the one to the other.
	tone = 1.7
	// mostRuler is the change of size beyond which the match is not believed.
	mostRuler = 0.2
)

// ruler measures the barrel in frames spread over the way. Frames is 0 where there is none to be seen.
func (r *refiner) ruler() Ruler {
	idx := r.alongWay(rulerFrames)
	b := r.barrelOf(idx)
	if b == nil {
		return Ruler{}
	}
	least := rulerU * (1 + rulerNarrow/b.wide)
	out := fitRuler(b.lengths(r, idx, r.exposure), least)
	out.Wide = b.wide
	if by := r.exposureOff(); out.Frames > 0 && by > 0 {
		if other := fitRuler(b.lengths(r, idx, r.exposure+by), least); other.Frames > 0 {
			out.U = math.Hypot(out.U, other.Rate-out.Rate)
			if out.SkewU > 0 {
				out.SkewU = math.Hypot(out.SkewU, other.Skew-out.Skew)
			}
		}
	}
	return out
}

// barrelOf finds the barrel by the frames idx in motion; nil where there is none to be seen.
func (r *refiner) barrelOf(idx []int) *barrel {
	if r.plain || r.flight || r.falls || r.few || r.astray || len(r.rest) < leastRest || -r.line.Uy < rulerUpright || len(idx) < leastRuler {
		return nil
	}
	return r.newBarrel(idx)
}

// alongWay picks up to n sightings with the whole vehicle, evenly over the way.
func (r *refiner) alongWay(n int) []int {
	seen := func(i int) bool {
		return r.matches[i].OK && r.sights[i].body.W > 0 && r.source(i) == SourceFollowed && !r.stray[i] && r.along(i) > 3
	}
	var far, next float64
	for i := range r.sights {
		if seen(i) {
			far = max(far, r.along(i))
		}
	}
	var idx []int
	for i := range r.sights {
		if s := r.along(i); seen(i) && s >= next {
			idx = append(idx, i)
			next = max(next, s-far/float64(n)) + far/float64(n)
		}
	}
	return idx
}

// drawAll makes how the whole vehicle looks at rest and drawn out as in each of the sightings.
func (b *barrel) drawAll(r *refiner, idx []int) {
	b.looks = map[int]*register.Field{0: b.drawn(r, 0)}
	for _, i := range idx {
		b.draw(r, r.blur[i])
	}
}

// draw makes how it looks drawn out by so many steps, unless that was done.
func (b *barrel) draw(r *refiner, blur int) {
	if b.looks[blur] == nil {
		b.looks[blur] = b.drawn(r, float64(blur)*blurStep)
	}
}

// drawn is how the whole vehicle looks drawn out over blur px along the flight, in light.
func (b *barrel) drawn(r *refiner, blur float64) *register.Field {
	W, H := b.w+2*register.Margin, b.h+2*register.Margin
	pix := b.pix
	if blur > register.LeastBlur {
		light := make([]float32, len(pix))
		for k, t := range pix {
			light[k] = float32(math.Pow(max(float64(t), 0)/255, tone))
		}
		pix = register.Blurred(register.NewSpline(r.basis, light, W, H), blur*r.line.Ux, blur*r.line.Uy)
		for k, t := range pix {
			pix[k] = float32(255 * math.Pow(max(float64(t), 0), 1/tone))
		}
	}
	return register.NewField(register.NewSpline(r.basis, pix, W, H), b.w, b.h)
}

// rulerTerms are the unknowns of one frame: gain, offset, place, length, light that changes along and across, and how far it has turned. A narrow barrel has one less.
const rulerTerms = 8

// measured is what one frame says of the barrel: its length against rest with its standard uncertainty from the frame's pixels, and by what angle it is seen more from
// above than at rest (rad). left is the mean square of what it leaves, levels^2. size 0: no match.
type measured struct{ size, u, turn, left float64 }

// measure matches the barrel in sighting i with a length of its own along the picture's columns: Gauss-Newton on the reference drawn out as in that
// frame.
func (b *barrel) measure(r *refiner, s *register.Scratch, i int) measured {
	return b.matched(r, s, i, b.looks[r.blur[i]])
}

// matched does so for one way it looks.
func (b *barrel) matched(r *refiner, s *register.Scratch, i int, look *register.Field) measured {
	c := &r.sights[i].body
	c.load(s)
	left := 0.0
	rise := b.rise(r, i) // once a frame: it asks for the camera's movement
	size, turn, u := r.warps[i].Size(), rise, 0.0
	terms := rulerTerms
	if b.wide < leastRound {
		terms--
	}
	var dx, dy float64
	s.F = slices.Grow(s.F[:0], len(b.keep))[:len(b.keep)]
	rows := make([][rulerTerms]float64, len(b.keep))
	for k, at := range b.keep {
		v := b.v + float64(at/b.w) - b.middle
		across := float64(at%b.w) - float64(b.w)/2
		gy := float64(look.GY[at])
		rows[k] = [rulerTerms]float64{float64(look.T[at]), 1, float64(look.GX[at]), gy, gy * v, v / 50, across / 50, gy * b.bulge(float64(at%b.w))}
	}
	for range rulerSteps {
		for k, at := range b.keep {
			x, y := float64(at%b.w), float64(at/b.w)
			px, _ := b.place(r, i, rise, x, y)
			_, my := b.place(r, i, rise, x, b.middle-b.v)
			px, py := px+dx, my+dy+size*(b.v+y-b.middle)+(turn-rise)*b.bulge(x)
			if !s.Window.Holds(px, py) {
				return measured{}
			}
			s.F[k] = s.Window.At(float32(px), float32(py))
		}
		q, cov, rest, ok := b.solve(rows, terms, s.F)
		if !ok {
			return measured{}
		}
		dx, dy = dx-min(max(q[2], -1), 1), dy-min(max(q[3], -1), 1)
		size -= min(max(q[4], -0.05), 0.05)
		turn -= min(max(q[7], -0.1), 0.1)
		u, left = cov, rest
	}
	if math.Hypot(dx, dy) > 3 || math.Abs(size-1) > mostRuler || !(u > 0) {
		return measured{}
	}
	return measured{size, u, turn, left}
}

// solve fits the first terms of the rows to the samples f by weighted least squares. It returns the terms over the gain, the standard uncertainty of the length, and the mean square of what is left.
func (b *barrel) solve(rows [][rulerTerms]float64, terms int, f []float32) (q [rulerTerms]float64, u, left float64, ok bool) {
	sum, right := make([]float64, terms*terms), make([]float64, terms)
	for k := range rows {
		row := &rows[k]
		for j, e := range row[:terms] {
			e *= b.weight[k]
			for m := j; m < terms; m++ {
				sum[j*terms+m] += e * row[m]
			}
			right[j] += e * float64(f[k])
		}
	}
	var chol mat.Cholesky
	var x mat.VecDense
	var inverse mat.SymDense
	if !chol.Factorize(mat.NewSymDense(terms, sum)) || chol.Cond() > 1e12 ||
		chol.SolveVecTo(&x, mat.NewVecDense(terms, right)) != nil || chol.InverseTo(&inverse) != nil || !(x.AtVec(0) > 0.2) {
		return q, 0, 0, false
	}
	var ssr, n float64
	for k := range rows {
		e := float64(f[k])
		for j, t := range rows[k][:terms] {
			e -= t * x.AtVec(j)
		}
		ssr, n = ssr+b.weight[k]*e*e, n+b.weight[k]
	}
	gain := x.AtVec(0)
	for j := range terms {
		q[j] = x.AtVec(j) / gain
	}
	return q, math.Sqrt(inverse.At(4, 4)*ssr/n) / gain, ssr / n, true
}
