package layer

import (
	"runtime"
	"sync/atomic"

	"padside/guard"
)

// another is one that looks beside s: what changes from frame to frame is its own.
func (s *sight) another() *sight {
	n := len(s.slope)
	o := &sight{b: s.b, d: s.d, slope: s.slope, odd: make([]float32, n), vary: make([]float32, n)}
	o.sums = make([]float32, (s.b.Rows+1)*(s.b.Cols+1))
	o.by = newMeasured(s.b.Rows, n)
	return o
}

// inEach calls look for each of the frames, several at a time, with a sight that has been prepared
// for it. What look finds it writes by the frame's place k in the list, so that the outcome does
// not depend on how many work.
func (s *sight) inEach(frames []int, workers int, look func(s *sight, k int)) {
	var next atomic.Int64
	work := guard.NewGroup()
	for w := range min(workers, len(frames)) {
		own := s
		if w > 0 {
			own = s.another()
		}
		work.Go(func() error {
			for {
				k := int(next.Add(1)) - 1
				if k >= len(frames) {
					return nil
				}
				own.frame(frames[k])
				look(own, k)
			}
		})
	}
	work.Must()
}

// workers is how many frames are looked at at a time.
func (k *Known) workers() int {
	if k.Workers > 0 {
		return k.Workers
	}
	return runtime.GOMAXPROCS(0)
}
