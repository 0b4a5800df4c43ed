package trace

import (
	"context"
	"fmt"
	"math"
	"slices"
	"strings"

	"padside/camera"
	"padside/fault"
	"padside/footage"
)

// Marks alone. Nothing is followed, but the camera may move between the marked frames as it may in any footage: the still background is registered in them, against
// the first one, and every mark is taken back to where it would be had the camera stood. What no background tells becomes uncertainty (unknownShake).

// unknownShake is the standard uncertainty of either coordinate of a mark in a frame in which no still background is registered, as a share of the picture's longer
// side: a quarter of a degree of a hand's tremble over a lens that sees 50 degrees (common practice, no source).
const unknownShake = 0.005

// fewestAnchors is how many patches must agree for the background to be registered; patches that were given are trusted one by one.
const fewestAnchors = 3

// marksOnly makes the paths of the marks alone.
func (f *follower) marksOnly(ctx context.Context) (*Result, error) {
	res := &Result{Onset: f.o.From, fromMarks: true, Exposure: f.o.exposure()}
	raw := make([][]Mark, f.o.Lanes)
	for i := range raw {
		for _, m := range f.o.marksOf(i + 1) {
			raw[i] = append(raw[i], m)
		}
		slices.SortFunc(raw[i], func(a, b Mark) int { return a.Frame - b.Frame })
		if len(raw[i]) < 2 {
			return nil, fault.Requestf("mark the vehicle in at least two frames of each lane, or let it be followed",
				"lane %d has %d mark(s), and nothing is to be followed", i+1, len(raw[i]))
		}
	}
	if !f.o.FixedCamera {
		if err := f.steadyMarks(ctx, raw); err != nil {
			return nil, err
		}
		res.steady = f.steady
	}
	unknown := map[int]bool{}
	for i, marks := range raw {
		p := Path{Lane: i + 1, Line: camera.FlightLine{Uy: -1}}
		for range 2 { // how a mark's uncertainty lies along the line is known once there is one
			p.Points = p.Points[:0]
			for _, m := range marks {
				k, known := f.shakeOf(m)
				if !known {
					unknown[m.Frame] = true
				}
				p.Points = append(p.Points, m.point(p.Line, k))
			}
			var ok bool
			if p.Line, ok = lineThrough(p.Points); !ok {
				return nil, fault.NoAnswerf("mark the same point of the vehicle in frames in which it moves",
					"the marks of lane %d all lie at one place", p.Lane)
			}
		}
		res.Paths = append(res.Paths, p)
	}
	res.Warnings = f.unsteadied(unknown)
	return res, nil
}

// steadyMarks reads from the first marked frame to the last and measures how the camera moves.
func (f *follower) steadyMarks(ctx context.Context, lanes [][]Mark) error {
	first, last := lanes[0][0].Frame, lanes[0][0].Frame
	for _, marks := range lanes {
		first, last = min(first, marks[0].Frame), max(last, marks[len(marks)-1].Frame)
	}
	return f.src.Read(ctx, first, last+1, func(fr footage.Frame) error {
		f.o.Progress(fr.Index)
		if f.steady == nil {
			f.steady = newSteady(f.basis, fr.Luma, f.o.Steady, nil)
			if !f.steady.given {
				f.steady.avoid = aroundMarks(lanes, fr.Luma)
				f.steady.anchors = chooseAnchors(f.basis, fr.Luma, f.steady.avoid, mostAnchors)
			}
		}
		f.steady.far = true
		f.steady.step(fr.Index, fr.Luma)
		release(&fr)
		return nil
	})
}

// aroundMarks is where vehicles fly: the stretches between their marks, and all that lies behind them, where their smoke is.
func aroundMarks(lanes [][]Mark, l *footage.Luma) []area {
	var out []area
	by := max(24, max(l.Width, l.Height)/16)
	for _, marks := range lanes {
		a, b := marks[0], marks[len(marks)-1]
		upright := math.Abs(b.Y-a.Y) > math.Abs(b.X-a.X)
		for k := 1; k < len(marks); k++ {
			a, b := marks[k-1], marks[k]
			x0, x1, y0, y1 := int(min(a.X, b.X))-by, int(max(a.X, b.X))+by, int(min(a.Y, b.Y))-by, int(max(a.Y, b.Y))+by
			if upright {
				y0, y1 = min(0, y0), max(l.Height, y1)
			} else {
				x0, x1 = min(0, x0), max(l.Width, x1)
			}
			out = append(out, area{x0, y0, x1 - x0, y1 - y0})
		}
	}
	return out
}

// shakeOf is the camera's movement where a mark is, in its frame; false where it is not known, and then as wide as that makes it.
func (f *follower) shakeOf(m Mark) (shake, bool) {
	if f.o.FixedCamera {
		return shake{}, true
	}
	if f.steady.registered(m.Frame) {
		k := f.steady.at(m.Frame, m.X, m.Y)
		for range 3 { // the movement is known by places at rest
			k = f.steady.at(m.Frame, m.X-k.dx, m.Y-k.dy)
		}
		return k, true
	}
	k := f.steady.between(m.Frame, m.X, m.Y)
	u := unknownShake * float64(max(f.width, f.height))
	k.ux, k.uy = math.Hypot(k.ux, u), math.Hypot(k.uy, u)
	return k, false
}

// registered reports whether the background of a frame tells how the camera had moved.
func (s *steady) registered(frame int) bool {
	m, ok := s.moves[frame]
	return ok && m.ok && (s.given || m.n >= fewestAnchors)
}

// between is the camera's movement at a place in a frame that tells nothing: between the frames on either side that do, as uncertain as they differ; that of the nearest
// where there is one side alone, as uncertain as that has moved; none where no frame tells.
func (s *steady) between(frame int, x, y float64) shake {
	before, after := math.MinInt, math.MaxInt
	for f := range s.moves {
		switch {
		case !s.registered(f):
		case f < frame:
			before = max(before, f)
		default:
			after = min(after, f)
		}
	}
	var a, b shake
	switch {
	case before == math.MinInt && after == math.MaxInt:
		return shake{}
	case before == math.MinInt:
		b = s.at(after, x, y)
		return shake{b.dx, b.dy, math.Abs(b.dx), math.Abs(b.dy)}
	case after == math.MaxInt:
		a = s.at(before, x, y)
		return shake{a.dx, a.dy, math.Abs(a.dx), math.Abs(a.dy)}
	}
	a, b = s.at(before, x, y), s.at(after, x, y)
	part := float64(frame-before) / float64(after-before)
	return shake{a.dx + part*(b.dx-a.dx), a.dy + part*(b.dy-a.dy), math.Abs(b.dx-a.dx) / 2, math.Abs(b.dy-a.dy) / 2}
}

// unsteadied says in which marked frames the camera's movement is not known.
func (f *follower) unsteadied(unknown map[int]bool) []fault.Warning {
	if len(unknown) == 0 {
		return nil
	}
	var frames []int
	for i := range unknown {
		frames = append(frames, i)
	}
	slices.Sort(frames)
	names := strings.Trim(fmt.Sprint(frames[:min(len(frames), 8)]), "[]")
	if len(frames) > 8 {
		names += " and others"
	}
	return []fault.Warning{{Code: "marks-not-steadied", Message: fmt.Sprintf(
		"no still background tells how the camera moved in marked frames %s: each mark there is taken to be uncertain by %.2g px for it; name still patches with steady, or write fixed_camera = true under [trace] where it stood on a tripod",
		strings.ReplaceAll(names, " ", ", "), unknownShake*float64(max(f.width, f.height)))}}
}

// lineThrough is the flight line of points, through the first; see mainAxis.
func lineThrough(p []Point) (l camera.FlightLine, ok bool) {
	l.Rest = camera.Pixel{X: p[0].X, Y: p[0].Y}
	l.Ux, l.Uy, ok = mainAxis(l.Rest, len(p), func(i int) (x, y float64) { return p[i].X, p[i].Y })
	return l, ok
}
