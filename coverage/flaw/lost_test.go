package flaw

import (
	"image/color"
	"math"
	"strings"
	"testing"

	"laydown/coverage/plate"
)

// TestLostArt holds how much art is lost, how bad that is, where, and what to do, on
// plates of 40 × 20 mm with known parts.
func TestLostArt(t *testing.T) {
	const dpi = 150
	under := plate.WhiteOptions{Rule: plate.Under, DensityPercent: 100, ChokeMM: 0.3}
	none := plate.WhiteOptions{Rule: plate.NoWhite}
	every := plate.WhiteOptions{Rule: plate.All, DensityPercent: 80}
	black := color.NRGBA{12, 12, 14, 255}
	shade := black
	shade.A = 160
	type plank struct {
		x, width, height float64 // from the middle
		ink              color.NRGBA
	}
	for _, c := range []struct {
		name     string
		planks   []plank // later ones over earlier ones
		white    plate.WhiteOptions
		more     func(*Subject)
		severity Severity // "" for none
		share    float64  // percent
		box      Box      // the first
		advice   string
	}{
		{"a third, in one part", []plank{{-8, 8, 10, black}, {8, 16, 10, cream}}, under, nil, Stop, 33.3, Box{8, 5, 8, 10}, "outline in a light colour"},
		{"a seventh", []plank{{-8, 4, 8, black}, {8, 20, 10, cream}}, under, nil, Look, 13.8, Box{10, 6, 4, 8}, "outline"},
		{"a small shape by itself", []plank{{-12, 2, 3, black}, {4, 24, 10, cream}}, under, nil, Note, 2.4, Box{7, 8.5, 2, 3}, "outline"},
		{"a small part of a shape", []plank{{-9, 2, 3, black}, {4, 24, 10, cream}}, under, nil, "", 0, Box{}, ""},
		{"a tenth within", []plank{{0, 30, 10, cream}, {0, 6, 5, black}}, under, nil, Note, 10, Box{17, 7.5, 6, 5}, "hole"},
		{"half within", []plank{{0, 20, 10, cream}, {0, 12, 8, black}}, under, nil, Look, 48, Box{14, 6, 12, 8}, "hole"},
		{"all around what is seen", []plank{{0, 20, 10, black}, {0, 12, 8, cream}}, under, nil, Stop, 52, Box{10, 5, 20, 10}, "outline"},
		{"all of it", []plank{{-8, 8, 10, black}, {8, 8, 10, black}}, under, nil, Stop, 100, Box{8, 5, 8, 10}, "Nearly all"},
		{"a shadow in the item's colour", []plank{{-8, 1.5, 10, shade}, {8, 16, 10, cream}}, under, nil, "", 0, Box{}, ""},
		{"much of a shadow in the item's colour", []plank{{-8, 8, 10, shade}, {8, 16, 10, cream}}, under, nil, Look, 33.3, Box{8, 5, 8, 10}, "shadow"},
		{"no white on a dark item", []plank{{-8, 8, 10, moss}, {8, 8, 10, cream}}, none, upon(darkItem, false), Stop, 100, Box{8, 5, 8, 10}, "process with white"},
		{"white on a white item", []plank{{-8, 8, 10, white}, {8, 16, 10, brick}}, none, nil, Stop, 33.3, Box{8, 5, 8, 10}, "darker colour"},
		{"a pale tint on a white item", []plank{{-8, 8, 10, color.NRGBA{232, 232, 232, 255}}, {8, 16, 10, brick}}, none, nil, "", 0, Box{}, ""},
		{"white in its own box", []plank{{-8, 8, 10, white}, {8, 16, 10, brick}}, every, nil, Stop, 33.3, Box{8, 5, 8, 10}, "under the art alone"},
		{"white on white film", []plank{{-8, 8, 10, white}, {8, 16, 10, brick}}, none, upon(darkItem, true), Look, 33.3, Box{8, 5, 8, 10}, "cut along the art"},
		{"under foil", []plank{{-8, 8, 10, black}, {8, 16, 10, cream}}, under, func(s *Subject) { s.Foil = true }, "", 0, Box{}, ""},
		{"without colour", []plank{{-8, 8, 10, black}, {8, 16, 10, cream}}, under, func(s *Subject) { s.Look = nil }, "", 0, Box{}, ""},
	} {
		s := scan(t, paint(40, 20, dpi, func(x, y float64) color.NRGBA {
			ink := clear0
			for _, p := range c.planks {
				if math.Abs(x-p.x) < p.width/2 && math.Abs(y) < p.height/2 {
					ink = p.ink
				}
			}
			return ink
		}), dpi, c.white)
		if c.more != nil {
			c.more(&s)
		}
		f, ok := kinds(t, s)[ArtLost]
		if f.Severity != c.severity {
			t.Errorf("%s: severity %q, want %q: %+v", c.name, f.Severity, c.severity, f)
			continue
		}
		if !ok {
			continue
		}
		near := func(a, b float64) bool { return math.Abs(a-b) < 0.35 } // two pixels
		b := f.Boxes[0]
		if math.Abs(f.Measured-c.share) > 1+0.05*c.share || f.Limit != 5 || !near(b.XMM, c.box.XMM) || !near(b.YMM, c.box.YMM) || !near(b.WidthMM, c.box.WidthMM) || !near(b.HeightMM, c.box.HeightMM) {
			t.Errorf("%s: %.1f %%, box %v, want %.1f %%, %v", c.name, f.Measured, b, c.share, c.box)
		}
		if !strings.Contains(f.Advice, c.advice) {
			t.Errorf("%s: advice %q lacks %q", c.name, f.Advice, c.advice)
		}
	}
}

// TestCutOff holds the place and the length of a cut at each edge, and that art which
// touches two edges, or one with a corner, is let be.
func TestCutOff(t *testing.T) {
	under := plate.WhiteOptions{Rule: plate.Under, DensityPercent: 100}
	for _, c := range []struct {
		name string
		at   func(x, y float64) bool
		box  Box // zero for none
	}{
		{"top", func(x, y float64) bool { return math.Abs(x) < 5 && y < 0 }, Box{5, 0, 10, 1}},
		{"right", func(x, y float64) bool { return math.Abs(y) < 4 && x > 0 }, Box{19, 6, 1, 8}},
		{"bottom", func(x, y float64) bool { return math.Abs(x) < 5 && y > 0 }, Box{5, 19, 10, 1}},
		{"left", func(x, y float64) bool { return math.Abs(y) < 4 && x < 0 }, Box{0, 6, 1, 8}},
		{"bottom", func(x, y float64) bool { return disc(x, y, 0, 3, 10) && y > -6.8 }, Box{2.88, 19, 14.22, 1}}, // trimmed at the sides
		{"a foot of trimmed art", func(x, y float64) bool { return disc(x, y, 0, 0, 10) || math.Abs(x) < 5 && y > 0 }, Box{}},
		{"a rounded foot of trimmed art", func(x, y float64) bool {
			u, v := math.Max(0, math.Abs(x)-3), math.Max(0, y-8)
			return disc(x, y, 0, 0, 10) || y > 0 && math.Hypot(u, v) < 2
		}, Box{}},
		{"left and right", func(x, y float64) bool { return math.Abs(y) < 4 }, Box{}},
		{"a corner alone", func(x, y float64) bool { return math.Abs(x)+math.Abs(y-4) < 6.5 }, Box{}},
		{"everything", func(x, y float64) bool { return true }, Box{}},
	} {
		f, ok := kinds(t, scan(t, paint(20, 20, 150, func(x, y float64) color.NRGBA {
			if c.at(x, y) {
				return brick
			}
			return clear0
		}), 150, under))[ArtLost]
		if !ok || c.box == (Box{}) {
			if ok != (c.box != Box{}) {
				t.Errorf("%s: found %v %+v", c.name, ok, f)
			}
			continue
		}
		near := func(a, b float64) bool { return math.Abs(a-b) < 0.35 }
		b := f.Boxes[0]
		if f.Severity != Look || !near(b.XMM, c.box.XMM) || !near(b.YMM, c.box.YMM) || !near(b.WidthMM, c.box.WidthMM) || !near(b.HeightMM, c.box.HeightMM) || !strings.Contains(f.Advice, c.name+" edge") {
			t.Errorf("%s: %+v, want %v", c.name, f, c.box)
		}
	}
}

// TestLostLettering prints a word in the item's own colour beside art that is seen: little
// of the art, and a print that comes back. As much of it in dots does not.
func TestLostLettering(t *testing.T) {
	black := color.NRGBA{12, 12, 14, 255}
	for _, c := range []struct {
		name     string
		xMM      float64
		dots     bool
		severity Severity
	}{{"small", 1.6, false, Stop}, {"large", 5, false, Stop}, {"dots", 0, true, Note}} {
		img := paint(60, 40, 200, func(x, y float64) color.NRGBA {
			i := math.Round(x / 3)
			switch {
			case math.Abs(x) < 28 && math.Abs(y) > 6 && math.Abs(y) < 18:
				return cream
			case c.dots && math.Abs(i) < 6 && disc(x, y, 3*i, 0, 1.1):
				return black
			}
			return clear0
		})
		if !c.dots {
			words(t, img, 200, c.xMM, "river club", black)
		}
		f := kinds(t, scan(t, img, 200, plate.WhiteOptions{Rule: plate.Under, DensityPercent: 100}))[ArtLost]
		if f.Severity != c.severity || strings.Contains(f.Advice, "lettering") == c.dots {
			t.Errorf("%s: %+v, want %s", c.name, f, c.severity)
		}
		if c.severity == Stop && (f.Boxes[0].YMM < 13 || f.Boxes[0].YMM+f.Boxes[0].HeightMM > 27) {
			t.Errorf("%s: boxes %+v", c.name, f.Boxes)
		}
	}
}

// TestLostOnGround prints a picture without transparency: its white ground is no art
// where it prints nothing, and black on a white box is within it.
func TestLostOnGround(t *testing.T) {
	at := func(ground color.NRGBA) func(x, y float64) color.NRGBA {
		return func(x, y float64) color.NRGBA {
			switch {
			case disc(x, y, 0, 0, 3):
				return white
			case disc(x, y, 0, 0, 6):
				return brick
			}
			return ground
		}
	}
	for _, c := range []struct {
		name   string
		ground color.NRGBA
		rule   plate.Rule
	}{
		{"white, no white", white, plate.NoWhite},
		{"white, white under it", white, plate.Under},
		{"white, in a box of white", white, plate.All},
		{"the item's black", color.NRGBA{12, 12, 14, 255}, plate.Under},
	} {
		s := scan(t, paint(24, 24, 150, at(c.ground)), 150, plate.WhiteOptions{Rule: c.rule, DensityPercent: 100})
		if f, ok := kinds(t, s)[ArtLost]; ok {
			t.Errorf("%s: %+v", c.name, f)
		}
	}
}

// TestKnockoutRim prints cream that the choke leaves without white along its rim: the
// rim is no art that is lost.
func TestKnockoutRim(t *testing.T) {
	s := scan(t, paint(20, 20, 300, func(x, y float64) color.NRGBA {
		if math.Abs(x) < 8 && math.Abs(y) < 1.2 {
			return cream
		}
		return clear0
	}), 300, plate.WhiteOptions{Rule: plate.Knockout, DensityPercent: 100, ChokeMM: 0.3, Need: func([4]float64) float64 { return 1 }})
	if f, ok := kinds(t, s)[ArtLost]; ok {
		t.Errorf("%+v", f)
	}
}
