package scene

import "math"

// ring is where a band of a solid begins: a circle about the axis.
type ring struct {
	at, radius float64 // m
	colour     [4]float64
}

// rim is a point of a solid's outline: where along the axis, and how far in front of the axis, toward the camera (m).
type rim struct{ at, depth float64 }

// body makes a part solid. What is seen of it is given by rays. In the plane through the camera across the axis, a ray passes the axis at
// distance q; on its way it climbs t along the axis per metre across it, and is at S0 where it is nearest to the axis. It meets what lies on the
// axis' coordinate s at radius R a way w = sqrt(R^2 - q^2) before that, so at S0 - t w. What is painted at s on the near side is seen where s + t w(s) = S0
// less the height h of the tail: all of a solid is a set of places s + t w along the axis, which moves with it as a flat picture does. A ring is at
// at + t w in it, its outline where that is largest or smallest. (Derived; TestSolid holds it against points of the surface, projected one by one.)
type body struct {
	rings []ring // lowest first
	under [4]float64
	most  float64 // m, no point is farther from the axis
	// tail and nose return the rim where the solid begins and ends for a ray, and from or up to where along the axis its near side is seen.
	tail, nose func(q, t float64) (rim, float64)
	// base is the radius of the disc at the tail, at 0: seen from below, it shows. 0: none.
	base float64
	// surface returns radius and slope (of the radius along the axis) for shading; nil: a plate edge on.
	surface func(s float64) (radius, slope float64)
	down    bool // the axis points down
}

// newBody makes rings of bands.
func newBody(bands []Band, radius func(s float64) float64) *body {
	b := &body{}
	for _, band := range bands {
		c := band.Colour
		b.rings = append(b.rings, ring{band.From, radius(band.From), [4]float64{c[0], c[1], c[2], 1}})
	}
	return b
}

// band returns the colour at s of the near side.
func (b *body) band(s float64) [4]float64 {
	i := len(b.rings) - 1
	for i > 0 && s < b.rings[i].at {
		i--
	}
	return b.rings[i].colour
}

// view is how a sheet's places are turned into rays: see body. The camera is away from the axis (m), at its coordinate level.
type view struct{ away, level float64 }

// ray is the set of rays that pass a sheet at one distance across it.
type ray struct {
	view
	q    float64 // m, from the axis
	g    float64 // 1/m, of the way from the camera to the sheet
	axis float64 // S0 - level = axis times that of the sheet
}

// through returns the rays through places of a sheet at distance across from its axis.
func (v view) through(across float64) ray {
	g := 1 / math.Sqrt(v.away*v.away+across*across)
	d := v.away * g
	return ray{v, across * d, g, d * d}
}

// climb is t of the ray through s of the sheet.
func (r *ray) climb(s float64) float64 { return (s - r.level) * r.g }

// meets returns where along the axis the ray through s of the sheet meets what lies depth before the place nearest to the axis.
func (r *ray) meets(s, depth float64) float64 { return r.level + (s-r.level)*(r.axis-r.g*depth) }

// stretch is what one sample looks at: rays r through [s0, s1] of a sheet while the solid moves through the heights knots, the lowest and the highest of which
// are low and high.
type stretch struct {
	ray
	s0, s1, low, high float64
	knots             []float64
}

// share returns how much of the stretch, averaged over its movements (times their number), lies beyond a rim.
func (l *stretch) share(e rim) float64 {
	moves := max(1, len(l.knots)-1)
	a, b := l.meets(l.s0, e.depth)-e.at, l.meets(l.s1, e.depth)-e.at
	if a >= l.high {
		return float64(moves)
	}
	if b <= l.low {
		return 0
	}
	var sum float64
	for k := range moves {
		h0, h1 := l.knots[k], l.knots[min(k+1, len(l.knots)-1)]
		if move := h1 - h0; math.Abs(move) > 1e-7 {
			sum += (ramp(b-h0) - ramp(b-h1) - ramp(a-h0) + ramp(a-h1)) / (move * (b - a))
		} else {
			h := (h0 + h1) / 2
			sum += (max(0, b-h) - max(0, a-h)) / (b - a)
		}
	}
	return sum
}

// ramp is the second integral of a step at 0.
func ramp(x float64) float64 {
	if x <= 0 {
		return 0
	}
	return x * x / 2
}

// look returns the mean colour and coverage of a stretch, times the number of movements; ok is false where it looks past the solid.
func (b *body) look(p *part, l *stretch) (sum [4]float64, ok bool) {
	t := l.climb((l.s0 + l.s1) / 2)
	pad := (math.Abs(t) + (l.s1-l.s0)*l.g) * b.most
	from, to := l.meets(l.s0, 0)-l.high-pad, l.meets(l.s1, 0)-l.low+pad
	if to < p.lo || from > p.hi {
		return sum, false
	}
	lo, hi := p.span(l.q)
	if lo >= hi || to < lo || from > hi {
		return sum, false
	}
	moves := float64(max(1, len(l.knots)-1))
	first := 0 // of the rings that may be seen
	for first < len(b.rings) && b.rings[first].at < from {
		first++
	}
	if first > 0 && from > lo && to < hi && (first == len(b.rings) || b.rings[first].at > to) { // one colour
		for k, c := range b.rings[first-1].colour {
			sum[k] = c * moves
		}
		return sum, true
	}
	var last [4]float64
	step := func(e rim, colour [4]float64) {
		if s := l.share(e); s > 0 {
			for k := range sum {
				sum[k] += s * (colour[k] - last[k])
			}
		}
		last = colour
	}
	begin, seen := math.Inf(-1), math.Inf(1)
	if from <= lo {
		var e rim
		e, begin = b.tail(l.q, t)
		if q2 := b.base*b.base - l.q*l.q; t > 0 && q2 > 0 {
			step(e, b.under)
			e = rim{0, math.Sqrt(q2)}
		}
		step(e, b.band(begin))
	} else {
		step(rim{at: math.Inf(-1)}, b.band(from))
	}
	var end rim
	if to >= hi {
		end, seen = b.nose(l.q, t)
	}
	for i := first; i < len(b.rings) && b.rings[i].at <= to; i++ {
		if r := &b.rings[i]; r.radius > math.Abs(l.q) && r.at > begin && r.at < seen {
			step(rim{r.at, math.Sqrt(r.radius*r.radius - l.q*l.q)}, r.colour)
		}
	}
	if to >= hi {
		step(end, [4]float64{})
	}
	return sum, true
}

// shade returns the light on what a stretch shows.
func (b *body) shade(light *lamp, l *stretch) float64 {
	if b.surface == nil {
		return light.flat()
	}
	middle := (l.s0 + l.s1) / 2
	t, s0 := l.climb(middle), l.meets(middle, 0)-(l.low+l.high)/2
	r, slope := b.surface(s0)
	if slope != 0 { // where the ray meets it, to first order
		r, slope = b.surface(s0 - t*math.Sqrt(max(0, r*r-l.q*l.q)))
	}
	if b.down {
		slope = -slope
	}
	return light.on(l.q, r, slope)
}
