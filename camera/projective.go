package camera

// projective is the map from s (px along the straightened flight line, 0 at rest) to
// metres, h = a s / (1 + c s). It is exact for any straight line seen by a pinhole camera.
// Source: Hartley & Zisserman, Multiple View Geometry (2nd ed., 2004), 2.5, from memory.
type projective struct {
	a float64 // m/px at rest
	c float64 // 1/px
}

// denominator is 1 + c s, kept off zero and beyond.
func (p projective) denominator(s float64) float64 { return max(1+p.c*s, nearest/2) }

func (p projective) at(s float64) float64 { return p.a * s / p.denominator(s) }

// within keeps the vanishing point out of the view, s in [0, reach].
func (p projective) within(reach float64) projective {
	p.c = max(p.c, (nearest-1)/reach)
	return p
}

// relativeTo returns the warp from nominal heights, as n maps them, to p's: the exact map
// is y(h) = (a/a0) h / (1 + (c-c0)/a0 h), and the warp goes through it at 0 and at one,
// two and three thirds of the height top.
func (p projective) relativeTo(n projective, top float64) Warp {
	var r [3]float64 // y/h - 1 at the nodes
	for i := range r {
		h := top * float64(i+1) / 3
		r[i] = p.a/n.a/(1+(p.c-n.c)/n.a*h) - 1
	}
	return WarpThrough(r, top)
}

// WarpThrough returns the warp that makes heights of one, two and three thirds of top (m) more by r
// of themselves: Newton's divided differences, expanded into powers of the height.
func WarpThrough(r [3]float64, top float64) Warp {
	d1, d2 := r[1]-r[0], (r[2]-2*r[1]+r[0])/2
	return Warp{E: [3]float64{r[0] - d1 + 2*d2, 3 * (d1 - 3*d2) / top, 9 * d2 / (top * top)}}
}
