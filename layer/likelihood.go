package layer

import (
	"math"
	"slices"
)

// candidate is a place that the vehicle may be at in a frame.
type candidate struct {
	row, col float64
	worth    float64 // ln of how much better the vehicle there explains the frame than the background alone
	u        float64 // cells, standard uncertainty along the line
}

const (
	// mostCandidates is how many places of a frame are kept.
	mostCandidates = 10
	// together is how many neighbouring cells err alike: what light, codec and the template's own
	// faults do to one they do to those about it. The likelihood counts so many as one.
	together = 8.0
)

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
	white float32 // variance of this frame's noise, levels^2
}

func newSight(b *Band, d *backdrop) *sight {
	n := b.Rows * b.Cols
	s := &sight{b: b, d: d, odd: make([]float32, n), vary: make([]float32, n), slope: make([]float32, n), sums: make([]float32, (b.Rows+1)*(b.Cols+1))}
	for r := 1; r < b.Rows-1; r++ {
		for c := 1; c < b.Cols-1; c++ {
			k := r*b.Cols + c
			x, y := (d.mean[k+1]-d.mean[k-1])/2, (d.mean[k+b.Cols]-d.mean[k-b.Cols])/2
			s.slope[k] = x*x + y*y
		}
	}
	return s
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
	s.box = [4]int{math.MaxInt32, math.MinInt32, math.MaxInt32, math.MinInt32}
	for _, c := range s.cells {
		s.box = [4]int{min(s.box[0], c.dr), max(s.box[1], c.dr), min(s.box[2], c.dc), max(s.box[3], c.dc)}
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
	b := s.b
	n := 0
	for i := range s.cells {
		q := &s.cells[i]
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
	return sum, float64(n) / float64(max(1, len(s.cells)))
}

// leastSeen is the share of its cells that must be in view at a place.
const leastSeen = 0.8

// look finds the places of most worth, with the rows and columns they may lie in.
func (s *sight) look(rows, cols [2]int) []candidate {
	b := s.b
	rows = [2]int{max(rows[0], -s.box[1]), min(rows[1], b.Rows-s.box[0])}
	cols = [2]int{max(cols[0], 0), min(cols[1], b.Cols)}
	h, w := rows[1]-rows[0], cols[1]-cols[0]
	if h <= 0 || w <= 0 {
		return nil
	}
	field, most := s.field(rows, cols)
	floor := max(leastWorth*together, leastShare*most)
	var out []candidate
	for k, v := range field {
		if r, c := k/w, k%w; v >= floor && peak(field, h, w, r, c) {
			out = append(out, s.candidate(field, h, w, r, c, rows[0], cols[0]))
		}
	}
	slices.SortStableFunc(out, func(a, b candidate) int { return compare(b.worth, a.worth) })
	return out[:min(len(out), mostCandidates)]
}

// field is the worth of every place in the rows and columns, row by row, 0 where it cannot be
// much, and the most of them.
func (s *sight) field(rows, cols [2]int) (field []float32, most float32) {
	w := cols[1] - cols[0]
	field = make([]float32, (rows[1]-rows[0])*w)
	for k := range field {
		r, c := rows[0]+k/w, cols[0]+k%w
		if s.bound(r, c) <= max(leastWorth*together, leastShare*most) {
			continue
		}
		if v, seen := s.worth(r, c); seen >= leastSeen {
			field[k] = v
			most = max(most, v)
		}
	}
	return field, most
}

const (
	leastWorth = 2.0 // ln: less is no sign of the vehicle
	leastShare = 0.1
)

// peak tells whether a place is worth more than all about it.
func peak(f []float32, h, w, r, c int) bool {
	v := f[r*w+c]
	for y := max(0, r-2); y <= min(h-1, r+2); y++ {
		for x := max(0, c-2); x <= min(w-1, c+2); x++ {
			if o := f[y*w+x]; o > v || o == v && (y < r || y == r && x < c) {
				return false
			}
		}
	}
	return true
}

// candidate places a peak between cells by a parabola either way. Its curvature along the line is
// the information about the place.
func (s *sight) candidate(f []float32, h, w, r, c, r0, c0 int) candidate {
	at := func(y, x int) float64 {
		if y < 0 || y >= h || x < 0 || x >= w {
			return 0
		}
		return float64(f[y*w+x])
	}
	v := at(r, c)
	out := candidate{row: float64(r + r0), col: float64(c + c0), worth: v / together, u: 1}
	if r > 0 && r < h-1 && f[(r-1)*w+c] != 0 && f[(r+1)*w+c] != 0 {
		a, b := at(r-1, c), at(r+1, c)
		if curve := 2*v - a - b; curve > 0 {
			out.row += min(max((b-a)/(2*curve), -0.5), 0.5)
			out.u = min(max(math.Sqrt(together/curve), 0.2), 2)
		}
	}
	if c > 0 && c < w-1 && f[r*w+c-1] != 0 && f[r*w+c+1] != 0 {
		a, b := at(r, c-1), at(r, c+1)
		if curve := 2*v - a - b; curve > 0 {
			out.col += min(max((b-a)/(2*curve), -0.5), 0.5)
		}
	}
	return out
}
