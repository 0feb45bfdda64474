package flaw

import (
	"bytes"
	"fmt"
	"image"
	"image/color"
	"image/jpeg"
	"image/png"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"sync"
	"testing"

	"golang.org/x/image/font"
	"golang.org/x/image/font/gofont/goregular"
	"golang.org/x/image/font/opentype"
	"golang.org/x/image/math/fixed"

	"laydown/colour"
	"laydown/colour/icc"
	"laydown/colour/layer"
	"laydown/colour/press"
	"laydown/colour/press/presstest"
	"laydown/colour/reference"
	"laydown/coverage/artwork"
	"laydown/coverage/plate"
)

// standIn is the press that drawn art is separated for.
var standIn = sync.OnceValues(func() (*press.Separator, *press.Model) {
	p := presstest.StandIn()
	sep, err := p.Separate(icc.SRGB(), presstest.Usual)
	if err != nil {
		panic(err)
	}
	m, err := p.Model()
	if err != nil {
		panic(err)
	}
	return sep, m
})

var all = Limits{SmallestLineMM: 0.35, SmallestGapMM: 0.7, SmallestDotMM: 0.3, SmallestTextMM: 1.2, SmallestTonePercent: 5, FadeWidthMM: 0.25, SoftEdgeMM: 0.15,
	GoodPPI: 300, LeastPPI: 150, TACPercent: 240, HeavyPercent: 280, HeavyWidthMM: 30, BandDeltaE: 1, GamutDeltaE: 6}

func encodePNG(t testing.TB, img image.Image) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := png.Encode(&b, img); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

// compressed is a picture after JPEG compression.
func compressed(t testing.TB, img image.Image, quality int) image.Image {
	t.Helper()
	var b bytes.Buffer
	if err := jpeg.Encode(&b, img, &jpeg.Options{Quality: quality}); err != nil {
		t.Fatal(err)
	}
	back, err := jpeg.Decode(&b)
	if err != nil {
		t.Fatal(err)
	}
	return back
}

// scan makes a subject of an image the way a proof does.
func scan(t testing.TB, img image.Image, dpi float64, o plate.WhiteOptions) Subject {
	t.Helper()
	f, err := artwork.Read(encodePNG(t, img), "drawn.png", artwork.Options{})
	if err != nil {
		t.Fatal(err)
	}
	f.StatesSRGB = true
	return scanFile(t, f, dpi, o)
}

// scanFile is scan for a file, of screen colours, that was opened.
func scanFile(t testing.TB, f *artwork.File, dpi float64, o plate.WhiteOptions) Subject {
	t.Helper()
	art, err := f.Decode()
	if err != nil {
		t.Fatal(err)
	}
	sep, m := standIn()
	o.PixelMM = 25.4 / dpi
	plates := plate.New(art.Width, art.Height)
	if err := plates.Fill(art, sep, o); err != nil {
		t.Fatal(err)
	}
	paper := m.Lab([4]float64{}).XYZ(colour.D50)
	link, err := icc.SRGB().ToPCS(icc.Relative)
	if err != nil {
		t.Fatal(err)
	}
	s := Subject{Art: art, Plates: plates, PixelMM: o.PixelMM, White: o.Rule, WhitePercent: o.DensityPercent, ChokeMM: o.ChokeMM, Limits: all, Printed: m.Lab,
		Design: func(d [4]float64) colour.Lab {
			return link.XYZ(d[:3]).Scale(paper, colour.D50).Lab(colour.D50)
		}}
	if o.Rule == plate.NoWhite {
		upon(whiteItem, false)(&s)
	} else {
		upon(darkItem, false)(&s)
	}
	return s
}

// darkItem and whiteItem are items.
var (
	darkItem  = colour.Lab{L: 8, B: -2}
	whiteItem = colour.Lab{L: 95.5, B: 1}
)

// upon prints a subject on an item, with opaque white toner or on a film of its own white.
func upon(item colour.Lab, ownWhite bool) func(*Subject) {
	return func(s *Subject) {
		_, m := standIn()
		opaque, err := layer.Contrast(1)
		if err != nil {
			panic(err)
		}
		stack, err := layer.Lay(item, m.Lab([4]float64{}), opaque)
		if err != nil {
			panic(err)
		}
		s.Item, s.OwnWhite = item, ownWhite
		s.Look = func(tones [4]float64, white float64) colour.Lab {
			if ownWhite {
				white = 1
			}
			return stack.Look(m.Lab(tones), white)
		}
	}
}

var (
	clear0 = color.NRGBA{}
	white  = color.NRGBA{255, 255, 255, 255}
	moss   = color.NRGBA{70, 105, 60, 255} // these print as designed
	cream  = color.NRGBA{240, 232, 214, 255}
	brick  = color.NRGBA{160, 70, 55, 255}
	slate  = color.NRGBA{60, 70, 90, 255}
)

// paint draws what at tells of every place, in millimetres from the middle, 6 × 6
// samples a pixel.
func paint(widthMM, heightMM, dpi float64, at func(x, y float64) color.NRGBA) *image.NRGBA {
	w, h := int(math.Round(widthMM/25.4*dpi)), int(math.Round(heightMM/25.4*dpi))
	img := image.NewNRGBA(image.Rect(0, 0, w, h))
	mm := 25.4 / dpi
	const n = 6
	for y := range h {
		for x := range w {
			var r, g, b, a float64
			first := at((float64(x)+0.5)*mm-widthMM/2, (float64(y)+0.5)*mm-heightMM/2)
			same := true
			for k := range n * n {
				c := at((float64(x)+(float64(k%n)+0.5)/n)*mm-widthMM/2, (float64(y)+(float64(k/n)+0.5)/n)*mm-heightMM/2)
				same = same && c == first
				al := float64(c.A)
				r, g, b, a = r+float64(c.R)*al, g+float64(c.G)*al, b+float64(c.B)*al, a+al
			}
			if same {
				img.SetNRGBA(x, y, first)
			} else if a > 0 {
				img.SetNRGBA(x, y, color.NRGBA{uint8(r/a + 0.5), uint8(g/a + 0.5), uint8(b/a + 0.5), uint8(a/(n*n) + 0.5)})
			}
		}
	}
	return img
}

// words sets text with letters whose x is so high; the font is Go's own.
func words(t testing.TB, img *image.NRGBA, dpi, xHeightMM float64, text string, c color.NRGBA) {
	t.Helper()
	f, err := opentype.Parse(goregular.TTF)
	if err != nil {
		t.Fatal(err)
	}
	// The font's x is 0.53 of its size.
	face, err := opentype.NewFace(f, &opentype.FaceOptions{Size: xHeightMM / 0.53 / 25.4 * dpi, DPI: 72})
	if err != nil {
		t.Fatal(err)
	}
	d := font.Drawer{Dst: img, Src: image.NewUniform(c), Face: face}
	d.Dot = fixed.Point26_6{X: (fixed.I(img.Rect.Dx()) - d.MeasureString(text)) / 2, Y: fixed.I(img.Rect.Dy()/2 + int(xHeightMM/2/25.4*dpi))}
	d.DrawString(text)
}

func disc(x, y, cx, cy, r float64) bool { return math.Hypot(x-cx, y-cy) < r }

// turned gives the coordinates in axes turned by an angle.
func turned(x, y, degrees float64) (u, v float64) {
	s, c := math.Sincos(degrees * math.Pi / 180)
	return x*c + y*s, y*c - x*s
}

// known is art with known flaws.
type known struct {
	name string
	want []Kind
	may  []Kind // that come with it
	find func(t testing.TB) []Finding
}

// corpus draws art with one known flaw each, and art with none, at several angles
// and resolutions. What it holds is of our own invention.
func corpus() (out []known) {
	under := plate.WhiteOptions{Rule: plate.Under, DensityPercent: 100}
	none := plate.WhiteOptions{Rule: plate.NoWhite}
	for _, dpi := range []float64{150, 300, 600} {
		var coarse []Kind
		if dpi < 300 {
			coarse = []Kind{LowResolution, SoftEdge}
		}
		for _, deg := range []float64{0, 20, 45, 77} {
			if dpi == 600 && deg != 20 {
				continue
			}
			add := func(name string, want, may []Kind, o plate.WhiteOptions, wMM, hMM float64, at func(x, y float64) color.NRGBA, more ...func(*Subject)) {
				out = append(out, known{name: fmt.Sprintf("%s, %g°, %g dpi", name, deg, dpi), want: want, may: append(slices.Clone(may), coarse...),
					find: func(t testing.TB) []Finding {
						s := scan(t, paint(wMM, hMM, dpi, at), dpi, o)
						for _, f := range more {
							f(&s)
						}
						found, err := Find(s)
						if err != nil {
							t.Fatal(err)
						}
						return found
					}})
			}
			// Clean art, on clear film and on white.
			shapes := func(ground color.NRGBA) func(x, y float64) color.NRGBA {
				return func(x, y float64) color.NRGBA {
					u, v := turned(x, y, deg)
					switch {
					case math.Abs(u) < 1.2 && math.Abs(v) < 4:
						return cream
					case disc(x, y, 0, 0, 6):
						return moss
					case disc(x, y, 0, 0, 8):
						return brick
					case math.Abs(u-10) < 0.9 && math.Abs(v) < 3:
						return slate
					}
					return ground
				}
			}
			add("clean on clear", nil, nil, under, 26, 26, shapes(clear0))
			add("clean on white, no white toner", nil, nil, none, 26, 26, shapes(white))
			smooth := func(x, y float64) color.NRGBA {
				if !disc(x, y, 0, 0, 11) {
					return clear0
				}
				u, v := turned(x, y, deg)
				return color.NRGBA{uint8(130 + 5*u + 3*math.Sin(v)), uint8(120 + 4*v), uint8(110 - 3*u), 255}
			}
			add("clean, smooth ramps", nil, nil, under, 26, 26, smooth)

			bar := func(width float64, ink, on color.NRGBA) func(x, y float64) color.NRGBA {
				return func(x, y float64) color.NRGBA {
					u, v := turned(x-0.013, y+0.021, deg)
					if math.Abs(u) < width/2 && math.Abs(v) < 5 {
						return ink
					}
					if on.A != 0 && disc(x, y, 0, 0, 9) {
						return on
					}
					return clear0
				}
			}
			add("fine line on clear", []Kind{FineLine}, []Kind{LostWhite}, under, 22, 22, bar(0.2, brick, clear0))
			add("fine line of one colour on another", []Kind{FineLine}, nil, under, 22, 22, bar(0.3, cream, slate))
			add("line that holds", nil, nil, under, 22, 22, bar(0.5, brick, clear0))
			add("line of one colour on another that holds", nil, nil, under, 22, 22, bar(0.5, cream, slate))
			choked := under
			choked.ChokeMM = 0.3
			add("line that the choke eats", []Kind{LostWhite}, nil, choked, 22, 22, bar(0.5, brick, clear0))
			pale := brick
			pale.A = 55
			little := under
			little.ChokeMM = 0.04
			add("pale line that keeps its white", []Kind{FineLine}, []Kind{FadeOut}, little, 22, 22, bar(0.3, pale, clear0))

			gap := func(width float64) func(x, y float64) color.NRGBA {
				return func(x, y float64) color.NRGBA {
					u, v := turned(x-0.017, y+0.009, deg)
					if math.Abs(v) < 5 && math.Abs(u) < 6 && math.Abs(u) > width/2 {
						return moss
					}
					return clear0
				}
			}
			add("narrow gap", []Kind{NarrowGap}, nil, under, 22, 22, gap(0.4))
			add("gap that stays open", nil, nil, under, 22, 22, gap(1))

			dots := func(diameter float64, ink, on color.NRGBA) func(x, y float64) color.NRGBA {
				return func(x, y float64) color.NRGBA {
					u, v := turned(x, y, deg)
					i, j := math.Round(u/3), math.Round(v/3)
					if math.Abs(i) <= 1 && math.Abs(j) <= 1 && math.Hypot(u-3*i, v-3*j) < diameter/2 {
						return ink
					}
					return on
				}
			}
			if dpi > 150 { // there such dots are a pixel
				add("specks", []Kind{Speck}, nil, under, 16, 16, dots(0.22, brick, clear0))
				ring := func(x, y float64) color.NRGBA {
					if disc(x, y, 0, 0, 7) {
						return dots(0.22, clear0, moss)(x, y)
					}
					return clear0
				}
				add("pinholes", []Kind{Speck}, nil, under, 18, 18, ring)
			}
			add("dots that hold", nil, nil, under, 16, 16, dots(0.9, brick, clear0))

			glow := func(inner, outer float64) func(x, y float64) color.NRGBA {
				return func(x, y float64) color.NRGBA {
					c := brick
					c.A = uint8(255 * math.Max(0, math.Min(1, (outer-math.Hypot(x, y))/(outer-inner))))
					return c
				}
			}
			add("glow", []Kind{FadeOut}, nil, under, 24, 24, glow(6, 11))
			if dpi > 300 { // elsewhere a fade of this width is antialiasing, or resolution
				add("soft edge", []Kind{SoftEdge}, []Kind{LowResolution}, under, 24, 24, glow(6, 6.2))
			}
			run := func(x, y float64) color.NRGBA {
				u, v := turned(x, y, deg)
				t := math.Max(0, math.Min(1, (u+10)/16))
				if math.Abs(v) > 6 || u > 10 {
					return white
				}
				return color.NRGBA{uint8(255 - 95*t), uint8(255 - 185*t), uint8(255 - 200*t), 255}
			}
			add("tint that runs to nothing", []Kind{FadeOut}, []Kind{FaintTint}, none, 28, 28, run)
			add("faint tint", []Kind{FaintTint}, nil, under, 22, 22, func(x, y float64) color.NRGBA {
				if u, v := turned(x, y, deg); math.Abs(u) < 5 && math.Abs(v) < 5 {
					return color.NRGBA{250, 250, 250, 255}
				}
				return clear0
			})

			steps := func(d float64) color.NRGBA { // 20 levels over 44 mm
				q := math.Floor(d/2.2) * 2.2
				return color.NRGBA{uint8(60 + 2.2*q), uint8(90 + 1.8*q), uint8(110 + 1.6*q), 255}
			}
			within := func(x, y, r float64, c color.NRGBA) color.NRGBA {
				if disc(x, y, 0, 0, r) {
					return c
				}
				return clear0
			}
			if dpi == 150 || deg == 20 {
				add("banding, linear", []Kind{Banding}, nil, under, 48, 48, func(x, y float64) color.NRGBA {
					u, _ := turned(x, y, deg)
					return within(x, y, 22, steps(u+22))
				})
				add("banding, radial", []Kind{Banding}, nil, under, 48, 48, func(x, y float64) color.NRGBA {
					return within(x, y, 22, steps(44-2*math.Hypot(x, y)))
				})
				heavy := color.NRGBA{70, 30, 25, 255}
				add("heavy area", []Kind{HeavyArea}, nil, under, 48, 48, func(x, y float64) color.NRGBA {
					u, v := turned(x, y, deg)
					if math.Abs(u) < 16 && math.Abs(v) < 16 {
						return heavy
					}
					return clear0
				})
				add("heavy, but narrow", nil, nil, under, 48, 48, func(x, y float64) color.NRGBA {
					u, v := turned(x, y, deg)
					if math.Abs(u) < 16 && math.Abs(v) < 10 {
						return heavy
					}
					return clear0
				})
			}
			rng := rand.New(rand.NewPCG(uint64(dpi), uint64(deg)))
			add("white box", []Kind{BackgroundBox}, nil, under, 26, 26, shapes(white))
			add("white box with choked white", []Kind{BackgroundBox}, nil, little, 26, 26, shapes(white))
			add("white box, pale art and no white", nil, []Kind{FaintTint}, none, 26, 26, func(x, y float64) color.NRGBA {
				if math.Abs(x) < 6 && math.Abs(y) < 6 { // within ΔE 4 of the ground
					return color.NRGBA{246, 246, 246, 255}
				}
				return shapes(white)(x-12, y-12)
			})
			add("noisy off-white box", []Kind{BackgroundBox}, []Kind{FaintTint}, none, 26, 26, func(x, y float64) color.NRGBA {
				c := shapes(color.NRGBA{248, 246, 240, 255})(x, y)
				if c.R == 248 {
					n := uint8(rng.IntN(3))
					c.R, c.G, c.B = c.R-n, c.G-n, c.B-uint8(rng.IntN(3))
				}
				return c
			})
			add("out of gamut", []Kind{OutOfGamut}, nil, under, 22, 22, func(x, y float64) color.NRGBA {
				return within(x, y, 8, color.NRGBA{20, 60, 250, 255})
			})
			add("larger than the item", []Kind{TooLarge}, nil, under, 26, 26, shapes(clear0), func(s *Subject) {
				s.Limits.PrintableWidthMM, s.Limits.PrintableHeightMM = 25, 40
			})
			add("a material that the process is not for", []Kind{WrongItem}, nil, under, 26, 26, shapes(clear0), func(s *Subject) {
				s.Material, s.Unsuited = "glass", true
			})
			// Black on a dark item and white on a white one, in a part of the art, all around it,
			// within it and where there is white to tell it by.
			black, deep := color.NRGBA{12, 12, 14, 255}, []Kind{OutOfGamut}
			pair := func(first, second color.NRGBA) func(x, y float64) color.NRGBA {
				return func(x, y float64) color.NRGBA {
					u, v := turned(x, y, deg)
					switch {
					case math.Abs(u+4) < 2.5 && math.Abs(v) < 6:
						return first
					case math.Abs(u-4) < 2.5 && math.Abs(v) < 6:
						return second
					}
					return clear0
				}
			}
			within0 := func(inner, outer color.NRGBA) func(x, y float64) color.NRGBA {
				return func(x, y float64) color.NRGBA {
					switch {
					case disc(x, y, 0, 0, 5):
						return inner
					case disc(x, y, 0, 0, 8):
						return outer
					}
					return clear0
				}
			}
			every := plate.WhiteOptions{Rule: plate.All, DensityPercent: 100}
			add("black on a dark item", []Kind{ArtLost}, deep, under, 26, 26, pair(black, cream))
			add("black on a white item", nil, deep, none, 26, 26, pair(black, brick))
			add("black around the art, on a dark item", []Kind{ArtLost}, deep, under, 26, 26, within0(cream, black))
			add("black within the art, on a dark item", []Kind{ArtLost}, deep, under, 26, 26, within0(black, cream))
			add("white on a white item", []Kind{ArtLost}, nil, none, 26, 26, pair(white, brick))
			add("white within the art, on a white item", nil, nil, none, 26, 26, within0(white, brick))
			add("white on a dark item", nil, nil, under, 26, 26, pair(white, brick))
			add("white in its own box of white", []Kind{ArtLost}, nil, every, 26, 26, pair(white, white))
			add("colours in a box of white", nil, nil, every, 26, 26, pair(moss, brick))
			add("white on white film", []Kind{ArtLost}, nil, none, 26, 26, pair(white, brick), upon(darkItem, true))
			add("black on white film, on a dark item", nil, deep, none, 26, 26, pair(black, brick), upon(darkItem, true))
			// A disc that the picture's lower edge, or its right one, cuts off, and what only fills it.
			for _, side := range []float64{0, 90} {
				add(fmt.Sprintf("cut off at an edge, %g°", side), []Kind{ArtLost}, nil, under, 26, 26, func(x, y float64) color.NRGBA {
					u, v := turned(x, y, -side)
					return map[bool]color.NRGBA{true: brick, false: clear0}[disc(u, v, 1, 8, 9)]
				})
			}
			add("a disc that fills its picture", nil, nil, under, 26, 26, func(x, y float64) color.NRGBA { return within(x, y, 13.2, moss) })
			add("a stripe across its picture", nil, nil, under, 26, 26, func(x, y float64) color.NRGBA {
				return map[bool]color.NRGBA{true: moss, false: clear0}[math.Abs(y) < 6]
			})
			add("foil over art in colours", []Kind{FoilMiss}, nil, none, 26, 26, shapes(clear0), func(s *Subject) { s.Foil = true })
		}
	}
	return append(out, lettering()...)
}

// lettering is text that is too small and text that is not, on clear and on a
// colour; and art that was enlarged.
func lettering() (out []known) {
	text := func(xMM, dpi float64, on color.NRGBA) func(t testing.TB) []Finding {
		return func(t testing.TB) []Finding {
			img := paint(40, 12, dpi, func(x, y float64) color.NRGBA {
				if math.Abs(x) < 19 && math.Abs(y) < 5 {
					return on
				}
				return clear0
			})
			ink := slate
			if on == slate {
				ink = cream
			}
			words(t, img, dpi, xMM, map[bool]string{true: "hand printed in june", false: "hand printed"}[xMM < 2], ink)
			found, err := Find(scan(t, img, dpi, plate.WhiteOptions{Rule: plate.Under, DensityPercent: 100}))
			if err != nil {
				t.Fatal(err)
			}
			return found
		}
	}
	thin := []Kind{FineLine, NarrowGap, Speck}
	for _, dpi := range []float64{300, 600} {
		for _, on := range []color.NRGBA{clear0, slate} {
			name := map[bool]string{true: "slate", false: "clear"}[on == slate]
			out = append(out,
				known{name: fmt.Sprintf("small text on %s, %g dpi", name, dpi), want: []Kind{SmallText}, may: thin, find: text(0.8, dpi, on)},
				known{name: fmt.Sprintf("text that holds on %s, %g dpi", name, dpi), may: []Kind{NarrowGap, FineLine}, find: text(2.6, dpi, on)}) // its arches are 0.28 mm thin
		}
	}
	// Black alone in CMYK, as the press of four toners and as black alone prints it.
	black := func(other uint8) func(t testing.TB) []Finding {
		return func(t testing.TB) []Finding {
			img := paint(40, 12, 300, func(x, y float64) color.NRGBA { return clear0 })
			words(t, img, 300, 1.6, "hand printed in june", color.NRGBA{0, 0, 0, 255})
			found, err := Find(inCMYK(img, 300, other))
			if err != nil {
				t.Fatal(err)
			}
			return found
		}
	}
	out = append(out, known{name: "black lettering of four toners, 300 dpi", want: []Kind{RichBlackText}, may: thin, find: black(150)},
		known{name: "black lettering of black alone, 300 dpi", may: thin, find: black(0)})
	enlarge := func(by int, smoothly bool) func(t testing.TB) []Finding {
		return func(t testing.TB) []Finding {
			small := paint(26, 26, 100, func(x, y float64) color.NRGBA {
				for i := range 4 {
					if math.Abs(math.Hypot(x, y)-3*float64(i)) < 0.8 {
						return moss
					}
				}
				return cream
			})
			big := image.NewNRGBA(image.Rect(0, 0, small.Rect.Dx()*by, small.Rect.Dy()*by))
			for y := range big.Rect.Dy() {
				for x := range big.Rect.Dx() {
					if !smoothly {
						big.SetNRGBA(x, y, small.NRGBAAt(x/by, y/by))
						continue
					}
					u, v := (float64(x)+0.5)/float64(by)-0.5, (float64(y)+0.5)/float64(by)-0.5
					x0, y0 := int(math.Floor(u)), int(math.Floor(v))
					fx, fy := u-float64(x0), v-float64(y0)
					at := func(i, j int) color.NRGBA {
						return small.NRGBAAt(max(0, min(small.Rect.Dx()-1, i)), max(0, min(small.Rect.Dy()-1, j)))
					}
					mix := func(get func(color.NRGBA) uint8) uint8 {
						p, q := float64(get(at(x0, y0))), float64(get(at(x0+1, y0)))
						r, s := float64(get(at(x0, y0+1))), float64(get(at(x0+1, y0+1)))
						return uint8(p*(1-fx)*(1-fy) + q*fx*(1-fy) + r*(1-fx)*fy + s*fx*fy + 0.5)
					}
					big.SetNRGBA(x, y, color.NRGBA{mix(func(c color.NRGBA) uint8 { return c.R }), mix(func(c color.NRGBA) uint8 { return c.G }),
						mix(func(c color.NRGBA) uint8 { return c.B }), 255})
				}
			}
			found, err := Find(scan(t, big, 100*float64(by), plate.WhiteOptions{Rule: plate.NoWhite}))
			if err != nil {
				t.Fatal(err)
			}
			return found
		}
	}
	for _, by := range []int{3, 4, 6} {
		for _, smoothly := range []bool{false, true} {
			out = append(out, known{name: fmt.Sprintf("enlarged %d times, smoothly %v", by, smoothly), want: []Kind{LowResolution},
				may: []Kind{BackgroundBox, NarrowGap, FineLine, Speck}, find: enlarge(by, smoothly)})
		}
	}
	return out
}

// few tells which drawings are enough outside CI, each of them once or twice: at
// 20° those of 150 dpi, letters and enlarged art of 300, and the soft edge,
// which is only drawn at 600.
func few(k known) bool {
	if strings.HasSuffix(k.name, " 600 dpi") {
		return strings.HasPrefix(k.name, "soft edge")
	}
	if strings.Contains(k.name, "°") {
		return strings.Contains(k.name, " 20°,") && strings.HasSuffix(k.name, " 150 dpi")
	}
	return true
}

// score looks at drawings and counts kinds found and missed.
func score(t testing.TB, drawings []known, say func(format string, v ...any)) (precision, recall float64) {
	right, wrong, missed := 0, 0, 0
	for _, k := range drawings {
		var got []Kind
		for _, f := range k.find(t) {
			got = append(got, f.Kind)
			switch {
			case slices.Contains(k.want, f.Kind):
				right++
			case !slices.Contains(k.may, f.Kind):
				wrong++
				say("%s: a %s that is not there: measured %g, limit %g, boxes %v", k.name, f.Kind, f.Measured, f.Limit, f.Boxes)
			}
		}
		for _, w := range k.want {
			if !slices.Contains(got, w) {
				missed++
				say("%s: no %s, found %v", k.name, w, got)
			}
		}
	}
	return float64(right) / float64(right+wrong), float64(right) / float64(right+missed)
}

// TestTruth holds the findings to drawn art with known flaws: none missed, none
// invented.
func TestTruth(t *testing.T) {
	drawings := reference.Sweep(t, corpus(), few)
	precision, recall := score(t, drawings, t.Errorf)
	t.Logf("%d drawings: precision %.3f, recall %.3f", len(drawings), precision, recall)
}

// BenchmarkTruth prints precision and recall over the same drawings.
func BenchmarkTruth(b *testing.B) {
	for b.Loop() {
		precision, recall := score(b, corpus(), b.Logf)
		b.ReportMetric(precision, "precision")
		b.ReportMetric(recall, "recall")
	}
}

func ExampleFind() {
	art := artwork.NewDraft(artwork.Info{File: "line.png", Width: 300, Height: 300, Space: icc.RGB, HasAlpha: true, StatesSRGB: true})
	plates := plate.New(300, 300)
	for y := 50; y < 250; y++ { // a line of two pixels
		for x := 149; x < 151; x++ {
			art.Set(y*300+x, artwork.Device{}, 255)
			plates.Plane[plate.Black][y*300+x] = 255
		}
	}
	found, _ := Find(Subject{Art: art.Art(), Plates: plates, PixelMM: 25.4 / 300, White: plate.NoWhite,
		Limits: Limits{SmallestLineMM: 0.35, SmallestGapMM: 0.7, GoodPPI: 300, LeastPPI: 150, TACPercent: 240}})
	for _, f := range found {
		fmt.Printf("%s: %s, %.2f mm\n", f.Severity, f.Kind, f.Measured)
	}
	// Output: stop: fine-line, 0.17 mm
}
