package layer

import (
	"math"
	"slices"
)

// candidate is a place that the vehicle may be at in a frame.
type candidate struct {
	row, col float64
	worth    float64 // ln of how much better the vehicle there explains the frame than the background alone
	u        float64 // cells, standard uncertainty along the line
}

// mostCandidates is how many places of a frame are kept.
const mostCandidates = 10

// leastSeen is the share of its cells that must be in view at a place.
const leastSeen = 0.8

// look finds the places of most worth, with the rows and columns they may lie in.
func (s *sight) look(rows, cols [2]int) []candidate {
	b := s.b
	rows = [2]int{max(rows[0], -s.box[1]), min(rows[1], b.Rows-s.box[0])}
	cols = [2]int{max(cols[0], 0), min(cols[1], b.Cols)}
	h, w := rows[1]-rows[0], cols[1]-cols[0]
	if h <= 0 || w <= 0 {
		return nil
	}
	field, most := s.field(rows, cols)
	floor := max(leastWorth*together, leastShare*most)
	var out []candidate
	for k, v := range field {
		if r, c := k/w, k%w; v >= floor && peak(field, h, w, r, c) {
			s.lookAbout(field, k, rows, cols)
			out = append(out, s.candidate(field, h, w, r, c, rows[0], cols[0]))
		}
	}
	slices.SortStableFunc(out, func(a, b candidate) int { return compare(b.worth, a.worth) })
	return out[:min(len(out), mostCandidates)]
}

// field is the worth of every place in the rows and columns, row by row, 0 where it cannot be
// much, unseen where some of the cells say so; and the most of them.
func (s *sight) field(rows, cols [2]int) (field []float32, most float32) {
	w := cols[1] - cols[0]
	field = make([]float32, (rows[1]-rows[0])*w)
	for k := range field {
		r, c := rows[0]+k/w, cols[0]+k%w
		least := max(leastWorth*together, leastShare*most)
		if s.bound(r, c) <= least {
			continue
		}
		if s.hopeless(r, c, least) {
			field[k] = unseen
			continue
		}
		field[k] = s.seenWorth(r, c)
		most = max(most, field[k])
	}
	return field, most
}

const (
	leastWorth = 2.0 // ln: less is no sign of the vehicle
	leastShare = 0.1
)

// peak tells whether a place is worth more than all about it.
func peak(f []float32, h, w, r, c int) bool {
	v := f[r*w+c]
	for y := max(0, r-2); y <= min(h-1, r+2); y++ {
		for x := max(0, c-2); x <= min(w-1, c+2); x++ {
			if o := f[y*w+x]; o > v || o == v && (y < r || y == r && x < c) {
				return false
			}
		}
	}
	return true
}

// candidate places a peak between cells by a parabola either way. Its curvature along the line is
// the information about the place.
func (s *sight) candidate(f []float32, h, w, r, c, r0, c0 int) candidate {
	at := func(y, x int) float64 {
		if y < 0 || y >= h || x < 0 || x >= w {
			return 0
		}
		return float64(f[y*w+x])
	}
	v := at(r, c)
	out := candidate{row: float64(r + r0), col: float64(c + c0), worth: v / together, u: 1}
	if r > 0 && r < h-1 && f[(r-1)*w+c] != 0 && f[(r+1)*w+c] != 0 {
		a, b := at(r-1, c), at(r+1, c)
		if curve := 2*v - a - b; curve > 0 {
			out.row += min(max((b-a)/(2*curve), -0.5), 0.5)
			out.u = min(max(math.Sqrt(together/curve), 0.2), 2)
		}
	}
	if c > 0 && c < w-1 && f[r*w+c-1] != 0 && f[r*w+c+1] != 0 {
		a, b := at(r, c-1), at(r, c+1)
		if curve := 2*v - a - b; curve > 0 {
			out.col += min(max((b-a)/(2*curve), -0.5), 0.5)
		}
	}
	return out
}
