package pdf

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"github.com/klippa-app/go-pdfium/requests"
	"github.com/klippa-app/go-pdfium/responses"

	"laydown/coverage/artwork/mark"
)

// mostCharacters is how many characters of a page are looked at.
const mostCharacters = 50_000

// short are letters as high as an x, and tall others of one height, without a descender.
const (
	short = "acemnorsuvwxz"
	tall  = "ABCDEFGHIJKLMNOPRSTUVWXYZbdfhkl0123456789"
)

// letter is a character as it is set.
type letter struct {
	r        rune
	box      mark.Box // on the page, parts of its width
	font     string
	size     float64 // of the em, parts of the page's width
	sideways bool
}

// Texts are the lines of a page's texts, in the order in which they are set: characters of
// one font and size that follow each other. What is set neither upright nor sideways has no
// height of an x. Unseen text, as under scanned pages, is left out. Where they lie is known of a
// page that [Document.Facts] could read, and there are none of another.
func (d *Document) Texts(p Page) ([]mark.Text, error) {
	page := requests.Page{ByIndex: &requests.PageByIndex{Document: d.document, Index: p.number}}
	text, err := d.instance.FPDFText_LoadPage(&requests.FPDFText_LoadPage{Page: page})
	if err != nil {
		return nil, fmt.Errorf("its texts cannot be read: %w", err)
	}
	defer d.instance.FPDFText_ClosePage(&requests.FPDFText_ClosePage{TextPage: text.TextPage})
	n, err := d.instance.FPDFText_CountChars(&requests.FPDFText_CountChars{TextPage: text.TextPage})
	if err != nil {
		return nil, fmt.Errorf("its texts cannot be read: %w", err)
	}
	onto := p.frame.Place
	if p.frame.Width == 0 {
		onto = func(x, y float64) mark.Point { return mark.Point{X: math.NaN()} }
	}
	var out []mark.Text
	var line []letter
	end := func() {
		if t, ok := lineOf(line); ok && len(out) < mark.Most {
			out = append(out, t)
		}
		line = line[:0]
	}
	for i := range min(n.Count, mostCharacters) {
		l, ok := d.letter(text, i, onto)
		if !ok {
			continue
		}
		if k := len(line); k > 0 {
			last := line[k-1]
			near := math.Hypot(l.box.X-last.box.X, l.box.Y-last.box.Y) < 3*l.size
			flat := math.Abs(l.box.Y+l.box.Height-last.box.Y-last.box.Height) < 0.6*l.size
			if l.sideways {
				flat = math.Abs(l.box.X-last.box.X) < 0.6*l.size
			}
			if l.font != last.font || math.Abs(l.size-last.size) > 0.01*l.size || l.sideways != last.sideways || !near || !flat {
				end()
			}
		}
		line = append(line, l)
	}
	end()
	if n.Count > mostCharacters {
		return out, fmt.Errorf("it has %d characters, of which %d were looked at", n.Count, mostCharacters)
	}
	return out, nil
}

// letter is the i-th character; ok is false for blanks and what is not drawn.
func (d *Document) letter(text *responses.FPDFText_LoadPage, i int, onto func(x, y float64) mark.Point) (l letter, ok bool) {
	u, err := d.instance.FPDFText_GetUnicode(&requests.FPDFText_GetUnicode{TextPage: text.TextPage, Index: i})
	if err != nil || u.Unicode <= ' ' {
		return l, false
	}
	l.r = rune(u.Unicode)
	b, err := d.instance.FPDFText_GetCharBox(&requests.FPDFText_GetCharBox{TextPage: text.TextPage, Index: i})
	if err != nil || !(b.Right > b.Left && b.Top > b.Bottom) {
		return l, false
	}
	m, err := d.instance.FPDFText_GetMatrix(&requests.FPDFText_GetMatrix{TextPage: text.TextPage, Index: i})
	if err != nil {
		return l, false
	}
	size, err := d.instance.FPDFText_GetFontSize(&requests.FPDFText_GetFontSize{TextPage: text.TextPage, Index: i})
	if err != nil {
		return l, false
	}
	if o, err := d.instance.FPDFText_GetTextObject(&requests.FPDFText_GetTextObject{TextPage: text.TextPage, Index: i}); err == nil {
		if mode, err := d.instance.FPDFTextObj_GetTextRenderMode(&requests.FPDFTextObj_GetTextRenderMode{PageObject: o.TextObject}); err == nil && (mode.TextRenderMode == 3 || mode.TextRenderMode == 7) {
			return l, false
		}
	}
	if info, err := d.instance.FPDFText_GetFontInfo(&requests.FPDFText_GetFontInfo{TextPage: text.TextPage, Index: i}); err == nil {
		l.font = info.FontName
		if k := strings.IndexByte(l.font, '+'); k == 6 { // of a part of a font: ISO 32000-1, 9.6.4
			l.font = l.font[7:]
		}
	}
	// Upwards in the text, and that in the drawing.
	zero, up := onto(0, 0), onto(float64(m.Matrix.C), float64(m.Matrix.D))
	dx, dy := up.X-zero.X, up.Y-zero.Y
	l.size = size.FontSize * math.Hypot(dx, dy)
	l.box = mark.Around(onto(b.Left, b.Bottom), onto(b.Right, b.Top))
	l.sideways = math.Abs(dx) > math.Abs(dy)
	if least := min(math.Abs(dx), math.Abs(dy)); least > 0.01*math.Hypot(dx, dy) {
		l.r = '?' // its box tells nothing of its height
	}
	return l, l.size > 0 && !math.IsInf(l.size, 0)
}

// lineOf is a line of letters.
func lineOf(line []letter) (t mark.Text, ok bool) {
	if len(line) == 0 {
		return t, false
	}
	t = mark.Text{Font: line[0].font, Size: line[0].size}
	var corners []mark.Point
	for _, l := range line {
		corners = append(corners, mark.Point{X: l.box.X, Y: l.box.Y}, mark.Point{X: l.box.X + l.box.Width, Y: l.box.Y + l.box.Height})
	}
	t.Box = mark.Around(corners...)
	for _, kind := range []string{short, tall} {
		var heights []float64
		for _, l := range line {
			if strings.ContainsRune(kind, l.r) {
				h := l.box.Height
				if l.sideways {
					h = l.box.Width
				}
				heights = append(heights, h)
			}
		}
		if len(heights) > 0 {
			slices.Sort(heights)
			t.XHeight = heights[len(heights)/2]
			break
		}
	}
	return t, !math.IsNaN(t.X)
}
