package press

import (
	"flag"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"reflect"
	"slices"
	"strings"
	"sync"
	"testing"

	"laydown/colour"
	"laydown/colour/grid"
	"laydown/colour/icc"
	"laydown/colour/reference"
)

var usual = Options{Intent: icc.Relative, BPC: true, TAC: 2.4, Black: BlackMedium}

func wishes(targets []colour.Lab) (w []Wish) {
	for _, t := range targets {
		w = append(w, Wish{Target: t})
	}
	return w
}

// table is a separator's own, outside CI one of RGB with fewer nodes, which is compiled as
// that is; the corners and the diagonal are nodes of both.
func table(s *Separator, src *icc.Profile) *grid.Table {
	if reference.All() || src.Space != icc.RGB {
		return s.Table()
	}
	return grid.Compile(3, 13, s.Eval)
}

// standIn is shared by the tests, so that each table is compiled once.
var standIn = sync.OnceValue(func() *Press { return StandIn(Cache{}) })

var update = flag.Bool("update", false, "fit the stand-in anew and write its model to fogra39l, and the separations of the cache's version")

// TestStandInModel fits the stand-in's data set and holds the model that is built
// in to it, within what a machine may round otherwise.
func TestStandInModel(t *testing.T) {
	set, err := ParseSet(standInSet)
	if err != nil {
		t.Fatal(err)
	}
	fresh, err := Fit(set)
	if err != nil {
		t.Fatal(err)
	}
	if *update {
		b, err := fresh.MarshalBinary()
		if err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile("fogra39l/FOGRA39L.model", b, 0o644); err != nil {
			t.Fatal(err)
		}
		t.Skip("written; run again without -update, for this program still holds the old one")
	}
	built, err := standIn().Model()
	if err != nil {
		t.Fatal(err)
	}
	const bound = 1e-6 // of the reflectance of white, to the power 1/n
	worst := 0.0
	for i, v := range fresh.node {
		for j := range v {
			worst = math.Max(worst, math.Abs(float64(v[j])-float64(built.node[i][j])))
		}
	}
	h, g := fresh.HeldOut, built.HeldOut
	if fresh.N != built.N || h.Patches != g.Patches || !(worst <= bound) ||
		math.Abs(h.Median-g.Median)+math.Abs(h.P95-g.P95)+math.Abs(h.Worst-g.Worst) > 1e-4 {
		t.Errorf("n %g and %g, held out %+v and %+v, corners up to %.2g apart: run go test ./colour/press -run TestStandInModel -update, and raise cacheVersion",
			fresh.N, built.N, h, g, worst)
	}
	t.Logf("%d corners, worst %.2g apart", len(fresh.node), worst)
}

// TestNearestAsSeen looks at prints through a pink filter: what can be printed
// through it is found, and what cannot is no worse, by the length of its difference in
// Oklab and thrice its miss of hue in IPT, than plain trial finds.
func TestNearestAsSeen(t *testing.T) {
	p := standIn()
	m, err := p.Model()
	if err != nil {
		t.Fatal(err)
	}
	pink := colour.Lab{L: 85, A: 15, B: 2}.XYZ(colour.D50)
	seen := func(c colour.Lab) colour.Lab { return c.XYZ(colour.D50).Scale(pink, colour.D50).Lab(colour.D50) }
	unseen := func(c colour.Lab) colour.Lab { return c.XYZ(colour.D50).Scale(colour.D50, pink).Lab(colour.D50) }
	r := rand.New(rand.NewPCG(8, 9))
	for i := range 60 {
		target := colour.Lab{L: 20 + 70*r.Float64(), A: 120*r.Float64() - 60, B: 120*r.Float64() - 60} // out of reach as often as not
		if i%2 == 0 {
			target = seen(m.Lab([4]float64{0.8 * r.Float64(), 0.8 * r.Float64(), 0.7 * r.Float64(), 0.1}))
		}
		got, err := p.Nearest([]Wish{{target, seen, unseen(target)}}, usual)
		if err != nil {
			t.Fatal(err)
		}
		g := got[0]
		if d := colour.DeltaE00(target, seen(m.Lab(g.CMYK))); d != g.DeltaE00 || g.Printed != seen(m.Lab(g.CMYK)) {
			t.Errorf("%v: says ΔE00 %g, is %g", target, g.DeltaE00, d)
		}
		if i%2 == 0 && g.DeltaE00 > 0.5 {
			t.Errorf("%v can be printed and is missed by ΔE00 %.2f", target, g.DeltaE00)
		}
		miss := func(x [4]float64) (d, chroma, turn float64) {
			c, w := seen(m.Lab(x)).XYZ(colour.D50), target.XYZ(colour.D50)
			turn = math.Remainder(c.IPT().Hue()-w.IPT().Hue(), 2*math.Pi)
			across := c.IPT().Chroma() * math.Sin(turn) * math.Min(1, w.IPT().Chroma()/0.05)
			return math.Hypot(100*c.Oklab().Distance(w.Oklab()), 3*40*across), c.IPT().Chroma(), math.Abs(turn)
		}
		ours, chroma, turn := miss(g.CMYK)
		for range 4000 {
			x := [4]float64{r.Float64(), r.Float64(), r.Float64(), r.Float64()}
			if x[0]+x[1]+x[2]+x[3] > usual.TAC {
				continue
			}
			// Ours keeps the chroma that the press reaches in print, and the hue.
			if d, c, h := miss(x); d < ours-0.5 && c > chroma && h <= math.Max(turn, slackHue) {
				t.Errorf("%v: missed by %.2f with %v, by trial with %v by %.2f", target, ours, g.CMYK, x, d)
				break
			}
		}
	}
}

// TestInverse asks the press for colours it can print under the limit and
// holds what comes back through the forward model to ΔE00 0.5 at the 95th
// percentile.
func TestInverse(t *testing.T) {
	p := standIn()
	m, err := p.Model()
	if err != nil {
		t.Fatal(err)
	}
	r := rand.New(rand.NewPCG(5, 6))
	var targets []colour.Lab
	for len(targets) < 3000 {
		x := [4]float64{r.Float64(), r.Float64(), r.Float64(), r.Float64() * r.Float64()}
		if x[0]+x[1]+x[2]+x[3] <= 2.3 {
			targets = append(targets, m.Lab(x))
		}
	}
	got, err := p.Nearest(wishes(targets), usual)
	if err != nil {
		t.Fatal(err)
	}
	var d []float64
	for _, g := range got {
		d = append(d, g.DeltaE00)
		if s := g.CMYK[0] + g.CMYK[1] + g.CMYK[2] + g.CMYK[3]; s > 2.4+1e-9 {
			t.Errorf("%v: tone values add to %.4f, over the limit", g.Target, s)
		}
	}
	slices.Sort(d)
	t.Logf("median %.4f, 95th %.4f, worst %.3f", d[len(d)/2], d[len(d)*95/100], d[len(d)-1])
	if d[len(d)*95/100] > 0.5 {
		t.Errorf("95th percentile ΔE00 %.3f, want ≤ 0.5", d[len(d)*95/100])
	}
}

// TestHeldOut predicts patches that a fit has not seen, ten times a tenth of
// each published set. Source of the sets: FOGRA28L, 29L, 30L, 39L, 40L and CGATS
// TR002, TR003, TR005, TR006 of Debian's icc-profiles-free (zlib licence).
func TestHeldOut(t *testing.T) {
	all := []string{"FOGRA28L", "FOGRA29L", "FOGRA30L", "FOGRA39L", "FOGRA40L", "TR002", "TR003", "TR005", "TR006"}
	folds := reference.Sweep(t, []int{0, 1, 2, 3, 4, 5, 6, 7, 8, 9}, func(fold int) bool { return fold < 2 })
	for _, name := range reference.Sweep(t, all, func(name string) bool { return name == "FOGRA39L" }) {
		set, err := ParseSet(reference.File(t, "/usr/share/color/icc/"+name+".ti3"))
		if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		order := rand.New(rand.NewPCG(1, 10)).Perm(len(set.Patches))
		var d []float64
		for _, fold := range folds {
			var fit, held []Patch
			for i, at := range order {
				if p := set.Patches[at]; i%10 == fold && !isPrimary(p) {
					held = append(held, p)
				} else {
					fit = append(fit, p)
				}
			}
			s, err := fitSpline(fit)
			if err != nil {
				t.Fatal(err)
			}
			if fold == 0 {
				t.Logf("%s: n = %g, by its own account ΔE00 median %.3f, 95th %.3f", name, s.m.N, s.m.HeldOut.Median, s.m.HeldOut.P95)
			}
			for _, p := range held {
				d = append(d, colour.DeltaE00(p.Lab, s.lab(p.CMYK)))
			}
		}
		slices.Sort(d)
		t.Logf("%s: %d patches held out, ΔE00 median %.3f, 95th %.3f, worst %.2f", name, len(d), d[len(d)/2], d[len(d)*95/100], d[len(d)-1])
		if d[len(d)/2] > 0.5 || d[len(d)*95/100] > 1.5 {
			t.Errorf("%s: ΔE00 median %.3f and 95th percentile %.3f, want ≤ 0.5 and ≤ 1.5", name, d[len(d)/2], d[len(d)*95/100])
		}
	}
}

// TestModelMeetsPatches holds the tabulated model, not only the spline behind
// it, to the measured patches.
func TestModelMeetsPatches(t *testing.T) {
	p := standIn()
	m, err := p.Model()
	if err != nil {
		t.Fatal(err)
	}
	if len(p.Set.Patches) < 1500 {
		t.Fatalf("only %d patches", len(p.Set.Patches))
	}
	var d []float64
	for _, q := range p.Set.Patches {
		d = append(d, colour.DeltaE00(q.Lab, m.Lab(q.CMYK)))
	}
	slices.Sort(d)
	t.Logf("ΔE00 median %.3f, 95th %.3f, worst %.2f", d[len(d)/2], d[len(d)*95/100], d[len(d)-1])
	if d[len(d)*95/100] > 0.5 {
		t.Errorf("95th percentile ΔE00 %.3f, want ≤ 0.5", d[len(d)*95/100])
	}
}

// TestSlopes checks the model's derivatives against differences.
func TestSlopes(t *testing.T) {
	m, err := standIn().Model()
	if err != nil {
		t.Fatal(err)
	}
	r := rand.New(rand.NewPCG(9, 9))
	for range 200 {
		x := [4]float64{}
		for k := range x { // clear of cell edges, where the slope jumps
			x[k] = (float64(r.IntN(16)) + 0.2 + 0.6*r.Float64()) / 16
		}
		c, d := m.xyzSlopes(x)
		if diff := colour.DeltaE00(c.Lab(colour.D50), m.Lab(x)); diff > 1e-6 {
			t.Fatalf("at %v: %v with slopes, %v without", x, c.Lab(colour.D50), m.Lab(x))
		}
		for k := range x {
			const h = 1e-6
			up, down := x, x
			up[k] += h
			down[k] -= h
			a, b := m.Lab(up).XYZ(colour.D50), m.Lab(down).XYZ(colour.D50)
			for j, w := range []float64{(a.X - b.X) / (2 * h), (a.Y - b.Y) / (2 * h), (a.Z - b.Z) / (2 * h)} {
				if diff := d[k][j] - w; diff > 0.01*(1+max(w, -w)) || diff < -0.01*(1+max(w, -w)) {
					t.Fatalf("at %v: slope %d of toner %d is %v, difference says %v", x, j, k, d[k][j], w)
				}
			}
		}
	}
}

// TestRampsAreSmooth walks neutral, skin and hue ramps of sRGB in 256 steps
// and demands that no plate jumps.
func TestRampsAreSmooth(t *testing.T) {
	for _, black := range []Black{BlackNone, BlackLight, BlackMedium, BlackHeavy, BlackFull} {
		o := usual
		o.Black = black
		s, err := standIn().Separate(icc.SRGB(), o)
		if err != nil {
			t.Fatal(err)
		}
		for name, ramp := range map[string]func(t float64) []float64{
			"neutral": func(t float64) []float64 { return []float64{t, t, t} },
			"skin":    func(t float64) []float64 { return []float64{0.2 + 0.75*t, 0.1 + 0.7*t, 0.05 + 0.65*t} },
			"red":     func(t float64) []float64 { return []float64{1, t, t} },
			"to red":  func(t float64) []float64 { return []float64{t, 0, 0} },
			"to blue": func(t float64) []float64 { return []float64{0, 0, t} },
			"sky":     func(t float64) []float64 { return []float64{t, 0.5 + 0.5*t, 1} },
		} {
			var last [4]float64
			for i := range 256 {
				var now [4]float64
				s.Eval(now[:], ramp(float64(i)/255))
				if i > 0 {
					for k := range now {
						if d := now[k] - last[k]; d > 0.05 || d < -0.05 {
							t.Errorf("black %s, ramp %s, step %d: plate %d jumps from %.3f to %.3f", black, name, i, k, last[k], now[k])
						}
					}
				}
				last = now
			}
		}
	}
}

// TestPureBlack separates greys of RGB, grey and CMYK art: black toner alone,
// rising with darkness, from bare paper to solid.
func TestPureBlack(t *testing.T) {
	o := usual
	o.PureBlack = true
	profile, err := Open(reference.File(t, reference.Profile(t, "cmyk")), Cache{})
	if err != nil {
		t.Fatal(err)
	}
	cmyk, err := icc.Parse(reference.File(t, reference.Profile(t, "cmyk")))
	if err != nil {
		t.Fatal(err)
	}
	for name, c := range map[string]struct {
		press *Press
		src   *icc.Profile
		ramp  func(v uint8) []uint8 // from white to black
	}{
		"data set, RGB":  {standIn(), icc.SRGB(), func(v uint8) []uint8 { return []uint8{255 - v, 255 - v, 255 - v} }},
		"data set, grey": {standIn(), icc.GrayGamma(), func(v uint8) []uint8 { return []uint8{255 - v} }},
		"data set, CMYK": {standIn(), cmyk, func(v uint8) []uint8 { return []uint8{0, 0, 0, v} }},
		"profile, RGB":   {profile, icc.SRGB(), func(v uint8) []uint8 { return []uint8{255 - v, 255 - v, 255 - v} }},
	} {
		s, err := c.press.Separate(c.src, o)
		if err != nil {
			t.Fatal(err)
		}
		var px []uint8
		for v := range 256 {
			px = append(px, c.ramp(uint8(v))...)
		}
		var planes grid.Planes
		for k := range planes {
			planes[k] = make([]uint8, 256)
		}
		if c.src.Space == icc.CMYK && !reference.All() { // TestKeepBlack looks into such a table
			for v := range 256 {
				d, x := make([]float64, len(px)/256), [4]float64{}
				for k := range d {
					d[k] = float64(px[len(d)*v+k]) / 255
				}
				s.Eval(x[:], d)
				for k := range planes {
					planes[k][v] = uint8(255*x[k] + 0.5)
				}
			}
		} else {
			table(s, c.src).Row8(planes, px, len(px)/256)
		}
		for v := range 256 {
			if planes[0][v] != 0 || planes[1][v] != 0 || planes[2][v] != 0 {
				t.Fatalf("%s: grey %d prints C %d M %d Y %d", name, v, planes[0][v], planes[1][v], planes[2][v])
			}
			if v > 0 && planes[3][v] < planes[3][v-1] {
				t.Errorf("%s: black falls from %d to %d at %d", name, planes[3][v-1], planes[3][v], v)
			}
		}
		if planes[3][0] != 0 || planes[3][255] != 255 {
			t.Errorf("%s: black runs from %d to %d, want 0 to 255", name, planes[3][0], planes[3][255])
		}
	}
	// Colours stay as they were, and the way between is smooth.
	plain, _ := standIn().Separate(icc.SRGB(), usual)
	pure, _ := standIn().Separate(icc.SRGB(), o)
	var a, b, last [4]float64
	plain.Eval(a[:], []float64{0.8, 0.3, 0.2})
	pure.Eval(b[:], []float64{0.8, 0.3, 0.2})
	if a != b {
		t.Errorf("a red prints %v, with pure black %v", a, b)
	}
	for i := range 200 {
		pure.Eval(b[:], []float64{0.5, 0.5, 0.5 - float64(i)/1000})
		for k := range b {
			if d := b[k] - last[k]; i > 0 && (d > 0.05 || d < -0.05) {
				t.Errorf("step %d: plate %d jumps from %.3f to %.3f", i, k, last[k], b[k])
			}
		}
		last = b
	}
}

// TestPureBlackKeepsColours separates dull colours with and without pure black. Those
// with a chroma of 8 and more, a dark navy or brown, print the same but for what the way
// from black alone, of which no plate may jump, takes of the darkest.
func TestPureBlackKeepsColours(t *testing.T) {
	m, err := standIn().Model()
	if err != nil {
		t.Fatal(err)
	}
	o := usual
	plain, err := standIn().Separate(icc.SRGB(), o)
	if err != nil {
		t.Fatal(err)
	}
	o.PureBlack = true
	pure, err := standIn().Separate(icc.SRGB(), o)
	if err != nil {
		t.Fatal(err)
	}
	in, err := icc.SRGB().ToPCS(o.Intent)
	if err != nil {
		t.Fatal(err)
	}
	step := 12
	if reference.All() {
		step = 6
	}
	var dull [][]float64
	for r := 0; r < 256; r += step {
		for g := 0; g < 256; g += step {
			for b := 0; b < 256; b += step {
				rgb := []float64{float64(r) / 255, float64(g) / 255, float64(b) / 255}
				if c := in.XYZ(rgb).Lab(colour.D50).Chroma(); c >= 8 && c < 20 {
					dull = append(dull, rgb)
				}
			}
		}
	}
	mean, worst, at := 0.0, 0.0, []float64(nil)
	for _, rgb := range dull {
		var x, y [4]float64
		plain.Eval(x[:], rgb)
		pure.Eval(y[:], rgb)
		d := colour.DeltaE00(m.Lab(x), m.Lab(y))
		mean += d / float64(len(dull))
		if d > worst {
			worst, at = d, rgb
		}
	}
	t.Logf("%d colours: ΔE00 %.3f on the mean, %.2f at the worst, at %.2f", len(dull), mean, worst, at)
	if len(dull) < 100 || mean > 0.2 || worst > 2.3 {
		t.Errorf("%d colours change by ΔE00 %.3f on the mean and %.2f at the worst", len(dull), mean, worst)
	}
}

// TestOwnSeparation switches a profile from its own separation to ours, under a
// lower limit than its own.
func TestOwnSeparation(t *testing.T) {
	p, err := Open(reference.File(t, reference.Profile(t, "cmyk")), Cache{})
	if err != nil {
		t.Fatal(err)
	}
	o := usual
	o.TAC = 2
	theirs, err := p.Separate(icc.SRGB(), o)
	if err != nil {
		t.Fatal(err)
	}
	o.Own = true
	ours, err := p.Separate(icc.SRGB(), o)
	if err != nil {
		t.Fatal(err)
	}
	m, _ := p.Model()
	r := rand.New(rand.NewPCG(2, 2))
	highest, apart := 0.0, 0.0
	for range 300 {
		var a, b [4]float64
		in := []float64{0.2 + 0.5*r.Float64(), 0.2 + 0.5*r.Float64(), 0.2 + 0.5*r.Float64()}
		theirs.Eval(a[:], in)
		ours.Eval(b[:], in)
		highest = max(highest, a[0]+a[1]+a[2]+a[3])
		if s := b[0] + b[1] + b[2] + b[3]; s > 2+1e-9 {
			t.Fatalf("%v: our tone values add to %.3f under a limit of 2", in, s)
		}
		apart += colour.DeltaE00(m.Lab(a), m.Lab(b)) / 300
	}
	if highest <= 2 || apart > 4 {
		t.Errorf("the profile's own sums reach %.2f; the two separations print ΔE00 %.2f apart on the mean", highest, apart)
	}
}

// TestGamut holds the gamut against what the forward model prints: every print
// under the limit lies inside, colours well beyond do not.
func TestGamut(t *testing.T) {
	p := standIn()
	m, err := p.Model()
	if err != nil {
		t.Fatal(err)
	}
	d, err := p.Describe(usual)
	if err != nil {
		t.Fatal(err)
	}
	g := d.Gamut
	r := rand.New(rand.NewPCG(5, 5))
	outside, n := 0, 0
	for range 4000 {
		x := [4]float64{r.Float64(), r.Float64(), r.Float64(), r.Float64() * r.Float64()}
		if x[0]+x[1]+x[2]+x[3] > 2.4 {
			continue
		}
		n++
		if !g.Contains(m.Lab(x)) {
			outside++
		}
	}
	if outside*50 > n {
		t.Errorf("%d of %d prints lie outside the gamut", outside, n)
	}
	for _, c := range []colour.Lab{{L: 50, A: 100, B: 0}, {L: 5, A: 0, B: 0}, {L: 99, A: 0, B: 0}, colour.FromSRGB(0, 0, 255), colour.FromSRGB(0, 255, 0)} {
		if g.Contains(c) {
			t.Errorf("%v is said to print", c)
		}
	}
	// Common practice, from memory: about 400,000 cubic ΔE*ab on coated offset
	// without a toner limit.
	if v := g.Volume(); v < 300000 || v > 450000 {
		t.Errorf("volume %.0f", v)
	}
	t.Logf("volume %.0f, %d of %d prints outside", g.Volume(), outside, n)
}

// TestPerceptual keeps neutrals and order, and holds vivid colours apart that
// the relative intent presses onto the gamut's edge.
func TestPerceptual(t *testing.T) {
	p := standIn()
	m, _ := p.Model()
	o := usual
	relative, err := p.Separate(icc.SRGB(), o)
	if err != nil {
		t.Fatal(err)
	}
	o.Intent = icc.Perceptual
	perceptual, err := p.Separate(icc.SRGB(), o)
	if err != nil {
		t.Fatal(err)
	}
	print := func(s *Separator, rgb ...float64) colour.Lab {
		var x [4]float64
		s.Eval(x[:], rgb)
		return m.Lab(x)
	}
	for v := 0.0; v <= 1; v += 0.1 {
		if d := colour.DeltaE00(print(relative, v, v, v), print(perceptual, v, v, v)); d > 1 {
			t.Errorf("grey %.1f differs by ΔE00 %.2f", v, d)
		}
	}
	// A colour on the gamut's edge and the one beyond that the relative intent presses
	// onto it: one place there, two here, in their order.
	g := newInverter(m, usual.TAC, usual.Black).gamut()
	for _, rgb := range [][3]uint8{{0, 255, 0}, {0, 0, 255}, {255, 0, 255}, {0, 255, 255}, {255, 120, 0}, {255, 0, 60}} {
		beyond := colour.FromSRGB(rgb[0], rgb[1], rgb[2]).XYZ(colour.D50)
		edge := g.nearest(beyond, 0)
		a, b := g.compress(edge), g.compress(beyond)
		if d := a.Oklab().Distance(b.Oklab()); d < 0.002 {
			t.Errorf("%v and the edge before it come within %.4f of each other", rgb, d)
		}
		if a.Oklab().Chroma() > b.Oklab().Chroma() {
			t.Errorf("%v comes to less chroma than the edge before it", rgb)
		}
	}
	// And what the relative intent holds apart stays so.
	for _, c := range [][2][]float64{{{0, 0.85, 0}, {0, 1, 0}}, {{0.1, 0.1, 0.85}, {0, 0, 1}}, {{1, 0.15, 1}, {1, 0, 1}}} {
		a, b := c[0], c[1]
		dr := colour.DeltaE00(print(relative, a...), print(relative, b...))
		dp := colour.DeltaE00(print(perceptual, a...), print(perceptual, b...))
		if dp < 0.85*dr {
			t.Errorf("%v and %v: ΔE00 %.2f apart by perceptual, %.2f by relative", a, b, dp, dr)
		}
	}
}

func TestWhiteIsBare(t *testing.T) {
	for _, intent := range []icc.Intent{icc.Perceptual, icc.Relative, icc.Saturation} {
		o := usual
		o.Intent = intent
		s, err := standIn().Separate(icc.SRGB(), o)
		if err != nil {
			t.Fatal(err)
		}
		planes := grid.Planes{make([]uint8, 1), make([]uint8, 1), make([]uint8, 1), make([]uint8, 1)}
		table(s, icc.SRGB()).Row8(planes, []uint8{255, 255, 255}, 3)
		for k, p := range planes {
			if p[0] != 0 {
				t.Errorf("%s: plate %d prints %d on white", intent, k, p[0])
			}
		}
	}
}

func TestOwnCMYKKeepsNumbers(t *testing.T) {
	s, err := standIn().Separate(nil, usual)
	if err != nil {
		t.Fatal(err)
	}
	px := make([]uint8, 4*256)
	for i := range px {
		px[i] = uint8(i * 7)
	}
	var planes grid.Planes
	for k := range planes {
		planes[k] = make([]uint8, 256)
	}
	s.Table().Row8(planes, px, 4)
	for i := range 256 {
		for k := range planes {
			if planes[k][i] != px[4*i+k] {
				t.Fatalf("pixel %d plate %d: %d became %d", i, k, px[4*i+k], planes[k][i])
			}
		}
	}
}

func TestParseSetRefuses(t *testing.T) {
	head := "BEGIN_DATA_FORMAT\nSAMPLE_ID CMYK_C CMYK_M CMYK_Y CMYK_K LAB_L LAB_A LAB_B\nEND_DATA_FORMAT\nBEGIN_DATA\n"
	for name, c := range map[string]struct{ data, want string }{
		"empty":      {"", "not a characterisation data set"},
		"prose":      {"dear printer,\nplease find\n", "not a characterisation data set"},
		"no CMYK":    {"BEGIN_DATA_FORMAT\nRGB_R LAB_L\nEND_DATA_FORMAT\nBEGIN_DATA\n1 2\nEND_DATA\n", "CMYK chart"},
		"no colour":  {"BEGIN_DATA_FORMAT\nCMYK_C CMYK_M CMYK_Y CMYK_K\nEND_DATA_FORMAT\nBEGIN_DATA\n0 0 0 0\nEND_DATA\n", "no spectral columns"},
		"short row":  {head + "1 0 0 0\nEND_DATA\n", "line 5"},
		"NaN":        {head + "1 0 0 0 0 NaN 0 0\nEND_DATA\n", "not a number"},
		"range":      {head + "1 0 0 0 130 50 0 0\nEND_DATA\n", "outside 0 to 100"},
		"Lab range":  {head + "1 0 0 0 0 500 0 0\nEND_DATA\n", "out of range"},
		"two truths": {head + "1 0 0 0 0 95 0 0\n2 0 0 0 0 50 0 0\nEND_DATA\n", "contradicts itself"},
		"no solids":  {head + "1 0 0 0 0 95 0 0\nEND_DATA\n", "solid cyan"},
	} {
		_, err := ParseSet([]byte(c.data))
		if err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: error %v, want %q in it", name, err, c.want)
		}
	}
}

// TestColumns writes the same patches as Lab, as XYZ and as spectra under
// several names and scales, in shuffled columns, and reads one colour.
func TestColumns(t *testing.T) {
	grey := map[string]float64{"bare": 0.8, "full": 0.1}
	rows := []struct {
		cmyk string
		ink  string
	}{{"0 0 0 0", "bare"}, {"100 0 0 0", "full"}, {"0 100 0 0", "full"}, {"0 0 100 0", "full"}, {"0 0 0 100", "full"},
		{"0 100 100 0", "full"}, {"100 0 100 0", "full"}, {"100 100 0 0", "full"}}
	write := func(names string, value func(r float64) string) []byte {
		var b strings.Builder
		fmt.Fprintf(&b, "IT8.7/4\nBEGIN_DATA_FORMAT\n%s CMYK_C CMYK_M CMYK_Y CMYK_K SampleName\nEND_DATA_FORMAT\nBEGIN_DATA\n", names)
		for i, r := range rows {
			fmt.Fprintf(&b, "%s %s \"patch %d\"\n", value(grey[r.ink]), r.cmyk, i)
		}
		b.WriteString("END_DATA\n")
		return []byte(b.String())
	}
	spectrum := func(prefix string) string {
		var n []string
		for nm := 700; nm >= 400; nm -= 10 { // falling: order must not matter
			n = append(n, fmt.Sprintf("%s%d", prefix, nm))
		}
		return strings.Join(n, " ")
	}
	flat := func(scale float64) func(float64) string {
		return func(r float64) string { return strings.TrimSpace(strings.Repeat(fmt.Sprintf("%g ", r*scale), 31)) }
	}
	for name, data := range map[string][]byte{
		"xyz": write("XYZ_Z XYZ_X XYZ_Y", func(r float64) string {
			return fmt.Sprintf("%g %g %g", r*100*colour.D50.Z, r*100*colour.D50.X, r*100)
		}),
		"lab": write("LAB_B LAB_A LAB_L", func(r float64) string {
			return fmt.Sprintf("0 0 %.6f", colour.XYZ{X: r * colour.D50.X, Y: r, Z: r * colour.D50.Z}.Lab(colour.D50).L)
		}),
		"factors": write(spectrum("SPECTRAL_NM"), flat(1)), "percent": write(spectrum("SPEC_"), flat(100)), "nm": write(spectrum("nm"), flat(1)),
	} {
		s, err := ParseSet(data)
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		for i, p := range s.Patches {
			r := grey[rows[i].ink]
			want := colour.XYZ{X: r * colour.D50.X, Y: r, Z: r * colour.D50.Z}.Lab(colour.D50)
			if colour.DeltaE00(p.Lab, want) > 0.001 {
				t.Errorf("%s: patch %d is %v, want %v", name, i, p.Lab, want)
			}
		}
	}
	gap := strings.Replace(string(write(spectrum("nm"), flat(1))), "nm550", "nm553", 1)
	if _, err := ParseSet([]byte(gap)); err == nil || !strings.Contains(err.Error(), "equal steps") {
		t.Errorf("a gap in the wavelengths: %v", err)
	}
}

// TestSpectraAgainstReference gives smooth random spectra, and narrow bands, to us
// and to Argyll's spec2cie (Debian's argyll 2.3.1), which integrates the CIE 1931
// observer under D50 of CIE 15.
func TestSpectraAgainstReference(t *testing.T) {
	tool := reference.Tool(t, "spec2cie")
	rng := rand.New(rand.NewPCG(31, 1))
	for _, c := range []struct {
		name              string
		first, last, step int
		allowed           float64
	}{{"10 nm", 380, 730, 10, 0.05}, {"20 nm", 400, 700, 20, 0.05}} {
		var b strings.Builder
		n := (c.last-c.first)/c.step + 1
		fmt.Fprintf(&b, "CTI3   \n\nDESCRIPTOR \"spectra\"\nORIGINATOR \"test\"\nDEVICE_CLASS \"OUTPUT\"\nCOLOR_REP \"CMYK_LAB\"\n"+
			"SPECTRAL_BANDS \"%d\"\nSPECTRAL_START_NM \"%d\"\nSPECTRAL_END_NM \"%d\"\n\nNUMBER_OF_FIELDS %d\nBEGIN_DATA_FORMAT\nSAMPLE_ID CMYK_C CMYK_M CMYK_Y CMYK_K",
			n, c.first, c.last, 5+n)
		for nm := c.first; nm <= c.last; nm += c.step {
			fmt.Fprintf(&b, " SPEC_%d", nm)
		}
		const rows = 40
		fmt.Fprintf(&b, "\nEND_DATA_FORMAT\n\nNUMBER_OF_SETS %d\nBEGIN_DATA\n", rows)
		for i := range rows {
			fmt.Fprintf(&b, "%d %d %d %d %d", i+1, i&1*100, i>>1&1*100, i>>2&1*100, i>>3*25) // with the primaries that a set must have
			edge, wide, low, high := 430+250*rng.Float64(), 10+50*rng.Float64(), 2+20*rng.Float64(), 40+55*rng.Float64()
			if i%3 == 0 {
				low, high = high, low
			}
			for nm := c.first; nm <= c.last; nm += c.step {
				fmt.Fprintf(&b, " %.5f", low+(high-low)/(1+math.Exp(-(float64(nm)-edge)/wide)))
			}
			b.WriteString("\n")
		}
		b.WriteString("END_DATA\n")
		dir := t.TempDir()
		in, out := filepath.Join(dir, "in.ti3"), filepath.Join(dir, "out.ti3")
		if err := os.WriteFile(in, []byte(b.String()), 0o600); err != nil {
			t.Fatal(err)
		}
		if msg, err := exec.Command(tool, "-i", "D50", "-o", "1931_2", "-n", in, out).CombinedOutput(); err != nil {
			t.Fatalf("spec2cie: %v\n%s", err, msg)
		}
		theirs, err := os.ReadFile(out)
		if err != nil {
			t.Fatal(err)
		}
		want, err := ParseSet(theirs)
		if err != nil {
			t.Fatal(err)
		}
		got, err := ParseSet([]byte(b.String()))
		if err != nil {
			t.Fatal(err)
		}
		worst, alike := 0.0, 0
		for _, g := range got.Patches {
			for _, w := range want.Patches {
				if g.CMYK == w.CMYK {
					worst = math.Max(worst, colour.DeltaE00(g.Lab, w.Lab))
					alike++
				}
			}
		}
		if alike < 40 {
			t.Errorf("only %d patches in both", alike)
		}
		t.Logf("%s: worst ΔE00 %.4f", c.name, worst)
		if worst > c.allowed {
			t.Errorf("%s: worst ΔE00 %.4f, want at most %g", c.name, worst, c.allowed)
		}
	}
}

func TestOpenRefusesRGB(t *testing.T) {
	_, err := Open(reference.File(t, reference.Profiles["srgb"]), Cache{})
	if err == nil || !strings.Contains(err.Error(), "not CMYK") {
		t.Errorf("error %v, want it to ask for CMYK", err)
	}
}

// smallSet writes the primaries and every tenth patch of the stand-in as a data set
// of its own, which is soon fitted.
func smallSet() []byte {
	var b strings.Builder
	b.WriteString("DESCRIPTOR \"small\"\nBEGIN_DATA_FORMAT\nCMYK_C CMYK_M CMYK_Y CMYK_K LAB_L LAB_A LAB_B\nEND_DATA_FORMAT\nBEGIN_DATA\n")
	for i, p := range standIn().Set.Patches {
		if i%10 == 0 || isPrimary(p) {
			fmt.Fprintln(&b, p.CMYK[0]*100, p.CMYK[1]*100, p.CMYK[2]*100, p.CMYK[3]*100, p.Lab.L, p.Lab.A, p.Lab.B)
		}
	}
	b.WriteString("END_DATA\n")
	return []byte(b.String())
}

// TestCache runs a press twice on one folder, then with every file damaged.
func TestCache(t *testing.T) {
	set := smallSet()
	cache := Cache{filepath.Join(t.TempDir(), "deep", "folder")}
	// Outside CI of grey art, whose table is small.
	src, px := icc.GrayGamma(), randomPixels(1000)
	if reference.All() {
		src = icc.SRGB()
	}
	run := func() (p grid.Planes) {
		for k := range p {
			p[k] = make([]uint8, 1000)
		}
		own, err := Open(set, cache)
		if err != nil {
			t.Fatal(err)
		}
		s, err := own.Separate(src, usual)
		if err != nil {
			t.Fatal(err)
		}
		s.Table().Row8(p, px, 3)
		return p
	}
	first := run()
	files, err := filepath.Glob(filepath.Join(cache.Dir, "*"))
	if err != nil || len(files) != 2 {
		t.Fatalf("cache holds %v, want a model and a table", files)
	}
	if second := run(); !reflect.DeepEqual(first, second) {
		t.Error("second run differs")
	}
	for _, f := range files {
		b, _ := os.ReadFile(f)
		b[len(b)/2] ^= 0x55
		if err := os.WriteFile(f, b, 0o600); err != nil {
			t.Fatal(err)
		}
	}
	if third := run(); !reflect.DeepEqual(first, third) {
		t.Error("a damaged cache was believed")
	}
}

// TestSeparatorsAreShared asks for one separator twice, at once and after so many
// others that it was let go.
func TestSeparatorsAreShared(t *testing.T) {
	p := StandIn(Cache{})
	ask := func(tac float64) *Separator {
		o := usual
		o.TAC = tac
		s, err := p.Separate(icc.SRGB(), o)
		if err != nil {
			t.Fatal(err)
		}
		return s
	}
	first := ask(2.4)
	var wg sync.WaitGroup
	for range 8 {
		wg.Go(func() {
			if s, err := p.Separate(icc.SRGB(), usual); s != first || err != nil {
				t.Errorf("asked again: another separator, %v", err)
			}
		})
	}
	wg.Wait()
	for i := range 3 * mostRecent {
		if s := ask(1 + float64(i)/100); s == first {
			t.Fatal("one separator under two limits")
		}
	}
	if n := len(p.given.last); n != mostRecent {
		t.Errorf("%d separators are held, want %d", n, mostRecent)
	}
	again := ask(2.4)
	var a, b [4]float64
	first.Eval(a[:], []float64{0.3, 0.5, 0.2})
	again.Eval(b[:], []float64{0.3, 0.5, 0.2})
	if again == first || a != b {
		t.Errorf("made again: %v, was %v", b, a)
	}
}

func randomPixels(n int) []uint8 {
	r := rand.New(rand.NewPCG(3, 4))
	px := make([]uint8, 3*n)
	for i := range px {
		px[i] = uint8(r.Uint32())
	}
	return px
}

func FuzzParseSet(f *testing.F) {
	f.Add([]byte("BEGIN_DATA_FORMAT\nCMYK_C CMYK_M CMYK_Y CMYK_K LAB_L LAB_A LAB_B\nEND_DATA_FORMAT\nBEGIN_DATA\n0 0 0 0 95 0 0\nEND_DATA\n"))
	f.Add(standInSet[:3000])
	f.Fuzz(func(t *testing.T, b []byte) {
		if s, err := ParseSet(b); err == nil && len(s.Patches) < 8 {
			t.Error("a set without its primaries passed")
		}
	})
}

func ExamplePress_Nearest() {
	press := StandIn(Cache{})
	m, err := press.Nearest([]Wish{{Target: colour.Lab{L: 60, A: 20, B: 10}}}, Options{TAC: 2.4, Black: BlackMedium})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("ΔE00 %.1f\n", m[0].DeltaE00)
	// Output: ΔE00 0.0
}

func BenchmarkStandInTable(b *testing.B) {
	for b.Loop() {
		s, err := StandIn(Cache{}).Separate(icc.SRGB(), usual)
		if err != nil {
			b.Fatal(err)
		}
		s.Table()
	}
}

func BenchmarkFit(b *testing.B) {
	for b.Loop() {
		if _, err := Fit(standIn().Set); err != nil {
			b.Fatal(err)
		}
	}
}

// TestOutline holds the silhouette to the data: no measured patch of the
// stand-in lies beyond it by more than the model's error, and the solid primaries
// lie on it. FOGRA39L is measured up to 400 %.
func TestOutline(t *testing.T) {
	p := standIn()
	edge, err := p.Outline(Options{TAC: 4, Black: BlackMedium})
	if err != nil {
		t.Fatal(err)
	}
	hue := func(c colour.Lab) float64 { return math.Mod(math.Atan2(c.B, c.A)+2*math.Pi, 2*math.Pi) }
	reach := func(c colour.Lab) float64 { // between the neighbours in hue
		best, at := math.Inf(1), colour.Lab{}
		for _, e := range edge {
			if d := math.Abs(math.Remainder(hue(e)-hue(c), 2*math.Pi)); d < best {
				best, at = d, e
			}
		}
		return at.Chroma()
	}
	for _, patch := range p.Set.Patches {
		c := patch.Lab
		if over := c.Chroma() - reach(c); over > 3 {
			t.Errorf("patch %v of %v lies %.1f beyond the outline", patch.CMYK, c, over)
		}
		if solids := patch.CMYK; solids == [4]float64{1} || solids == [4]float64{0, 1} || solids == [4]float64{0, 0, 1} {
			if d := reach(c) - c.Chroma(); d > 3 {
				t.Errorf("solid %v lies %.1f within the outline", patch.CMYK, d)
			}
		}
	}
}
