package register

import (
	"sync/atomic"

	"padside/guard"
)

// Parallel calls work for 0..n-1 on several workers, each with its own scratch. Work writes its
// result by index, so that the outcome does not depend on the number of workers.
func Parallel(n, workers int, b *Basis, work func(s *Scratch, i int)) {
	workers = min(workers, n)
	if workers <= 1 {
		s := NewScratch(b)
		for i := range n {
			work(s, i)
		}
		return
	}
	var next atomic.Int64
	guard.Workers(workers, func() {
		s := NewScratch(b)
		for {
			i := int(next.Add(1)) - 1
			if i >= n {
				return
			}
			work(s, i)
		}
	})
}
