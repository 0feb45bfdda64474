package press

import (
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"laydown/colour"
	"laydown/colour/icc"
	"laydown/colour/reference"
)

func published(t *testing.T, name string) *Set {
	t.Helper()
	set, err := ParseSet(reference.File(t, "/usr/share/color/icc/"+name+".ti3"))
	if err != nil {
		t.Fatalf("%s: %v", name, err)
	}
	return set
}

// scattered draws a chart from a set, with all overprints of solids as every chart
// has them, and adds scatter to its measurements.
func scattered(set *Set, patches int, sigma float64, seed uint64) *Set {
	r := rand.New(rand.NewPCG(seed, 77))
	var out, rest []Patch
	for _, i := range r.Perm(len(set.Patches)) {
		p := set.Patches[i]
		if slices.ContainsFunc(p.CMYK[:], func(v float64) bool { return v != 0 && v != 1 }) {
			rest = append(rest, p)
		} else {
			out = append(out, p)
		}
	}
	out = append(out, rest[:min(patches-len(out), len(rest))]...)
	for i := range out {
		c := &out[i].Lab
		*c = colour.Lab{L: max(0, c.L+sigma*r.NormFloat64()), A: c.A + sigma*r.NormFloat64(), B: c.B + sigma*r.NormFloat64()}
	}
	return &Set{Patches: out}
}

// misses are the spline's errors at all patches of a set, in ΔE00: mean and worst.
func misses(set *Set, s *spline) (mean, worst float64) {
	for _, p := range set.Patches {
		d := colour.DeltaE00(p.Lab, s.lab(p.CMYK))
		mean += d / float64(len(set.Patches))
		worst = max(worst, d)
	}
	return mean, worst
}

// TestScatter fits charts of 300 patches of each published set, whose measurements
// stray by 0.7 in each of L, a and b, and holds the models to the set as it is. The
// sets are those of [TestHeldOut].
func TestScatter(t *testing.T) {
	type chart struct {
		name string
		seed uint64
	}
	var all []chart
	for _, name := range []string{"FOGRA28L", "FOGRA29L", "FOGRA30L", "FOGRA39L", "FOGRA40L", "TR002", "TR003", "TR005", "TR006"} {
		for seed := range uint64(3) {
			all = append(all, chart{name, seed})
		}
	}
	for _, c := range reference.Sweep(t, all, func(c chart) bool { return c.seed == 1 && (c.name == "FOGRA39L" || c.name == "TR002") }) {
		set := published(t, c.name)
		const sigma = 0.7
		noisy := scattered(set, 300, sigma, c.seed)
		kept, outliers := screen(noisy.Patches)
		if len(outliers) > 0 {
			t.Errorf("%v: %d outliers in plain scatter, worst %+v", c, len(outliers), outliers[0])
		}
		s, err := fitSpline(kept)
		if err != nil {
			t.Fatal(err)
		}
		mean, worst := misses(set, s)
		t.Logf("%v: mean ΔE00 %.3f, worst %.2f, smoothing %.2g, noise %.2f", c, mean, worst, s.m.Smoothing, s.m.Noise)
		// What no fit of so few patches can know stays: without scatter, too, the
		// worst is 2 to 6 where colours overprint solid black.
		if mean > 0.62 || worst > 6 {
			t.Errorf("%v: mean ΔE00 %.3f, worst %.2f; want at most 0.62 and 6", c, mean, worst)
		}
		if math.Abs(s.m.Noise-sigma) > 0.2*sigma {
			t.Errorf("%v: noise is said to be %.2f, is %g", c, s.m.Noise, sigma)
		}
	}
}

// TestScatteredGreys separates greys by the model of a noisy chart and prints them
// by the true one. Met exactly, the same charts' greys drift by 2 to 3.3 at most.
func TestScatteredGreys(t *testing.T) {
	reference.Long(t)
	truth, err := standIn().Model()
	if err != nil {
		t.Fatal(err)
	}
	greys := func(m *Model) (print []colour.Lab) {
		p := &Press{model: func() (*Model, error) { return m, nil }}
		s, err := p.Separate(icc.SRGB(), usual)
		if err != nil {
			t.Fatal(err)
		}
		for v := 0; v <= 255; v += 15 {
			var x [4]float64
			g := float64(v) / 255
			s.Eval(x[:], []float64{g, g, g})
			print = append(print, truth.Lab(x))
		}
		return print
	}
	want := greys(truth)
	for _, seed := range reference.Sweep(t, []uint64{0, 1, 2, 3}, func(s uint64) bool { return s == 1 }) {
		m, err := Fit(scattered(standIn().Set, 300, 0.7, seed))
		if err != nil {
			t.Fatal(err)
		}
		var d []float64
		for i, c := range greys(m) {
			d = append(d, colour.DeltaE00(want[i], c))
		}
		slices.Sort(d)
		t.Logf("chart %d: greys drift by ΔE00 %.2f at the median, %.2f at most", seed, d[len(d)/2], d[len(d)-1])
		if d[len(d)/2] > 1 || d[len(d)-1] > 2.2 {
			t.Errorf("chart %d: greys drift by ΔE00 %.2f at the median, %.2f at most; want 1 and 2.2", seed, d[len(d)/2], d[len(d)-1])
		}
	}
}

// TestNoScatter looks for outliers in the published sets and parts of them, where
// there are none, and for smoothing. TR002 is the mean of 102 sheets of newsprint
// and has a little scatter left.
func TestNoScatter(t *testing.T) {
	all := []string{"FOGRA28L", "FOGRA29L", "FOGRA30L", "FOGRA39L", "FOGRA40L", "TR002", "TR003", "TR005", "TR006"}
	for _, name := range reference.Sweep(t, all, func(name string) bool { return name == "TR006" }) {
		set := published(t, name)
		for _, part := range []*Set{set, scattered(set, 300, 0, 5)} {
			_, outliers := screen(part.Patches)
			for _, o := range outliers {
				t.Errorf("%s, %d patches: outlier %+v", name, len(part.Patches), o)
			}
			smoothing, noise, err := chooseSmoothing(part.Patches)
			if err != nil {
				t.Fatal(err)
			}
			if name != "TR002" && smoothing != 0 || noise > 0.2 {
				t.Errorf("%s, %d patches: smoothed by %g for noise of %.2f", name, len(part.Patches), smoothing, noise)
			}
		}
	}
}

// TestOutliers gives some patches of a chart the measurements of others.
func TestOutliers(t *testing.T) {
	for _, sigma := range []float64{0, 0.7} {
		chart := scattered(standIn().Set, 400, sigma, 3)
		clean := slices.Clone(chart.Patches)
		r := rand.New(rand.NewPCG(4, 7))
		wrong := map[[4]float64]bool{}
		for len(wrong) < 6 {
			i, j := 16+r.IntN(len(clean)-16), r.IntN(len(clean)) // no overprints of solids
			p := &chart.Patches[i]
			if d := colour.DeltaE00(p.Lab, clean[j].Lab); d > 12 && d < 30 && !wrong[p.CMYK] {
				p.Lab, p.Name = clean[j].Lab, fmt.Sprint("patch ", i)
				wrong[p.CMYK] = true
			}
		}
		m, err := Fit(chart)
		if err != nil {
			t.Fatal(err)
		}
		for _, o := range m.Outliers {
			if !wrong[o.CMYK] || !strings.HasPrefix(o.Name, "patch ") || o.DeltaE00 != colour.DeltaE00(o.Measured, o.Expected) {
				t.Errorf("scatter %g: %+v is told for an outlier", sigma, o)
			}
		}
		if len(m.Outliers) < len(wrong) {
			t.Errorf("scatter %g: %d of %d wrong patches are found", sigma, len(m.Outliers), len(wrong))
		}
		stored, err := m.MarshalBinary()
		if err != nil {
			t.Fatal(err)
		}
		again := &Model{}
		if err := again.UnmarshalBinary(stored); err != nil {
			t.Fatal(err)
		}
		if again.Noise != m.Noise || again.Smoothing != m.Smoothing || !slices.Equal(again.Outliers, m.Outliers) {
			t.Errorf("stored: %+v, %g, %g", again.Outliers, again.Noise, again.Smoothing)
		}
		if err := again.UnmarshalBinary(append(stored, 'x')); err == nil {
			t.Error("a damaged model is read")
		}
	}
}

// rows writes a data set in percent and Lab.
func rows(patches ...string) []byte {
	return []byte("BEGIN_DATA_FORMAT\nSAMPLE_ID SAMPLE_LOC CMYK_C CMYK_M CMYK_Y CMYK_K LAB_L LAB_A LAB_B\nEND_DATA_FORMAT\nBEGIN_DATA\n" +
		strings.Join(patches, "\n") + "\nEND_DATA\n")
}

var corner = []string{"1 A1 0 0 0 0 95 0 0", "2 A2 100 0 0 0 55 -37 -50", "3 A3 0 100 0 0 48 74 -3", "4 A4 0 0 100 0 89 -5 93",
	"5 A5 0 0 0 100 16 0 0", "6 A6 0 100 100 0 47 68 48", "7 A7 100 0 100 0 50 -68 25", "8 A8 100 100 0 0 24 17 -46"}

// TestRepeats averages patches measured more than once, also where a file rounds
// their tone values, and tells the one of three that lies apart.
func TestRepeats(t *testing.T) {
	s, err := ParseSet(rows(append(corner, "9 B1 33.33 50 0 0 60 10 0", "10 B2 33.3333 50 0 0 62 10 0", "11 B3 33.33 50 0.1 0 60 12 3",
		"12 B4 0 0 0 0 95 0 0.5", "13 B5 0 0 0 0 70 0 0")...))
	if err != nil {
		t.Fatal(err)
	}
	if len(s.Patches) != 10 || s.Repeated != 2 {
		t.Fatalf("%d patches, %d repeated", len(s.Patches), s.Repeated)
	}
	if p := s.Patches[8]; p.Lab != (colour.Lab{L: 61, A: 10}) || p.Name != "B1" || p.times() != 2 {
		t.Errorf("the mean is %+v", p)
	}
	// Sums of squares 2 and 0.125, two degrees of freedom in three channels.
	if want := math.Sqrt(2.125 / 6); math.Abs(s.Scatter-want) > 1e-12 {
		t.Errorf("scatter %g, want %g", s.Scatter, want)
	}
	if len(s.Strays) != 1 || s.Strays[0].Name != "B5" || s.Patches[0].Lab != (colour.Lab{L: 95, B: 0.25}) {
		t.Errorf("strays %+v, paper %+v", s.Strays, s.Patches[0])
	}
}

// TestTables reads the measurements of files that hold other tables besides.
func TestTables(t *testing.T) {
	cal := "CAL\n\nDESCRIPTOR \"curves\"\nDEVICE_CLASS \"OUTPUT\"\nBEGIN_DATA_FORMAT\nCMYK_I CMYK_C CMYK_M CMYK_Y CMYK_K\nEND_DATA_FORMAT\nNUMBER_OF_SETS 2\nBEGIN_DATA\n0 0 0 0 0\n1 1 1 1 0.9\nEND_DATA\n"
	density := "BEGIN_DATA_FORMAT\nINDEX CMYK_C CMYK_M CMYK_Y CMYK_K XYZ_X XYZ_Y XYZ_Z\nEND_DATA_FORMAT\nBEGIN_DATA\n0 50 50 50 50 10 10 10\nEND_DATA\n"
	chart := string(rows(corner...))
	sheet := string(rows("1 A1 50 0 0 0 75 -20 -25"))
	for name, c := range map[string]struct {
		data    string
		patches int
	}{
		"curves after": {chart + cal, 8}, "curves before": {cal + chart, 8}, "another table of colours": {chart + density, 8},
		"two sheets": {chart + cal + sheet, 9}, "one format for both": {chart + "BEGIN_DATA\n1 A1 50 0 0 0 75 -20 -25\nEND_DATA\n", 9},
	} {
		s, err := ParseSet([]byte(c.data))
		if err != nil || len(s.Patches) != c.patches {
			t.Errorf("%s: %v, %+v", name, err, s)
		}
	}
	if _, err := ParseSet([]byte(cal)); err == nil || !strings.Contains(err.Error(), "spectral") {
		t.Errorf("curves alone: %v", err)
	}
}

// TestCalibratedChart reads charts that Argyll's targen makes, printcal calibrates
// and fakeread measures (Debian's argyll 2.3.1) through a published profile: with
// curves enclosed, the same set as without; with curves applied, the same tone
// values and other colours.
func TestCalibratedChart(t *testing.T) {
	dir := t.TempDir()
	run := func(tool string, args ...string) {
		t.Helper()
		cmd := exec.Command(reference.Tool(t, tool), args...)
		cmd.Dir = dir
		if msg, err := cmd.CombinedOutput(); err != nil {
			t.Fatalf("%s %v: %v\n%s", tool, args, err, msg)
		}
	}
	profile := reference.Profile(t, "cmyk")
	run("targen", "-d4", "-s12", "-m2", "-f0", "chart")
	target, err := os.ReadFile(filepath.Join(dir, "chart.ti1"))
	if err != nil {
		t.Fatal(err)
	}
	read := func(name string, args ...string) *Set {
		t.Helper()
		if err := os.WriteFile(filepath.Join(dir, name+".ti1"), target, 0o600); err != nil {
			t.Fatal(err)
		}
		run("fakeread", append(args, "-l", profile, name)...)
		b, err := os.ReadFile(filepath.Join(dir, name+".ti3"))
		if err != nil {
			t.Fatal(err)
		}
		if len(args) > 0 && !strings.Contains(string(b), "\nCAL") {
			t.Errorf("%s: no CAL table", name)
		}
		s, err := ParseSet(b)
		if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		return s
	}
	plain := read("plain")
	run("printcal", "-i", "plain")
	enclosed, applied := read("enclosed", "-i", "plain.cal"), read("applied", "-k", "plain.cal")
	if len(plain.Patches) < 50 || !slices.EqualFunc(plain.Patches, enclosed.Patches, func(a, b Patch) bool { return a.CMYK == b.CMYK && a.Lab == b.Lab }) {
		t.Errorf("%d patches, with curves enclosed %d, or other ones", len(plain.Patches), len(enclosed.Patches))
	}
	apart := 0.0
	for i, p := range applied.Patches {
		if p.CMYK != plain.Patches[i].CMYK {
			t.Fatalf("patch %d: %v, applied %v", i, plain.Patches[i].CMYK, p.CMYK)
		}
		apart = max(apart, colour.DeltaE00(p.Lab, plain.Patches[i].Lab))
	}
	if apart < 3 {
		t.Errorf("the curves change colours by at most ΔE00 %.2f", apart)
	}
}
