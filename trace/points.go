package trace

import (
	"fmt"
	"math"
	"slices"

	"padside/fit"
	"padside/register"
)

// points makes the trace from the last matches.
func (r *refiner) points(p *Path) {
	var q []float64
	for _, m := range r.matches {
		if m.OK {
			q = append(q, m.Quality)
		}
	}
	usual := fit.Median(q)
	r.leaveOutStrays()
	ratio := r.shareOfNeighbours()
	ux, uy := r.line.Ux, r.line.Uy
	one := r.sizeAtRest()
	coded := 0.0
	told := r.telling()
	p.RestU = r.restU(told != nil)
	if told != nil {
		coded = codedU
		if r.cameras != nil {
			coded = steadyU
		}
	}
	p.RestU = math.Hypot(math.Hypot(p.RestU, r.restWander()), r.restDoubt)
	for i := range r.matches {
		m, s := &r.matches[i], &r.sights[i]
		if r.stray[i] {
			p.Dropped = append(p.Dropped, Dropped{s.frame, "off the path that the frames around it show"})
			continue
		}
		if r.adrift[i] {
			p.Dropped = append(p.Dropped, Dropped{s.frame, "no close match, and the coarse places around it lie on no smooth path"})
			continue
		}
		if r.wander != nil && r.wander[i] > mostWander {
			p.Dropped = append(p.Dropped, Dropped{s.frame, "no close match, and the coarse search errs otherwise where it can be compared"})
			continue
		}
		if !m.OK || m.Quality < min(register.LeastMatch, 0.6*usual) {
			p.Dropped = append(p.Dropped, Dropped{s.frame, fmt.Sprintf("no close match: correlation %.2f", m.Quality)})
			continue
		}
		k := r.camera(i, m.X, m.Y)
		if r.cameras != nil {
			k.UX, k.UY = 0, 0 // all frames have it together
		}
		c := m.White
		vx, va := varianceAlong(c, ux, uy), varianceAlong(c, -uy, ux)
		size := m.Size()
		// Beyond noise: what sampling, background and shape leave once the vehicle is off the place the reference was taken at.
		left := leftOver * min(1, math.Abs(r.along(i))/leftOverFrom)
		between, behind := coded, 0.0
		if told != nil {
			between, behind = math.Hypot(coded, told[i].lag), told[i].behind
		}
		// Neither is white: the one goes with the place between pixels, the other changes slowly.
		phase := phaseShare * left
		doubt := math.Sqrt(left*left - phase*phase)
		vx, va = vx*ratio[i]+between*between, va*ratio[i]+left*left+between*between
		p.Points = append(p.Points, Point{
			Frame: s.frame, X: m.X - k.DX + behind*ux, Y: m.Y - k.DY + behind*uy, Col: m.X, Row: m.Y,
			U:      math.Sqrt(vx + (ux*k.UX)*(ux*k.UX) + (uy*k.UY)*(uy*k.UY)),
			Across: math.Sqrt(va + (uy*k.UX)*(uy*k.UX) + (ux*k.UY)*(ux*k.UY)),
			Phase:  r.phase(i, m), UPhase: phase, UDoubt: doubt,
			Size: size / one, USize: r.usize(i), Quality: m.Quality, Source: r.source(i), Copy: told != nil && told[i].silent,
		})
	}
	p.trim()
	p.trimEnd()
}

// trim drops coarse points at the beginning that hang together with the rest by nothing: what was lost between may have been
// taken up wrongly.
func (p *Path) trim() {
	for i := 1; i < len(p.Points) && p.Points[i-1].Source == SourceCoarse; i++ {
		if p.Points[i].Frame-p.Points[i-1].Frame <= longestGap {
			continue
		}
		for _, q := range p.Points[:i] {
			p.Dropped = append(p.Dropped, Dropped{q.Frame, "before a stretch in which the vehicle was lost"})
		}
		p.Points = slices.Delete(p.Points, 0, i)
		return
	}
}

// trimEnd drops the last points, up to shortEnd of them, if the vehicle was lost right before them and was seen in motion too little before that: neither what comes
// before nor anything later tells then whether what was found again is the vehicle.
func (p *Path) trimEnd() {
	n := len(p.Points)
	for k := n - 1; k >= max(1, n-shortEnd); k-- {
		if p.Points[k].Frame-p.Points[k-1].Frame == 1 {
			continue
		}
		if p.moving(p.Points[:k]) >= knownMotion {
			return
		}
		for _, q := range p.Points[k:] {
			p.Dropped = append(p.Dropped, Dropped{q.Frame, "found again after too few frames in motion, and in too few, to tell what it is"})
		}
		p.Points = p.Points[:k]
		return
	}
}

// moving is how many of the points are plainly off rest.
func (p *Path) moving(of []Point) (n int) {
	for _, q := range of {
		if (q.X-p.Line.Rest.X)*p.Line.Ux+(q.Y-p.Line.Rest.Y)*p.Line.Uy > plainlyOff {
			n++
		}
	}
	return n
}

const (
	shortEnd    = 2   // points at the end that tell too little of what they are
	knownMotion = 5   // points in motion that show where a vehicle goes on to
	plainlyOff  = 3.0 // px
)

// longestGap is how many frames a coarse search bridges without doubt.
const longestGap = 4

// leftOver is the standard uncertainty, px, of what learning reference, background and size leaves, reached
// leftOverFrom px away from rest: the root mean square error on drawn launches beyond the noise (TestFollow).
const (
	leftOver     = 0.03
	leftOverFrom = 0.4
)

// source is how sighting i was placed.
func (r *refiner) source(i int) string {
	if r.coarse != nil && r.coarse[i] {
		return SourceCoarse
	}
	return SourceFollowed
}

// usize is the standard uncertainty of the size in frame i from that frame's pixels alone; 1 where they say nothing.
func (r *refiner) usize(i int) float64 {
	if r.usizes != nil && r.usizes[i] > 0 && r.source(i) == SourceFollowed {
		return r.usizes[i]
	}
	return 1
}

// shareOfNeighbours is, per frame, how much larger the variance along the line is than if pixels erred by
// themselves: the median over neighbouring frames of the ratio of both estimates, at least 1.
func (r *refiner) shareOfNeighbours() []float64 {
	const half = 8
	n := len(r.matches)
	one := make([]float64, n)
	ux, uy := r.line.Ux, r.line.Uy
	along := func(c [2][2]float64) float64 { return varianceAlong(c, ux, uy) }
	for i, m := range r.matches {
		one[i] = 1
		if w := along(m.White); m.OK && w > 0 {
			one[i] = along(m.Cov) / w
		}
	}
	out := make([]float64, n)
	for i := range out {
		out[i] = max(1, fit.Median(one[max(0, i-half):min(n, i+half+1)]))
	}
	return out
}

// varianceAlong is the variance along the direction (ux, uy) of a place whose covariance is c, px^2.
func varianceAlong(c [2][2]float64, ux, uy float64) float64 {
	return ux*ux*c[0][0] + 2*ux*uy*c[0][1] + uy*uy*c[1][1]
}
