// Command draw makes the demo order's artwork, all of it invented: a rowing
// club's badge with clear ground, hairline reeds and a soft shadow, the same
// club's banner in CMYK with too much toner, and its brand colours.
//
//	go run ./testdata/draw testdata/demo
package main

import (
	"bytes"
	"encoding/binary"
	"fmt"
	"hash/crc32"
	"image"
	"image/color"
	"image/png"
	"math"
	"os"
	"path/filepath"

	"github.com/hhrutter/tiff"
	"golang.org/x/image/font"
	"golang.org/x/image/font/gofont/gobold"
	"golang.org/x/image/font/opentype"
	"golang.org/x/image/math/fixed"
	"golang.org/x/image/vector"
)

func main() {
	if len(os.Args) != 2 {
		fmt.Fprintln(os.Stderr, "usage: draw FOLDER")
		os.Exit(2)
	}
	for name, data := range files() {
		if err := os.WriteFile(filepath.Join(os.Args[1], name), data, 0o644); err != nil {
			fmt.Fprintln(os.Stderr, "draw:", err)
			os.Exit(1)
		}
	}
}

// The club's colours.
var (
	reed   = color.NRGBA{0x12, 0x5c, 0x46, 255}
	dawn   = color.NRGBA{0xff, 0x6a, 0x13, 255}
	water  = color.NRGBA{0x1b, 0x4f, 0xd8, 255}
	canvas = color.NRGBA{0xf3, 0xea, 0xd3, 255}
	night  = color.NRGBA{0x10, 0x14, 0x1c, 255}
)

const swatches = `# Brand colours of an invented rowing club.
name,hex,L,a,b
Reed Green,#125c46,,,
Dawn Orange,#ff6a13,,,
Race Blue,#1b4fd8,,,
Boathouse Cream,,92.8,-0.6,12.4
Night,#10141c,,,
`

func files() map[string][]byte {
	return map[string][]byte{
		"heron-badge.png":    encodePNG(badge(), 300),
		"regatta-banner.tif": encodeTIFF(banner()),
		"club-colours.csv":   []byte(swatches),
	}
}

// pen draws antialiased shapes; lengths are in pixels.
type pen struct{ img *image.NRGBA }

func (p pen) fill(c color.Color, path func(r *vector.Rasterizer)) {
	b := p.img.Bounds()
	r := vector.NewRasterizer(b.Dx(), b.Dy())
	path(r)
	r.Draw(p.img, b, image.NewUniform(c), image.Point{})
}

func polygon(pts ...[2]float64) func(*vector.Rasterizer) {
	return func(r *vector.Rasterizer) {
		r.MoveTo(float32(pts[0][0]), float32(pts[0][1]))
		for _, q := range pts[1:] {
			r.LineTo(float32(q[0]), float32(q[1]))
		}
		r.ClosePath()
	}
}

func disc(x, y, radius float64) func(*vector.Rasterizer) {
	var pts [][2]float64
	for i := range 360 {
		s, c := math.Sincos(float64(i) * math.Pi / 180)
		pts = append(pts, [2]float64{x + radius*c, y + radius*s})
	}
	return polygon(pts...)
}

func stroke(x0, y0, x1, y1, width float64) func(*vector.Rasterizer) {
	l := math.Hypot(x1-x0, y1-y0)
	nx, ny := -(y1-y0)/l*width/2, (x1-x0)/l*width/2
	return polygon([2]float64{x0 + nx, y0 + ny}, [2]float64{x1 + nx, y1 + ny}, [2]float64{x1 - nx, y1 - ny}, [2]float64{x0 - nx, y0 - ny})
}

func (p pen) text(s string, centre, baseline, size float64, c color.Color) {
	f, err := opentype.Parse(gobold.TTF)
	if err != nil {
		panic(err) // the font is compiled in
	}
	face, err := opentype.NewFace(f, &opentype.FaceOptions{Size: size, DPI: 72})
	if err != nil {
		panic(err)
	}
	d := font.Drawer{Dst: p.img, Src: image.NewUniform(c), Face: face}
	w := float64(d.MeasureString(s)) / 64
	d.Dot = fixed.Point26_6{X: fixed.Int26_6((centre - w/2) * 64), Y: fixed.Int26_6(baseline * 64)}
	d.DrawString(s)
}

// badge is 1000 × 1000 pixels at 300 dpi, 84.7 mm.
func badge() *image.NRGBA {
	const size = 1000
	p := pen{image.NewNRGBA(image.Rect(0, 0, size, size))}
	// A soft shadow outside the badge: what a transfer cannot print.
	for y := range size {
		for x := range size {
			d := math.Hypot(float64(x)-508, float64(y)-516) - 440
			a := math.Max(0, math.Min(1, 1-d/50))
			p.img.SetNRGBA(x, y, color.NRGBA{night.R, night.G, night.B, uint8(150*a*a + 0.5)})
		}
	}
	p.fill(reed, disc(500, 490, 440))
	p.fill(canvas, disc(500, 490, 405))
	p.fill(dawn, disc(500, 470, 190))
	p.fill(water, func(r *vector.Rasterizer) { // the river, two waves
		r.MoveTo(118, 620)
		for x := 118.0; x <= 882; x += 4 {
			r.LineTo(float32(x), float32(610+14*math.Sin(x/40)))
		}
		for a := 17.0; a <= 163; a++ {
			s, c := math.Sincos(a * math.Pi / 180)
			r.LineTo(float32(500+400*c), float32(490+400*s))
		}
		r.ClosePath()
	})
	p.fill(night, polygon( // a heron, standing
		[2]float64{470, 600}, [2]float64{430, 520}, [2]float64{440, 430}, [2]float64{500, 380}, [2]float64{520, 300}, [2]float64{500, 240},
		[2]float64{520, 205}, [2]float64{560, 200}, [2]float64{660, 240}, [2]float64{575, 240}, [2]float64{555, 300}, [2]float64{570, 400},
		[2]float64{640, 520}, [2]float64{560, 560}, [2]float64{530, 610}))
	p.fill(night, stroke(505, 590, 500, 690, 9))
	p.fill(night, stroke(530, 590, 540, 690, 9))
	for i := range 7 { // reeds of 0.2 mm, too thin to hold
		x := 200 + 28*float64(i)
		p.fill(reed, stroke(x, 605, x+30-6*float64(i), 430+10*float64(i%3), 2.4))
	}
	for _, side := range []float64{-1, 1} { // mooring lines of 0.25 mm that leave the badge
		for i := range 3 {
			y := 140 + 26*float64(i)
			p.fill(reed, stroke(500+side*330, y+60, 500+side*470, y-60, 3))
		}
	}
	p.text("OTTERLEAF", 500, 760, 92, canvas)
	p.text("ROWERS", 500, 838, 70, canvas)
	return p.img
}

// banner is CMYK without a profile: a ground of 320 % and three tints.
func banner() *image.CMYK {
	img := image.NewCMYK(image.Rect(0, 0, 600, 240))
	fill := func(r image.Rectangle, c color.CMYK) { // package draw would go by way of RGB
		for y := r.Min.Y; y < r.Max.Y; y++ {
			for x := r.Min.X; x < r.Max.X; x++ {
				img.SetCMYK(x, y, c)
			}
		}
	}
	fill(img.Rect, color.CMYK{204, 178, 178, 255})
	fill(image.Rect(40, 40, 200, 200), color.CMYK{0, 150, 240, 0})
	fill(image.Rect(220, 40, 380, 200), color.CMYK{230, 120, 0, 0})
	fill(image.Rect(400, 40, 560, 200), color.CMYK{0, 0, 0, 20})
	return img
}

func chunk(kind string, data []byte) []byte {
	c := binary.BigEndian.AppendUint32(nil, uint32(len(data)))
	c = append(append(c, kind...), data...)
	return binary.BigEndian.AppendUint32(c, crc32.ChecksumIEEE(c[4:]))
}

// encodePNG writes a PNG that says its resolution and that it is sRGB.
func encodePNG(img image.Image, dpi float64) []byte {
	var b bytes.Buffer
	e := png.Encoder{CompressionLevel: png.BestCompression}
	if err := e.Encode(&b, img); err != nil {
		panic(err) // a buffer takes everything
	}
	px := uint32(math.Round(dpi / 0.0254))
	phys := append(binary.BigEndian.AppendUint32(binary.BigEndian.AppendUint32(nil, px), px), 1)
	out := append([]byte(nil), b.Bytes()[:33]...)
	out = append(out, chunk("sRGB", []byte{1})...)
	out = append(out, chunk("pHYs", phys)...)
	return append(out, b.Bytes()[33:]...)
}

func encodeTIFF(img image.Image) []byte {
	var b bytes.Buffer
	if err := tiff.Encode(&b, img, &tiff.Options{Compression: tiff.Deflate, Predictor: false}); err != nil {
		panic(err)
	}
	return b.Bytes()
}
