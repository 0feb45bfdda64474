package show

import (
	"bytes"
	_ "embed"
	"fmt"
	"html/template"
	"regexp"
	"slices"
	"strings"
	"time"
	"unicode"
	"unicode/utf8"

	"codeberg.org/go-fonts/liberation/liberationsansbold"
	"codeberg.org/go-fonts/liberation/liberationsansregular"
	"codeberg.org/go-pdf/fpdf"
	"github.com/shopspring/decimal"

	"laydown/coverage/proof"
	"laydown/coverage/shop"
)

// letter is the customer's quote: what a shop sends. It names no process, film, cost or
// margin.
type letter struct {
	*proof.Whole
	Title   string
	Heads   []string    // of the table of goods
	Rows    []letterRow // of it
	Sums    []billRow
	Notices []string // before the terms
}

type letterRow struct {
	What, Detail string
	Cells        []string // pieces, each, in all
}

func newLetter(w *proof.Whole) letter {
	l := letter{Whole: w, Title: "Quote", Heads: []string{"", "pieces", "each, " + w.Currency, "in all, " + w.Currency}, Sums: billRows(w)}
	for i := range l.Sums {
		l.Sums[i].Name = sentence(l.Sums[i].Name)
	}
	if w.Number != "" {
		l.Title += " " + w.Number
	}
	for _, g := range w.Goods {
		var prints []string
		for _, p := range g.Prints {
			prints = append(prints, customerPrint(p))
		}
		detail := strings.Join(prints, "; ")
		if g.OwnBlanks {
			detail += "; on the pieces that you bring"
		}
		title := g.Name
		if title == "" {
			title = sentence(g.ItemSaid)
		}
		if g.SoldBy == shop.BySheet {
			title += ", by the sheet"
		}
		for i, group := range samePrice(g.Sizes) {
			row := letterRow{What: title, Detail: detail, Cells: []string{fmt.Sprint(group.Quantity), group.PriceEach, group.Total}}
			if group.Size != "" {
				row.What += ", " + group.Size
			}
			if i > 0 {
				row.Detail = ""
			}
			l.Rows = append(l.Rows, row)
		}
	}
	if len(w.Stops) > 0 {
		l.Notices = append(l.Notices, "The artwork as we have it cannot be printed well: it needs changes before we begin, which we will tell you. Prices hold for artwork of the same size and colours.")
	}
	return l
}

// samePrice joins sizes that cost the same, which their names then say.
func samePrice(sizes []proof.WholeSize) (out []proof.WholeSize) {
	for _, z := range sizes {
		if z.Size != "" {
			z.Size = fmt.Sprintf("%d × %s", z.Quantity, z.Size)
		}
		i := slices.IndexFunc(out, func(o proof.WholeSize) bool { return o.PriceEach == z.PriceEach })
		if i < 0 {
			out = append(out, z)
			continue
		}
		o := &out[i]
		o.Size, o.Quantity, o.Total = o.Size+", "+z.Size, o.Quantity+z.Quantity, sum(o.Total, z.Total)
	}
	return out
}

// sentence begins words with a capital.
func sentence(v string) string {
	r, n := utf8.DecodeRuneInString(v)
	return string(unicode.ToUpper(r)) + v[n:]
}

// sum adds two amounts.
func sum(a, b string) string {
	x, y := decimal.RequireFromString(a), decimal.RequireFromString(b)
	return x.Add(y).StringFixed(max(-x.Exponent(), 0))
}

// customerPrint says what a print is, for the customer.
func customerPrint(p proof.WholePrint) string {
	what := p.Art
	switch {
	case p.Text != "" && len(p.Designs) > 1:
		what = "names"
		if strings.Contains(p.Text, "{number}") && !strings.Contains(p.Text, "{name}") {
			what = "numbers"
		}
	case p.Text != "":
		what = p.Text
	}
	if p.Place != "" {
		what = p.Place + ": " + what
	}
	if len(p.Designs) > 1 {
		return what
	}
	mm := p.Designs[0].SizeMM
	return fmt.Sprintf("%s, %.0f × %.0f mm (%.1f × %.1f in)", what, mm[0], mm[1], mm[0]/25.4, mm[1]/25.4)
}

//go:embed letter.html
var letterSource string

var letterPage = template.Must(template.New("letter").Funcs(template.FuncMap{"css": css}).Parse(letterSource))

// LetterPage is the customer's quote as one page.
func LetterPage(w *proof.Whole) ([]byte, error) {
	var b bytes.Buffer
	err := letterPage.Execute(&b, newLetter(w))
	return b.Bytes(), err
}

// Measures of the quote's PDF in millimetres and points.
const (
	letterEdge   = 20.0
	letterType   = 10.0
	letterLeast  = 6.5
	letterLine   = 1.35 * 25.4 / 72 // of the type's size
	letterFigure = 24.0             // width of a column of figures
)

// LetterPDF is the customer's quote as PDF: one page of the shop's paper, in type as large as that allows
// down to 6.5 points, and further pages only if that does not do.
func LetterPDF(w *proof.Whole) ([]byte, error) {
	date, err := time.Parse("2006-01-02", w.Date)
	if err != nil {
		return nil, err
	}
	l := newLetter(w)
	for size := letterType; ; size -= 0.5 {
		f := l.pdf(size, date)
		if f.PageCount() > 1 && size > letterLeast {
			continue
		}
		var b bytes.Buffer
		err := f.Output(&b)
		return b.Bytes(), err
	}
}

// newPDF is a PDF on the shop's paper that says whose it is and what, and no more: it has the
// same bytes every time for the same day.
func newPDF(paper, title, author string, day time.Time) *fpdf.Fpdf {
	if paper != shop.Letter {
		paper = shop.A4
	}
	f := fpdf.New("P", "mm", paper, "")
	f.SetCatalogSort(true)
	f.SetCreationDate(day)
	f.SetModificationDate(day)
	f.SetTitle(title, true)
	f.SetAuthor(author, true)
	f.SetProducer("", true)
	f.SetLang("en")
	f.AddUTF8FontFromBytes("sans", "", liberationsansregular.TTF)
	f.AddUTF8FontFromBytes("sans", "B", liberationsansbold.TTF)
	return f
}

func (l letter) pdf(size float64, date time.Time) *fpdf.Fpdf {
	f := newPDF(l.Letter.Paper, l.Title, l.Letter.Shop, date)
	f.SetMargins(letterEdge, letterEdge, letterEdge)
	f.SetAutoPageBreak(true, letterEdge)
	f.AddPage()
	pageWide, pageHigh := f.GetPageSize()
	letterWide, letterLow := pageWide-2*letterEdge, pageHigh-letterEdge
	high := size * letterLine
	set := func(style string, of float64) { f.SetFont("sans", style, of) }
	line := func(style string, text string) {
		set(style, size)
		f.MultiCell(letterWide, high, text, "", "L", false)
	}
	set("B", size*1.5)
	f.MultiCell(letterWide, high*1.5, l.Letter.Shop, "", "L", false)
	for _, v := range l.Letter.From {
		line("", v)
	}
	if l.Letter.TaxNumber != "" {
		line("", l.Letter.TaxName+" "+l.Letter.TaxNumber)
	}
	f.Ln(high)
	for i, v := range append([]string{l.Customer}, l.Letter.To...) {
		if v != "" {
			line(map[bool]string{true: "B"}[i == 0], v)
		}
	}
	f.Ln(high)
	set("B", size*1.4)
	f.MultiCell(letterWide, high*1.6, l.Title, "", "L", false)
	dates := "Date " + l.Date + ", valid until " + l.ValidUntil
	if l.Due != "" {
		dates += ", to be ready by " + l.Due
	}
	line("", dates)
	f.Ln(high / 2)

	wide := letterWide - 3*letterFigure
	row := func(style string, what string, cells ...string) {
		set(style, size)
		lines := append(f.SplitText(what, wide-2), "")
		lines = lines[:max(1, len(lines)-1)]
		if f.GetY()+float64(len(lines))*high > letterLow {
			f.AddPage()
		}
		y := f.GetY()
		for i, c := range cells {
			f.SetXY(letterEdge+wide+float64(i)*letterFigure, y)
			f.CellFormat(letterFigure, high, c, "", 0, "R", false, 0, "")
		}
		f.SetXY(letterEdge, y)
		for _, v := range lines {
			f.CellFormat(wide, high, v, "", 2, "L", false, 0, "")
		}
		f.SetX(letterEdge)
	}
	rule := func() {
		f.SetLineWidth(0.2)
		y := f.GetY() + 0.6
		f.Line(letterEdge, y, letterEdge+letterWide, y)
		f.SetY(y + 0.8)
	}
	row("B", "", l.Heads[1:]...)
	rule()
	for _, r := range l.Rows {
		row("", r.What, r.Cells...)
		if r.Detail != "" {
			f.SetTextColor(80, 86, 96)
			row("", r.Detail)
			f.SetTextColor(0, 0, 0)
		}
	}
	rule()
	for _, r := range l.Sums {
		style := ""
		if r.Sum {
			style = "B"
		}
		row(style, r.Name, "", "", r.Amount)
	}
	f.Ln(high / 2)
	for _, v := range append(append([]string{l.Letter.Note}, l.Notices...), l.Letter.Words...) {
		if v != "" {
			line("", v)
			f.Ln(high / 4)
		}
	}
	return f
}

// unitless is a size of a drawing that stands within another.
var unitless = regexp.MustCompile(`^(<svg [^>]*width="[^"]*)mm(" height="[^"]*)mm"`)

// WholeSheets draws an order's shared sheets one below the other, as SVG in millimetres.
func WholeSheets(w *proof.Whole) ([]byte, error) {
	var body strings.Builder
	wide, high := 0.0, 0.0
	for _, v := range w.Sheets {
		p := newGangPicture(v.Gang, v.Corners)
		picture, err := p.svg()
		if err != nil {
			return nil, err
		}
		fmt.Fprintf(&body, `<g transform="translate(0 %.2f)"><text x="10" y="7" font-size="6" font-family="DejaVu Sans, sans-serif" fill="#1d2129">%s, %s</text></g><g transform="translate(0 %.2f)">%s</g>`,
			high, template.HTMLEscapeString(v.Media), template.HTMLEscapeString(v.Gang.Sheet.Name), high+10, unitless.ReplaceAll(bytes.TrimSpace(picture), []byte(`$1$2"`)))
		wide, high = max(wide, p.Width), high+10+p.Height
	}
	return safeDrawing(fmt.Appendf(nil, `<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 %.2f %.2f" width="%.2fmm" height="%.2fmm">%s</svg>`+"\n", wide, high, wide, high, body.String())), nil
}
