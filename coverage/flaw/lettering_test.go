package flaw

import (
	"image"
	"image/color"
	"image/draw"
	"math"
	"math/rand/v2"
	"slices"
	"testing"
)

// small returns the finding of small text among those of a picture; nil if there is none.
func small(t testing.TB, img image.Image, widthMM float64, lossy bool) *Finding {
	found := (published{"drawn", widthMM, true}).look(t, img, lossy)
	if i := slices.IndexFunc(found, func(f Finding) bool { return f.Kind == SmallText }); i >= 0 {
		return &found[i]
	}
	return nil
}

// TestLettersOnAnyGround sets text on a published photograph and on shading: as large as it
// is, it is found where it is too small, as PNG and after compression, and nowhere else.
func TestLettersOnAnyGround(t *testing.T) {
	photo := openPNG(t, "photograph")
	shade := func(x, y float64) color.NRGBA {
		d := math.Hypot(x-8, y+3)
		return color.NRGBA{uint8(200 - 5*d), uint8(60 + 3*d), uint8(90 + 2*x), 255}
	}
	for _, c := range []struct {
		name string
		on   image.Image
	}{{"photograph", photo}, {"shading", paint(43, 20, 300, shade)}} {
		for _, xMM := range []float64{0.8, 1.0, 2.2} {
			img := image.NewNRGBA(image.Rect(0, 0, c.on.Bounds().Dx(), c.on.Bounds().Dy()))
			draw.Draw(img, img.Rect, c.on, c.on.Bounds().Min, draw.Src)
			words(t, img, 300, xMM, map[bool]string{true: "hand printed in june", false: "hand printed"}[xMM < 2], white)
			for _, quality := range []int{0, 85} {
				shown := image.Image(img)
				if quality > 0 {
					shown = compressed(t, img, quality)
				}
				f := small(t, shown, 43, quality > 0)
				switch {
				case (f != nil) != (xMM < 1.2):
					t.Errorf("%s, %g mm, quality %d: found %+v", c.name, xMM, quality, f)
				case f != nil && math.Abs(f.Measured-xMM) > 0.1:
					t.Errorf("%s, %g mm, quality %d: measured %g", c.name, xMM, quality, f.Measured)
				}
			}
		}
	}
}

// TestNoLetters holds rows of dots, of blots that differ and of slanted lights to be no
// lettering: lines cross them but once.
func TestNoLetters(t *testing.T) {
	rng := rand.New(rand.NewPCG(7, 11))
	blots := func(vary float64) func(x, y float64) color.NRGBA {
		var half, tall [24]float64
		for i := range half {
			half[i], tall[i] = 0.3*(1+vary*(2*rng.Float64()-1)), 0.45*(1+vary*(2*rng.Float64()-1))
		}
		return func(x, y float64) color.NRGBA {
			i := int(math.Floor(x/1.3)) + 12
			if i >= 0 && i < len(half) && math.Hypot((x-1.3*(float64(i-12)+0.5))/half[i], y/tall[i]) < 1 {
				return slate
			}
			return clear0
		}
	}
	lights := func(x, y float64) color.NRGBA {
		i := math.Floor(x / 1.9)
		u := x - 1.9*(i+0.5) - 0.3*y
		switch {
		case math.Abs(x) < 15 && math.Abs(u) < 0.2+0.04*math.Sin(i) && math.Abs(y) < 0.6+0.2*math.Cos(1.7*i):
			return cream
		case math.Abs(y) < 6:
			return slate
		}
		return clear0
	}
	for name, at := range map[string]func(x, y float64) color.NRGBA{"dots": blots(0), "blots": blots(0.4), "lights": lights} {
		if f := small(t, paint(40, 16, 300, at), 40, false); f != nil {
			t.Errorf("%s: found %+v", name, f)
		}
	}
}

// TestNoLettersInLattice holds what lies between lines that cross along a curve, in rows of
// shapes that differ, to be no lettering.
func TestNoLettersInLattice(t *testing.T) {
	var sin, cos [48]float64
	for k := range sin {
		sin[k], cos[k] = math.Sincos(7.5 * float64(k) * math.Pi / 180)
	}
	lattice := paint(30, 30, 300, func(x, y float64) color.NRGBA {
		if math.Hypot(x, y) > 14 {
			return clear0
		}
		for k := range sin { // tangents to a circle
			if math.Abs(x*cos[k]+y*sin[k]-7) < 0.08 {
				return slate
			}
		}
		return clear0
	})
	for _, quality := range []int{0, 75} {
		img := image.Image(lattice)
		if quality > 0 {
			img = onWhite(t, img, quality)
		}
		found := (published{"lattice", 30, false}).look(t, img, quality > 0)
		for _, f := range found {
			if f.Kind == SmallText {
				t.Errorf("quality %d: %+v", quality, f)
			}
		}
	}
}
