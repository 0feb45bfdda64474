package price

import (
	"math/big"

	"github.com/shopspring/decimal"
)

// Exact is an amount or a time that need not end in decimals, such as the price of one
// sheet of a pack: a fraction, never rounded. Its zero value is 0, and it does not change.
type Exact struct{ fraction *big.Rat } // nil for 0

// Of is a decimal as a fraction.
func Of(v decimal.Decimal) Exact { return Exact{v.Rat()} }

// Whole is a whole number.
func Whole(n int64) Exact { return Exact{new(big.Rat).SetInt64(n)} }

// rat is the fraction, to be read only.
func (e Exact) rat() *big.Rat {
	if e.fraction == nil {
		return new(big.Rat)
	}
	return e.fraction
}

// Plus is the sum of two.
func (e Exact) Plus(v Exact) Exact { return Exact{new(big.Rat).Add(e.rat(), v.rat())} }

// Times is the product of two.
func (e Exact) Times(v Exact) Exact { return Exact{new(big.Rat).Mul(e.rat(), v.rat())} }

// Over is e divided by v, which must not be 0.
func (e Exact) Over(v Exact) Exact { return Exact{new(big.Rat).Quo(e.rat(), v.rat())} }

// Sign is -1, 0 or 1.
func (e Exact) Sign() int { return e.rat().Sign() }

// Round is e to so many decimal places, half away from zero.
func (e Exact) Round(places int32) decimal.Decimal {
	r := e.rat()
	scaled := new(big.Int).Mul(r.Num(), power(places))
	return decimal.NewFromBigInt(halfAway(scaled, r.Denom()), -places)
}

func power(places int32) *big.Int {
	return new(big.Int).Exp(big.NewInt(10), big.NewInt(int64(places)), nil)
}

// halfAway is the whole number nearest to num ÷ den, of two the one further from zero.
func halfAway(num, den *big.Int) *big.Int {
	// ⌊(2 |num| + den) ÷ 2 den⌋
	q := new(big.Int).Abs(num)
	q.Lsh(q, 1).Add(q, den).Quo(q, new(big.Int).Lsh(den, 1))
	if num.Sign() < 0 {
		q.Neg(q)
	}
	return q
}
