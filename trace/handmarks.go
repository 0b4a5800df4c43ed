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
	"padside/register"
	"padside/stabilise"
)

// Marks alone. Nothing is followed, but the camera may move between the marked frames as it may in any footage: the still background is registered in them, against
// the first one, and every mark is taken back to where it would be had the camera stood. What no background tells becomes uncertainty (unknownShake).

// unknownShake is the standard uncertainty of either coordinate of a mark in a frame in which no still background is registered, as a share of the picture's longer
// side: a quarter of a degree of a hand's tremble over a lens that sees 50 degrees (common practice, no source).
const unknownShake = 0.005

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
			f.steady = stabilise.NewBackground(f.basis, fr.Luma, aroundMarks(lanes, fr.Luma), f.o.steady(fr.Luma))
			f.steady.SeekFar()
		}
		f.steady.Step(fr.Index, fr.Luma)
		release(&fr)
		return nil
	})
}

// aroundMarks is where vehicles fly: the stretches between their marks, and all that lies behind them, where their smoke is.
func aroundMarks(lanes [][]Mark, l *footage.Luma) []register.Area {
	var out []register.Area
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
			out = append(out, register.Area{X: x0, Y: y0, W: x1 - x0, H: y1 - y0})
		}
	}
	return out
}

// shakeOf is the camera's movement where a mark is, in its frame; false where it is not known, and then as wide as that makes it.
func (f *follower) shakeOf(m Mark) (stabilise.Shift, bool) {
	if f.o.FixedCamera {
		return stabilise.Shift{}, true
	}
	if f.steady.Registered(m.Frame) {
		k := f.steady.At(m.Frame, m.X, m.Y)
		for range 3 { // the movement is known by places at rest
			k = f.steady.At(m.Frame, m.X-k.DX, m.Y-k.DY)
		}
		return k, true
	}
	k := f.steady.Between(m.Frame, m.X, m.Y)
	u := unknownShake * float64(max(f.width, f.height))
	k.UX, k.UY = math.Hypot(k.UX, u), math.Hypot(k.UY, u)
	return k, false
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
