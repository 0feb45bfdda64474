package layer

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"laydown/colour"
	"laydown/colour/cores"
	"laydown/colour/grid"
)

var (
	paper  = colour.Lab{L: 95, A: 0, B: -2}
	prints = []colour.Lab{paper, {L: 48, A: 70, B: 45}, {L: 55, A: -36, B: -50}, {L: 88, A: -5, B: 90}, {L: 60}, {L: 15}}
	items  = map[string]colour.Lab{"black": {}, "navy": {L: 12, A: 10, B: -30}, "red": {L: 40, A: 60, B: 40}, "white": paper, "bright": {L: 100}}
)

func stack(t testing.TB, item colour.Lab, contrast float64) *Stack {
	t.Helper()
	s, err := New(item, paper, contrast)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// TestLimits holds the model to what must be so.
func TestLimits(t *testing.T) {
	for name, item := range items {
		for _, p := range prints {
			if d := colour.DeltaE00(p, stack(t, item, 1).Look(p, 1)); d > 1e-6 {
				t.Errorf("opaque white on %s: %v looks ΔE00 %g off the press's own", name, p, d)
			}
			for _, contrast := range []float64{0, 0.5, 0.9, 1} {
				if d := colour.DeltaE00(p, stack(t, paper, contrast).Look(p, 0.4)); d > 1e-6 {
					t.Errorf("an item of the paper's colour, contrast %g: %v looks ΔE00 %g off", contrast, p, d)
				}
				if l := stack(t, colour.Lab{}, contrast).Look(p, 0).L; l > 0.01 {
					t.Errorf("no white on black: %v looks L %g", p, l)
				}
			}
			// Clear white is no white.
			if d := colour.DeltaE00(stack(t, item, 0).Look(p, 1), stack(t, item, 0).Look(p, 0)); d > 1e-3 {
				t.Errorf("clear white on %s changes %v by ΔE00 %g", name, p, d)
			}
		}
	}
}

// TestMonotone lets a dark item only get lighter with more, or more opaque,
// white.
func TestMonotone(t *testing.T) {
	for _, name := range []string{"black", "navy", "red"} {
		for _, p := range prints {
			last := -1.0
			for c := 0.0; c <= 1; c += 0.05 {
				l := stack(t, items[name], c).Look(p, 1).L
				if l < last-1e-9 {
					t.Errorf("%s, %v: L falls to %g at contrast %g", name, p, l, c)
				}
				last = l
			}
			last = -1
			s := stack(t, items[name], 0.9)
			for w := 0.0; w <= 1; w += 0.05 {
				l := s.Look(p, w).L
				if l < last-1e-9 {
					t.Errorf("%s, %v: L falls to %g at white %g", name, p, l, w)
				}
				last = l
			}
		}
	}
}

// TestContrastRatio measures the model's own white the way it is stated: Y over
// black over Y over a white of 0.8 of the paper.
func TestContrastRatio(t *testing.T) {
	p := paper.XYZ(colour.D50)
	backing := colour.XYZ{X: whiteBacking * p.X, Y: whiteBacking * p.Y, Z: whiteBacking * p.Z}.Lab(colour.D50)
	for _, want := range []float64{0.2, 0.5, 0.8, 0.95} {
		over := func(item colour.Lab) float64 { return stack(t, item, want).Look(paper, 1).XYZ(colour.D50).Y }
		if got := over(colour.Lab{}) / over(backing); got < want-0.002 || got > want+0.002 {
			t.Errorf("contrast ratio %.4f, want %.4f", got, want)
		}
	}
	for _, bad := range []float64{-0.1, 1.1} {
		if _, err := New(paper, paper, bad); err == nil {
			t.Errorf("contrast %g passed", bad)
		}
	}
	if _, err := New(paper, colour.Lab{}, 1); err == nil {
		t.Error("black paper passed")
	}
}

func BenchmarkLook(b *testing.B) {
	s := stack(b, items["navy"], 0.9)
	for b.Loop() {
		s.Look(prints[1], 0.7)
	}
}

func ExampleStack_Look() {
	black, white := colour.Lab{L: 8}, colour.Lab{L: 95, A: 0, B: -2}
	s, _ := New(black, white, 0.9)
	red := colour.Lab{L: 48, A: 68, B: 48}
	fmt.Printf("without white L %.0f, on white L %.0f\n", s.Look(red, 0).L, s.Look(red, 1).L)
	// Output: without white L 2, on white L 43
}

// dyes is a smooth stand-in for a press model: four filters on paper.
func dyes(x [4]float64) colour.Lab {
	v := sharpen(paper)
	for k, f := range [4][3]float64{{0.05, 0.75, 0.9}, {0.7, 0.06, 0.5}, {0.95, 0.8, 0.07}, {0.02, 0.02, 0.02}} {
		for i := range v {
			v[i] *= 1 - x[k] + x[k]*f[i]
		}
	}
	return blunt(v)
}

// TestPrintUndoesLook goes to the item and back.
func TestPrintUndoesLook(t *testing.T) {
	for name, item := range items {
		for _, p := range prints {
			s := stack(t, item, 0.85)
			for _, w := range []float64{0.5, 1} {
				if d := colour.DeltaE00(p, s.Print(s.Look(p, w), w)); d > 0.01 {
					t.Errorf("%s, white %g: %v comes back ΔE00 %g off", name, w, p, d)
				}
			}
		}
	}
}

// TestView holds the compiled view to the exact one.
func TestView(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 1))
	const n = 3000
	var planes grid.Planes
	for k := range planes {
		planes[k] = make([]uint8, n)
	}
	white, seen := make([]uint8, n), make([]uint8, 4*n)
	for i := range n {
		for k := range planes {
			planes[k][i] = uint8(rng.IntN(256))
		}
		white[i] = uint8(rng.IntN(256))
	}
	for name, item := range items {
		s := stack(t, item, 0.85)
		s.View(dyes).Row(seen, 4, planes, white)
		mean, worst := 0.0, 0.0
		for i := range n {
			var x [4]float64
			for k := range x {
				x[k] = float64(planes[k][i]) / 255
			}
			want := s.Look(dyes(x), float64(white[i])/255).SRGB()
			d := colour.DeltaE00(colour.FromSRGB(want.R, want.G, want.B), colour.FromSRGB(seen[4*i], seen[4*i+1], seen[4*i+2]))
			mean, worst = mean+d/n, math.Max(worst, d)
		}
		t.Logf("%s: ΔE00 mean %.2f, largest %.2f", name, mean, worst)
		if mean > 0.5 || worst > 3 {
			t.Errorf("%s: ΔE00 mean %.2f, largest %.2f", name, mean, worst)
		}
	}
}

func BenchmarkView(b *testing.B) {
	s, err := New(colour.Lab{L: 12, A: 10, B: -30}, paper, 0.85)
	if err != nil {
		b.Fatal(err)
	}
	v := s.View(dyes)
	rng := rand.New(rand.NewPCG(3, 1))
	const w, h = 2000, 500
	var planes grid.Planes
	for k := range planes {
		planes[k] = make([]uint8, w)
		for i := range planes[k] {
			planes[k][i] = uint8(rng.IntN(256))
		}
	}
	white, seen := planes[0], make([]uint8, 4*w*h)
	b.SetBytes(w * h) // so that MB/s reads as Mpx/s
	for b.Loop() {
		cores.Share(h, func(lo, hi int) {
			for y := lo; y < hi; y++ {
				v.Row(seen[4*w*y:4*w*(y+1)], 4, planes, white)
			}
		})
	}
}
