package camera

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"

	"padside/fault"
	"padside/fit"
)

// plane is the scale of known points of the plane of flight: the homography from the plane
// to the picture, H with H33 = 1 in coordinates centred and scaled on the points.
type plane struct {
	line  FlightLine
	norm  matrix3 // normalised plane from plane
	back  matrix3 // picture from normalised picture
	theta [8]float64
	gain  [][8]float64 // per unit draw of each pixel coordinate
	noise noise
	chi2  float64
	list  []MarkResidual
	span  [2]float64 // px, extent of the points along the flight line
	size  float64    // px, rms distance of the points from their middle
}

func (p *plane) coordinates() int          { return len(p.gain) }
func (p *plane) factor() *noise            { return &p.noise }
func (p *plane) residuals() []MarkResidual { return append([]MarkResidual(nil), p.list...) }

// along implements reference.
func (p *plane) along(d *draws) projective {
	th := p.theta
	for i, g := range p.gain {
		e := d.marks[i] * d.spread
		for j := range th {
			th[j] += g[j] * e
		}
	}
	m, ok := p.metres(th)
	if !ok {
		return projective{a: math.SmallestNonzeroFloat64}
	}
	return m.along(p.line)
}

// metres is the homography from the picture to the plane.
func (p *plane) metres(th [8]float64) (matrix3, bool) {
	h := matrix3{th[0], th[1], th[2], th[3], th[4], th[5], th[6], th[7], 1}
	h = h.product(&p.norm)
	h = p.back.product(&h)
	return h.inverted()
}

// fitPlane fits the homography: the direct linear transformation on normalised coordinates
// (Hartley, IEEE PAMI 19:580, 1997), refined by least squares over the places in the picture.
func fitPlane(s Spec, v view, line FlightLine) (*plane, []fault.Warning, error) {
	p := &plane{line: line}
	n := len(s.Plane)
	world, seen := make([]Pixel, n), make([]Pixel, n)
	for i, q := range s.Plane {
		world[i], seen[i] = Pixel{q.X, q.Y}, v.lens.Undistort(q.At)
	}
	toW, _ := normaliser(world)
	toP, size := normaliser(seen)
	p.norm, p.size = toW, size
	p.back, _ = toP.inverted()
	for i := range n {
		world[i].X, world[i].Y = toW.point(world[i])
		w := seen[i]
		seen[i].X, seen[i].Y = toP.point(w)
		at := (w.X-line.Rest.X)*line.Ux + (w.Y-line.Rest.Y)*line.Uy
		if i == 0 {
			p.span = [2]float64{at, at}
		}
		p.span = [2]float64{min(p.span[0], at), max(p.span[1], at)}
	}
	if collinear(world) || collinear(seen) {
		return nil, nil, fault.Requestf("choose four or more points of which no three lie in line, spread over the view",
			"the plane's points lie in line, or all but one do, which leaves its perspective open")
	}
	start, err := directLinear(world, seen)
	if err != nil {
		return nil, nil, err
	}
	u := make([]float64, n)
	for i, q := range s.Plane {
		u[i] = s.markU(q.AtU)
	}
	if err := p.refine(world, seen, start, u); err != nil {
		return nil, nil, err
	}
	notes := p.exactly(u)
	if len(notes) > 0 {
		if err := p.refine(world, seen, start, u); err != nil {
			return nil, nil, err
		}
	}
	return p, append(notes, p.judge()...), nil
}

// normaliser moves points to their middle and scales them to a root mean square distance
// of sqrt 2; size is the distance before.
func normaliser(pts []Pixel) (m matrix3, size float64) {
	var mx, my, ss float64
	n := float64(len(pts))
	for _, p := range pts {
		mx, my = mx+p.X/n, my+p.Y/n
	}
	for _, p := range pts {
		ss += ((p.X-mx)*(p.X-mx) + (p.Y-my)*(p.Y-my)) / n
	}
	size = math.Sqrt(ss / 2)
	return matrix3{1 / size, 0, -mx / size, 0, 1 / size, -my / size, 0, 0, 1}, size
}

// flattest is the least height of a triangle, in normalised coordinates, that counts as one.
const flattest = 0.02

// collinear says whether leaving out some one point leaves the others in line: then four
// points in general position are missing. Points are normalised.
func collinear(pts []Pixel) bool {
	for skip := range pts {
		rest := slices.Delete(slices.Clone(pts), skip, skip+1)
		m, _ := normaliser(rest)
		var xx, xy, yy float64
		for _, p := range rest {
			x, y := m.point(p)
			xx, xy, yy = xx+x*x, xy+x*y, yy+y*y
		}
		mean, diff := (xx+yy)/2, math.Hypot((xx-yy)/2, xy)
		if !(mean-diff > flattest*flattest*(mean+diff)) {
			return true
		}
	}
	return false
}

// directLinear solves for H as the least singular vector of the equations
// w (x', y') = H (x, y, 1), two for each point.
func directLinear(world, seen []Pixel) ([]float64, error) {
	a := mat.NewDense(max(9, 2*len(world)), 9, nil)
	for i, w := range world {
		p := seen[i]
		a.SetRow(2*i, []float64{w.X, w.Y, 1, 0, 0, 0, -p.X * w.X, -p.X * w.Y, -p.X})
		a.SetRow(2*i+1, []float64{0, 0, 0, w.X, w.Y, 1, -p.Y * w.X, -p.Y * w.Y, -p.Y})
	}
	var svd mat.SVD
	if !svd.Factorize(a, mat.SVDFull) {
		return nil, contradictory()
	}
	var vectors mat.Dense
	svd.VTo(&vectors)
	h := mat.Col(nil, 8, &vectors)
	if math.Abs(h[8]) < 1e-6 {
		return nil, contradictory()
	}
	for i := range h {
		h[i] /= h[8]
	}
	return h[:8], nil
}

func contradictory() error {
	return fault.Requestf("check that each point's place in the picture belongs to its place in the plane",
		"no view of a plane fits its points: they contradict each other")
}

// project maps a normalised point of the plane to the picture; w is its depth.
func project(th []float64, p Pixel) (x, y, w float64) {
	w = th[6]*p.X + th[7]*p.Y + 1
	return (th[0]*p.X + th[1]*p.Y + th[2]) / w, (th[3]*p.X + th[4]*p.Y + th[5]) / w, w
}

// refine fits by least squares; u is each point's standard uncertainty in px.
func (p *plane) refine(world, seen []Pixel, start, u []float64) error {
	n := len(world)
	sigma := func(i int) float64 { return max(u[i], leastMarkU) / p.size }
	residuals := func(th, r []float64) {
		for i, w := range world {
			x, y, depth := project(th, w)
			if depth <= 0 {
				x = math.NaN() // behind the camera
			}
			r[2*i], r[2*i+1] = (seen[i].X-x)/sigma(i), (seen[i].Y-y)/sigma(i)
		}
	}
	scale := []float64{1, 1, 1, 1, 1, 1, 0.1, 0.1}
	sol, err := fit.Minimise(fit.Problem{Observations: 2 * n, Residuals: residuals, Start: start, Scale: scale},
		fit.NonlinearOptions{KnownSigma: true})
	if err != nil {
		return contradictory()
	}
	copy(p.theta[:], sol.Parameters)
	p.list = nil
	p.gain = make([][8]float64, 2*n)
	dof, chi2 := 2*n-8, 0.0
	for i, w := range world {
		x, y, d := project(p.theta[:], w)
		rx, ry := sol.Residuals[2*i], sol.Residuals[2*i+1]
		chi2 += rx*rx + ry*ry
		p.list = append(p.list, MarkResidual{Index: i, Along: rx * sigma(i) * p.size, Across: ry * sigma(i) * p.size})
		if u[i] == 0 {
			continue
		}
		gx := [8]float64{w.X / d, w.Y / d, 1 / d, 0, 0, 0, -x * w.X / d, -x * w.Y / d}
		gy := [8]float64{0, 0, 0, w.X / d, w.Y / d, 1 / d, -y * w.X / d, -y * w.Y / d}
		for j := range 8 {
			for k := range 8 {
				p.gain[2*i][j] += sol.Covariance.At(j, k) * gx[k] / sigma(i)
				p.gain[2*i+1][j] += sol.Covariance.At(j, k) * gy[k] / sigma(i)
			}
		}
	}
	p.chi2, p.noise = chi2, newNoise(dof, chi2, evidence{})
	return nil
}

// exactly is to the plane what rod.exactly is to the rod: it writes into u.
func (p *plane) exactly(u []float64) []fault.Warning {
	dof := 2*len(u) - 8
	var sum float64
	for i, q := range p.list {
		if u[i] > 0 {
			return nil
		}
		sum += q.Along*q.Along + q.Across*q.Across
	}
	if dof <= 0 || sum <= coarse*coarse*float64(dof) {
		return nil
	}
	for i := range u {
		u[i] = math.Sqrt(sum / float64(dof))
	}
	return []fault.Warning{{Code: "scale-marks-scatter",
		Message: fmt.Sprintf("the plane's points are stated to be exact, but lie %.2g px off any view of it: that is taken as their uncertainty", u[0])}}
}

// judge is to the plane what rod.judge is to the rod.
func (p *plane) judge() []fault.Warning {
	dof := 2*len(p.list) - 8
	if !scatters(p.chi2, dof) {
		return nil
	}
	worst := slices.MaxFunc(p.list, func(a, b MarkResidual) int {
		return cmp.Compare(math.Hypot(a.Along, a.Across), math.Hypot(b.Along, b.Across))
	})
	return []fault.Warning{{Code: "scale-marks-scatter",
		Message: fmt.Sprintf("the plane's points lie %.1f times as far from where they should be seen as their stated uncertainty allows; it is taken as %.2g times what is stated; point %d is the farthest off, by %.1f px: check it",
			math.Sqrt(p.chi2/float64(dof)), p.noise.best, worst.Index+1, math.Hypot(worst.Along, worst.Across))}}
}
