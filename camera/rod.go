package camera

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/stat/distuv"

	"padside/fault"
	"padside/fit"
)

// rod is the scale of a straight graduated rod: along its own line in the picture
//
//	h = (a t + b) / (c t + 1)
//
// with t and h centred on the marks and divided by half their spread. The three are fitted
// by least squares over the marks' places (px) and over what is known of the camera's tilt,
// which foretells c; errors of the marks and of the tilt reach (a, b, c) through the gain.
type rod struct {
	axis      FlightLine // the rod: Rest at the middle of its marks, direction of rising height
	ts, hs    float64    // half spread of the marks, px and m
	theta     [3]float64 // a, b, c
	gain      [][3]float64
	tiltGain  [3]float64 // per unit of tilt, lens draw
	lensGain  [3]float64
	p, kappa  float64 // t at rest, and its change per px of the flight line over ts
	cos       float64 // of the angle between rod and flight line, in space
	dof       int     // behind the marks' uncertainty, 0: as stated
	list      []MarkResidual
	low, high float64 // m, extent of the marks along the flight line, from rest
}

func (r *rod) coordinates() int          { return len(r.gain) }
func (r *rod) residuals() []MarkResidual { return append([]MarkResidual(nil), r.list...) }

// along implements reference. With t = p + q s, q = kappa/ts, the difference of two heights on
// the rod is hs q (a - c b)/(1 + c p)^2 s / (1 + c q/(1 + c p) s), and the way along the
// flight line is longer by 1/cos.
func (r *rod) along(d *draws) projective {
	th := r.theta
	for i, g := range r.gain {
		e := d.marks[i] * d.spread
		for j := range th {
			th[j] += g[j] * e
		}
	}
	for j := range th {
		th[j] += r.tiltGain[j]*d.tilt + r.lensGain[j]*d.focal
	}
	a, b, c := th[0], th[1], th[2]
	den := max(1+c*r.p, nearest)
	q := r.kappa / r.ts
	return projective{a: r.hs * q / r.cos * (a - c*b) / (den * den), c: c * q / den}
}

// sighting is one mark along and across the rod's axis.
type sighting struct {
	index         int
	h, u          float64
	along, across float64
}

// fitRod fits the rod. Marks are checked already, except for their order along the rod.
func fitRod(s Spec, v view, line FlightLine) (*rod, []fault.Warning, error) {
	r := &rod{}
	marks, err := r.align(s, v)
	if err != nil {
		return nil, nil, err
	}
	if len(marks) >= 3 && !v.tiltGiven {
		v.tiltU = guardU
	}
	if err := r.solve(marks, v, s.MarkU); err != nil {
		return nil, nil, err
	}
	notes := r.judge(marks, v, s.MarkU)
	if err := r.transfer(v, line); err != nil {
		return nil, nil, err
	}
	r.extent(marks, line)
	return r, notes, nil
}

// align finds the rod's axis and puts the marks in order along it.
func (r *rod) align(s Spec, v view) ([]sighting, error) {
	n := float64(len(s.Marks))
	pts := make([]Pixel, len(s.Marks))
	var mid Pixel
	for i, m := range s.Marks {
		pts[i] = v.lens.Undistort(m.At)
		mid.X += pts[i].X / n
		mid.Y += pts[i].Y / n
	}
	var xx, xy, yy, hx, hy, hm float64
	for _, m := range s.Marks {
		hm += m.Height / n
	}
	for i, p := range pts {
		dx, dy := p.X-mid.X, p.Y-mid.Y
		xx, xy, yy = xx+dx*dx, xy+dx*dy, yy+dy*dy
		hx, hy = hx+(s.Marks[i].Height-hm)*dx, hy+(s.Marks[i].Height-hm)*dy
	}
	angle := math.Atan2(2*xy, xx-yy) / 2 // principal axis of the marks
	ux, uy := math.Cos(angle), math.Sin(angle)
	if hx*ux+hy*uy < 0 {
		ux, uy = -ux, -uy
	}
	r.axis = FlightLine{Rest: mid, Ux: ux, Uy: uy}
	marks := make([]sighting, len(pts))
	for i, p := range pts {
		dx, dy := p.X-mid.X, p.Y-mid.Y
		marks[i] = sighting{i, s.Marks[i].Height, s.Marks[i].U, dx*ux + dy*uy, -dx*uy + dy*ux}
	}
	slices.SortFunc(marks, func(a, b sighting) int { return cmp.Compare(a.h, b.h) })
	for i := 1; i < len(marks); i++ {
		if low, high := marks[i-1], marks[i]; high.along <= low.along {
			return nil, fault.Requestf("check the heights of these two marks, or where they were placed",
				"marks %d and %d contradict the others: %.6g m is seen beyond %.6g m along the rod",
				low.index+1, high.index+1, low.h, high.h)
		}
	}
	return marks, nil
}

// solve fits (a, b, c) to the marks and to the foretold c.
func (r *rod) solve(marks []sighting, v view, u float64) error {
	first, last := marks[0], marks[len(marks)-1]
	r.ts, r.hs = (last.along-first.along)/2, (last.h-first.h)/2
	tm, hm := (last.along+first.along)/2, (last.h+first.h)/2
	r.axis.Rest.X += tm * r.axis.Ux
	r.axis.Rest.Y += tm * r.axis.Uy
	for i := range marks {
		marks[i].along -= tm
	}
	n := len(marks)
	sigma := make([]float64, n) // of each mark, in half spreads
	for i, m := range marks {
		sigma[i] = math.Hypot(u/r.ts, m.u/r.hs)
	}
	foretold, tilt, lens := r.foretell(v)
	uc := math.Hypot(math.Hypot(tilt, lens), 1e-9)
	residuals := func(th, out []float64) {
		for i, m := range marks {
			out[i] = (m.along/r.ts - place(th, (m.h-hm)/r.hs)) / sigma[i]
		}
		out[n] = (foretold - th[2]) / uc
	}
	start := []float64{1, 0, math.Max(-0.5, math.Min(0.5, foretold))}
	sol, err := fit.Minimise(fit.Problem{Observations: n + 1, Residuals: residuals, Start: start, Scale: []float64{1, 1, 0.1}},
		fit.NonlinearOptions{KnownSigma: true})
	if err != nil {
		return fault.Requestf("check the heights and places of the marks", "no scale fits the marks of the rod: %v", err)
	}
	copy(r.theta[:], sol.Parameters)
	r.spread(marks, sigma, hm, sol.Covariance)
	toC := r.column(sol.Covariance, [3]float64{0, 0, 1 / uc})
	for j := range 3 {
		r.tiltGain[j] = toC[j] * tilt / uc
		r.lensGain[j] = toC[j] * lens / uc
	}
	return nil
}

// place is t(h) = (h - b)/(a - c h).
func place(th []float64, h float64) float64 { return (h - th[1]) / (th[0] - th[2]*h) }

// spread sets how an error of one standard uncertainty of each mark moves (a, b, c): the
// covariance times the gradient of that mark's place.
func (r *rod) spread(marks []sighting, sigma []float64, hm float64, cov *mat.SymDense) {
	r.gain = make([][3]float64, len(marks))
	for i, m := range marks {
		h := (m.h - hm) / r.hs
		t := place(r.theta[:], h)
		den := r.theta[0] - r.theta[2]*h
		r.gain[i] = r.column(cov, [3]float64{-t / den / sigma[i], -1 / den / sigma[i], t * h / den / sigma[i]})
		dx := m.along - t*r.ts
		r.list = append(r.list, MarkResidual{Index: m.index, Along: dx, Across: m.across})
	}
}

func (r *rod) column(cov *mat.SymDense, g [3]float64) [3]float64 {
	var out [3]float64
	for j := range out {
		for k := range g {
			out[j] += cov.At(j, k) * g[k]
		}
	}
	return out
}

// foretell returns the c that the camera's tilt causes, in half spreads, and what one standard
// uncertainty of tilt and of focal length change in it. Along a direction that rises by
// up per pixel, a point at height y above the axis, tilted by t, goes ahead by
// f cos t - y sin t: c = -g up/(1 - g y), g = tan t/f.
func (r *rod) foretell(v view) (c, tilt, lens float64) {
	f := func(v view) float64 {
		g := math.Tan(v.tilt) / v.focal
		return g * r.axis.Uy / math.Max(nearest, 1-g*v.up(r.axis.Rest)) * r.ts
	}
	c = f(v)
	tilt = f(v.drawn(&draws{tilt: 1})) - c
	lens = f(v.drawn(&draws{focal: 1})) - c
	if !v.tiltGiven { // nor is the swing to the side: as unsure in every direction
		tilt = math.Tan(v.tiltU) / v.focal * r.ts
	}
	return c, tilt, lens
}

// judge holds the residuals against the marks' uncertainty: where chi-squared is larger
// than chance allows in one of twenty, the uncertainty is enlarged by the Birge ratio
// sqrt(chi2/dof) (Birge, Phys. Rev. 40:207, 1932) and draws become Student's t.
func (r *rod) judge(marks []sighting, v view, u float64) (notes []fault.Warning) {
	if len(marks) == 2 {
		how := fmt.Sprintf("the camera is taken to be level to within %.0f degrees: mark a third height, or give the camera's tilt", levelU*180/math.Pi)
		if v.tiltGiven {
			how = "it is computed from the camera's tilt: mark a third height to check it"
		}
		notes = append(notes, fault.Warning{Code: "scale-two-marks",
			Message: "two marks show neither the perspective nor a slip of the hand; " + how})
	}
	var chi2 float64
	dof := len(marks) - 3
	for i, q := range r.list {
		chi2 += math.Pow(q.Along/math.Hypot(u, marks[i].u*r.ts/r.hs), 2)
	}
	if dof > 0 && chi2 > (distuv.ChiSquared{K: float64(dof)}).Quantile(0.95) {
		ratio := math.Sqrt(chi2 / float64(dof))
		r.dof = max(dof, 3) // fewer would have no variance
		for i := range r.gain {
			for j := range 3 {
				r.gain[i][j] *= ratio
			}
		}
		worst := slices.MaxFunc(r.list, func(a, b MarkResidual) int { return cmp.Compare(math.Abs(a.Along), math.Abs(b.Along)) })
		notes = append(notes, fault.Warning{Code: "scale-marks-scatter",
			Message: fmt.Sprintf("the marks lie %.1f times as far from a straight rod's scale as their uncertainty of %.2g px allows; it is enlarged to %.2g px; mark %d is the farthest off, by %.1f px: check it",
				ratio, u, u*ratio, worst.Index+1, math.Abs(worst.Along))})
	}
	var across float64
	for _, q := range r.list {
		across = max(across, math.Abs(q.Across))
	}
	if limit := max(5*u, 0.02*2*r.ts); across > limit {
		notes = append(notes, fault.Warning{Code: "scale-rod-crooked",
			Message: fmt.Sprintf("the marks are up to %.1f px off the straight line through them; the scale takes the rod as straight: check the marks, or give the lens's k1", across)})
	}
	return notes
}

// transfer carries heights from the rod's line to the flight line. Points of equal height lie
// on a line at right angles to upright, which is the rod's direction with the convergence of
// uprights taken out: seen from a tilted camera, an upright x to the right of the optical
// axis and y above it leans by atan(-x g/(1 - g y)), g = tan(tilt)/f.
func (r *rod) transfer(v view, line FlightLine) error {
	g := r.tangent(v)
	leaning := func(p Pixel) float64 { return math.Atan(-v.right(p) * g / math.Max(nearest, 1-g*v.up(p))) }
	direction := func(x, y float64) float64 { return math.Atan2(x, -y) } // clockwise from up
	rod := direction(r.axis.Ux, r.axis.Uy)
	if r.axis.Uy > 0 { // marked downward: the rod rises the other way
		rod += math.Pi
	}
	roll := rod - leaning(r.axis.Rest)
	if math.Abs(r.axis.Uy) < 0.5 { // a rod that lies: the tilt does not bend its uprights
		roll = rod
		leaning = func(Pixel) float64 { return 0 }
	}
	ux, uy := math.Sin(roll), -math.Cos(roll)
	if r.axis.Uy > 0 {
		ux, uy = -ux, -uy
	}
	scale := r.axis.Ux*ux + r.axis.Uy*uy
	dx, dy := line.Rest.X-r.axis.Rest.X, line.Rest.Y-r.axis.Rest.Y
	r.p = (dx*ux + dy*uy) / scale / r.ts
	r.kappa = (line.Ux*ux + line.Uy*uy) / scale
	at := direction(line.Ux, line.Uy) - leaning(line.Rest) - direction(ux, uy)
	r.cos = math.Cos(at)
	if math.Abs(r.cos) < 0.5 || r.kappa*r.cos <= 0 {
		return fault.Requestf(`use a rod that stands along the flight, or kind = "length" with the distance between two marks`,
			"the rod lies across the flight line, at %.0f degrees to it", math.Acos(math.Abs(r.cos))*180/math.Pi)
	}
	return nil
}

// tangent is tan(tilt)/f: from the tilt where it is known, from the marks where they show it.
func (r *rod) tangent(v view) float64 {
	if v.tiltGiven || len(r.gain) < 3 || math.Abs(r.axis.Uy) < 0.5 {
		return math.Tan(v.tilt) / v.focal
	}
	var u2 float64
	for _, g := range r.gain {
		u2 += g[2] * g[2]
	}
	if c := r.theta[2]; c*c > 4*u2 {
		c /= r.ts
		return c / (r.axis.Uy + c*v.up(r.axis.Rest))
	}
	return 0
}

// extent is how far along the flight line the marks reach, metres from rest.
func (r *rod) extent(marks []sighting, line FlightLine) {
	none := &draws{marks: make([]float64, len(r.gain)), spread: 1}
	p := r.along(none)
	s := func(m sighting) float64 { return (m.along/r.ts - r.p) * r.ts / r.kappa }
	a, b := p.at(s(marks[0])), p.at(s(marks[len(marks)-1]))
	r.low, r.high = min(a, b), max(a, b)
}
