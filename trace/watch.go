package trace

import (
	"math"
	"slices"

	"padside/footage"
	"padside/register"
)

// watch tells cheaply, frame by frame, whether something in the picture changes. It looks at some 40,000 pixels, one of every
// step by step square, and compares them with an earlier frame. Change counts where several pixels of one small region differ by
// more than that region's do while nothing moves: compression flickers most where there is texture, and all at once when a
// new group of frames begins.
type watch struct {
	step   int // 0: not known yet
	cols   int
	rows   int
	ref    []int32
	now    []int32
	usual  []int32 // of each region: the largest difference of late, forgotten slowly
	learns bool    // what is usual is learnt: in a short stretch there is no time for it
	unit   int32   // a level of an 8-bit picture
	seen   int     // frames compared so far
	age    int     // frames since ref was taken
	most   int     // frames after which ref is replaced
}

const (
	watched      = 40000
	watchCell    = 4 // pixels looked at: side of a region
	watchRank    = 3 // a region differs by its third largest difference: a hot pixel or two do not count
	watchRegions = 2 // regions that must differ: what moves leaves one place and comes to another
	watchWarm    = 8 // frames from which what is usual is learnt, whatever it is, before any counts
	watchSigmas  = 6
	watchFew     = 1024 // pixels from which the whole picture's change is told
	watchForget  = 64
	watchMost    = 12 // levels of an 8-bit picture: more is never taken for usual, so that no vehicle is
	watchFloor   = 2  // levels: a difference that is nothing even where none was seen before
)

// watchStep is the side of the squares for a picture of w by h px.
func watchStep(w, h int) int { return max(1, int(math.Sqrt(float64(w*h)/watched))) }

// changed takes the next frame and reports whether something differs from the earlier one. thin says that the frame has one pixel
// for every square already.
//
// The third largest of 16 noisy differences is 1.3 times their standard deviation with a spread of 0.3 of it (normal order
// statistics, derived by simulation). The largest such value of some 64 frames is about 2.1; a region differs above 1.6 times that,
// more than six of its spreads above its mean.
func (w *watch) changed(l *footage.Luma, thin bool) bool {
	w.take(l, thin)
	w.unit = max(1, int32(1/register.Grey(l)))
	if len(w.ref) != len(w.now) || w.age >= w.most {
		w.ref = append(w.ref[:0], w.now...)
		w.age = 0
		return false
	}
	w.age++
	w.seen++
	shift, spread := w.shift()
	least := watchFloor*w.unit + int32(watchSigmas*spread) // what the whole picture does counts for nothing either
	across, down := w.cols/watchCell, w.rows/watchCell
	if len(w.usual) != across*down {
		w.usual = make([]int32, across*down)
	}
	regions := 0
	for cy := range down {
		for cx := range across {
			d := w.differs(cx, cy, shift)
			u := &w.usual[cy*across+cx]
			if d > max(*u+*u*6/10+watchFloor*w.unit, least) {
				if !w.learns || w.seen > watchWarm {
					regions++
				}
				if w.seen > watchWarm {
					continue
				}
			}
			if !w.learns {
				continue
			}
			*u = min(max(*u-*u/watchForget, d), watchMost*w.unit)
		}
	}
	return regions >= watchRegions
}

// shift is by how much the whole picture became brighter, the median difference, and the standard deviation of what the rest of it
// differs, from the median of that.
func (w *watch) shift() (by int32, spread float64) {
	few := make([]int32, 0, watchFew)
	stride := max(1, len(w.now)/watchFew)
	for i := stride / 2; i < len(w.now) && len(few) < watchFew; i += stride {
		few = append(few, w.now[i]-w.ref[i])
	}
	slices.Sort(few)
	by = few[len(few)/2]
	for i := range few {
		if few[i] -= by; few[i] < 0 {
			few[i] = -few[i]
		}
	}
	slices.Sort(few)
	return by, 1.4826 * float64(few[len(few)/2])
}

// differs is the third largest difference in a region.
func (w *watch) differs(cx, cy int, shift int32) int32 {
	var top [watchRank]int32 // largest first
	for y := cy * watchCell; y < (cy+1)*watchCell; y++ {
		from := y*w.cols + cx*watchCell
		for i := from; i < from+watchCell; i++ {
			d := w.now[i] - w.ref[i] - shift
			if d < 0 {
				d = -d
			}
			for k := range top {
				if d > top[k] {
					top[k], d = d, top[k]
				}
			}
		}
	}
	return top[watchRank-1]
}

// settle takes what differs now for usual: it was looked into, and nothing moved.
func (w *watch) settle() {
	across, down := w.cols/watchCell, w.rows/watchCell
	if len(w.now) != len(w.ref) || len(w.usual) != across*down {
		return
	}
	shift, _ := w.shift()
	for cy := range down {
		for cx := range across {
			u := &w.usual[cy*across+cx]
			*u = min(max(*u, w.differs(cx, cy, shift)), watchMost*w.unit)
		}
	}
}

// take reads the pixels looked at.
func (w *watch) take(l *footage.Luma, thin bool) {
	step := w.step
	if thin {
		step = 1
	}
	w.cols, w.rows = l.Width/step, l.Height/step
	w.now = slices.Grow(w.now[:0], w.cols*w.rows)[:w.cols*w.rows]
	for y := range w.rows {
		out := w.now[y*w.cols : (y+1)*w.cols]
		from := (y*step+step/2)*l.Width + step/2
		if l.Pix8 != nil {
			for x := range out {
				out[x] = int32(l.Pix8[from+x*step])
			}
			continue
		}
		for x := range out {
			out[x] = int32(l.Pix16[from+x*step])
		}
	}
}
