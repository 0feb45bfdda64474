package press

import (
	"fmt"
	"maps"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"laydown/colour"
	"laydown/colour/cores"
	"laydown/colour/icc"
	"laydown/colour/reference"

	"golang.org/x/image/colornames"
)

// hsv is a colour of the sRGB cube by hue in degrees, saturation and value (Smith
// 1978).
func hsv(h, s, v float64) []float64 {
	f := func(n float64) float64 {
		k := math.Mod(n+h/60, 6)
		return v - v*s*math.Max(0, math.Min(math.Min(k, 4-k), 1))
	}
	return []float64{f(5), f(3), f(1)}
}

// vividRamps are ways through sRGB, 0–1: of some hues to white, to black and from grey
// across the gamut's edge, and around the cube's rim.
func vividRamps(hues []float64) map[string]func(t float64) []float64 {
	ramps := map[string]func(t float64) []float64{
		"neutral":       func(t float64) []float64 { return []float64{t, t, t} },
		"skin":          func(t float64) []float64 { return []float64{0.2 + 0.75*t, 0.1 + 0.7*t, 0.05 + 0.65*t} },
		"rim":           func(t float64) []float64 { return hsv(60*t, 1, 1) },
		"blue rim":      func(t float64) []float64 { return hsv(210+60*t, 1, 1) },
		"pale rim":      func(t float64) []float64 { return hsv(100+60*t, 0.5, 1) },
		"dark rim":      func(t float64) []float64 { return hsv(60*t, 1, 0.5) },
		"dark blue rim": func(t float64) []float64 { return hsv(200+60*t, 1, 0.5) },
		"green rim":     func(t float64) []float64 { return hsv(90+60*t, 1, 1) },
	}
	for _, h := range hues {
		ramps[fmt.Sprintf("hue %.0f to white", h)] = func(t float64) []float64 { return hsv(h, t, 1) }
		ramps[fmt.Sprintf("hue %.0f to black", h)] = func(t float64) []float64 { return hsv(h, 1, t) }
		ramps[fmt.Sprintf("hue %.0f from grey", h)] = func(t float64) []float64 { return hsv(h, t, 0.8) }
	}
	return ramps
}

// everyTenth are hues of sRGB in degrees, outside CI a few: the primaries and
// secondaries, and some between.
func everyTenth(t *testing.T) (hues []float64) {
	for h := 0.0; h < 360; h += 10 {
		hues = append(hues, h)
	}
	return reference.Sweep(t, hues, func(h float64) bool { return math.Mod(h, 60) == 0 || h == 140 || h == 220 })
}

// smoothRamps separates ramps in 256 steps and reports where a plate jumps by more
// than a bound between two.
func smoothRamps(t testing.TB, p *Press, o Options, ramps map[string]func(t float64) []float64, bound float64) {
	t.Helper()
	s, err := p.Separate(icc.SRGB(), o)
	if err != nil {
		t.Fatal(err)
	}
	names := slices.Sorted(maps.Keys(ramps))
	type jump struct {
		by float64
		at int
	}
	jumps := make([]jump, len(names))
	cores.Each(len(names), func(n int) {
		var last [4]float64
		for i := range 256 {
			var now [4]float64
			s.Eval(now[:], ramps[names[n]](float64(i)/255))
			for k := range now {
				if d := math.Abs(now[k] - last[k]); i > 0 && d > jumps[n].by {
					jumps[n] = jump{d, i}
				}
			}
			last = now
		}
	})
	worst := 0
	for n, j := range jumps {
		if j.by > jumps[worst].by {
			worst = n
		}
		if j.by > bound {
			t.Errorf("%s, %s: a plate jumps by %.3f at step %d", p.Name, names[n], j.by, j.at)
		}
	}
	t.Logf("%s, %s, black %s, limit %g: %.3f at most, %s at step %d", p.Name, o.Intent, o.Black, o.TAC, jumps[worst].by, names[worst], jumps[worst].at)
}

// publishedPress opens a data set; for the source see TestHeldOut.
func publishedPress(t testing.TB, name string) *Press {
	t.Helper()
	p, err := Open(reference.File(t, "/usr/share/color/icc/"+name+".ti3"), Cache{})
	if err != nil {
		t.Fatal(err)
	}
	return p
}

// with changes the usual options of our own separation.
func with(change func(o *Options)) Options {
	o := usual
	o.Own = true
	change(&o)
	return o
}

func same(*Options)         {}
func perceptual(o *Options) { o.Intent = icc.Perceptual }
func pure(o *Options)       { o.PureBlack = true }

// TestVividRampsAreSmooth walks the stand-in with several intents, blacks and limits,
// the data set that is hardest, and a profile under a limit of its user's: no plate jumps
// by more than 5 %. BenchmarkVividRamps walks all the others.
func TestVividRampsAreSmooth(t *testing.T) {
	reference.Long(t)
	ramps := vividRamps(everyTenth(t))
	changes := []func(o *Options){same, perceptual, pure, func(o *Options) { o.Black = BlackNone }}
	if reference.All() {
		changes = append(changes, func(o *Options) { o.Intent = icc.Saturation }, func(o *Options) { o.Black = BlackLight },
			func(o *Options) { o.Black = BlackFull }, func(o *Options) { o.TAC = 3 })
	}
	for _, change := range changes {
		smoothRamps(t, standIn(), with(change), ramps, 0.05)
	}
	// Uncoated paper, on which many mixes are about as dark as black.
	uncoated := publishedPress(t, "FOGRA30L")
	smoothRamps(t, uncoated, with(same), ramps, 0.05)
	smoothRamps(t, uncoated, with(perceptual), ramps, 0.05)
	if !reference.All() {
		return
	}
	profile, err := Open(reference.File(t, reference.Profile(t, "cmyk")), Cache{})
	if err != nil {
		t.Fatal(err)
	}
	smoothRamps(t, profile, with(same), ramps, 0.05)
	smoothRamps(t, profile, with(pure), ramps, 0.05)
	its := with(pure)
	its.Own = false
	smoothRamps(t, profile, its, ramps, 0.05)
	smoothRamps(t, uncoated, with(pure), ramps, 0.05)
	for _, p := range []*Press{profile, standIn(), uncoated} {
		smoothRamps(t, p, with(func(o *Options) { o.TAC = 2 }), ramps, 0.05)
	}
	smoothRamps(t, standIn(), with(func(o *Options) { o.TAC = 1.6 }), ramps, 0.05)
	// Without compensation all that is too dark lies on the lower end of the surface, and
	// it is small.
	smoothRamps(t, standIn(), with(func(o *Options) { o.BPC = false }), ramps, 0.065)
}

// BenchmarkVividRamps walks all published data sets as TestVividRampsAreSmooth does a
// few, which takes a minute of one core and fails like it.
func BenchmarkVividRamps(b *testing.B) {
	var hues []float64
	for h := 0.0; h < 360; h += 10 {
		hues = append(hues, h)
	}
	ramps := vividRamps(hues)
	for b.Loop() {
		for _, name := range []string{"FOGRA28L", "FOGRA29L", "FOGRA30L", "FOGRA39L", "FOGRA40L", "TR002", "TR003", "TR005", "TR006"} {
			p := publishedPress(b, name)
			for _, change := range []func(o *Options){same, perceptual, func(o *Options) { o.Black = BlackLight }, func(o *Options) { o.Black = BlackFull }} {
				smoothRamps(b, p, with(change), ramps, 0.05)
			}
			// FOGRA28L and FOGRA29L jump by up to 5.5 % on the way to black.
			smoothRamps(b, p, with(pure), ramps, 0.06)
		}
	}
}

// TestPerceptualKeepsGradation holds perceptual rendering to what it is for: on the way
// from white to every hue prints get darker when their wishes do, and no stretch of more
// than 72 of 256 levels moves by less than a third of what its wishes move, in Oklab.
func TestPerceptualKeepsGradation(t *testing.T) {
	m, err := standIn().Model()
	if err != nil {
		t.Fatal(err)
	}
	o := usual
	o.Intent = icc.Perceptual
	s, err := standIn().Separate(icc.SRGB(), o)
	if err != nil {
		t.Fatal(err)
	}
	in, err := icc.SRGB().ToPCS(icc.Perceptual)
	if err != nil {
		t.Fatal(err)
	}
	v := newInverter(m, o.TAC, o.Black)
	longest, rises := 0, 0.0
	for name, ramp := range vividRamps(everyTenth(t)) {
		if strings.HasSuffix(name, "rim") { // which goes around a hue, not to and fro
			continue
		}
		var want, got [256]colour.Oklab
		lightest := math.Inf(1)
		for i := range 256 {
			rgb := ramp(float64(i) / 255)
			var x [4]float64
			s.Eval(x[:], rgb)
			want[i], got[i] = in.XYZ(rgb).Oklab(), v.relative(m.Lab(x)).Oklab()
			if strings.HasSuffix(name, "to white") {
				rises = math.Max(rises, got[i].L-lightest)
				lightest = math.Min(lightest, got[i].L)
			}
		}
		for i := range 256 {
			for j := i + longest + 1; j < 256; j++ {
				if got[i].Distance(got[j]) < want[i].Distance(want[j])/3 {
					longest = j - i
					if longest > 72 {
						t.Errorf("%s: levels %d to %d come within %.3f of each other, their wishes within %.3f", name, i, j, got[i].Distance(got[j]), want[i].Distance(want[j]))
					}
				}
			}
		}
	}
	t.Logf("%d levels at most, lightness rises by %.4f", longest, rises)
	if rises > 0.005 {
		t.Errorf("prints get lighter by %.4f on the way from white", rises)
	}
}

// named are the 147 colour names of SVG 1.1 (CSS Color 3), which hold the primaries and
// secondaries of sRGB.
func named() map[string][]float64 {
	out := map[string][]float64{}
	for name, c := range colornames.Map {
		out[name] = []float64{float64(c.R) / 255, float64(c.G) / 255, float64(c.B) / 255}
	}
	return out
}

// TestHueIsHeld separates and matches every named colour: out of reach or not, what
// prints has the colour's hue in IPT within 4°, and no vivid colour turns grey.
func TestHueIsHeld(t *testing.T) {
	p := standIn()
	m, err := p.Model()
	if err != nil {
		t.Fatal(err)
	}
	plain := usual
	plain.BPC = false // which moves dark colours by itself
	s, err := p.Separate(icc.SRGB(), plain)
	if err != nil {
		t.Fatal(err)
	}
	in, err := icc.SRGB().ToPCS(icc.Relative)
	if err != nil {
		t.Fatal(err)
	}
	v := inverterOf(m, usual)
	colours := named()
	names := slices.Sorted(maps.Keys(colours))
	var wishes []Wish
	for _, name := range names {
		wishes = append(wishes, Wish{Target: v.absolute(in.XYZ(colours[name]))})
	}
	matches, err := p.Nearest(wishes, usual)
	if err != nil {
		t.Fatal(err)
	}
	g := p.gamut(m, usual)()
	reachOf := func(c colour.XYZ) float64 { // within 5 L*, at its hue
		a, b, f := plane(c.IPT().Hue())
		l := c.Lab(colour.D50).L
		return (1-f)*g.mostNear(a, l) + f*g.mostNear(b, l)
	}
	worst, at, least := 0.0, "", 1.0
	for i, name := range names {
		want := in.XYZ(colours[name])
		if want.IPT().Chroma() < 0.03 { // a grey has no hue to lose
			continue
		}
		var x [4]float64
		s.Eval(x[:], colours[name])
		for way, got := range map[string]colour.XYZ{"separated": v.relative(m.Lab(x)), "matched": v.relative(matches[i].Printed)} {
			turn := math.Abs(math.Remainder(got.IPT().Hue()-want.IPT().Hue(), 2*math.Pi)) * 180 / math.Pi
			if turn > worst {
				worst, at = turn, name
			}
			if turn > 4 {
				t.Errorf("%s, %s: hue turns by %.1f°", name, way, turn)
			}
			// Of the chroma of what is no grey and not both dull and dark, what its hue reaches
			// within 5 L* of the print; the darkest blues, whose reach is steep, a little less.
			if want.IPT().Chroma() < 0.05 || want.IPT().Chroma() < vividChroma && want.Oklab().L < paleLight {
				continue
			}
			share := 0.8
			if want.Oklab().L < dimLight {
				share = 0.78
			}
			reach := math.Min(want.IPT().Chroma(), reachOf(got))
			if c := got.IPT().Chroma(); c < share*reach {
				t.Errorf("%s, %s: chroma %.2f, and %.2f is within reach", name, way, c, reach)
			} else {
				least = math.Min(least, c/reach)
			}
		}
	}
	t.Logf("hue turns by %.2f° at most, at %s; vivid and light colours keep at least %.2f of the chroma within reach", worst, at, least)
	// Tones that a printer expects, common practice, no source: blue is not violet,
	// magenta has no yellow, violet no black.
	for name, c := range map[string]struct{ rgb, most, least []float64 }{
		"blue":    {[]float64{0, 0, 1}, []float64{1, 0.8, 0.02, 0.02}, []float64{0.9, 0.6, 0, 0}},
		"magenta": {[]float64{1, 0, 1}, []float64{0.4, 0.75, 0.02, 0.02}, []float64{0.2, 0.55, 0, 0}},
		"violet":  {[]float64{0.5, 0, 1}, []float64{0.8, 0.85, 0.02, 0.02}, []float64{0.5, 0.6, 0, 0}},
		"yellow":  {[]float64{1, 1, 0}, []float64{0.12, 0.02, 1, 0.02}, []float64{0, 0, 0.9, 0}},
	} {
		var x [4]float64
		s.Eval(x[:], c.rgb)
		for k := range x {
			if x[k] > c.most[k] || x[k] < c.least[k] {
				t.Errorf("%s separates into %.2f", name, x)
				break
			}
		}
	}
}

// TestAgainstArgyll compares the separation of vivid and named colours with that of a
// profile which ArgyllCMS makes of the same data set under the same limit (colprof
// -qm): by how far prints are from their wishes in Oklab, on the mean and at the worst,
// and by how much toner they take.
func TestAgainstArgyll(t *testing.T) {
	if !reference.All() {
		t.Skip("colprof takes half a minute; LAYDOWN_REFERENCE=require runs it")
	}
	colprof := reference.Tool(t, "colprof")
	dir := t.TempDir()
	if err := os.WriteFile(filepath.Join(dir, "set.ti3"), standInSet, 0o600); err != nil {
		t.Fatal(err)
	}
	if out, err := exec.Command(colprof, "-qm", "-l240", filepath.Join(dir, "set")).CombinedOutput(); err != nil {
		t.Fatalf("colprof: %v %s", err, out)
	}
	theirs, err := Open(reference.File(t, filepath.Join(dir, "set.icc")), Cache{})
	if err != nil {
		t.Fatal(err)
	}
	m, err := standIn().Model()
	if err != nil {
		t.Fatal(err)
	}
	in, err := icc.SRGB().ToPCS(icc.Relative)
	if err != nil {
		t.Fatal(err)
	}
	v := inverterOf(m, usual)
	scale, shift := icc.BlackCompensation(colour.XYZ{}, colour.Lab{L: v.relative(v.dark).Lab(colour.D50).L}.XYZ(colour.D50))
	colours := named()
	for h := 0.0; h < 360; h += 10 {
		for _, value := range []float64{1, 0.75, 0.5} {
			colours[fmt.Sprintf("hue %.0f, value %.2f", h, value)] = hsv(h, 1, value)
		}
	}
	// As separations are made unless told otherwise, with black point compensation; and
	// without, where chroma within reach costs the dark colours more.
	for _, c := range []struct {
		bpc              bool
		mean, worst, ink float64
	}{{true, 0.97, 1.04, 1.03}, {false, 0.98, 1.04, 1.035}} {
		o := usual
		o.BPC = c.bpc
		var mean, worst, toner [2]float64
		for i, p := range []*Press{standIn(), theirs} {
			s, err := p.Separate(icc.SRGB(), o)
			if err != nil {
				t.Fatal(err)
			}
			for name, rgb := range colours {
				want := in.XYZ(rgb)
				if c.bpc {
					want = colour.XYZ{X: want.X*scale[0] + shift[0], Y: want.Y*scale[1] + shift[1], Z: want.Z*scale[2] + shift[2]}
				}
				var x [4]float64
				s.Eval(x[:], rgb)
				d := v.relative(m.Lab(x)).Oklab().Distance(want.Oklab())
				mean[i] += d / float64(len(colours))
				toner[i] += (x[0] + x[1] + x[2] + x[3]) / float64(len(colours))
				if name != "black" {
					worst[i] = math.Max(worst[i], d)
				}
			}
		}
		t.Logf("compensation %v: distance %.4f against %.4f on the mean (%.3f), %.4f against %.4f at the worst (%.3f), toner %.3f against %.3f (%.3f)", c.bpc,
			mean[0], mean[1], mean[0]/mean[1], worst[0], worst[1], worst[0]/worst[1], toner[0], toner[1], toner[0]/toner[1])
		if mean[0] > c.mean*mean[1] || worst[0] > c.worst*worst[1] || toner[0] > c.ink*toner[1] {
			t.Error("farther from the wishes, or with more toner, than a published tool's profile allows")
		}
	}
}
