package proof

import (
	"errors"
	"fmt"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/shopspring/decimal"

	"laydown/colour/icc"
	"laydown/colour/press/presstest"
	"laydown/coverage/fault"
	"laydown/coverage/order"
	"laydown/coverage/order/ordertest"
	"laydown/coverage/price"
	"laydown/coverage/shop"
	"laydown/coverage/unit"
)

// TestQuoteMedia reckons pairs and covers: 190.00 for 100 sheets that are 50
// transfers, and 10.00 for 500 pressings.
func TestQuoteMedia(t *testing.T) {
	p, err := Make(ordertest.Trade(t, "dark"), 0)
	if err != nil {
		t.Fatal(err)
	}
	f, err := p.Quote([]int{6, 50 * 6})
	if err != nil {
		t.Fatal(err)
	}
	if q := f.Quantities[0]; line(q, price.MediaLine) != "3.8000" || line(q, price.CoverLine) != "0.1200" || q.Sheets != 1 {
		t.Errorf("6 pieces: %+v", q)
	}
	if q := f.Quantities[1]; line(q, price.MediaLine) != "190.0000" || line(q, price.CoverLine) != "6.0000" {
		t.Errorf("300 pieces: %+v", q)
	}
}

func line(q QuoteQuantity, l price.Line) string { return q.CostTotal.Line[l].StringFixed(price.Places) }

// TestQuoteAddsUp adds the lines that are shown.
func TestQuoteAddsUp(t *testing.T) {
	o := ordertest.Badge(t)
	o.Quantities = []int{1, 7, 480}
	p, err := Make(o, Quotation)
	if err != nil {
		t.Fatal(err)
	}
	amount := decimal.RequireFromString
	for _, q := range p.Quoted.Quantities {
		for name, lines := range map[string]price.Breakdown{"each": q.CostEach, "total": q.CostTotal} {
			sum := decimal.Zero
			for _, v := range lines.Line {
				if !v.Equal(v.Round(price.Places)) {
					t.Errorf("%d, %s: a line of %s is shown rounded", q.Quantity, name, v)
				}
				sum = sum.Add(v)
			}
			if !sum.Equal(lines.Total) {
				t.Errorf("%d, %s: lines add to %s, total %s", q.Quantity, name, sum, lines.Total)
			}
		}
		sum := decimal.Zero
		for _, v := range q.TonerEach.Plate {
			sum = sum.Add(v)
		}
		if !sum.Equal(q.TonerEach.Total) || !q.TonerEach.Total.Equal(q.CostEach.Line[price.TonerLine]) {
			t.Errorf("%d: plates add to %s, total %s, line %s", q.Quantity, sum, q.TonerEach.Total, q.CostEach.Line[price.TonerLine])
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
	p, err := Make(order.Order{ArtPath: "../../testdata/demo/heron-badge.png", Shop: s, ProcessName: "dark garment", Press: presstest.StandIn(), Intent: icc.Relative}, 0)
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
	// Output: 3 sheets, EUR 125.40
}

// TestBleedAndCutter reckons copies with bleed around every print and a cutter's
// marks inside the margin, by hand: of 210 × 297 mm with 5 + 9 mm at every edge 182 ×
// 269 are free; prints of 40 mm with 3 mm of bleed take 46, and 4 between them.
func TestBleedAndCutter(t *testing.T) {
	o := ordertest.Badge(t)
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

// TestCutterOfMedia keeps a strip and corners free where the medium asks for them, by hand: 182 ×
// 269 mm hold 3 columns of 5 prints of 40 mm with 3 mm of bleed and gaps of 4; with corners of 30 mm
// the column beside two of them holds 4, the others go between. A medium that needs less than
// the shop's 2 mm gets those: 196 × 283 mm hold 4 × 5.
func TestCutterOfMedia(t *testing.T) {
	o := ordertest.Badge(t)
	o.Wish.WidthMM = 40
	o.Shop.Layout.Bleed, o.Shop.Layout.Cutter = 3, 2
	medium, err := o.Shop.Medium("two-part dark film")
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		strip, corner unit.Length
		want          int
	}{{9, 0, 15}, {9, 30, 14}, {1, 0, 20}} {
		medium.Cutter, medium.Corner = c.strip, c.corner
		p, err := Make(o, 0)
		if err != nil {
			t.Fatal(err)
		}
		if p.Sheet.Copies != c.want {
			t.Errorf("a strip of %v and corners of %v: %d copies, want %d", c.strip, c.corner, p.Sheet.Copies, c.want)
		}
		for _, v := range p.Laid.Layout.Places {
			if edge := 5 + max(2, c.strip.MM()); v.XMM < edge-0.01 || v.YMM < edge-0.01 {
				t.Errorf("a copy at %g, %g lies in the strip of %g mm", v.XMM, v.YMM, edge)
			}
		}
	}
}

// TestWork adds up the two-sheet film's recipe by hand: 60 s once a pair and 5 + 30 once
// a piece, one of the three steps covered. So 48 pieces, 24 to a pair, are 2 × 60 s of
// marrying, not 48 × 60.
func TestWork(t *testing.T) {
	o := ordertest.Trade(t, "dark")
	o.Wish.WidthMM = 40
	o.Shop.Labour.RateHour, o.Shop.Costs.HeatPressHour = decimal.NewFromInt(36), decimal.NewFromInt(18)
	p, err := Make(o, 0)
	if err != nil {
		t.Fatal(err)
	}
	copies := p.Sheet.Copies
	f, err := p.Quote([]int{2 * copies})
	if err != nil {
		t.Fatal(err)
	}
	seconds := int64(2*60 + 2*copies*(5+30))
	for l, perHour := range map[price.Line]int64{price.LabourLine: 36, price.MachineLine: 18} {
		want := decimal.NewFromInt(seconds*perHour).DivRound(decimal.NewFromInt(3600), price.Places)
		if got := line(f.Quantities[0], l); got != want.StringFixed(price.Places) {
			t.Errorf("%s of %d pieces on 2 pairs: %s, want %s", price.LineNames[l], 2*copies, got, want)
		}
	}
	if got, want := line(f.Quantities[0], price.CoverLine), decimal.NewFromInt(int64(2*copies)).Mul(decimal.RequireFromString("0.02")); got != want.StringFixed(price.Places) {
		t.Errorf("covers %s, want %s", got, want)
	}
}

// TestWaits: a decal that soaks is waited for, one that dries is not.
func TestWaits(t *testing.T) {
	o := ordertest.Trade(t, "decal")
	decal, err := o.Shop.Process("decal")
	if err != nil {
		t.Fatal(err)
	}
	if w := decal.Work(&shop.Item{}); !w.Waiting.Piece.Round(0).Equal(decimal.NewFromInt(12)) || w.Presses {
		t.Errorf("%+v", w)
	}
}

// TestSheetIsBought: a film that is bought in A4 and A3 costs on either what that sheet
// costs; any other sheet is refused with the reason, and turned it is the same.
func TestSheetIsBought(t *testing.T) {
	for sheet, want := range map[string]string{"A4": "0.8500", "297x210mm": "0.8500", "A3": "1.8500", "A5": ""} {
		o := ordertest.Badge(t)
		o.ProcessName, o.ItemName = "light garment", "white tee"
		size, err := unit.ParseSheet(sheet)
		if err != nil {
			t.Fatal(err)
		}
		o.Sheet = &size
		p, err := Make(o, 0)
		if want == "" {
			var of *fault.Fault
			if !errors.As(err, &of) || of.Field != "sheet" || !strings.Contains(err.Error(), "light film is not bought in A5: choose A4 or A3") {
				t.Errorf("%s: %v", sheet, err)
			}
			continue
		}
		if err != nil {
			t.Fatal(err)
		}
		f, err := p.Quote([]int{1})
		if err != nil || line(f.Quantities[0], price.MediaLine) != want {
			t.Errorf("%s: media %s, %v, want %s", sheet, line(f.Quantities[0], price.MediaLine), err, want)
		}
	}
}

// TestMissingIsNotZero takes every price and time that a quote needs from the demo shop, one
// at a time and all at once: the quote is refused and names them; zero that is written is
// taken.
func TestMissingIsNotZero(t *testing.T) {
	keys := []string{"rate_hour", "file_check_minutes", "setup_minutes", "print_seconds", "weed_seconds", "heat_press_seconds", "pack_seconds",
		"spoilage_percent", "overhead_percent", "heat_press_hour", "margin_percent", "machine_hour", "pages_per_minute", "price_each"}
	without := func(value string, keys ...string) error {
		text := string(shop.Demo())
		for _, k := range keys {
			line := regexp.MustCompile(`(?m)^` + k + ` = "[^"]*"`)
			if !line.MatchString(text) {
				t.Fatalf("the demo has no %s", k)
			}
			if value != "" {
				value = k + ` = "0"`
			}
			text = line.ReplaceAllString(text, value)
		}
		s, err := shop.Load([]byte(text), "shop.toml")
		if err != nil {
			return err
		}
		o := ordertest.Badge(t)
		o.Shop, o.ProcessName, o.ItemName = s, "light garment", "white tee"
		j, err := o.Resolve()
		if err != nil {
			t.Fatal(err)
		}
		return priced(j)
	}
	for _, k := range keys {
		if err := without("", k); err == nil || !strings.Contains(err.Error(), k+" is missing") {
			t.Errorf("without %s: %v", k, err)
		}
		if err := without("0", k); err != nil && k != "pages_per_minute" {
			t.Errorf("%s of 0: %v", k, err)
		}
	}
	all := without("", slices.DeleteFunc(slices.Clone(keys), func(k string) bool { return k == "price_each" })...)
	for _, k := range keys {
		if k == "pages_per_minute" || k == "price_each" { // not needed without machine_hour
			continue
		}
		if all == nil || !strings.Contains(all.Error(), k+" is missing") {
			t.Errorf("without any: %s is not named: %v", k, all)
		}
	}
}
