package price

import (
	"fmt"
	"math/rand/v2"
	"testing"

	"github.com/shopspring/decimal"

	"laydown/coverage/plate"
)

func d(s string) decimal.Decimal { return decimal.RequireFromString(s) }

func some() Inputs {
	in := Inputs{Copies: 6, MediaSheet: d("3.80"), WearSheet: d("0.031"), CoverPiece: d("0.02"), BlankPiece: d("2.40"), MachineSheet: d("0.05"), MachinePiece: d("0.01"),
		LabourHour: d("24"), SheetSeconds: d("20"), PieceSeconds: d("100"), CutSeconds: d("90"), SetupSeconds: d("600"), SpoilagePercent: d("4"), OverheadPercent: d("12")}
	for k := range in.Cartridges {
		in.Cartridges[k] = Cartridge{Price: d("120"), YieldPages: 6000, PageAreaMM2: 210 * 297, CoveragePercent: d("5"), Correction: d("1")}
		in.Laid[k] = Laid{Sum: 255 * 20, Pixels: 100, AreaMM2: 100 * 100}
	}
	return in
}

// TestCostByHand works a quote out by hand, line by line.
func TestCostByHand(t *testing.T) {
	c, err := some().Cost(10)
	if err != nil {
		t.Fatal(err)
	}
	// Toner: 20 % of 10,000 mm² is 20 ÷ 5 × 10,000 ÷ 62,370 of a page of 120 ÷ 6,000,
	// five times and for ten: 0.012827 × 50 = 0.6413 (rounded plate by plate: 0.1283).
	want := [Lines]string{"0.6415", "7.6", "0.062", "0.2", "24", "6.9333", "6", "0.2", "4", "1.9015", "6.1846"}
	sum := decimal.Zero
	for l, w := range want {
		if !c.Line[l].Equal(d(w)) {
			t.Errorf("%s: %s, by hand %s", LineNames[l], c.Line[l], w)
		}
		sum = sum.Add(d(w))
	}
	if !c.Total.Equal(sum) || c.Sheets != 2 || c.Spare != 2 {
		t.Errorf("total %s on %d sheets, %d spare; by hand %s on 2, 2", c.Total, c.Sheets, c.Spare, sum)
	}
}

// TestSpoilageIsWhatIsLost makes 4 of 100 pieces bad: 100 good ones take as many as
// are made of 104.17, set-up once.
func TestSpoilageIsWhatIsLost(t *testing.T) {
	in := Inputs{Copies: 1, BlankPiece: d("0.96"), SetupSeconds: d("3600"), LabourHour: d("10"), SpoilagePercent: d("4")}
	c, err := in.Cost(100)
	if err != nil || !c.Total.Equal(d("110")) { // 96 + 4 + 10
		t.Errorf("total %s, %v, want 110", c.Total, err)
	}
}

// TestTradeArithmetic checks figures that are common practice, no source: 100
// sheets sold in pairs are 50 transfers; a cover sheet is good for about 500
// pressings; 25 small tattoos on one sheet of 3.00, sold at 2.00 each, take 50.00,
// which is 47.00 after the sheet.
func TestTradeArithmetic(t *testing.T) {
	in := Inputs{Copies: 25, MediaSheet: d("3.00")}
	c, err := in.Cost(25)
	if err != nil {
		t.Fatal(err)
	}
	p := Pricing{Rates: []Rate{{1, d("2.00")}}}.Price(c)
	if !p.Total.Equal(d("50")) || !p.Total.Sub(c.Total).Equal(d("47")) {
		t.Errorf("takes %s, %s after the sheet; want 50 and 47", p.Total, p.Total.Sub(c.Total))
	}
	if v := PerTransfer(d("190.00"), 100, 2); !v.Equal(d("3.80")) {
		t.Errorf("a pair from a pack of 100 at 190.00 costs %s, want 3.80: 50 transfers", v)
	}
	if v := PerUse(d("10.00"), 500); !v.Equal(d("0.02")) {
		t.Errorf("a cover sheet of 10.00 good for 500 pressings costs %s a pressing, want 0.02", v)
	}
}

// TestYieldGivesOut is a worked example of ISO/IEC 19798's way of stating a yield: the
// cartridge of 6,000 pages at 5 % gives out after 6,000 such pages, or 1,500 at 20 %.
func TestYieldGivesOut(t *testing.T) {
	for percent, pages := range map[uint64]int{5: 6000, 20: 1500, 50: 600} {
		in := Inputs{Copies: 1}
		in.Cartridges[plate.Cyan] = Cartridge{Price: d("118"), YieldPages: 6000, PageAreaMM2: 210 * 297, CoveragePercent: d("5"), Correction: d("1")}
		in.Laid[plate.Cyan] = Laid{Sum: percent * 255, Pixels: 100, AreaMM2: 210 * 297}
		if c, err := in.Cost(pages); err != nil || !c.Total.Equal(d("118")) {
			t.Errorf("%d pages at %d %% cost %s, %v; want the cartridge's 118", pages, percent, c.Total, err)
		}
	}
}

// TestQuoteLinesAddUp holds totals to the sums of the lines that are shown, over random
// figures.
func TestQuoteLinesAddUp(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 2))
	amount := func(most int64) decimal.Decimal { return decimal.New(rng.Int64N(most), -3) }
	for range 300 {
		in := some()
		in.Copies = 1 + rng.IntN(30)
		in.MediaSheet, in.WearSheet, in.CoverPiece, in.BlankPiece = amount(9000), amount(200), amount(90), amount(9000)
		in.SpoilagePercent, in.OverheadPercent, in.PieceSeconds = amount(20000), amount(40000), amount(300000)
		q := 1 + rng.IntN(500)
		c, err := in.Cost(q)
		if err != nil {
			t.Fatal(err)
		}
		sum := decimal.Zero
		for _, v := range c.Line {
			sum = sum.Add(v)
			if !v.Equal(v.Round(Places)) {
				t.Errorf("a line of %s is shown rounded", v)
			}
		}
		tonerEach, each := c.Each()
		eachSum := decimal.Zero
		for _, v := range each.Line {
			eachSum = eachSum.Add(v)
		}
		toner := decimal.Zero
		for _, v := range c.Toner.Plate {
			toner = toner.Add(v)
		}
		if !each.Line[TonerLine].Equal(tonerEach.Total) {
			t.Errorf("toner each %s, by plate %s", each.Line[TonerLine], tonerEach.Total)
		}
		if !sum.Equal(c.Total) || !eachSum.Equal(each.Total) || !toner.Equal(c.Line[TonerLine]) {
			t.Errorf("lines add to %s, total %s; each %s, total %s; plates %s, toner %s", sum, c.Total, eachSum, each.Total, toner, c.Line[TonerLine])
		}
		p := Pricing{MarginPercent: d("45"), MinimumOrder: amount(40000), Round: Rounding{Step: d("0.05")}, TaxPercent: d("19")}.Price(c)
		if !p.Total.Equal(p.Each.Mul(decimal.NewFromInt(int64(q)))) || !p.WithTax.Equal(p.Total.Add(p.Tax)) || p.MarginPercent.LessThan(d("45")) {
			t.Errorf("price %+v of cost %s", p, c.Total)
		}
	}
}

func TestPricing(t *testing.T) {
	c := Cost{Quantity: 10, Total: d("55")} // 5.50 each
	for name, v := range map[string]struct {
		p                   Pricing
		each, total, margin string
	}{
		"margin":     {Pricing{MarginPercent: d("45")}, "10", "100", "45"},
		"markup":     {Pricing{MarkupPercent: d("80")}, "9.9", "99", "44.44"},
		"cents":      {Pricing{MarkupPercent: d("33.333")}, "7.34", "73.4", "25.07"},
		"step":       {Pricing{MarkupPercent: d("80"), Round: Rounding{Step: d("0.25")}}, "10", "100", "45"},
		"ending":     {Pricing{MarkupPercent: d("80"), Round: Rounding{Ending: d(".95"), HasEnding: true}}, "9.95", "99.5", "44.72"},
		"ending, up": {Pricing{MarkupPercent: d("82"), Round: Rounding{Ending: d(".95"), HasEnding: true}}, "10.95", "109.5", "49.77"},
		"minimum":    {Pricing{MarkupPercent: d("80"), MinimumOrder: d("120")}, "12", "120", "54.17"},
		"rate card":  {Pricing{Rates: []Rate{{1, d("14")}, {10, d("11.5")}, {50, d("9")}}, Round: Rounding{Step: d("1")}}, "11.5", "115", "52.17"},
		"at a loss":  {Pricing{Rates: []Rate{{1, d("5")}}}, "5", "50", "-10"},
	} {
		got := v.p.Price(c)
		if !got.Each.Equal(d(v.each)) || !got.Total.Equal(d(v.total)) || !got.MarginPercent.Equal(d(v.margin)) {
			t.Errorf("%s: %s each, %s, margin %s; want %s, %s, %s", name, got.Each, got.Total, got.MarginPercent, v.each, v.total, v.margin)
		}
	}
}

func TestBreakEven(t *testing.T) {
	in := Inputs{Copies: 1000, BlankPiece: d("4"), SetupSeconds: d("3600"), LabourHour: d("30")}
	for each, want := range map[string]int{"10": 5, "9": 6, "4.5": 60, "4": 0} { // 30 ÷ (each − 4)
		if n, err := in.BreakEven(d(each), 100); err != nil || n != want {
			t.Errorf("at %s each: %d, %v, want %d", each, n, err, want)
		}
	}
}

// TestFlat compares an ink-heavy print with the page of 5 % that flat pricing takes it
// for.
func TestFlat(t *testing.T) {
	in := some() // 20 % on five plates
	in.Laid[plate.White].Sum = 255 * 80
	uses := [plate.Count]bool{true, true, true, true, true}
	real, err := in.Cost(100)
	if err != nil {
		t.Fatal(err)
	}
	flat, err := in.Flat(5, uses).Cost(100)
	if err != nil {
		t.Fatal(err)
	}
	// Real: 4 plates of 20 % and one of 80 %; flat: 5 of 5 %: 160 to 25.
	if r := real.Toner.Total.Div(flat.Toner.Total); r.Sub(d("6.4")).Abs().GreaterThan(d("0.001")) {
		t.Errorf("toner is %s times that of flat pages, want 6.4", r)
	}
}

// TestRounding holds rounding to cents to rows of the decimal library's own tables
// (shopspring/decimal 1.4.0, decimal_test.go, TestDecimal_RoundAndStringFixed and
// TestDecimal_BankRoundAndStringFixed), shifted so that their places become cents.
func TestRounding(t *testing.T) {
	for _, c := range []struct {
		in       string
		places   int32
		up, even string
	}{
		{"1.454", 0, "1", "1"}, {"1.454", 1, "1.5", "1.5"}, {"1.454", 2, "1.45", "1.45"}, {"1.454", 3, "1.454", "1.454"},
		{"1.554", 0, "2", "2"}, {"1.554", 1, "1.6", "1.6"}, {"1.554", 2, "1.55", "1.55"}, {"0.554", 0, "1", "1"}, {"0.454", 0, "0", "0"},
		{"0", 2, "0", "0"}, {"5", 1, "5", "5"}, {"500", 2, "500", "500"}, {"545", -1, "550", "540"}, {"545", -2, "500", "500"}, {"545", -3, "1000", "1000"},
		{"545", -4, "0", "0"}, {"499", -3, "0", "0"}, {"499", -4, "0", "0"}, {"1.45", 1, "1.5", "1.4"}, {"1.55", 1, "1.6", "1.6"}, {"1.65", 1, "1.7", "1.6"},
		{"565", -1, "570", "560"}, {"555", -1, "560", "560"},
	} {
		shift := c.places - Cents
		up, even := Rounding{}, Rounding{HalfEven: true}
		if got := up.cents(d(c.in).Shift(shift)); !got.Equal(d(c.up).Shift(shift)) {
			t.Errorf("%s to %d places half up is %s, want %s", c.in, c.places, got.Shift(-shift), c.up)
		}
		if got := even.cents(d(c.in).Shift(shift)); !got.Equal(d(c.even).Shift(shift)) {
			t.Errorf("%s to %d places half even is %s, want %s", c.in, c.places, got.Shift(-shift), c.even)
		}
	}
	for rule, want := range map[string]string{"": "7.12", "0.05": "7.15", "0.5": "7.5", "1": "8", ".95": "7.95", ".00": "8", ".10": "8.1"} {
		r, err := ParseRounding(rule, "half-up")
		if err != nil {
			t.Errorf("%q: %v", rule, err)
		}
		if got := r.up(d("7.111")); !got.Equal(d(want)) {
			t.Errorf("%q: 7.111 becomes %s, want %s", rule, got, want)
		}
		if again := r.up(d(want)); !again.Equal(d(want)) {
			t.Errorf("%q: %s becomes %s", rule, want, again)
		}
	}
	for _, bad := range [][2]string{{"0", ""}, {"-1", ""}, {"nice", ""}, {"0.001", ""}, {"", "down"}} {
		if _, err := ParseRounding(bad[0], bad[1]); err == nil {
			t.Errorf("%q passed", bad)
		}
	}
}

func TestCostRefuses(t *testing.T) {
	for name, change := range map[string]func(*Inputs){
		"spoilage": func(in *Inputs) { in.SpoilagePercent = d("100") }, "media": func(in *Inputs) { in.MediaSheet = d("-1") },
		"copies": func(in *Inputs) { in.Copies = 0 }, "yield": func(in *Inputs) { in.Cartridges[0].YieldPages = 0 },
	} {
		in := some()
		change(&in)
		if _, err := in.Cost(10); err == nil {
			t.Errorf("%s: no error", name)
		}
	}
	if _, err := some().Cost(0); err == nil {
		t.Error("a quantity of 0")
	}
}

func ExampleInputs_Cost() {
	in := Inputs{Copies: 25, MediaSheet: decimal.RequireFromString("3.00"), SpoilagePercent: decimal.RequireFromString("4")}
	c, _ := in.Cost(60)
	fmt.Println(c.Sheets, "sheets,", c.Spare, "places spare, cost", c.Total)
	// Output: 3 sheets, 15 places spare, cost 9.375
}
