package camera

import (
	"cmp"
	"math"
	"slices"

	"padside/fault"
)

// sighting is one mark along and across the rod's axis.
type sighting struct {
	index         int
	h, uh         float64 // m
	along, across float64 // px
	u             float64 // px, standard uncertainty along
	width, uw     float64 // px, of what is seen there; 0: nothing
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
		m := s.Marks[i]
		marks[i] = sighting{index: i, h: m.Height, uh: m.U, u: s.markU(m.AtU), along: dx*ux + dy*uy, across: -dx*uy + dy*ux, width: m.Width, uw: m.WidthU}
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
