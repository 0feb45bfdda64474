package colour

import (
	"math"
	"testing"
)

// TestMean holds mixtures to what must be so.
func TestMean(t *testing.T) {
	red, navy := Lab{L: 40, A: 60, B: 40}, Lab{L: 12, A: 10, B: -30}
	half := XYZ{D50.X / 2, D50.Y / 2, D50.Z / 2}.Lab(D50)
	for name, c := range map[string]struct {
		of     []Lab
		shares []float64
		want   Lab
	}{
		"alike":           {[]Lab{red, red, red}, []float64{1, 5, 2}, red},
		"one":             {[]Lab{navy}, []float64{0.3}, navy},
		"nothing of one":  {[]Lab{red, navy}, []float64{0, 7}, navy},
		"black and white": {[]Lab{{}, {L: 100}}, []float64{50, 50}, half}, // Y 0.5
		"shares scale":    {[]Lab{{}, {L: 100}}, []float64{2, 2}, half},
		"none":            {nil, nil, Lab{}},
	} {
		got := Mean(c.of, c.shares)
		if math.Abs(got.L-c.want.L)+math.Abs(got.A-c.want.A)+math.Abs(got.B-c.want.B) > 1e-9 {
			t.Errorf("%s: %v, want %v", name, got, c.want)
		}
	}
}
