package price

import (
	"math/big"

	"github.com/shopspring/decimal"

	"laydown/coverage/plate"
)

// A reckoner has an order's figures as whole numbers over common denominators, so that the
// exact cost of a quantity takes microseconds: a break-even asks for thousands.
type reckoner struct {
	copies           int64
	toner            [plate.Count]shares // of pieces alone
	line             [Lines]shares
	lost             shares // what spoilage is worked out from
	lostNum, lostDen *big.Int
	overNum, overDen *big.Int
	// fixed and rate bound the cost of n pieces: it is at most fixed + rate × n.
	fixed, rate Exact
}

// shares are the amounts by order, sheet and piece in parts of a ten-thousandth of the
// currency, over one denominator.
type shares struct{ order, sheet, piece, den *big.Int }

func (p Per) shares() shares {
	den := new(big.Int).Set(p.Order.rat().Denom())
	for _, v := range []Exact{p.Sheet, p.Piece} {
		d := v.rat().Denom()
		gcd := new(big.Int).GCD(nil, nil, den, d)
		den.Mul(den, new(big.Int).Quo(d, gcd))
	}
	scale := power(Places)
	over := func(v Exact) *big.Int {
		r := v.rat()
		n := new(big.Int).Quo(den, r.Denom())
		return n.Mul(n, r.Num()).Mul(n, scale)
	}
	return shares{over(p.Order), over(p.Sheet), over(p.Piece), den}
}

// sum is what an order of so many sheets and pieces takes, over the denominator.
func (s shares) sum(sheets, pieces *big.Int) *big.Int {
	v := new(big.Int).Mul(s.sheet, sheets)
	return v.Add(v, new(big.Int).Mul(s.piece, pieces)).Add(v, s.order)
}

// reckon checks the figures and sets them out.
func (in Inputs) reckon() (*reckoner, error) {
	if err := in.check(); err != nil {
		return nil, err
	}
	r := &reckoner{copies: int64(in.Copies)}
	toner, of, err := in.lines()
	if err != nil {
		return nil, err
	}
	for k := range toner {
		r.toner[k] = toner[k].shares()
	}
	var lost Per
	for l, p := range of {
		r.line[l] = p.shares()
		if Line(l) != SetupLine {
			lost = lost.Plus(Per{Sheet: p.Sheet, Piece: p.Piece})
		}
	}
	r.lost = lost.shares()
	part := beyond(in.SpoilagePercent).rat()
	r.lostNum, r.lostDen = part.Num(), part.Denom()
	over := Of(in.OverheadPercent).Over(Of(hundred)).rat()
	r.overNum, r.overDen = over.Num(), over.Denom()

	one, copies := Whole(1), Whole(r.copies)
	made, all := one.Plus(Exact{part}), one.Plus(Exact{over})
	var once Exact
	for _, p := range of {
		once = once.Plus(p.Order)
	}
	// n pieces and their spares are at most n × made + ½, on one sheet more than they fill.
	sheets := made.Over(copies)
	begun := one.Plus(Of(decimal.New(5, -1)).Over(copies))
	r.rate = all.Times(made).Times(lost.Sheet.Times(sheets).Plus(lost.Piece))
	r.fixed = all.Times(once.Plus(made.Times(lost.Sheet).Times(begun))).Plus(Of(decimal.New(1, -2))) // lines are rounded
	return r, nil
}

// lines are the amounts by line that do not follow from others, and toner by plate. The
// error says which toner makes no sense.
func (in Inputs) lines() (toner [plate.Count]Per, of [Lines]Per, err error) {
	var sum Per
	for k := range in.Laid {
		if in.Laid[k].Sum > 0 {
			if err := in.Cartridges[k].Check(); err != nil {
				return toner, of, tonerError(k, err)
			}
		}
		toner[k] = Per{Piece: in.Cartridges[k].toner(in.Laid[k])}
		sum = sum.Plus(toner[k])
	}
	return toner, [Lines]Per{
		TonerLine:   sum,
		MediaLine:   in.Supply.Plus(Per{Sheet: in.MediaSheet}),
		WearLine:    {Sheet: in.WearSheet},
		CoverLine:   in.Cover,
		BlankLine:   {Piece: Of(in.BlankPiece)},
		LabourLine:  in.Seconds.Times(Of(in.LabourHour).Over(anHour)),
		CuttingLine: {Piece: PerHour(in.LabourHour, in.CutSeconds)},
		MachineLine: in.Machine,
		SetupLine:   {Order: PerHour(in.LabourHour, Of(in.SetupSeconds))},
	}, nil
}

// surely is a quantity up to most from which on, by those bounds, none loses money at a
// price each; most if they do not tell.
func (r *reckoner) surely(each decimal.Decimal, most int) int {
	gain := Of(each).Plus(r.rate.Times(Whole(-1)))
	if gain.Sign() <= 0 {
		return most
	}
	n := r.fixed.Over(gain).Round(0).IntPart() + 1
	return int(min(n, int64(most)))
}

// cost is that of a quantity, which is above 0.
func (r *reckoner) cost(quantity int) Cost {
	c := Cost{Quantity: quantity}
	n := big.NewInt(int64(quantity))
	c.Spares = int(halfAway(new(big.Int).Mul(n, r.lostNum), r.lostDen).Int64())
	made := int64(quantity + c.Spares)
	sheets := (made + r.copies - 1) / r.copies
	c.Sheets, c.Spare = int(sheets), int(sheets*r.copies-made)
	s := big.NewInt(sheets)
	total := new(big.Int)
	amount := func(units *big.Int) decimal.Decimal { return decimal.NewFromBigInt(units, -Places) }
	for k, of := range r.toner {
		units := halfAway(of.sum(s, n), of.den)
		c.Toner.Plate[k] = amount(units)
		total.Add(total, units)
	}
	c.Toner.Total = amount(total)
	c.Line[TonerLine] = c.Toner.Total // the sum of what is shown by plate
	for l := MediaLine; l <= SetupLine; l++ {
		units := halfAway(r.line[l].sum(s, n), r.line[l].den)
		c.Line[l] = amount(units)
		total.Add(total, units)
	}
	if c.Spares > 0 {
		s = new(big.Int) // their sheets are among those that are paid
	}
	spoilt := r.lost.sum(s, n)
	units := halfAway(spoilt.Mul(spoilt, r.lostNum), new(big.Int).Mul(r.lost.den, r.lostDen))
	c.Line[SpoilageLine] = amount(units)
	total.Add(total, units)
	units = halfAway(new(big.Int).Mul(total, r.overNum), r.overDen)
	c.Line[OverheadLine] = amount(units)
	c.Total = amount(total.Add(total, units))
	return c
}

// beyond is what is made beyond a quantity, as a part of it, where percent of all are lost.
func beyond(percent decimal.Decimal) Exact { return Of(percent).Over(Of(hundred.Sub(percent))) }

// Spares are the whole pieces to print beyond a quantity where percent of all pieces made,
// below 100, are lost: see [Inputs.Cost].
func Spares(quantity int, percent decimal.Decimal) int {
	return int(beyond(percent).Times(Whole(int64(quantity))).Round(0).IntPart())
}
