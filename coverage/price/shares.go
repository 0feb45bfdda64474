package price

import (
	"math/big"
	"slices"

	"github.com/shopspring/decimal"
)

// Shares splits a total in proportion to parts, such as the area that each order takes of
// shared sheets. Every share is a multiple of the smallest amount with so many decimal
// places (or as many as the total itself has, if those are more), and they add up to the
// total exactly: each gets the whole multiples below its due, and what is left over goes,
// one smallest amount each, to those with the largest remainders, of equal ones to the
// first (Hamilton's method of apportionment; from memory). So none is further than one
// smallest amount from its due, and a part of 0 gets nothing.
//
// Parts may be in any unit; a negative one counts as 0. Where all are 0, all are alike.
// Without parts there are no shares. Shares of a negative total, as a reduction is, are
// those of its amount with the sign turned.
func Shares(total decimal.Decimal, parts []Exact, places int32) []decimal.Decimal {
	if len(parts) == 0 {
		return nil
	}
	weight, sum := make([]*big.Rat, len(parts)), new(big.Rat)
	for i, p := range parts {
		if weight[i] = p.rat(); p.Sign() < 0 {
			weight[i] = new(big.Rat)
		}
		sum.Add(sum, weight[i])
	}
	if sum.Sign() == 0 {
		for i := range weight {
			weight[i] = big.NewRat(1, 1)
		}
		sum.SetInt64(int64(len(parts)))
	}
	places = max(places, -total.Exponent())
	units := total.Abs().Shift(places).BigInt()
	left := new(big.Int).Set(units)
	whole, rest := make([]*big.Int, len(parts)), make([]*big.Rat, len(parts))
	order := make([]int, len(parts)) // by what is left of their dues
	for i, w := range weight {
		due := new(big.Rat).SetInt(units)
		due.Mul(due, w).Quo(due, sum)
		whole[i] = new(big.Int).Quo(due.Num(), due.Denom())
		rest[i] = due.Sub(due, new(big.Rat).SetInt(whole[i]))
		left.Sub(left, whole[i])
		order[i] = i
	}
	slices.SortStableFunc(order, func(a, b int) int { return rest[b].Cmp(rest[a]) })
	for _, i := range order[:left.Int64()] { // fewer than there are parts, as each rest is below one
		whole[i].Add(whole[i], big.NewInt(1))
	}
	out := make([]decimal.Decimal, len(parts))
	for i, w := range whole {
		if out[i] = decimal.NewFromBigInt(w, -places); total.IsNegative() {
			out[i] = out[i].Neg()
		}
	}
	return out
}
