package flaw

import (
	"image"
	"image/color"
	"image/draw"
	"laydown/colour/reference"
	"math"
	"slices"
	"testing"

	"github.com/disintegration/imaging"

	"laydown/coverage/plate"
)

// fadesOf are the findings of fades in a picture at 300 pixels per inch.
func fadesOf(t testing.TB, img image.Image, rule plate.Rule) (out []Finding) {
	t.Helper()
	found, err := Find(scan(t, img, 300, plate.WhiteOptions{Rule: rule, DensityPercent: 100}))
	if err != nil {
		t.Fatal(err)
	}
	return slices.DeleteFunc(found, func(f Finding) bool { return f.Kind != FadeOut })
}

// TestNoFadeInEdges holds published art that was enlarged to have no fades, with
// compression before it or not, nor a photograph's highlights, nor spokes that come so
// close that each pixel is part of an edge.
func TestNoFadeInEdges(t *testing.T) {
	reference.Long(t)
	for _, name := range []string{"bee", "flag", "photograph"} {
		img := openPNG(t, name)
		b := img.Bounds()
		for _, by := range []int{1, 4} {
			small := imaging.Resize(onto(img, color.White), b.Dx()/by, b.Dy()/by, imaging.Lanczos)
			for _, quality := range []int{0, 85} {
				shown := image.Image(small)
				if quality > 0 {
					shown = compressed(t, shown, quality)
				}
				if by > 1 {
					shown = imaging.Resize(shown, by*small.Rect.Dx(), by*small.Rect.Dy(), imaging.CatmullRom)
				}
				if got := fadesOf(t, shown, plate.NoWhite); len(got) > 0 {
					t.Errorf("%s enlarged × %d, quality %d: %+v", name, by, quality, got)
				}
			}
		}
	}
	spokes := paint(40, 40, 300, func(x, y float64) color.NRGBA {
		if r := math.Hypot(x, y); r > 4 && r < 18 && math.Cos(90*math.Atan2(y, x)) > 0.2 {
			return slate
		}
		return clear0
	})
	if got := fadesOf(t, spokes, plate.Under); len(got) > 0 {
		t.Errorf("spokes: %+v", got)
	}
}

// onto lays a picture on a colour.
func onto(img image.Image, c color.Color) image.Image {
	flat := image.NewNRGBA(img.Bounds())
	draw.Draw(flat, flat.Rect, image.NewUniform(c), image.Point{}, draw.Src)
	draw.Draw(flat, flat.Rect, img, img.Bounds().Min, draw.Over)
	return flat
}

// TestFadeShare holds the share of a glow to what it takes of the print, whatever edges
// there are besides, and its box to where it is.
func TestFadeShare(t *testing.T) {
	img := paint(60, 30, 300, func(x, y float64) color.NRGBA {
		c := brick
		switch r := math.Hypot(x+15, y); {
		case x > 4: // bars, half of whose pixels are edges
			if math.Mod(x+y/3, 0.5) > 0.25 {
				return slate
			}
		case r < 9:
			c.A = uint8(255 * math.Max(0, math.Min(1, (9-r)/4)))
			return c
		}
		return clear0
	})
	got := fadesOf(t, img, plate.Under)
	want := 100 * math.Pi * (9*9 - 5*5) / (60 * 30)
	if len(got) != 1 || math.Abs(got[0].Measured-want) > 0.1*want {
		t.Fatalf("got %+v, drawn %.2f %%", got, want)
	}
	if b := got[0].Boxes; len(b) != 1 || math.Abs(b[0].XMM-6) > 0.5 || math.Abs(b[0].WidthMM-18) > 0.8 {
		t.Errorf("boxes %+v", b)
	}
}

// TestNoTintInCrumbs holds what compression leaves around edges to be no tint, however far
// it was enlarged.
func TestNoTintInCrumbs(t *testing.T) {
	reference.Long(t)
	img := onto(openPNG(t, "bee"), color.White)
	b := img.Bounds()
	for _, by := range []int{3, 4} {
		small := compressed(t, imaging.Resize(img, b.Dx()/by, b.Dy()/by, imaging.Lanczos), 85)
		large := compressed(t, imaging.Resize(small, by*small.Bounds().Dx(), by*small.Bounds().Dy(), imaging.CatmullRom), 80)
		for _, f := range (published{"bee", 80, false}).look(t, large, true) {
			if f.Kind == FaintTint {
				t.Errorf("enlarged × %d: %s, %+v", by, f.Severity, f)
			}
		}
	}
}
