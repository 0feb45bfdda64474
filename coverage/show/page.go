package show

import (
	"bytes"
	_ "embed"
	"fmt"
	"html/template"
	"math"
	"strings"

	"github.com/shopspring/decimal"

	"laydown/coverage/flaw"
	"laydown/coverage/plate"
	"laydown/coverage/proof"
	"laydown/coverage/sheet"
)

//go:embed page.html
var pageSource string

var page = template.Must(template.New("page").Funcs(template.FuncMap{
	"f1":       f1,
	"f2":       func(v float64) string { return fmt.Sprintf("%.2f", v) },
	"lab":      labText,
	"inc":      func(i int) int { return i + 1 },
	"title":    sentence,
	"number":   amount,
	"money":    money,
	"minor":    func(v decimal.Decimal, places int32) string { return v.StringFixed(places) },
	"grade":    gradeWord,
	"severity": func(v flaw.Severity) string { return severityWords[v] },
	"share":    func(v *float64) string { return pct(*v) },
}).Parse(pageSource))

// pageData is what the page's template sees.
type pageData struct {
	*proof.Proof
	Shop    string
	Verdict string
	Why     string
	WhiteOf string
	// TotalToner are its figures as the text says them, and Invented whose prices these are.
	TotalToner, Invented string
	// Severity is the gravest of the findings; "" if there is none.
	Severity flaw.Severity
	Art      template.URL
	OnItem   template.URL
	TACMap   template.URL
	Plates5  []pagePlate
	Rows     []pageRow
	Marks    []pageMark
	Charts   []pageChart // of the same places, for wide and for narrow screens
	CloseUp  []pageCloseUp
	ArtSize  [2]int
	Pairs    []pagePair
	Own      []pagePair // the art's main colours
	ItemHex  template.CSS
	Ticket   *proof.Ticket
	Facts    [][2]string
	Costs    []quoteRow
	Prices   []string // what to know of them
	Places   []sheet.Place
	Edge     float64 // mm that stay free on every side of the sheet
	Free     [2]float64
	Corners  []sheet.Place // that stay free for a cutter's marks
}

type pagePlate struct {
	Name    string
	Percent float64
	Picture template.URL
}

type pageRow struct {
	Name                 string
	Print, Sheet         float64
	CostPrint, CostSheet string
	CSS                  template.CSS
}

type pageMark struct {
	Number   int
	Severity flaw.Severity
	Where    string
	Finding  flaw.Finding
}

type pagePair struct {
	proof.Swatch
	Closest         string
	Target, Printed template.CSS
}

// Page renders a proof as one HTML page that needs no other file. It is for the shop: a
// customer is sent [ApprovalPage].
func Page(p *proof.Proof) ([]byte, error) {
	l := p.Laid
	d := pageData{Proof: p, Shop: l.Job.Shop.Name, Verdict: verdict(p), Why: reasons(p, inFull), WhiteOf: whiteOf(p), TotalToner: totalTonerWords(p), ItemHex: template.CSS(p.Item.Colour)}
	if len(p.Findings) > 0 {
		d.Severity = p.Findings[0].Severity
	}
	if d.Severity != flaw.Stop && missed(p.Swatches) > 0 {
		d.Severity = flaw.Look
	}
	if p.DemoShop || p.DemoFigures > 0 {
		d.Invented = strings.ReplaceAll(invented(p.Head), "above", "here")
	}
	d.Ticket = p.Ticket(0)
	d.Facts = ticketFacts(d.Ticket)
	room := proof.RoomOf(l.Job)
	d.Places, d.Edge, d.Corners = l.Layout.Places, room.MarginMM, room.Corners()
	d.Free = [2]float64{math.Max(0, l.Layout.Sheet.WidthMM-2*d.Edge), math.Max(0, l.Layout.Sheet.HeightMM-2*d.Edge)}
	if p.Quoted != nil {
		d.Costs, d.Prices = quoteRows(p.Quoted), quoteNotes(p.Quoted)
	}
	seen, err := newDesigned(l)
	if err != nil {
		return nil, err
	}
	if d.Art, err = dataURL(seen.all(artPX)); err != nil {
		return nil, err
	}
	item, err := itemPicture(l, artPX)
	if err != nil {
		return nil, err
	}
	if d.OnItem, err = dataURL(item); err != nil {
		return nil, err
	}
	if d.TACMap, err = dataURL(tacPicture(l, platePX)); err != nil {
		return nil, err
	}
	css := [plate.Count]template.CSS{"#0096d6", "#d6007a", "#e8cf00", "#222", "#fff"}
	for k, name := range plate.Names {
		u, err := dataURL(platePicture(l, k))
		if err != nil {
			return nil, err
		}
		c := p.Plates.At(k)
		d.Plates5 = append(d.Plates5, pagePlate{name, c.PrintPercent, u})
		d.Rows = append(d.Rows, pageRow{name, c.PrintPercent, c.SheetPercent, money(p.Toner.Print.Plate[k]), money(p.Toner.Sheet.Plate[k]), css[k]})
	}
	places := placesOf(p.Findings)
	for i, f := range p.Findings {
		d.Marks = append(d.Marks, pageMark{i + 1, f.Severity, whereSaid(places, i, f), f})
	}
	if err := d.chart(seen, p, places); err != nil {
		return nil, err
	}
	pair := func(s proof.Swatch, closest string) pagePair {
		return pagePair{s, closest, template.CSS(s.Target.Hex()), template.CSS(s.Printed.Hex())}
	}
	for _, s := range p.Swatches {
		d.Pairs = append(d.Pairs, pair(s, ""))
	}
	for _, m := range p.Main {
		closest := ""
		if m.ClosestSwatch != "" {
			closest = fmt.Sprintf("closest brand colour: %s, ΔE00 %.1f", m.ClosestSwatch, m.ClosestDeltaE)
		}
		d.Own = append(d.Own, pair(m.Swatch, closest))
	}
	var b bytes.Buffer
	if err := page.Execute(&b, d); err != nil {
		return nil, err
	}
	return b.Bytes(), nil
}
