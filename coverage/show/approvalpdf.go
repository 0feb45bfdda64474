package show

import (
	"bytes"
	"fmt"
	"math"
	"strconv"
	"strings"
	"time"

	"codeberg.org/go-pdf/fpdf"

	"laydown/coverage/drawing"
	"laydown/coverage/proof"
)

// Measures of the approval's PDF in millimetres, and its type in points.
const (
	approvalEdge = 14.0
	approvalGap  = 6.0 // between columns
	mostSheets   = 2
)

// approvalTries are types with the height of the pictures, the largest first; one sheet is
// tried with each, then as few as can be.
var approvalTries = [][2]float64{{9.4, 92}, {9.2, 84}, {8.8, 78}, {8.4, 72}, {8, 68}, {7.6, 64}, {7.2, 60}}

// ApprovalPDF is [ApprovalPage] as PDF: one sheet of the shop's paper, or two where there is
// much to say. The same order has the same bytes every time.
func ApprovalPDF(p *proof.Proof, of Approval) ([]byte, error) {
	a, err := newApproval(p, of)
	if err != nil {
		return nil, err
	}
	return a.pdf(of.Date)
}

func (a *approval) pdf(date time.Time) ([]byte, error) {
	day := time.Date(date.Year(), date.Month(), date.Day(), 0, 0, 0, 0, time.UTC)
	var best *fpdf.Fpdf
	for _, try := range approvalTries {
		f := a.set(try[0], try[1], day)
		// More sheets are as good as fewer only if the type is larger.
		if best == nil || f.PageCount() < best.PageCount() && (f.PageCount() == 1 || best.PageCount() > mostSheets) {
			best = f
		}
		if best.PageCount() == 1 {
			break
		}
	}
	var b bytes.Buffer
	err := best.Output(&b)
	return b.Bytes(), err
}

// pdfSheet sets text and boxes in a PDF at places that it is told.
type pdfSheet struct {
	*fpdf.Fpdf
	size      float64 // of the type, points
	wide, low float64 // of what may be printed on
	dry       bool    // only measures
}

// What is set: black, what matters less, and what must be heeded.
var (
	pdfInk  = [3]int{29, 33, 41}
	pdfSoft = [3]int{80, 86, 95}
	pdfWarn = [3]int{138, 59, 0}
)

// lineMM is the height of a line of a type.
func lineMM(pt float64) float64 { return pt * 1.3 * 25.4 / 72 }

// put sets text in lines of a width and returns how high they are. align is L or R.
func (s *pdfSheet) put(x, y, w float64, style string, pt float64, c [3]int, align, text string) float64 {
	if text == "" {
		return 0
	}
	s.SetFont("sans", style, pt)
	lines := s.SplitText(text, w)
	if !s.dry {
		s.SetTextColor(c[0], c[1], c[2])
		for i, l := range lines {
			at := x
			if align == "R" {
				at = x + w - s.GetStringWidth(l)
			}
			s.Text(at, y+lineMM(pt)*(float64(i)+0.76), l)
		}
	}
	return lineMM(pt) * float64(len(lines))
}

func (s *pdfSheet) para(x, y, w float64, text string) float64 {
	return s.put(x, y, w, "", s.size, pdfInk, "L", text)
}

func (s *pdfSheet) softly(x, y, w float64, text string) float64 {
	return s.put(x, y, w, "", s.size*0.88, pdfSoft, "L", text)
}

func (s *pdfSheet) heading(x, y, w float64, c [3]int, text string) float64 {
	return s.put(x, y, w, "B", s.size*1.15, c, "L", text) + 0.6
}

// list sets points under each other.
func (s *pdfSheet) list(x, y, w float64, lines []string) (h float64) {
	for _, v := range lines {
		if !s.dry {
			s.SetFillColor(pdfInk[0], pdfInk[1], pdfInk[2])
			s.Circle(x+1, y+h+lineMM(s.size)*0.5, 0.45, "F")
		}
		h += s.para(x+3.4, y+h, w-3.4, v) + 0.4
	}
	return h
}

// frame draws the rim of a box.
func (s *pdfSheet) frame(x, y, w, h, line float64, c [3]int) {
	if s.dry {
		return
	}
	s.SetDrawColor(c[0], c[1], c[2])
	s.SetLineWidth(line)
	s.RoundedRect(x, y, w, h, 1, "1234", "D")
}

// measured is how high something is that is set by a function.
func (s *pdfSheet) measured(set func() float64) float64 {
	was := s.dry
	s.dry = true
	h := set()
	s.dry = was
	return h
}

// set puts the page on sheets, in a type of a size with pictures of a height.
func (a *approval) set(size, high float64, day time.Time) *fpdf.Fpdf {
	f := newPDF(a.Paper, strings.TrimSpace(a.Title+" "+a.Number), a.Shop, day)
	f.SetMargins(0, 0, 0)
	f.SetCellMargin(0)
	f.SetAutoPageBreak(false, 0)
	for i, p := range []*picture{a.Look, a.Sent, a.Wrapped} {
		if p != nil {
			f.RegisterImageOptionsReader([]string{"look", "sent", "wrapped"}[i], p.options(), bytes.NewReader(p.Data))
		}
	}
	f.AddPage()
	pw, ph := f.GetPageSize()
	s := &pdfSheet{Fpdf: f, size: size, wide: pw - 2*approvalEdge, low: ph - approvalEdge}
	x, w := approvalEdge, s.wide
	y := approvalEdge - 2
	// next sets a block, on another sheet if it has no room on this one.
	next := func(gap float64, set func(y float64) float64) {
		if y+gap+s.measured(func() float64 { return set(y) }) > s.low && y > approvalEdge {
			f.AddPage()
			y, gap = approvalEdge, 0
		}
		y += gap
		y += set(y)
	}
	next(0, func(y float64) float64 { return a.setHead(s, x, y, w) })
	if len(a.Must) > 0 {
		next(2.4, func(y float64) float64 {
			set := func() float64 {
				h := 1.8 + s.heading(x+3, y+1.8, w-6, pdfWarn, "To be changed before we print")
				return h + s.list(x+3, y+h, w-6, a.Must) + 1.4
			}
			h := set()
			s.frame(x, y, w, h, 0.5, pdfWarn)
			return h
		})
	}
	next(2.6, func(y float64) float64 { return a.setPictures(s, x, y, w, high) })
	next(2.6, func(y float64) float64 { return a.setColumns(s, x, y, w) })
	next(3, func(y float64) float64 { return a.setSign(s, x, y, w) })
	return f
}

func (p *picture) options() fpdf.ImageOptions {
	kind := "PNG"
	if p.JPEG {
		kind = "JPG"
	}
	return fpdf.ImageOptions{ImageType: kind}
}

// setHead sets whose page it is and what it is about.
func (a *approval) setHead(s *pdfSheet, x, y, w float64) float64 {
	h := s.put(x, y, w/2, "B", s.size*1.75, pdfInk, "L", a.Title)
	right := s.put(x+w/2, y, w/2, "B", s.size*1.3, pdfInk, "R", a.Shop)
	for _, v := range a.Address {
		right += s.put(x+w/2, y+right, w/2, "", s.size*0.94, pdfSoft, "R", v)
	}
	h = max(h, right) + 1.4
	if !s.dry {
		s.SetDrawColor(pdfInk[0], pdfInk[1], pdfInk[2])
		s.SetLineWidth(0.5)
		s.Line(x, y+h, x+w, y+h)
	}
	h += 1.6
	const columns = 4
	each := (w - (columns-1)*approvalGap) / columns
	for from := 0; from < len(a.Facts); from += columns {
		row := 0.0
		for i, v := range a.Facts[from:min(from+columns, len(a.Facts))] {
			at := x + float64(i)*(each+approvalGap)
			k := s.softly(at, y+h, each, v[0])
			row = max(row, k+s.put(at, y+h+k, each, "B", s.size, pdfInk, "L", v[1]))
		}
		h += row + 1
	}
	return h
}

// setPictures sets the drawing beside the print and the art.
func (a *approval) setPictures(s *pdfSheet, x, y, w, high float64) float64 {
	h := s.heading(x, y, w, pdfInk, a.Heading)
	const gap = 4.0
	half := (w - gap) / 2
	said := lineMM(s.size * 0.88)
	small := (high - said - 2.4) / 2
	panel := func(px, py, ph float64, caption string) float64 {
		s.frame(px, py, half, ph, 0.2, [3]int{201, 206, 214})
		return ph + 0.6 + s.softly(px, py+ph+0.6, half, caption)
	}
	left := panel(x, y+h, high, a.Item.Caption)
	r := x + half + gap
	first := panel(r, y+h, small, a.Item.LookSaid)
	second := panel(r, y+h+small+said+2.4, small, a.Item.SentSaid)
	if !s.dry {
		a.draw(s, x+2, y+h+2, half-4, high-4)
		for i, p := range []*picture{a.Look, a.Sent} {
			name := []string{"look", "sent"}[i]
			scale := math.Min((half-4)/float64(p.Width), (small-4)/float64(p.Height))
			pw, ph := scale*float64(p.Width), scale*float64(p.Height)
			top := y + h + float64(i)*(small+said+2.4)
			s.ImageOptions(name, r+(half-pw)/2, top+(small-ph)/2, pw, ph, false, p.options(), 0, "")
		}
	}
	h += max(left, first, small+said+2.4+second) + 0.6
	return h + s.softly(x, y+h, w, a.Disclaimer())
}

// draw puts the drawing into a box, the print on it.
func (a *approval) draw(s *pdfSheet, x, y, w, h float64) {
	d := a.Drawing
	scale := math.Min(w/d.WidthMM, h/d.HeightMM)
	x0, y0 := x+(w-scale*d.WidthMM)/2-scale*d.LeftMM, y+(h-scale*d.HeightMM)/2-scale*d.TopMM
	at := func(q [2]float64) (float64, float64) { return x0 + scale*q[0], y0 + scale*q[1] }
	s.SetDrawColor(rgb(a.Item.Line))
	s.SetLineWidth(0.25)
	s.SetLineJoinStyle("round")
	for _, p := range d.Parts {
		for _, step := range p.Path {
			switch step.Do {
			case 'M':
				s.MoveTo(at(step.Points[0]))
			case 'L':
				s.LineTo(at(step.Points[0]))
			case 'C':
				ax, ay := at(step.Points[0])
				bx, by := at(step.Points[1])
				cx, cy := at(step.Points[2])
				s.CurveBezierCubicTo(ax, ay, bx, by, cx, cy)
			case 'Z':
				s.ClosePath()
			}
		}
		style := "D"
		if p.Tone != drawing.Unfilled {
			style = "DF"
			s.SetFillColor(rgb(a.Item.fill(p.Tone)))
		}
		s.DrawPath(style)
	}
	var body []fpdf.PointType
	for _, q := range d.Body.Polygon() {
		px, py := at(q)
		body = append(body, fpdf.PointType{X: px, Y: py})
	}
	name := "look"
	if a.Wrapped != nil {
		name = "wrapped"
	}
	left, top, wide, high := d.Print(a.PrintMM[0], a.PrintMM[1])
	px, py := at([2]float64{left, top})
	s.ClipPolygon(body, false)
	s.ImageOptions(name, px, py, scale*wide, scale*high, false, a.OnDrawing().options(), 0, "")
	s.ClipEnd()
}

// rgb are the parts of a colour #rrggbb.
func rgb(hex string) (r, g, b int) {
	v, err := strconv.ParseUint(strings.TrimPrefix(hex, "#"), 16, 32)
	if err != nil {
		panic(fmt.Sprintf("%q is no colour", hex)) // they are made here
	}
	return int(v >> 16), int(v >> 8 & 255), int(v & 255)
}

// setColumns sets what there is to know in two columns, parted where they are most alike.
func (a *approval) setColumns(s *pdfSheet, x, y, w float64) float64 {
	half := (w - approvalGap) / 2
	var blocks []func(x, y float64) float64
	if len(a.Pairs) > 0 || a.Matching != "" {
		blocks = append(blocks, func(x, y float64) float64 { return a.setColours(s, x, y, half) })
	}
	if notes := a.Notes(); len(notes) > 0 {
		blocks = append(blocks, func(x, y float64) float64 {
			h := s.heading(x, y, half, pdfInk, "Please note")
			return h + s.list(x, y+h, half, notes)
		})
	}
	blocks = append(blocks, func(x, y float64) float64 {
		h := s.heading(x, y, half, pdfInk, "Care")
		return h + s.para(x, y+h, half, strings.Join(a.Care, " "))
	})
	if len(a.Prices) > 0 {
		blocks = append(blocks, func(x, y float64) float64 { return a.setPrices(s, x, y, half) })
	}
	const gap = 2.4
	column := func(x float64, blocks []func(x, y float64) float64) (h float64) {
		for i, set := range blocks {
			if i > 0 {
				h += gap
			}
			h += set(x, y+h)
		}
		return h
	}
	at, least := len(blocks), math.Inf(1)
	for k := 1; k <= len(blocks); k++ {
		if h := s.measured(func() float64 { return max(column(x, blocks[:k]), column(x, blocks[k:])) }); h < least {
			at, least = k, h
		}
	}
	return max(column(x, blocks[:at]), column(x+half+approvalGap, blocks[at:]))
}

func (a *approval) setColours(s *pdfSheet, x, y, w float64) float64 {
	heading := "Colours"
	if len(a.Pairs) > 0 {
		heading = "Colours that will not match"
	}
	h := s.heading(x, y, w, pdfInk, heading)
	const patch, high, gap = 9.0, 7.5, 1.2
	for _, p := range a.Pairs {
		room := w - 2*patch - 3
		text := s.measured(func() float64 { return s.put(0, 0, room, "", s.size*0.94, pdfInk, "L", p.Told) })
		row := max(high, text)
		if !s.dry {
			for i, c := range []string{p.Wanted, p.Printed} {
				s.SetFillColor(rgb(c))
				s.Rect(x+float64(i)*patch, y+h+(row-high)/2, patch, high, "F")
			}
			s.SetDrawColor(201, 206, 214)
			s.SetLineWidth(0.2)
			s.Rect(x, y+h+(row-high)/2, 2*patch, high, "D")
		}
		s.put(x+2*patch+3, y+h+(row-text)/2, room, "", s.size*0.94, pdfInk, "L", p.Told)
		h += row + gap
	}
	if len(a.Pairs) > 0 {
		h += s.softly(x, y+h, w, strings.TrimSpace("Left as wanted, right as printed. "+a.MorePairs))
	}
	return h + s.para(x, y+h, w, a.Matching)
}

func (a *approval) setPrices(s *pdfSheet, x, y, w float64) float64 {
	h := s.heading(x, y, w, pdfInk, "Price in "+a.Currency)
	each := w / float64(len(a.Heads))
	row := func(style string, pt float64, c [3]int, cells []string) (high float64) {
		for i, v := range cells {
			align := "R"
			if i == 0 {
				align = "L"
			}
			at := x + float64(i)*each
			if style == "" && align == "R" { // figures are never broken
				s.SetFont("sans", style, pt)
				wide := s.GetStringWidth(v) + 1
				high = max(high, s.put(at+each-wide, y+h, wide, style, pt, c, align, v))
				continue
			}
			high = max(high, s.put(at, y+h, each, style, pt, c, align, v))
		}
		return high
	}
	h += row("B", s.size*0.88, pdfSoft, a.Heads) + 0.4
	if !s.dry {
		s.SetDrawColor(201, 206, 214)
		s.SetLineWidth(0.2)
		s.Line(x, y+h, x+w, y+h)
	}
	h += 0.4
	for _, r := range a.Prices {
		h += row("", s.size, pdfInk, r) + 0.3
	}
	for _, v := range a.Terms {
		h += s.softly(x, y+h, w, v)
	}
	return h
}

// setSign sets what is signed.
func (a *approval) setSign(s *pdfSheet, x, y, w float64) float64 {
	in := 3.6
	h := 2.0 + s.heading(x+in, y+2, w-2*in, pdfInk, signHeading)
	h += s.para(x+in, y+h, w-2*in, signWords) + 1.2
	for i, v := range signChoices {
		high := max(lineMM(s.size), 4.4)
		if !s.dry {
			s.SetDrawColor(pdfInk[0], pdfInk[1], pdfInk[2])
			s.SetLineWidth(0.3)
			s.Rect(x+in, y+h+(high-3.4)/2, 3.4, 3.4, "D")
		}
		s.para(x+in+5.6, y+h+(high-lineMM(s.size))/2, w-2*in-5.6, v)
		if i == 1 && !s.dry {
			s.SetFont("sans", "", s.size)
			from := x + in + 5.6 + s.GetStringWidth(v) + 2
			s.SetLineWidth(0.2)
			s.Line(from, y+h+high-0.6, x+w-in, y+h+high-0.6)
		}
		h += high + 1
	}
	h += 1
	at, room := x+in, w-2*in-2*approvalGap
	for i, v := range signFields {
		wide := room * []float64{0.36, 0.22, 0.42}[i]
		s.softly(at, y+h, wide, v)
		if !s.dry {
			s.SetLineWidth(0.2)
			s.Line(at, y+h+lineMM(s.size)+6, at+wide, y+h+lineMM(s.size)+6)
		}
		at += wide + approvalGap
	}
	h += lineMM(s.size) + 8.4
	s.frame(x, y, w, h, 0.5, pdfInk)
	return h
}
