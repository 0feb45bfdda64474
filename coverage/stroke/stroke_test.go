package stroke

import (
	"bytes"
	"fmt"
	"image"
	"image/color"
	"image/jpeg"
	"math"
	"slices"
	"testing"

	"laydown/colour/reference"
)

// rgb is a colour with how much art there is.
type rgb [4]uint8

var (
	film  = rgb{20, 20, 24, 0}
	white = rgb{255, 255, 255, 255}
	red   = rgb{190, 40, 45, 255}
	navy  = rgb{25, 35, 90, 255}
	pale  = rgb{230, 215, 160, 255}
)

// draw makes a square picture of what at tells of every place, in pixels from its
// middle, 8 × 8 samples a pixel.
func draw(side int, at func(x, y float64) rgb) Picture {
	p := Picture{Width: side, Height: side, Pix: make([]uint8, 4*side*side)}
	const n = 8
	for y := range side {
		for x := range side {
			var sum [4]float64
			for k := range n * n {
				c := at(float64(x)+(float64(k%n)+0.5)/n-float64(side)/2, float64(y)+(float64(k/n)+0.5)/n-float64(side)/2)
				for i, v := range c {
					sum[i] += float64(v)
				}
			}
			for i, v := range sum {
				p.Pix[4*(y*side+x)+i] = uint8(math.Round(v / (n * n)))
			}
		}
	}
	return p
}

// turn gives coordinates in axes turned by an angle.
func turn(x, y, degrees float64) (u, v float64) {
	s, c := math.Sincos(degrees * math.Pi / 180)
	return x*c + y*s, y*c - x*s
}

// usual finds strokes under 6 pixels and dots under 4 at any contrast of 40 codes.
func usual(p Picture) Options {
	return Options{WidestPX: 6, DotPX: 4, Noise: 2, EdgePX: 4, SeamPX: 0.8, Flats: p.Flats(),
		LimitPX: func([3]uint8, uint8) float64 { return 6 },
		Seen: func(a, b [3]uint8) bool {
			d, _ := step(pixel{a[0], a[1], a[2]}, pixel{b[0], b[1], b[2]})
			return length(d) > 40
		}}
}

// longest is the longest stroke that is no pointed tip, and whether there is one of at
// least a length.
func longest(all []Stroke, leastPX float64) (best Stroke, ok bool) {
	for _, s := range all {
		if s.LengthPX > best.LengthPX {
			best = s
		}
	}
	return best, best.LengthPX >= leastPX
}

// TestWidths draws strokes of known width at every angle, on one colour, between two,
// on clear film and on shading, and holds the width to a fifth of a pixel.
func TestWidths(t *testing.T) {
	shade := func(x, y float64) rgb { return rgb{uint8(120 + x), uint8(110 + y/2), 90, 255} }
	flat := func(c rgb) func(x, y float64) rgb { return func(x, y float64) rgb { return c } }
	two := func(x, y float64) rgb {
		if x < 0 {
			return red
		}
		return pale
	}
	angles := reference.Sweep(t, []float64{0, 9, 22.5, 37, 45, 58, 90, 131}, func(deg float64) bool { return deg == 22.5 || deg == 45 || deg == 90 })
	for _, c := range []struct {
		name string
		ink  rgb
		on   func(u, v float64) rgb
	}{
		{"white on red", white, flat(red)},
		{"navy on pale", navy, flat(pale)},
		{"red on film", red, flat(film)},
		{"film between red", film, flat(red)},
		{"navy between red and pale", navy, two},
		{"navy on shading", navy, shade},
	} {
		worst := 0.0
		for _, width := range []float64{1.2, 2, 3, 4.5, 5.5} {
			for _, deg := range angles {
				p := draw(90, func(x, y float64) rgb {
					u, v := turn(x-0.3, y+0.2, deg)
					if math.Abs(u) < width/2 && math.Abs(v) < 35 {
						return c.ink
					}
					return c.on(u, v)
				})
				found, _ := Find(p, usual(p))
				s, ok := longest(found, 50)
				if !ok {
					t.Errorf("%s, %g px, %g°: not found in %d", c.name, width, deg, len(found))
					continue
				}
				// What is thinner than a pixel and a half and lies along the pixels may nowhere
				// show its whole colour.
				allowed := 0.2
				if width < 1.5 && math.Mod(deg, 90) == 0 {
					allowed = 0.35
				}
				if e := math.Abs(s.WidthPX - width); e > allowed {
					t.Errorf("%s, %g px, %g°: measured %.2f", c.name, width, deg, s.WidthPX)
				} else {
					worst = math.Max(worst, e)
				}
				// Caps are no length; near 45° some counts along rows and along columns.
				if e := math.Abs(s.LengthPX - 70); e > 13 {
					t.Errorf("%s, %g px, %g°: length %.1f, drawn 70", c.name, width, deg, s.LengthPX)
				}
			}
		}
		t.Logf("%s: worst error %.3f px", c.name, worst)
	}
}

// TestNoStroke draws what is no stroke at several angles.
func TestNoStroke(t *testing.T) {
	for _, c := range []struct {
		name string
		at   func(u, v float64) rgb
	}{
		{"an edge", func(u, v float64) rgb {
			if u < 0 {
				return red
			}
			return pale
		}},
		{"a corner", func(u, v float64) rgb {
			if u > -20 && v > -20 {
				return navy
			}
			return film
		}},
		{"a wedge", func(u, v float64) rgb {
			if math.Abs(u) < 0.3*(v+30) && v < 30 {
				return navy
			}
			return pale
		}},
		{"a disc", func(u, v float64) rgb {
			if math.Hypot(u, v) < 9 {
				return red
			}
			return film
		}},
		{"a wide bar", func(u, v float64) rgb {
			if math.Abs(u) < 4 {
				return white
			}
			return red
		}},
		{"shading", func(u, v float64) rgb {
			w := uint8(math.Max(0, math.Min(255, 128+12*u)))
			return rgb{w, w, w, 255}
		}},
		// Two shapes whose antialiased edges abut let a quarter of white through where
		// both cover half of a pixel.
		{"a seam", func(u, v float64) rgb {
			switch {
			case math.Abs(u) < 0.15:
				return white
			case u < 0:
				return red
			}
			return navy
		}},
	} {
		for _, deg := range []float64{0, 17, 45, 71} {
			p := draw(80, func(x, y float64) rgb {
				u, v := turn(x+0.2, y-0.1, deg)
				return c.at(u, v)
			})
			o := usual(p)
			o.Flats = append(o.Flats, [3]uint8{255, 255, 255})
			found, dots := Find(p, o)
			if s, ok := longest(found, 12); ok {
				t.Errorf("%s at %g°: a stroke of %.2f px, %.0f long", c.name, deg, s.WidthPX, s.LengthPX)
			}
			if len(dots) > 0 {
				t.Errorf("%s at %g°: %d dots, %+v", c.name, deg, len(dots), dots[0])
			}
		}
	}
}

// TestDots draws discs, and what is none, on one colour.
func TestDots(t *testing.T) {
	disc := func(r float64) func(x, y float64) bool {
		return func(x, y float64) bool { return math.Hypot(x-0.2, y-0.3) < r }
	}
	for _, c := range []struct {
		name    string
		ink, on rgb
		in      func(x, y float64) bool
		area    float64 // 0 for no dot
	}{
		{"a dot", navy, pale, disc(1.5), math.Pi * 2.25},
		{"a small dot", white, red, disc(0.6), math.Pi * 0.36},
		{"a pinhole", film, red, disc(1.2), math.Pi * 1.44},
		{"a dot that holds", navy, pale, disc(3), 0},
		{"a line", navy, pale, func(x, y float64) bool { return math.Abs(x) < 1 && math.Abs(y) < 10 }, 0},
		{"a line aslant", navy, pale, func(x, y float64) bool { return math.Abs(x-y) < 1.4 && math.Abs(x+y) < 14 }, 0},
		{"a sliver", white, navy, func(x, y float64) bool { return math.Abs(x) < 0.2 && math.Abs(y) < 1.6 }, 0},
		{"a tip", white, navy, func(x, y float64) bool { return math.Abs(x) < 0.3*y }, 0},
	} {
		p := draw(40, func(x, y float64) rgb {
			if c.in(x, y) {
				return c.ink
			}
			return c.on
		})
		o := usual(p)
		o.Flats, o.LeastDotPX = [][3]uint8{[3]uint8(c.ink[:3]), [3]uint8(c.on[:3])}, 1
		_, dots := Find(p, o)
		switch {
		case c.area == 0 && len(dots) > 0:
			t.Errorf("%s: %+v", c.name, dots)
		case c.area > 0 && len(dots) != 1:
			t.Errorf("%s: %d dots", c.name, len(dots))
		case c.area > 0 && math.Abs(dots[0].AreaPX-c.area) > math.Max(0.1*c.area, 0.7): // a small one nowhere shows its whole colour
			t.Errorf("%s: area %.2f, drawn %.2f", c.name, dots[0].AreaPX, c.area)
		}
	}
}

// TestWidthsThatMeet holds a thin line to be found though a thicker one goes on with it.
func TestWidthsThatMeet(t *testing.T) {
	for _, deg := range []float64{0, 20, 45, 80} {
		p := draw(90, func(x, y float64) rgb {
			u, v := turn(x, y, deg)
			if math.Abs(v) < 35 && (math.Abs(u) < 0.9 || v > 0 && math.Abs(u) < 2.5) {
				return navy
			}
			return pale
		})
		found, _ := Find(p, usual(p))
		thin := slices.IndexFunc(found, func(s Stroke) bool { return math.Abs(s.WidthPX-1.8) < 0.25 && s.LengthPX > 25 })
		thick := slices.IndexFunc(found, func(s Stroke) bool { return math.Abs(s.WidthPX-5) < 0.15 && s.LengthPX > 25 })
		if thin < 0 || thick < 0 {
			t.Errorf("at %g°: %d strokes, the thin one %d, the thick one %d", deg, len(found), thin, thick)
		}
	}
}

// TestCrossing holds the crossing of two thin lines, as a published star of them has it at
// 200 pixels per inch, to be no dot on one of them.
func TestCrossing(t *testing.T) {
	art := [][]uint8{
		{0x9e, 0xc8, 0xc6, 0xbe, 0xab, 0x36, 0x09, 0x00, 0x00, 0xad, 0x21, 0x00, 0x00, 0x00},
		{0x00, 0x00, 0x07, 0x97, 0x93, 0x96, 0xc4, 0xc9, 0xa1, 0xe2, 0x3e, 0x0e, 0x00, 0x00},
		{0x00, 0x00, 0x00, 0xa8, 0x24, 0x00, 0x00, 0x04, 0x4d, 0xc6, 0x8e, 0xbf, 0xcc, 0xa9},
		{0x00, 0x00, 0x00, 0xc8, 0x03, 0x00, 0x00, 0x00, 0x62, 0x6d, 0x00, 0x00, 0x01, 0x51},
	}
	p := draw(40, func(x, y float64) rgb { return film })
	for v, row := range art {
		for u, a := range row {
			copy(p.Pix[4*((v+18)*p.Width+u+12):], []uint8{255 - a, 255 - a, 255 - a, a})
		}
	}
	_, dots := Find(p, usual(p))
	for _, d := range dots {
		if d.InkArt > 0 { // the cut of the art leaves a hole
			t.Errorf("%+v", d)
		}
	}
}

// TestCompressed holds what JPEG compression leaves around edges of saturated colours
// to be no stroke, and strokes to be found in it.
func TestCompressed(t *testing.T) {
	for _, quality := range []int{60, 75, 90} {
		for _, line := range []bool{false, true} {
			p := draw(160, func(x, y float64) rgb {
				u, v := turn(x, y, 20)
				switch {
				case line && math.Abs(u-20) < 1.5 && math.Abs(v) < 50:
					return white
				case math.Abs(u) < 50 && math.Abs(v) < 60:
					return rgb{20, 150, 30, 255}
				}
				return red
			})
			img := image.NewNRGBA(image.Rect(0, 0, p.Width, p.Height))
			img.Pix = p.Pix
			var b bytes.Buffer
			if err := jpeg.Encode(&b, img, &jpeg.Options{Quality: quality}); err != nil {
				t.Fatal(err)
			}
			back, err := jpeg.Decode(&b)
			if err != nil {
				t.Fatal(err)
			}
			for i := range p.Width * p.Height {
				c := color.NRGBAModel.Convert(back.At(i%p.Width, i/p.Width)).(color.NRGBA)
				copy(p.Pix[4*i:], []uint8{c.R, c.G, c.B, 255})
			}
			o := usual(p)
			o.Noise, o.Ringing, o.EdgePX = 6, 0.25, 5
			found, dots := Find(p, o)
			if len(dots) > 0 {
				t.Errorf("quality %d, line %v: %d dots, %+v", quality, line, len(dots), dots[0])
			}
			s, ok := longest(found, 20)
			if ok != line {
				t.Errorf("quality %d, line %v: %.2f px, %.0f long", quality, line, s.WidthPX, s.LengthPX)
			} else if line && math.Abs(s.WidthPX-3) > 0.5 {
				t.Errorf("quality %d: measured %.2f px, drawn 3", quality, s.WidthPX)
			}
		}
	}
}

// FuzzFind holds any picture to be looked through, the same every time.
func FuzzFind(f *testing.F) {
	f.Add(uint8(7), []byte("a picture of so many bytes, which is one of noise"))
	f.Add(uint8(1), []byte{0, 0, 0, 0})
	f.Fuzz(func(t *testing.T, width uint8, pix []byte) {
		w := max(1, int(width))
		h := len(pix) / 4 / w
		p := Picture{Width: w, Height: h, Pix: pix[:4*w*h]}
		if h == 0 {
			return
		}
		o := usual(p)
		o.Ringing = float64(width%3) / 8
		a, b := fmt.Sprint(Find(p, o)), fmt.Sprint(Find(p, o))
		if a != b {
			t.Errorf("%s, then %s", a, b)
		}
	})
}

func ExampleFind() {
	// A white line of 3 pixels on red.
	p := Picture{Width: 60, Height: 60, Pix: make([]uint8, 4*60*60)}
	for i := range 60 * 60 {
		c := rgb{190, 40, 45, 255}
		if x, y := i%60, i/60; x >= 30 && x < 33 && y > 5 && y < 55 {
			c = white
		}
		copy(p.Pix[4*i:], c[:])
	}
	strokes, _ := Find(p, Options{WidestPX: 6, Noise: 2, EdgePX: 4,
		LimitPX: func(ink [3]uint8, art uint8) float64 { return 6 },
		Seen:    func(a, b [3]uint8) bool { return a != b }})
	for _, s := range strokes {
		fmt.Printf("%.1f pixels wide, %.0f long\n", s.WidthPX, s.LengthPX)
	}
	// Output: 3.0 pixels wide, 49 long
}
