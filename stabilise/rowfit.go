package stabilise

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"

	"padside/fit"
)

const (
	rowRounds    = 4 // of velocities and reweighting
	fewestInRows = 3 // readings in a frame
	fewestSeen   = 5 // frames that an anchor is seen in
	outlierRow   = 3.0
	mostRows     = 1500   // frames that are used: the last ones
	rowSpan      = 1000.0 // px, so that all unknowns are of a size
)

// rowFrame is one frame's readings, two rows for each, x and y: d = m + c + k·p v + noise, with the
// motion m of the frame (four terms) and a constant c of each anchor (what was wrong in the frame
// it was taken up in) unknown beside k.
type rowFrame struct {
	t       float64       // s
	m       motion        // as fitted here
	anchors []int         // of each reading
	places  [][2]float64  // px from the middle
	y       []float64     // px, readings
	terms   [][4]float64  // what pan, tilt, size and roll make of each row
	v       []float64     // px/s, the camera's velocity at the place
	kx, ky  []float64     // px, what a delay of 1 s over rowSpan px along x and y makes of it
	weight  []float64     // 1/px²
	left    []float64     // px, what is left of y once motion, constants and k are taken off
	solve   *mat.SymDense // (FᵀWF)⁻¹
	keep    *mat.Dense    // W - W F (FᵀWF)⁻¹ FᵀW: what the frame's motion leaves of the rows
}

// rowEquations are the normal equations of all frames for the anchors' constants and k.
type rowEquations struct {
	frames     []rowFrame
	numbers    []int // of the frames
	anchors    int
	velocities map[int]velocity // by frame number
	inverse    *mat.SymDense
	x          *mat.VecDense // constants, two for each anchor; kx, ky
}

// newRowEquations collects the readings of frames that have enough.
func newRowEquations(s *Background, seconds func(frame int) float64) *rowEquations {
	seen := map[*anchor]int{}
	var frames []int
	for f := range s.seen {
		frames = append(frames, f)
		for _, r := range s.seen[f] {
			seen[r.anchor]++
		}
	}
	slices.Sort(frames)
	frames = frames[max(0, len(frames)-mostRows):]
	e := &rowEquations{}
	number := map[*anchor]int{}
	for _, f := range frames {
		row := rowFrame{t: seconds(f), m: s.moves[f]}
		if n := len(e.frames); n > 0 && row.t <= e.frames[n-1].t {
			continue // an equal stamp
		}
		for _, r := range s.seen[f] {
			if seen[r.anchor] < fewestSeen {
				continue
			}
			k, ok := number[r.anchor]
			if !ok {
				k = len(number)
				number[r.anchor] = k
			}
			row.take(k, r)
		}
		if row.m.ok && len(row.anchors) >= fewestInRows {
			e.frames, e.numbers = append(e.frames, row), append(e.numbers, f)
		}
	}
	e.anchors = len(number)
	return e
}

// take adds the reading of an anchor.
func (r *rowFrame) take(anchor int, got reading) {
	m := &r.m
	x, y, w := got.x-m.mx, got.y-m.my, 1/(got.u*got.u)
	r.anchors, r.places = append(r.anchors, anchor), append(r.places, [2]float64{x, y})
	r.y, r.weight = append(r.y, got.dx, got.dy), append(r.weight, w, w)
	r.terms = append(r.terms, [4]float64{1 + m.k*x*x, m.k * x * y, x, -y}, [4]float64{m.k * x * y, 1 + m.k*y*y, y, x})
}

// speeds sets the velocities by the motions so far. It reports false where the times tell none.
func (e *rowEquations) speeds() bool {
	var m []motion
	var t []float64
	for f := range e.frames {
		m, t = append(m, e.frames[f].m), append(t, e.frames[f].t)
	}
	v, ok := velocities(m, t)
	if !ok {
		return false
	}
	e.velocities = map[int]velocity{}
	for f := range e.frames {
		r := &e.frames[f]
		e.velocities[e.numbers[f]] = v[f]
		r.v, r.kx, r.ky = r.v[:0], r.kx[:0], r.ky[:0]
		for _, p := range r.places {
			vx, vy := v[f].at(p[0], p[1])
			r.v = append(r.v, vx, vy)
			r.kx = append(r.kx, p[0]/rowSpan*vx, p[0]/rowSpan*vy)
			r.ky = append(r.ky, p[1]/rowSpan*vx, p[1]/rowSpan*vy)
		}
	}
	return true
}

// eliminate makes what the frame's motion leaves of its rows. It reports false where that cannot be
// told.
func (r *rowFrame) eliminate() bool {
	n := len(r.y)
	sum := mat.NewSymDense(4, nil)
	for i, t := range r.terms {
		for j := range 4 {
			for k := j; k < 4; k++ {
				sum.SetSym(j, k, sum.At(j, k)+r.weight[i]*t[j]*t[k])
			}
		}
	}
	var chol mat.Cholesky
	r.solve = mat.NewSymDense(4, nil)
	if !chol.Factorize(sum) || chol.InverseTo(r.solve) != nil {
		return false
	}
	r.keep = mat.NewDense(n, n, nil)
	for i, p := range r.terms {
		for j, q := range r.terms {
			var v float64
			for a := range 4 {
				for b := range 4 {
					v += p[a] * r.solve.At(a, b) * q[b]
				}
			}
			v *= -r.weight[i] * r.weight[j]
			if i == j {
				v += r.weight[i]
			}
			r.keep.Set(i, j, v)
		}
	}
	return true
}

// column is where row i of the frame stands among the unknowns: its anchor's constant along x or y.
func (r *rowFrame) column(i int) int { return 2*r.anchors[i/2] + i%2 }

// solve solves for the constants and k, and fits the motions. It reports false where they cannot be
// told.
func (e *rowEquations) solve() bool {
	n := 2*e.anchors + 2
	sum, right := mat.NewSymDense(n, nil), mat.NewVecDense(n, nil)
	add := func(i, j int, v float64) {
		if i <= j {
			sum.SetSym(i, j, sum.At(i, j)+v)
		}
	}
	for f := range e.frames {
		r := &e.frames[f]
		if !r.eliminate() {
			return false
		}
		for i := range r.y {
			var y float64
			for j := range r.y {
				v := r.keep.At(i, j)
				y += v * r.y[j]
				add(r.column(i), r.column(j), v)
				add(r.column(i), n-2, v*r.kx[j])
				add(r.column(i), n-1, v*r.ky[j])
				add(n-2, n-2, r.kx[i]*v*r.kx[j])
				add(n-2, n-1, r.kx[i]*v*r.ky[j])
				add(n-1, n-1, r.ky[i]*v*r.ky[j])
			}
			right.SetVec(r.column(i), right.AtVec(r.column(i))+y)
			right.SetVec(n-2, right.AtVec(n-2)+r.kx[i]*y)
			right.SetVec(n-1, right.AtVec(n-1)+r.ky[i]*y)
		}
	}
	// The motions of all frames together are constants too: a slight pull towards none tells them
	// apart and moves nothing else.
	for i := range n - 2 {
		sum.SetSym(i, i, sum.At(i, i)*(1+1e-8)+1e-6)
	}
	var chol mat.Cholesky
	e.inverse, e.x = mat.NewSymDense(n, nil), mat.NewVecDense(n, nil)
	if !chol.Factorize(sum) || chol.InverseTo(e.inverse) != nil || chol.SolveVecTo(e.x, right) != nil {
		return false
	}
	for f := range e.frames {
		e.fit(&e.frames[f])
	}
	return true
}

// fit fits the frame's motion, and works out what is left of its rows.
func (e *rowEquations) fit(r *rowFrame) {
	n := e.x.Len()
	var q, c [4]float64
	r.left = make([]float64, len(r.y))
	for i := range r.left {
		r.left[i] = r.y[i] - e.x.AtVec(r.column(i)) - e.x.AtVec(n-2)*r.kx[i] - e.x.AtVec(n-1)*r.ky[i]
		for a, t := range r.terms[i] {
			q[a] += r.weight[i] * t * r.left[i]
		}
	}
	for a := range c {
		for b := range q {
			c[a] += r.solve.At(a, b) * q[b]
		}
	}
	r.m.pan, r.m.tilt, r.m.size, r.m.roll = c[0], c[1], c[2], c[3]
	for i, t := range r.terms {
		for a := range c {
			r.left[i] -= t[a] * c[a]
		}
	}
}

// reweigh makes readings that lie off count less, as a Cauchy's would beyond outlierRow times the
// usual scatter.
func (e *rowEquations) reweigh() {
	var all []float64
	for f := range e.frames {
		for _, v := range e.frames[f].left {
			all = append(all, math.Abs(v))
		}
	}
	rows, free := float64(len(all)), float64(len(all)-4*len(e.frames)-2*e.anchors-2)
	usual := max(1.4826*fit.Median(all), 1e-4) * math.Sqrt(rows/max(free, 1)) // px
	for f := range e.frames {
		r := &e.frames[f]
		for i := 0; i < len(r.left); i += 2 {
			z := math.Hypot(r.left[i], r.left[i+1]) / (outlierRow * usual)
			w := 1 / (usual * usual * (1 + z*z))
			r.weight[i], r.weight[i+1] = w, w
		}
	}
}
