package press

import (
	"testing"

	"laydown/colour/icc"
)

// BenchmarkTable compiles the table of the built-in press for sRGB art.
func BenchmarkTable(b *testing.B) {
	for b.Loop() {
		s, err := StandIn(Cache{}).Separate(icc.SRGB(), usual)
		if err != nil {
			b.Fatal(err)
		}
		s.Table()
	}
}
