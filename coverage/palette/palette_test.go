package palette

import (
	"fmt"
	"image"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"laydown/colour"
	"laydown/colour/icc"
	"laydown/coverage/artwork"
	"laydown/coverage/artwork/arttest"
)

// pixel is one pixel of a test's art.
type pixel struct {
	device artwork.Device
	alpha  uint8
}

// art lies in one row.
func art(space icc.Space, depth int, pixels ...pixel) *artwork.Art {
	d := artwork.NewDraft(artwork.Info{Width: len(pixels), Height: 1, Space: space, Depth: depth, HasAlpha: space == icc.RGB})
	for i, p := range pixels {
		d.Set(i, p.device, p.alpha)
	}
	return d.Art()
}

func TestCount(t *testing.T) {
	for name, c := range map[string]struct {
		art  *artwork.Art
		want []Colour
	}{
		"rgb": {art(icc.RGB, 8, pixel{artwork.Device{9, 8, 7}, 255}, pixel{artwork.Device{1, 2, 3}, 255}, pixel{artwork.Device{9, 8, 7}, 153}, pixel{artwork.Device{9, 8, 7}, 102}),
			[]Colour{{artwork.Device{9, 8, 7}, 1.6}, {artwork.Device{1, 2, 3}, 1}}},
		"rgb 16": {art(icc.RGB, 16, pixel{artwork.Device{9, 8, 7}, 255}, pixel{artwork.Device{9, 8, 7}, 0}),
			[]Colour{{artwork.Device{9, 8, 7}, 1}}},
		"cmyk": {art(icc.CMYK, 8, pixel{artwork.Device{9, 8, 7, 6}, 255}, pixel{artwork.Device{9, 8, 7, 6}, 255}, pixel{artwork.Device{0, 0, 0, 255}, 255}),
			[]Colour{{artwork.Device{9, 8, 7, 6}, 2}, {artwork.Device{0, 0, 0, 255}, 1}}},
		"equals": {art(icc.CMYK, 8, pixel{artwork.Device{2}, 255}, pixel{artwork.Device{1}, 255}), []Colour{{artwork.Device{1}, 1}, {artwork.Device{2}, 1}}},
	} {
		if got := Count(c.art); !slices.Equal(got, c.want) {
			t.Errorf("%s: %v, want %v", name, got, c.want)
		}
	}
}

// TestHalfClear has art that is half clear: an area of it counts by its alpha, beside
// solid art or alone; the soft edge of a solid shape does not, unless there is nothing
// else; and what can hardly be seen never does.
func TestHalfClear(t *testing.T) {
	red, blue := artwork.Device{200}, artwork.Device{0, 0, 200}
	run := func(n int, p pixel) []pixel { return slices.Repeat([]pixel{p}, n) }
	for name, c := range map[string]struct {
		pixels []pixel
		want   []Colour
	}{
		"tint at 40 %":       {run(10, pixel{red, 102}), []Colour{{red, 4}}},
		"beside solid":       {slices.Concat(run(20, pixel{blue, 255}), run(11, pixel{red, 102})), []Colour{{blue, 20}, {red, 4}}},
		"soft edge":          {slices.Concat(run(20, pixel{blue, 255}), []pixel{{red, 102}, {red, 40}, {red, 0}}), []Colour{{blue, 20}}},
		"nothing but edges":  {[]pixel{{red, 0}, {red, 51}, {red, 102}, {red, 0}}, []Colour{{red, 0.6}}},
		"hardly to be seen":  {run(10, pixel{red, 12}), nil},
		"nothing whatsoever": {run(10, pixel{red, 0}), nil},
	} {
		if got := Count(art(icc.RGB, 8, c.pixels...)); !slices.Equal(got, c.want) {
			t.Errorf("%s: %v, want %v", name, got, c.want)
		}
	}
	// A fade and the top edge of a shape, whose alpha changes from row to row.
	d := artwork.NewDraft(artwork.Info{Width: 30, Height: 64, Space: icc.RGB, HasAlpha: true})
	for y := range 64 {
		for x := range 30 {
			if x < 15 {
				d.Set(y*30+x, red, uint8(4*y))
			} else {
				d.Set(y*30+x, blue, uint8(min(255, max(0, (y-30)*60))))
			}
		}
	}
	w := NewWeights(d.Art())
	row := make([]uint8, 30)
	for y, want := range map[int][2]uint8{2: {0, 0}, 20: {80, 0}, 31: {124, 0}, 32: {128, 0}, 33: {132, 180}, 40: {160, 255}} {
		if w.Row(y, row); [2]uint8{row[5], row[25]} != want {
			t.Errorf("row %d: %d and %d, want %d", y, row[5], row[25], want)
		}
	}
}

func TestShares(t *testing.T) {
	lab := func(d artwork.Device) colour.Lab { return colour.FromSRGB(d[0], d[1], d[2]) }
	colours := []Colour{{artwork.Device{200, 0, 0}, 10}, {artwork.Device{202, 3, 1}, 5}, {artwork.Device{0, 0, 200}, 7}, {artwork.Device{90, 90, 90}, 1}}
	got := Shares(colours, lab, []colour.Lab{lab(artwork.Device{201, 1, 1}), lab(artwork.Device{0, 0, 198}), lab(artwork.Device{0, 0, 200})}, 5)
	if !slices.Equal(got, []float64{15, 0, 7}) { // the blue goes to the nearer of two
		t.Errorf("%v", got)
	}
}

func ExampleCount() {
	a := arttest.Of(&image.Gray{Pix: []uint8{5, 5, 200, 5, 5, 5}, Stride: 3, Rect: image.Rect(0, 0, 3, 2)})
	for _, c := range Count(a) {
		fmt.Println(c.Device[0], c.Pixels)
	}
	// Output:
	// 5 5
	// 200 1
}

func device(d artwork.Device) colour.Lab { return colour.FromSRGB(d[0], d[1], d[2]) }

// TestMainOfFlatArt finds the colours of a logo as they are, through the blends of
// its soft edges and the noise of compression.
func TestMainOfFlatArt(t *testing.T) {
	colours := []Colour{
		{artwork.Device{20, 60, 120}, 50000}, {artwork.Device{230, 40, 30}, 20000}, {artwork.Device{255, 255, 255}, 10000},
		{artwork.Device{21, 60, 120}, 3000}, {artwork.Device{20, 61, 119}, 2000}, // noise
	}
	for i := range 100 { // blends
		colours = append(colours, Colour{artwork.Device{uint8(20 + 2*i), 60, uint8(120 - i)}, 30})
	}
	got := Main(colours, device)
	if len(got) != 3 {
		t.Fatalf("%d colours %+v, want 3", len(got), got)
	}
	for i, want := range []Colour{{artwork.Device{20, 60, 120}, 55000}, {artwork.Device{230, 40, 30}, 20000}, {artwork.Device{255, 255, 255}, 10000}} {
		g := got[i]
		if g.Device != want.Device || g.Pixels < want.Pixels || g.Pixels > want.Pixels+1500 || !g.Flat || g.Lab != device(g.Device) {
			t.Errorf("%d: %+v, want %+v", i, g, want)
		}
	}
}

// TestMainOfClouds finds the middles of three clouds of colours, of which no
// single colour is frequent.
func TestMainOfClouds(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 4))
	var colours []Colour
	middles := [][3]float64{{200, 60, 50}, {40, 90, 160}, {225, 215, 180}}
	for i, m := range middles {
		for range 3000 {
			var d artwork.Device
			for k := range 3 {
				d[k] = uint8(math.Max(0, math.Min(255, m[k]+9*rng.NormFloat64())))
			}
			colours = append(colours, Colour{d, float64(10 * (3 - i))})
		}
	}
	got := Main(colours, device)
	for i, m := range middles {
		want := colour.FromSRGB(uint8(m[0]), uint8(m[1]), uint8(m[2]))
		if i >= len(got) || got[i].Flat || colour.DeltaE00(got[i].Lab, want) > 6 {
			t.Errorf("clouds %+v, want %v in place %d", got, want, i)
		}
	}
	if again := Main(colours, device); !slices.Equal(got, again) {
		t.Error("another run finds other colours")
	}
	if Main(nil, device) != nil {
		t.Error("colours of nothing")
	}
}

func ExampleMain() {
	lab := func(d artwork.Device) colour.Lab { return colour.FromSRGB(d[0], d[1], d[2]) }
	for _, c := range Main([]Colour{{artwork.Device{20, 60, 120}, 700}, {artwork.Device{240, 230, 210}, 200}}, lab) {
		fmt.Println(c.Lab.Hex(), c.Pixels, c.Flat)
	}
	// Output:
	// #143c78 700 true
	// #f0e6d2 200 true
}
