package layer

import "math"

// lesson is a frame to learn the vehicle's looks from: where it is in it, and how sure that is.
type lesson struct {
	frame    int // of the band
	row, col float64
	weight   float64 // probability of the place; 0: not known
	size     float64 // of the vehicle as it is seen there, 1 at rest
}

const (
	// insideOdds and marginOdds are the log odds that a cell of the extent, or of the margin, is the
	// vehicle's before anything is seen.
	insideOdds, marginOdds = 0.7, -1.5
	// outlier is the square of a residual, in variances, beyond which it counts no more.
	outlier = 12.0
	// alike is how many lessons in a row err alike.
	alike = 2.0
)

// learn takes the vehicle's light from the lessons, and which cells are the vehicle's from how much
// better they are explained by one light than by the background. The first lesson shows it at rest,
// where that is known: its light stands unless what moves has clearly another, for a launcher or a
// hand may have hidden it.
func (t *template) learn(b *Band, d *backdrop, lessons []lesson, rests bool, noise float32) {
	for k := range t.alpha {
		s := b.samples(d, lessons, k/t.W-t.Row, k%t.W-t.Col)
		if len(s) < 2 {
			continue
		}
		light, own := s.light(rests, leastVariance+noise*noise)
		odds := marginOdds
		if t.inside(k) {
			odds = insideOdds
		}
		a := float32(1 / (1 + math.Exp(-odds-s.odds(light, own))))
		t.alpha[k], t.light[k], t.variance[k], t.doubt[k] = a, light, own, a*(1-a)
	}
	t.soften()
}

// soften adds to each cell's variance what half a cell's shift changes it by: a place is a whole
// cell.
func (t *template) soften() {
	for k := range t.light {
		r := k / t.W
		if r == 0 || r == t.H-1 || t.alpha[k-t.W] < 0.3 || t.alpha[k+t.W] < 0.3 {
			continue
		}
		g := (t.light[k+t.W] - t.light[k-t.W]) / 2
		t.variance[k] += g * g / 12
	}
}

// sample is what a lesson shows at a cell of the vehicle, and the background there.
type sample struct {
	seen, behind, variance float32 // levels, levels, levels^2
}

type samples []sample

// samples lists what the lessons show dr rows and dc columns from the traced point, between rows
// by a straight line.
func (b *Band) samples(d *backdrop, lessons []lesson, dr, dc int) samples {
	var out samples
	for _, l := range lessons {
		row := l.row + float64(dr)*l.size
		f := math.Floor(row)
		r, c, p := int(f), int(math.Round(l.col+float64(dc)*l.size)), float32(row-f)
		if r < 0 || r+1 >= b.Rows || c < 0 || c >= b.Cols {
			continue
		}
		k := r*b.Cols + c
		pix := b.Frames[l.frame].Pix
		y := (1-p)*pix[k] + p*pix[k+b.Cols]
		if y == y && y < saturated {
			out = append(out, sample{y, (1-p)*d.mean[k] + p*d.mean[k+b.Cols], max(d.variance[k], d.variance[k+b.Cols])})
		}
	}
	return out
}

// light is the one light by which the samples are the vehicle's, and its variance, at least the
// given.
func (s samples) light(rests bool, least float32) (light, variance float32) {
	v := make([]float32, len(s))
	for i := range s {
		v[i] = s[i].seen
	}
	light, variance = spread(v)
	variance += least
	if !rests {
		return light, variance
	}
	rest := s[0].seen
	var by, at float32
	for _, q := range s[1:] {
		by += min(outlier, (q.seen-rest)*(q.seen-rest)/variance)
		at += min(outlier, (q.seen-light)*(q.seen-light)/variance)
	}
	if by-at < float32(len(s)-1) {
		light = rest
	}
	return light, variance
}

// odds is the log odds that the samples are the vehicle's, not the background's: both are held
// against the larger of the two variances, for what is not known tells nothing.
func (s samples) odds(light, own float32) float64 {
	sum := 0.0
	for _, q := range s {
		v := max(own, q.variance)
		sum += float64(min(outlier, (q.seen-q.behind)*(q.seen-q.behind)/v) - min(outlier, (q.seen-light)*(q.seen-light)/v))
	}
	return sum / 2 / alike
}
