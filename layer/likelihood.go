package layer

import "math"

// together is how many neighbouring cells err alike: what light, codec and the template's own
// faults do to one they do to those about it. The likelihood counts so many as one.
const together = 8.0

// sight looks for the vehicle everywhere in one frame's band.
type sight struct {
	b     *Band
	d     *backdrop
	pix   []float32
	odd   []float32 // per cell: how badly the background alone explains it; see misfit
	vary  []float32 // per cell: variance about the background in this frame, levels^2
	slope []float32 // per cell: square of the background's slope, levels^2 per cell^2
	sums  []float32 // of odd, less what noise makes it, over the top left rectangle; (Rows+1) by (Cols+1)
	cells []cell
	box   [4]int  // rows and columns the cells reach: least dr, most dr, least dc, most dc
	few   []cell  // some of them; see screen
	white float32 // variance of this frame's noise, levels^2
	by    measured
}

func newSight(b *Band, d *backdrop) *sight {
	s := &sight{b: b, d: d, slope: make([]float32, b.Rows*b.Cols)}
	for r := 1; r < b.Rows-1; r++ {
		for c := 1; c < b.Cols-1; c++ {
			k := r*b.Cols + c
			x, y := (d.mean[k+1]-d.mean[k-1])/2, (d.mean[k+b.Cols]-d.mean[k-b.Cols])/2
			s.slope[k] = x*x + y*y
		}
	}
	return s.another()
}

// frame prepares frame i.
func (s *sight) frame(i int) {
	b := s.b
	s.pix = b.Frames[i].Pix
	of := s.scatter()
	local := s.local(of)
	s.white = of.white
	expected := ln(of.white)/2 + 0.5
	for r := range b.Rows {
		var line float32
		for c := range b.Cols {
			k := r*b.Cols + c
			s.odd[k] = 0
			s.vary[k] = s.d.variance[k] + local[r] + of.shift*s.slope[k]
			if f := s.pix[k]; f == f && f < saturated {
				s.odd[k] = misfit(f-s.d.mean[k], s.vary[k], strange)
				line += s.odd[k] - expected
			}
			s.sums[(r+1)*(b.Cols+1)+c+1] = s.sums[r*(b.Cols+1)+c+1] + line
		}
	}
}

// looks sets what is looked for.
func (s *sight) looks(t *template) {
	s.cells = t.cells()
	s.few = s.few[:0]
	s.box = [4]int{math.MaxInt32, math.MinInt32, math.MaxInt32, math.MinInt32}
	for i, c := range s.cells {
		s.box = [4]int{min(s.box[0], c.dr), max(s.box[1], c.dr), min(s.box[2], c.dc), max(s.box[3], c.dc)}
		if i%screenEvery == 0 {
			s.few = append(s.few, c)
		}
	}
}

// misfit is -ln of the likelihood of a cell that lies e off what explains it, levels, with a
// variance: a normal distribution or, by chance, anything. The constant that all have in common is
// left out.
func misfit(e, variance, chance float32) float32 {
	l := ln(variance)
	return min(e*e/variance, max(0, lnAny-l)+chance)/2 + l/2
}

// lnAny is ln(anyVariance).
const lnAny = 8.19

const (
	// strange is twice -ln of the probability that a cell shows something else than the background:
	// so little that what is only strange, as smoke, leaves and people are, is no sign of the vehicle,
	// but must look like it.
	strange = 2.0
	// glint is the same of a cell of the vehicle, which may show another side of it, or a glint.
	glint = 7.0
)

// ln is the natural logarithm by its exponent and a polynomial, good to 0.007.
func ln(x float32) float32 {
	bits := math.Float32bits(x)
	e := float32(int32(bits>>23) - 127)
	m := math.Float32frombits(bits&0x7fffff | 0x3f800000)
	return 0.6931472 * (e + (m-1)*(5-m)/3)
}

// bound is about the most that place (r, c) can be worth: all that the background leaves
// unexplained in the rectangle about the vehicle.
func (s *sight) bound(r, c int) float32 {
	b := s.b
	r0, r1 := max(0, r+s.box[0]), min(b.Rows, r+s.box[1]+1)
	c0, c1 := max(0, c+s.box[2]), min(b.Cols, c+s.box[3]+1)
	if r0 >= r1 || c0 >= c1 {
		return 0
	}
	return b.sum(s.sums, r0, r1, c0, c1)
}

// sum is what table, of sums over top left rectangles, holds of rows r0..r1-1 and columns c0..c1-1.
func (b *Band) sum(table []float32, r0, r1, c0, c1 int) float32 {
	w := b.Cols + 1
	return table[r1*w+c1] - table[r0*w+c1] - table[r1*w+c0] + table[r0*w+c0]
}

// worth is how much better the vehicle at place (r, c) explains the frame than the background
// alone: the sum over its cells of ln of the ratio of the two likelihoods. Cells out of the band
// tell nothing; seen is the share of the vehicle's that lies in it.
func (s *sight) worth(r, c int) (sum float32, seen float64) {
	sum, n := s.worthOf(s.cells, r, c)
	return sum, float64(n) / float64(max(1, len(s.cells)))
}

// worthOf is the worth that the given cells tell, and how many of them are in view.
func (s *sight) worthOf(cells []cell, r, c int) (sum float32, n int) {
	b := s.b
	for i := range cells {
		q := &cells[i]
		y, x := r+q.dr, c+q.dc
		if y < 0 || y >= b.Rows || x < 0 || x >= b.Cols {
			continue
		}
		k := y*b.Cols + x
		f, m := s.pix[k], s.d.mean[k]
		if f != f {
			continue
		}
		n++
		if f >= saturated {
			continue
		}
		keep := 1 - q.alpha
		e := f - keep*m - q.alpha*q.light
		apart := q.light - m
		sum += s.odd[k] - misfit(e, keep*s.vary[k]+q.variance+s.white+q.doubt*apart*apart, glint)
	}
	return sum, n
}
