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

// withContrast makes a stack with white of a contrast ratio, 0 (clear) to 1 (opaque).
func withContrast(item, paper colour.Lab, contrast float64) (*Stack, error) {
	w, err := Contrast(contrast)
	if err != nil {
		return nil, err
	}
	return Lay(item, paper, w)
}

var (
	paper  = colour.Lab{L: 95, A: 0, B: -2}
	prints = []colour.Lab{paper, {L: 48, A: 70, B: 45}, {L: 55, A: -36, B: -50}, {L: 88, A: -5, B: 90}, {L: 60}, {L: 15}}
	items  = map[string]colour.Lab{"black": {}, "navy": {L: 12, A: 10, B: -30}, "red": {L: 40, A: 60, B: 40}, "white": paper, "bright": {L: 100}}
)

func stack(t testing.TB, item colour.Lab, contrast float64) *Stack {
	t.Helper()
	s, err := withContrast(item, paper, contrast)
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
		if _, err := withContrast(paper, paper, bad); err == nil {
			t.Errorf("contrast %g passed", bad)
		}
	}
	if _, err := withContrast(paper, colour.Lab{}, 1); err == nil {
		t.Error("black paper passed")
	}
}

// TestMeasuredContrast measures the neutral layer of a contrast ratio, and finds the very
// layer again: on paper that reflects all, to the last digits on every item.
func TestMeasuredContrast(t *testing.T) {
	all := colour.Lab{L: 100}
	grounds := map[string][2]colour.Lab{"ideal": {{}, all}, "usual": {{L: 20}, {L: 93}}, "tinted": {{L: 8, A: 1, B: -3}, {L: 94, A: 1, B: -5}}}
	for _, contrast := range []float64{0.2, 0.5, 0.85, 0.97} {
		for name, g := range grounds {
			over := func(item colour.Lab) colour.Lab {
				s, err := withContrast(item, all, contrast)
				if err != nil {
					t.Fatal(err)
				}
				return s.Look(all, 1)
			}
			w, err := Measure(over(g[0]), over(g[1]), g[0], g[1])
			if err != nil {
				t.Fatal(err)
			}
			for on, item := range items {
				s, err := Lay(item, all, w)
				if err != nil {
					t.Fatal(err)
				}
				old, _ := withContrast(item, all, contrast)
				for i := range s.solid {
					if d := math.Abs(s.solid[i] - old.solid[i]); d > 1e-9 {
						t.Errorf("contrast %g measured over %s grounds: on %s channel %d is %g, want %g", contrast, name, on, i, s.solid[i], old.solid[i])
					}
				}
			}
		}
	}
}

// TestMeasured holds measured white, neutral and tinted, to what must be so.
func TestMeasured(t *testing.T) {
	black, white := colour.Lab{L: 20}, colour.Lab{L: 95, A: 0, B: -2}
	for name, c := range map[string]struct{ onBlack, onWhite colour.Lab }{
		"neutral": {colour.Lab{L: 82}, colour.Lab{L: 91}},
		"tinted":  {colour.Lab{L: 78, A: -2, B: -6}, colour.Lab{L: 90, A: 0, B: 3}},
		"thin":    {colour.Lab{L: 45, A: -1, B: -4}, colour.Lab{L: 93, A: 0, B: 1}},
		"opaque":  {colour.Lab{L: 88}, colour.Lab{L: 88}},
		"noisy":   {colour.Lab{L: 88.3, A: 0.2}, colour.Lab{L: 88, B: 0.3}},
	} {
		w, err := Measure(c.onBlack, c.onWhite, black, white)
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		on := func(item colour.Lab) *Stack {
			s, err := Lay(item, paper, w)
			if err != nil {
				t.Fatal(err)
			}
			return s
		}
		within := 1e-6
		if name == "noisy" {
			within = 0.4 // half of what the two readings differ by
		}
		for _, m := range []struct{ ground, want colour.Lab }{{black, c.onBlack}, {white, c.onWhite}} {
			if d := colour.DeltaE00(on(m.ground).Look(paper, 1), m.want); d > within {
				t.Errorf("%s over the ground %v looks ΔE00 %g off its measurement", name, m.ground, d)
			}
		}
		if t2 := w.t2; (name == "opaque") != (t2 == [3]float64{}) && name != "noisy" {
			t.Errorf("%s lets %v through", name, t2)
		}
		last := -1.0
		for l := 0.0; l <= 95; l += 5 { // a lighter item never makes white darker
			if got := on(colour.Lab{L: l}).Look(paper, 1).L; got < last-1e-9 {
				t.Errorf("%s: L falls to %g on an item of L %g", name, got, l)
			} else {
				last = got
			}
		}
		last = -1
		for v := 0.0; v <= 1; v += 0.05 { // nor more white a black item
			if got := on(colour.Lab{}).Look(prints[1], v).L; got < last-1e-9 {
				t.Errorf("%s: L falls to %g at white %g", name, got, v)
			} else {
				last = got
			}
		}
		for on, item := range items { // what it hides it cannot know
			s, _ := Lay(item, paper, w)
			if d := colour.DeltaE00(s.Look(paper, 1), colour.Lab{L: 88}); name == "opaque" && d > 1e-6 {
				t.Errorf("opaque white on %s looks ΔE00 %g off", on, d)
			}
		}
	}
	for name, c := range map[string][4]colour.Lab{
		"darker over white": {{L: 90}, {L: 80}, black, white},
		"one ground":        {{L: 80}, {L: 90}, {L: 90}, white},
		"grounds swapped":   {{L: 80}, {L: 90}, white, black},
	} {
		if w, err := Measure(c[0], c[1], c[2], c[3]); err == nil {
			t.Errorf("%s: %v passed", name, w)
		}
	}
}

// TestPinned has white that was measured on the item: full white looks so, none as before.
func TestPinned(t *testing.T) {
	want := colour.Lab{L: 71, A: -1, B: -4}
	for name, item := range items {
		s := stack(t, item, 0.85)
		p := s.Pinned(want)
		if d := colour.DeltaE00(p.Look(paper, 1), want); d > 1e-6 {
			t.Errorf("%s: pinned white looks ΔE00 %g off", name, d)
		}
		if p.Look(prints[1], 0) != s.Look(prints[1], 0) {
			t.Errorf("%s: pinned white changes what has none", name)
		}
	}
}

// TestMix holds mixed items to the mean of the looks on each.
func TestMix(t *testing.T) {
	navy, white := stack(t, items["navy"], 0.85), stack(t, items["white"], 0.85)
	mix, err := Mix([]*Stack{navy, white}, []float64{60, 40})
	if err != nil {
		t.Fatal(err)
	}
	same, err := Mix([]*Stack{navy, navy, navy}, []float64{1, 2, 3})
	if err != nil {
		t.Fatal(err)
	}
	for _, p := range prints {
		for _, w := range []float64{0, 0.4, 1} {
			want := colour.Mean([]colour.Lab{navy.Look(p, w), white.Look(p, w)}, []float64{0.6, 0.4})
			if d := colour.DeltaE00(mix.Look(p, w), want); d > 1e-9 {
				t.Errorf("%v, white %g: the mix looks ΔE00 %g off the mean", p, w, d)
			}
			if d := colour.DeltaE00(same.Look(p, w), navy.Look(p, w)); d > 1e-9 {
				t.Errorf("%v, white %g: navy mixed with navy looks ΔE00 %g off", p, w, d)
			}
		}
	}
	other, err := withContrast(items["navy"], colour.Lab{L: 90}, 0.85)
	if err != nil {
		t.Fatal(err)
	}
	for name, c := range map[string]struct {
		of     []*Stack
		shares []float64
	}{"none": {}, "a share too few": {[]*Stack{navy, white}, []float64{1}}, "nothing": {[]*Stack{navy}, []float64{0}}, "papers": {[]*Stack{navy, other}, []float64{1, 1}}} {
		if _, err := Mix(c.of, c.shares); err == nil {
			t.Errorf("%s: passed", name)
		}
	}
}

// TestLighterThanPaper has an item that is lighter than paper: white that is nearly opaque
// must not shine on it.
func TestLighterThanPaper(t *testing.T) {
	for c := 0.0; c <= 1; c += 0.01 {
		if s := stack(t, items["bright"], c); s.solid[1] > most || s.solid[1] < 1-1e-9 {
			t.Errorf("contrast %g: white reflects %g of paper", c, s.solid[1])
		}
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
	s, _ := withContrast(black, white, 0.9)
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

// TestFacing holds metal to what must be so.
func TestFacing(t *testing.T) {
	for name, item := range items {
		s := stack(t, item, 0.85)
		for _, p := range prints {
			for _, c := range []struct{ share, surround, of float64 }{
				{0, 0, 1}, {0, 0.5, 1}, {1, 1, 1}, {0.5, 1, 1}, // all is there: nothing changes
				{1, 0, 0}, {1, 0.03, 0.03}, {0.5, 0, 0.5}, {0.5, 0.03, 0.515}, // by hand
				{2, -1, 0}, {-1, 0, 1},
			} {
				f := s.Facing(c.share, c.surround)
				if d := colour.DeltaE00(f.Look(p, 1), s.Look(p, 1)); d > 1e-9 {
					t.Errorf("%s: solid white under %v changes by ΔE00 %g", name, p, d)
				}
				got, want := sharpen(f.Look(p, 0)), sharpen(s.Look(p, 0))
				for i := range got {
					if math.Abs(got[i]-c.of*want[i]) > 1e-9 {
						t.Errorf("%s, %v, %+v: %v of %v", name, p, c, got, want)
						break
					}
				}
			}
			last := -1.0
			for v := 0.0; v <= 1; v += 0.1 {
				l := s.Facing(0.7, v).Look(p, 0.3).L
				if l < last-1e-9 {
					t.Errorf("%s: %v falls to L %g before a surround of %g", name, p, l, v)
				}
				last = l
			}
		}
	}
}

// TestWhiteFirst holds a print seen from the side of its white to what must be so.
func TestWhiteFirst(t *testing.T) {
	for name, item := range items {
		for _, p := range prints {
			for _, contrast := range []float64{0, 0.5, 0.85, 1} {
				s := stack(t, item, contrast)
				f := s.WhiteFirst()
				if d := colour.DeltaE00(f.Look(p, 0), s.Look(p, 0)); d > 1e-9 {
					t.Errorf("%s, contrast %g: %v without white looks ΔE00 %g off from the other side", name, contrast, p, d)
				}
				if contrast == 1 {
					if d := colour.DeltaE00(f.Look(p, 1), paper); d > 1e-6 {
						t.Errorf("%s: %v shows through opaque white, by ΔE00 %g", name, p, d)
					}
				}
				if contrast == 0 {
					if d := colour.DeltaE00(f.Look(p, 1), s.Look(p, 0)); d > 1e-3 {
						t.Errorf("%s: clear white changes %v by ΔE00 %g", name, p, d)
					}
				}
				// Without colours nobody can tell the sides apart.
				if d := colour.DeltaE00(f.Look(paper, 0.7), s.Look(paper, 0.7)); d > 1e-6 {
					t.Errorf("%s, contrast %g: white alone looks ΔE00 %g off from the other side", name, contrast, d)
				}
				last := f.Look(p, 0).L
				for w := 0.0; w <= 1 && name != "bright"; w += 0.05 { // on what is lighter than white it may darken
					if l := f.Look(p, w).L; l < last-1e-9 {
						t.Errorf("%s, contrast %g: %v falls to L %g at white %g", name, contrast, p, l, w)
					} else {
						last = l
					}
				}
				if contrast == 0.5 && name != "black" { // there, nothing says what was printed
					if d := colour.DeltaE00(p, f.Print(f.Look(p, 0.5), 0.5)); d > 0.01 {
						t.Errorf("%s: %v comes back from under white ΔE00 %g off", name, p, d)
					}
				}
			}
		}
	}
	s := stack(t, items["navy"], 0.85)
	if _, err := Mix([]*Stack{s, s.WhiteFirst()}, []float64{1, 1}); err == nil {
		t.Error("a mix with white first passed")
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
	stacks := map[string]*Stack{}
	for name, item := range items {
		stacks[name] = stack(t, item, 0.85)
		stacks[name+", white first"] = stack(t, item, 0.5).WhiteFirst()
		stacks[name+", opaque white first"] = stack(t, item, 1).WhiteFirst()
	}
	measured, err := Measure(colour.Lab{L: 78, A: -2, B: -6}, colour.Lab{L: 90, A: 0, B: 3}, colour.Lab{L: 20}, paper)
	if err != nil {
		t.Fatal(err)
	}
	tinted, err := Lay(items["red"], paper, measured)
	if err != nil {
		t.Fatal(err)
	}
	stacks["tinted"], stacks["tinted first"] = tinted, tinted.WhiteFirst()
	for name, s := range stacks {
		for _, by := range []colour.Lab{{L: 100}, {L: 88, A: -1, B: 4}} {
			s.View(dyes, by).Row(seen, 4, planes, white)
			mean, worst := 0.0, 0.0
			for i := range n {
				var x [4]float64
				for k := range x {
					x[k] = float64(planes[k][i]) / 255
				}
				look := s.Look(dyes(x), float64(white[i])/255).XYZ(colour.D50)
				want := look.Scale(colour.D50, by.XYZ(colour.D50)).Lab(colour.D50).SRGB()
				d := colour.DeltaE00(colour.FromSRGB(want.R, want.G, want.B), colour.FromSRGB(seen[4*i], seen[4*i+1], seen[4*i+2]))
				mean, worst = mean+d/n, math.Max(worst, d)
			}
			t.Logf("%s, beside L %g: ΔE00 mean %.2f, largest %.2f", name, by.L, mean, worst)
			if mean > 0.5 || worst > 3 {
				t.Errorf("%s, beside L %g: ΔE00 mean %.2f, largest %.2f", name, by.L, mean, worst)
			}
		}
	}
}

func BenchmarkView(b *testing.B) {
	s, err := withContrast(colour.Lab{L: 12, A: 10, B: -30}, paper, 0.85)
	if err != nil {
		b.Fatal(err)
	}
	v := s.View(dyes, colour.Lab{L: 100})
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
