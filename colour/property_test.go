package colour

import (
	"flag"
	"math"
	"testing"

	"pgregory.net/rapid"
)

// TestDifferenceProperties holds CIEDE2000 to what a difference is: the same both ways, 0 of a
// colour from itself and else above it. (It is no metric: it has no triangle inequality.)
func TestDifferenceProperties(t *testing.T) {
	for name, value := range map[string]string{"rapid.seed": "7", "rapid.checks": "1000", "rapid.nofailfile": "true"} {
		if err := flag.Set(name, value); err != nil {
			t.Fatal(err)
		}
	}
	rapid.Check(t, func(t *rapid.T) {
		lab := func(label string) Lab {
			return Lab{L: rapid.Float64Range(0, 100).Draw(t, label+" L"), A: rapid.Float64Range(-120, 120).Draw(t, label+" a"), B: rapid.Float64Range(-120, 120).Draw(t, label+" b")}
		}
		a, b := lab("one"), lab("other")
		there, back := DeltaE00(a, b), DeltaE00(b, a)
		if math.Abs(there-back) > 1e-9 || there < 0 || math.IsNaN(there) || DeltaE00(a, a) != 0 {
			t.Fatalf("%v to %v is %g, back %g, to itself %g", a, b, there, back, DeltaE00(a, a))
		}
		if a != b && there == 0 && math.Abs(a.L-b.L)+math.Abs(a.A-b.A)+math.Abs(a.B-b.B) > 1e-6 {
			t.Fatalf("%v and %v differ by nothing", a, b)
		}
	})
}
