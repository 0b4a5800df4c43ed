package scene

import "math"

// closing is an end of a solid where its radius falls to nothing or to that of a disc: how far from the axis each place is.
type closing struct {
	at    func(radius float64) float64                // where along the axis it has that radius
	slope func(s, radius float64) (perLength float64) // of the radius, above zero
	most  float64                                     // m, the radius where it begins
}

// turn returns the place of an end where rays past the axis at distance q, climbing t, touch it from the far side of what they see: w = sqrt(R^2 - q^2) = |t| R slope,
// where s + t w turns. The steps are those of the tangent cone, for which the first is exact.
func (c *closing) turn(q, t float64) (at, w float64) {
	q = math.Abs(q)
	radius := q
	for range 4 {
		m := t * c.slope(c.at(radius), radius)
		k := 1 - m*m
		if k < 0.05 { // blunter than it is seen from: the whole end shows
			break
		}
		radius = min(c.most, q/math.Sqrt(k))
	}
	return c.at(radius), math.Sqrt(max(0, radius*radius-q*q))
}

// ogive is a tangent ogive nose on a tube of radius r that ends at shoulder: at x from there its radius is sqrt(rho^2 - x^2) + r - rho, rho = (r^2 + n^2)/2r.
type ogive struct{ r, shoulder, rho float64 }

func newOgive(r, shoulder, length float64) ogive {
	return ogive{r, shoulder, (r*r + length*length) / (2 * r)}
}

func (o ogive) at(radius float64) float64 {
	c := radius + o.rho - o.r
	return o.shoulder + math.Sqrt(max(0, o.rho*o.rho-c*c))
}

// surface returns radius and slope at s.
func (o ogive) surface(s float64) (radius, slope float64) {
	x := s - o.shoulder
	if x <= 0 {
		return o.r, 0
	}
	y := math.Sqrt(max(1e-12, o.rho*o.rho-x*x))
	return max(0.02*o.r, y+o.r-o.rho), -x / y
}

func (o ogive) closing() *closing {
	return &closing{at: o.at, most: o.r, slope: func(s, _ float64) float64 {
		_, slope := o.surface(s)
		return -slope
	}}
}

// neck is the shoulder of a bottle, mouth down: from its mouth's radius it widens over a taper to that of the body.
type neck struct{ mouth, r, taper float64 }

// straight is the share of the taper that is as narrow as the mouth.
const straight = 0.12

func (n neck) at(radius float64) float64 {
	if radius <= n.mouth {
		return 0
	}
	return n.taper * (straight + (1-straight)*math.Acos(max(-1, 1-2*(radius-n.mouth)/(n.r-n.mouth)))/math.Pi)
}

func (n neck) surface(s float64) (radius, slope float64) {
	a := math.Pi * (s/n.taper - straight) / (1 - straight)
	switch {
	case a <= 0:
		return n.mouth, 0
	case a >= math.Pi:
		return n.r, 0
	}
	return n.mouth + (n.r-n.mouth)*(1-math.Cos(a))/2, (n.r - n.mouth) / 2 * math.Sin(a) * math.Pi / ((1 - straight) * n.taper)
}

func (n neck) closing() *closing {
	return &closing{at: n.at, most: n.r, slope: func(s, _ float64) float64 {
		_, slope := n.surface(s)
		return slope
	}}
}

// seenNose is the rim of a pointed end, and up to where its near side shows: seen from below, its far slope is hidden; from above, a sliver of that shows.
func seenNose(c *closing) func(q, t float64) (rim, float64) {
	return func(q, t float64) (rim, float64) {
		at, w := c.turn(q, t)
		if t > 0 {
			return rim{at, w}, at
		}
		return rim{at, -w}, c.at(math.Abs(q))
	}
}

// seenTail is the same of the lower end. The colour of the sliver is that of where it ends.
func seenTail(c *closing, base float64) func(q, t float64) (rim, float64) {
	return func(q, t float64) (rim, float64) {
		if q = math.Abs(q); q < base {
			return rim{0, -math.Copysign(math.Sqrt(base*base-q*q), t)}, 0
		}
		at, w := c.turn(q, t)
		if t > 0 {
			return rim{at, -w}, c.at(q)
		}
		return rim{at, w}, at
	}
}

// tube is a tube with an ogive nose, and with a bottle's neck where one is given.
func tube(r, length, nose float64, n *neck, bands []Band) part {
	o := newOgive(r, length-nose, nose)
	surface := o.surface
	p := part{lo: 0, hi: length, left: -r, right: r}
	base, begins := r, func(float64) float64 { return 0 }
	tail := &closing{at: begins, most: r, slope: func(_, _ float64) float64 { return 0 }}
	if n != nil {
		base, begins, tail = n.mouth, n.at, n.closing()
		surface = func(s float64) (radius, slope float64) {
			if s < n.taper {
				return n.surface(s)
			}
			return o.surface(s)
		}
	}
	p.span = func(q float64) (lo, hi float64) {
		q = min(math.Abs(q), r)
		return begins(q), o.at(q)
	}
	p.body = newBody(bands, func(s float64) float64 { radius, _ := surface(s); return radius })
	p.body.most, p.body.base, p.body.surface = r, base, surface
	p.body.under = p.body.rings[0].colour
	for k := range 3 {
		p.body.under[k] *= underside
	}
	p.body.tail, p.body.nose = seenTail(tail, base), seenNose(o.closing())
	return p
}

// underside is the light on the disc at the tail against that on the side above it.
const underside = 0.5

// ball is a ball of radius r whose lower end is 0. Its outline, seen by rays that climb t, is that of a circle: x + t w with x^2 + w^2 = r^2 - q^2 reaches
// sqrt(r^2 - q^2) sqrt(1 + t^2).
func ball(r float64, bands []Band) part {
	surface := func(s float64) (radius, slope float64) {
		radius = math.Sqrt(max(1e-4*r*r, r*r-(s-r)*(s-r)))
		return radius, -(s - r) / radius
	}
	p := part{lo: 0, hi: 2 * r, left: -r, right: r, span: func(q float64) (lo, hi float64) {
		d := math.Sqrt(max(0, r*r-q*q))
		return r - d, r + d
	}}
	p.body = newBody(bands, func(s float64) float64 { radius, _ := surface(s); return radius })
	p.body.most, p.body.surface = r, surface
	turn := func(q, t, side float64) (rim, float64) {
		d := math.Sqrt(max(0, r*r-q*q))
		x := side * d / math.Sqrt(1+t*t)
		seen := r + side*d
		if side*t > 0 {
			seen = r + x
		}
		return rim{r + x, t * x}, seen
	}
	p.body.nose = func(q, t float64) (rim, float64) { return turn(q, t, 1) }
	p.body.tail = func(q, t float64) (rim, float64) {
		return turn(q, t, -1)
	}
	return p
}

// plate is a thin fin that stands on the near side and is seen edge on, thick across the axis, between the distances root and tip from it.
func plate(thick, root, tip float64, rootSpan, tipSpan [2]float64, colour RGB) part {
	p := part{left: -thick / 2, right: thick / 2, lo: min(rootSpan[0], tipSpan[0]), hi: max(rootSpan[1], tipSpan[1])}
	p.span = func(float64) (lo, hi float64) { return p.lo, p.hi }
	p.body = newBody([]Band{{p.lo, colour}}, func(float64) float64 { return tip })
	p.body.most = tip
	corner := func(t float64, i int, sign float64) rim {
		if sign*(rootSpan[i]+t*root) > sign*(tipSpan[i]+t*tip) {
			return rim{rootSpan[i], root}
		}
		return rim{tipSpan[i], tip}
	}
	p.body.tail = func(_, t float64) (rim, float64) { return corner(t, 0, -1), p.lo }
	p.body.nose = func(_, t float64) (rim, float64) { return corner(t, 1, 1), p.hi }
	return p
}
