package show

import (
	"bytes"
	"fmt"
	"image"
	"image/color"
	"image/png"
	"math"
	"math/rand/v2"
	"os/exec"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"laydown/colour"
	"laydown/colour/reference"
	"laydown/colour/swatch"
	"laydown/coverage/artwork"
	"laydown/coverage/drawing"
	"laydown/coverage/flaw"
	"laydown/coverage/order/ordertest"
	"laydown/coverage/proof"
	"laydown/coverage/shop"
)

// ours are words that a customer must never read, beside the names of a shop's processes,
// media, printers and supplies.
var ours = regexp.MustCompile(`(?i)\b(laydown|plates?|toners?|films?|process(es)?|printer profile|press|preflight|profile|choke|underbase|knockout|white under|fogra\w*|cmyk|[cmyk] \d+ [cmyk] \d+|tac|coverage|gamut|spoil\w*|margins?|overhead|cost(s|ing)?|break-even|recipe|shop file|shop\.toml|stand-in|delta|tell the customer|stop|finding|ask for|--[a-z][a-z-]+)\b|ΔE|secret|--[a-z]`)

// badgeApproval is a proof of a small badge with flaws, on a shop whose own names are secret, with a
// brand colour that no printer reaches.
func badgeApproval(t *testing.T) *proof.Proof {
	t.Helper()
	img := image.NewNRGBA(image.Rect(0, 0, 120, 90))
	for i := range 120 * 90 {
		switch x, y := i%120, i/120; {
		case x > 10 && x < 50 && y > 10 && y < 80:
			img.SetNRGBA(x, y, color.NRGBA{20, 40, 250, 255})
		case x > 60 && y > 20 && y < 70 && x%9 == 0:
			img.SetNRGBA(x, y, color.NRGBA{250, 220, 10, 255})
		}
	}
	o := ordertest.Draw(t, img)
	o.Wish = artwork.Wish{WidthMM: 30}
	for i := range o.Shop.Processes {
		o.Shop.Processes[i].Name = fmt.Sprintf("secretprocess %d", i)
		o.Shop.Processes[i].Media = "secretfilm " + o.Shop.Processes[i].Media
		o.Shop.Processes[i].Printer = "secretprinter"
	}
	for i := range o.Shop.Media {
		o.Shop.Media[i].Name = "secretfilm " + o.Shop.Media[i].Name
	}
	o.Shop.Printers[0].Name = "secretprinter"
	o.ProcessName, o.Quantities = o.Shop.Processes[0].Name, []int{12, 24}
	o.Swatches = []swatch.Swatch{{Name: "Race Blue", Lab: colour.FromSRGB(20, 40, 250), Screen: true}, {Name: "Night", Lab: colour.Lab{L: 20}, Screen: true}}
	p, err := proof.Make(o, proof.Findings|proof.Matches|proof.Estimate)
	if err != nil {
		t.Fatal(err)
	}
	return p
}

var approvalDay = time.Date(2026, 3, 14, 15, 0, 0, 0, time.UTC)

// pdfText is what a PDF reads as.
func pdfText(t *testing.T, pdf []byte, tool string, args ...string) string {
	t.Helper()
	c := exec.Command(reference.Tool(t, tool), args...)
	c.Stdin = bytes.NewReader(pdf)
	out, err := c.Output()
	if err != nil {
		t.Fatal(err)
	}
	return string(out)
}

// TestApproval: the customer's page says what is signed, in HTML and PDF alike, and nothing of
// the shop's own in text, source, alternative texts or metadata; money only where it is asked
// for; the same bytes every time.
func TestApproval(t *testing.T) {
	p := badgeApproval(t)
	full := Approval{Number: "2026-118", For: "Ünder & <Sons>", Date: approvalDay, ValidDays: 30, Place: "left chest", Quantity: true, Prices: true}
	plain := Approval{Date: approvalDay, ValidDays: 30}
	always := []string{"Artwork approval", "Saltfen Transfer Bench", "Saltings Lane 4", "2026-03-14", "2026-04-13", "Black tee", "30.0 × 22.5 mm", "1.18 × 0.89 in", "the black tee 520 mm", "art.png",
		"Colours that will not match", "Race Blue", "Night", "Wash inside out", "maker's own care sheet", "Approved as shown", "Approved with these changes", "Not approved", "Signature"}
	asked := []string{"2026-118", "Ünder & <Sons>", "Left chest", "12 or 24 pieces", "EUR", "To pay", p.Quoted.Quantities[0].PriceEach, p.Quoted.Quantities[1].WithTax, "VAT 19 %"}
	if len(p.Findings) == 0 || p.Findings[0].Severity != flaw.Stop {
		t.Fatalf("%+v", p.Findings)
	}
	always = append(always, "To be changed before we print", "Lines thinner than 0.4 mm")
	for name, of := range map[string]Approval{"all": full, "least": plain} {
		html, err := ApprovalPage(p, of)
		if err != nil {
			t.Fatal(err)
		}
		pdf, err := ApprovalPDF(p, of)
		if err != nil {
			t.Fatal(err)
		}
		a, err := newApproval(p, of)
		if err != nil {
			t.Fatal(err)
		}
		for range 4 {
			if again, err := a.pdf(of.Date); err != nil || !bytes.Equal(pdf, again) {
				t.Fatalf("%s: the same approval makes other bytes, %v", name, err)
			}
		}
		if n := pagesOf(pdf); n != 1 {
			t.Errorf("%s: the PDF has %d pages", name, n)
		}
		source := regexp.MustCompile(`base64,[^"]*`).ReplaceAllString(string(html), "")
		style := source[strings.Index(source, "<style>"):strings.Index(source, "</style>")]
		source = strings.NewReplacer(style, "", "&#43;", "+", "&amp;", "&", "&lt;", "<", "&gt;", ">", "&#39;", "'").Replace(source)
		texts := map[string]string{"HTML": source}
		if _, err := exec.LookPath("pdftotext"); err == nil || reference.All() {
			texts["PDF"] = strings.Join(strings.Fields(pdfText(t, pdf, "pdftotext", "-raw", "-", "-")), " ")
			texts["PDF's metadata"] = pdfText(t, pdf, "pdfinfo", "-")
		}
		for kind, text := range texts {
			words := text
			if kind == "HTML" {
				words = strings.Join(strings.Fields(regexp.MustCompile(`<[a-z/!][^>]*>`).ReplaceAllString(text, " ")), " ")
				text = strings.ReplaceAll(text, "--line:", "") // the drawing's own
			}
			if found := ours.FindAllString(text, -1); len(found) > 0 {
				t.Errorf("%s, %s: a customer reads %q", name, kind, found)
			}
			for _, f := range p.Findings {
				if strings.Contains(words, f.Advice[:30]) || strings.Contains(words, string(f.Kind)) {
					t.Errorf("%s, %s: a customer reads of %s as the shop does", name, kind, f.Kind)
				}
			}
			if kind == "PDF's metadata" {
				continue
			}
			for _, want := range always {
				if !strings.Contains(words, want) {
					t.Errorf("%s, %s has no %q:\n%s", name, kind, want, words)
				}
			}
			for _, want := range asked {
				if strings.Contains(words, want) != (name == "all") {
					t.Errorf("%s, %s: %q is there or not, which it must not be:\n%s", name, kind, want, words)
				}
			}
		}
	}
	if _, err := ApprovalPage(p, Approval{Place: "knee"}); err == nil || !strings.Contains(err.Error(), "chest") {
		t.Errorf("a print on the knee of a tee: %v", err)
	}
}

// TestApprovalProportion reads the drawing back: its unit is a millimetre, the print is as much
// of the tee's width as it is in truth, and where nothing is printed its picture has the tee's
// colour, so that it has no edge.
func TestApprovalProportion(t *testing.T) {
	p := badgeApproval(t)
	for _, place := range []string{drawing.Chest, drawing.LeftChest, drawing.Back} {
		html, err := ApprovalPage(p, Approval{Date: approvalDay, Place: place})
		if err != nil {
			t.Fatal(err)
		}
		found := regexp.MustCompile(`<svg x="([^"]+)" y="([^"]+)" width="([^"]+)" height="([^"]+)" viewBox="0 0 480 360" preserveAspectRatio="none">`).FindSubmatch(html)
		if found == nil {
			t.Fatal("the print is not on the drawing")
		}
		var box [4]float64
		for i := range box {
			if box[i], err = strconv.ParseFloat(string(found[i+1]), 64); err != nil {
				t.Fatal(err)
			}
		}
		d, err := drawing.New(drawing.Tee, place, 0, 0)
		if err != nil {
			t.Fatal(err)
		}
		x, y, _, _ := d.Print(30, 22.5)
		if want := [4]float64{x, y, 30, 22.5}; box != want || math.Abs(box[2]/d.BodyWidthMM-30.0/520) > 1e-9 {
			t.Errorf("%s: the print is at %v, want %v", place, box, want)
		}
	}
	a, err := newApproval(p, Approval{Date: approvalDay})
	if err != nil {
		t.Fatal(err)
	}
	img, err := png.Decode(bytes.NewReader(a.Look.Data))
	if err != nil {
		t.Fatal(err)
	}
	c := color.NRGBAModel.Convert(img.At(0, 0)).(color.NRGBA)
	if hex(c) != a.Item.Bare || a.Wrapped != nil {
		t.Errorf("the picture's bare corner is %s, the drawing's item %s", hex(c), a.Item.Bare)
	}
}

// TestWrapped: of stripes 10 mm wide around a mug of 80 mm, each is seen as wide as the sine
// of its angles says, within a pixel.
func TestWrapped(t *testing.T) {
	const wide, px = 100.0, 1000 // 100 mm of print
	src := image.NewNRGBA(image.Rect(0, 0, px, 2))
	for x := range px {
		for y := range 2 {
			src.SetNRGBA(x, y, color.NRGBA{uint8(x / 100 * 20), 0, 0, 255})
		}
	}
	d, err := drawing.New(drawing.Mug, "", 80, 0)
	if err != nil {
		t.Fatal(err)
	}
	out := wrapped(src, d, wide)
	_, _, seen, _ := d.Print(wide, 1)
	if got, want := float64(out.Rect.Dx()), px*seen/wide; math.Abs(got-want) > 0.5 {
		t.Errorf("%g pixels wide, want %g", got, want)
	}
	perMM := float64(out.Rect.Dx()) / seen
	for stripe := 1; stripe < 10; stripe++ {
		along := (float64(stripe)*10 - wide/2) / 40 // radians
		edge := (40*math.Sin(along) + seen/2) * perMM
		before, after := out.NRGBAAt(int(edge)-2, 0).R, out.NRGBAAt(int(edge)+2, 0).R
		if int(before) != (stripe-1)*20 || int(after) != stripe*20 {
			t.Errorf("around the edge of stripe %d, at pixel %.1f, are %d and %d", stripe, edge, before, after)
		}
	}
}

// TestPack: flat art stays exact, photographs become JPEG, and no picture is larger than the
// bound, which holds a page with three under a megabyte and a half.
func TestPack(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 2))
	flat, grain := image.NewNRGBA(image.Rect(0, 0, 800, 800)), image.NewNRGBA(image.Rect(0, 0, 840, 840))
	for i := range grain.Pix {
		grain.Pix[i] = uint8(r.IntN(256)) | uint8(i%4/3*255)
	}
	for name, c := range map[string]struct {
		img  image.Image
		jpeg bool
	}{"flat": {flat, false}, "grain": {grain, true}} {
		p, err := pack(c.img, groundSent)
		if err != nil {
			t.Fatal(err)
		}
		if p.JPEG != c.jpeg || len(p.Data) > approvalMost {
			t.Errorf("%s: JPEG %t, %d bytes", name, p.JPEG, len(p.Data))
		}
		img, _, err := image.Decode(bytes.NewReader(p.Data))
		if err != nil || img.Bounds().Dx() != p.Width || img.Bounds().Dy() != p.Height {
			t.Errorf("%s: %v, %v", name, img.Bounds(), err)
		}
		if !strings.HasPrefix(string(p.URL()), map[bool]string{true: "data:image/jpeg;base64,/9j", false: "data:image/png;base64,iVBOR"}[c.jpeg]) {
			t.Errorf("%s: %.40s", name, p.URL())
		}
		if got := img.At(400, 400); !c.jpeg && color.NRGBAModel.Convert(got) != groundSent {
			t.Errorf("clear art is %v", got)
		}
	}
	if 3*approvalMost*4/3+100_000 > 1_500_000 {
		t.Error("three pictures are too much for a page")
	}
}

// longestApproval has as much of everything as there can be.
func longestApproval(t *testing.T, paper string) *approval {
	t.Helper()
	d, err := drawing.New(drawing.Hoodie, drawing.LeftChest, 0, 0)
	if err != nil {
		t.Fatal(err)
	}
	dot, err := pack(image.NewNRGBA(image.Rect(0, 0, 3, 4)), groundSent)
	if err != nil {
		t.Fatal(err)
	}
	a := &approval{Shop: strings.Repeat("Shop ", 9), Address: slices.Repeat([]string{strings.Repeat("Lane ", 8)}, 5), Title: "Artwork approval", Number: "7", Heading: "How it will look", Paper: paper,
		Drawing: d, PrintMM: [2]float64{80, 100}, Look: dot, Sent: dot, Currency: "EUR", Heads: []string{"Pieces", "Each", "In all", "VAT 19 %", "To pay"},
		Must: slices.Repeat([]string{customerWords(flaw.Finding{Kind: flaw.LowResolution})}, mostTold), Check: slices.Repeat([]string{customerWords(flaw.Finding{Kind: flaw.MissingFont})}, mostTold),
		Changed: []string{"We took the plain background away."}, Matching: strings.Repeat("A colour that matches, ", 8), MorePairs: "3 further colours differ, less than these.",
		Care: []string{strings.Repeat("Wash it ", 150), "x"}, Terms: slices.Repeat([]string{strings.Repeat("Pay soon ", 20)}, 4)}
	a.Item.tint(color.NRGBA{200, 30, 30, 255})
	a.Item.Caption, a.Item.LookSaid, a.Item.SentSaid = strings.Repeat("word ", 20), "As it will look", "Your artwork"
	for range 8 {
		a.Facts = append(a.Facts, [2]string{"For", strings.Repeat("Somebody ", 8)})
		a.Prices = append(a.Prices, []string{"10000", "10.00", "100000.00", "19000.00", "119000.00"})
	}
	for range mostPairs {
		a.Pairs = append(a.Pairs, customerPair{"#ff0000", "#cc3333", "The vivid orange #ff6a13 cannot be matched here: it will print duller and darker than designed. Please approve a sample first."})
	}
	return a
}

// TestLongestApproval: with as much as there can be of everything, two sheets do, on either
// paper, and nothing is cut off.
func TestLongestApproval(t *testing.T) {
	for _, paper := range []string{shop.A4, shop.Letter} {
		pdf, err := longestApproval(t, paper).pdf(approvalDay)
		if err != nil {
			t.Fatal(err)
		}
		if n := pagesOf(pdf); n != 2 {
			t.Errorf("%s: %d sheets", paper, n)
		}
		text := pdfText(t, pdf, "pdftotext", "-", "-")
		if !strings.Contains(text, "Signature") || strings.Count(text, "119000.00") != 8 {
			t.Errorf("%s: something is missing:\n%s", paper, text)
		}
		size := map[string]string{shop.A4: "595.28 x 841.89", shop.Letter: "612 x 792"}[paper]
		if info := pdfText(t, pdf, "pdfinfo", "-"); !strings.Contains(info, size) {
			t.Errorf("%s: %s", paper, info)
		}
	}
}

// TestApprovalPrints prints the page by Chromium.
func TestApprovalPrints(t *testing.T) {
	reference.Long(t)
	browser := reference.Tool(t, "chromium")
	b, err := ApprovalPage(badgeApproval(t), Approval{Number: "2026-118", For: "A customer", Date: approvalDay, Quantity: true, Prices: true})
	if err != nil {
		t.Fatal(err)
	}
	if n := pagesOf(printed(t, browser, b)); n != 1 {
		t.Errorf("the page prints on %d sheets", n)
	}
	var long bytes.Buffer
	if err := approvalPage.Execute(&long, longestApproval(t, shop.A4)); err != nil {
		t.Fatal(err)
	}
	if n := pagesOf(printed(t, browser, long.Bytes())); n > 2 {
		t.Errorf("the longest page prints on %d sheets", n)
	}
}

// TestApprovalContrast holds text to 4.5 to 1 on its ground, light and dark (WCAG 2.2, 1.4.3 AA).
func TestApprovalContrast(t *testing.T) {
	contrasts(t, approvalSource, []string{"ink", "soft", "warn"}, []string{"page"})
}

// contrasts holds the colours of text to 4.5 to 1 on their grounds, in both of a style's themes,
// the light one first.
func contrasts(t *testing.T, style string, texts, grounds []string) {
	t.Helper()
	themes := regexp.MustCompile(`:root \{[^}]*\}`).FindAllString(style, -1)
	if len(themes) != 2 {
		t.Fatalf("%d themes", len(themes))
	}
	var ground []float64
	for i, theme := range themes {
		colours := map[string]string{}
		for _, m := range regexp.MustCompile(`--(\w+): #([0-9a-f]{3,6})`).FindAllStringSubmatch(theme, -1) {
			if colours[m[1]] = m[2]; len(m[2]) == 3 {
				colours[m[1]] = string([]byte{m[2][0], m[2][0], m[2][1], m[2][1], m[2][2], m[2][2]})
			}
		}
		for _, name := range texts {
			for _, on := range grounds {
				if ratio := contrast(colours[name], colours[on]); ratio < 4.5 {
					t.Errorf("theme %d: %s on %s is %.2f to 1", i, name, on, ratio)
				}
			}
		}
		ground = append(ground, luminance(colours["page"]))
	}
	if ground[0] < 0.9 || ground[1] > 0.1 {
		t.Errorf("the grounds are %v", ground)
	}
}

// TestCustomerWords: every kind of finding has words for a customer, and none of the shop's;
// stops must be changed, looks are to be looked at, notes and what was said already are left
// out.
func TestCustomerWords(t *testing.T) {
	kinds := []flaw.Kind{flaw.FineLine, flaw.NarrowGap, flaw.LostWhite, flaw.Speck, flaw.Screen, flaw.SmallText, flaw.FadeOut, flaw.FaintTint, flaw.SoftEdge, flaw.Banding, flaw.BackgroundBox, flaw.HeavyArea,
		flaw.OverLimit, flaw.OutOfGamut, flaw.LowResolution, flaw.Blocking, flaw.TooLarge, flaw.FoilMiss, flaw.ArtLost, flaw.WrongItem, flaw.RichBlackText, flaw.NoProfile, flaw.MissingFont, flaw.MissingPicture}
	for _, k := range kinds {
		words := customerWords(flaw.Finding{Kind: k, Severity: flaw.Look, Measured: 0.25, Limit: 0.4, Places: 3})
		if (words == "") != (k == flaw.NoProfile) || ours.MatchString(words) || strings.Contains(words, "%!") {
			t.Errorf("%s: %q", k, words)
		}
	}
	if got, want := customerWords(flaw.Finding{Kind: flaw.FineLine, Measured: 0.2, Limit: 0.3, Places: 3}), "Lines thinner than 0.3 mm in 3 places (down to 0.20 mm) may not hold: we suggest to thicken them, or a larger print."; got != want {
		t.Errorf("%q, want %q", got, want)
	}
	cut := customerWords(flaw.Finding{Kind: flaw.ArtLost, Unit: "mm of the edge"})
	if !strings.Contains(cut, "cut straight off") {
		t.Error(cut)
	}
	must, check := customerFindings([]flaw.Finding{{Kind: flaw.FadeOut, Severity: flaw.Stop}, {Kind: flaw.FadeOut, Severity: flaw.Look}, {Kind: flaw.Banding, Severity: flaw.Look}, {Kind: flaw.Blocking, Severity: flaw.Note}})
	if len(must) != 1 || len(check) != 1 || !strings.Contains(check[0], "bands") {
		t.Errorf("%q, %q", must, check)
	}
}

// TestApprovalOfOtherItems draws prints on what is round, clear and unknown, and art whose
// background was taken away beside what was sent.
func TestApprovalOfOtherItems(t *testing.T) {
	img := image.NewNRGBA(image.Rect(0, 0, 60, 40))
	for i := range 60 * 40 {
		c := color.NRGBA{255, 255, 255, 255}
		if x, y := i%60, i/60; x > 15 && x < 45 && y > 10 && y < 30 {
			c = color.NRGBA{180, 30, 40, 255}
		}
		img.SetNRGBA(i%60, i/60, c)
	}
	for _, c := range []struct {
		process, item string
		drop          bool
		want, never   []string
	}{
		{"round hard goods", "china mug", false, []string{"the china mug 82 mm", "It goes round the side.", "Wash by hand", "a plain ground"}, []string{"background away"}},
		{"outside film", "outside sticker", true, []string{"the window pane 400 mm", "background away", "Outside sticker"}, []string{"a plain ground", "Place of the print"}},
		{"gold foil", "black tee", false, []string{"Where the foil goes, in grey"}, []string{"Colours that will not match", "White parts"}},
		{"light garment", shop.None, false, []string{"In true proportion.", "Loose prints"}, []string{"Place of the print", "none"}},
	} {
		o := ordertest.Draw(t, img)
		o.ProcessName, o.ItemName, o.DropBackground, o.Wish = c.process, c.item, c.drop, artwork.Wish{WidthMM: 50}
		for i := range o.Shop.Processes {
			o.Shop.Processes[i].PureBlack = false // a separation of its own takes long
		}
		p, err := proof.Make(o, proof.Findings)
		if err != nil {
			t.Fatal(err)
		}
		a, err := newApproval(p, Approval{Date: approvalDay})
		if err != nil {
			t.Fatal(err)
		}
		var b bytes.Buffer
		if err := approvalPage.Execute(&b, a); err != nil {
			t.Fatal(err)
		}
		_, body, _ := strings.Cut(b.String(), "</style>")
		for _, want := range c.want {
			if !strings.Contains(body, want) {
				t.Errorf("%s: no %q", c.item, want)
			}
		}
		for _, never := range c.never {
			if regexp.MustCompile(`\b` + never + `\b`).MatchString(regexp.MustCompile(`<[a-z/!][^>]*>`).ReplaceAllString(body, " ")) {
				t.Errorf("%s: %q is there", c.item, never)
			}
		}
		if (a.Wrapped != nil) != (c.item == "china mug") {
			t.Errorf("%s: wrapped around it or not", c.item)
		}
		sent, err := png.Decode(bytes.NewReader(a.Sent.Data))
		if err != nil {
			t.Fatal(err)
		}
		if got := hex(color.NRGBAModel.Convert(sent.At(0, 0)).(color.NRGBA)); got != "#ffffff" { // also where it was taken away
			t.Errorf("%s: the art's corner as it was sent is %s", c.item, got)
		}
	}
}
