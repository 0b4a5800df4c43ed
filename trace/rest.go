package trace

import (
	"math"
	"slices"

	"padside/fit"
	"padside/register"
	"padside/stabilise"
)

// Where to begin. The frame in which change is first seen depends on the noise and on where reading began; by then smoke may lie
// around the vehicle, or it moves already. What is found from there is only good enough to see when the vehicle began to move. It is
// then found anew from a frame before that, in which nothing has happened yet, up to the frame in which it has clearly gone: both
// frames are the vehicle's own, whatever drew attention to it.

const (
	// restAhead is how many frames before motion is seen the vehicle is cut out of, at least; as many as pass from there to evident motion,
	// if that is more: a slow start is seen late, and smoke comes before it.
	restAhead   = 8
	restSteady  = 4   // frames over which what is at rest moves less than restMoves
	restMoves   = 0.5 // px: more than a piece's place errs
	mostWitness = 6   // pieces of the vehicle whose median tells its way
)

// window is the stretch of the ring from rest to evident motion: the first frame's place in the ring, and the last one's.
type window struct{ first, last int }

// restWindow finds it for a vehicle some of whose pieces were followed from frame at of the ring to the newest one. It reports false where
// the vehicle is not seen at rest.
func (f *follower) restWindow(group []*piece, st *stabilise.Background, at int) (window, bool) {
	frames := f.ring.frames
	way := f.ways(group[:min(len(group), mostWitness)], st, at)
	n := len(way)
	moves := n - 1 // from here on it moves
	for ; moves > 0; moves-- {
		from := max(0, moves-restSteady)
		if moves-from >= 2 && extent(way[from:moves+1]) < restMoves {
			break
		}
	}
	if moves == 0 || math.IsNaN(way[moves]) {
		return window{}, false
	}
	last := moves
	for last < n-1 && !(way[last]-way[moves] >= clearWay) {
		last++
	}
	w := window{max(0, moves-max(restAhead, last-moves)), last}
	return w, w.last > w.first && frames[w.first].Index < frames[w.last].Index
}

// ways is how far the pieces have gone along the way of the first one, in each of the ring's frames: their median, NaN where none was seen.
func (f *follower) ways(group []*piece, st *stabilise.Background, at int) []float64 {
	frames := f.ring.frames
	st.Rewind()
	for k := at - 1; k >= 0; k-- {
		st.Step(frames[k].Index, frames[k].Luma)
	}
	length := math.Hypot(group[0].way[0], group[0].way[1])
	ux, uy := group[0].way[0]/length, group[0].way[1]/length
	gone := make([][]float64, len(frames))
	for _, p := range group {
		x0, y0 := p.place(0, st)
		take := func(l *lane) {
			for i := range l.sights {
				s := &l.sights[i]
				dx, dy := st.Raw(s.frame, s.x, s.y)
				k := s.frame - frames[0].Index
				gone[k] = append(gone[k], (s.x-dx-x0)*ux+(s.y-dy-y0)*uy)
			}
		}
		take(p.lane)
		back := newLane(0, p.Area, p.lane.weight, frames[at].Luma)
		back.first = register.NewSearcher(back.pix, back.weight, p.W, p.H, piecePixels)
		back.light, back.camera, back.backward = true, st.Raw, true
		back.ahead = [2]float64{-ux, -uy}
		for k := at; k >= 0 && back.missing < 3; k-- {
			back.step(frames[k].Index, f.o.FrameTime(frames[k].Index), frames[k].Luma)
		}
		back.sights = back.sights[min(1, len(back.sights)):] // the frame both have
		take(back)
	}
	out := make([]float64, len(frames))
	for k, g := range gone {
		if out[k] = math.NaN(); len(g) > 0 {
			out[k] = fit.Median(g)
		}
	}
	return out
}

// extent is the difference between the largest and the smallest; infinite where one is not known.
func extent(v []float64) float64 {
	if slices.ContainsFunc(v, math.IsNaN) {
		return math.Inf(1)
	}
	return slices.Max(v) - slices.Min(v)
}
