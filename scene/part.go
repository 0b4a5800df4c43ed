package scene

import "math"

// Band is a stretch of one colour along an axis, from From (m) up to the next band.
type Band struct {
	From   float64
	Colour RGB
}

// paint is colour along an axis with its first and second integrals, so that averages over a
// pixel and over a motion are exact. Channel 3 is coverage.
type paint struct {
	from   []float64
	colour [][4]float64
	first  [][4]float64 // integral of colour up to from[i]
	second [][4]float64 // integral of that
}

func newPaint(bands []Band) paint {
	var p paint
	for i, b := range bands {
		c := [4]float64{b.Colour[0], b.Colour[1], b.Colour[2], 1}
		var a1, a2 [4]float64
		if i > 0 {
			d := b.From - p.from[i-1]
			for k := range a1 {
				a1[k] = p.first[i-1][k] + d*p.colour[i-1][k]
				a2[k] = p.second[i-1][k] + d*p.first[i-1][k] + d*d/2*p.colour[i-1][k]
			}
		}
		p.from, p.colour = append(p.from, b.From), append(p.colour, c)
		p.first, p.second = append(p.first, a1), append(p.second, a2)
	}
	return p
}

// band returns the index of the band that holds s; the first and last reach without end.
func (p *paint) band(s float64) int {
	i := len(p.from) - 1
	for i > 0 && s < p.from[i] {
		i--
	}
	return i
}

// once adds weight times the integral of colour up to s to sum.
func (p *paint) once(s, weight float64, sum *[4]float64) {
	i := p.band(s)
	d := s - p.from[i]
	for k := range sum {
		sum[k] += weight * (p.first[i][k] + d*p.colour[i][k])
	}
}

// twice adds weight times the second integral at s to sum, for paint that is bare outside
// [lo, hi].
func (p *paint) twice(s, lo, hi, weight float64, sum *[4]float64) {
	in := min(hi, max(lo, s))
	i := p.band(in)
	d, beyond := in-p.from[i], s-in
	for k := range sum {
		a1 := p.first[i][k] + d*p.colour[i][k]
		a2 := p.second[i][k] + d*p.first[i][k] + d*d/2*p.colour[i][k]
		sum[k] += weight * (a2 + beyond*a1)
	}
}

// average returns the mean colour and coverage of the stretch [s0, s1] while the paint,
// bare outside [lo, hi], moves along the axis evenly from h0 to h1.
func (p *paint) average(s0, s1, lo, hi, h0, h1 float64) (mean [4]float64) {
	left, right := s0-max(h0, h1), s1-min(h0, h1)
	if right <= lo || left >= hi {
		return mean
	}
	if left >= lo && right <= hi {
		if i := p.band(left); i == p.band(right) {
			return p.colour[i]
		}
	}
	if move := h1 - h0; math.Abs(move) > 1e-7 {
		w := 1 / (move * (s1 - s0))
		p.twice(s1-h0, lo, hi, w, &mean)
		p.twice(s1-h1, lo, hi, -w, &mean)
		p.twice(s0-h0, lo, hi, -w, &mean)
		p.twice(s0-h1, lo, hi, w, &mean)
	} else {
		h := (h0 + h1) / 2
		w := 1 / (s1 - s0)
		p.once(min(hi, max(lo, s1-h)), w, &mean)
		p.once(min(hi, max(lo, s0-h)), -w, &mean)
	}
	return mean
}

// part is one cut-out on a sheet, or a solid about its axis: for each distance q across the axis it covers one stretch
// of the axis.
type part struct {
	paint  paint
	lo, hi float64                          // m along the axis, the whole part
	left   float64                          // m across, the whole part
	right  float64                          // m
	core   [2]float64                       // m along the axis: the stretch that it covers at every q from left to right, of even radius; none where it ends before it begins
	span   func(q float64) (lo, hi float64) // lo >= hi where it covers nothing
	body   *body                            // nil: flat. A solid has no paint and no core
}

// leans is by how much a solid's points before and behind the axis are seen off their place along it, at most, where the sheet shows low to high.
func (p *part) leans(sh *sheet, low, high float64) float64 {
	if p.body == nil {
		return 0
	}
	v := sh.view()
	return 1.1 * p.body.most * max(math.Abs(low-v.level), math.Abs(high-v.level)) / v.away
}

// noCore is the core of a part that covers no stretch of its axis at every q.
var noCore = [2]float64{1, -1}

// within tells whether the stretch [s0, s1] lies in the part's core however far the part moves between low and high, and in
// one band, which it returns: then every place of it is seen in that colour, wholly covered, at every instant.
func (p *part) within(s0, s1, low, high float64) (band int, ok bool) {
	first, last := s0-high, s1-low
	if first < p.core[0] || last > p.core[1] {
		return 0, false
	}
	band = p.paint.band(first)
	return band, band+1 == len(p.paint.from) || last <= p.paint.from[band+1]
}

// box is a flat rectangle.
func box(left, right, lo, hi float64, bands []Band) part {
	return part{paint: newPaint(bands), lo: lo, hi: hi, left: left, right: right, core: [2]float64{lo, hi},
		span: func(float64) (float64, float64) { return lo, hi }}
}

// trapezoid is a fin: at q = root it covers [rootLo, rootHi], at q = tip [tipLo, tipHi].
func trapezoid(root, tip float64, rootSpan, tipSpan [2]float64, bands []Band) part {
	return part{
		paint: newPaint(bands), left: min(root, tip), right: max(root, tip),
		lo: min(rootSpan[0], tipSpan[0]), hi: max(rootSpan[1], tipSpan[1]), core: noCore,
		span: func(q float64) (float64, float64) {
			t := (q - root) / (tip - root)
			return mixf(rootSpan[0], tipSpan[0], t), mixf(rootSpan[1], tipSpan[1], t)
		},
	}
}
