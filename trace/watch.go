package trace

import (
	"math"

	"padside/fit"
	"padside/footage"
)

// watch tells cheaply, frame by frame, whether something in the picture changes. It looks at
// some 40,000 pixels on a grid and compares them with an earlier frame; change counts where several pixels of
// one small region differ by much more than most pixels do.
type watch struct {
	step  int
	cols  int
	ref   []int32
	now   []int32
	diff  []float64
	cells []int32
	age   int
	most  int // frames after which the earlier frame is replaced
}

const (
	watched      = 40000
	watchCell    = 4 // grid points: side of a region
	watchLeast   = 3 // changed points in it
	watchRegions = 2 // such regions: what moves leaves one place and comes to another
	watchSigmas  = 6.0
	watchFloor   = 2.0 // levels of an 8-bit picture: compression flickers by some
)

// changed takes the next frame and reports whether some region differs from the earlier one.
func (w *watch) changed(l *footage.Luma) bool {
	if w.step == 0 {
		w.step = max(1, int(math.Sqrt(float64(l.Width*l.Height)/watched)))
	}
	w.take(l)
	if w.ref == nil || w.age >= w.most {
		w.ref = append(w.ref[:0], w.now...)
		w.age = 0
		return false
	}
	w.age++
	w.diff = w.diff[:0]
	for i := 0; i < len(w.now); i += 29 {
		w.diff = append(w.diff, math.Abs(float64(w.now[i]-w.ref[i])))
	}
	limit := int32(watchSigmas*fit.Median(w.diff)*1.4826 + watchFloor/float64(grey(l)))
	across := w.cols/watchCell + 1
	w.cells = grow(w.cells, across*(len(w.now)/w.cols/watchCell+1))
	clear(w.cells)
	regions := 0
	for i, v := range w.now {
		if d := v - w.ref[i]; d > limit || d < -limit {
			c := i/w.cols/watchCell*across + i%w.cols/watchCell
			w.cells[c]++
			if w.cells[c] == watchLeast {
				regions++
			}
		}
	}
	return regions >= watchRegions
}

// take reads the grid.
func (w *watch) take(l *footage.Luma) {
	w.now = w.now[:0]
	w.cols = (l.Width + w.step - 1) / w.step
	for y := 0; y < l.Height; y += w.step {
		if l.Pix8 != nil {
			row := l.Pix8[y*l.Width : (y+1)*l.Width]
			for x := 0; x < len(row); x += w.step {
				w.now = append(w.now, int32(row[x]))
			}
			continue
		}
		row := l.Pix16[y*l.Width : (y+1)*l.Width]
		for x := 0; x < len(row); x += w.step {
			w.now = append(w.now, int32(row[x]))
		}
	}
}
