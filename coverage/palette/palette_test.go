package palette

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"laydown/colour"
	"laydown/colour/icc"
	"laydown/coverage/artwork"
)

func art(space icc.Space, depth int, pix ...byte) *artwork.Art {
	a := &artwork.Art{Step: 4, AlphaAt: -1, Pix: pix}
	if space == icc.RGB {
		a.AlphaAt = 3
	}
	a.Space, a.Depth, a.Width, a.Height = space, depth, len(pix)/4/(depth/8), 1
	return a
}

func TestCount(t *testing.T) {
	for name, c := range map[string]struct {
		art  *artwork.Art
		want []Colour
	}{
		"rgb": {art(icc.RGB, 8, 9, 8, 7, 255, 1, 2, 3, 255, 9, 8, 7, 128, 9, 8, 7, 127),
			[]Colour{{[4]uint8{9, 8, 7}, 2}, {[4]uint8{1, 2, 3}, 1}}},
		"rgb 16": {art(icc.RGB, 16, 9, 9, 8, 8, 7, 7, 255, 255, 9, 9, 8, 8, 7, 7, 0, 0),
			[]Colour{{[4]uint8{9, 8, 7}, 1}}},
		"cmyk": {art(icc.CMYK, 8, 9, 8, 7, 6, 9, 8, 7, 6, 0, 0, 0, 255),
			[]Colour{{[4]uint8{9, 8, 7, 6}, 2}, {[4]uint8{0, 0, 0, 255}, 1}}},
		"equals": {art(icc.CMYK, 8, 2, 0, 0, 0, 1, 0, 0, 0), []Colour{{[4]uint8{1}, 1}, {[4]uint8{2}, 1}}},
	} {
		if got := Count(c.art); !slices.Equal(got, c.want) {
			t.Errorf("%s: %v, want %v", name, got, c.want)
		}
	}
}

func TestShares(t *testing.T) {
	lab := func(d [4]uint8) colour.Lab { return colour.FromSRGB(d[0], d[1], d[2]) }
	colours := []Colour{{[4]uint8{200, 0, 0}, 10}, {[4]uint8{202, 3, 1}, 5}, {[4]uint8{0, 0, 200}, 7}, {[4]uint8{90, 90, 90}, 1}}
	got := Shares(colours, lab, []colour.Lab{lab([4]uint8{201, 1, 1}), lab([4]uint8{0, 0, 198}), lab([4]uint8{0, 0, 200})}, 5)
	if !slices.Equal(got, []uint64{15, 0, 7}) { // the blue goes to the nearer of two
		t.Errorf("%v", got)
	}
}

func ExampleCount() {
	a := &artwork.Art{Step: 1, AlphaAt: -1, Pix: []byte{5, 5, 200}}
	a.Space, a.Depth, a.Width, a.Height = icc.Gray, 8, 3, 1
	for _, c := range Count(a) {
		fmt.Println(c.Device[0], c.Pixels)
	}
	// Output:
	// 5 2
	// 200 1
}

func device(d [4]uint8) colour.Lab { return colour.FromSRGB(d[0], d[1], d[2]) }

// TestMainOfFlatArt finds the colours of a logo as they are, through the blends of
// its soft edges and the noise of compression.
func TestMainOfFlatArt(t *testing.T) {
	colours := []Colour{
		{[4]uint8{20, 60, 120}, 50000}, {[4]uint8{230, 40, 30}, 20000}, {[4]uint8{255, 255, 255}, 10000},
		{[4]uint8{21, 60, 120}, 3000}, {[4]uint8{20, 61, 119}, 2000}, // noise
	}
	for i := range 100 { // blends
		colours = append(colours, Colour{[4]uint8{uint8(20 + 2*i), 60, uint8(120 - i)}, 30})
	}
	got := Main(colours, device)
	if len(got) != 3 {
		t.Fatalf("%d colours %+v, want 3", len(got), got)
	}
	for i, want := range []Colour{{[4]uint8{20, 60, 120}, 55000}, {[4]uint8{230, 40, 30}, 20000}, {[4]uint8{255, 255, 255}, 10000}} {
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
			var d [4]uint8
			for k := range 3 {
				d[k] = uint8(math.Max(0, math.Min(255, m[k]+9*rng.NormFloat64())))
			}
			colours = append(colours, Colour{d, uint64(10 * (3 - i))})
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
	lab := func(d [4]uint8) colour.Lab { return colour.FromSRGB(d[0], d[1], d[2]) }
	for _, c := range Main([]Colour{{[4]uint8{20, 60, 120}, 700}, {[4]uint8{240, 230, 210}, 200}}, lab) {
		fmt.Println(c.Lab.Hex(), c.Pixels, c.Flat)
	}
	// Output:
	// #143c78 700 true
	// #f0e6d2 200 true
}
