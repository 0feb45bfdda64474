package price

import (
	"fmt"
	"math/big"
	"math/rand/v2"
	"testing"

	"github.com/shopspring/decimal"

	"laydown/coverage/plate"
)

func d(s string) decimal.Decimal { return decimal.RequireFromString(s) }

func e(s string) Exact { return Of(d(s)) }

func some() Inputs {
	in := Inputs{Copies: 6, MediaSheet: e("3.80"), WearSheet: e("0.031"), Cover: Per{Piece: e("0.02")}, BlankPiece: d("2.40"), Machine: Per{Sheet: e("0.05"), Piece: e("0.01")},
		LabourHour: d("24"), Seconds: Per{Sheet: e("20"), Piece: e("100")}, CutSeconds: e("90"), SetupSeconds: d("600"), SpoilagePercent: d("4"), OverheadPercent: d("12")}
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
	in := Inputs{Copies: 25, MediaSheet: e("3.00")}
	c, err := in.Cost(25)
	if err != nil {
		t.Fatal(err)
	}
	p := Pricing{Rates: []Rate{{From: 1, Each: d("2.00")}}}.Price(c)
	if !p.Total.Equal(d("50")) || !p.Total.Sub(c.Total).Equal(d("47")) {
		t.Errorf("takes %s, %s after the sheet; want 50 and 47", p.Total, p.Total.Sub(c.Total))
	}
	if v := PerTransfer(d("190.00"), 100, 2); !v.Round(16).Equal(d("3.80")) {
		t.Errorf("a pair from a pack of 100 at 190.00 costs %s, want 3.80: 50 transfers", v.Round(4))
	}
	if v := PerUse(d("10.00"), 500); !v.Round(16).Equal(d("0.02")) {
		t.Errorf("a cover sheet of 10.00 good for 500 pressings costs %s a pressing, want 0.02", v.Round(4))
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
		in.MediaSheet, in.WearSheet, in.Cover.Piece, in.BlankPiece = Of(amount(9000)), Of(amount(200)), Of(amount(90)), amount(9000)
		in.SpoilagePercent, in.OverheadPercent, in.Seconds.Piece = amount(20000), amount(40000), Of(amount(300000))
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
		p := Pricing{MarginPercent: d("45"), MinimumOrder: amount(40000), Round: Rounding{Places: 2, Step: d("0.05")}, TaxPercent: d("19")}.Price(c)
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
		"step":       {Pricing{MarkupPercent: d("80"), Round: Rounding{Places: 2, Step: d("0.25")}}, "10", "100", "45"},
		"ending":     {Pricing{MarkupPercent: d("80"), Round: Rounding{Places: 2, Ending: d(".95"), HasEnding: true}}, "9.95", "99.5", "44.72"},
		"ending, up": {Pricing{MarkupPercent: d("82"), Round: Rounding{Places: 2, Ending: d(".95"), HasEnding: true}}, "10.95", "109.5", "49.77"},
		"minimum":    {Pricing{MarkupPercent: d("80"), MinimumOrder: d("120")}, "12", "120", "54.17"},
		"rate card":  {Pricing{Rates: []Rate{{From: 1, Each: d("14")}, {From: 10, Each: d("11.5")}, {From: 50, Each: d("9")}}, Round: Rounding{Places: 2, Step: d("1")}}, "11.5", "115", "52.17"},
		"at a loss":  {Pricing{Rates: []Rate{{From: 1, Each: d("5")}}}, "5", "50", "-10"},
	} {
		v.p.Round.Places = 2
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

// TestBreakEvenHolds holds a break-even to what it says, where a further sheet makes a
// quantity lose money that a smaller one does not: none from it on loses, and the one
// before it does.
func TestBreakEvenHolds(t *testing.T) {
	const most = 200
	some := some()
	for _, copies := range []int{1, 6, 50} {
		for _, media := range []string{"3.80", "19"} {
			in := some
			in.Copies, in.MediaSheet = copies, e(media)
			costs := map[int]decimal.Decimal{} // which do not depend on the price
			cost := func(n int) decimal.Decimal {
				if _, known := costs[n]; !known {
					c, err := in.Cost(n)
					if err != nil {
						t.Fatal(err)
					}
					costs[n] = c.Total
				}
				return costs[n]
			}
			for cents := int64(300); cents < 2500; cents += 61 {
				each := decimal.New(cents, -2)
				loses := func(n int) bool {
					return each.Mul(decimal.NewFromInt(int64(n))).LessThan(cost(n))
				}
				got, err := in.BreakEven(each, most)
				if err != nil {
					t.Fatal(err)
				}
				if got == 0 {
					if !loses(most) {
						t.Errorf("%d copies, %s each: none, but %d do not lose", copies, each, most)
					}
					continue
				}
				if got > 1 && !loses(got-1) {
					t.Errorf("%d copies, %s each: from %d, but %d do not lose either", copies, each, got, got-1)
				}
				for n := got; n <= most; n++ {
					if loses(n) {
						t.Errorf("%d copies, %s each: from %d, but %d lose", copies, each, got, n)
					}
				}
			}
		}
	}
}

// naive reckons a quantity's cost from the definitions alone, line by line in fractions,
// each rounded once.
func (in Inputs) naive(n int64) (line [Lines]*big.Rat, spares, sheets int64) {
	r := func(v decimal.Decimal) *big.Rat { return v.Rat() }
	mul := func(a *big.Rat, rest ...*big.Rat) *big.Rat {
		a = new(big.Rat).Set(a)
		for _, b := range rest {
			a.Mul(a, b)
		}
		return a
	}
	add := func(all ...*big.Rat) *big.Rat {
		sum := new(big.Rat)
		for _, v := range all {
			sum.Add(sum, v)
		}
		return sum
	}
	whole := func(v int64) *big.Rat { return big.NewRat(v, 1) }
	// floor(v × 10^places + ½) ÷ 10^places, of what is not below 0
	round := func(v *big.Rat, places int64) *big.Rat {
		scale := new(big.Int).Exp(big.NewInt(10), big.NewInt(places), nil)
		up := add(mul(v, new(big.Rat).SetInt(scale)), big.NewRat(1, 2))
		return new(big.Rat).SetFrac(new(big.Int).Div(up.Num(), up.Denom()), scale)
	}
	part := mul(r(in.SpoilagePercent), new(big.Rat).Inv(new(big.Rat).Sub(whole(100), r(in.SpoilagePercent))))
	spares = round(mul(whole(n), part), 0).Num().Int64()
	for sheets*int64(in.Copies) < n+spares {
		sheets++
	}
	q, s, hour := whole(n), whole(sheets), big.NewRat(1, 3600)
	toner, shown := new(big.Rat), new(big.Rat)
	for k, c := range in.Cartridges {
		pages := mul(whole(int64(in.Laid[k].Sum)), big.NewRat(100, 255*int64(in.Laid[k].Pixels)), r(decimal.NewFromFloat(in.Laid[k].AreaMM2)),
			new(big.Rat).Inv(mul(r(c.CoveragePercent), r(decimal.NewFromFloat(c.PageAreaMM2)))))
		each := mul(pages, r(c.Price), r(c.Correction), big.NewRat(1, c.YieldPages))
		toner, shown = add(toner, each), add(shown, round(mul(each, q), 4))
	}
	rate := r(in.LabourHour)
	pieces := add(toner, in.Supply.Piece.rat(), in.Cover.Piece.rat(), r(in.BlankPiece), mul(in.Seconds.Piece.rat(), rate, hour), mul(in.CutSeconds.rat(), rate, hour), in.Machine.Piece.rat())
	onSheets := add(in.Supply.Sheet.rat(), in.MediaSheet.rat(), in.WearSheet.rat(), in.Cover.Sheet.rat(), mul(in.Seconds.Sheet.rat(), rate, hour), in.Machine.Sheet.rat())
	per := func(p Per) *big.Rat { return add(p.Order.rat(), mul(p.Sheet.rat(), s), mul(p.Piece.rat(), q)) }
	line = [Lines]*big.Rat{shown, add(mul(in.MediaSheet.rat(), s), per(in.Supply)), mul(in.WearSheet.rat(), s), per(in.Cover), mul(r(in.BlankPiece), q), mul(per(in.Seconds), rate, hour),
		mul(in.CutSeconds.rat(), q, rate, hour), per(in.Machine), mul(r(in.SetupSeconds), rate, hour)}
	spoilt := mul(pieces, q)
	if spares == 0 {
		spoilt = add(spoilt, mul(onSheets, s))
	}
	line[SpoilageLine] = mul(spoilt, part)
	all := new(big.Rat)
	for l := TonerLine; l <= SpoilageLine; l++ {
		line[l] = round(line[l], 4)
		all = add(all, line[l])
	}
	line[OverheadLine] = round(mul(all, r(in.OverheadPercent), big.NewRat(1, 100)), 4)
	return line, spares, sheets
}

// anyInputs are random figures, with prices that end in no decimals.
func anyInputs(rng *rand.Rand) Inputs {
	amount := func(most int64) decimal.Decimal { return decimal.New(rng.Int64N(most), -2) }
	fraction := func(most int64) Exact { return Of(amount(most)).Over(Whole(1 + rng.Int64N(400))) }
	per := func(most int64) Per { return Per{fraction(most), fraction(most), fraction(most)} }
	in := Inputs{Copies: 1 + rng.IntN(40), MediaSheet: fraction(40000), Supply: per(3000), WearSheet: fraction(900), Cover: per(4000), BlankPiece: amount(900), Machine: per(300),
		LabourHour: amount(5000), Seconds: per(90000), CutSeconds: fraction(9000), SetupSeconds: amount(90000), SpoilagePercent: amount(1500), OverheadPercent: amount(3000)}
	for k := range in.Cartridges {
		in.Cartridges[k] = Cartridge{Price: amount(30000), YieldPages: 1 + rng.Int64N(9000), PageAreaMM2: 210 * 297, CoveragePercent: d("5"), Correction: d("1.07")}
		in.Laid[k] = Laid{Sum: rng.Uint64N(1e9), Pixels: 1 + rng.Uint64N(1e7), AreaMM2: float64(rng.IntN(60000)) / 7}
	}
	return in
}

// TestExactCost holds the cost of random figures, with prices that end in no decimals, to
// the naive reckoning, line by line and digit by digit.
func TestExactCost(t *testing.T) {
	rng := rand.New(rand.NewPCG(7, 8))
	withSpares := 0
	for range 600 {
		in := anyInputs(rng)
		n := 1 + rng.Int64N(300)
		c, err := in.Cost(int(n))
		if err != nil {
			t.Fatal(err)
		}
		line, spares, sheets := in.naive(n)
		if int64(c.Spares) != spares || int64(c.Sheets) != sheets || int64(c.Spare) != sheets*int64(in.Copies)-n-spares {
			t.Errorf("%d pieces, %d on a sheet, %s %%: %d spares, %d sheets, %d places free; want %d, %d", n, in.Copies, in.SpoilagePercent, c.Spares, c.Sheets, c.Spare, spares, sheets)
		}
		if Spares(int(n), in.SpoilagePercent) != c.Spares {
			t.Errorf("spares of %d: %d alone, %d in the cost", n, Spares(int(n), in.SpoilagePercent), c.Spares)
		}
		if spares > 0 {
			withSpares++
		}
		total := new(big.Rat)
		for l, want := range line {
			total.Add(total, want)
			if c.Line[l].Rat().Cmp(want) != 0 {
				t.Errorf("%s of %d: %s, want %s", LineNames[l], n, c.Line[l], want.FloatString(6))
			}
		}
		if c.Total.Rat().Cmp(total) != 0 {
			t.Errorf("total %s, want %s", c.Total, total.FloatString(6))
		}
	}
	if withSpares < 150 {
		t.Errorf("only %d of 600 cases have spares", withSpares)
	}
}

// TestSpares: of 12 at 4 % half a piece more is lost, which makes one; the sheet that is
// full with 12 gets another.
func TestSpares(t *testing.T) {
	in := Inputs{Copies: 12, MediaSheet: e("1.90"), SpoilagePercent: d("4")}
	for quantity, want := range map[int][3]int{11: {0, 1, 1}, 12: {1, 2, 11}, 48: {2, 5, 10}} {
		c, err := in.Cost(quantity)
		if err != nil || c.Spares != want[0] || c.Sheets != want[1] || c.Spare != want[2] {
			t.Errorf("%d: %d spares on %d sheets, %d free, %v; want %v", quantity, c.Spares, c.Sheets, c.Spare, err, want)
		}
	}
}

// TestCurrencies: smallest amounts by ISO 4217 (list one, published on 2024-06-25), and what
// can be paid in them.
func TestCurrencies(t *testing.T) {
	for code, want := range map[string]int32{"EUR": 2, "usd": 2, "JPY": 0, "KRW": 0, "ISK": 0, "CLP": 0, "KWD": 3, "BHD": 3, "TND": 3, "IQD": 3, "CLF": 4, "HUF": 2, "coins": 2} {
		if got := CurrencyPlaces(code); got != want {
			t.Errorf("%s has %d places, want %d", code, got, want)
		}
	}
	for _, c := range []struct {
		amount string
		places int32
		ok     bool
	}{{"9.50", 2, true}, {"9.505", 2, false}, {"9.5050", 2, false}, {"9.500", 2, true}, {"0.0085", 2, true}, {"0.00855", 2, false}, {"0.0105", 2, false}, {"120", 0, true}, {"120.5", 0, false},
		{"0.25", 0, true}, {"1.255", 3, true}, {"1.2555", 3, false}} {
		if Payable(d(c.amount), c.places) != c.ok {
			t.Errorf("%s with %d places: %v", c.amount, c.places, !c.ok)
		}
	}
	r, err := ParseRounding("", "", 0)
	if err != nil || !r.up(d("1203.1")).Equal(d("1204")) {
		t.Errorf("without places 1203.1 goes up to %s, %v", r.up(d("1203.1")), err)
	}
	if r, err = ParseRounding("0.005", "", 3); err != nil || !r.up(d("1.2511")).Equal(d("1.255")) {
		t.Errorf("with three places 1.2511 goes up to %s, %v", r.up(d("1.2511")), err)
	}
}

// TestNeverLess walks a rate card down whose steps a larger order costs less in all. With
// the shop's leave it does; else no quantity costs less than a smaller one, none costs more
// than it must for that, and each, lift and total agree.
func TestNeverLess(t *testing.T) {
	in := Inputs{Copies: 6, BlankPiece: d("0.40")}
	card := Pricing{Rates: []Rate{{From: 1, Each: d("1.95")}, {From: 26, Each: d("0.95")}}, MinimumOrder: d("10"), Round: Rounding{Places: 2}}
	plain, err := in.Seller(card)
	if err != nil {
		t.Fatal(err)
	}
	if _, v := plain.Sell(26); !v.Total.Equal(d("24.70")) {
		t.Errorf("26 cost %s, want 24.70", v.Total)
	}
	less, _, next := plain.Steps(25)
	if less.Quantity != 26 || !less.Price.Total.Equal(d("24.70")) || next.Quantity != 26 || !next.Price.Each.Equal(d("0.95")) {
		t.Errorf("of 25: less %+v, next %+v", less, next)
	}
	card.NeverLess = true
	s, err := in.Seller(card)
	if err != nil {
		t.Fatal(err)
	}
	highest := decimal.Zero
	for n := 1; n <= 80; n++ {
		_, v := s.Sell(n)
		_, alone := plain.Sell(n)
		highest = decimal.Max(highest, alone.Total)
		if !v.Total.Equal(highest) || !v.Each.Equal(alone.Each) || !v.Total.Equal(v.Each.Mul(decimal.NewFromInt(int64(n))).Add(v.Lift)) {
			t.Errorf("%d: %+v, the highest up to it is %s", n, v, highest)
		}
	}
	if _, v := s.Sell(26); !v.Lift.Equal(d("24.05")) {
		t.Errorf("26 are lifted by %s, want 24.05", v.Lift)
	}
	if less, _, _ := s.Steps(25); less.Quantity != 0 {
		t.Errorf("25: %+v", less)
	}
}

// TestSteps: a seventh piece takes a second sheet and so costs more each; six more places
// are then free.
func TestSteps(t *testing.T) {
	in := Inputs{Copies: 6, MediaSheet: e("6"), BlankPiece: d("4")}
	s, err := in.Seller(Pricing{MarkupPercent: d("100"), Round: Rounding{Places: 2}})
	if err != nil {
		t.Fatal(err)
	}
	_, dearer, next := s.Steps(6) // (6 + 24) × 2 = 60
	if dearer.Quantity != 7 || !dearer.Price.Each.Equal(d("11.43")) || next.Quantity != 0 {
		t.Errorf("of 6: dearer %+v, next %+v", dearer, next)
	}
	less, dearer, next := s.Steps(7)
	if less.Quantity != 0 || dearer.Quantity != 0 || next.Quantity != 12 || !next.Price.Each.Equal(d("10")) {
		t.Errorf("of 7: less %+v, dearer %+v, next %+v", less, dearer, next)
	}
}

func BenchmarkBreakEven(b *testing.B) {
	in := some()
	for b.Loop() {
		if _, err := in.BreakEven(d("6.35"), 5000); err != nil {
			b.Fatal(err)
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
		shift := c.places - 2
		up, even := Rounding{Places: 2}, Rounding{Places: 2, HalfEven: true}
		if got := up.minor(d(c.in).Shift(shift)); !got.Equal(d(c.up).Shift(shift)) {
			t.Errorf("%s to %d places half up is %s, want %s", c.in, c.places, got.Shift(-shift), c.up)
		}
		if got := even.minor(d(c.in).Shift(shift)); !got.Equal(d(c.even).Shift(shift)) {
			t.Errorf("%s to %d places half even is %s, want %s", c.in, c.places, got.Shift(-shift), c.even)
		}
	}
	for rule, want := range map[string]string{"": "7.12", "0.05": "7.15", "0.5": "7.5", "1": "8", ".95": "7.95", ".00": "8", ".10": "8.1"} {
		r, err := ParseRounding(rule, "half-up", 2)
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
		if _, err := ParseRounding(bad[0], bad[1], 2); err == nil {
			t.Errorf("%q passed", bad)
		}
	}
}

func TestCostRefuses(t *testing.T) {
	for name, change := range map[string]func(*Inputs){
		"spoilage": func(in *Inputs) { in.SpoilagePercent = d("100") }, "media": func(in *Inputs) { in.MediaSheet = e("-1") },
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
	in := Inputs{Copies: 25, MediaSheet: Of(decimal.RequireFromString("3.00")), SpoilagePercent: decimal.RequireFromString("4")}
	c, _ := in.Cost(60)
	fmt.Println(c.Sheets, "sheets,", c.Spare, "places spare, cost", c.Total)
	// Output: 3 sheets, 12 places spare, cost 9
}
