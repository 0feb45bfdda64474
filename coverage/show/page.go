package show

import (
	"bytes"
	"crypto/sha256"
	_ "embed"
	"encoding/base64"
	"fmt"
	"html/template"
	"image"
	"math"
	"slices"
	"strings"

	"github.com/disintegration/imaging"
	"github.com/shopspring/decimal"

	"laydown/coverage/flaw"
	"laydown/coverage/plate"
	"laydown/coverage/proof"
	"laydown/coverage/sheet"
)

// The page, its style and its script, which only adds to what can be read without it.
var (
	//go:embed page.html
	pageSource string
	//go:embed page.css
	pageStyle string
	//go:embed page.js
	pageScript string
)

var page = template.Must(template.New("page").Funcs(template.FuncMap{
	"f1":       f1,
	"f2":       f2,
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
	// Style and Script, and what the page's policy knows them by, so that no other is heeded.
	Style                 template.CSS
	Script                template.JS
	StyleHash, ScriptHash string

	Shop string
	// State is stop, look or go; Say is the verdict, Because and Why are its reasons.
	State             string
	Say, Because, Why string
	WhiteOf           string
	// TotalToner are its figures as the text says them, and Invented whose prices these are.
	TotalToner, Invented string
	Art                  template.URL // on the item's colour
	OnItem               template.URL
	Copy                 template.URL // the art as it lies on the sheet
	TACMap               template.URL
	Plates5              []pagePlate // without those that are empty
	Unused               string      // names of those that are
	PlateSize            [2]int
	PlateGround          string // #rrggbb of what the plates lie on
	Rows                 []pageRow
	Marks                []pageMark
	Charts               []pageChart // of the same places, for wide and for narrow screens
	CloseUp              []pageCloseUp
	ArtSize              [2]int
	Shown                [2]int // CSS pixels of the art beside its look
	Pairs                []pagePair
	Own                  []pagePair // the art's main colours
	ItemHex              string
	Ticket               *proof.Ticket
	Facts                [][2]string
	Costs                []quoteRow
	Prices               []string // what to know of them
	Places               []pageCopy
	AnyTurned            bool
	Edge                 float64 // mm that stay free on every side of the sheet
	Free                 [2]float64
	Corners              []sheet.Place // that stay free for a cutter's marks
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
	Ink                  string
}

type pageMark struct {
	Number   int
	Severity flaw.Severity
	Where    string
	Finding  flaw.Finding
	Tags     []pageTag
}

// pageTag is a numbered place: what a reader can go to.
type pageTag struct {
	Tag, Said string
	Severity  flaw.Severity
	Kind      flaw.Kind
	To        string // the id of its close-up, or of the picture
	At        string // its left, top, width and height as parts of the print's sides
}

// pageCopy is a copy of the art on the sheet; Transform lays the art there.
type pageCopy struct {
	sheet.Place
	Transform string
}

type pagePair struct {
	proof.Swatch
	Closest         string
	Target, Printed string
}

// Bounds of the page's pictures in bytes, so that it stays under a megabyte and a half: one is
// PNG up to the first, else what is smaller, and never larger than the second.
const (
	artPNG, artMost     = 190_000, 200_000
	platePNG, plateMost = 40_000, 60_000
	nearPNG, nearMost   = 10_000, 15_000
)

// lookPX and lookHigh are the most width and height of the art beside its look, in CSS pixels.
const lookPX, lookHigh = 760, 640

// Page renders a proof as one HTML page that needs no other file and no script. It is for the
// shop: a customer is sent [ApprovalPage].
func Page(p *proof.Proof) ([]byte, error) {
	l := p.Laid
	d := pageData{Proof: p, Shop: l.Job.Shop.Name, Why: reasons(p, inFull), WhiteOf: whiteOf(p), TotalToner: totalTonerWords(p), ItemHex: p.Item.Colour,
		Style: template.CSS(pageStyle), Script: template.JS(pageScript), StyleHash: policyHash(pageStyle), ScriptHash: policyHash(pageScript)}
	d.say(p)
	if p.DemoShop || p.DemoFigures > 0 {
		d.Invented = strings.ReplaceAll(invented(p.Head), "above", "here")
	}
	d.Ticket = p.Ticket(0)
	d.Facts = ticketFacts(d.Ticket)
	if p.Quoted != nil {
		d.Costs, d.Prices = quoteRows(p.Quoted), quoteNotes(p.Quoted)
	}
	seen, err := newDesigned(l)
	if err != nil {
		return nil, err
	}
	if err := d.pictures(seen); err != nil {
		return nil, err
	}
	places := placesOf(p.Findings)
	if err := d.chart(seen, p, places); err != nil {
		return nil, err
	}
	for i, f := range p.Findings {
		d.Marks = append(d.Marks, pageMark{i + 1, f.Severity, whereSaid(places, i, f), f, d.tags(places, i, f)})
	}
	pair := func(s proof.Swatch, closest string) pagePair {
		return pagePair{s, closest, s.Target.Hex(), s.Printed.Hex()}
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
	if err := page.Execute(&b, &d); err != nil {
		return nil, err
	}
	return b.Bytes(), nil
}

// policyHash is what a page's policy (Content Security Policy Level 3, 2.3.1) knows an inline
// style or script by.
func policyHash(source string) string {
	sum := sha256.Sum256([]byte(source))
	return "sha256-" + base64.StdEncoding.EncodeToString(sum[:])
}

// say puts the verdict in words: what to do, and because of what.
func (d *pageData) say(p *proof.Proof) {
	d.State = "go"
	say, because, _ := strings.Cut(strings.TrimSuffix(verdict(p), "."), ": ")
	if len(p.Findings) > 0 && p.Findings[0].Severity == flaw.Stop {
		d.State = "stop"
	} else if because != "" {
		d.State = "look"
	}
	if because == "" {
		because = "Nothing was found that speaks against it"
	}
	d.Say, d.Because = say, sentence(because)+"."
}

// tags are a finding's numbered places.
func (d *pageData) tags(places []place, i int, f flaw.Finding) (out []pageTag) {
	for _, q := range places {
		if q.finding != i || q.tag == "" {
			continue
		}
		t := pageTag{Tag: q.tag, Severity: f.Severity, Kind: f.Kind, Said: fmt.Sprintf("%s, %s at %s, %s mm from the top left", f.Kind, sizeSaid(q.box), f1(q.box.XMM), f1(q.box.YMM)), To: "picture", At: d.at(q.box)}
		if slices.ContainsFunc(d.CloseUp, func(c pageCloseUp) bool { return c.Tag == q.tag }) {
			t.To = "near-" + q.tag
		}
		out = append(out, t)
	}
	return out
}

// at is a box as parts of the print's sides.
func (d *pageData) at(b flaw.Box) string {
	w, h := d.Print.WidthMM, d.Print.HeightMM
	return fmt.Sprintf("%.5f %.5f %.5f %.5f", b.XMM/w, b.YMM/h, b.WidthMM/w, b.HeightMM/h)
}

// pictures draws the art, its look, the sheet and the plates.
func (d *pageData) pictures(seen *designed) error {
	l := d.Laid
	art := seen.all(artPX)
	for _, c := range []struct {
		to        *template.URL
		draw      func() (image.Image, error)
		png, most int
	}{
		{&d.Art, func() (image.Image, error) { return onGround(art, l.Job.Colour.SRGB()), nil }, artPNG, artMost},
		{&d.OnItem, func() (image.Image, error) { return itemPicture(l, artPX) }, artPNG, artMost},
		{&d.TACMap, func() (image.Image, error) { return tacPicture(l, platePX), nil }, platePNG, plateMost},
		{&d.Copy, func() (image.Image, error) { return d.sheet(art), nil }, platePNG, plateMost},
	} {
		img, err := c.draw()
		if err != nil {
			return err
		}
		packed, err := packed(img, c.png, c.most)
		if err != nil {
			return err
		}
		*c.to = packed.URL()
	}
	d.PlateGround = d.ItemHex
	if l.Job.Medium.OwnWhite {
		d.PlateGround = "#ffffff"
	}
	w, h := reduced(l.Plates.Width, l.Plates.Height, platePX)
	d.PlateSize = [2]int{w, h}
	inks := [plate.Count]string{"#0096d6", "#d6007a", "#e8cf00", "#222222", "#ffffff"}
	var unused []string
	for k, name := range plate.Names {
		c := d.Proof.Plates.At(k)
		if f2(c.PrintPercent) == f2(0) {
			unused = append(unused, name)
			continue
		}
		img, err := packed(platePicture(l, k), platePNG, plateMost)
		if err != nil {
			return err
		}
		d.Plates5 = append(d.Plates5, pagePlate{name, c.PrintPercent, img.URL()})
		d.Rows = append(d.Rows, pageRow{name, c.PrintPercent, c.SheetPercent, money(d.Toner.Print.Plate[k]), money(d.Toner.Sheet.Plate[k]), inks[k]})
	}
	d.Unused = strings.Join(unused, ", ")
	return nil
}

// Layers are the plates as they lie one over the other on the item: white below.
func (d *pageData) Layers() []pagePlate {
	last := len(d.Plates5) - 1
	if last < 0 || d.Plates5[last].Name != plate.Names[plate.White] {
		return d.Plates5
	}
	return append([]pagePlate{d.Plates5[last]}, d.Plates5[:last]...)
}

// sheet sets the copies on their sheet, and is the picture of one, no larger than it is shown.
func (d *pageData) sheet(art *image.NRGBA) image.Image {
	l := d.Laid
	room := proof.RoomOf(l.Job)
	d.Edge, d.Corners = room.MarginMM, room.Corners()
	s := l.Layout.Sheet
	d.Free = [2]float64{math.Max(0, s.WidthMM-2*d.Edge), math.Max(0, s.HeightMM-2*d.Edge)}
	w, h := d.Print.WidthMM, d.Print.HeightMM
	for _, p := range l.Layout.Places {
		d.AnyTurned = d.AnyTurned || p.Turned
		c := pageCopy{Place: p}
		if p.Turned {
			c.Transform = fmt.Sprintf("translate(%.2f %.2f) rotate(90)", p.XMM+(p.WidthMM+h)/2, p.YMM+(p.HeightMM-w)/2)
		} else {
			c.Transform = fmt.Sprintf("translate(%.2f %.2f)", p.XMM+(p.WidthMM-w)/2, p.YMM+(p.HeightMM-h)/2)
		}
		if d.Process.Mirrored {
			c.Transform += fmt.Sprintf(" translate(%.2f 0) scale(-1 1)", w)
		}
		d.Places = append(d.Places, c)
	}
	const shown = 840 // pixels along the sheet's longer side, twice the CSS pixels
	px := max(1, int(shown*math.Max(w, h)/math.Max(s.WidthMM, s.HeightMM)))
	return onGround(imaging.Fit(art, px, px, imaging.Box), groundSent)
}
