package colour

import (
	"encoding/csv"
	"fmt"
	"math"
	"os"
	"strconv"
	"testing"

	colorful "github.com/lucasb-eyer/go-colorful"
)

// Source: Sharma, Wu and Dalal 2005, table 1; see testdata/sharma2005.csv.
func TestDeltaE00Sharma(t *testing.T) {
	f, err := os.Open("../testdata/sharma2005.csv")
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	r := csv.NewReader(f)
	r.Comment = '#'
	rows, err := r.ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	if len(rows) != 34 {
		t.Fatalf("%d pairs, want 34", len(rows))
	}
	for i, row := range rows {
		var v [7]float64
		for j, s := range row {
			if v[j], err = strconv.ParseFloat(s, 64); err != nil {
				t.Fatal(err)
			}
		}
		p, q := Lab{v[0], v[1], v[2]}, Lab{v[3], v[4], v[5]}
		for _, d := range []float64{DeltaE00(p, q), DeltaE00(q, p)} {
			if got := fmt.Sprintf("%.4f", d); got != row[6] {
				t.Errorf("pair %d: ΔE00 = %s, want %s", i+1, got, row[6])
			}
		}
	}
}

// Source: IEC 61966-2-1 sRGB under D50 as go-colorful 1.3.0 computes it from
// its own D65 matrix; the D65 Lab of the same colours bounds the difference
// for neutral colours, where adaptation changes nothing.
func TestSRGBNeutralsStayNeutral(t *testing.T) {
	for v := 0; v < 256; v += 15 {
		got := FromSRGB(uint8(v), uint8(v), uint8(v))
		g := float64(v) / 255
		l, _, _ := colorful.Color{R: g, G: g, B: g}.Lab()
		if math.Abs(got.L-100*l) > 0.01 || got.Chroma() > 0.02 {
			t.Errorf("grey %d = %v, want L %.2f and no chroma", v, got, 100*l)
		}
	}
}

// Source: the D50 Lab of the sRGB primaries, CSS Color Module Level 4 sample
// conversions (from memory): red 54.29 80.80 69.89, blue 29.57 68.30 -112.03.
func TestSRGBPrimaries(t *testing.T) {
	for _, c := range []struct {
		r, g, b uint8
		want    Lab
	}{{255, 0, 0, Lab{54.29, 80.80, 69.89}}, {0, 0, 255, Lab{29.57, 68.30, -112.03}}} {
		if got := FromSRGB(c.r, c.g, c.b); DeltaE00(got, c.want) > 0.05 {
			t.Errorf("sRGB %d %d %d = %v, want %v", c.r, c.g, c.b, got, c.want)
		}
	}
}

func TestSRGBRoundTrip(t *testing.T) {
	for r := 0; r < 256; r += 17 {
		for g := 0; g < 256; g += 17 {
			for b := 0; b < 256; b += 17 {
				c := FromSRGB(uint8(r), uint8(g), uint8(b)).SRGB()
				if int(c.R) != r || int(c.G) != g || int(c.B) != b {
					t.Fatalf("%d %d %d came back as %v", r, g, b, c)
				}
			}
		}
	}
}

func TestLabXYZRoundTrip(t *testing.T) {
	for _, c := range []Lab{{0, 0, 0}, {5, 1, -1}, {50, 60, -70}, {100, 0, 0}, {8, 0, 0}} {
		if got := c.XYZ(D50).Lab(D50); DeltaE00(got, c) > 1e-9 {
			t.Errorf("%v came back as %v", c, got)
		}
	}
}

func TestParse(t *testing.T) {
	for _, c := range []struct {
		in   string
		want string // hex, "" for an error
	}{
		{"#1a2b3c", "#1a2b3c"}, {"#fff", "#ffffff"}, {" Navy ", "#000080"}, {"100,0,0", "#ffffff"},
		{"#12345", ""}, {"", ""}, {"no such colour", ""}, {"1,2", ""}, {"200,0,0", ""}, {"50,NaN,0", ""}, {"a,b,c", ""},
	} {
		got, err := Parse(c.in)
		if (err != nil) != (c.want == "") {
			t.Errorf("Parse(%q) error %v", c.in, err)
		} else if err == nil && got.Hex() != c.want {
			t.Errorf("Parse(%q) = %s, want %s", c.in, got.Hex(), c.want)
		}
	}
}

func TestGrade(t *testing.T) {
	l := Limits{1, 2, 5}
	for d, want := range map[float64]Grade{0: Close, 1: Close, 1.5: Near, 5: Visible, 5.1: Off} {
		if got := l.Grade(d); got != want {
			t.Errorf("grade of %g = %s, want %s", d, got, want)
		}
	}
	if (Limits{2, 1, 5}).Check() == nil || (Limits{0, 1, 5}).Check() == nil {
		t.Error("limits out of order passed")
	}
}

func FuzzParse(f *testing.F) {
	f.Add("#123456")
	f.Add("10,20,30")
	f.Fuzz(func(t *testing.T, s string) {
		if c, err := Parse(s); err == nil && c.Check() != nil {
			t.Errorf("Parse(%q) let %v through", s, c)
		}
	})
}

func ExampleDeltaE00() {
	fmt.Printf("%.4f\n", DeltaE00(Lab{50, 2.6772, -79.7751}, Lab{50, 0, -82.7485}))
	// Output: 2.0425
}

func ExampleParse() {
	c, _ := Parse("seagreen")
	fmt.Println(c.Hex(), Plain(c))
	// Output: #2e8b57 green
}

// Source: the D50 white of CIE 15:2004, table T.3 (X 96.42, Z 82.51 for Y 100,
// from 5 nm sums), which 10 nm sums of the same tables must meet within 0.15.
func TestObserverWhite(t *testing.T) {
	var w XYZ
	for _, o := range observer {
		w.X, w.Y, w.Z = w.X+o.d50*o.x, w.Y+o.d50*o.y, w.Z+o.d50*o.z
	}
	if x, z := w.X/w.Y*100, w.Z/w.Y*100; math.Abs(x-96.42) > 0.1 || math.Abs(z-82.51) > 0.15 {
		t.Errorf("white is X %.2f Z %.2f, want 96.42 and 82.51", x, z)
	}
}

func TestFromReflectance(t *testing.T) {
	flat := func(n int, v float64) []float64 {
		f := make([]float64, n)
		for i := range f {
			f[i] = v
		}
		return f
	}
	for _, c := range []struct {
		n           int
		first, last float64
	}{{31, 400, 700}, {36, 380, 730}, {16, 400, 700}, {401, 380, 780}} {
		got, err := FromReflectance(flat(c.n, 0.5), c.first, c.last)
		if err != nil || DeltaE00(got.Lab(D50), XYZ{0.5 * D50.X, 0.5, 0.5 * D50.Z}.Lab(D50)) > 1e-9 {
			t.Errorf("half reflectance over %+v is %v, %v", c, got, err)
		}
	}
	// A smooth spectrum sampled at 10 and at 20 nm is one colour.
	curve := func(nm float64) float64 { return 0.1 + 0.6/(1+math.Exp(-(nm-580)/18)) }
	sample := func(step float64) (f []float64) {
		for nm := 400.0; nm <= 700; nm += step {
			f = append(f, curve(nm))
		}
		return f
	}
	a, _ := FromReflectance(sample(10), 400, 700)
	b, _ := FromReflectance(sample(20), 400, 700)
	if d := DeltaE00(a.Lab(D50), b.Lab(D50)); d > 0.3 {
		t.Errorf("10 and 20 nm differ by ΔE00 %.3f", d)
	}
	for _, bad := range []struct {
		f           []float64
		first, last float64
	}{{nil, 400, 700}, {flat(10, 1), 400, 700}, {flat(31, 1), 450, 750}, {flat(31, 1), 700, 400}} {
		if _, err := FromReflectance(bad.f, bad.first, bad.last); err == nil {
			t.Errorf("%d values from %g to %g passed", len(bad.f), bad.first, bad.last)
		}
	}
}
