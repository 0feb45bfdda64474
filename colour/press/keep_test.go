package press

import (
	"math"
	"testing"

	"laydown/colour"
	"laydown/colour/grid"
	"laydown/colour/icc"
	"laydown/colour/reference"
)

// otherCMYK is a published profile (Debian's libgs-common) of another press than the
// stand-in.
func otherCMYK(t *testing.T) *icc.Profile {
	t.Helper()
	p, err := icc.Parse(reference.File(t, reference.Profile(t, "cmyk")))
	if err != nil {
		t.Fatal(err)
	}
	return p
}

// TestKeepBlack holds pure black of another press to its toner: solid stays solid, and
// a tint prints the lightness it had, which the profile itself tells. Below 50 % the
// floor of what black alone prints counts for more.
func TestKeepBlack(t *testing.T) {
	reference.Long(t)
	src := otherCMYK(t)
	m, err := standIn().Model()
	if err != nil {
		t.Fatal(err)
	}
	paper := m.Lab([4]float64{}).XYZ(colour.D50)
	for _, intent := range []icc.Intent{icc.Relative, icc.Perceptual, icc.Absolute} {
		o := usual
		o.Intent, o.Keep = intent, KeepBlack
		s, err := standIn().Separate(src, o)
		if err != nil {
			t.Fatal(err)
		}
		in, err := src.ToPCS(intent)
		if err != nil {
			t.Fatal(err)
		}
		worst, last := 0.0, 0.0
		for i := 1; i <= 255; i++ {
			d, x := [4]float64{3: float64(i) / 255}, [4]float64{}
			s.Eval(x[:], d[:])
			if x[0] != 0 || x[1] != 0 || x[2] != 0 || x[3] < last {
				t.Fatalf("%v: black %d prints %v", intent, i, x)
			}
			last = x[3]
			printed, want := m.Lab(x).XYZ(colour.D50), in.XYZ(d[:])
			if intent == icc.Absolute {
				want = want.Scale(src.MediaWhite, colour.D50)
			} else {
				printed = printed.Scale(colour.D50, paper)
			}
			if x[3] > 0 && i < 128 {
				worst = math.Max(worst, math.Abs(printed.Lab(colour.D50).L-want.Lab(colour.D50).L))
			}
		}
		t.Logf("%v: tints to 50 %% are off by L* %.2f at most", intent, worst)
		if limit := map[bool]float64{true: 0.2, false: 1}[intent == icc.Absolute]; worst > limit {
			t.Errorf("%v: a tint is off by L* %.2f, want ≤ %g", intent, worst, limit)
		}
		if intent != icc.Absolute && last != 1 {
			t.Errorf("%v: solid black prints %g", intent, last)
		}
	}
	// The compiled table strays from that by no more than two steps.
	o := usual
	o.Keep = KeepBlack
	s, err := standIn().Separate(src, o)
	if err != nil {
		t.Fatal(err)
	}
	px := make([]uint8, 4*256)
	var planes grid.Planes
	for k := range planes {
		planes[k] = make([]uint8, 256)
	}
	for i := range 256 {
		px[4*i+3] = uint8(i)
	}
	s.Table().Row8(planes, px, 4)
	worst := 0.0
	for i := range 256 {
		var x [4]float64
		s.Eval(x[:], []float64{0, 0, 0, float64(i) / 255})
		if planes[0][i] != 0 || planes[1][i] != 0 || planes[2][i] != 0 {
			t.Fatalf("black %d prints %d %d %d %d", i, planes[0][i], planes[1][i], planes[2][i], planes[3][i])
		}
		worst = math.Max(worst, math.Abs(x[3]*255-float64(planes[3][i])))
	}
	t.Logf("the table is off by %.2f/255 at most", worst)
	if worst > 2.5 {
		t.Errorf("the table is off by %.2f/255", worst)
	}
}

// TestKeepAll holds solids and tints of one toner to it; mixes are separated as
// without.
func TestKeepAll(t *testing.T) {
	src := otherCMYK(t)
	o := usual
	plain, err := standIn().Separate(src, o)
	if err != nil {
		t.Fatal(err)
	}
	o.Keep = KeepAll
	s, err := standIn().Separate(src, o)
	if err != nil {
		t.Fatal(err)
	}
	m, err := standIn().Model()
	if err != nil {
		t.Fatal(err)
	}
	in, err := src.ToPCS(icc.Relative)
	if err != nil {
		t.Fatal(err)
	}
	paper := m.Lab([4]float64{}).XYZ(colour.D50)
	for k := range 4 {
		last, worst := 0.0, 0.0
		for i := range 101 {
			var d, x [4]float64
			d[k] = float64(i) / 100
			s.Eval(x[:], d[:])
			for j, v := range x {
				if j != k && v > 1e-6 {
					t.Fatalf("%v prints %v", d, x)
				}
			}
			if x[k] < last-1e-9 || (i == 0 && x[k] > 1e-3) || (i == 100 && x[k] < 1-1e-9) {
				t.Errorf("toner %d: %g follows %g at %d %%", k, x[k], last, i)
			}
			last = x[k]
			printed := m.Lab(x).XYZ(colour.D50).Scale(colour.D50, paper).Lab(colour.D50)
			worst = math.Max(worst, colour.DeltaE00(printed, in.XYZ(d[:]).Lab(colour.D50)))
		}
		t.Logf("toner %d: its tints are off by ΔE00 %.1f at most", k, worst)
	}
	for _, d := range [][4]float64{{0.5, 0.5}, {0, 0.2, 0.9}, {0.3, 0, 0, 0.4}, {0.6, 0.4, 0.4, 1}, {}} {
		var a, b [4]float64
		plain.Eval(a[:], d[:])
		s.Eval(b[:], d[:])
		if a != b {
			t.Errorf("%v prints %v, with pure colours kept %v", d, a, b)
		}
	}
}

// TestKeepNone separates black text of another press into four colours, and RGB heeds
// none of it.
func TestKeepNone(t *testing.T) {
	s, err := standIn().Separate(otherCMYK(t), usual)
	if err != nil {
		t.Fatal(err)
	}
	var x [4]float64
	s.Eval(x[:], []float64{0, 0, 0, 1})
	if x[0] < 0.1 || x[1] < 0.1 {
		t.Errorf("black prints %v", x)
	}
	o := usual
	o.Keep = KeepAll
	a, err := standIn().Separate(icc.SRGB(), usual)
	if err != nil {
		t.Fatal(err)
	}
	if b, err := standIn().Separate(icc.SRGB(), o); err != nil || a != b {
		t.Errorf("RGB has two separations, %v", err)
	}
}

// TestKeepBlackAgainstLittleCMS compares the tones of pure black with LittleCMS's
// intent that preserves black (transicc -t11, Debian package liblcms2-utils) between
// two published profiles. It matches lightness and scales nothing, so that its solid
// is no solid where the other press's black is darker, and the two agree in kind only.
func TestKeepBlackAgainstLittleCMS(t *testing.T) {
	src := otherCMYK(t)
	press, err := Open(reference.File(t, reference.Profile(t, "cmyk-xyz")), Cache{})
	if err != nil {
		t.Fatal(err)
	}
	s, err := press.Separate(src, Options{Intent: icc.Relative, BPC: true, Keep: KeepBlack})
	if err != nil {
		t.Fatal(err)
	}
	var rows [][]float64
	for i := range 21 {
		rows = append(rows, []float64{0, 0, 0, float64(5 * i)})
	}
	worst := 0.0
	for i, w := range reference.Transicc(t, rows, "-t11", "-i", reference.Profile(t, "cmyk"), "-o", reference.Profile(t, "cmyk-xyz")) {
		var x [4]float64
		s.Eval(x[:], []float64{0, 0, 0, rows[i][3] / 100})
		worst = math.Max(worst, math.Abs(x[3]*100-w[3]))
	}
	t.Logf("black is off by %.1f points at most", worst)
	if worst > 4 {
		t.Errorf("black is off by %.1f points from LittleCMS", worst)
	}
}

// TestKeepThroughNoise adds to black text what compression adds, and goes from black
// alone to a mix without a jump.
func TestKeepThroughNoise(t *testing.T) {
	o := usual
	o.Keep = KeepBlack
	s, err := standIn().Separate(otherCMYK(t), o)
	if err != nil {
		t.Fatal(err)
	}
	var x, last [4]float64
	s.Eval(x[:], []float64{0.015, 0.01, 0.02, 0.97})
	if x[0] != 0 || x[1] != 0 || x[2] != 0 || x[3] < 0.95 {
		t.Errorf("noisy black prints %v", x)
	}
	for _, k := range []float64{0.05, 0.3, 1} {
		for i := range 201 {
			s.Eval(x[:], []float64{float64(i) / 1000, 0, 0, k})
			for j := range x {
				if d := math.Abs(x[j] - last[j]); i > 0 && d > 0.05 {
					t.Errorf("black %g with cyan %d: plate %d jumps by %.3f", k, i, j, d)
				}
			}
			last = x
		}
	}
}

func TestParseKeep(t *testing.T) {
	for k := KeepNone; k <= KeepAll; k++ {
		if got, err := ParseKeep(k.String()); err != nil || got != k {
			t.Errorf("%v: %v %v", k, got, err)
		}
	}
	if _, err := ParseKeep("most"); err == nil {
		t.Error("an unknown word passed")
	}
}
