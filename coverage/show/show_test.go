package show

import (
	"bytes"
	"image"
	"image/color"
	"image/png"
	"laydown/colour/reference"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"laydown/colour"
	"laydown/colour/swatch"
	"laydown/coverage/artwork"
	"laydown/coverage/flaw"
	"laydown/coverage/order/ordertest"
	"laydown/coverage/proof"
)

// TestEveryKindOfArtHasAPage renders grey, 16-bit, CMYK and tiny art.
func TestEveryKindOfArtHasAPage(t *testing.T) {
	reference.Long(t)
	grey := image.NewGray(image.Rect(0, 0, 40, 30))
	deep := image.NewNRGBA64(image.Rect(0, 0, 40, 30))
	for i := range grey.Pix {
		grey.Pix[i] = uint8(i)
		deep.SetNRGBA64(i%40, i/40, color.NRGBA64{uint16(i * 50), 9000, 40000, uint16(65535 - i*20)})
	}
	for name, path := range map[string]string{
		"grey": ordertest.Draw(t, grey).ArtPath, "deep": ordertest.Draw(t, deep).ArtPath, "cmyk": ordertest.Demo("regatta-banner.tif"),
		"two pixels": ordertest.Draw(t, image.NewNRGBA(image.Rect(0, 0, 2, 2))).ArtPath,
	} {
		o := ordertest.New(t, path)
		o.Wish = artwork.Wish{WidthMM: 50}
		p, err := proof.Make(o, proof.Everything)
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		b, err := Page(p)
		if err != nil || bytes.Contains(b, []byte("%!")) || bytes.Count(b, []byte("data:image/")) != 4+bytes.Count(b, []byte(`<image id="plate-`))+bytes.Count(b, []byte(" close up, ")) {
			t.Errorf("%s: page of %d bytes, %v", name, len(b), err)
		}
		// The page says the same of the toner's total as the text, and first and last whose prices
		// these are.
		if words := totalTonerWords(p)[1:]; !strings.Contains(string(b), words) || !strings.Contains(Coverage(p, Style{Width: 120}), words[:40]) {
			t.Errorf("the page does not say %q", words)
		}
		if strings.Count(string(b), "invented") != 2 || strings.LastIndex(string(b), "invented") < strings.LastIndex(string(b), "</ul>") {
			t.Error("the page does not say first and last that its prices are invented")
		}
		if s := Proof(p, Style{Colour: true}); !strings.Contains(s, "\x1b[") {
			t.Errorf("%s: no colour where it was asked for", name)
		}
		if s := Proof(p, Style{}); strings.Contains(s, "\x1b") || strings.Contains(s, "%!") {
			t.Errorf("%s: %q", name, s)
		}
	}
}

// TestPageShowsPlaces has every label in the chart for wide screens and in that for narrow
// ones, the art once, and close-ups that add little to the page.
func TestPageShowsPlaces(t *testing.T) {
	p, err := proof.Make(ordertest.Badge(t), proof.Findings)
	if err != nil {
		t.Fatal(err)
	}
	b, err := Page(p)
	if err != nil {
		t.Fatal(err)
	}
	text := string(b)
	wide, narrow, _ := strings.Cut(text, `<svg class="chart narrow"`)
	narrow, near, _ := strings.Cut(narrow, `<div class="closeups">`)
	near, _, _ = strings.Cut(near, "</section>")
	tags := 0
	for _, q := range placesOf(p.Findings) {
		if q.tag == "" {
			continue
		}
		tags++
		for name, part := range map[string]string{"wide": wide, "narrow": narrow} {
			if n := strings.Count(part, ">"+q.tag+"</text>"); n != 1 {
				t.Errorf("label %s is %d times in the %s chart", q.tag, n, name)
			}
		}
	}
	if tags < len(p.Findings) || strings.Count(text, `<image id="art"`) != 1 || strings.Count(text, `<use href="#art"`) != 3 {
		t.Errorf("%d labels for %d findings, or the art is not there once for both charts and beside its look", tags, len(p.Findings))
	}
	if n := strings.Count(near, `<figure id="near-`); n == 0 || n > mostCloseUps || len(near)/n > 12000 {
		t.Errorf("%d close-ups take %d of the page's %d bytes", n, len(near), len(text))
	}
	if strings.Contains(text, "ZgotmplZ") || strings.Contains(narrow, "NaN") {
		t.Error("the template let something go")
	}
}

func TestVerdict(t *testing.T) {
	p := &proof.Proof{}
	if got := verdict(p); got != "Print." {
		t.Error(got)
	}
	p.Findings = []flaw.Finding{{Severity: flaw.Look}, {Severity: flaw.Look}}
	p.Swatches = []proof.Swatch{{Grade: "off"}}
	if got := verdict(p); got != "Check first: 2 findings; 1 brand colour does not match." {
		t.Error(got)
	}
	p.Findings = []flaw.Finding{{Severity: flaw.Stop}}
	if got := verdict(p); !strings.HasPrefix(got, "Do not print: 1 stop; 1 brand colour does not match.") {
		t.Error(got)
	}
}

// TestSwatchNotes says what the table of brand colours does not.
func TestSwatchNotes(t *testing.T) {
	for name, c := range map[string]struct {
		facts proof.SwatchFacts
		want  string
	}{
		"nothing": {proof.SwatchFacts{Swatches: []proof.Swatch{{Name: "Moss", Measurement: swatch.M1}}}, ""},
		"recipe":  {proof.SwatchFacts{Swatches: []proof.Swatch{{Name: "Moss", OwnRecipe: true}}}, "  Plates are the list's own numbers: Moss.\n"},
		"M0":      {proof.SwatchFacts{Swatches: []proof.Swatch{{Name: "Moss", Measurement: swatch.M0}}}, ""},
		"M2":      {proof.SwatchFacts{Swatches: []proof.Swatch{{Name: "Moss", Measurement: swatch.M2}}}, "  Measured under M2 (the list has neither M1 nor M0): Moss.\n"},
		"several": {proof.SwatchFacts{Swatches: []proof.Swatch{{Name: "Moss", Measurement: swatch.M2, MeasuredAlso: []swatch.Measurement{swatch.M3}}}}, "  Measured under M2 (the list also has M3): Moss.\n"},
		"too much": {proof.SwatchFacts{Swatches: []proof.Swatch{{Name: "Ink", OverLimit: &proof.OverLimit{TotalPercent: 300, LimitPercent: 240, Within: proof.Best{Plates: proof.Tones{Cyan: 40, Magenta: 40, Yellow: 60, Black: 100}, DeltaE00: 1.5}}}}},
			"  Toners add up to 300 %, over the limit of 240 %; within it C 40 M 40 Y 60 K\n  100 comes as near as ΔE00 1.5: Ink.\n"},
		"skipped": {proof.SwatchFacts{SwatchesSkipped: []swatch.Skipped{{Name: "Fog", Why: "has ColorCIEXYZ alone"}}}, "  Left out: Fog has ColorCIEXYZ alone.\n"},
	} {
		c.facts.Swatches = append(c.facts.Swatches, proof.Swatch{Name: "Plain"})
		out := matchTables(&c.facts, Style{}, true)
		if _, got, _ := strings.Cut(out, "Plain"); !strings.HasSuffix(got, "\n"+c.want) || (c.want == "" && strings.Count(got, "\n") > 2) {
			t.Errorf("%s: %q, want %q at its end", name, got, c.want)
		}
	}
}

// TestItemPicture looks at the badge on the shirt: clear parts show the shirt.
func TestItemPicture(t *testing.T) {
	p, err := proof.Make(ordertest.Badge(t), 0)
	if err != nil {
		t.Fatal(err)
	}
	img, err := itemPicture(p.Laid, 500)
	if err != nil {
		t.Fatal(err)
	}
	r, g, b, _ := img.At(1, 1).RGBA()
	eye, err := p.Laid.Job.Eye()
	if err != nil {
		t.Fatal(err)
	}
	want := eye.Seen(p.Laid.Job.Colour)
	if got := colour.FromSRGB(uint8(r>>8), uint8(g>>8), uint8(b>>8)); colour.DeltaE00(got, want) > 1.5 {
		t.Errorf("clear film shows %v, want the shirt %v", got, want)
	}
}

func TestGamutPlot(t *testing.T) {
	c, err := proof.Describe(ordertest.Badge(t))
	if err != nil {
		t.Fatal(err)
	}
	g, err := c.Gamut()
	if err != nil {
		t.Fatal(err)
	}
	b, err := Gamut(g, "png")
	if err != nil {
		t.Fatal(err)
	}
	if _, err := png.Decode(bytes.NewReader(b)); err != nil {
		t.Error(err)
	}
	svg, err := Gamut(g, "svg")
	if err != nil || !bytes.Contains(svg, []byte("colours of the art that do not")) {
		t.Errorf("svg of %d bytes, %v", len(svg), err)
	}
	if again, _ := Gamut(g, "svg"); !bytes.Equal(svg, again) {
		t.Error("another run draws another picture")
	}
	if _, err := Gamut(g, "gif"); err == nil || !strings.Contains(err.Error(), ".svg") {
		t.Errorf("gif: %v", err)
	}
}

// TestTicketPrintsOnOnePage prints recipes by Chromium, from that of the demo to the longest
// that a shop file may have, with all that an order says and a picture, and counts pages.
func TestTicketPrintsOnOnePage(t *testing.T) {
	reference.Long(t)
	browser := reference.Tool(t, "chromium")
	p, err := proof.Make(ordertest.Badge(t), 0)
	if err != nil {
		t.Fatal(err)
	}
	picture, err := TicketPicture(p)
	if err != nil {
		t.Fatal(err)
	}
	for _, more := range reference.Sweep(t, []int{0, 4, 12, 29}, func(n int) bool { return n == 29 }) {
		ticket := p.Ticket(48)
		ticket.Order, ticket.For, ticket.Due, ticket.Place, ticket.Picture = "2026-118", "A customer", "2026-12-10", "left chest", picture
		ticket.CheckFirst = []proof.Stop{{Kind: flaw.FineLine}}
		for range more {
			ticket.Steps = append(ticket.Steps, proof.TicketStep{Words: "Let it dry for 30 s: one of many steps, with a note that takes some room on the line and more."})
		}
		onOnePage(t, browser, ticket)
	}
}

func onOnePage(t *testing.T, browser string, ticket *proof.Ticket) {
	t.Helper()
	b, err := TicketPage(ticket)
	if err != nil {
		t.Fatal(err)
	}
	if n := pagesOf(printed(t, browser, b)); n != 1 {
		t.Errorf("a ticket of %d steps prints on %d pages", len(ticket.Steps), n)
	}
}

// printed is a page as Chromium prints it to PDF.
func printed(t *testing.T, browser string, b []byte) []byte {
	t.Helper()
	dir := t.TempDir()
	page, pdf := filepath.Join(dir, "t.html"), filepath.Join(dir, "t.pdf")
	if err := os.WriteFile(page, b, 0o600); err != nil {
		t.Fatal(err)
	}
	if out, err := exec.Command(browser, "--headless", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking",
		"--disable-component-update", "--disable-sync", "--user-data-dir="+filepath.Join(dir, "profile"), "--print-to-pdf="+pdf, "file://"+page).CombinedOutput(); err != nil {
		t.Fatalf("chromium: %v %s", err, out)
	}
	data, err := os.ReadFile(pdf)
	if err != nil {
		t.Fatal(err)
	}
	return data
}

// pagesOf counts the pages of a PDF.
func pagesOf(pdf []byte) (n int) {
	for _, end := range []string{"\n", " ", "/"} {
		n += bytes.Count(pdf, []byte("/Type /Page"+end))
	}
	return n
}

// TestTicket writes the recipes of the trade: 149 °C is 300 °F, and so on.
func TestTicket(t *testing.T) {
	for process, want := range map[string][]string{
		"light": {"Press at 149 °C (300 °F), for 5 s.", "Peel warm.", "Reseal at 149 °C (300 °F), for 30 s, under the cover sheet.", "24 pieces on 4 sheets", "not mirrored", "hands off the platen", "ventilate"},
		"dark":  {"Marry the two sheets at 149 °C (300 °F), for 60 s, once a pair.", "Part the two sheets hot, once a pair.", "Peel cold.", "24 pieces on 4 pairs of sheets", "print MIRRORED", "media maker's sheet"},
		"decal": {"Soak for 12 s.", "Let it dry for 24 h, go on with other work meanwhile.", "lip rim"},
	} {
		p, err := proof.Make(ordertest.Trade(t, process), 0)
		if err != nil {
			t.Fatal(err)
		}
		ticket := p.Ticket(24)
		text := strings.Join(strings.Fields(Ticket(ticket, Style{})), " ")
		for _, w := range want {
			if !strings.Contains(text, w) {
				t.Errorf("%s: no %q in\n%s", process, w, Ticket(ticket, Style{}))
			}
		}
		b, err := TicketPage(ticket)
		if err != nil || !bytes.Contains(b, []byte("Step by step")) || bytes.Contains(b, []byte("%!")) {
			t.Errorf("%s: page of %d bytes, %v", process, len(b), err)
		}
	}
}

// TestConditionOfNoisyChart reads what a press says of measurements that scatter and
// of those left out, and that it says nothing of others.
func TestConditionOfNoisyChart(t *testing.T) {
	c := &proof.Condition{Name: "chart", Kind: "data set", Patches: 300}
	if text := Condition(c, Style{}); strings.Contains(text, "noise") || strings.Contains(text, "left out") {
		t.Errorf("a clean chart:\n%s", text)
	}
	c.Noise = &proof.ConditionNoise{Lab: 0.68, Repeated: 12, RepeatsLab: 0.71}
	c.Outliers = []proof.ConditionOutlier{{Patch: "A7", DeltaE00: 6}, {Patch: "C12", Plates: proof.Tones{Magenta: 40}, DeltaE00: 17.32}}
	text := Condition(c, Style{})
	text = strings.Join(strings.Fields(text), " ")
	for _, want := range []string{
		"noise measurements stray by about 0.7 in each of L, a and b (0.7 by 12 patches measured more than once); the model is smoothed",
		"left out 2 measurements that the others contradict, the worst C12 (C 0.0 M 40.0 Y 0.0 K 0.0) by ΔE00 17.3: measure again",
	} {
		if !strings.Contains(text, want) {
			t.Errorf("%q is not in:\n%s", want, text)
		}
	}
}

// TestBestIsGivenInFull has the plates of what would print nearer, in the text and on
// the page.
func TestBestIsGivenInFull(t *testing.T) {
	reference.Long(t)
	o := ordertest.Badge(t)
	o.ProcessName, o.ItemName = "dark garment", "black tee"
	p, err := proof.Make(o, proof.Matches)
	if err != nil {
		t.Fatal(err)
	}
	p.Main[0].Best = &proof.Best{Plates: proof.Tones{Cyan: 11, Magenta: 22, Yellow: 33, Black: 44}, DeltaE00: 0.3, Grade: p.Main[0].Grade}
	if s := Matches(p, Style{}); !strings.Contains(s, p.Main[0].Name+" at best") || !strings.Contains(strings.Join(strings.Fields(s), " "), "C 11 M 22 Y 33 K 44, ΔE00 0.3.") {
		t.Errorf("text without the plates of the best:\n%s", s)
	}
	page, err := Page(p)
	if err != nil || !strings.Contains(string(page), "ΔE00 0.3 with C 11.0 M 22.0 Y 33.0 K 44.0") {
		t.Errorf("page without the plates of the best, %v", err)
	}
}

// TestMeanIsExplained has the word on means above the 95th percentile.
func TestMeanIsExplained(t *testing.T) {
	c := &proof.Choices{Choices: []proof.Choice{{MeanDeltaE: 4.9, P95DeltaE: 4.1, WhitePercent: 60}}}
	if s := choices(c, Style{}, true); !strings.Contains(s, "white is pulled back") {
		t.Error(s)
	}
	c.Choices[0].MeanDeltaE = 2
	if s := choices(c, Style{}, true); strings.Contains(s, "white is pulled back") {
		t.Error(s)
	}
}
