package price

import (
	"errors"
	"fmt"
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

// Inputs are what an order's cost is worked out from. Amounts are in the shop's
// currency; money that is counted by the sheet is for one transfer sheet, both of a
// pair.
type Inputs struct {
	Cartridges [plate.Count]Cartridge
	Laid       [plate.Count]Laid // by one print
	Copies     int               // prints on a sheet

	MediaSheet   decimal.Decimal
	WearSheet    decimal.Decimal
	CoverPiece   decimal.Decimal
	BlankPiece   decimal.Decimal
	MachineSheet decimal.Decimal
	MachinePiece decimal.Decimal

	LabourHour   decimal.Decimal
	SheetSeconds decimal.Decimal
	PieceSeconds decimal.Decimal
	CutSeconds   decimal.Decimal // a piece: cutting it out by hand
	SetupSeconds decimal.Decimal // once an order

	SpoilagePercent decimal.Decimal // of pieces that are lost: below 100
	OverheadPercent decimal.Decimal // on everything else
}

// check returns an error that says which figure makes no sense.
func (in Inputs) check() error {
	for _, v := range []struct {
		name   string
		amount decimal.Decimal
	}{{"the media's price", in.MediaSheet}, {"wear", in.WearSheet}, {"the cover sheet's price", in.CoverPiece}, {"the blank's price", in.BlankPiece},
		{"machine hours", in.MachineSheet}, {"heat press hours", in.MachinePiece}, {"the hourly rate", in.LabourHour}, {"time a sheet", in.SheetSeconds},
		{"time a piece", in.PieceSeconds}, {"time to cut a piece out", in.CutSeconds}, {"set-up time", in.SetupSeconds}, {"overhead", in.OverheadPercent}, {"spoilage", in.SpoilagePercent}} {
		if v.amount.IsNegative() {
			return fmt.Errorf("%s must not be negative", v.name)
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
	anHour   = decimal.NewFromInt(3600)
	oneCent  = decimal.New(1, -Cents)
	division = int32(16) // places of a quotient before it is rounded
)

// Cents are the decimal places of prices.
const Cents = 2

// Cost is what a quantity costs, line by line. Every line is rounded to [Places],
// half away from zero, and Total is their sum.
type Cost struct {
	Quantity, Sheets, Spare int // Spare places on the last sheet stay empty
	Toner                   Toner
	Line                    [Lines]decimal.Decimal
	Total                   decimal.Decimal
}

// Cost works out what a quantity of pieces costs. Spoilage is what must be made
// beyond the quantity so that enough are good, s ÷ (100 − s) of everything that a
// lost piece takes with it; set-up is not lost. The error says which figure makes
// no sense.
func (in Inputs) Cost(quantity int) (Cost, error) {
	c := Cost{Quantity: quantity}
	if quantity <= 0 {
		return c, errors.New("a quantity must be above 0")
	}
	if err := in.check(); err != nil {
		return c, err
	}
	var err error
	if c.Toner, err = TonerCost(in.Cartridges, in.Laid, quantity); err != nil {
		return c, err
	}
	c.Sheets = (quantity + in.Copies - 1) / in.Copies
	c.Spare = c.Sheets*in.Copies - quantity
	n, sheets := decimal.NewFromInt(int64(quantity)), decimal.NewFromInt(int64(c.Sheets))
	hours := func(seconds decimal.Decimal) decimal.Decimal {
		return seconds.Mul(in.LabourHour).DivRound(anHour, division)
	}
	c.Line[TonerLine] = c.Toner.Total
	c.Line[MediaLine] = sheets.Mul(in.MediaSheet)
	c.Line[WearLine] = sheets.Mul(in.WearSheet)
	c.Line[CoverLine] = n.Mul(in.CoverPiece)
	c.Line[BlankLine] = n.Mul(in.BlankPiece)
	c.Line[LabourLine] = hours(sheets.Mul(in.SheetSeconds).Add(n.Mul(in.PieceSeconds)))
	c.Line[CuttingLine] = hours(n.Mul(in.CutSeconds))
	c.Line[MachineLine] = sheets.Mul(in.MachineSheet).Add(n.Mul(in.MachinePiece))
	lost := decimal.Zero
	for l := TonerLine; l <= MachineLine; l++ {
		c.Line[l] = c.Line[l].Round(Places)
		lost = lost.Add(c.Line[l])
	}
	c.Line[SetupLine] = hours(in.SetupSeconds).Round(Places)
	c.Line[SpoilageLine] = lost.Mul(in.SpoilagePercent).DivRound(hundred.Sub(in.SpoilagePercent), division).Round(Places)
	all := lost.Add(c.Line[SetupLine]).Add(c.Line[SpoilageLine])
	c.Line[OverheadLine] = all.Mul(in.OverheadPercent).DivRound(hundred, division).Round(Places)
	c.Total = all.Add(c.Line[OverheadLine])
	return c, nil
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

// Rate is an entry of a rate card: from a quantity on, so much each.
type Rate struct {
	From int
	Each decimal.Decimal
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
}

// Price is what a quantity is sold at.
type Price struct {
	Each  decimal.Decimal
	Total decimal.Decimal // Each × quantity
	// MarginPercent is what is left of Total above its cost, in percent of Total.
	MarginPercent decimal.Decimal
	Tax, WithTax  decimal.Decimal
}

// each is the price before rounding and minimum.
func (p Pricing) each(c Cost) decimal.Decimal {
	if len(p.Rates) > 0 {
		each := p.Rates[0].Each
		for _, r := range p.Rates {
			if c.Quantity >= r.From {
				each = r.Each
			}
		}
		return each
	}
	cost := c.Total.DivRound(decimal.NewFromInt(int64(c.Quantity)), division)
	if p.MarkupPercent.IsPositive() {
		return cost.Mul(hundred.Add(p.MarkupPercent)).DivRound(hundred, division)
	}
	return cost.Mul(hundred).DivRound(hundred.Sub(p.MarginPercent), division)
}

// Price works out the price of a quantity that costs c.
func (p Pricing) Price(c Cost) Price {
	n := decimal.NewFromInt(int64(c.Quantity))
	each := p.each(c)
	if len(p.Rates) == 0 { // a rate card says what it says
		each = p.Round.up(each)
	}
	if each.Mul(n).LessThan(p.MinimumOrder) {
		each = p.Round.up(p.MinimumOrder.DivRound(n, division))
	}
	v := Price{Each: each, Total: each.Mul(n)}
	if v.Total.IsPositive() {
		v.MarginPercent = v.Total.Sub(c.Total).Mul(hundred).DivRound(v.Total, Cents)
	}
	v.Tax = p.Round.cents(v.Total.Mul(p.TaxPercent).DivRound(hundred, division))
	v.WithTax = v.Total.Add(v.Tax)
	return v
}

// BreakEven is the smallest quantity, up to most, that does not lose money at a
// price each; 0 says that none does.
func (in Inputs) BreakEven(each decimal.Decimal, most int) (int, error) {
	for n := 1; n <= most; n++ {
		c, err := in.Cost(n)
		if err != nil {
			return 0, err
		}
		if each.Mul(decimal.NewFromInt(int64(n))).GreaterThanOrEqual(c.Total) {
			return n, nil
		}
	}
	return 0, nil
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
// ending such as .95; and how amounts that follow from them are rounded to cents.
type Rounding struct {
	Step   decimal.Decimal // 0 for cents
	Ending decimal.Decimal // below 1; used if HasEnding
	// HasEnding says that prices end in Ending.
	HasEnding bool
	HalfEven  bool // cents: a half goes to the even neighbour, else away from zero
}

// ParseRounding reads a rule as a shop writes it: "" or "0.01" for cents, "0.05" or
// "1" for a multiple, ".95" for an ending; and the mode "half-up" or "half-even".
func ParseRounding(rule, mode string) (r Rounding, err error) {
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
	bad := fmt.Errorf("round_to %q: write a step such as 0.05 or 1, or an ending such as .95", rule)
	if len(rule) > 12 || strings.ContainsAny(rule, "eE") { // 1e999999999 has a thousand million digits
		return r, bad
	}
	v, err := decimal.NewFromString(rule)
	if err != nil || v.IsNegative() || !v.Equal(v.Round(Cents)) {
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
	step := oneCent
	if r.Step.IsPositive() {
		step = r.Step
	}
	return v.DivRound(step, division).Ceil().Mul(step)
}

// cents rounds an amount to [Cents].
func (r Rounding) cents(v decimal.Decimal) decimal.Decimal {
	if r.HalfEven {
		return v.RoundBank(Cents)
	}
	return v.Round(Cents)
}

// PerTransfer is the price of one transfer from a pack of sheets, of which one or two
// make a transfer.
func PerTransfer(pack decimal.Decimal, sheets, perTransfer int) decimal.Decimal {
	return pack.Mul(decimal.NewFromInt(int64(perTransfer))).DivRound(decimal.NewFromInt(int64(sheets)), division)
}

// PerUse is the price of one use of what lasts so many.
func PerUse(price decimal.Decimal, uses int) decimal.Decimal {
	return price.DivRound(decimal.NewFromInt(int64(uses)), division)
}
