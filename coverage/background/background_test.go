package background

import (
	"bytes"
	"fmt"
	"image"
	"image/color"
	"image/jpeg"
	"math"
	"slices"
	"testing"

	"laydown/colour"
	"laydown/coverage/artwork"
	"laydown/coverage/artwork/arttest"
)

func lab(d [4]float64) colour.Lab {
	c := func(v float64) uint8 { return uint8(math.Round(v * 255)) }
	return colour.FromSRGB(c(d[0]), c(d[1]), c(d[2]))
}

// draw paints a ring of radii 20 and 60 pixels on a ground, antialiased, 8 × 8
// samples a pixel.
func draw(ground, ring color.NRGBA) *image.NRGBA {
	img := image.NewNRGBA(image.Rect(0, 0, 200, 160))
	for y := range 160 {
		for x := range 200 {
			n := 0
			for k := range 64 {
				if d := math.Hypot(float64(x)+(float64(k%8)+0.5)/8-100, float64(y)+(float64(k/8)+0.5)/8-80); d < 60 && d > 20 {
					n++
				}
			}
			mix := func(a, b uint8) uint8 { return uint8((int(a)*(64-n) + int(b)*n + 32) / 64) }
			img.SetNRGBA(x, y, color.NRGBA{mix(ground.R, ring.R), mix(ground.G, ring.G), mix(ground.B, ring.B), 255})
		}
	}
	return img
}

func decode(t testing.TB, data []byte, name string) *artwork.Art {
	t.Helper()
	f, err := artwork.Read(data, name, artwork.Options{})
	if err != nil {
		t.Fatal(err)
	}
	a, err := f.Decode()
	if err != nil {
		t.Fatal(err)
	}
	return a
}

func drawn(img image.Image) *artwork.Art { return arttest.Of(img) }

func asJPEG(t testing.TB, img image.Image, quality int) *artwork.Art {
	var b bytes.Buffer
	if err := jpeg.Encode(&b, img, &jpeg.Options{Quality: quality}); err != nil {
		t.Fatal(err)
	}
	return decode(t, b.Bytes(), "t.jpg")
}

var (
	white = color.NRGBA{255, 255, 255, 255}
	navy  = color.NRGBA{20, 30, 80, 255}
	area  = math.Pi * (60*60 - 20*20)
	hole  = math.Pi * 20 * 20
)

// left adds up the alpha of what is left, in pixels.
func left(a *artwork.Art) (sum float64) {
	row := make([]uint8, a.Width)
	for y := range a.Height {
		a.Alpha(y, row)
		for _, v := range row {
			sum += float64(v) / 255
		}
	}
	return sum
}

// pixels are the colour and alpha of every pixel.
func pixels(a *artwork.Art) (out [][5]float64) {
	for i := range a.Width * a.Height {
		x := a.Fractions(i)
		out = append(out, [5]float64{x[0], x[1], x[2], x[3], float64(a.AlphaAt(i))})
	}
	return out
}

// TestDrop compares what is left of a ring with its area in closed form, with its
// hole filled and open, on several grounds, after no and some compression.
func TestDrop(t *testing.T) {
	for name, c := range map[string]struct {
		art     *artwork.Art
		allowed float64 // pixels
	}{
		"white":     {drawn(draw(white, navy)), 25},
		"off-white": {drawn(draw(color.NRGBA{246, 243, 235, 255}, navy)), 25},
		"green":     {drawn(draw(color.NRGBA{40, 130, 60, 255}, color.NRGBA{240, 220, 60, 255})), 25},
		"jpeg 95":   {asJPEG(t, draw(white, navy), 95), 60},
		"jpeg 75":   {asJPEG(t, draw(white, navy), 75), 400},
	} {
		before := pixels(c.art)
		g := Find(c.art, lab)
		if g == nil {
			t.Errorf("%s: no ground", name)
			continue
		}
		for _, holes := range []bool{false, true} {
			want := area
			if !holes {
				want += hole
			}
			if got := left(g.Drop(c.art, holes)); math.Abs(got-want) > c.allowed {
				t.Errorf("%s, holes %v: %.0f pixels are left, want %.0f", name, holes, got, want)
			}
		}
		if !slices.Equal(before, pixels(c.art)) {
			t.Errorf("%s: the art itself was changed", name)
		}
	}
}

// TestDropKeepsColour looks for a pale rim: what is half there has the ring's own
// colour.
func TestDropKeepsColour(t *testing.T) {
	a := drawn(draw(white, navy))
	out := Find(a, lab).Drop(a, true)
	for i := range out.Width * out.Height {
		if alpha := out.AlphaAt(i); alpha > 20 {
			d := out.Device(i)
			c := colour.FromSRGB(d[0], d[1], d[2])
			if d := colour.DeltaE00(c, colour.FromSRGB(navy.R, navy.G, navy.B)); d > 4 {
				t.Fatalf("a pixel of alpha %d is ΔE00 %.1f off the ring's colour", alpha, d)
			}
		}
	}
}

func TestNoGround(t *testing.T) {
	flat := image.NewNRGBA(image.Rect(0, 0, 50, 50))
	ramp := image.NewNRGBA(image.Rect(0, 0, 50, 50))
	cut := image.NewNRGBA(image.Rect(0, 0, 50, 50))
	inset := image.NewNRGBA(image.Rect(0, 0, 50, 50))
	for y := range 50 {
		for x := range 50 {
			flat.SetNRGBA(x, y, white)
			ramp.SetNRGBA(x, y, color.NRGBA{uint8(5 * x), uint8(5 * y), 90, 255})
			if math.Hypot(float64(x-25), float64(y-25)) < 20 {
				cut.SetNRGBA(x, y, white)
			}
			if x > 8 && x < 42 && y > 8 && y < 42 {
				inset.SetNRGBA(x, y, white)
				if x > 20 && x < 30 && y > 20 && y < 30 {
					inset.SetNRGBA(x, y, navy)
				}
			}
		}
	}
	for name, img := range map[string]image.Image{"all one colour": flat, "ramp": ramp, "cut out": cut} {
		if g := Find(drawn(img), lab); g != nil {
			t.Errorf("%s: a ground of %d pixels", name, g.Pixels)
		}
	}
	// A box within clear film is found as well.
	if g := Find(drawn(inset), lab); g == nil || g.Pixels != 33*33-9*9 {
		t.Errorf("box in clear film: %+v", g)
	}
}

func ExampleFind() {
	art := arttest.Of(draw(white, navy))
	g := Find(art, lab)
	fmt.Printf("%s takes %.0f %% of the picture\n", g.Colour.Hex(), float64(g.Pixels)/float64(art.Width*art.Height)*100)
	// Output: #ffffff takes 64 % of the picture
}
