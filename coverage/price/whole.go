package price

import (
	"errors"
	"fmt"
	"slices"

	"github.com/shopspring/decimal"

	"laydown/coverage/plate"
)

// Printing is a print of an order that has several, made so many times.
type Printing struct {
	// Inputs are the figures of one print; Copies, BlankPiece and SetupSeconds are passed over.
	Inputs
	Quantity int
	Spares   int // printed beyond it
	Extra    int // laid down beyond both, where a shared layout has more than is wanted
	// Sheets is how many sheets both take: of those that are shared, their part by area.
	Sheets Exact
	// SetUp are seconds of the file's check and of set-up that fall on it, and Share is its
	// part of what Inputs has once an order, 0–1, which is done once for all that prints
	// together.
	SetUp, Share Exact
}

// Goods is a line of an order: pieces of one item, with the same prints on each.
type Goods struct {
	Quantity    int
	Blanks      Exact // all of them
	PackSeconds Exact // a piece
	Prints      []Printing
}

// Cost is what the goods cost, as [Inputs.Cost] has it for pieces with one print; for those
// it is the same. A piece that is spoilt takes its blank and all of its prints with it; where
// prints are spoilt at different rates, the highest is the piece's. Sheets are not
// counted, for they may be shared. The error says which figure makes no sense.
func (g Goods) Cost() (Cost, error) {
	c := Cost{Quantity: g.Quantity}
	if g.Quantity <= 0 || len(g.Prints) == 0 {
		return c, errors.New("goods are at least one piece with at least one print")
	}
	if g.Blanks.Sign() < 0 || g.PackSeconds.Sign() < 0 {
		return c, errors.New("blanks and packing must not be below 0")
	}
	var toner [plate.Count]Exact
	var line [Lines]Exact
	var spoilt Exact
	var highest decimal.Decimal // of the prints' spoilage
	first := g.Prints[0].Inputs
	for _, p := range g.Prints {
		p.Copies, p.BlankPiece = 1, decimal.Decimal{}
		if err := p.check(); err != nil {
			return c, err
		}
		if p.Quantity <= 0 {
			return c, errors.New("a quantity must be above 0")
		}
		byPlate, of, err := p.lines()
		if err != nil {
			return c, err
		}
		n := Whole(int64(p.Quantity))
		for k := range byPlate {
			toner[k] = toner[k].Plus(byPlate[k].Piece.Times(n))
		}
		if p.Extra < 0 {
			return c, errors.New("extra copies must not be below 0")
		}
		extra := of[TonerLine].Piece.Times(Whole(int64(p.Extra)))
		line[TonerLine] = line[TonerLine].Plus(extra)
		for k := range byPlate {
			toner[k] = toner[k].Plus(byPlate[k].Piece.Times(Whole(int64(p.Extra))))
		}
		var lost Exact
		for l := range of {
			if Line(l) == SetupLine {
				continue
			}
			pieces, sheets := of[l].Piece.Times(n), of[l].Sheet.Times(p.Sheets)
			line[l] = line[l].Plus(pieces).Plus(sheets).Plus(of[l].Order.Times(p.Share))
			lost = lost.Plus(pieces)
			if p.Spares == 0 { // else their sheets are among those that are paid
				lost = lost.Plus(sheets)
			}
		}
		line[SetupLine] = line[SetupLine].Plus(PerHour(p.LabourHour, p.SetUp))
		spoilt = spoilt.Plus(lost.Times(beyond(p.SpoilagePercent)))
		if p.SpoilagePercent.GreaterThan(highest) {
			highest = p.SpoilagePercent
		}
		c.Spares += p.Spares
	}
	packing := PerHour(first.LabourHour, g.PackSeconds).Times(Whole(int64(g.Quantity)))
	line[BlankLine] = g.Blanks
	line[LabourLine] = line[LabourLine].Plus(packing)
	spoilt = spoilt.Plus(g.Blanks.Plus(packing).Times(beyond(highest)))
	for k := range toner {
		c.Toner.Plate[k] = toner[k].Round(Places)
		c.Toner.Total = c.Toner.Total.Add(c.Toner.Plate[k])
	}
	line[SpoilageLine] = spoilt
	for l := range line {
		switch Line(l) {
		case TonerLine:
			c.Line[l] = c.Toner.Total
		case OverheadLine:
			c.Line[l] = Of(c.Total.Mul(first.OverheadPercent)).Over(Of(hundred)).Round(Places)
		default:
			c.Line[l] = line[l].Round(Places)
		}
		c.Total = c.Total.Add(c.Line[l])
	}
	return c, nil
}

// Sale is what goods are sold as: so many pieces of each size, of which some cost more.
type Sale struct {
	// Cost is that of the goods, which prices follow from: with every blank at the item's
	// own price.
	Cost Cost
	// Together is how many pieces print together with these, themselves among them: the
	// quantity that a rate card asks for.
	Together int
	Prints   int // on each piece
	Sizes    []Sized
	// TaxPercent is that of the goods.
	TaxPercent decimal.Decimal
}

// Sized is so many pieces of a size, each for so much more.
type Sized struct {
	Quantity int
	Upcharge decimal.Decimal
}

// Extras are what an order adds to and takes off the price of its goods.
type Extras struct {
	DiscountPercent decimal.Decimal // off the goods
	RushPercent     decimal.Decimal // on the goods, after the discount
	Charges         []Charge        // such as for design and delivery
	DepositPercent  decimal.Decimal // of the whole, with the tax
}

// Charge is an amount with a name.
type Charge struct {
	Name   string
	Amount decimal.Decimal
}

// Bill is what a whole order is sold at. Amounts are with the tax where prices are, else
// without it; it is said where that differs.
type Bill struct {
	Each     [][]decimal.Decimal // by sale and size
	Goods    []decimal.Decimal   // by sale: its pieces
	Sum      decimal.Decimal     // of Goods
	Discount decimal.Decimal     // off Sum
	// Lift is what is added so that the goods, after the discount, come to the shop's minimum.
	Lift         decimal.Decimal
	Rush         decimal.Decimal // on what they come to
	Charges      []Charge
	Total        decimal.Decimal
	Taxes        []Tax // by rate, rising
	Net, WithTax decimal.Decimal
	Deposit      decimal.Decimal // of WithTax
	// MarginPercent is what is left of the goods, after discount and rush and without tax,
	// above their cost.
	MarginPercent decimal.Decimal
}

// Tax is what one rate of tax comes to.
type Tax struct {
	Percent, On, Amount decimal.Decimal // On is without the tax
}

// Bill works out what a whole order is sold at, of which cost is what its goods really
// cost. The error says what is missing.
func (p Pricing) Bill(sales []Sale, extras Extras, cost decimal.Decimal) (Bill, error) {
	var b Bill
	minor := p.Round.minor
	if len(sales) == 0 {
		return b, errors.New("an order has at least one line of goods")
	}
	for _, s := range sales {
		base := p.sale(s)
		var each []decimal.Decimal
		var sum decimal.Decimal
		for _, z := range s.Sizes {
			each = append(each, base.Add(z.Upcharge))
			sum = sum.Add(base.Add(z.Upcharge).Mul(decimal.NewFromInt(int64(z.Quantity))))
		}
		b.Each, b.Goods, b.Sum = append(b.Each, each), append(b.Goods, sum), b.Sum.Add(sum)
	}
	b.Discount = minor(b.Sum.Mul(extras.DiscountPercent).DivRound(hundred, division))
	of := b.Sum.Sub(b.Discount)
	if of.LessThan(p.MinimumOrder) {
		b.Lift = p.MinimumOrder.Sub(of)
	}
	of = of.Add(b.Lift)
	b.Rush = minor(of.Mul(extras.RushPercent).DivRound(hundred, division))
	of = of.Add(b.Rush)
	b.Charges, b.Total = extras.Charges, of

	// What is on the goods together is split among them, so that each bears its own tax.
	weights := make([]Exact, len(b.Goods))
	for i, v := range b.Goods {
		weights[i] = Of(v)
	}
	parts := Shares(of, weights, p.Round.Places)
	var rates []Tax
	on := func(percent, v decimal.Decimal) {
		for i := range rates {
			if rates[i].Percent.Equal(percent) {
				rates[i].On = rates[i].On.Add(v)
				return
			}
		}
		rates = append(rates, Tax{Percent: percent, On: v})
	}
	for i, s := range sales {
		on(s.TaxPercent, parts[i])
	}
	goodsNet := decimal.Decimal{}
	for _, r := range rates {
		net, _, _ := p.taxed(r.On, r.Percent)
		goodsNet = goodsNet.Add(net)
	}
	for _, c := range extras.Charges {
		if c.Amount.IsNegative() {
			return b, fmt.Errorf("%s must not be below 0", c.Name)
		}
		b.Total = b.Total.Add(c.Amount)
		on(p.TaxPercent, c.Amount)
	}
	for i := range rates {
		r := &rates[i]
		var gross decimal.Decimal
		r.On, r.Amount, gross = p.taxed(r.On, r.Percent)
		b.Net, b.WithTax = b.Net.Add(r.On), b.WithTax.Add(gross)
	}
	slices.SortStableFunc(rates, func(x, y Tax) int { return x.Percent.Cmp(y.Percent) })
	b.Taxes = rates
	b.Deposit = minor(b.WithTax.Mul(extras.DepositPercent).DivRound(hundred, division))
	b.MarginPercent = margin(goodsNet, cost)
	return b, nil
}

// sale is the price of a piece without what its size adds.
func (p Pricing) sale(s Sale) decimal.Decimal {
	if len(p.Rates) > 0 { // a rate card says what it says
		r := p.rate(s.Together)
		return r.Each.Add(r.Further.Mul(decimal.NewFromInt(int64(s.Prints - 1))))
	}
	taxed := p
	taxed.TaxPercent = s.TaxPercent
	return p.Round.up(taxed.each(s.Cost))
}
