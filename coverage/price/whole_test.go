package price

import (
	"fmt"
	"math/big"
	"math/rand/v2"
	"strings"
	"testing"

	"github.com/shopspring/decimal"
)

// TestGoodsOfOnePrint: goods with one print each cost what that print's order does, digit
// by digit.
func TestGoodsOfOnePrint(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 4))
	for range 300 {
		in := anyInputs(rng)
		n := 1 + rng.IntN(200)
		want, err := in.Cost(n)
		if err != nil {
			t.Fatal(err)
		}
		pack := Of(decimal.New(rng.Int64N(900), -1))
		if v := in.Seconds.Piece.Plus(pack.Times(Whole(-1))); v.Sign() < 0 {
			pack = Exact{}
		}
		p := Printing{Inputs: in, Quantity: n, Sheets: Whole(int64(want.Sheets)), Spares: want.Spares, SetUp: Of(in.SetupSeconds), Share: Whole(1)}
		p.Seconds.Piece = in.Seconds.Piece.Plus(pack.Times(Whole(-1)))
		got, err := Goods{Quantity: n, Blanks: Of(in.BlankPiece).Times(Whole(int64(n))), PackSeconds: pack, Prints: []Printing{p}}.Cost()
		if err != nil || got.Toner.Total.Cmp(want.Toner.Total) != 0 || !got.Total.Equal(want.Total) {
			t.Fatalf("%d pieces cost %s, want %s, %v", n, got.Total, want.Total, err)
		}
		for l := range got.Line {
			if !got.Line[l].Equal(want.Line[l]) {
				t.Errorf("%s: %s, want %s", LineNames[l], got.Line[l], want.Line[l])
			}
		}
	}
}

// TestGoodsByDefinition holds goods with several prints to a naive reckoning in fractions:
// prints on shared sheets, blanks of several prices, set-up that is shared.
func TestGoodsByDefinition(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 6))
	sum := func(all ...*big.Rat) *big.Rat {
		s := new(big.Rat)
		for _, v := range all {
			s.Add(s, v)
		}
		return s
	}
	mul := func(all ...*big.Rat) *big.Rat {
		s := big.NewRat(1, 1)
		for _, v := range all {
			s.Mul(s, v)
		}
		return s
	}
	for range 150 {
		base := anyInputs(rng)
		g := Goods{Quantity: 1 + rng.IntN(60), PackSeconds: Of(decimal.New(rng.Int64N(900), -1)), Blanks: Of(decimal.New(rng.Int64N(90000), -2))}
		q := big.NewRat(int64(g.Quantity), 1)
		hour := mul(base.LabourHour.Rat(), big.NewRat(1, 3600))
		var want [Lines]*big.Rat
		for l := range want {
			want[l] = new(big.Rat)
		}
		want[BlankLine] = g.Blanks.rat()
		want[LabourLine] = mul(g.PackSeconds.rat(), hour, q)
		part := mul(base.SpoilagePercent.Rat(), new(big.Rat).Inv(sum(big.NewRat(100, 1), new(big.Rat).Neg(base.SpoilagePercent.Rat()))))
		toners := [5]*big.Rat{new(big.Rat), new(big.Rat), new(big.Rat), new(big.Rat), new(big.Rat)}
		for range 1 + rng.IntN(4) {
			in := anyInputs(rng)
			in.LabourHour, in.SpoilagePercent, in.OverheadPercent = base.LabourHour, base.SpoilagePercent, base.OverheadPercent
			// A name is on fewer prints than there are pieces.
			p := Printing{Inputs: in, Quantity: 1 + rng.IntN(g.Quantity), Sheets: Whole(rng.Int64N(30)).Over(Whole(1 + rng.Int64N(7))), SetUp: Whole(rng.Int64N(900)), Share: Whole(1).Over(Whole(1 + rng.Int64N(5))), Spares: rng.IntN(2), Extra: rng.IntN(3)}
			g.Prints = append(g.Prints, p)
			n, s := big.NewRat(int64(p.Quantity), 1), p.Sheets.rat()
			toner := new(big.Rat)
			for k, c := range in.Cartridges {
				laid := in.Laid[k]
				pages := mul(big.NewRat(int64(laid.Sum)*100, 255), big.NewRat(1, int64(laid.Pixels)), decimal.NewFromFloat(laid.AreaMM2).Rat(), big.NewRat(1, 5), new(big.Rat).Inv(decimal.NewFromFloat(c.PageAreaMM2).Rat()))
				each := mul(pages, c.Price.Rat(), c.Correction.Rat(), big.NewRat(1, c.YieldPages))
				toners[k] = sum(toners[k], mul(each, big.NewRat(int64(p.Quantity+p.Extra), 1)))
				toner = sum(toner, each)
			}
			add := func(l Line, v *big.Rat) { want[l] = sum(want[l], v) }
			add(MediaLine, sum(mul(in.MediaSheet.rat(), s), mul(in.Supply.Sheet.rat(), s), mul(in.Supply.Piece.rat(), n), mul(in.Supply.Order.rat(), p.Share.rat())))
			add(WearLine, mul(in.WearSheet.rat(), s))
			add(CoverLine, sum(mul(in.Cover.Sheet.rat(), s), mul(in.Cover.Piece.rat(), n), mul(in.Cover.Order.rat(), p.Share.rat())))
			add(LabourLine, sum(mul(in.Seconds.Sheet.rat(), hour, s), mul(in.Seconds.Piece.rat(), hour, n), mul(in.Seconds.Order.rat(), hour, p.Share.rat())))
			add(CuttingLine, mul(in.CutSeconds.rat(), hour, n))
			add(MachineLine, sum(mul(in.Machine.Sheet.rat(), s), mul(in.Machine.Piece.rat(), n), mul(in.Machine.Order.rat(), p.Share.rat())))
			add(SetupLine, mul(p.SetUp.rat(), hour))
			lost := mul(n, sum(toner, in.Supply.Piece.rat(), in.Cover.Piece.rat(), mul(in.Seconds.Piece.rat(), hour), mul(in.CutSeconds.rat(), hour), in.Machine.Piece.rat()))
			if p.Spares == 0 {
				lost = sum(lost, mul(s, sum(in.Supply.Sheet.rat(), in.MediaSheet.rat(), in.WearSheet.rat(), in.Cover.Sheet.rat(), mul(in.Seconds.Sheet.rat(), hour), in.Machine.Sheet.rat())))
			}
			add(SpoilageLine, mul(lost, part))
		}
		want[SpoilageLine] = sum(want[SpoilageLine], mul(part, sum(g.Blanks.rat(), mul(g.PackSeconds.rat(), hour, q)))) // once a piece
		got, err := g.Cost()
		if err != nil {
			t.Fatal(err)
		}
		text := func(v *big.Rat) string { // half away from zero, digit by digit
			up := sum(mul(v, big.NewRat(10000, 1)), big.NewRat(1, 2))
			return decimal.NewFromBigInt(new(big.Int).Div(up.Num(), up.Denom()), -4).StringFixed(4)
		}
		total, toner := decimal.Decimal{}, decimal.Decimal{}
		for _, v := range toners {
			toner = toner.Add(d(text(v)))
		}
		for l := range want {
			w := text(want[l])
			switch Line(l) {
			case TonerLine:
				w = toner.StringFixed(4)
			case OverheadLine:
				w = text(mul(total.Rat(), base.OverheadPercent.Rat(), big.NewRat(1, 100)))
			}
			total = total.Add(d(w))
			if got.Line[l].StringFixed(4) != w {
				t.Errorf("%s: %s, want %s", LineNames[l], got.Line[l].StringFixed(4), w)
			}
		}
		if !got.Total.Equal(total) {
			t.Errorf("total %s, want %s", got.Total, total)
		}
	}
}

func TestGoodsRefuse(t *testing.T) {
	in := some()
	for want, g := range map[string]Goods{
		"at least one piece": {Prints: []Printing{{Inputs: in, Quantity: 1}}},
		"at least one print": {Quantity: 1},
		"quantity must be":   {Quantity: 1, Prints: []Printing{{Inputs: in}}},
		"must not be below":  {Quantity: 1, Blanks: Whole(-1), Prints: []Printing{{Inputs: in, Quantity: 1}}},
		"spoilage must be":   {Quantity: 1, Prints: []Printing{{Inputs: Inputs{SpoilagePercent: d("100")}, Quantity: 1}}},
	} {
		if _, err := g.Cost(); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%v, want %q", err, want)
		}
	}
}

// TestBill works bills out by hand.
func TestBill(t *testing.T) {
	cents, err := ParseRounding("", "", 2)
	if err != nil {
		t.Fatal(err)
	}
	ninetyFive, err := ParseRounding(".95", "", 2)
	if err != nil {
		t.Fatal(err)
	}
	tees := Sale{Cost: Cost{Quantity: 10, Total: d("60")}, Together: 14, Prints: 2, Sizes: []Sized{{8, d("0")}, {2, d("1.50")}}, TaxPercent: d("20")}
	bibs := Sale{Cost: Cost{Quantity: 4, Total: d("20")}, Together: 14, Prints: 1, Sizes: []Sized{{4, d("0")}}, TaxPercent: d("0")}
	extras := Extras{DiscountPercent: d("10"), RushPercent: d("25"), Charges: []Charge{{"design", d("30")}, {"delivery", d("6.40")}}, DepositPercent: d("50")}
	for _, c := range []struct {
		name    string
		pricing Pricing
		sales   []Sale
		extras  Extras
		want    string // each; goods; lift, discount, rush; total; taxes; net, with tax; deposit; margin
	}{
		{"net", Pricing{MarginPercent: d("50"), TaxPercent: d("20"), Round: cents}, []Sale{tees}, Extras{},
			// 60 ÷ 10 ÷ 0.5 = 12; 8 × 12 + 2 × 13.50 = 123; margin (123 − 60) ÷ 123
			"[12 13.5] [123] 0 0 0 123 20%:123+24.6 123 147.6 0 51.22"},
		{"gross", Pricing{MarginPercent: d("50"), TaxPercent: d("20"), Round: ninetyFive, Gross: true}, []Sale{tees}, Extras{},
			// 12 × 1.2 = 14.40, up to 14.95; 8 × 14.95 + 2 × 16.45 = 152.50, tax 152.50 ÷ 6
			"[14.95 16.45] [152.5] 0 0 0 152.5 20%:127.08+25.42 127.08 152.5 0 52.79"},
		{"rates", Pricing{Rates: []Rate{{1, d("9"), d("5")}, {12, d("7"), d("4")}}, TaxPercent: d("20"), Round: cents}, []Sale{tees}, Extras{},
			// 14 print together: 7 + 4
			"[11 12.5] [113] 0 0 0 113 20%:113+22.6 113 135.6 0 46.9"},
		{"minimum", Pricing{MarginPercent: d("50"), MinimumOrder: d("150"), TaxPercent: d("20"), Round: cents}, []Sale{tees}, Extras{},
			"[12 13.5] [123] 27 0 0 150 20%:150+30 150 180 0 60"},
		{"minimum after a discount", Pricing{MarginPercent: d("50"), MinimumOrder: d("150"), TaxPercent: d("20"), Round: cents}, []Sale{tees}, Extras{DiscountPercent: d("10")},
			"[12 13.5] [123] 39.3 12.3 0 150 20%:150+30 150 180 0 60"},
		{"all of it", Pricing{MarginPercent: d("50"), TaxPercent: d("20"), Round: cents}, []Sale{tees, bibs}, extras,
			// 123 + 40 = 163; 16.30 off, 146.70; a quarter more is 36.68 (36.675), 183.38.
			// Tees bear 183.38 × 123 ÷ 163 = 138.38, bibs 45.00; 36.40 charged at 20 %.
			// Taxes: 0 of 45.00; 20 % of 174.78 = 34.96 (34.956)
			"[12 13.5] [10] [123 40] 0 16.3 36.68 219.78 0%:45+0 20%:174.78+34.96 219.78 254.74 127.37 56.37"},
	} {
		b, err := c.pricing.Bill(c.sales, c.extras, sumCost(c.sales))
		if err != nil {
			t.Errorf("%s: %v", c.name, err)
			continue
		}
		got := ""
		for _, v := range b.Each {
			got += fmt.Sprint(v, " ")
		}
		got += fmt.Sprint(b.Goods, " ", b.Lift, " ", b.Discount, " ", b.Rush, " ", b.Total, " ")
		for _, v := range b.Taxes {
			got += fmt.Sprintf("%s%%:%s+%s ", v.Percent, v.On, v.Amount)
		}
		got += fmt.Sprint(b.Net, " ", b.WithTax, " ", b.Deposit, " ", b.MarginPercent)
		if got != c.want {
			t.Errorf("%s:\n%s, want\n%s", c.name, got, c.want)
		}
	}
	if _, err := (Pricing{}).Bill(nil, Extras{}, d("0")); err == nil {
		t.Error("an order without goods has a bill")
	}
	if _, err := (Pricing{Round: cents}).Bill([]Sale{tees}, Extras{Charges: []Charge{{"design", d("-1")}}}, d("0")); err == nil || !strings.Contains(err.Error(), "design") {
		t.Errorf("a charge below 0: %v", err)
	}
}

func sumCost(sales []Sale) (sum decimal.Decimal) {
	for _, s := range sales {
		sum = sum.Add(s.Cost.Total)
	}
	return sum
}

// TestBillAddsUp looks at random bills: what is shown adds up, whatever the rates.
func TestBillAddsUp(t *testing.T) {
	rng := rand.New(rand.NewPCG(9, 1))
	amount := func(most int64) decimal.Decimal { return decimal.New(rng.Int64N(most), -2) }
	for i := range 400 {
		p := Pricing{MarginPercent: amount(9000), TaxPercent: amount(3000), Gross: i%2 == 0, MinimumOrder: amount(50000), Round: Rounding{Places: int32(rng.IntN(4)), HalfEven: i%3 == 0}}
		var sales []Sale
		for range 1 + rng.IntN(5) {
			n := 1 + rng.IntN(50)
			sales = append(sales, Sale{Cost: Cost{Quantity: n, Total: amount(90000)}, Together: n, Prints: 1, Sizes: []Sized{{n, amount(3)}}, TaxPercent: []decimal.Decimal{p.TaxPercent, d("0"), d("7")}[rng.IntN(3)]})
		}
		b, err := p.Bill(sales, Extras{DiscountPercent: amount(5000), RushPercent: amount(5000), DepositPercent: amount(10000), Charges: []Charge{{"delivery", decimal.New(rng.Int64N(3000), -p.Round.Places)}}}, sumCost(sales))
		if err != nil {
			t.Fatal(err)
		}
		sum, taxes, on := b.Sum.Add(b.Lift).Sub(b.Discount).Add(b.Rush).Add(b.Charges[0].Amount), decimal.Decimal{}, decimal.Decimal{}
		for _, r := range b.Taxes {
			taxes, on = taxes.Add(r.Amount), on.Add(r.On)
			if !r.Amount.Equal(r.Amount.Round(p.Round.Places)) {
				t.Errorf("a tax of %s in a currency with %d places", r.Amount, p.Round.Places)
			}
		}
		total := b.Net
		if p.Gross {
			total = b.WithTax
		}
		if !sum.Equal(b.Total) || !total.Equal(b.Total) || !on.Equal(b.Net) || !b.Net.Add(taxes).Equal(b.WithTax) {
			t.Errorf("gross %t: lines %s, total %s; net %s (%s), taxes %s, with tax %s", p.Gross, sum, b.Total, b.Net, on, taxes, b.WithTax)
		}
	}
}

// TestGross: prices with the tax in them.
func TestGross(t *testing.T) {
	r, err := ParseRounding(".95", "", 2)
	if err != nil {
		t.Fatal(err)
	}
	p := Pricing{MarginPercent: d("50"), TaxPercent: d("19"), Round: r, Gross: true}
	// 10 ÷ 0.5 × 1.19 = 23.80, up to 23.95; tax 23.95 × 19 ÷ 119 = 3.82; margin (20.13 − 10) ÷ 20.13
	v := p.Price(Cost{Quantity: 1, Total: d("10")})
	if got := fmt.Sprint(v.Each, v.Total, v.Net, v.Tax, v.WithTax, v.MarginPercent); got != "23.95 23.95 20.13 3.82 23.95 50.32" {
		t.Error(got)
	}
	if got := p.NetEach(d("23.80")); !got.Equal(d("20")) {
		t.Errorf("23.80 with 19 %% is %s without", got)
	}
}
