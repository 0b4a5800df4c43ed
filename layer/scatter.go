package layer

// How a frame scatters about the background differs from frame to frame and from place to place: a
// codec copies what is at rest and errs where things move, smoke and leaves change what one sees,
// and what the camera's movement leaves shifts the picture a little. So it is measured in each
// frame.

const (
	// leastScatter is the variance about the background at least, levels^2.
	leastScatter = 2.0
	// medianOf is by how much the variance of a normal distribution exceeds the median of its squares
	// (chi square with one degree of freedom has its median at 0.455).
	medianOf = 2.198
	// mostCompared bounds the cells of a frame that tell its scatter, and of a stretch of rows.
	mostCompared = 3000
	leastTelling = 20
	stretch      = 12 // rows over which the scatter is measured
)

// scatter is the variance of a frame's cells about the background: white, levels^2, in all of
// them, and shift, cells^2, for each unit of the square of the background's slope.
type scatter struct{ white, shift float32 }

// measured holds what a frame's scatter is measured from, while it is.
type measured struct {
	cells               []int     // that tell it
	slopes, flat, steep []float32 // see scatter
	rows                []float32 // see local
}

func newMeasured(rows, cells int) measured {
	slice := func() []float32 { return make([]float32, 0, cells) }
	return measured{make([]int, 0, cells), slice(), slice(), slice(), make([]float32, rows)}
}

// tells reports whether cell k shows how the frame scatters.
func (s *sight) tells(k int) bool {
	f := s.pix[k]
	return f == f && f < saturated && s.d.variance[k] < anyVariance/4
}

// scatter takes white from the half of the cells where the background is flattest, shift from the
// quarter where it is steepest.
func (s *sight) scatter() scatter {
	n := len(s.pix)
	every := max(1, n/mostCompared)
	cells, slopes := s.by.cells[:0], s.by.slopes[:0]
	for k := 0; k < n; k += every {
		if s.tells(k) {
			cells, slopes = append(cells, k), append(slopes, s.slope[k])
		}
	}
	if len(cells) < leastTelling {
		return scatter{white: leastScatter}
	}
	flat, steep := s.by.flat[:0], s.by.steep[:0]
	low := rank(append(flat, slopes...), len(slopes)/2)
	high := rank(append(flat, slopes...), len(slopes)*3/4)
	slopes = slopes[:0]
	for _, k := range cells {
		e := s.pix[k] - s.d.mean[k]
		switch v := s.slope[k]; {
		case v <= low:
			flat = append(flat, e*e)
		case v > high:
			steep, slopes = append(steep, e*e), append(slopes, v)
		}
	}
	out := scatter{white: max(leastScatter, medianOf*middle(flat))}
	if len(steep) >= leastTelling {
		out.shift = max(0, medianOf*middle(steep)-out.white) / max(1, middle(slopes))
	}
	return out
}

// local is white in the rows about each row: more than the frame's where smoke, light or leaves
// change most of what one sees there. The vehicle is less than half as wide as the band.
func (s *sight) local(of scatter) []float32 {
	b := s.b
	out, e := s.by.rows, s.by.flat
	last := of.white
	for from := 0; from < b.Rows; from += stretch / 2 {
		e = e[:0]
		first, end := max(0, from-stretch/4)*b.Cols, min(b.Rows, from+3*stretch/4)*b.Cols
		every := max(1, (end-first)*stretch/mostCompared)
		for k := first; k < end; k += every {
			if s.tells(k) {
				d := s.pix[k] - s.d.mean[k]
				e = append(e, max(0, d*d-of.shift*s.slope[k]))
			}
		}
		if len(e) >= leastTelling {
			last = max(of.white, medianOf*middle(e))
		}
		for r := from; r < min(b.Rows, from+stretch/2); r++ {
			out[r] = last
		}
	}
	return out
}
