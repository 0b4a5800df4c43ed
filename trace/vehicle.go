package trace

import (
	"math"

	"padside/footage"
	"padside/register"
	"padside/stabilise"
)

const (
	wholeReach  = 12 // pieces: how far from the followed piece the vehicle may reach
	longestPart = 80 // px of the vehicle's length that are followed
	frontShare  = 0.7
)

// vehicle finds, from one piece that moves, the whole vehicle around it: the pixels that look
// in later places as they did in the first, rather than like what was there before. It returns the part to
// follow: the front, away from the trailing end with its exhaust; its weights; the vehicle's length along its way; and its hull.
func (f *follower) vehicle(p *piece, frames []footage.Frame, st *stabilise.Background, rest *still) (part register.Area, weight []float32, length float64, hull register.Area) {
	inner := register.Area{X: 2, Y: 2, W: f.width - 4, H: f.height - 4}
	whole := p.Grown(wholeReach * p.side).Clip(inner)
	same := component(f.moveAlike(p, whole, frames, st, rest), whole, p)
	if all := bounds(same, whole, p.way[0], p.way[1], math.Inf(-1)); p.spreads(all) {
		// Smoke, or a second vehicle, hangs together with the first: what is near the piece across its way is kept.
		whole = p.strip(wholeReach).Clip(inner)
		same = component(f.moveAlike(p, whole, frames, st, rest), whole, p)
	}
	way := math.Hypot(p.way[0], p.way[1])
	ux, uy := p.way[0]/way, p.way[1]/way
	lo, hi := math.Inf(1), math.Inf(-1)
	for k, in := range same {
		if in {
			s := float64(k%whole.W)*ux + float64(k/whole.W)*uy
			lo, hi = min(lo, s), max(hi, s)
		}
	}
	if hi <= lo {
		return register.Area{}, nil, 0, p.Area
	}
	length = hi - lo + 1
	front := max(hi-longestPart, lo+(1-frontShare)*(hi-lo))
	if all := bounds(same, whole, ux, uy, lo); length < 3*pieceSide/2 || length < 1.5*float64(min(all.W, all.H)) {
		front = lo // small, or a ball: all of it
	}
	part, hull = bounds(same, whole, ux, uy, front), bounds(same, whole, ux, uy, lo)
	part = part.Grown(2).Clip(register.Area{X: 2, Y: 2, W: f.width - 4, H: f.height - 4})
	weight = make([]float32, part.W*part.H)
	for k := range weight {
		x, y := part.X+k%part.W-whole.X, part.Y+k/part.W-whole.Y
		for j := y - 1; j <= y+1; j++ {
			for i := x - 1; i <= x+1; i++ {
				if i >= 0 && j >= 0 && i < whole.W && j < whole.H && same[j*whole.W+i] {
					weight[k] = 1
				}
			}
		}
	}
	return part, weight, length, hull
}

// spreads reports whether an area is wider across the piece's way than along it, and wider than a ball of a few pieces.
func (p *piece) spreads(a register.Area) bool {
	along, across := a.H, a.W
	if math.Abs(p.way[0]) > math.Abs(p.way[1]) {
		along, across = a.W, a.H
	}
	return across > along && across > stripWide*p.side
}

// strip is the piece grown by n of its sides along its way, and across it to stripWide sides in all.
func (p *piece) strip(n int) register.Area {
	side := (stripWide - 1) * p.side / 2
	if math.Abs(p.way[0]) > math.Abs(p.way[1]) {
		return register.Area{X: p.X - n*p.side, Y: p.Y - side, W: p.W + 2*n*p.side, H: p.H + 2*side}
	}
	return register.Area{X: p.X - side, Y: p.Y - n*p.side, W: p.W + 2*side, H: p.H + 2*n*p.side}
}

// stripWide is how many pieces wide a vehicle may be that is no longer than wide.
const stripWide = 5

// moveAlike marks the pixels of the area that keep up with the piece.
func (f *follower) moveAlike(p *piece, whole register.Area, frames []footage.Frame, st *stabilise.Background, rest *still) []bool {
	// shown is a frame in which the piece has gone some way: what has moved with it, and what has stayed, is seen shifted so.
	type shown struct{ mx, my, sx, sy, frame int }
	var all []shown
	x0, y0 := p.lane.sights[0].x, p.lane.sights[0].y
	for i := range p.lane.sights {
		x, y := p.place(i, st)
		s := &p.lane.sights[i]
		if math.Hypot(x-x0, y-y0) < 4 {
			continue
		}
		cx, cy := st.Raw(s.frame, s.x, s.y)
		all = append(all, shown{int(math.Round(s.x - x0)), int(math.Round(s.y - y0)),
			int(math.Round(s.x - cx - x0)), int(math.Round(s.y - cy - y0)), s.frame - frames[0].Index})
	}
	out := make([]bool, whole.W*whole.H)
	f.parallel(whole.H, func(_ *register.Scratch, row int) {
		py := whole.Y + row
		for px := whole.X; px < whole.X+whole.W; px++ {
			var moves, stays float32
			used := 0
			for _, s := range all {
				fr := frames[s.frame].Luma
				qx, qy := px+s.mx, py+s.my
				bx, by := px+s.sx, py+s.sy
				if qx < 0 || qy < 0 || qx >= fr.Width || qy >= fr.Height || bx < 0 || by < 0 || bx >= fr.Width || by >= fr.Height {
					continue
				}
				used++
				now := register.Level(fr, qx, qy)
				moves += float32(math.Abs(float64(now - rest.at(px, py))))
				stays += float32(math.Abs(float64(now - rest.at(bx, by))))
			}
			out[row*whole.W+px-whole.X] = used*2 >= len(all) && len(all) > 0 && moves+float32(used)*float32(rest.noise) < 0.6*stays
		}
	})
	return crowded(out, whole)
}

// crowded drops marks with fewer than four neighbours marked: chance.
func crowded(in []bool, whole register.Area) []bool {
	out := make([]bool, len(in))
	for y := 1; y < whole.H-1; y++ {
		for x := 1; x < whole.W-1; x++ {
			k := y*whole.W + x
			if !in[k] {
				continue
			}
			n := 0
			for _, o := range []int{-whole.W - 1, -whole.W, -whole.W + 1, -1, 1, whole.W - 1, whole.W, whole.W + 1} {
				if in[k+o] {
					n++
				}
			}
			out[k] = n >= 4
		}
	}
	return out
}

// component keeps what hangs together with the piece: over gaps of two pixels, and along the way it
// goes over longer ones, for where the vehicle is plain its pixels tell nothing.
func component(in []bool, whole register.Area, p *piece) []bool {
	gx, gy := 3, 3
	if math.Abs(p.way[0]) > math.Abs(p.way[1]) {
		gx = plainGap
	} else {
		gy = plainGap
	}
	out := make([]bool, len(in))
	var todo []int
	take := func(x0, y0, x1, y1 int) {
		for y := max(0, y0); y <= min(whole.H-1, y1); y++ {
			for x := max(0, x0); x <= min(whole.W-1, x1); x++ {
				if k := y*whole.W + x; in[k] && !out[k] {
					out[k] = true
					todo = append(todo, k)
				}
			}
		}
	}
	x, y := p.X-whole.X, p.Y-whole.Y
	take(x, y, x+p.W-1, y+p.H-1)
	for len(todo) > 0 {
		k := todo[len(todo)-1]
		todo = todo[:len(todo)-1]
		x, y := k%whole.W, k/whole.W
		take(x-gx, y-gy, x+gx, y+gy)
	}
	return out
}

// plainGap is the longest stretch along the way, px, without a mark between parts of one vehicle.
const plainGap = 48

// bounds is the smallest area that holds the marked pixels whose place along (ux, uy) is at least from.
func bounds(in []bool, whole register.Area, ux, uy, from float64) register.Area {
	x0, y0, x1, y1 := whole.W, whole.H, -1, -1
	for k, is := range in {
		x, y := k%whole.W, k/whole.W
		if is && float64(x)*ux+float64(y)*uy >= from {
			x0, y0, x1, y1 = min(x0, x), min(y0, y), max(x1, x), max(y1, y)
		}
	}
	if x1 < 0 {
		return register.Area{}
	}
	return register.Area{X: whole.X + x0, Y: whole.Y + y0, W: x1 - x0 + 1, H: y1 - y0 + 1}
}
