package trace

import (
	"math"

	"padside/fit"
	"padside/register"
)

// The silhouette of a vehicle that moves in leaps: where a picture differs from the one at rest, row by row along the flight.

const (
	noseRows = 12 // px: a nose is where from this many rows on most differ from the picture at rest
	noseWide = 3  // times as wide as the part that was found may a silhouette be; what is wider is cloud or smoke
)

// nose is where a silhouette ends: along the flight from the middle of the part that was found at rest, and across it, px.
type nose struct {
	along, across int
	seen          bool
}

// at is the place (s, c) along and across the flight, in a frame in which the camera has moved by (dx, dy).
func (p *leaper) at(s, c, dx, dy int) (x, y int) {
	return p.x + s*p.ux + c*p.uy + dx, p.y + s*p.uy + c*p.ux + dy
}

// differs reports whether frame k differs from the picture at rest at (s, c); inside is false beyond either's border.
func (p *leaper) differs(k, s, c, dx, dy int) (differs, inside bool) {
	l, g := p.frames[k].Luma, p.still
	x, y := p.at(s, c, dx, dy)
	bx, by := x-dx, y-dy
	if x < 2 || y < 2 || x >= l.Width-2 || y >= l.Height-2 || bx < 0 || by < 0 || bx >= g.w || by >= g.h {
		return false, false
	}
	limit := 6*p.noise + 2
	if p.moves[k] > 0.1 {
		limit += steep(l, x, y)
	}
	return float64(abs32(register.Level(l, x, y)-g.at(bx, by))) > limit, true
}

// shift is the camera's movement in frame k, whole px.
func (p *leaper) shift(k int) (dx, dy int) {
	x, y := p.camera(p.frames[k].Index, float64(p.x), float64(p.y))
	return int(math.Round(x)), int(math.Round(y))
}

// row is the longest run of places that differ, across the flight at s; whole is false where it reaches the end of what is looked at.
func (p *leaper) row(k, s, dx, dy int) (from, to int, whole, inside bool) {
	side := p.wide/2 + 10 + max(0, s)/12
	from, to, whole = 0, 0, true
	start := -side
	for c := -side; c <= side+1; c++ {
		d, in := false, false
		if c <= side {
			d, in = p.differs(k, s, c, dx, dy)
			inside = inside || in
		}
		if d {
			continue
		}
		if c-start > to-from {
			from, to, whole = start, c, start > -side && c <= side
		}
		start = c + 1
	}
	return from, to, whole, inside
}

// nose finds where the silhouette ends in frame k.
func (p *leaper) nose(k int) nose {
	dx, dy := p.shift(k)
	far := p.half
	for _, _, _, in := p.row(k, far, dx, dy); in; _, _, _, in = p.row(k, far, dx, dy) {
		far++
	}
	shows := make([]bool, 0, far+p.half)
	middle := make([]int, 0, far+p.half)
	count := 0
	for s := far - 1; s >= -p.half; s-- {
		from, to, whole, _ := p.row(k, s, dx, dy)
		on := to-from >= 2 && to-from <= noseWide*p.wide && whole
		shows, middle = append(shows, on), append(middle, (from+to-1)/2)
		n := len(shows)
		if on {
			count++
		}
		if n > noseRows && shows[n-1-noseRows] {
			count--
		}
		if n >= noseRows && shows[n-noseRows] && 4*count >= 3*noseRows {
			return nose{along: s + noseRows - 1, across: middle[n-1], seen: true}
		}
	}
	return nose{}
}

// front is the foremost part of a vehicle, cut out of a picture by its silhouette.
type front struct {
	register.Area // in that picture
	pix           []float32
	weight        []float32
}

// cutFront cuts it out of frame k, long px at most; false where it does not lie in the picture or stands out too little.
func (p *leaper) cutFront(k int, n nose, long int) (front, bool) {
	dx, dy := p.shift(k)
	type run struct{ s, from, to int }
	var runs []run
	var widths, middles []float64
	for s := n.along; s > n.along-long; s-- {
		from, to, whole, inside := p.row(k, s, dx, dy)
		if !inside {
			return front{}, false
		}
		if to-from >= 2 && to-from <= noseWide*p.wide && whole {
			runs = append(runs, run{s, from, to})
			widths, middles = append(widths, float64(to-from)), append(middles, float64(from+to-1)/2)
		}
	}
	if len(runs) < noseRows {
		return front{}, false
	}
	// What differs beside the vehicle, an edge of the background or smoke, is wider than most rows are.
	middle, half := fit.Median(middles), 0.75*fit.Median(widths)+2
	in := map[[2]int]bool{}
	x0, y0, x1, y1 := math.MaxInt, math.MaxInt, -1, -1
	for _, r := range runs {
		for c := max(r.from, int(middle-half)); c < min(r.to, int(middle+half)+1); c++ {
			x, y := p.at(r.s, c, dx, dy)
			in[[2]int{x, y}] = true
			x0, y0, x1, y1 = min(x0, x), min(y0, y), max(x1, x), max(y1, y)
		}
	}
	l := p.frames[k].Luma
	out := front{Area: register.Area{X: x0, Y: y0, W: x1 - x0 + 1, H: y1 - y0 + 1}.Grown(2)}
	if len(in) < leastEvident || !out.Within(register.Area{X: 2, Y: 2, W: l.Width - 4, H: l.Height - 4}) {
		return front{}, false
	}
	out.pix, out.weight = register.Cut(l, out.Area, nil), make([]float32, out.W*out.H)
	for at := range in {
		out.weight[(at[1]-out.Y)*out.W+at[0]-out.X] = 1
	}
	return out, true
}
