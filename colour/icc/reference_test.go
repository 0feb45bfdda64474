package icc

import (
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"testing"

	"laydown/colour"
	"laydown/colour/reference"
)

// Source for every check in this file: LittleCMS 2 (transicc, Debian package
// liblcms2-utils) on profiles of Debian's libgs-common, colord-data and
// icc-profiles-free.

const samples = 10000

// scales are what transicc counts one channel of a space in.
var scales = map[Space]float64{Gray: 255, RGB: 255, CMYK: 100}

func load(t testing.TB, path string) *Profile {
	t.Helper()
	b, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	p, err := Parse(b)
	if err != nil {
		t.Fatalf("%s: %v", path, err)
	}
	return p
}

// draw returns random device colours for transicc and for us. Lab colours keep
// to what a 16-bit Lab can hold.
func draw(s Space, n int) (theirs, ours [][]float64) {
	r := rand.New(rand.NewPCG(1, 2))
	for range n {
		a, b := make([]float64, s.Channels()), make([]float64, s.Channels())
		for i := range a {
			v := math.Round(r.Float64()*1e4) / 1e4 // transicc is given six decimals
			b[i], a[i] = v, v*scales[s]
		}
		if s == Lab {
			a[0], a[1], a[2] = b[0]*100, b[1]*255-128, b[2]*255-128
		}
		theirs, ours = append(theirs, a), append(ours, b)
	}
	return theirs, ours
}

type pair struct{ src, dst string }

// TestTransformAgainstLittleCMS holds exact evaluation to ≤ 1/255 a channel at
// 99.9 % of random colours and never more than 2/255.
func TestTransformAgainstLittleCMS(t *testing.T) {
	reference.Tool(t, "transicc")
	n := reference.Samples(t, samples)
	v4 := filepath.Join(t.TempDir(), "v4.icc")
	if err := os.WriteFile(v4, v4Press(), 0o600); err != nil {
		t.Fatal(err)
	}
	path := func(name string) string {
		if name == "v4-press" {
			return v4
		}
		return reference.Profile(t, name)
	}
	for _, c := range []pair{
		{"srgb", "cmyk"}, {"srgb-v4", "cmyk"}, {"adobe-rgb", "cmyk"}, {"prophoto", "cmyk"}, {"rec709", "cmyk"},
		{"grey", "cmyk"}, {"grey-v4", "cmyk"}, {"lab-display", "cmyk"},
		{"cmyk", "srgb"}, {"cmyk", "adobe-rgb"}, {"cmyk", "cmyk"}, {"cmyk", "cmyk-xyz"}, {"cmyk-xyz", "cmyk"},
		{"srgb", "v4-press"}, {"v4-press", "srgb-v4"}, {"v4-press", "cmyk"}, {"cmyk", "v4-press"},
		{"srgb", "prophoto"}, {"cmyk", "grey"},
	} {
		src, dst := load(t, path(c.src)), load(t, path(c.dst))
		theirs, ours := draw(src.Space, n)
		for intent := Perceptual; intent <= Absolute; intent++ {
			for _, bpc := range []bool{false, true} {
				if bpc && intent == Absolute {
					continue
				}
				// LittleCMS has compensation always on into version 4 profiles
				// under these intents (ICC.1:2010, 6.3.3).
				if !bpc && dst.Major >= 4 && (intent == Perceptual || intent == Saturation) {
					continue
				}
				t.Run(fmt.Sprintf("%s-%s/%s/bpc=%v", c.src, c.dst, intent, bpc), func(t *testing.T) {
					args := []string{fmt.Sprintf("-t%d", intent), "-i", path(c.src), "-o", path(c.dst)}
					if bpc {
						args = append(args, "-b")
					}
					tr, err := NewTransform(src, dst, intent, bpc)
					if err != nil {
						t.Fatal(err)
					}
					compare(t, tr.Eval, dst.Space, reference.Transicc(t, theirs, args...), ours)
				})
			}
		}
	}
}

func compare(t *testing.T, eval func(dst, src []float64), space Space, want, in [][]float64) {
	t.Helper()
	var got [4]float64
	over1, total, worst := 0, 0, 0.0
	for i, w := range want {
		eval(got[:], in[i])
		for k := range w {
			ref := math.Max(0, math.Min(1, w[k]/scales[space])) // transicc does not clip
			d := math.Abs(got[k]-ref) * 255
			total++
			if d > 1 {
				over1++
			}
			if d > worst {
				worst = d
			}
		}
	}
	t.Logf("worst %.3f/255, beyond 1/255: %.4f %%", worst, 100*float64(over1)/float64(total))
	if float64(over1) > 0.001*float64(total) || worst > 2 {
		t.Errorf("worst %.3f/255, %d of %d values beyond 1/255", worst, over1, total)
	}
}

// TestToLabAgainstLittleCMS holds CMYK → Lab to ΔE00 0.1.
func TestToLabAgainstLittleCMS(t *testing.T) {
	reference.Tool(t, "transicc")
	n := reference.Samples(t, samples)
	v4 := filepath.Join(t.TempDir(), "v4.icc")
	if err := os.WriteFile(v4, v4Press(), 0o600); err != nil {
		t.Fatal(err)
	}
	for _, path := range []string{reference.Profile(t, "cmyk"), reference.Profile(t, "cmyk-xyz"), v4,
		reference.Profile(t, "srgb-v4"), reference.Profile(t, "grey")} {
		p := load(t, path)
		theirs, ours := draw(p.Space, n)
		for intent := Perceptual; intent <= Absolute; intent++ {
			want := reference.Transicc(t, theirs, fmt.Sprintf("-t%d", intent), "-i", path, "-o", "*Lab2") // into *Lab4 it would compensate black unasked
			l, err := p.ToPCS(intent)
			if err != nil {
				t.Fatal(err)
			}
			worst := 0.0
			for i, w := range want {
				c := l.XYZ(ours[i])
				if intent == Absolute {
					c = c.Scale(p.MediaWhite, colour.D50)
				}
				ref := colour.Lab{L: w[0], A: w[1], B: w[2]}
				d := colour.DeltaE00(c.Lab(colour.D50), ref)
				// LittleCMS rounds after every stored curve to the 16 bits of
				// the encoding, which an XYZ table near black turns into ΔE
				// 0.24: one such step is no difference.
				if x := ref.XYZ(colour.D50); !p.pcsLab && math.Max(math.Abs(x.X-c.X), math.Max(math.Abs(x.Y-c.Y), math.Abs(x.Z-c.Z))) < 1.0/32768 {
					continue
				}
				worst = math.Max(worst, d)
			}
			t.Logf("%s %s: worst ΔE00 %.4f", filepath.Base(path), intent, worst)
			if worst > 0.1 {
				t.Errorf("%s %s: worst ΔE00 %.4f, want ≤ 0.1", filepath.Base(path), intent, worst)
			}
		}
	}
}
