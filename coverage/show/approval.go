package show

import (
	"bytes"
	"cmp"
	_ "embed"
	"encoding/base64"
	"fmt"
	"html/template"
	"image"
	"image/color"
	"image/draw"
	"image/jpeg"
	"image/png"
	"math"
	"slices"
	"strings"
	"time"

	"github.com/disintegration/imaging"

	"laydown/colour"
	"laydown/colour/grid"
	"laydown/colour/layer"
	"laydown/coverage/drawing"
	"laydown/coverage/fault"
	"laydown/coverage/plate"
	"laydown/coverage/proof"
	"laydown/coverage/shop"
	"laydown/coverage/unit"
)

// Approval is what is said beside a proof to the customer who is to approve it.
type Approval struct {
	Number, For string    // of the order, and whom it is for; "" is left out
	Date        time.Time // its day counts
	ValidDays   int       // after Date
	Place       string    // of the print on the item, as [drawing.New] takes it; "" for the shop file's
	Quantity    bool      // the proof's quantities are told,
	Prices      bool      // and what is asked for them
}

// approval is the customer's page in words and pictures, for HTML and PDF alike. Nothing in it
// is the shop's own business: no process, film, plate or cost.
type approval struct {
	Shop    string
	Address []string
	Title   string
	Number  string
	Heading string // of the pictures
	Paper   string // A4 or Letter
	Facts   [][2]string

	Drawing *drawing.Drawing
	PrintMM [2]float64
	Item    customerItem
	// Look is the print as it will look and Sent the art as it came; Wrapped is Look as it is
	// seen on what is round, nil for what is flat.
	Look, Sent, Wrapped *picture

	Pairs                []customerPair
	Matching, MorePairs  string // colours that match, and how many pairs were left out
	Must, Check, Changed []string
	Care                 []string
	Currency             string
	Heads                []string // of the prices
	Prices               [][]string
	Terms                []string
}

// customerItem is the item in words and in colours #rrggbb.
type customerItem struct {
	Said                     string
	Bare, Shade, Frame, Line string
	Alt, Caption             string
	LookSaid, SentSaid       string // captions of the pictures
	LookAlt, SentAlt         string
}

// customerPair is a colour as it is wanted and as it prints.
type customerPair struct {
	Wanted, Printed string // #rrggbb
	Told            string
}

// picture is one as it is put into a page.
type picture struct {
	Data          []byte
	JPEG          bool
	Width, Height int // pixels
}

// Bounds of the page: what goes beyond them is counted, so that it never takes more than two
// sheets, nor more bytes than can be sent.
const (
	approvalPX   = 840     // width or height of a picture; 85 mm at 250 to the inch
	approvalMost = 300_000 // bytes of a picture
	approvalPNG  = 100_000 // beyond which a photograph is taken for one
	mostPairs    = 6
	mostTold     = 6 // things to change, to look at
)

// What is signed.
const (
	signHeading = "Your approval"
	signWords   = "Please check spelling, size, place and colours. We print what you approve here."
)

var (
	signChoices = [3]string{"Approved as shown", "Approved with these changes:", "Not approved: please send a new proof"}
	signFields  = [3]string{"Name", "Date", "Signature"}
)

// Notes are what was changed and what to look at.
func (a *approval) Notes() []string { return append(slices.Clone(a.Changed), a.Check...) }

// Disclaimer says what the pictures do not show.
func (a *approval) Disclaimer() string {
	return "The colours are predicted. Screens and office printers show them each in their own way; fabric, gloss and texture are not in the pictures. Where a colour must be exact, ask us for a printed sample."
}

// groundSent is what clear parts of the art are shown on.
var groundSent = color.NRGBA{228, 231, 235, 255}

// newApproval puts a customer's page together. The error is a [fault.Fault] about place, or of
// a picture.
func newApproval(p *proof.Proof, a Approval) (*approval, error) {
	l := p.Laid
	j := l.Job
	s := j.Shop
	out := &approval{Shop: s.Name, Address: s.Terms.Address, Title: "Artwork approval", Number: a.Number, Paper: s.Terms.Paper, PrintMM: [2]float64{p.Print.WidthMM, p.Print.HeightMM}}
	d, err := j.Item.Drawing(a.Place, p.Print.WidthMM, p.Print.HeightMM)
	if err != nil {
		return nil, fault.In("place", err)
	}
	out.Drawing = d
	if err := out.pictures(p); err != nil {
		return nil, err
	}
	out.Heading = "How it will look"
	if !p.Item.Unknown {
		out.Heading += ": " + out.Item.Said
	}
	size := fmt.Sprintf("%.1f × %.1f mm\n%.2f × %.2f in", out.PrintMM[0], out.PrintMM[1], out.PrintMM[0]/unit.MMPerInch, out.PrintMM[1]/unit.MMPerInch)
	fact := func(name, value string) {
		if value != "" {
			out.Facts = append(out.Facts, [2]string{name, value})
		}
	}
	fact("Order", a.Number)
	fact("For", a.For)
	fact("Date", dateText(a.Date))
	fact("Valid until", dateText(a.Date.AddDate(0, 0, a.ValidDays)))
	fact("Item", sentence(out.Item.Said))
	if place := placeSaid(d); place != "" {
		fact("Place of the print", sentence(place))
	}
	fact("Size of the print", size)
	if a.Quantity && p.Quoted != nil {
		fact("Quantity", quantitySaid(p.Quoted))
	}
	if !j.Process.Foil { // whose colour is the foil's
		out.colours(p)
	}
	out.findings(p)
	out.Care = s.CareOf(j.Process, j.Medium, j.Item)
	if a.Prices && p.Quoted != nil {
		out.prices(p)
	}
	return out, nil
}

func dateText(t time.Time) string { return t.Format("2006-01-02") }

// pictures draws the print and the art, and says what is seen.
func (a *approval) pictures(p *proof.Proof) error {
	l := p.Laid
	item := &a.Item
	item.Said = p.Item.Said()
	if p.Item.Unknown {
		item.Said = "loose prints"
	}
	view, err := viewOf(l)
	if err != nil {
		return err
	}
	bare := bareColour(view)
	item.tint(bare)
	known := item.Said
	if p.Item.Loose || p.Item.GivenColour {
		known = "" // what is drawn is not what is sold, or not by its name
	}
	item.Alt, item.Caption = drawnSaid(a.Drawing, known, a.PrintMM[0])

	look := seenPicture(l, view, approvalPX)
	if l.Job.Process.Foil {
		look = foilPicture(l, bare, approvalPX)
	}
	look = clearlyLarge(look)
	if a.Look, err = pack(look, bare); err != nil {
		return err
	}
	if a.Drawing.RadiusMM > 0 {
		if a.Wrapped, err = packBeside(wrapped(look, a.Drawing, a.PrintMM[0]), bare, a.Look); err != nil {
			return err
		}
	}
	item.LookSaid, item.LookAlt = "As it will look", "The print in the colours that it will have on "+item.Said
	if l.Job.Process.Foil {
		item.LookSaid = "Where the foil goes, in grey: its own colour and shine are not shown"
	}
	item.SentSaid, item.SentAlt = "Your artwork as we have it: "+p.Artwork.File, "The artwork as it was sent"
	sent := l
	if l.Sent != nil {
		if _, ok := l.Sent.NRGBA(); ok {
			of := *l
			of.Art, sent = l.Sent, &of
		} else {
			item.SentSaid += ", without its background"
		}
	}
	seen, err := newDesigned(sent)
	if err != nil {
		return err
	}
	a.Sent, err = packBeside(clearlyLarge(seen.all(approvalPX)), groundSent, a.Look, a.Wrapped)
	return err
}

// clearlyLarge enlarges a small picture by whole pixels, which viewers would blur.
func clearlyLarge(src *image.NRGBA) *image.NRGBA {
	const least = 400
	w, h := src.Rect.Dx(), src.Rect.Dy()
	if times := (least + max(w, h) - 1) / max(w, h); times > 1 {
		return enlarged(src, w*times, h*times)
	}
	return src
}

// packBeside packs a picture so that it is not as wide as others: fpdf writes pictures in the
// order of their widths, and those of one width in any order, where the same order is to have
// the same bytes. Its last column is repeated for that.
func packBeside(src *image.NRGBA, ground color.NRGBA, others ...*picture) (*picture, error) {
	for {
		p, err := pack(src, ground)
		if err != nil || !slices.ContainsFunc(others, func(o *picture) bool { return o != nil && o.Width == p.Width }) {
			return p, err
		}
		w, h := src.Rect.Dx(), src.Rect.Dy()
		wider := image.NewNRGBA(image.Rect(0, 0, w+1, h))
		draw.Draw(wider, wider.Rect, src, src.Rect.Min, draw.Src)
		draw.Draw(wider, image.Rect(w, 0, w+1, h), src, src.Rect.Min.Add(image.Pt(w-1, 0)), draw.Src)
		src = wider
	}
}

// bareColour is what is seen of the item where nothing is printed, as the picture of the print
// shows it.
func bareColour(view *layer.View) color.NRGBA {
	var none [5][1]uint8
	var seen [3]uint8
	view.Row(seen[:], 3, grid.Planes{none[0][:], none[1][:], none[2][:], none[3][:]}, none[plate.White][:])
	return color.NRGBA{seen[0], seen[1], seen[2], 255}
}

// foilGrey stands for foil of any colour.
var foilGrey = color.NRGBA{176, 180, 186, 255}

// foilPicture shows where foil takes to the black toner, in grey on the bare item.
func foilPicture(l *proof.Laid, bare color.NRGBA, px int) *image.NRGBA {
	box := image.Rect(0, 0, l.Plates.Width, l.Plates.Height)
	black := shrink(&image.Gray{Pix: l.Plates.Plane[plate.Black], Stride: box.Dx(), Rect: box}, box, px)
	out := image.NewNRGBA(image.Rect(0, 0, black.Rect.Dx(), black.Rect.Dy()))
	for i, k := range black.Pix {
		mix := func(a, b uint8) uint8 { return uint8((int(a)*(255-int(k)) + int(b)*int(k) + 127) / 255) }
		copy(out.Pix[4*i:], []uint8{mix(bare.R, foilGrey.R), mix(bare.G, foilGrey.G), mix(bare.B, foilGrey.B), 255})
	}
	return out
}

// tint chooses the colours of the drawing beside the item's own: shadows darker, but on what is
// nearly black lighter, and lines that show on it.
func (v *customerItem) tint(bare color.NRGBA) {
	mix := func(to uint8, part float64) string {
		of := func(c uint8) uint8 { return uint8(math.Round(float64(c)*(1-part) + float64(to)*part)) }
		return hex(color.NRGBA{of(bare.R), of(bare.G), of(bare.B), 255})
	}
	v.Bare, v.Frame, v.Shade, v.Line = hex(bare), "#dfe3e8", mix(0, 0.28), mix(0, 0.62)
	switch l := colour.FromSRGB(bare.R, bare.G, bare.B).L; {
	case l < 30:
		v.Shade, v.Line = mix(255, 0.16), mix(255, 0.5)
	case l < 55:
		v.Line = mix(255, 0.55)
	}
}

func hex(c color.NRGBA) string { return fmt.Sprintf("#%02x%02x%02x", c.R, c.G, c.B) }

// wrapped is a picture of a print as it is seen on the front of a round body.
func wrapped(src *image.NRGBA, d *drawing.Drawing, widthMM float64) *image.NRGBA {
	left, _, wide, _ := d.Print(widthMM, 1)
	w, h := src.Rect.Dx(), src.Rect.Dy()
	ow := max(1, int(math.Round(float64(w)*wide/widthMM)))
	out := image.NewNRGBA(image.Rect(0, 0, ow, h))
	at := func(column int) float64 { // of the source
		along := d.Along(left + wide*float64(column)/float64(ow))
		return (along + widthMM/2) / widthMM * float64(w)
	}
	for ox := range ow {
		x0 := min(max(int(math.Floor(at(ox)+1e-6)), 0), w-1)
		x1 := min(max(int(math.Ceil(at(ox+1)-1e-6)), x0+1), w)
		for y := range h {
			var sum [4]int
			for x := x0; x < x1; x++ {
				q := src.Pix[y*src.Stride+4*x:]
				for k := range sum {
					sum[k] += int(q[k])
				}
			}
			for k := range sum {
				out.Pix[y*out.Stride+4*ox+k] = uint8((sum[k] + (x1-x0)/2) / (x1 - x0))
			}
		}
	}
	return out
}

// pack puts a picture on a ground and writes it as small as a customer's page has it.
func pack(src image.Image, ground color.NRGBA) (*picture, error) {
	return packed(onGround(src, ground), approvalPNG, approvalMost)
}

// onGround lays a picture on a ground.
func onGround(src image.Image, ground color.NRGBA) *image.NRGBA {
	flat := image.NewNRGBA(image.Rect(0, 0, src.Bounds().Dx(), src.Bounds().Dy()))
	draw.Draw(flat, flat.Rect, image.NewUniform(ground), image.Point{}, draw.Src)
	draw.Draw(flat, flat.Rect, src, src.Bounds().Min, draw.Over)
	return flat
}

// packed writes a picture without clear parts small: as PNG, or where that has more than asPNG
// bytes, as photographs have, as JPEG if it is smaller, and with fewer pixels until it has no
// more than most.
func packed(img image.Image, asPNG, most int) (*picture, error) {
	for {
		// A photograph is told by a quick try; to deflate one as well as can be takes long.
		b, err := encodePNG(img, png.BestSpeed)
		if err == nil && len(b) <= 3*asPNG {
			b, err = encodePNG(img, png.BestCompression)
		}
		if err != nil {
			return nil, err
		}
		out := &picture{Data: b, Width: img.Bounds().Dx(), Height: img.Bounds().Dy()}
		if len(b) <= asPNG {
			return out, nil
		}
		var j bytes.Buffer
		if err := jpeg.Encode(&j, img, &jpeg.Options{Quality: 88}); err != nil {
			return nil, err
		}
		if j.Len() < len(b) {
			out.Data, out.JPEG = j.Bytes(), true
		}
		if len(out.Data) <= most {
			return out, nil
		}
		img = imaging.Fit(img, out.Width*4/5, out.Height*4/5, imaging.Box)
	}
}

// URL is the picture for a page.
func (p *picture) URL() template.URL {
	kind := "png"
	if p.JPEG {
		kind = "jpeg"
	}
	return template.URL("data:image/" + kind + ";base64," + base64.StdEncoding.EncodeToString(p.Data))
}

// colours are those that will not match, the worst first, of the brand and of the art itself.
func (a *approval) colours(p *proof.Proof) {
	type pair struct {
		customerPair
		delta float64
	}
	var all []pair
	var matching []string
	for _, s := range p.Swatches {
		if s.Misses() {
			all = append(all, pair{customerPair{s.Target.Hex(), s.Printed.Hex(), s.Told}, s.DeltaE00})
		} else {
			matching = append(matching, s.Name)
		}
	}
	counts := p.Laid.Job.Shop.Match.CountsAs
	for _, m := range p.Main {
		// A brand's colour in the art has been told.
		if told := m.ClosestSwatch != "" && m.ClosestDeltaE <= counts; m.Misses() && !told {
			all = append(all, pair{customerPair{m.Target.Hex(), m.Printed.Hex(), m.Told}, m.DeltaE00})
		}
	}
	slices.SortStableFunc(all, func(x, y pair) int { return cmp.Compare(y.delta, x.delta) })
	for _, v := range all[:min(len(all), mostPairs)] {
		a.Pairs = append(a.Pairs, v.customerPair)
	}
	if more := len(all) - len(a.Pairs); more > 0 {
		a.MorePairs = plural(more, "further colour differs", "further colours differ") + ", less than these."
	}
	if n := len(matching); n > 0 {
		if n > 8 {
			matching = append(matching[:8], fmt.Sprintf("%d more", n-8))
		}
		a.Matching = "Your colours that match: " + strings.Join(matching, ", ") + "."
	}
}

// findings are what was changed, what must be and what to look at.
func (a *approval) findings(p *proof.Proof) {
	l := p.Laid
	if d := p.Artwork.DroppedPercent; d != nil && *d > 0 {
		a.Changed = append(a.Changed, fmt.Sprintf("We took the plain background away (%.0f %% of your artwork's area).", math.Max(1, *d)))
	}
	if c := l.Art.Chosen; c.Of != "" {
		a.Changed = append(a.Changed, fmt.Sprintf("This is %s %s of your file; the others are not printed.", c.Of, c.Value))
	} else if l.Job.Page > 0 && l.Art.Pages > 1 {
		a.Changed = append(a.Changed, fmt.Sprintf("This is page %d of your file.", l.Job.Page))
	}
	a.Must, a.Check = customerFindings(p.Findings)
	if !p.White.Own && p.White.Sentence != "" && !l.Job.Process.Foil {
		a.Check = append(a.Check, "White parts of the artwork are not printed: they show the item's own colour.")
	}
	for _, list := range []*[]string{&a.Must, &a.Check} {
		if n := len(*list); n > mostTold {
			*list = append((*list)[:mostTold-1], fmt.Sprintf("%d smaller points besides, which we will tell you.", n-mostTold+1))
		}
	}
}

// quantitySaid are the quantities of a quote.
func quantitySaid(f *proof.QuoteFacts) string {
	var all []string
	for _, q := range f.Quantities {
		all = append(all, fmt.Sprint(q.Quantity))
	}
	one, many := "piece", "pieces"
	if f.SoldBy == shop.BySheet {
		one, many = "sheet", "sheets"
	}
	if len(all) == 1 && f.Quantities[0].Quantity == 1 {
		return "1 " + one
	}
	if last := len(all) - 1; last > 0 {
		return strings.Join(all[:last], ", ") + " or " + all[last] + " " + many
	}
	return all[0] + " " + many
}

// prices are what is asked for each quantity, as the shop names its prices.
func (a *approval) prices(p *proof.Proof) {
	f, s := p.Quoted, p.Laid.Job.Shop
	tax := fmt.Sprintf("%s %s %%", s.Terms.TaxName, s.TaxPercent(p.Laid.Job.Item))
	first := "Pieces"
	if f.SoldBy == shop.BySheet {
		first = "Sheets"
	}
	taxed := !s.TaxPercent(p.Laid.Job.Item).IsZero()
	a.Currency = f.Currency
	a.Heads = []string{first, "Each", "In all"}
	switch {
	case taxed && f.Prices == shop.Gross:
		a.Heads = append(a.Heads, "in it "+tax)
	case taxed:
		a.Heads = append(a.Heads, tax, "To pay")
	}
	for _, q := range f.Quantities {
		row := []string{fmt.Sprint(q.Quantity), q.EachAsked, q.PriceTotal}
		switch {
		case taxed && f.Prices == shop.Gross:
			row = append(row, q.Tax)
		case taxed:
			row = append(row, q.Tax, q.WithTax)
		}
		a.Prices = append(a.Prices, row)
	}
	if len(a.Must) > 0 {
		a.Terms = append(a.Terms, "Prices hold for artwork of the same size and colours.")
	}
	a.Terms = append(a.Terms, s.Terms.Words...)
}

//go:embed approval.html
var approvalSource string

var approvalPage = template.Must(template.New("approval").Funcs(template.FuncMap{
	"css":   css,
	"mm":    func(v float64) string { return fmt.Sprintf("%.2f", v) },
	"shown": func(a *approval) approvalShown { return a.shown() },
	"sign": func() any {
		return struct {
			Heading, Words  string
			Choices, Fields [3]string
		}{signHeading, signWords, signChoices, signFields}
	},
}).Parse(approvalSource))

// css is a style of our own for a page, such as a colour.
func css(v string) template.CSS { return template.CSS(v) }

// approvalShown is the drawing as SVG has it: its box, and the print's.
type approvalShown struct {
	Left, Top, Width, Height   float64 // with room for the lines
	X, Y, PrintWide, PrintHigh float64
	Body                       string
	Parts                      []shownPart
}

type shownPart struct{ Path, Fill string }

func (a *approval) shown() approvalShown {
	d := a.Drawing
	room := max(d.WidthMM, d.HeightMM) * 0.01
	v := approvalShown{Left: d.LeftMM - room, Top: d.TopMM - room, Width: d.WidthMM + 2*room, Height: d.HeightMM + 2*room, Body: d.Body.SVG()}
	v.X, v.Y, v.PrintWide, v.PrintHigh = d.Print(a.PrintMM[0], a.PrintMM[1])
	for _, p := range d.Parts {
		v.Parts = append(v.Parts, shownPart{p.Path.SVG(), a.Item.fill(p.Tone)})
	}
	return v
}

// fill is the colour of a tone, #rrggbb; none for a line alone.
func (v *customerItem) fill(t drawing.Tone) string {
	switch t {
	case drawing.Bare:
		return v.Bare
	case drawing.Shaded:
		return v.Shade
	case drawing.Frame:
		return v.Frame
	}
	return "none"
}

// OnDrawing is the picture that lies on the drawing.
func (a *approval) OnDrawing() *picture {
	if a.Wrapped != nil {
		return a.Wrapped
	}
	return a.Look
}

// ApprovalPage is the page that a customer approves and signs, as HTML that needs no other
// file. The error is a [fault.Fault] about place, or of a picture.
func ApprovalPage(p *proof.Proof, of Approval) ([]byte, error) {
	a, err := newApproval(p, of)
	if err != nil {
		return nil, err
	}
	var b bytes.Buffer
	if err := approvalPage.Execute(&b, a); err != nil {
		return nil, err
	}
	return b.Bytes(), nil
}
