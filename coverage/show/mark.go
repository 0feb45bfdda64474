package show

import (
	"bytes"
	"fmt"
	"image"
	"image/color"
	"image/draw"
	"image/png"
	"math"
	"strings"

	"github.com/disintegration/imaging"
	"golang.org/x/image/font"
	"golang.org/x/image/font/gofont/gobold"
	"golang.org/x/image/font/gofont/goregular"
	"golang.org/x/image/font/opentype"
	"golang.org/x/image/math/fixed"

	"laydown/coverage/flaw"
	"laydown/coverage/proof"
)

// Sizes in the marked picture, in pixels.
const (
	markPX     = 1500 // most width or height of art
	markLeast  = 900  // width that the legend needs
	markPad    = 24
	markMargin = 56 // round the art, for labels
	markLine   = 30 // of the legend
	markHigh   = 28 // a label
	dashedPX   = 64 // a smaller outline has no room for dashes or a thick line
	closePX    = 200
	closeGap   = 18
	closeText  = 24 // a line below a close-up, of which there are three
)

var (
	ink    = color.NRGBA{30, 30, 30, 255}
	soft   = color.NRGBA{60, 60, 60, 255}
	around = color.NRGBA{238, 240, 243, 255} // of the art
)

// brush draws on the marked picture.
type brush struct {
	*image.NRGBA
	regular, bold, small font.Face
}

// Marked is the art on the item's colour with its findings drawn on it, numbered as
// they are listed: the worst places with a label and a leader, small ones close up as well,
// and a legend below, as PNG.
func Marked(p *proof.Proof) ([]byte, error) {
	d, err := newDesigned(p.Laid)
	if err != nil {
		return nil, err
	}
	var b brush
	for _, f := range []struct {
		to   *font.Face
		ttf  []byte
		size float64
	}{{&b.regular, goregular.TTF, 20}, {&b.bold, gobold.TTF, 20}, {&b.small, goregular.TTF, 17}} {
		if *f.to, err = face(f.ttf, f.size); err != nil {
			return nil, err
		}
	}
	art := d.all(markPX)
	zoom := 1
	for max(art.Rect.Dx(), art.Rect.Dy())*(zoom+1) <= markPX*9/8 { // small art is drawn larger
		zoom++
	}
	w, h := art.Rect.Dx()*zoom, art.Rect.Dy()*zoom
	perMM := float64(w) / p.Print.WidthMM
	places := placesOf(p.Findings)
	c := newChart(places, w, h, p.Print.WidthMM, p.Print.HeightMM, markMargin, markHigh, b.tagWidth, func(p place, r image.Rectangle) int {
		core, rim := lineOf(p, r)
		return core + 2*rim
	})
	near := closeUps(d, p, places, closePX, perMM)

	width := max(c.canvas.Dx(), markLeast)
	lines := legend(p.Findings, places, b.bold, b.regular, width-2*markPad-50)
	perRow := (width - 2*markPad + closeGap) / (closePX + closeGap)
	rows := (len(near) + perRow - 1) / perRow
	top := c.canvas.Dy() + markPad
	height := top + rows*(closePX+3*closeText+closeGap) + markLine*max(1, len(lines)) + markPad
	if rows > 0 {
		height += markLine
	}
	b.NRGBA = image.NewNRGBA(image.Rect(0, 0, width, height))
	b.fill(b.Rect, color.White)
	b.fill(image.Rect(0, 0, width, c.canvas.Dy()), around)
	draw.Draw(b, c.art, enlarged(onItem(p.Laid, art), w, h), image.Point{}, draw.Src)
	b.places(c, places, p.Findings)
	if rows > 0 {
		write(b, b.bold, image.Pt(markPad, top+20), "Close up", ink)
		top += markLine
		for i := range near {
			at := image.Pt(markPad+i%perRow*(closePX+closeGap), top+i/perRow*(closePX+3*closeText+closeGap))
			q := places[near[i].place]
			b.closeUp(&near[i], at, q.tag, p.Findings[q.finding])
		}
		top += rows * (closePX + 3*closeText + closeGap)
	}
	b.legend(lines, top)
	var out bytes.Buffer
	err = png.Encode(&out, b.NRGBA)
	return out.Bytes(), err
}

// lineOf is how wide a place's line is, and its casing on either side.
func lineOf(p place, r image.Rectangle) (core, rim int) {
	switch {
	case p.tag == "":
		return 1, 1
	case min(r.Dx(), r.Dy()) < dashedPX:
		return 3, 1
	}
	return 3, 2
}

// places draws outlines, the worst on top, then leaders, then labels.
func (b *brush) places(c *chart, all []place, found []flaw.Finding) {
	for _, numbered := range []bool{false, true} {
		for i := len(all) - 1; i >= 0; i-- {
			if m := marks[found[all[i].finding].Severity]; (all[i].tag != "") == numbered {
				r, dash := c.outlines[i], m.dash
				core, rim := lineOf(all[i], r)
				if min(r.Dx(), r.Dy()) < dashedPX {
					dash = 0
				}
				b.outline(r, casing, core+2*rim, 0)
				b.outline(r.Inset(rim), m.colour, core, dash)
			}
		}
	}
	for _, width := range []float64{6, 2.5} {
		for _, l := range c.labels {
			colour := casing
			if width < 4 {
				colour = marks[found[all[l.place].finding].Severity].colour
			}
			b.line(l.from, l.to, width, colour)
		}
	}
	for _, l := range c.labels {
		b.badge(l.box, all[l.place].tag, marks[found[all[l.place].finding].Severity].colour)
	}
}

// closeUp draws a close-up and below it its tag, what was measured and a bar of a known length.
func (b *brush) closeUp(c *closeUp, at image.Point, tag string, f flaw.Finding) {
	frame := image.Rectangle{at, at.Add(image.Pt(closePX, closePX))}
	b.fill(frame.Inset(-2), casing)
	b.fill(frame, around)
	scale := closePX / c.sideMM
	px := func(mm float64) int { return int(math.Round(mm * scale)) }
	a := c.artBox
	box := image.Rect(px(a.XMM), px(a.YMM), px(a.XMM+a.WidthMM), px(a.YMM+a.HeightMM))
	if !box.Empty() {
		draw.Draw(b, box.Add(at).Intersect(frame), enlarged(c.art, box.Dx(), box.Dy()), image.Point{max(0, -box.Min.X), max(0, -box.Min.Y)}, draw.Src)
	}
	m := marks[f.Severity]
	inside := &brush{NRGBA: b.SubImage(frame).(*image.NRGBA)}
	for _, width := range []float64{6, 2.5} {
		colour := casing
		if width < 4 {
			colour = m.colour
		}
		for _, q := range c.corners(6/scale, 16/scale) {
			p := func(k int) image.Point { return at.Add(image.Pt(px(q[k][0]), px(q[k][1]))) }
			inside.line(p(0), p(1), width, colour)
			inside.line(p(1), p(2), width, colour)
		}
	}
	y := frame.Max.Y + 8
	label := image.Rect(at.X, y, at.X+b.tagWidth(tag), y+markHigh)
	b.badge(label, tag, m.colour)
	x := write(b, b.small, image.Pt(label.Max.X+8, y+20), string(f.Kind), ink)
	write(b, b.small, image.Pt(x+8, y+20), fmt.Sprintf("×%.0f", c.times), soft)
	set := b.regular
	if c.worst {
		set = b.bold
	}
	x = write(b, set, image.Pt(at.X, y+closeText+23), c.said, ink)
	bar := image.Rect(x+12, y+closeText+14, x+12+px(c.barMM), y+closeText+18)
	text := font.MeasureString(b.small, c.barSaid).Ceil()
	if bar.Max.X+8+text > frame.Max.X { // it has a line of its own
		bar = image.Rect(at.X, y+2*closeText+12, at.X+px(c.barMM), y+2*closeText+16)
	}
	b.fill(bar, ink)
	b.fill(image.Rect(bar.Min.X, bar.Min.Y-4, bar.Min.X+2, bar.Max.Y+4), ink)
	b.fill(image.Rect(bar.Max.X-2, bar.Min.Y-4, bar.Max.X, bar.Max.Y+4), ink)
	write(b, b.small, image.Pt(bar.Max.X+8, bar.Max.Y+4), c.barSaid, soft)
}

// legend writes what was found, from a height on.
func (b *brush) legend(lines []legendLine, y int) {
	if len(lines) == 0 {
		write(b, b.regular, image.Pt(markPad, y+22), "Nothing was found that would print badly.", ink)
	}
	for _, l := range lines {
		if l.number > 0 {
			tag := fmt.Sprint(l.number)
			b.badge(image.Rect(markPad, y-1, markPad+b.tagWidth(tag), y-1+markHigh), tag, marks[l.severity].colour)
		}
		x := markPad + 50
		if l.head != "" {
			x = write(b, b.bold, image.Pt(x, y+20), l.head+" ", ink)
		}
		write(b, b.regular, image.Pt(x, y+20), l.text, soft)
		y += markLine
	}
}

type legendLine struct {
	number     int
	severity   flaw.Severity
	head, text string
}

// legend breaks what is said of every finding into lines of a width in pixels.
func legend(found []flaw.Finding, all []place, bold, regular font.Face, width int) (out []legendLine) {
	for i, f := range found {
		l := legendLine{number: i + 1, severity: f.Severity, head: fmt.Sprintf("%s: %s", f.Severity, f.Kind)}
		room := width - font.MeasureString(bold, l.head+" ").Ceil()
		advice, _, _ := strings.Cut(f.Advice, ". ")
		said := amount(f)
		if where := whereSaid(all, i, f); where != "" {
			said += "; " + where
		}
		for _, word := range strings.Fields(fmt.Sprintf("%s. %s.", said, strings.TrimSuffix(advice, "."))) {
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

// enlarged is a picture at w × h pixels: its own pixels as squares where they become
// larger, else filtered.
func enlarged(src *image.NRGBA, w, h int) *image.NRGBA {
	if w >= src.Rect.Dx() && h >= src.Rect.Dy() {
		return imaging.Resize(src, w, h, imaging.NearestNeighbor)
	}
	return imaging.Resize(src, w, h, imaging.Box)
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

// tagWidth is how wide a badge with a tag is.
func (b *brush) tagWidth(tag string) int { return font.MeasureString(b.bold, tag).Ceil() + 14 }

// badge draws a tag in a light box with a dark rim.
func (b *brush) badge(box image.Rectangle, tag string, c color.NRGBA) {
	b.fill(box, casing)
	b.fill(box.Inset(2), c)
	write(b, b.bold, image.Pt(box.Min.X+7, box.Min.Y+21), tag, casing)
}

func (b *brush) fill(r image.Rectangle, c color.Color) {
	draw.Draw(b, r, image.NewUniform(c), image.Point{}, draw.Src)
}

// line draws a line with round ends and soft edges.
func (b *brush) line(from, to image.Point, width float64, c color.NRGBA) {
	grow := int(width/2) + 2
	area := image.Rect(from.X, from.Y, to.X, to.Y).Inset(-grow).Intersect(b.Rect)
	dx, dy := float64(to.X-from.X), float64(to.Y-from.Y)
	long := dx*dx + dy*dy
	for y := area.Min.Y; y < area.Max.Y; y++ {
		for x := area.Min.X; x < area.Max.X; x++ {
			px, py := float64(x-from.X), float64(y-from.Y)
			t := 0.0
			if long > 0 {
				t = math.Min(math.Max((px*dx+py*dy)/long, 0), 1)
			}
			cover := math.Min(math.Max(width/2+0.5-math.Hypot(px-t*dx, py-t*dy), 0), 1)
			if cover == 0 {
				continue
			}
			at := b.Pix[b.PixOffset(x, y):]
			for k, v := range []uint8{c.R, c.G, c.B} {
				at[k] = uint8(float64(at[k])*(1-cover) + float64(v)*cover + 0.5)
			}
		}
	}
}

// outline draws the rim of a box, in dashes if dash is not 0.
func (b *brush) outline(r image.Rectangle, c color.Color, width, dash int) {
	run := func(from, to int, bar func(a, b int) image.Rectangle) {
		step := dash
		if dash == 0 {
			step = to - from
		}
		for a := from; a < to; a += max(1, step+dash) {
			b.fill(bar(a, min(a+step, to)), c)
		}
	}
	run(r.Min.X, r.Max.X, func(a, b int) image.Rectangle { return image.Rect(a, r.Min.Y, b, r.Min.Y+width) })
	run(r.Min.X, r.Max.X, func(a, b int) image.Rectangle { return image.Rect(a, r.Max.Y-width, b, r.Max.Y) })
	run(r.Min.Y, r.Max.Y, func(a, b int) image.Rectangle { return image.Rect(r.Min.X, a, r.Min.X+width, b) })
	run(r.Min.Y, r.Max.Y, func(a, b int) image.Rectangle { return image.Rect(r.Max.X-width, a, r.Max.X, b) })
}
