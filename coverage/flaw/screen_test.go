package flaw

import (
	"image"
	"image/color"
	"math"
	"slices"
	"testing"

	"laydown/colour/reference"
)

// halftone is what an ink of a tone at a place, 0–1, leaves there when it is screened in
// round dots at a pitch and an angle.
func halftone(pitchMM, degrees float64, ink, on color.NRGBA, tone func(x, y float64) float64) func(x, y float64) color.NRGBA {
	return func(x, y float64) color.NRGBA {
		u, v := turned(x, y, degrees)
		spot := (2 + math.Cos(2*math.Pi*u/pitchMM) + math.Cos(2*math.Pi*v/pitchMM)) / 4
		if spot > 1-tone(x, y) {
			return ink
		}
		return on
	}
}

// TestScreen holds art that is screened to one finding, with its pitch, in place of its
// dots' own; also beside a line that is too thin, which is found, and after compression.
func TestScreen(t *testing.T) {
	reference.Long(t)
	ramp := func(x, y float64) float64 { return 0.15 + 0.6*(x+20)/30 }
	for _, c := range []struct {
		name             string
		pitchMM, degrees float64
		ink, on          color.NRGBA
		quality          int
		line             bool
	}{
		{"fine", 0.4, 15, slate, clear0, 0, false},
		{"at 45°", 0.6, 45, slate, clear0, 0, false},
		{"straight, on a colour", 0.5, 0, brick, cream, 0, true},
		{"coarse", 0.85, 45, slate, clear0, 0, true},
		{"compressed", 0.6, 30, brick, cream, 85, false},
	} {
		at := halftone(c.pitchMM, c.degrees, c.ink, c.on, ramp)
		drawn := paint(40, 17, 300, func(x, y float64) color.NRGBA {
			switch {
			case x < 10 && math.Abs(y) < 9:
				return at(x, y)
			case c.line && math.Abs(x-17.5) < 0.1 && math.Abs(y) < 6:
				return slate
			}
			return c.on
		})
		img := image.Image(drawn)
		if c.quality > 0 {
			img = compressed(t, img, c.quality)
		}
		found := (published{"drawn", 40, true}).look(t, img, c.quality > 0)
		var kinds []Kind
		for _, f := range found {
			switch f.Kind {
			case Screen:
				if lpi := 25.4 / c.pitchMM; math.Abs(f.Measured-lpi) > 0.02*lpi {
					t.Errorf("%s: %g lines per inch, drawn %.1f", c.name, f.Measured, lpi)
				}
				if len(f.Boxes) != 1 || math.Abs(f.Boxes[0].WidthMM-30) > 6 || f.Boxes[0].HeightMM < 15 {
					t.Errorf("%s: boxes %+v", c.name, f.Boxes)
				}
			case FineLine:
				if !c.line || len(f.Boxes) != 1 || math.Abs(f.Boxes[0].XMM-37.4) > 0.3 {
					t.Errorf("%s: lines at %+v", c.name, f.Boxes)
				}
			case Speck, NarrowGap, SmallText:
				t.Errorf("%s: %s at %d places, %+v", c.name, f.Kind, f.Places, f.Boxes[:min(3, len(f.Boxes))])
			}
			kinds = append(kinds, f.Kind)
		}
		if !slices.Contains(kinds, Screen) || slices.Contains(kinds, FineLine) != c.line {
			t.Errorf("%s: found %v", c.name, kinds)
		}
	}
}

// TestNoScreen holds hatching, a photograph and published drawings to be no screens.
func TestNoScreen(t *testing.T) {
	hatch := paint(30, 20, 300, func(x, y float64) color.NRGBA {
		if u, _ := turned(x, y, 30); math.Mod(u+100, 0.7) < 0.25 {
			return slate
		}
		return clear0
	})
	for name, img := range map[string]image.Image{"hatching": hatch, "photograph": openPNG(t, "photograph"), "brick-block": openPNG(t, "brick-block"),
		"columns": openPNG(t, "columns"), "flag": openPNG(t, "flag")} {
		for _, f := range (published{name, 50, true}).look(t, img, false) {
			if f.Kind == Screen {
				t.Errorf("%s: %+v", name, f)
			}
		}
	}
}

// BenchmarkScreened looks at a screen of 4 million pixels, in which nothing else is looked
// for.
func BenchmarkScreened(b *testing.B) {
	img := paint(170, 170, 300, halftone(0.6, 45, slate, clear0, func(x, y float64) float64 { return 0.4 + x/400 }))
	for b.Loop() {
		(published{"drawn", 170, true}).look(b, img, false)
	}
}
