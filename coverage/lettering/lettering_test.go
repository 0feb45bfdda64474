package lettering

import (
	"fmt"
	"math"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"laydown/coverage/artwork"
	"laydown/coverage/artwork/font"
)

// TestDraw draws names and holds the size that is said, and the height of capitals, to the
// pixels that the renderer makes of them.
func TestDraw(t *testing.T) {
	library, studio := font.New(), artwork.NewStudio(filepath.Join(os.TempDir(), "laydown-tests")) // whose renderer is compiled once
	for _, c := range []struct {
		text              string
		style             Style
		wide, high        float64 // mm, of what is drawn; 0 for any
		squeezed, smaller float64
	}{
		{"HILL", Style{HeightMM: 40, Colour: "#ffffff"}, 0, 40, 1, 1},
		{"  HILL  ", Style{HeightMM: 40, Colour: "#ffffff", OutlineMM: 2, Outline: "#000000"}, 0, 44, 1, 1},
		{"17", Style{HeightMM: 200, Bold: true, Family: "liberation sans", Colour: "#d01020"}, 0, 0, 1, 1},
		{"HILL", Style{HeightMM: 40, MostMM: 100, Colour: "#ffffff"}, 100, 40, 100 / 116.2, 1},
		{"HILL HILL HILL", Style{HeightMM: 40, MostMM: 90, Colour: "#ffffff", Family: font.Serif, Bold: true, Italic: true}, 90, 0, 0.7, 0},
		{"Ångström", Style{HeightMM: 30, Colour: "#ffffff", Family: font.Mono}, 0, 0, 1, 1},
	} {
		got, err := c.style.Draw(c.text, library)
		if err != nil {
			t.Errorf("%q: %v", c.text, err)
			continue
		}
		near := func(what string, v, want, within float64) {
			if want != 0 && math.Abs(v-want) > within {
				t.Errorf("%q: %s %.3f, want %.3f", c.text, what, v, want)
			}
		}
		near("width", got.WidthMM, c.wide, 0.001)
		near("height", got.HeightMM, c.high, 0.001)
		near("squeezed", got.Squeezed, c.squeezed, 0.02)
		near("smaller", got.Smaller, c.smaller, 0.001)
		f, err := artwork.Read(got.SVG, "name.svg", artwork.Options{Canvas: artwork.Canvas{PPI: 254, Studio: studio}})
		if err != nil {
			t.Fatal(err)
		}
		a, err := f.Decode()
		if err != nil {
			t.Fatal(err)
		}
		// What is inked reaches all four edges of the drawing, and no edge cuts it off.
		row := make([]uint8, a.Width)
		x0, x1, y0, y1 := a.Width, -1, -1, -1
		for y := range a.Height {
			a.Alpha(y, row)
			for x, v := range row {
				if v > 100 {
					x0, x1, y1 = min(x0, x), max(x1, x), y
					if y0 < 0 {
						y0 = y
					}
				}
			}
		}
		near("picture's width in mm", float64(a.Width)/10, got.WidthMM, 0.11)
		if x0 > 2 || y0 > 2 || x1 < a.Width-3 || y1 < a.Height-3 {
			t.Errorf("%q: ink from %d,%d to %d,%d of %d × %d", c.text, x0, y0, x1, y1, a.Width, a.Height)
		}
	}
}

func TestDrawRefuses(t *testing.T) {
	white := Style{HeightMM: 40, Colour: "#ffffff"}
	with := func(change func(*Style)) Style { s := white; change(&s); return s }
	for _, c := range []struct {
		text  string
		style Style
		want  string
	}{
		{" ", white, "no text"},
		{strings.Repeat("x", 61), white, "at most 60"},
		{"a\u0001b", white, "not set right"},
		{"سلام", white, "not set right"},
		{"北", white, "has no '北'"},
		{"a", with(func(s *Style) { s.HeightMM = 0 }), "above 0"},
		{"a", with(func(s *Style) { s.Family = "No Such Face" }), `no font is called "No Such Face" on this machine: install it, or take "Liberation Sans"`},
		{"a", with(func(s *Style) { s.MostMM, s.OutlineMM = 4, 2 }), "outline takes all"},
	} {
		if _, err := c.style.Draw(c.text, font.New()); err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%q: %v, want %q", c.text, err, c.want)
		}
	}
}

func FuzzDraw(f *testing.F) {
	library := font.New()
	for _, s := range []string{"HILL", "17", "Ångström", "&<>\"'", "\x00", "AV To"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, text string) {
		got, err := Style{HeightMM: 10, MostMM: 50, Colour: "#ffffff"}.Draw(text, library)
		if err == nil && !regexp.MustCompile(`^<svg [^<>]*><path [^<>]*/></svg>$`).Match(got.SVG) {
			t.Errorf("%q: %s", text, got.SVG)
		}
		if err == nil && (got.WidthMM > 50.0001 || !(got.HeightMM > 0)) {
			t.Errorf("%q is %g × %g mm", text, got.WidthMM, got.HeightMM)
		}
	})
}

func ExampleStyle_Draw() {
	text, err := Style{HeightMM: 50, Colour: "#ffffff", Bold: true}.Draw("HILL", font.New())
	fmt.Printf("%.1f × %.1f mm, %v\n", text.WidthMM, text.HeightMM, err)
	// Output: 154.4 × 50.0 mm, <nil>
}
