package plate

import (
	"image"
	"image/color"
	"math"
	"testing"

	"laydown/colour"
	"laydown/colour/icc"
	"laydown/colour/press/presstest"
)

// srgbLab is how sRGB art is meant to look.
func srgbLab(d [4]float64) colour.Lab {
	return colour.FromSRGB(uint8(math.Round(d[0]*255)), uint8(math.Round(d[1]*255)), uint8(math.Round(d[2]*255)))
}

// of takes a need of Lab to sRGB art.
func of(need func(colour.Lab) float64) func([4]float64) float64 {
	return func(d [4]float64) float64 { return need(srgbLab(d)) }
}

// TestKnockout holds white of every colour of a ramp through the item's own
// colour to the rule: none within the limit, full 8 ΔE00 beyond, at 8 and 16 bits.
func TestKnockout(t *testing.T) {
	item := colour.FromSRGB(60, 20, 90)
	const w, h, limit = 256, 24, 5.0
	narrow, wide := image.NewNRGBA(image.Rect(0, 0, w, h)), image.NewNRGBA64(image.Rect(0, 0, w, h))
	for y := range h {
		for x := range w {
			c := color.NRGBA{uint8(max(0, min(255, 60+(x-128)/2))), uint8(max(0, min(255, 20+(x-128)/3+y))), uint8(max(0, min(255, 90+(x-128)/2-y))), 255}
			narrow.SetNRGBA(x, y, c)
			wide.Set(x, y, c)
		}
	}
	o := WhiteOptions{Rule: Knockout, DensityPercent: 100, PixelMM: 0.1, Need: of(KnockoutNeed(item, limit))}
	for name, img := range map[string]image.Image{"8 bits": narrow, "16 bits": wide} {
		p, err := filled(art(img), presstest.Separate(t, icc.SRGB()), o)
		if err != nil {
			t.Fatal(err)
		}
		none, part, full := 0, 0, 0
		for y := range h {
			for x := range w {
				c := narrow.NRGBAAt(x, y)
				want := math.Max(0, math.Min(1, (colour.DeltaE00(colour.FromSRGB(c.R, c.G, c.B), item)-limit)/8))
				got := p.Plane[White][y*w+x]
				switch {
				case want == 0:
					none++
				case want == 1:
					full++
				default:
					part++
				}
				if math.Abs(float64(got)/255-want) > 0.51/255 {
					t.Fatalf("%s: white of %v is %d, want %.1f", name, c, got, want*255)
				}
			}
		}
		if none < 100 || part < 100 || full < 1000 {
			t.Errorf("%s: %d without white, %d with some and %d with all are no test", name, none, part, full)
		}
	}
}

// TestKnockoutIsChoked draws a square of the item's colour in a white field: white
// stays back from both the field's edge and the square's.
func TestKnockoutIsChoked(t *testing.T) {
	img := image.NewNRGBA(image.Rect(0, 0, 100, 100))
	for i := range img.Pix {
		img.Pix[i] = 255
	}
	for y := 40; y < 60; y++ {
		for x := 40; x < 60; x++ {
			img.SetNRGBA(x, y, color.NRGBA{23, 23, 26, 255})
		}
	}
	for choke, want := range map[float64]float64{0: 100*100 - 20*20, 0.3: 94*94 - 26*26, -0.3: 100*100 - 14*14} {
		p, err := filled(art(img), presstest.Separate(t, icc.SRGB()), WhiteOptions{Rule: Knockout, DensityPercent: 100, PixelMM: 0.1, ChokeMM: choke,
			Need: of(KnockoutNeed(colour.FromSRGB(23, 23, 26), 5))})
		if err != nil {
			t.Fatal(err)
		}
		// The corners of a grown square are round.
		if got := float64(p.Sum(White)) / 255; math.Abs(got-want) > 12 {
			t.Errorf("choke %g mm leaves %.1f pixels of white, want about %g", choke, got, want)
		}
	}
}

// TestTonal lays white by lightness: none for what is no lighter than the item,
// all for paper white, and in proportion between, to a table's error.
func TestTonal(t *testing.T) {
	img := image.NewNRGBA(image.Rect(0, 0, 256, 2))
	for x := range 256 {
		img.SetNRGBA(x, 0, color.NRGBA{uint8(x), uint8(x), uint8(x), 255})
		img.SetNRGBA(x, 1, color.NRGBA{uint8(x), 255 - uint8(x), 80, 128})
	}
	a, sep := art(img), presstest.Separate(t, icc.SRGB())
	white := colour.Lab{L: 90}
	for _, item := range []colour.Lab{{L: 10}, {L: 45, A: 40, B: 20}} {
		p, err := filled(a, sep, WhiteOptions{Rule: Tonal, DensityPercent: 100, PixelMM: 0.1, Need: of(TonalNeed(item, white))})
		if err != nil {
			t.Fatal(err)
		}
		for x := range 256 {
			for y := range 2 {
				c := img.NRGBAAt(x, y)
				want := math.Max(0, math.Min(1, (colour.FromSRGB(c.R, c.G, c.B).L-item.L)/(90-item.L))) * float64(c.A)
				if got := float64(p.Plane[White][y*256+x]); math.Abs(got-want) > 4 {
					t.Errorf("item L %g: white of %v is %g, want %.1f", item.L, c, got, want)
				}
			}
		}
	}
	// An item as light as its white needs none.
	p, err := filled(a, sep, WhiteOptions{Rule: Tonal, DensityPercent: 100, PixelMM: 0.1, Need: of(TonalNeed(white, white))})
	if err != nil || p.Sum(White) != 0 {
		t.Errorf("a white item gets white %d, %v", p.Sum(White), err)
	}
	if _, err := filled(a, sep, WhiteOptions{Rule: Tonal, DensityPercent: 100, PixelMM: 0.1}); err == nil {
		t.Error("tonal white for no item")
	}
}

// TestSmallestWhite draws dots of 2, 4, 6 and 8 pixels across and leaves out those
// below a size.
func TestSmallestWhite(t *testing.T) {
	img := image.NewNRGBA(image.Rect(0, 0, 100, 25))
	for i, d := range []float64{2, 4, 6, 8} {
		for y := range 25 {
			for x := range 25 {
				n := 0
				for k := range 64 {
					if math.Hypot(float64(x)+float64(k%8)/8-12.3, float64(y)+float64(k/8)/8-12.1) < d/2 {
						n++
					}
				}
				img.SetNRGBA(25*i+x, y, color.NRGBA{200, 0, 0, uint8(n * 255 / 64)})
			}
		}
	}
	for smallest, left := range map[float64]int{0: 4, 0.19: 4, 0.25: 3, 0.5: 2, 0.7: 1, 0.9: 0} {
		p, err := filled(art(img), presstest.Separate(t, icc.SRGB()), WhiteOptions{Rule: Under, DensityPercent: 60, PixelMM: 0.1, SmallestMM: smallest})
		if err != nil {
			t.Fatal(err)
		}
		dots := 0
		for i := range 4 {
			if p.Plane[White][12*100+25*i+12] > 0 {
				dots++
			}
		}
		if dots != left {
			t.Errorf("smallest white %g mm leaves %d dots, want %d", smallest, dots, left)
		}
	}
}
