package trace

import (
	"math"
	"slices"

	"padside/footage"
)

// anchor is a still patch of background by which the camera's movement is measured.
type anchor struct {
	home area // in the picture at rest; for one taken up later, where it would have been then
	// offX, offY is what the camera had moved by when the anchor was taken up.
	offX, offY float64
	from       area // where it was cut out
	m          *matcher
	last       [2]float64 // its last shift from `from`, px
	bad        int        // frames in a row in which it was not found

	looks []float32 // its pixels where it was cut out, levels
	far   *searcher // made of them when first wanted
}

const (
	anchorSide  = 32
	mostAnchors = 8
	// anchorNoise is the noise, in grey levels, at which a patch must still be placed to within
	// anchorU px to be worth taking.
	anchorNoise = 2.0
	anchorU     = 0.08
	// straightStep is the shift, px, up to which one step without interpolation is good to a hundredth.
	straightStep = 0.15
)

// newAnchor cuts an anchor out of a picture; nil where it has no texture in both directions.
func newAnchor(b *basis, l *footage.Luma, a area) *anchor {
	p := &patch{w: a.w, h: a.h, pix: cut(l, a.grown(margin), nil), weight: flat(a.w * a.h)}
	m, ok := p.matcher(b, 0, 0)
	if !ok || math.Sqrt(max(m.inv[2*maxReg+2], m.inv[3*maxReg+3]))*anchorNoise > anchorU {
		return nil
	}
	return &anchor{home: a, from: a, m: m, looks: cut(l, a, nil)}
}

// measure finds the anchor's shift from its home in the picture.
func (a *anchor) measure(s *scratch, l *footage.Luma) (match, bool) {
	ix, iy := int(math.Round(a.last[0])), int(math.Round(a.last[1]))
	at := a.from
	at.x += ix
	at.y += iy
	if !at.within(area{2, 2, l.Width - 4, l.Height - 4}) {
		return match{}, false
	}
	if len(a.m.t) == at.w*at.h {
		if got, ok := a.straight(s, l, at); ok {
			got.X += float64(ix)
			got.Y += float64(iy)
			return got, true
		}
	}
	by := margin + cropSlack
	w := at.grown(by)
	s.pix = cut(l, w, s.pix)
	s.set(s.pix, w.w, w.h)
	s.back = nil
	cx, cy := float64(w.w-1)/2, float64(w.h-1)/2
	got := a.m.register(s, warp{X: cx + a.last[0] - float64(ix), Y: cy + a.last[1] - float64(iy), A: 1})
	if !got.ok || got.quality < leastMatch {
		return got, false
	}
	got.X += float64(ix) - cx
	got.Y += float64(iy) - cy
	return got, true
}

// straight takes one step from a whole-pixel place, which needs no interpolation: exact enough
// when the camera is nearly still, and many times faster.
func (a *anchor) straight(s *scratch, l *footage.Luma, at area) (match, bool) {
	s.f = cut(l, at, s.f)
	for k := range s.f {
		s.f[k] -= a.m.mean
	}
	q := a.m.parameters(s.f)
	if q[0] <= 0 {
		return match{}, false
	}
	x, y := -q[2]/q[0], -q[3]/q[0]
	if math.Hypot(x, y) > straightStep {
		return match{}, false
	}
	got := a.m.judge(s, warp{X: x, Y: y, A: 1}, &q)
	return got, got.ok && got.quality >= leastMatch
}

// chooseAnchors picks textured patches that lie apart from one another and from what is to be avoided.
func chooseAnchors(b *basis, l *footage.Luma, avoid []area, n int) []*anchor {
	side := min(anchorSide, l.Width/6, l.Height/6)
	if side < 12 {
		return nil
	}
	type cell struct {
		a     area
		worth float64
	}
	var cells []cell
	edge := margin + 4
	for y := edge; y+side+edge <= l.Height; y += side / 2 {
	next:
		for x := edge; x+side+edge <= l.Width; x += side / 2 {
			a := area{x, y, side, side}
			for _, v := range avoid {
				if a.meets(v) {
					continue next
				}
			}
			if w := cornerness(l, a); w > 0 {
				cells = append(cells, cell{a, w})
			}
		}
	}
	slices.SortStableFunc(cells, func(p, q cell) int {
		switch {
		case p.worth > q.worth:
			return -1
		case p.worth < q.worth:
			return 1
		}
		return 0
	})
	var out []*anchor
	apart := max(l.Width, l.Height) / 5
	for ; len(out) < n && apart >= side; apart /= 2 {
		for _, c := range cells {
			if len(out) == n {
				break
			}
			if c.worth < cells[0].worth/400 {
				break
			}
			if slices.ContainsFunc(out, func(o *anchor) bool {
				return max(abs(o.home.x-c.a.x), abs(o.home.y-c.a.y)) < apart
			}) {
				continue
			}
			if a := newAnchor(b, l, c.a); a != nil {
				out = append(out, a)
			}
		}
	}
	return out
}

func abs(x int) int { return max(x, -x) }

// cornerness is the smaller eigenvalue of the sum of gradient products over an area, every second pixel taken:
// large where a patch has texture in both directions (Shi & Tomasi, CVPR 1994).
func cornerness(l *footage.Luma, a area) float64 {
	var xx, xy, yy float64
	if l.Pix8 != nil {
		xx, xy, yy = tensor(l.Pix8, l.Width, a)
	} else {
		xx, xy, yy = tensor(l.Pix16, l.Width, a)
		g := float64(grey(l))
		xx, xy, yy = xx*g*g, xy*g*g, yy*g*g
	}
	return (xx+yy)/2 - math.Sqrt((xx-yy)*(xx-yy)/4+xy*xy)
}

func tensor[T uint8 | uint16](pix []T, wide int, a area) (xx, xy, yy float64) {
	for y := a.y; y < a.y+a.h; y += 2 {
		for x := a.x; x < a.x+a.w; x += 2 {
			o := y*wide + x
			gx := float64(pix[o+2]) - float64(pix[o-2])
			gy := float64(pix[o+2*wide]) - float64(pix[o-2*wide])
			xx += gx * gx
			xy += gx * gy
			yy += gy * gy
		}
	}
	return xx, xy, yy
}
