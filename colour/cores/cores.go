// Package cores shares work among the machine's cores: the rows of a picture, the
// nodes of a table, the parts of anything that is counted from 0.
//
// It starts goroutines for one call and waits for them, and keeps nothing between
// calls. It is for work that is long against starting a goroutine, some
// microseconds, and does not order what the parts do: they must not write to the
// same place.
package cores

import (
	"runtime"
	"sync"
	"sync/atomic"
)

// Share calls f on consecutive parts lo up to but not including hi of 0…n, one part
// for each core, and waits for all of them. Parts are of like length and each is
// worked on by one goroutine, so that f can keep buffers for its part. f is not
// called for an n of 0 or less.
func Share(n int, f func(lo, hi int)) {
	parts := min(runtime.GOMAXPROCS(0), n)
	if parts <= 1 {
		if n > 0 {
			f(0, n)
		}
		return
	}
	var wg sync.WaitGroup
	for i := range parts {
		wg.Go(func() { f(i*n/parts, (i+1)*n/parts) })
	}
	wg.Wait()
}

// Each calls f for every i of 0…n, from as many goroutines as there are cores, and
// waits for all of them. A core takes the next i when it is done with the last, which
// is for work that takes much longer for some i than for others.
func Each(n int, f func(i int)) {
	var next atomic.Int64
	Share(min(runtime.GOMAXPROCS(0), n), func(_, _ int) {
		for i := int(next.Add(1)) - 1; i < n; i = int(next.Add(1)) - 1 {
			f(i)
		}
	})
}
