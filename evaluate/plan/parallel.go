package plan

import (
	"runtime"
	"sync"
	"sync/atomic"
)

// parallel calls do for 0 to n-1, so many at once; each call writes what is its
// own, so that nothing hangs on the order.
func parallel(n, workers int, do func(i int)) {
	if workers == 0 {
		workers = runtime.GOMAXPROCS(0)
	}
	if workers = min(workers, n); workers <= 1 {
		for i := range n {
			do(i)
		}
		return
	}
	var wait sync.WaitGroup
	var next atomic.Int64
	for range workers {
		wait.Go(func() {
			for i := int(next.Add(1)) - 1; i < n; i = int(next.Add(1)) - 1 {
				do(i)
			}
		})
	}
	wait.Wait()
}
