package price

import (
	"fmt"
	"testing"

	"github.com/shopspring/decimal"

	"laydown/coverage/plate"
)

const a4 = 210 * 297

func dec(s string) decimal.Decimal { return decimal.RequireFromString(s) }

func cartridge(price string, yield int64) Cartridge {
	return Cartridge{dec(price), yield, a4, dec("5"), dec("1")}
}

// TestYield works the definition of ISO/IEC 19798 by hand. A cartridge of 80.00
// that yields 2,000 A4 pages at 5 % costs 0.04 for one such page. So:
//   - an A4 page at 5 % costs 0.04;
//   - an A4 page at 100 % is 20 such pages, 0.80;
//   - half an A4 at 30 % is ½ × 30 ÷ 5 = 3 pages, 0.12;
//   - 100 × 100 mm at 42 % is 10,000 ÷ 62,370 × 8.4 = 1.346801 pages, 0.0539.
func TestYield(t *testing.T) {
	for _, c := range []struct {
		percent uint64
		area    float64
		copies  int
		want    string
	}{
		{5, a4, 1, "0.04"}, {100, a4, 1, "0.8"}, {30, a4 / 2.0, 1, "0.12"}, {42, 10000, 1, "0.0539"},
		{42, 10000, 10, "0.5387"}, {0, a4, 1, "0"},
	} {
		var laid [plate.Count]Laid
		laid[plate.Cyan] = Laid{Sum: 255 * c.percent, Pixels: 100, AreaMM2: c.area}
		got, err := TonerCost([plate.Count]Cartridge{plate.Cyan: cartridge("80.00", 2000)}, laid, c.copies)
		if err != nil {
			t.Fatal(err)
		}
		if !got.Total.Equal(dec(c.want)) {
			t.Errorf("%d %% of %g mm², %d copies: %s, want %s", c.percent, c.area, c.copies, got.Total, c.want)
		}
	}
}

func TestCorrectionAndBasis(t *testing.T) {
	c := cartridge("80.00", 2000)
	c.Correction, c.CoveragePercent, c.PageAreaMM2 = dec("1.25"), dec("10"), a4/2.0
	var laid [plate.Count]Laid
	laid[plate.White] = Laid{Sum: 255 * 50, Pixels: 100, AreaMM2: a4}
	// 50 % of an A4 is 10 half pages at 10 %, times 1.25, times 0.04.
	got, err := TonerCost([plate.Count]Cartridge{plate.White: c}, laid, 1)
	if err != nil || !got.Total.Equal(dec("0.5")) {
		t.Errorf("%v, %v, want 0.5", got.Total, err)
	}
}

func TestLinesAddUp(t *testing.T) {
	var carts [plate.Count]Cartridge
	var laid [plate.Count]Laid
	for k := range carts {
		carts[k] = cartridge(fmt.Sprintf("%d.37", 60+7*k), int64(1500+311*k))
		laid[k] = Laid{Sum: uint64(1234567 * (k + 1)), Pixels: 999983, AreaMM2: 7391.3}
	}
	got, err := TonerCost(carts, laid, 7)
	if err != nil {
		t.Fatal(err)
	}
	sum := decimal.Zero
	for _, v := range got.Plate {
		if v.Exponent() < -Places {
			t.Errorf("%s has more than %d places", v, Places)
		}
		sum = sum.Add(v)
	}
	if !sum.Equal(got.Total) {
		t.Errorf("lines add to %s, total is %s", sum, got.Total)
	}
}

func TestCheck(t *testing.T) {
	for name, change := range map[string]func(*Cartridge){
		"price": func(c *Cartridge) { c.Price = dec("-1") }, "yield_pages": func(c *Cartridge) { c.YieldPages = 0 },
		"page": func(c *Cartridge) { c.PageAreaMM2 = 0 }, "coverage_percent": func(c *Cartridge) { c.CoveragePercent = dec("101") },
		"correction": func(c *Cartridge) { c.Correction = decimal.Zero },
	} {
		c := cartridge("1", 1)
		change(&c)
		if c.Check() == nil {
			t.Errorf("a bad %s passed", name)
		}
	}
}

func ExampleTonerCost() {
	// 42 % cyan on 100 × 100 mm, from a cartridge of 80.00 for 2,000 A4 pages.
	var laid [plate.Count]Laid
	laid[plate.Cyan] = Laid{Sum: 42 * 255, Pixels: 100, AreaMM2: 100 * 100}
	five := decimal.NewFromInt(5)
	cyan := Cartridge{decimal.NewFromInt(80), 2000, 210 * 297, five, decimal.NewFromInt(1)}
	t, _ := TonerCost([plate.Count]Cartridge{plate.Cyan: cyan}, laid, 1)
	fmt.Println(t.Total)
	// Output: 0.0539
}
