package trace

import (
	"math"
	"slices"

	"padside/footage"
	"padside/register"
	"padside/stabilise"
)

// findVehicles follows pieces of the ring's frame at to the one before frame end and groups those that move as one.
func (f *follower) findVehicles(at, end int, last bool) vehicles {
	frames := f.ring.frames[at:end]
	st := stabilise.NewBackground(f.basis, frames[0].Luma, nil, f.o.steady(frames[0].Luma))
	for k := range frames {
		st.Step(frames[k].Index, frames[k].Luma)
	}
	var rest still
	rest.add(frames[0].Luma)
	if at > 0 {
		rest.noise = rest.difference(f.ring.frames[at-1].Luma)
	} else {
		rest.noise = rest.difference(frames[1].Luma)
	}
	l := f.lookoutOf(frames, st, &rest)
	pieces := f.pieces(l)
	first := min(mostPieces, len(pieces))
	var going []*piece
	var out vehicles
	for _, more := range []func() []*piece{
		func() []*piece { return pieces[:first] },
		func() []*piece { return pieces[first:] },
		func() []*piece { return f.slats(l) },
	} {
		fresh := f.following(more(), frames, st, &rest, last)
		if len(fresh) == 0 {
			continue
		}
		going = append(going, fresh...)
		if out = f.grouped(f.together(going, frames, st, &rest, last), frames, st, &rest); len(out.patches) > 0 {
			break
		}
	}
	out.at, out.st = at, st
	if len(out.patches) < f.o.Lanes && !last {
		return vehicles{} // another may yet start
	}
	return out
}

// grouped takes moving pieces, best first, for parts of as many vehicles as there are lanes.
func (f *follower) grouped(moving []*piece, frames []footage.Frame, st *stabilise.Background, rest *still) (out vehicles) {
	for len(out.patches) < f.o.Lanes && len(moving) > 0 {
		seed := moving[0]
		a, weight, length, hull := f.vehicle(seed, frames, st, rest)
		var group, others []*piece
		for _, p := range moving {
			if p == seed || p.Meets(hull) {
				group = append(group, p)
			} else {
				others = append(others, p)
			}
		}
		moving = others
		if a.W >= leastSide && a.H >= leastSide {
			out.patches, out.weights = append(out.patches, a), append(out.weights, weight)
			out.lengths, out.groups = append(out.lengths, length), append(out.groups, group)
		}
	}
	return out
}

// together are those of the moving pieces, and of their neighbours, that others go along with, best first.
func (f *follower) together(moving []*piece, frames []footage.Frame, st *stabilise.Background, rest *still, last bool) []*piece {
	moving = f.company(slices.Clone(moving), frames, st, rest, last)
	f.rank(moving)
	return slices.DeleteFunc(moving, f.alone)
}

// following keeps those of the pieces that go far and straight, in their order.
func (f *follower) following(pieces []*piece, frames []footage.Frame, st *stabilise.Background, rest *still, last bool) []*piece {
	goes := make([]bool, len(pieces))
	f.parallel(len(pieces), func(_ *register.Scratch, i int) { goes[i] = f.follows(pieces[i], frames, st, rest, last) })
	var out []*piece
	for i, p := range pieces {
		switch {
		case !goes[i]:
		case f.o.goesAlong(p.way):
			out = append(out, p)
		default:
			f.finder.barred = true
		}
	}
	return out
}

// company looks around each moving piece for others that move as it does.
func (f *follower) company(moving []*piece, frames []footage.Frame, st *stabilise.Background, rest *still, last bool) []*piece {
	bounds := register.Area{X: 3, Y: 3, W: f.width - 6, H: f.height - 6}
	tried := map[register.Area]bool{}
	for _, p := range moving {
		tried[p.Area] = true
	}
	var near []*piece
	for _, p := range moving[:min(len(moving), 12)] {
		w, h := p.W/2, p.H/2
		for _, d := range [][2]int{{0, -h}, {0, h}, {w / 2, 0}, {-w / 2, 0}, {0, -2 * h}, {0, 2 * h}, {w, 0}, {-w, 0}} {
			q := &piece{Area: register.Area{X: p.X + d[0], Y: p.Y + d[1], W: p.W, H: p.H}, side: p.side}
			if !q.Within(bounds) || tried[q.Area] {
				continue
			}
			tried[q.Area] = true
			q.weigh(frames[0].Luma)
			if q.texture() > leastTexture*rest.noise*rest.noise {
				near = append(near, q)
			}
		}
	}
	return append(moving, f.following(near, frames, st, rest, last)...)
}

// rank sorts moving pieces: best those with company that moves alike, going the way that is expected.
func (f *follower) rank(p []*piece) {
	worth := map[*piece]float64{}
	down := -1.0
	if f.o.ExpectDown {
		down = 1
	}
	for _, a := range p {
		way := math.Hypot(a.way[0], a.way[1])
		a.company = 0
		for _, b := range p {
			if math.Hypot(a.way[0]-b.way[0], a.way[1]-b.way[1]) < 0.1*way+1.5 && abs(a.X-b.X) < 8*pieceSide {
				worth[a] += math.Sqrt(b.along())
				a.company++
			}
		}
		if a.way[1]*down > 0.7*way {
			worth[a] *= 3
		}
		worth[a] *= math.Sqrt(a.along()) * math.Sqrt(way) * math.Pow(a.likeness, 8)
	}
	sortByWorth(p, worth)
}
