package proof

import (
	"fmt"
	"testing"

	"github.com/shopspring/decimal"

	"laydown/colour/icc"
	"laydown/colour/press/presstest"
	"laydown/coverage/order"
	"laydown/coverage/order/ordertest"
	"laydown/coverage/price"
	"laydown/coverage/shop"
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
	// Output: 2 sheets, EUR 128.40
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

// TestHeatPressSeconds adds up the two-sheet film's recipe by hand: 60 + 5 + 30
// seconds under the heat press, one of the three steps covered.
func TestHeatPressSeconds(t *testing.T) {
	o := ordertest.Trade(t, "dark")
	dark, err := o.Shop.Process("dark")
	if err != nil || dark.HeatPressSeconds(&shop.Item{}) != 95 || dark.CoveredPresses(&shop.Item{}) != 1 {
		t.Errorf("dark: %g s under the heat press, %d covered, %v", dark.HeatPressSeconds(&shop.Item{}), dark.CoveredPresses(&shop.Item{}), err)
	}
}
