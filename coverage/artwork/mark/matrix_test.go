package mark

import (
	"math"
	"testing"
)

// TestMatrix turns, stretches and moves by hand.
func TestMatrix(t *testing.T) {
	turn := Matrix{0, 1, -1, 0, 0, 0} // by a quarter
	both := Matrix{2, 0, 0, 2, 0, 0}.Then(turn).Then(Matrix{1, 0, 0, 1, 10, 20})
	if got := both.At(3, 1); got != (Point{8, 26}) {
		t.Errorf("3, 1 comes to lie at %v", got)
	}
	if got := both.OfSquare(); got != (Box{8, 20, 2, 2}) {
		t.Errorf("the square becomes %v", got)
	}
	for _, c := range []struct {
		m    Matrix
		by   float64
		even bool
	}{{both, 2, true}, {Matrix{1, 0, 0, 3, 0, 0}, math.Sqrt(3), false}, {Matrix{}, 0, false}, {Matrix{1, 0, 0, -1, 5, 5}, 1, true}} {
		if by, even := c.m.Scale(); math.Abs(by-c.by) > 1e-12 || even != c.even {
			t.Errorf("%v stretches by %g, even %t", c.m, by, even)
		}
	}
}
