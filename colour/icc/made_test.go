package icc

import (
	"encoding/hex"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"laydown/colour"
	"laydown/colour/reference"
)

var d65 = [2]float64{0.3127, 0.3290}

// TestMatrix compares spaces made from the numbers of their standards with published
// profiles of them, which LittleCMS evaluates (transicc, Debian package
// liblcms2-utils; profiles of Debian's argyll-ref and colord-data).
func TestMatrix(t *testing.T) {
	n := reference.Samples(t, samples)
	for _, c := range []struct {
		profile   string
		primaries [3][2]float64
		white     [2]float64
		tone      Tone
		limit     float64 // ΔE00
	}{
		// SMPTE EG 432-1 and IEC 61966-2-1, SMPTE RP 431-2, Adobe RGB (1998) 4.3.
		{"display-p3", [3][2]float64{{0.680, 0.320}, {0.265, 0.690}, {0.150, 0.060}}, d65, SRGBTone(), 0.1},
		{"dci-p3", [3][2]float64{{0.680, 0.320}, {0.265, 0.690}, {0.150, 0.060}}, [2]float64{0.314, 0.351}, Gamma(2.6), 0.1},
		{"adobe-rgb", [3][2]float64{{0.64, 0.33}, {0.21, 0.71}, {0.15, 0.06}}, d65, Gamma(563. / 256), 0.1},
		{"srgb-v4", [3][2]float64{{0.64, 0.33}, {0.30, 0.60}, {0.15, 0.06}}, d65, SRGBTone(), 0.1},
		{"rec2020", [3][2]float64{{0.708, 0.292}, {0.170, 0.797}, {0.131, 0.046}}, d65, Toe(1/0.45, 1/1.099, 0.099/1.099, 1/4.5, 0.081), 0.1},
	} {
		path := reference.Profile(t, c.profile)
		p, err := Matrix("made", c.primaries, c.white, c.tone)
		if err != nil {
			t.Fatal(err)
		}
		l, err := p.ToPCS(Relative)
		if err != nil {
			t.Fatal(err)
		}
		theirs, ours := draw(RGB, n)
		worst := 0.0
		for i, w := range reference.Transicc(t, theirs, "-t1", "-i", path, "-o", "*Lab2") {
			worst = math.Max(worst, colour.DeltaE00(l.XYZ(ours[i]).Lab(colour.D50), colour.Lab{L: w[0], A: w[1], B: w[2]}))
		}
		t.Logf("%s: worst ΔE00 %.4f", c.profile, worst)
		if worst > c.limit {
			t.Errorf("%s: worst ΔE00 %.4f, want ≤ %g", c.profile, worst, c.limit)
		}
	}
}

func TestMatrixRefuses(t *testing.T) {
	for name, xy := range map[string][4][2]float64{
		"in a row":      {{0.1, 0.1}, {0.2, 0.2}, {0.3, 0.3}, {0.31, 0.33}},
		"nothing":       {},
		"white outside": {{0.64, 0.33}, {0.30, 0.60}, {0.15, 0.06}, {0.05, 0.01}},
		"no number":     {{math.NaN(), 0.33}, {0.30, 0.60}, {0.15, math.NaN()}, {0.31, 0.33}},
	} {
		if p, err := Matrix(name, [3][2]float64(xy[:3]), xy[3], Gamma(1)); err == nil {
			t.Errorf("%s passed: %+v", name, p)
		}
	}
}

// TestVersion3 gives published version 2 profiles a header that says 3.4: they mean
// the same as before, which LittleCMS (transicc) finds too.
func TestVersion3(t *testing.T) {
	reference.Tool(t, "transicc")
	for _, name := range []string{"cmyk", "srgb", "grey"} {
		data := reference.File(t, reference.Profile(t, name))
		was, err := Parse(data)
		if err != nil || was.Major != 2 {
			t.Fatalf("%s: version %d, %v", name, was.Major, err)
		}
		data[8], data[9] = 3, 0x40
		old, err := Parse(data)
		if err != nil || old.Major != 3 || old.Minor != 4 {
			t.Errorf("%s as 3.4: %v", name, err)
			continue
		}
		path := filepath.Join(t.TempDir(), "old.icc")
		if err := os.WriteFile(path, data, 0o600); err != nil {
			t.Fatal(err)
		}
		for intent := Perceptual; intent <= Absolute; intent++ {
			a, err := was.ToPCS(intent)
			if err != nil {
				t.Fatal(err)
			}
			b, err := old.ToPCS(intent)
			if err != nil {
				t.Fatal(err)
			}
			theirs, ours := draw(was.Space, 200)
			for i, w := range reference.Transicc(t, theirs, fmt.Sprintf("-t%d", intent), "-i", path, "-o", "*Lab2") {
				x := b.XYZ(ours[i])
				if a.XYZ(ours[i]) != x || was.MediaWhite != old.MediaWhite {
					t.Fatalf("%s %v: version 3 is read otherwise than 2", name, intent)
				}
				if intent == Absolute {
					x = x.Scale(old.MediaWhite, colour.D50)
				}
				if d := colour.DeltaE00(x.Lab(colour.D50), colour.Lab{L: w[0], A: w[1], B: w[2]}); d > 0.1 {
					t.Fatalf("%s %v: ΔE00 %.3f from LittleCMS", name, intent, d)
				}
			}
		}
	}
}

// TestID compares IDs with those that the makers of published profiles wrote into
// their headers (ICC.1:2010, 7.2.18).
func TestID(t *testing.T) {
	n := 0
	for _, name := range []string{"srgb-v4", "adobe-rgb", "prophoto", "rec709"} {
		data := reference.File(t, reference.Profile(t, name))
		stated := hex.EncodeToString(data[84:100])
		if strings.Trim(stated, "0") == "" {
			continue
		}
		n++
		p, err := Parse(append(data, "padding"...))
		if err != nil {
			t.Fatal(err)
		}
		if id := p.ID(); hex.EncodeToString(id[:]) != stated {
			t.Errorf("%s: ID %x, stated %s", name, id, stated)
		}
	}
	if n == 0 {
		t.Error("no profile states an ID")
	}
}

func TestSame(t *testing.T) {
	good := v4Press()
	first, err := Parse(good)
	if err != nil {
		t.Fatal(err)
	}
	for name, c := range map[string]struct {
		at    int
		bytes string
		want  bool
	}{
		"itself":           {0, "", true},
		"date":             {24, "\x07\xea\x00\x01\x00\x02", true},
		"flags":            {44, "\x00\x00\x00\x01", true},
		"intent":           {64, "\x00\x00\x00\x01", true},
		"ID":               {84, "0123456789abcdef", true},
		"program":          {4, "what", true},
		"number in a grid": {len(good) - 200, "\x7f\x7f", false},
		"class":            {12, "spac", false},
	} {
		b := append([]byte(nil), good...)
		copy(b[c.at:], c.bytes)
		other, err := Parse(b)
		if err != nil {
			t.Fatal(err)
		}
		if first.Same(other) != c.want || other.Same(first) != c.want {
			t.Errorf("%s: same is %v, want %v", name, first.Same(other), c.want)
		}
	}
	if SRGB().Same(GrayGamma()) || !SRGB().Same(SRGB()) || SRGB().Same(nil) {
		t.Error("profiles that are made are not told apart")
	}
}

func ExampleMatrix() {
	p, err := Matrix("linear", [3][2]float64{{0.64, 0.33}, {0.30, 0.60}, {0.15, 0.06}}, [2]float64{0.3127, 0.3290}, Gamma(1))
	if err != nil {
		fmt.Println(err)
		return
	}
	link, _ := p.ToPCS(Relative)
	fmt.Printf("%.3f\n", link.XYZ([]float64{0.5, 0.5, 0.5}).Y)
	// Output: 0.500
}
