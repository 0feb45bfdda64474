package palette

import (
	"fmt"
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
