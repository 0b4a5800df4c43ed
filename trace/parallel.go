package trace

import (
	"sync"
	"sync/atomic"
)

// parallel calls work for 0..n-1 on several workers, each with its own scratch. Work writes its
// result by index, so that the outcome does not depend on the number of workers.
func parallel(n, workers int, b *basis, work func(s *scratch, i int)) {
	workers = min(workers, n)
	if workers <= 1 {
		s := newScratch(b)
		for i := range n {
			work(s, i)
		}
		return
	}
	var next atomic.Int64
	var wg sync.WaitGroup
	for range workers {
		wg.Go(func() {
			s := newScratch(b)
			for {
				i := int(next.Add(1)) - 1
				if i >= n {
					return
				}
				work(s, i)
			}
		})
	}
	wg.Wait()
}

// parallel does so for what the follower looks at while it reads.
func (f *follower) parallel(n int, work func(s *scratch, i int)) {
	parallel(n, f.o.Workers, f.basis, work)
}
