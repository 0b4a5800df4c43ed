package stabilise

import (
	"math"
	"slices"

	"padside/footage"
	"padside/register"
)

// anchor is a still patch of background by which the camera's movement is measured.
type anchor struct {
	home register.Area // in the picture at rest; for one taken up later, where it would have been then
	// offX, offY is what the camera had moved by when the anchor was taken up.
	offX, offY float64
	from       register.Area // where it was cut out
	m          *register.Matcher
	last       [2]float64 // its last shift from `from`, px
	bad        int        // frames in a row in which it was not found

	looks []float32          // its pixels where it was cut out, levels
	far   *register.Searcher // made of them when first wanted
}

const (
	anchorSide  = 32
	mostAnchors = 8
	// anchorNoise is the noise, in grey levels, at which a patch must still be placed to within
	// anchorU px to be worth taking.
	anchorNoise = 2.0
	anchorU     = 0.08
	// anchorSlack is how far, px, matching may move an anchor from where it is expected.
	anchorSlack = 5
	// straightStep is the shift, px, up to which one step without interpolation is good to a
	// hundredth.
	straightStep = 0.15
)

// newAnchor cuts an anchor out of a picture; nil where it has no texture in both directions.
func newAnchor(b *register.Basis, l *footage.Luma, a register.Area) *anchor {
	p := &register.Patch{W: a.W, H: a.H, Weight: register.Flat(a.W * a.H)}
	p.Pix = register.Cut(l, a.Grown(register.Margin), nil)
	m, ok := p.Matcher(b, 0, 0)
	if !ok || m.Bound(anchorNoise) > anchorU {
		return nil
	}
	return &anchor{home: a, from: a, m: m, looks: register.Cut(l, a, nil)}
}

// measure finds the anchor's shift from its home in the picture.
func (a *anchor) measure(s *register.Scratch, l *footage.Luma) (register.Match, bool) {
	ix, iy := int(math.Round(a.last[0])), int(math.Round(a.last[1]))
	at := a.from
	at.X += ix
	at.Y += iy
	if !at.Within(register.Area{X: 2, Y: 2, W: l.Width - 4, H: l.Height - 4}) {
		return register.Match{}, false
	}
	if a.m.Pixels() == at.W*at.H {
		if got, ok := a.m.Direct(s, l, at, straightStep); ok && got.Quality >= register.LeastMatch {
			got.X += float64(ix)
			got.Y += float64(iy)
			return got, true
		}
	}
	by := register.Margin + anchorSlack
	w := at.Grown(by)
	s.Pix = register.Cut(l, w, s.Pix)
	s.Set(s.Pix, w.W, w.H)
	s.Back = nil
	cx, cy := float64(w.W-1)/2, float64(w.H-1)/2
	from := register.Warp{X: cx + a.last[0] - float64(ix), Y: cy + a.last[1] - float64(iy), A: 1}
	got := a.m.Register(s, from)
	if !got.OK || got.Quality < register.LeastMatch {
		return got, false
	}
	got.X += float64(ix) - cx
	got.Y += float64(iy) - cy
	return got, true
}

// chooseAnchors picks textured patches that lie apart from one another and from what is to be
// avoided.
func chooseAnchors(b *register.Basis, l *footage.Luma, avoid []register.Area, n int) []*anchor {
	side := min(anchorSide, l.Width/6, l.Height/6)
	if side < 12 {
		return nil
	}
	type cell struct {
		a     register.Area
		worth float64
	}
	var cells []cell
	edge := register.Margin + 4
	for y := edge; y+side+edge <= l.Height; y += side / 2 {
	next:
		for x := edge; x+side+edge <= l.Width; x += side / 2 {
			a := register.Area{X: x, Y: y, W: side, H: side}
			for _, v := range avoid {
				if a.Meets(v) {
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
				return apartBy(o.home, c.a) < apart
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

// cornerness is the smaller eigenvalue of the sum of gradient products over an area, every second
// pixel taken: large where a patch has texture in both directions (Shi & Tomasi, CVPR 1994).
func cornerness(l *footage.Luma, a register.Area) float64 {
	var xx, xy, yy float64
	if l.Pix8 != nil {
		xx, xy, yy = tensor(l.Pix8, l.Width, a)
	} else {
		xx, xy, yy = tensor(l.Pix16, l.Width, a)
		g := float64(register.Grey(l))
		xx, xy, yy = xx*g*g, xy*g*g, yy*g*g
	}
	return (xx+yy)/2 - math.Sqrt((xx-yy)*(xx-yy)/4+xy*xy)
}

func tensor[T uint8 | uint16](pix []T, wide int, a register.Area) (xx, xy, yy float64) {
	for y := a.Y; y < a.Y+a.H; y += 2 {
		for x := a.X; x < a.X+a.W; x += 2 {
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

// apartBy is how far apart two areas of one size are, px, along the axis on which that is more.
func apartBy(a, b register.Area) int { return max(a.X-b.X, b.X-a.X, a.Y-b.Y, b.Y-a.Y) }
