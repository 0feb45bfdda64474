// Package lettering draws short texts, such as the names and numbers of a team, as SVG of
// filled outlines at true size: nothing of a font is needed to print them.
//
// Letters are as high as asked for, measured on the capital H of the font, so that names
// and numbers of one style stand alike whatever letters they have; what hangs below the
// line or stands above it makes the drawing higher. Letters stand as far apart as the font
// says, kerned by its own table if it has one; scripts whose letters join, or run from right
// to left, are not set right and are refused. A text that is wider than asked for is squeezed, to no less
// than seven tenths of its width, and only then made smaller (common practice, no source).
package lettering

import (
	"errors"
	"fmt"
	"math"
	"strings"
	"unicode"

	"golang.org/x/image/font"
	"golang.org/x/image/font/sfnt"
	"golang.org/x/image/math/fixed"

	fonts "laydown/coverage/artwork/font"
)

// Style is how texts look. Lengths are in millimetres.
type Style struct {
	Family       string // of the font; "" for the built-in [fonts.Sans]
	Bold, Italic bool
	HeightMM     float64 // of capital letters; above 0
	MostMM       float64 // the widest that a text may be; 0 for any width
	Colour       string  // #rrggbb
	OutlineMM    float64 // around the letters; 0 for none
	Outline      string  // its colour, #rrggbb
}

// Text is a text that is drawn.
type Text struct {
	SVG               []byte
	WidthMM, HeightMM float64
	// Squeezed is how wide the letters are beside the font's own, at most 1, and Smaller how
	// high they are beside what was asked for.
	Squeezed, Smaller float64
}

// What is beyond these is no name.
const (
	mostLetters = 60
	squeezeTo   = 0.7
)

// Draw sets a text. The error says that there is none, that no font is called so, or which
// character it does not have.
func (s Style) Draw(text string, library *fonts.Library) (Text, error) {
	text = strings.Join(strings.Fields(text), " ")
	letters := []rune(text)
	switch {
	case len(letters) == 0:
		return Text{}, errors.New("there is no text to draw")
	case len(letters) > mostLetters:
		return Text{}, fmt.Errorf("%q… has %d characters: at most %d are drawn", string(letters[:20]), len(letters), mostLetters)
	case !(s.HeightMM > 0) || s.MostMM < 0 || s.OutlineMM < 0:
		return Text{}, errors.New("the height of letters must be above 0, and no length below it")
	}
	for _, r := range letters {
		if unicode.IsControl(r) || unicode.Is(unicode.M, r) || unicode.In(r, unicode.Arabic, unicode.Hebrew, unicode.Devanagari, unicode.Bengali, unicode.Thai, unicode.Tamil, unicode.Syriac) {
			return Text{}, fmt.Errorf("%q has the character %q, which is not set right here: draw this text yourself and name the file as art", text, r)
		}
	}
	face, err := s.face(library)
	if err != nil {
		return Text{}, err
	}
	shape, err := face.set(text, letters)
	if err != nil {
		return Text{}, err
	}
	scale := s.HeightMM / face.capital
	width := (shape.x1 - shape.x0) * scale
	out := Text{Squeezed: 1, Smaller: 1}
	if room := s.MostMM - 2*s.OutlineMM; s.MostMM > 0 && width > room {
		if room <= 0 {
			return Text{}, errors.New("the outline takes all the width that there is")
		}
		out.Squeezed = math.Max(squeezeTo, room/width)
		out.Smaller = math.Min(1, room/(width*out.Squeezed))
	}
	sy := scale * out.Smaller
	sx := sy * out.Squeezed
	out.WidthMM = (shape.x1-shape.x0)*sx + 2*s.OutlineMM
	out.HeightMM = (shape.y1-shape.y0)*sy + 2*s.OutlineMM
	var b strings.Builder
	fmt.Fprintf(&b, `<svg xmlns="http://www.w3.org/2000/svg" width="%.4fmm" height="%.4fmm" viewBox="0 0 %.4f %.4f"><path fill="%s"`, out.WidthMM, out.HeightMM, out.WidthMM, out.HeightMM, s.Colour)
	if s.OutlineMM > 0 {
		fmt.Fprintf(&b, ` stroke="%s" stroke-width="%.4f" stroke-linejoin="round" paint-order="stroke"`, s.Outline, 2*s.OutlineMM)
	}
	b.WriteString(` d="`)
	for _, g := range shape.segments {
		b.WriteByte("MLQC"[g.Op])
		for i := range points[g.Op] {
			p := g.Args[i]
			fmt.Fprintf(&b, "%.4f %.4f ", (p[0]-shape.x0)*sx+s.OutlineMM, (p[1]-shape.y0)*sy+s.OutlineMM)
		}
	}
	b.WriteString(`"/></svg>`)
	out.SVG = []byte(b.String())
	return out, nil
}

// points are how many a segment has, by its sort.
var points = [...]int{sfnt.SegmentOpMoveTo: 1, sfnt.SegmentOpLineTo: 1, sfnt.SegmentOpQuadTo: 2, sfnt.SegmentOpCubeTo: 3}

// face is a font, and how high its H is in its own units.
type face struct {
	font    *sfnt.Font
	name    string
	capital float64
}

// face finds the style's font.
func (s Style) face(library *fonts.Library) (*face, error) {
	asked := s.Family
	if asked == "" {
		asked = fonts.Sans
	}
	files, name := library.Family(asked)
	want := map[[2]bool]string{{false, false}: "regular", {true, false}: "bold", {false, true}: "italic", {true, true}: "bold italic"}[[2]bool{s.Bold, s.Italic}]
	var b sfnt.Buffer
	for _, f := range files {
		c, err := sfnt.ParseCollection(f)
		if err != nil {
			continue
		}
		for i := range c.NumFonts() {
			of, err := c.Font(i)
			if err != nil {
				continue
			}
			family, _ := of.Name(&b, sfnt.NameIDFamily)
			style, _ := of.Name(&b, sfnt.NameIDSubfamily)
			style = strings.NewReplacer("oblique", "italic", "book", "regular", "roman", "regular").Replace(strings.ToLower(style))
			if !strings.EqualFold(family, name) || style != want {
				continue
			}
			h, err := of.GlyphIndex(&b, 'H')
			if err != nil || h == 0 {
				h, _ = of.GlyphIndex(&b, '0')
			}
			box, _, err := of.GlyphBounds(&b, h, fixed.I(int(of.UnitsPerEm())), font.HintingNone)
			if capital := float64(-box.Min.Y) / 64; err == nil && h != 0 && capital > 0 {
				return &face{of, name, capital}, nil
			}
		}
	}
	if name == "" {
		return nil, fmt.Errorf("no font is called %q on this machine: install it, or take %q, which is built in", asked, fonts.Sans)
	}
	return nil, fmt.Errorf("the font %q has no %s face here: take another, or leave bold and italic out", name, want)
}

// outline is a text in a font's units, y downwards, and the box that it just fills.
type outline struct {
	segments       []segment
	x0, y0, x1, y1 float64
}

type segment struct {
	Op   sfnt.SegmentOp
	Args [3][2]float64
}

// set puts letters beside each other.
func (f *face) set(text string, letters []rune) (out outline, err error) {
	var b sfnt.Buffer
	em := fixed.I(int(f.font.UnitsPerEm()))
	x, last := 0.0, sfnt.GlyphIndex(0)
	out.x0, out.y0, out.x1, out.y1 = math.Inf(1), math.Inf(1), math.Inf(-1), math.Inf(-1)
	for _, r := range letters {
		g, err := f.font.GlyphIndex(&b, r)
		if err != nil || g == 0 {
			return out, fmt.Errorf("the font %q has no %q for %q: take another font", f.name, r, text)
		}
		if last != 0 {
			if k, err := f.font.Kern(&b, last, g, em, font.HintingNone); err == nil {
				x += float64(k) / 64
			}
		}
		segments, err := f.font.LoadGlyph(&b, g, em, nil)
		if err != nil {
			return out, fmt.Errorf("the font %q has a %q that cannot be drawn (%w): take another font", f.name, r, err)
		}
		var at [2]float64
		for _, s := range segments {
			v := segment{Op: s.Op}
			for i := range points[s.Op] {
				v.Args[i] = [2]float64{x + float64(s.Args[i].X)/64, float64(s.Args[i].Y) / 64}
			}
			out.reach(at, v)
			at = v.Args[points[s.Op]-1]
			out.segments = append(out.segments, v)
		}
		advance, err := f.font.GlyphAdvance(&b, g, em, font.HintingNone)
		if err != nil {
			return out, err
		}
		x, last = x+float64(advance)/64, g
	}
	if len(out.segments) == 0 {
		return out, fmt.Errorf("%q shows nothing in the font %q", text, f.name)
	}
	return out, nil
}

// reach makes the box hold a segment that begins at a point.
func (o *outline) reach(from [2]float64, s segment) {
	n := points[s.Op]
	if s.Op == sfnt.SegmentOpMoveTo { // where it begins is that of the segments that follow
		return
	}
	end := s.Args[n-1]
	var lo, hi [2]float64
	for k := range 2 {
		lo[k], hi[k] = math.Min(from[k], end[k]), math.Max(from[k], end[k])
		for _, t := range turns(from[k], s, k) {
			if t > 0 && t < 1 {
				v := at(from[k], s, k, t)
				lo[k], hi[k] = math.Min(lo[k], v), math.Max(hi[k], v)
			}
		}
	}
	o.x0, o.y0 = math.Min(o.x0, lo[0]), math.Min(o.y0, lo[1])
	o.x1, o.y1 = math.Max(o.x1, hi[0]), math.Max(o.y1, hi[1])
}

// at is one coordinate of a Bézier curve at a parameter.
func at(p0 float64, s segment, k int, t float64) float64 {
	u := 1 - t
	if s.Op == sfnt.SegmentOpQuadTo {
		return u*u*p0 + 2*u*t*s.Args[0][k] + t*t*s.Args[1][k]
	}
	return u*u*u*p0 + 3*u*u*t*s.Args[0][k] + 3*u*t*t*s.Args[1][k] + t*t*t*s.Args[2][k]
}

// turns are the parameters at which one coordinate of a curve turns back.
func turns(p0 float64, s segment, k int) []float64 {
	switch s.Op {
	case sfnt.SegmentOpQuadTo:
		p1, p2 := s.Args[0][k], s.Args[1][k]
		return []float64{(p0 - p1) / (p0 - 2*p1 + p2)}
	case sfnt.SegmentOpCubeTo:
		p1, p2, p3 := s.Args[0][k], s.Args[1][k], s.Args[2][k]
		a, b, c := -p0+3*p1-3*p2+p3, 2*(p0-2*p1+p2), p1-p0
		if a == 0 {
			return []float64{-c / b}
		}
		root := math.Sqrt(b*b - 4*a*c) // not a number where there is none, which no comparison takes
		return []float64{(-b + root) / (2 * a), (-b - root) / (2 * a)}
	}
	return nil
}
