package proof

import (
	"bytes"
	"fmt"
	"image"
	"image/color"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"laydown/colour"
	"laydown/colour/press/presstest"
	"laydown/colour/reference"
	"laydown/colour/swatch"
	"laydown/coverage/artwork/arttest"
	"laydown/coverage/flaw"
	"laydown/coverage/order"
	"laydown/coverage/order/ordertest"
	"laydown/coverage/plate"
)

// lettered is CMYK art of 42 × 21 mm: black strokes 0.5 mm wide and a block, on bare
// ground, and a bar of pure magenta.
func lettered() *image.CMYK {
	img := image.NewCMYK(image.Rect(0, 0, 500, 250))
	for y := range 250 {
		for x := range 500 {
			switch {
			case y > 20 && y < 120 && x > 20 && x < 300 && x%24 < 6:
				img.SetCMYK(x, y, color.CMYK{K: 255})
			case y > 150 && y < 230 && x > 20 && x < 220:
				img.SetCMYK(x, y, color.CMYK{K: 255})
			case y > 150 && y < 230 && x > 260 && x < 460:
				img.SetCMYK(x, y, color.CMYK{M: 255})
			}
		}
	}
	return img
}

// tagged is an order for that art with a profile that names it.
func tagged(t *testing.T, profile []byte) order.Order {
	t.Helper()
	path := filepath.Join(t.TempDir(), "letters.tif")
	if err := os.WriteFile(path, arttest.TIFF(lettered(), profile), 0o600); err != nil {
		t.Fatal(err)
	}
	return ordertest.New(t, path)
}

// TestOwnProfileKeepsNumbers gives art with the profile of the very press, with
// another date and other flags in its header, to that press: black text stays black.
func TestOwnProfileKeepsNumbers(t *testing.T) {
	profile := bytes.Clone(reference.File(t, reference.Profile(t, "cmyk")))
	copy(profile[24:36], "\x07\xea\x00\x01\x00\x02\x00\x03\x00\x04\x00\x05")
	profile[47] = 1
	o := tagged(t, profile)
	o.Press, o.KeepPure = presstest.Published(t), "none"
	p, err := Make(o, Findings)
	if err != nil {
		t.Fatal(err)
	}
	if !strings.Contains(p.Artwork.SourceProfile, "the printer's own profile") {
		t.Errorf("the source is called %q", p.Artwork.SourceProfile)
	}
	sameAsArt(t, p)
	if f := rich(p); f != nil {
		t.Errorf("found %+v", f)
	}
}

func sameAsArt(t *testing.T, p *Proof) {
	t.Helper()
	for i := range p.Laid.Art.Width * p.Laid.Art.Height {
		d := p.Laid.Art.Device(i)
		for k := range 4 {
			if p.Laid.Plates.Plane[k][i] != d[k] {
				t.Fatalf("pixel %d: %v prints %d on plate %s", i, d, p.Laid.Plates.Plane[k][i], plate.Names[k])
			}
		}
	}
}

func rich(p *Proof) *flaw.Finding {
	for i, f := range p.Findings {
		if f.Kind == flaw.RichBlackText {
			return &p.Findings[i]
		}
	}
	return nil
}

// TestKeepPure gives the same art to another press.
func TestKeepPure(t *testing.T) {
	profile := reference.File(t, reference.Profile(t, "cmyk-xyz"))
	for _, c := range []struct {
		keep       string
		black, all bool // pure black, pure magenta stay so
	}{{"none", false, false}, {"", true, false}, {"black", true, false}, {"all", true, true}} {
		o := tagged(t, profile)
		o.Press, o.KeepPure = presstest.Published(t), c.keep
		p, err := Make(o, Findings)
		if err != nil {
			t.Fatal(err)
		}
		at := func(x, y int) (v [4]uint8) {
			for k := range v {
				v[k] = p.Laid.Plates.Plane[k][500*y+x]
			}
			return v
		}
		black, magenta := at(100, 200), at(300, 200)
		t.Logf("keep %q: black prints %v, magenta %v", c.keep, black, magenta)
		if (black == [4]uint8{3: 255}) != c.black {
			t.Errorf("keep %q: black prints %v", c.keep, black)
		}
		if (magenta == [4]uint8{1: 255}) != c.all {
			t.Errorf("keep %q: magenta prints %v", c.keep, magenta)
		}
		f := rich(p)
		if (f == nil) != c.black {
			t.Errorf("keep %q: found %+v", c.keep, f)
		}
		if f == nil {
			continue
		}
		if math.Abs(f.Measured-0.5) > 0.1 || f.Severity != flaw.Look || len(f.Boxes) == 0 || f.Boxes[0].YMM > 11 {
			t.Errorf("keep %q: found %+v", c.keep, f)
		}
		t.Log(f.Advice)
	}
}

// TestSwatchOfCMYK takes a swatch's numbers for its recipe.
func TestSwatchOfCMYK(t *testing.T) {
	numbers := [4]float64{0.2, 0.9, 0.1, 0.05}
	over := [4]float64{1, 1, 1, 1}
	list := []swatch.Swatch{{Name: "moss", Lab: colour.Lab{L: 35, A: -20, B: 15}}, {Name: "rose", CMYK: &numbers}, {Name: "ink", CMYK: &over}}
	m, err := presstest.StandIn().Model()
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		process, item string
		same          bool // as on the press's own paper
	}{{"white film", "black tee", true}, {"light garment", "black tee", false}} {
		o := ordertest.New(t, "")
		o.ProcessName, o.ItemName, o.Swatches = c.process, c.item, list
		f, err := MatchSwatches(o)
		if err != nil {
			t.Fatal(err)
		}
		if f.Swatches[0].OwnRecipe || f.Swatches[0].Name != "moss" {
			t.Errorf("%+v", f.Swatches[0])
		}
		for i, want := range [][4]float64{numbers, over} {
			s := f.Swatches[i+1]
			if s.Plates != (Tones{100 * want[0], 100 * want[1], 100 * want[2], 100 * want[3]}) || !s.OwnRecipe {
				t.Errorf("%s prints %+v, want its own %v", s.Name, s.Plates, want)
			}
			if s.TargetLab != lab3(m.Lab(want)) {
				t.Errorf("%s is wanted as %v, which its numbers do not print", s.Name, s.TargetLab)
			}
			if (s.DeltaE00 == 0) != c.same && i == 0 {
				t.Errorf("%s on %s: ΔE00 %.2f", s.Name, c.item, s.DeltaE00)
			}
			if o := s.OverLimit; (o != nil) != (i == 1) {
				t.Errorf("%s: over the limit %+v", s.Name, o)
			} else if o != nil {
				p := o.Within.Plates
				if sum := p.Cyan + p.Magenta + p.Yellow + p.Black; o.TotalPercent != 400 || o.LimitPercent >= 400 || sum > o.LimitPercent+0.2 || (c.same && sum < 200) {
					t.Errorf("%s: %+v", s.Name, o)
				}
				if want := fmt.Sprintf(" Its toners add up to 400 %%, over the limit of %.0f %%: ", o.LimitPercent); !strings.Contains(s.Sentence, want) {
					t.Errorf("%s: %q does not say%s", s.Name, s.Sentence, want)
				}
			}
			if c.same && (!s.InGamut || s.Grade != "close") {
				t.Errorf("%s: %+v", s.Name, s)
			}
		}
	}
}
