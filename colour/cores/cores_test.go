package cores

import (
	"fmt"
	"runtime"
	"sync/atomic"
	"testing"
)

// TestAllOnce holds both ways to calling for everything exactly once, for fewer and
// more than there are cores.
func TestAllOnce(t *testing.T) {
	for _, n := range []int{-1, 0, 1, 2, 3, 7, runtime.GOMAXPROCS(0), 100, 1001} {
		for name, do := range map[string]func(n int, f func(i int)){
			"Share": func(n int, f func(i int)) {
				Share(n, func(lo, hi int) {
					if lo >= hi {
						t.Errorf("%d: a part from %d to %d", n, lo, hi)
					}
					for i := lo; i < hi; i++ {
						f(i)
					}
				})
			},
			"Each": Each,
		} {
			times := make([]atomic.Int32, max(0, n))
			do(n, func(i int) { times[i].Add(1) })
			for i := range times {
				if got := times[i].Load(); got != 1 {
					t.Errorf("%s of %d: %d was done %d times", name, n, i, got)
				}
			}
		}
	}
}

func ExampleShare() {
	squares := make([]int, 5)
	Share(len(squares), func(lo, hi int) {
		for i := lo; i < hi; i++ {
			squares[i] = i * i
		}
	})
	fmt.Println(squares)
	// Output: [0 1 4 9 16]
}

func ExampleEach() {
	words := []string{"cyan", "magenta", "yellow", "black"}
	letters := make([]int, len(words))
	Each(len(words), func(i int) { letters[i] = len(words[i]) })
	fmt.Println(letters)
	// Output: [4 7 6 5]
}
