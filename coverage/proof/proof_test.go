package proof

import (
	"bytes"
	"encoding/json"
	"fmt"
	"image"
	"image/color"
	"image/png"
	"laydown/colour/reference"
	"math"
	"math/rand/v2"
	"os"
	"strings"
	"testing"

	"laydown/colour"
	"laydown/colour/swatch"
	"laydown/coverage/artwork"
	"laydown/coverage/order"
	"laydown/coverage/order/ordertest"
	"laydown/coverage/plate"
	"laydown/coverage/price"
	"laydown/coverage/unit"
)

// TestLines checks what the proof says of coverage and money against each
// other: sheet coverage is print coverage times the share of the sheet, lines
// add up to totals.
func TestLines(t *testing.T) {
	o := ordertest.Badge(t)
	p, err := Make(o, 0)
	if err != nil {
		t.Fatal(err)
	}
	share := float64(p.Sheet.Copies) * p.Print.WidthMM * p.Print.HeightMM / (p.Sheet.WidthMM * p.Sheet.HeightMM)
	sum := 0.0
	for k := range plate.Count {
		c := p.Plates.At(k)
		if math.Abs(c.SheetPercent-c.PrintPercent*share) > 0.01 {
			t.Errorf("%s: %.4f %% of the sheet, want %.4f", plate.Names[k], c.SheetPercent, c.PrintPercent*share)
		}
		if k != plate.White {
			sum += c.PrintPercent
		}
	}
	if math.Abs(sum-p.TAC.MeanPercent) > 0.001 {
		t.Errorf("plates add to %.4f %%, TAC mean is %.4f", sum, p.TAC.MeanPercent)
	}
	// White by hand: 63.6 % of 84.67² mm² is 63.6/5 × 7,168 ÷ 62,370 pages of
	// 196.00/4,500.
	want := p.Plates.White.PrintPercent / 5 * p.Print.WidthMM * p.Print.HeightMM / 62370 * 196 / 4500
	if got := p.Toner.Print.Plate[plate.White].StringFixed(price.Places); fmt.Sprintf("%.4f", want) != got {
		t.Errorf("white costs %s, by hand %.4f", got, want)
	}
}

// TestMatchAreas counts flat areas that are known: a quarter, an eighth, none.
func TestMatchAreas(t *testing.T) {
	img := image.NewNRGBA(image.Rect(0, 0, 80, 80))
	for y := range 80 {
		for x := range 80 {
			c := color.NRGBA{}
			switch {
			case x < 40 && y < 40:
				c = color.NRGBA{18, 92, 70, 255}
			case x >= 40 && y < 20:
				c = color.NRGBA{27, 79, 216, 255}
			}
			img.SetNRGBA(x, y, c)
		}
	}
	o := ordertest.Draw(t, img)
	o.Wish = artwork.Wish{WidthMM: 20}
	o.Swatches = []swatch.Swatch{{Name: "green", Lab: colour.FromSRGB(18, 92, 70), Screen: true}, {Name: "blue", Lab: colour.FromSRGB(27, 79, 216), Screen: true}, {Name: "red", Lab: colour.FromSRGB(200, 0, 0), Screen: true}}
	p, err := Make(o, Matches)
	if err != nil {
		t.Fatal(err)
	}
	for i, want := range []float64{25, 12.5, 0} {
		if got := *p.Swatches[i].AreaPercent; got != want {
			t.Errorf("%s takes %g %%, want %g", p.Swatches[i].Name, got, want)
		}
	}
	if p.Swatches[0].Grade != "close" || p.Swatches[1].Grade == "close" {
		t.Errorf("grades %s, %s: a dull green prints, a screen's blue does not", p.Swatches[0].Grade, p.Swatches[1].Grade)
	}
}

// TestCMYKSwatch takes a brand colour that is only CMYK for what the press
// prints with those numbers, which it then matches.
func TestCMYKSwatch(t *testing.T) {
	o := ordertest.New(t, "")
	x := [4]float64{0.6, 0.2, 0.1, 0}
	o.Swatches = []swatch.Swatch{{Name: "by numbers", CMYK: &x}}
	o.SwatchesSkipped = []swatch.Skipped{{Name: "haze", Why: "has no colour"}}
	o.ProcessName = "white film" // the press's own colours
	facts, err := MatchSwatches(o)
	if err != nil {
		t.Fatal(err)
	}
	if len(facts.SwatchesSkipped) != 1 {
		t.Error("a colour of the list that is not read goes untold")
	}
	got := facts.Swatches
	m, err := o.Press.Model()
	if err != nil {
		t.Fatal(err)
	}
	if want := lab3(m.Lab(x)); got[0].TargetLab != want || !got[0].InGamut {
		t.Errorf("%+v, want %v within the gamut", got[0], want)
	}
}

func TestDrift(t *testing.T) {
	for _, c := range []struct {
		to   colour.Lab
		want string
	}{
		{colour.Lab{L: 60, A: 40, B: 0}, "lighter"}, {colour.Lab{L: 40, A: 40, B: 0}, "darker"}, {colour.Lab{L: 50, A: 20, B: 0}, "duller"},
		{colour.Lab{L: 50, A: 60, B: 0}, "more vivid"}, {colour.Lab{L: 40, A: 30, B: 0}, "duller and darker"},
	} {
		if got := drift(colour.Lab{L: 50, A: 40, B: 0}, c.to); got != c.want {
			t.Errorf("to %v: %q, want %q", c.to, got, c.want)
		}
	}
}

func TestCautions(t *testing.T) {
	s := ordertest.Badge(t).Shop
	for name, want := range map[string]string{"dark garment": "ventilate", "temporary tattoo": "cosmetics", "decal on white": "lip rim"} {
		p, err := s.Process(name)
		if err != nil {
			t.Fatal(err)
		}
		got := strings.Join(cautions(p), "\n")
		if !strings.Contains(got, want) || !strings.Contains(got, "media maker's sheet") {
			t.Errorf("%s: %s", name, got)
		}
	}
}

// bench is an A3 page at 300 dpi as PNG: a photograph's grain on soft colours, a
// flat disc, clear corners.
func bench(b *testing.B) order.Order {
	r := rand.New(rand.NewPCG(1, 2))
	img := image.NewNRGBA(image.Rect(0, 0, 3508, 4961))
	for y := range 4961 {
		for x := range 3508 {
			g := int(r.Uint32() % 9)
			c := color.NRGBA{uint8(x/15 + g), uint8(y/21 + g), uint8((x+y)/36 + g), 255}
			if d := math.Hypot(float64(x-1700), float64(y-2500)); d < 900 {
				c = color.NRGBA{200, 40, 60, 255}
			} else if d > 1600 {
				c = color.NRGBA{}
			}
			img.SetNRGBA(x, y, c)
		}
	}
	return ordertest.Draw(b, img)
}

// BenchmarkCoverage times Go's own decoding of an A3 page and then the coverage
// command's work on the same file; its metric is their ratio.
func BenchmarkCoverage(b *testing.B) {
	o := bench(b)
	data, err := os.ReadFile(o.ArtPath)
	if err != nil {
		b.Fatal(err)
	}
	o.Sheet, o.Wish = &unit.Sheet{WidthMM: 320, HeightMM: 450}, artwork.Wish{DPI: 300}
	if _, err := Make(o, 0); err != nil { // fills the cache
		b.Fatal(err)
	}
	decode := 0.0
	b.Run("decode", func(b *testing.B) {
		for b.Loop() {
			if _, err := png.Decode(bytes.NewReader(data)); err != nil {
				b.Fatal(err)
			}
		}
		decode = b.Elapsed().Seconds() / float64(b.N)
	})
	for name, parts := range map[string]Part{"coverage": 0, "preflight": Findings} {
		b.Run(name, func(b *testing.B) {
			for b.Loop() {
				if _, err := Make(o, parts); err != nil {
					b.Fatal(err)
				}
			}
			b.ReportMetric(b.Elapsed().Seconds()/float64(b.N)/decode, "×decode")
		})
	}
}

// TestProofsAreTheSameEveryTime works everything out, which takes several cores, again
// and again.
func TestProofsAreTheSameEveryTime(t *testing.T) {
	reference.Long(t)
	var first []byte
	for range 3 {
		p, err := Make(ordertest.Badge(t), Everything)
		if err != nil {
			t.Fatal(err)
		}
		b, err := json.Marshal(p)
		if err != nil {
			t.Fatal(err)
		}
		if first == nil {
			first = b
		} else if !bytes.Equal(first, b) {
			t.Fatalf("another run finds\n%s\nwas\n%s", b, first)
		}
	}
}
