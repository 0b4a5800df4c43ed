package trace

import (
	"math"

	"padside/footage"
	"padside/layer"
)

// A strip is a lane's flight laid flat while the frames are at hand: to read the footage again, only
// to judge its places, costs as much as reading it once. It lies along the line on which the
// vehicle set off and is wide enough for that to be a little off; the band along the line it flew
// in the end is cut out of it. Its columns are half as wide as the band's, so that a row that goes
// aside is cut out to a quarter of a cell.
type strip struct {
	lattice
	first, next, each int // frames: of which every each-th from the first on is kept, up to next
	frames            [][]uint16
}

const (
	// stripMemory bounds what the strips of all lanes take, bytes.
	stripMemory = 24 << 20
	// setOff is how far, px, a vehicle has gone when its direction is told.
	setOff = 12.0
	// aslant is by how much, px for each of the way, that direction may be off.
	aslant = 0.03
	// unseenLevel marks what the picture does not show, parts the levels between whole ones.
	unseenLevel, parts = math.MaxUint16, 256
)

// layAside begins the lanes' strips with what the ring holds of them. It is called when the ring is
// about to forget.
func (f *follower) layAside() {
	for _, l := range f.lanes {
		l.strip = f.stripOf(l)
		for i := range f.ring.frames {
			if fr := &f.ring.frames[i]; fr.Index >= l.sights[0].frame {
				f.layOn(l, fr)
			}
		}
	}
}

// stripOf is an empty strip along the way that a lane has gone so far, from its first sighting on;
// nil where that tells no direction, or the strip would be too large.
func (f *follower) stripOf(l *lane) *strip {
	if len(l.sights) == 0 || l.done || l.down {
		return nil
	}
	last := &l.sights[len(l.sights)-1]
	cx, cy := l.camera(last.frame, last.x, last.y)
	dx, dy := last.x-cx-l.rest[0], last.y-cy-l.rest[1]
	way := math.Hypot(dx, dy)
	if way < setOff || dy > 0 {
		return nil
	}
	s := &strip{lattice: f.latticeAlong(l, [2]float64{l.rest[0], l.rest[1]}, [2]float64{dx / way, dy / way}, aslant), first: l.sights[0].frame, each: 1}
	along, _ := l.extent(s.ux, s.uy)
	more := int(along / s.step) // it may rest one length behind where it was taken to
	s.s0, s.rows, s.next = s.s0-float64(more)*s.step, s.rows+more, s.first
	if s.step >= 2 {
		s.cols, s.per = 2*s.cols, 2
	}
	if 2*s.rows*s.cols*judgedMost > stripMemory/len(f.lanes) {
		return nil
	}
	return s
}

// layOn adds the next frame to a lane's strip. One that misses a frame is given up.
func (f *follower) layOn(l *lane, fr *footage.Frame) {
	s := l.strip
	if s == nil {
		return
	}
	if fr.Index != s.next {
		l.strip = nil
		return
	}
	s.next++
	if (fr.Index-s.first)%s.each != 0 {
		return
	}
	levels := f.lay(&s.lattice, fr.Luma, func(x, y float64) (dx, dy float64) { return f.steady.Raw(fr.Index, x, y) })
	s.frames = append(s.frames, packed(levels))
	if len(s.frames) > judgedMost {
		for i := range (len(s.frames) + 1) / 2 {
			s.frames[i] = s.frames[2*i]
		}
		n := (len(s.frames) + 1) / 2
		clear(s.frames[n:])
		s.frames, s.each = s.frames[:n], 2*s.each
	}
}

// packed are levels to a 256th.
func packed(levels []float32) []uint16 {
	out := make([]uint16, len(levels))
	for k, v := range levels {
		out[k] = unseenLevel
		if v == v {
			out[k] = uint16(min(v*parts+0.5, unseenLevel-1))
		}
	}
	return out
}

// cut fills band b from the strip. It reports false, and leaves b as it is, where the strip does not
// hold it.
func (s *strip) cut(b *judgedBand, times func(frame int) float64) bool {
	if s == nil || s.step != b.step || s.first > b.from || s.next < b.to {
		return false
	}
	out := *b.layout
	rows, ok := s.under(b, &out)
	if !ok {
		return false
	}
	b.from, b.each = b.from-(b.from-s.first)%s.each, s.each
	for i := b.from; i < b.to; i += s.each {
		pix := make([]float32, 0, out.Rows*out.Cols)
		for _, at := range rows {
			pix = s.cells(pix, s.frames[(i-s.first)/s.each], at, out.Cols)
		}
		out.Frames = append(out.Frames, layer.Frame{Index: i, T: times(i), Pix: pix})
	}
	*b.layout = out
	return true
}

// under is where each row of a band begins in the strip, row and column. It moves the band's cells,
// by less than one, onto the strip's where the vehicle rests. It reports false where the strip is too
// narrow or begins too late.
func (s *strip) under(b *judgedBand, out *layer.Band) (rows [][2]int, ok bool) {
	at := func(along, across float64) (row, col float64) {
		dx, dy := b.x+along*b.ux-across*b.uy-s.x, b.y+along*b.uy+across*b.ux-s.y
		return (dx*s.ux + dy*s.uy - s.s0) / s.step, (dy*s.ux-dx*s.uy)/s.pitch() + float64(s.cols-1)/2
	}
	half := float64(s.per*out.Cols-1) / 2
	row, _ := at(out.S0, 0)
	out.S0 += (math.Round(row) - row) * s.step
	_, col := at(0, 0)
	out.C0 = (math.Round(col-half) - (col - half)) * s.pitch()
	for r := range out.Rows {
		row, col := at(out.S0+float64(r)*out.Step, out.C0)
		y, x := int(math.Round(row)), int(math.Round(col-half))
		if y < 0 || x < 0 || x+s.per*out.Cols > s.cols {
			return nil, false
		}
		rows = append(rows, [2]int{y, x})
	}
	return rows, true
}

// cells adds a row of a band's cells, which begins at a row and column of the strip: each is the
// mean of its columns.
func (s *strip) cells(pix []float32, frame []uint16, at [2]int, n int) []float32 {
	for c := range n {
		v := float32(math.NaN())
		if at[0] < s.rows {
			sum, seen := 0, true
			for _, p := range frame[at[0]*s.cols+at[1]+c*s.per:][:s.per] {
				sum, seen = sum+int(p), seen && p != unseenLevel
			}
			if seen {
				v = float32(sum) / float32(parts*s.per)
			}
		}
		pix = append(pix, v)
	}
	return pix
}
