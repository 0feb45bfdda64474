package show

import (
	"bytes"
	"fmt"
	"image"
	"image/color"
	"image/draw"
	"image/png"
	"strings"

	"golang.org/x/image/font"
	"golang.org/x/image/font/gofont/gobold"
	"golang.org/x/image/font/gofont/goregular"
	"golang.org/x/image/font/opentype"
	"golang.org/x/image/math/fixed"

	"laydown/coverage/flaw"
	"laydown/coverage/proof"
)

// markPX is the marked picture's width or height of art, and markLeast the width
// that its legend needs.
const (
	markPX    = 1500
	markLeast = 900
)

// marks are how findings are drawn: colours that the colour-blind tell apart (Okabe
// and Ito 2008), and lines that differ as well.
var marks = map[flaw.Severity]struct {
	colour color.NRGBA
	width  int // pixels
	dash   int // on and off, pixels; 0 for an unbroken line
}{
	flaw.Stop: {color.NRGBA{213, 94, 0, 255}, 5, 0},
	flaw.Look: {color.NRGBA{0, 114, 178, 255}, 4, 18},
	flaw.Note: {color.NRGBA{0, 158, 115, 255}, 3, 6},
}

// Marked is the art on the item's colour with its findings drawn on it, numbered
// as they are listed, and a legend below, as PNG.
func Marked(p *proof.Proof) ([]byte, error) {
	art, err := artPicture(p.Laid, markPX)
	if err != nil {
		return nil, err
	}
	regular, err := face(goregular.TTF, 20)
	if err != nil {
		return nil, err
	}
	bold, err := face(gobold.TTF, 20)
	if err != nil {
		return nil, err
	}
	const pad, line = 24, 30
	zoom := 1
	for art.Rect.Dx()*zoom < markPX/3 && art.Rect.Dy()*zoom < markPX/3 { // small art is drawn larger
		zoom++
	}
	w, h := art.Rect.Dx()*zoom, art.Rect.Dy()*zoom
	width := max(w+2*pad, markLeast)
	lines := legend(p.Findings, bold, regular, width-2*pad-50)
	out := image.NewNRGBA(image.Rect(0, 0, width, h+3*pad+line*max(1, len(lines))+pad))
	draw.Draw(out, out.Rect, image.White, image.Point{}, draw.Src)
	frame := image.Rect(pad, pad, pad+w, pad+h)
	draw.Draw(out, frame, image.NewUniform(p.Laid.Job.Colour.SRGB()), image.Point{}, draw.Src)
	for y := range h {
		for x := range w {
			c := art.NRGBAAt(x/zoom, y/zoom)
			at := image.Rect(pad+x, pad+y, pad+x+1, pad+y+1)
			if c.A == 255 {
				out.SetNRGBA(at.Min.X, at.Min.Y, c)
			} else if c.A > 0 {
				draw.Draw(out, at, image.NewUniform(c), image.Point{}, draw.Over)
			}
		}
	}
	perMM := float64(w) / p.Print.WidthMM
	px := func(mm float64) int { return pad + int(mm*perMM+0.5) }
	for i := len(p.Findings) - 1; i >= 0; i-- { // the worst on top
		f := p.Findings[i]
		m := marks[f.Severity]
		for _, b := range f.Boxes {
			box := image.Rect(px(b.XMM), px(b.YMM), px(b.XMM+b.WidthMM), px(b.YMM+b.HeightMM)).Inset(-m.width - 2)
			outline(out, box.Inset(-2), color.NRGBA{255, 255, 255, 255}, m.width+4, 0)
			outline(out, box, m.colour, m.width, m.dash)
		}
	}
	taken := map[image.Point]bool{}
	for i, f := range p.Findings {
		for k, b := range f.Boxes {
			if k == 5 { // enough to see where
				break
			}
			at := image.Pt(px(b.XMM)-10, px(b.YMM)-10)
			for taken[at.Div(28)] { // beside those that are there
				at.X += 30
			}
			taken[at.Div(28)] = true
			badge(out, bold, at, i+1, marks[f.Severity].colour)
		}
	}
	y := pad + h + pad
	if len(lines) == 0 {
		write(out, regular, image.Pt(pad, y+22), "Nothing was found that would print badly.", color.NRGBA{30, 30, 30, 255})
	}
	for _, l := range lines {
		if l.number > 0 {
			badge(out, bold, image.Pt(pad, y-2), l.number, marks[l.severity].colour)
		}
		x := pad + 50
		if l.head != "" {
			x = write(out, bold, image.Pt(x, y+20), l.head+" ", color.NRGBA{30, 30, 30, 255})
		}
		write(out, regular, image.Pt(x, y+20), l.text, color.NRGBA{60, 60, 60, 255})
		y += line
	}
	var b bytes.Buffer
	err = png.Encode(&b, out)
	return b.Bytes(), err
}

type legendLine struct {
	number     int
	severity   flaw.Severity
	head, text string
}

// legend breaks what is said of every finding into lines of a width in pixels.
func legend(found []flaw.Finding, bold, regular font.Face, width int) (out []legendLine) {
	for i, f := range found {
		l := legendLine{number: i + 1, severity: f.Severity, head: fmt.Sprintf("%s: %s", f.Severity, f.Kind)}
		room := width - font.MeasureString(bold, l.head+" ").Ceil()
		advice, _, _ := strings.Cut(f.Advice, ". ")
		for _, word := range strings.Fields(fmt.Sprintf("%s. %s.", amount(f), strings.TrimSuffix(advice, "."))) {
			next := strings.TrimSpace(l.text + " " + word)
			if font.MeasureString(regular, next).Ceil() > room {
				out = append(out, l)
				l, next, room = legendLine{}, word, width
			}
			l.text = next
		}
		out = append(out, l)
	}
	return out
}

func face(ttf []byte, size float64) (font.Face, error) {
	f, err := opentype.Parse(ttf)
	if err != nil {
		return nil, err
	}
	return opentype.NewFace(f, &opentype.FaceOptions{Size: size, DPI: 72, Hinting: font.HintingFull})
}

// write sets text from a point on its baseline and returns where it ends.
func write(dst draw.Image, f font.Face, at image.Point, text string, c color.Color) int {
	d := font.Drawer{Dst: dst, Src: image.NewUniform(c), Face: f, Dot: fixed.P(at.X, at.Y)}
	d.DrawString(text)
	return d.Dot.X.Ceil()
}

// badge draws a number in a filled box.
func badge(dst draw.Image, f font.Face, at image.Point, number int, c color.NRGBA) {
	text := fmt.Sprint(number)
	w := font.MeasureString(f, text).Ceil()
	box := image.Rect(at.X, at.Y, at.X+w+16, at.Y+28)
	draw.Draw(dst, box.Inset(-2), image.White, image.Point{}, draw.Src)
	draw.Draw(dst, box, image.NewUniform(c), image.Point{}, draw.Src)
	write(dst, f, image.Pt(at.X+8, at.Y+21), text, color.White)
}

// outline draws the rim of a box, in dashes if dash is not 0.
func outline(dst draw.Image, r image.Rectangle, c color.Color, width, dash int) {
	src := image.NewUniform(c)
	run := func(from, to int, bar func(a, b int) image.Rectangle) {
		step := dash
		if dash == 0 {
			step = to - from
		}
		for a := from; a < to; a += max(1, step+dash) {
			draw.Draw(dst, bar(a, min(a+step, to)), src, image.Point{}, draw.Src)
		}
	}
	run(r.Min.X, r.Max.X, func(a, b int) image.Rectangle { return image.Rect(a, r.Min.Y, b, r.Min.Y+width) })
	run(r.Min.X, r.Max.X, func(a, b int) image.Rectangle { return image.Rect(a, r.Max.Y-width, b, r.Max.Y) })
	run(r.Min.Y, r.Max.Y, func(a, b int) image.Rectangle { return image.Rect(r.Min.X, a, r.Min.X+width, b) })
	run(r.Min.Y, r.Max.Y, func(a, b int) image.Rectangle { return image.Rect(r.Max.X-width, a, r.Max.X, b) })
}
