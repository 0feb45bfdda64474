package proof

import (
	"bytes"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"github.com/shopspring/decimal"

	"laydown/colour/icc"
	"laydown/colour/press"
	"laydown/coverage/price"
	"laydown/coverage/shop"
)

// tradeShop is a shop file of processes that are common practice, no source: their
// times and temperatures are usual ones, their prices invented.
const tradeShop = `
currency = "EUR"
[[printer]]
name = "p"
[printer.toner.cyan]
price = "100"
yield_pages = 5000
[printer.toner.magenta]
price = "100"
yield_pages = 5000
[printer.toner.yellow]
price = "100"
yield_pages = 5000
[printer.toner.black]
price = "100"
yield_pages = 5000
[[cover]]
name = "cover sheet"
price = "10.00"
uses = 500
[[media]]
name = "one-step film"
sheet = "A4"
price_each = "1.00"
[[media]]
name = "two-sheet film"
sheet = "A4"
pack_price = "190.00"
pack_sheets = 100
sheets_per_transfer = 2
[[item]]
name = "tee"
colour = "white"
material = "cotton"
[[process]]
name = "light"
printer = "p"
media = "one-step film"
cover = "cover sheet"
heat_pressed = true
[[process.step]]
do = "press"
temperature_c = 149
seconds = 5
[[process.step]]
do = "peel"
peel = "warm"
[[process.step]]
do = "reseal"
temperature_c = 149
seconds = 30
covered = true
[[process]]
name = "dark"
printer = "p"
media = "two-sheet film"
cover = "cover sheet"
heat_pressed = true
mirrored = true
[[process.step]]
do = "marry"
temperature_c = 149
seconds = 60
[[process.step]]
do = "part"
peel = "hot"
[[process.step]]
do = "press"
temperature_c = 149
seconds = 5
[[process.step]]
do = "peel"
peel = "cold"
[[process.step]]
do = "reseal"
temperature_c = 149
seconds = 30
covered = true
[[process]]
name = "decal"
printer = "p"
media = "one-step film"
on_tableware = true
[[process.step]]
do = "soak"
seconds = 12
[[process.step]]
do = "dry"
seconds = 86400
`

func tradeOrder(t testing.TB, process string) Order {
	t.Helper()
	s, err := shop.Load([]byte(tradeShop), "trade.toml")
	if err != nil {
		t.Fatal(err)
	}
	o := order(t, "../../testdata/demo/heron-badge.png")
	o.Shop, o.Process, o.Item = s, process, ""
	return o
}

// TestTicket writes the recipes of the trade: 149 °C is 300 °F, and so on.
func TestTicket(t *testing.T) {
	for process, want := range map[string][]string{
		"light": {"Press at 149 °C (300 °F), for 5 s.", "Peel warm.", "Reseal at 149 °C (300 °F), for 30 s, under the cover sheet.", "24 pieces on 4 sheets", "not mirrored", "hands off the platen", "ventilate"},
		"dark":  {"Marry the two sheets at 149 °C (300 °F), for 60 s.", "Part the two sheets hot.", "Peel cold.", "24 pieces on 4 pairs of sheets", "print MIRRORED", "media maker's sheet"},
		"decal": {"Soak for 12 s.", "Let it dry for 24 h.", "lip rim"},
	} {
		p, err := Make(tradeOrder(t, process), 0)
		if err != nil {
			t.Fatal(err)
		}
		ticket := p.Ticket(24)
		text := strings.Join(strings.Fields(ticket.Text()), " ")
		for _, w := range want {
			if !strings.Contains(text, w) {
				t.Errorf("%s: no %q in\n%s", process, w, ticket.Text())
			}
		}
		b, err := ticket.HTML()
		if err != nil || !bytes.Contains(b, []byte("Step by step")) || bytes.Contains(b, []byte("%!")) {
			t.Errorf("%s: page of %d bytes, %v", process, len(b), err)
		}
	}
	// Seconds under the heat press: 60 + 5 + 30 of the two-sheet film.
	s, _ := shop.Load([]byte(tradeShop), "trade.toml")
	dark, _ := s.Process("dark")
	if dark.HeatPressSeconds() != 95 || dark.CoveredPresses() != 1 {
		t.Errorf("dark: %g s under the heat press, %d covered", dark.HeatPressSeconds(), dark.CoveredPresses())
	}
}

// TestTicketPrintsOnOnePage prints the longest recipe by Chromium and counts pages.
func TestTicketPrintsOnOnePage(t *testing.T) {
	browser, err := exec.LookPath("chromium")
	if err != nil {
		t.Skip("chromium is not on this machine")
	}
	o := order(t, "../../testdata/demo/heron-badge.png")
	p, err := Make(o, 0)
	if err != nil {
		t.Fatal(err)
	}
	b, err := p.Ticket(48).HTML()
	if err != nil {
		t.Fatal(err)
	}
	dir := t.TempDir()
	page, pdf := filepath.Join(dir, "t.html"), filepath.Join(dir, "t.pdf")
	if err := os.WriteFile(page, b, 0o600); err != nil {
		t.Fatal(err)
	}
	if out, err := exec.Command(browser, "--headless", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking",
		"--disable-component-update", "--disable-sync", "--user-data-dir="+filepath.Join(dir, "profile"), "--print-to-pdf="+pdf, "file://"+page).CombinedOutput(); err != nil {
		t.Skipf("chromium: %v %s", err, out)
	}
	data, err := os.ReadFile(pdf)
	if err != nil {
		t.Fatal(err)
	}
	if n := bytes.Count(data, []byte("/Type /Page\n")) + bytes.Count(data, []byte("/Type /Page ")) + bytes.Count(data, []byte("/Type /Page/")); n != 1 {
		t.Errorf("the ticket prints on %d pages", n)
	}
}

// TestQuoteMedia reckons pairs and covers: 190.00 for 100 sheets that are 50
// transfers, and 10.00 for 500 presses.
func TestQuoteMedia(t *testing.T) {
	p, err := Make(tradeOrder(t, "dark"), 0)
	if err != nil {
		t.Fatal(err)
	}
	f, err := p.Quote([]int{6, 50 * 6})
	if err != nil {
		t.Fatal(err)
	}
	if q := f.Quantities[0]; q.CostTotal.Media != "3.8000" || q.CostTotal.Cover != "0.1200" || q.Sheets != 1 {
		t.Errorf("6 pieces: %+v", q)
	}
	if q := f.Quantities[1]; q.CostTotal.Media != "190.0000" || q.CostTotal.Cover != "6.0000" {
		t.Errorf("300 pieces: %+v", q)
	}
}

// TestQuoteAddsUp adds the lines that are shown.
func TestQuoteAddsUp(t *testing.T) {
	o := order(t, "../../testdata/demo/heron-badge.png")
	o.Quantities = []int{1, 7, 480}
	p, err := Make(o, Quotation)
	if err != nil {
		t.Fatal(err)
	}
	amount := decimal.RequireFromString
	for _, q := range p.Quoted.Quantities {
		for name, lines := range map[string]CostLines{"each": q.CostEach, "total": q.CostTotal} {
			sum := decimal.Zero
			for l := range price.Lines {
				sum = sum.Add(amount(lines.at(l)))
			}
			if !sum.Equal(amount(lines.Total)) {
				t.Errorf("%d, %s: lines add to %s, total %s", q.Quantity, name, sum, lines.Total)
			}
		}
		sum := decimal.Zero
		for k := range 5 {
			sum = sum.Add(amount(q.TonerEach.at(k)))
		}
		if !sum.Equal(amount(q.TonerEach.Total)) || q.TonerEach.Total != q.CostEach.Toner {
			t.Errorf("%d: plates add to %s, total %s, line %s", q.Quantity, sum, q.TonerEach.Total, q.CostEach.Toner)
		}
		if !amount(q.PriceEach).Mul(decimal.NewFromInt(int64(q.Quantity))).Equal(amount(q.PriceTotal)) {
			t.Errorf("%d × %s is not %s", q.Quantity, q.PriceEach, q.PriceTotal)
		}
	}
}

func ExampleProof_Quote() {
	s, err := shop.Load(shop.Demo(), "demo")
	if err != nil {
		fmt.Println(err)
		return
	}
	p, err := Make(Order{ArtPath: "../../testdata/demo/heron-badge.png", Shop: s, Press: press.StandIn(press.Cache{}), Intent: icc.Relative}, 0)
	if err != nil {
		fmt.Println(err)
		return
	}
	q, err := p.Quote([]int{12})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println(q.Quantities[0].Sheets, "sheets,", q.Currency, q.Quantities[0].PriceTotal)
	// Output: 2 sheets, EUR 128.40
}

// TestBleedAndCutter reckons copies with bleed around every print and a cutter's
// marks inside the margin, by hand: of 210 × 297 mm with 5 + 9 mm at every edge 182 ×
// 269 are free; prints of 40 mm with 3 mm of bleed take 46, and 4 between them.
func TestBleedAndCutter(t *testing.T) {
	o := order(t, "../../testdata/demo/heron-badge.png")
	o.Wish.WidthMM = 40
	o.Shop.Layout.Bleed, o.Shop.Layout.Cutter = 3, 9
	p, err := Make(o, 0)
	if err != nil {
		t.Fatal(err)
	}
	if p.Sheet.Copies != 3*5 {
		t.Errorf("%d copies, want 15", p.Sheet.Copies)
	}
	// Bleed is bare: the sheet's coverage is that of the prints alone.
	want := p.Plates.White.PrintPercent * 15 * 40 * 40 / (210 * 297)
	if d := p.Plates.White.SheetPercent - want; d > 0.001 || d < -0.001 {
		t.Errorf("white covers %.4f %% of the sheet, want %.4f", p.Plates.White.SheetPercent, want)
	}
}
