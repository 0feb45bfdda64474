package price

import (
	"flag"
	"testing"

	"github.com/shopspring/decimal"
	"pgregory.net/rapid"

	"laydown/coverage/plate"
)

// TestProperties holds prices to what must be so of any order: the lines add up to the total,
// more toner never costs less, and the toner of twice the prints costs twice as much.
func TestProperties(t *testing.T) {
	for name, value := range map[string]string{"rapid.seed": "7", "rapid.checks": "60", "rapid.nofailfile": "true"} {
		if err := flag.Set(name, value); err != nil {
			t.Fatal(err)
		}
	}
	rapid.Check(t, func(t *rapid.T) {
		cents := func(label string, most int64) decimal.Decimal {
			return decimal.New(rapid.Int64Range(1, most).Draw(t, label), -2)
		}
		in := Inputs{Copies: rapid.IntRange(1, 40).Draw(t, "copies"), MediaSheet: Of(cents("media", 1000)), WearSheet: Of(cents("wear", 100)), BlankPiece: cents("blank", 5000),
			LabourHour: cents("labour", 9000), SetupSeconds: cents("setup", 90_000), CutSeconds: Of(cents("cut", 9000)),
			SpoilagePercent: cents("spoilage", 9000), OverheadPercent: cents("overhead", 9000)}
		for k := range in.Cartridges {
			in.Cartridges[k] = Cartridge{cents("cartridge", 30_000), rapid.Int64Range(100, 20_000).Draw(t, "yield"), a4, dec("5"), dec("1")}
			in.Laid[k] = Laid{Sum: rapid.Uint64Range(0, 255_000).Draw(t, "laid"), Pixels: 1000, AreaMM2: 5000}
		}
		n := rapid.IntRange(1, 3000).Draw(t, "quantity")
		cost := func(in Inputs) Cost {
			c, err := in.Cost(n)
			if err != nil {
				t.Fatal(err)
			}
			return c
		}
		c := cost(in)
		sum := decimal.Zero
		for _, v := range c.Line {
			sum = sum.Add(v)
		}
		if !sum.Equal(c.Total) {
			t.Fatalf("lines of %v add up to %s, not %s", c.Line, sum, c.Total)
		}
		more := in
		k := rapid.IntRange(0, plate.Count-1).Draw(t, "plate")
		more.Laid[k].Sum += rapid.Uint64Range(0, 255_000).Draw(t, "more")
		if d := cost(more); d.Total.LessThan(c.Total) {
			t.Fatalf("more %s toner costs %s, less %s", plate.Names[k], d.Total, c.Total)
		}
		one, err := TonerCost(in.Cartridges, in.Laid, n)
		if err != nil {
			t.Fatal(err)
		}
		two, err := TonerCost(in.Cartridges, in.Laid, 2*n)
		if err != nil {
			t.Fatal(err)
		}
		// Each is rounded to so many places, five toners' worth of halves.
		if off := two.Total.Sub(one.Total.Mul(decimal.NewFromInt(2))).Abs(); off.GreaterThan(decimal.New(8, -Places)) {
			t.Fatalf("%d prints cost %s and twice as many %s", n, one.Total, two.Total)
		}
	})
}
