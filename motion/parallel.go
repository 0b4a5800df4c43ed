package motion

import (
	"sync/atomic"

	"padside/guard"
)

// parallel runs f(0..n-1) on a bounded number of goroutines. Results must depend on the
// index alone.
func parallel(workers, n int, f func(i int)) {
	workers = min(workers, n)
	if workers <= 1 {
		for i := range n {
			f(i)
		}
		return
	}
	var next atomic.Int64
	guard.Workers(workers, func() {
		for {
			i := int(next.Add(1)) - 1
			if i >= n {
				return
			}
			f(i)
		}
	})
}
