package price

import (
	"fmt"
	"math/rand/v2"
	"testing"

	"github.com/shopspring/decimal"

	"laydown/colour/reference"
)

func TestShares(t *testing.T) {
	whole := func(n ...int64) (out []Exact) {
		for _, v := range n {
			out = append(out, Whole(v))
		}
		return out
	}
	for _, c := range []struct {
		name, total string
		parts       []Exact
		places      int32
		want        []string
	}{
		{"even", "9.00", whole(1, 1, 1), 2, []string{"3", "3", "3"}},
		{"the first of equal rests", "10.00", whole(1, 1, 1), 2, []string{"3.34", "3.33", "3.33"}},
		{"the largest rest", "1.00", whole(5, 3, 1), 2, []string{"0.56", "0.33", "0.11"}}, // 55.5…, 33.3…, 11.1…
		{"nothing for nothing", "0.05", whole(0, 1, 1), 2, []string{"0", "0.03", "0.02"}},
		{"fewer units than parts", "0.02", whole(1, 2, 2), 2, []string{"0", "0.01", "0.01"}},
		{"all parts 0", "1.00", whole(0, 0, 0), 2, []string{"0.34", "0.33", "0.33"}},
		{"a negative part counts as 0", "1.00", whole(-4, 1), 2, []string{"0", "1"}},
		{"a reduction", "-1.00", whole(2, 1), 2, []string{"-0.67", "-0.33"}},
		{"no minor unit", "1000", whole(1, 1, 1), 0, []string{"334", "333", "333"}},
		{"a total with more places keeps them", "0.001", whole(1, 3), 2, []string{"0", "0.001"}},
		{"fractions", "7.00", []Exact{Whole(1).Over(Whole(3)), Whole(2).Over(Whole(7))}, 2, []string{"3.77", "3.23"}}, // 7 ÷ 13 and 6 ÷ 13 of it
		{"a total of tens", "2e2", whole(1, 2), 0, []string{"67", "133"}},
		{"one part", "0.07", whole(12), 2, []string{"0.07"}},
		{"no parts", "1.00", nil, 2, nil},
	} {
		got := Shares(d(c.total), c.parts, c.places)
		if len(got) != len(c.want) {
			t.Errorf("%s: %v, want %v", c.name, got, c.want)
			continue
		}
		for i, w := range c.want {
			if !got[i].Equal(d(w)) {
				t.Errorf("%s: %v, want %v", c.name, got, c.want)
				break
			}
		}
	}
}

// TestSharesAddUp holds the shares of random totals and parts to what must be so: they add
// up exactly, none is a smallest amount or more from its due, none has more places, and a
// larger part never gets less.
func TestSharesAddUp(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 3))
	for range reference.Samples(t, 3000) {
		places := int32(rng.IntN(5))
		total := decimal.New(rng.Int64N(2_000_000)-1_000_000, -places)
		parts, all := make([]Exact, 1+rng.IntN(40)), Exact{}
		for i := range parts {
			parts[i] = Whole(rng.Int64N(1000) * rng.Int64N(3)).Over(Whole(1 + rng.Int64N(30)))
			all = all.Plus(parts[i])
		}
		if all.Sign() == 0 {
			continue
		}
		got, sum, smallest := Shares(total, parts, places), decimal.Zero, Of(decimal.New(1, -places))
		for i, v := range got {
			sum = sum.Add(v)
			off := Of(total).Times(parts[i]).Over(all).Plus(Of(v).Times(Whole(-1)))
			if off.Sign() < 0 {
				off = off.Times(Whole(-1))
			}
			if off.Plus(smallest.Times(Whole(-1))).Sign() >= 0 {
				t.Fatalf("%s among %d: share %d of %s is %s from its due", total, len(parts), i, v, off.Round(6))
			}
			if !v.Equal(v.Round(places)) {
				t.Fatalf("%s has more than %d places", v, places)
			}
			for j, w := range got {
				if parts[i].Plus(parts[j].Times(Whole(-1))).Sign() > 0 && v.Abs().LessThan(w.Abs()) {
					t.Fatalf("%s: part %d is larger than part %d, and gets %s against %s", total, i, j, v, w)
				}
			}
		}
		if !sum.Equal(total) {
			t.Fatalf("shares add up to %s, the total is %s", sum, total)
		}
	}
}

func ExampleShares() {
	// Sheets of 10.00 in all, shared by orders that take 160, 80 and 79 cm² of them.
	for _, share := range Shares(decimal.New(1000, -2), []Exact{Whole(160), Whole(80), Whole(79)}, 2) {
		fmt.Println(share)
	}
	// Output:
	// 5.01
	// 2.51
	// 2.48
}
