package show

import (
	"fmt"
	"image"
	"image/color"
	"math"
	"os"
	"strings"
	"testing"

	"github.com/jedib0t/go-pretty/v6/text"
	"github.com/mattn/go-runewidth"

	"laydown/colour/swatch"
	"laydown/coverage/artwork"
	"laydown/coverage/batch"
	"laydown/coverage/flaw"
	"laydown/coverage/ledger"
	"laydown/coverage/order"
	"laydown/coverage/order/ordertest"
	"laydown/coverage/proof"
	"laydown/coverage/sheet"
)

// answers are every command's text about some orders, set in a style.
func answers(t *testing.T) map[string]func(Style) string {
	t.Helper()
	out := map[string]func(Style) string{}
	swatches, err := os.ReadFile(ordertest.Demo("club-colours.csv"))
	if err != nil {
		t.Fatal(err)
	}
	orders := map[string]order.Order{"badge": ordertest.Badge(t), "banner": ordertest.Banner(t), "long": ordertest.Draw(t, image.NewRGBA(image.Rect(0, 0, 300, 100)))}
	for name, o := range orders {
		o.Wish = artwork.Wish{WidthMM: 84.67}
		o.DropBackground = name == "banner"
		if name == "badge" {
			if o.Swatches, o.SwatchesSkipped, err = order.ReadSwatches(swatches, swatch.Options{}); err != nil {
				t.Fatal(err)
			}
		} else if name == "long" {
			o.Quantities = []int{1, 12, 144, 1728, 20736, 248832}
		}
		if name == "long" { // names that no line holds
			long := strings.Repeat("very long name ", 12)
			o.Shop.Items[1].Name, o.Shop.Processes[1].Name = long, strings.TrimSpace(strings.ReplaceAll(long, " ", "-"))
			o.ItemName, o.ProcessName = o.Shop.Items[1].Name, o.Shop.Processes[1].Name
			grey := image.NewNRGBA(image.Rect(0, 0, 300, 100))
			for i := range 300 * 100 {
				grey.SetNRGBA(i%300, i/300, color.NRGBA{uint8(i), 90, 160, 255})
			}
			o.ArtPath = ordertest.Draw(t, grey).ArtPath
		}
		p, err := proof.Make(o, proof.Everything)
		if err != nil {
			t.Fatal(err)
		}
		if name == "long" { // small, so that it costs little
			o.EveryRule = true
			c, err := proof.Compare(o)
			if err != nil {
				t.Fatal(err)
			}
			picked, err := c.Picked()
			if err != nil {
				t.Fatal(err)
			}
			d, err := proof.Describe(o)
			if err != nil {
				t.Fatal(err)
			}
			d.Noise = &proof.ConditionNoise{Lab: 0.7, Repeated: 12, RepeatsLab: 0.7}
			d.Outliers = []proof.ConditionOutlier{{Patch: "A7", DeltaE00: 6}}
			out["underbase of "+name] = func(s Style) string { return Choices(c, picked, s) }
			out["profile of "+name] = func(s Style) string { return Condition(d, s) }
		}
		out["proof of "+name] = func(s Style) string { return Proof(p, s) }
		out["coverage of "+name] = func(s Style) string { return Coverage(p, s) }
		out["preflight of "+name] = func(s Style) string { return Findings(p, s) }
		out["match of "+name] = func(s Style) string { return Matches(p, s) }
		out["quote of "+name] = func(s Style) string { return Quote(p, s) }
		out["ticket of "+name] = func(s Style) string { return Block(p, s) + Ticket(p.Ticket(48), s) }
		out["swatches of "+name] = func(s Style) string { return Swatches(p.Matches(), s) }
		results := []batch.Result{
			{Line: 2, Art: p.Artwork.File, Item: p.Item.Name, Process: p.Process.Name, Quantity: 144, Sheets: 24, Currency: "EUR", CostEach: "5.1234", CostTotal: "5555.1234", PriceEach: "9.90", PriceTotal: "12345.67", Margin: "45.00"},
			{Line: 3, Art: strings.Repeat("folder/", 20) + "art.png", Item: p.Item.Name, Error: "/" + strings.Repeat("folder/", 20) + "art.png: there is no such file"},
		}
		out["list of "+name] = func(s Style) string { return Batch(results, s) }
	}
	room := sheet.Room{Sheet: orders["badge"].Shop.Media[0].Sheet, MarginMM: 5, GapMM: 2}
	gang, err := room.Share([]sheet.Piece{{Name: "badge", WidthMM: 80, HeightMM: 80, Quantity: 5}, {Name: strings.Repeat("name strip ", 8), WidthMM: 90, HeightMM: 20, Quantity: 40}, {Name: "dot", WidthMM: 12, HeightMM: 12, Quantity: 99}})
	if err != nil {
		t.Fatal(err)
	}
	ganged := &proof.Ganged{Gang: gang, Media: "two-part dark film", MarginMM: 5, GapMM: 2, CornerMM: 12.5, Unpriced: "two-part dark film is not bought in " + strings.Repeat("A4, ", 20) + "A3"}
	out["gang"] = func(s Style) string { return Gang(ganged, s) }
	priced := *ganged
	priced.Cost = &proof.GangCost{Currency: "EUR", Media: "123.45", Toner: "1234.56", Total: "1358.01", TonerOf: 2, Pieces: 3, Orders: []proof.GangOrder{
		{Order: strings.Repeat("harbour festival ", 6), Copies: 1234567, AreaPercent: 99.5, Media: "123.00", Toner: "1234.00", Total: "1357.00"}, {Order: "Lund", Copies: 1, AreaPercent: 0.5, Media: "0.45", Toner: "0.56", Total: "1.01"}}}
	out["gang with its price"] = func(s Style) string { return Gang(&priced, s) }
	report := &ledger.Report{Printer: "bench printer", Currency: "EUR", Counts: ledger.Counts{Runs: 7, Pieces: 2400, Sheets: 400, Jams: 3, TestSheets: 12, Changes: 3}, ForgottenPercent: 12.5,
		Unknown: []string{"gone printer", strings.Repeat("press ", 15)}, Toners: []ledger.TonerReport{
			{Toner: "cyan", Now: "1"}, {Toner: "white", Cartridges: 1, Now: "1", Correction: 1.2, Page: "0.0200", PageNow: "0.0196"},
			{Toner: "black", Cartridges: 6.4, Now: "1", Correction: 1.2, Low: 1.1, High: 1.3, Scatter: 21, Page: "0.0200", PageNow: "0.0196"},
			{Toner: "magenta", Cartridges: 3, Now: "1", Correction: 1.2, Low: 0.4, High: 2.8, Scatter: 28, Page: "0.0200", PageNow: "0.0196"}}}
	entries := &ledger.Listing{Zone: "America/Argentina/Buenos_Aires", Counts: report.Counts, Unknown: report.Unknown, Entries: []ledger.Line{
		{Number: 1, When: "2026-03-01 12:00", Kind: ledger.Print, Printer: "bench printer", Job: strings.Repeat("long name ", 12), Pieces: 2400, Sheets: 400, Cost: "12345.6789", Currency: "EUR"},
		{Number: 2, When: "2026-03-02 12:00", Kind: ledger.Jam, Printer: "bench printer", Job: "spring", Sheets: 2, Struck: true},
		{Number: 3, When: "2026-03-02 12:00", Kind: ledger.Test, Printer: "bench printer", Job: ledger.TestJob, Sheets: 2, Corrects: 2},
		{Number: 123456, When: "2026-03-03 12:00", Kind: "change", Printer: "bench printer", Toner: "magenta", LeftPercent: 40, PutInPercent: 35.5, During: ledger.LastRun}}}
	out["ledger list"] = func(s Style) string { return LedgerList(entries, true, s) }
	out["ledger"] = func(s Style) string { return Ledger(report, s) }
	return out
}

// TestAnswers looks at all of them.
func TestAnswers(t *testing.T) {
	all := answers(t)
	t.Run("no line is too wide", func(t *testing.T) { noLineIsTooWide(t, all) })
	t.Run("the verdict comes first", func(t *testing.T) { verdictComesFirst(t, all) })
}

// noLineIsTooWide sets every command's text at several widths, plain and in colour, short
// and full: no line is wider than asked by go-runewidth, and none ends in a space.
func noLineIsTooWide(t *testing.T, all map[string]func(Style) string) {
	eyes := runewidth.Condition{EastAsianWidth: false}
	for name, set := range all {
		for _, width := range []int{0, 40, 80, 97, 120, 500} {
			asked := width
			switch width {
			case 0:
				asked = 80
			case 500:
				asked = 120
			}
			for _, full := range []bool{false, true} {
				plain := set(Style{Width: width, Full: full})
				if strings.Contains(plain, "\x1b") || strings.Contains(plain, "%!") {
					t.Errorf("%s: %q", name, plain)
				}
				for line := range strings.Lines(plain) {
					line = strings.TrimSuffix(line, "\n")
					if w := eyes.StringWidth(line); w > asked || strings.HasSuffix(line, " ") {
						t.Errorf("%s at %d, full %v: %d wide: %q", name, asked, full, w, line)
					}
				}
				if got := text.StripEscape(set(Style{Width: width, Full: full, Colour: true})); got != plain {
					t.Errorf("%s at %d, full %v: colours change more than colours:\n%s\n%s", name, asked, full, got, plain)
				}
			}
		}
	}
}

// verdictComesFirst has the first lines of each answer about an art say whether to print
// it, in a block of at most eight lines, and the short proof of the demo in 60.
func verdictComesFirst(t *testing.T, all map[string]func(Style) string) {
	for name, set := range all {
		for _, width := range []int{80, 120} {
			out := set(Style{Width: width})
			block, _, _ := strings.Cut(out, "\n\n")
			kind, _, _ := strings.Cut(name, " of ")
			switch kind {
			case "proof", "coverage", "preflight", "match", "quote", "underbase":
				first := block
				if kind == "underbase" { // its first line is its answer
					if !strings.HasPrefix(block, "White needed") && !strings.HasPrefix(block, "White not needed") && !strings.HasPrefix(block, "A white film") {
						t.Errorf("%s: %s", name, block)
					}
					_, first, _ = strings.Cut(strings.ReplaceAll(block, "Demo prices, all invented.\n", "\n"), "\n")
					first = strings.TrimLeft(first, "\n")
				}
				said := strings.HasPrefix(first, "Do not print: ") || strings.HasPrefix(first, "Check first: ") || strings.HasPrefix(first, "Print")
				most := 8
				if strings.HasSuffix(name, "of long") { // names and lists that no line holds
					most = 16
				}
				if n := strings.Count(block, "\n") + 1; n > most || !said {
					t.Errorf("%s at %d: a block of %d lines:\n%s", name, width, n, block)
				}
				for _, word := range []string{"\n  why ", "\n  art ", "\n  on ", " on one ", "\n  cost ", "\n  price "} {
					if !strings.Contains(block, word) {
						t.Errorf("%s at %d: no%s in\n%s", name, width, word, block)
					}
				}
			}
			if n := strings.Count(out, "\n"); name == "proof of badge" && n > 60 {
				t.Errorf("%s at %d takes %d lines", name, width, n)
			}
		}
	}
}

// palettes are the 16 colours of terminals as published: those of xterm (XTerm-col.ad of its
// source), the palette of VGA text mode (IBM VGA Technical Reference: 2/3 and 1/3 steps), and
// the console scheme named Campbell; all three from memory.
var palettes = map[string][16]string{
	"xterm":    {"000000", "cd0000", "00cd00", "cdcd00", "0000ee", "cd00cd", "00cdcd", "e5e5e5", "7f7f7f", "ff0000", "00ff00", "ffff00", "5c5cff", "ff00ff", "00ffff", "ffffff"},
	"VGA":      {"000000", "aa0000", "00aa00", "aa5500", "0000aa", "aa00aa", "00aaaa", "aaaaaa", "555555", "ff5555", "55ff55", "ffff55", "5555ff", "ff55ff", "55ffff", "ffffff"},
	"Campbell": {"0c0c0c", "c50f1f", "13a10e", "c19c00", "0037da", "881798", "3a96dd", "cccccc", "767676", "e74856", "16c60c", "f9f1a5", "3b78ff", "b4009e", "61d6d6", "f2f2f2"},
}

// luminance is relative luminance as WCAG 2.2 defines it.
func luminance(hex string) float64 {
	var c [3]float64
	for i := range c {
		var v int
		fmt.Sscanf(hex[2*i:2*i+2], "%02x", &v)
		c[i] = float64(v) / 255
		if c[i] <= 0.04045 {
			c[i] /= 12.92
		} else {
			c[i] = math.Pow((c[i]+0.055)/1.055, 2.4)
		}
	}
	return 0.2126*c[0] + 0.7152*c[1] + 0.0722*c[2]
}

func contrast(a, b string) float64 {
	x, y := luminance(a), luminance(b)
	return (max(x, y) + 0.05) / (min(x, y) + 0.05)
}

// TestColoursAreReadable works the contrast of text on white and on black out by WCAG's
// formula: 3 to 1 and more, which it asks of bold headings and of marks (2.2, 1.4.3 and
// 1.4.11). No single colour has 4.5 on both in all of these palettes; what is coloured also
// stands in words.
func TestColoursAreReadable(t *testing.T) {
	if c := contrast("ffffff", "000000"); math.Abs(c-21) > 1e-9 {
		t.Fatalf("white on black is %.3f to 1, by WCAG 21", c)
	}
	for name, palette := range palettes {
		for _, used := range []text.Colors{stopColour, lookColour, fineColour, goodColour} {
			for _, c := range used {
				if c == text.Bold || c == text.ReverseVideo {
					continue
				}
				hex := palette[8+int(c-text.FgHiBlack)]
				white, black := contrast(hex, "ffffff"), contrast(hex, "000000")
				t.Logf("%s %s: %.2f on white, %.2f on black", name, hex, white, black)
				if c < text.FgHiBlack || white < 3 || black < 3 {
					t.Errorf("%s: #%s has %.2f to 1 on white and %.2f on black", name, hex, white, black)
				}
			}
		}
	}
}

// TestFlawWordsAreKnown has a word for every severity.
func TestFlawWordsAreKnown(t *testing.T) {
	for _, v := range []flaw.Severity{flaw.Stop, flaw.Look, flaw.Note} {
		if severityWords[v] == "" {
			t.Errorf("%s has no word", v)
		}
	}
}
