package price

import (
	"errors"
	"fmt"
	"slices"
	"strings"

	"github.com/shopspring/decimal"

	"laydown/coverage/plate"
)

// Line is one line of what an order costs.
type Line int

// The lines of cost, in the order in which they are shown.
const (
	TonerLine Line = iota
	MediaLine
	WearLine    // drums, belts and other parts that wear out
	CoverLine   // cover sheets and pads of the heat press
	BlankLine   // the item itself
	LabourLine  // for every sheet and piece
	CuttingLine // by hand, where the media does not weed itself
	MachineLine // hours of printer and heat press
	SetupLine   // once an order
	SpoilageLine
	OverheadLine
	Lines
)

// LineNames are the lines' names, by index.
var LineNames = [Lines]string{"toner", "media", "wear", "cover", "blank", "labour", "cutting", "machine", "setup", "spoilage", "overhead"}

// Per is an amount or a time by what it is counted by: once an order, for every transfer
// sheet (both of a pair) and for every piece.
type Per struct{ Order, Sheet, Piece Exact }

// Plus is the sum of two.
func (p Per) Plus(v Per) Per {
	return Per{p.Order.Plus(v.Order), p.Sheet.Plus(v.Sheet), p.Piece.Plus(v.Piece)}
}

// Times is p so many times.
func (p Per) Times(v Exact) Per {
	return Per{p.Order.Times(v), p.Sheet.Times(v), p.Piece.Times(v)}
}

// Inputs are what an order's cost is worked out from. Amounts are in the shop's currency.
type Inputs struct {
	Cartridges [plate.Count]Cartridge
	Laid       [plate.Count]Laid // by one print
	Copies     int               // prints on a sheet

	MediaSheet Exact
	Supply     Per // what the recipe uses up beside it, such as foil; a part of the media's line
	WearSheet  Exact
	Cover      Per
	BlankPiece decimal.Decimal
	Machine    Per // printer and heat press

	LabourHour   decimal.Decimal
	Seconds      Per             // a person's, but for set-up
	CutSeconds   Exact           // a piece: cutting it out by hand
	SetupSeconds decimal.Decimal // once an order

	SpoilagePercent decimal.Decimal // of pieces that are lost: below 100
	OverheadPercent decimal.Decimal // on everything else
}

// check returns an error that says which figure makes no sense.
func (in Inputs) check() error {
	type figure struct {
		name string
		v    Exact
	}
	per := func(name string, p Per) []figure {
		return []figure{{name + " an order", p.Order}, {name + " a sheet", p.Sheet}, {name + " a piece", p.Piece}}
	}
	for _, f := range slices.Concat([]figure{{"the media's price", in.MediaSheet}, {"wear", in.WearSheet}, {"the blank's price", Of(in.BlankPiece)},
		{"the hourly rate", Of(in.LabourHour)}, {"time to cut a piece out", in.CutSeconds}, {"set-up time", Of(in.SetupSeconds)},
		{"overhead", Of(in.OverheadPercent)}, {"spoilage", Of(in.SpoilagePercent)}},
		per("the cover sheet's price", in.Cover), per("the price of supplies", in.Supply), per("machine hours", in.Machine), per("time", in.Seconds)) {
		if f.v.Sign() < 0 {
			return fmt.Errorf("%s must not be negative", f.name)
		}
	}
	if in.SpoilagePercent.GreaterThanOrEqual(hundred) {
		return errors.New("spoilage must be below 100 %")
	}
	if in.Copies <= 0 {
		return errors.New("no print fits the sheet")
	}
	return nil
}

var (
	hundred  = decimal.NewFromInt(100)
	anHour   = Whole(3600)
	division = int32(16) // places of a quotient before it is rounded
)

// PercentPlaces are the decimal places of a margin.
const PercentPlaces = 2

// Cost is what a quantity costs, line by line. Every line is rounded once, to [Places],
// half away from zero, and Total is their sum.
type Cost struct {
	Quantity int
	Spares   int // pieces printed beyond the quantity, for those that will be lost
	Sheets   int // that the quantity and its spares are on
	Spare    int // places on the last sheet that stay empty
	Toner    Toner
	Line     [Lines]decimal.Decimal
	Total    decimal.Decimal
}

// Cost works out what a quantity of pieces costs. Of all pieces made, s percent are lost,
// so s ÷ (100 − s) of the quantity are made beyond it; as many of them as make whole
// pieces, rounded to the nearest, half up, are spares that the sheets have room for. All
// sheets are paid as such; spoilage is what else lost pieces take with them, and their
// share of the sheets as well where they are too few for a spare. Set-up is not lost. The
// error says which figure makes no sense.
func (in Inputs) Cost(quantity int) (Cost, error) {
	if quantity <= 0 {
		return Cost{Quantity: quantity}, errors.New("a quantity must be above 0")
	}
	r, err := in.reckon()
	if err != nil {
		return Cost{Quantity: quantity}, err
	}
	return r.cost(quantity), nil
}

// Breakdown is amounts by line, and their sum.
type Breakdown struct {
	Line  [Lines]decimal.Decimal
	Total decimal.Decimal
}

// MarshalJSON writes the amounts by the lines' names, then their total, as text of
// [Places] decimals.
func (b Breakdown) MarshalJSON() ([]byte, error) {
	return amounts(LineNames[:], b.Line[:], b.Total), nil
}

// All is the cost of the whole quantity by line.
func (c Cost) All() Breakdown { return Breakdown{c.Line, c.Total} }

// Each is the cost of one piece: toner by plate, and by line, rounded to [Places];
// totals are the sums of what is shown.
func (c Cost) Each() (toner Toner, each Breakdown) {
	n := decimal.NewFromInt(int64(c.Quantity))
	for k, v := range c.Toner.Plate {
		toner.Plate[k] = v.DivRound(n, Places)
		toner.Total = toner.Total.Add(toner.Plate[k])
	}
	for l, v := range c.Line {
		each.Line[l] = v.DivRound(n, Places)
		if Line(l) == TonerLine {
			each.Line[l] = toner.Total
		}
		each.Total = each.Total.Add(each.Line[l])
	}
	return toner, each
}

// Rate is an entry of a rate card: from a quantity on, so much each, and so much for each
// further print on the same piece.
type Rate struct {
	From          int
	Each, Further decimal.Decimal
}

// Pricing turns cost into a price: by a margin, a markup or a rate card, of which
// one is set.
type Pricing struct {
	MarginPercent decimal.Decimal // of the price; below 100
	MarkupPercent decimal.Decimal // on the cost
	Rates         []Rate          // rising quantities, the first from 1

	MinimumOrder decimal.Decimal
	Round        Rounding
	TaxPercent   decimal.Decimal
	// Gross says that all prices are with the tax, those of the rate card and the minimum
	// too; else they are without.
	Gross bool
	// NeverLess says that no quantity may cost less in all than a smaller one.
	NeverLess bool
}

// Price is what a quantity is sold at.
type Price struct {
	Each decimal.Decimal
	// Lift is what is added so that the quantity does not cost less than a smaller one.
	Lift  decimal.Decimal
	Total decimal.Decimal // Each × quantity + Lift
	// Net is Total without the tax, WithTax with it; one of them is Total.
	Net, Tax, WithTax decimal.Decimal
	// MarginPercent is what is left of Net above its cost, in percent of Net.
	MarginPercent decimal.Decimal
}

// rate is the entry of the rate card for a quantity.
func (p Pricing) rate(quantity int) Rate {
	at := p.Rates[0]
	for _, r := range p.Rates {
		if quantity >= r.From {
			at = r
		}
	}
	return at
}

// each is the price before rounding and minimum.
func (p Pricing) each(c Cost) decimal.Decimal {
	if len(p.Rates) > 0 {
		return p.rate(c.Quantity).Each
	}
	each := c.Total.DivRound(decimal.NewFromInt(int64(c.Quantity)), division)
	if p.MarkupPercent.IsPositive() {
		each = each.Mul(hundred.Add(p.MarkupPercent)).DivRound(hundred, division)
	} else {
		each = each.Mul(hundred).DivRound(hundred.Sub(p.MarginPercent), division)
	}
	if p.Gross {
		each = each.Mul(hundred.Add(p.TaxPercent)).DivRound(hundred, division)
	}
	return each
}

// NetEach is a price each without the tax, not rounded.
func (p Pricing) NetEach(each decimal.Decimal) decimal.Decimal {
	if !p.Gross {
		return each
	}
	return each.Mul(hundred).DivRound(hundred.Add(p.TaxPercent), division)
}

// taxed splits an amount, as prices are named, into what it is without the tax, that and
// the sum of both; the tax is rounded to the currency's smallest amount.
func (p Pricing) taxed(v, percent decimal.Decimal) (net, tax, gross decimal.Decimal) {
	if p.Gross {
		tax = p.Round.minor(v.Mul(percent).DivRound(hundred.Add(percent), division))
		return v.Sub(tax), tax, v
	}
	tax = p.Round.minor(v.Mul(percent).DivRound(hundred, division))
	return v, tax, v.Add(tax)
}

// margin is what is left of a price without tax above its cost, in percent of it.
func margin(net, cost decimal.Decimal) decimal.Decimal {
	if !net.IsPositive() {
		return decimal.Decimal{}
	}
	return net.Sub(cost).Mul(hundred).DivRound(net, PercentPlaces)
}

// Price works out the price of a quantity that costs c, for itself alone: see [Seller].
func (p Pricing) Price(c Cost) Price {
	n := decimal.NewFromInt(int64(c.Quantity))
	each := p.each(c)
	if len(p.Rates) == 0 { // a rate card says what it says
		each = p.Round.up(each)
	}
	if each.Mul(n).LessThan(p.MinimumOrder) {
		each = p.Round.up(p.MinimumOrder.DivRound(n, division))
	}
	return p.sell(c, Price{Each: each, Total: each.Mul(n)})
}

// sell works out what follows from a total.
func (p Pricing) sell(c Cost, v Price) Price {
	v.Net, v.Tax, v.WithTax = p.taxed(v.Total, p.TaxPercent)
	v.MarginPercent = margin(v.Net, c.Total)
	return v
}

// Seller prices quantities of one order. It is not safe for concurrent use.
type Seller struct {
	order   *reckoner
	pricing Pricing
	highest []decimal.Decimal // total of 1 up to 1, 2, … pieces, unlifted
}

// Seller returns the seller of an order. The error says which figure makes no sense.
func (in Inputs) Seller(p Pricing) (*Seller, error) {
	r, err := in.reckon()
	return &Seller{order: r, pricing: p}, err
}

// Sell works out what a quantity, above 0, costs and sells for.
func (s *Seller) Sell(quantity int) (Cost, Price) {
	c := s.order.cost(quantity)
	v := s.pricing.Price(c)
	if !s.pricing.NeverLess {
		return c, v
	}
	for n := len(s.highest) + 1; n <= quantity; n++ {
		top := s.pricing.Price(s.order.cost(n)).Total
		if n > 1 {
			top = decimal.Max(top, s.highest[n-2])
		}
		s.highest = append(s.highest, top)
	}
	if top := s.highest[quantity-1]; top.GreaterThan(v.Total) {
		v.Lift, v.Total = top.Sub(v.Total), top
		v = s.pricing.sell(c, v)
	}
	return c, v
}

// Step is another quantity and what it sells for.
type Step struct {
	Quantity int
	Price    Price
}

// mostStep bounds how far beyond a quantity steps are looked for.
const mostStep = 500

// Steps are what a customer who asks for a quantity would want to know of larger ones, up
// to about twice it or 500 beyond: the one that costs least in all, if that is less; the first that costs
// more each; and the next step down in price, which is that of the rate card or the
// quantity that fills the sheets. A Quantity of 0 is none.
func (s *Seller) Steps(quantity int) (less, dearer, next Step) {
	c, v := s.Sell(quantity)
	best := v.Total
	for n := quantity + 1; n <= quantity+min(max(quantity, int(s.order.copies)), mostStep); n++ {
		_, w := s.Sell(n)
		if w.Total.LessThan(best) {
			best, less = w.Total, Step{n, w}
		}
		if dearer.Quantity == 0 && w.Each.GreaterThan(v.Each) {
			dearer = Step{n, w}
		}
	}
	to := 0
	if len(s.pricing.Rates) > 0 {
		for _, r := range s.pricing.Rates {
			if r.From > quantity {
				to = r.From
				break
			}
		}
	} else if c.Spare > 0 {
		// Spares may need some of the free places.
		for to = quantity + c.Spare; to > quantity && s.order.cost(to).Sheets > c.Sheets; to-- {
		}
	}
	if to > quantity {
		if _, w := s.Sell(to); w.Each.LessThan(v.Each) {
			next = Step{to, w}
		}
	}
	return less, dearer, next
}

// BreakEven is the smallest quantity from which on none up to most loses money at a price
// each without tax; 0 says that most itself does.
func (in Inputs) BreakEven(each decimal.Decimal, most int) (int, error) {
	r, err := in.reckon()
	if err != nil {
		return 0, err
	}
	n := min(most, r.surely(each, most))
	for ; n > 0; n-- {
		if each.Mul(decimal.NewFromInt(int64(n))).LessThan(r.cost(n).Total) {
			break
		}
	}
	if n == most {
		return 0, nil
	}
	return n + 1, nil
}

// Flat is the order as a shop would reckon it that takes every page for one of
// percent coverage: each plate that the process uses lays down so much of the
// print's box.
func (in Inputs) Flat(percent int, uses [plate.Count]bool) Inputs {
	for k := range in.Laid {
		in.Laid[k].Sum, in.Laid[k].Pixels = 0, 100
		if uses[k] {
			in.Laid[k].Sum = uint64(255 * percent)
		}
	}
	return in
}

// Rounding is how prices are rounded: always up, to a multiple of a step or to an
// ending such as .95; and how amounts that follow from them are rounded to the currency's
// smallest amount.
type Rounding struct {
	Places int32           // of the currency, as [CurrencyPlaces] has them
	Step   decimal.Decimal // 0 for the smallest amount
	Ending decimal.Decimal // below 1; used if HasEnding
	// HasEnding says that prices end in Ending.
	HasEnding bool
	HalfEven  bool // a half of the smallest amount goes to the even neighbour, else away from zero
}

// ParseRounding reads a rule as a shop writes it: "" for the smallest amount of a currency
// with so many places, "0.05" or "1" for a multiple, ".95" for an ending; and the mode
// "half-up" or "half-even".
func ParseRounding(rule, mode string, places int32) (r Rounding, err error) {
	r.Places = places
	switch mode {
	case "", "half-up":
	case "half-even":
		r.HalfEven = true
	default:
		return r, fmt.Errorf("rounding %q: choose half-up or half-even", mode)
	}
	if rule == "" {
		return r, nil
	}
	bad := fmt.Errorf("round_to %q: write a step such as 0.05 or 1, or an ending such as .95, with at most %d decimal places", rule, places)
	if len(rule) > 12 || strings.ContainsAny(rule, "eE") { // 1e999999999 has a thousand million digits
		return r, bad
	}
	v, err := decimal.NewFromString(rule)
	if err != nil || v.IsNegative() || !v.Equal(v.Round(places)) {
		return r, bad
	}
	if strings.HasPrefix(rule, ".") {
		r.Ending, r.HasEnding = v, true
		return r, nil
	}
	if !v.IsPositive() {
		return r, bad
	}
	r.Step = v
	return r, nil
}

// up is the least amount that the rule allows and that is not below v.
func (r Rounding) up(v decimal.Decimal) decimal.Decimal {
	if r.HasEnding {
		out := v.Floor().Add(r.Ending)
		if out.LessThan(v) {
			out = out.Add(decimal.NewFromInt(1))
		}
		return out
	}
	step := decimal.New(1, -r.Places)
	if r.Step.IsPositive() {
		step = r.Step
	}
	return v.DivRound(step, division).Ceil().Mul(step)
}

// minor rounds an amount to the currency's smallest one.
func (r Rounding) minor(v decimal.Decimal) decimal.Decimal {
	if r.HalfEven {
		return v.RoundBank(r.Places)
	}
	return v.Round(r.Places)
}

// PerTransfer is the price of one transfer from a pack of sheets, of which one or two
// make a transfer.
func PerTransfer(pack decimal.Decimal, sheets, perTransfer int) Exact {
	return Of(pack).Times(Whole(int64(perTransfer))).Over(Whole(int64(sheets)))
}

// PerUse is the price of one use of what lasts so many.
func PerUse(price decimal.Decimal, uses int) Exact { return Of(price).Over(Whole(int64(uses))) }

// PerHour is what some seconds cost at a rate by the hour.
func PerHour(rate decimal.Decimal, seconds Exact) Exact { return Of(rate).Times(seconds).Over(anHour) }
