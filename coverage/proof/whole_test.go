package proof

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/shopspring/decimal"

	"laydown/colour/reference"
	"laydown/coverage/artwork/font"
	"laydown/coverage/commission"
	"laydown/coverage/order"
	"laydown/coverage/order/ordertest"
	"laydown/coverage/price"
	"laydown/coverage/shop"
	"laydown/coverage/unit"
)

var someDay = time.Date(2026, 11, 27, 15, 0, 0, 0, time.UTC)

// whole works out an order; no picture is drawn.
func whole(t *testing.T, o order.Order, c *commission.Commission) (*Whole, error) {
	t.Helper()
	return MakeWhole(o, c, font.New(), someDay, func(string) {}, func(*Proof) ([]byte, error) { return []byte("picture"), nil })
}

// TestWholeOfOneDesign: an order of one design costs and sells for what its quote says, in
// whatever way a shop prices, also where a piece is a sheet.
func TestWholeOfOneDesign(t *testing.T) {
	type way struct {
		name, item, process string
		quantity            int
		change              func(*shop.Shop)
	}
	for _, c := range reference.Sweep(t, []way{
		{"margin", "black tee", "dark garment", 30, nil},
		{"gross", "black tee", "dark garment", 30, func(s *shop.Shop) { s.Pricing.Prices, s.Pricing.RoundTo = shop.Gross, ".95" }},
		{"rate card", "white tee", "light garment", 25, func(s *shop.Shop) {
			s.Pricing.MarginPercent = decimal.Decimal{}
			s.Pricing.Rates = []shop.Rate{{From: 1, Each: decimal.NewFromInt(9)}, {From: 24, Each: decimal.NewFromInt(7)}}
		}},
		{"by the sheet", "transfer sheet", "dark garment", 9, nil},
		{"by the piece", "loose tattoo", "temporary tattoo", 60, nil},
	}, func(c way) bool { return c.name == "gross" || c.name == "by the sheet" }) {
		o := ordertest.Badge(t)
		o.ItemName, o.ProcessName, o.Wish.WidthMM, o.Quantities = c.item, c.process, 60, []int{c.quantity}
		if c.change != nil {
			c.change(o.Shop)
		}
		p, err := Make(o, Quotation)
		if err != nil {
			t.Fatal(err)
		}
		q := p.Quoted.Quantities[0]
		w, err := whole(t, o, &commission.Commission{Goods: []commission.Goods{{Item: c.item, Quantity: c.quantity,
			Prints: []commission.Print{{Art: o.ArtPath, Width: 60, Process: c.process}}}}})
		if err != nil {
			t.Fatal(err)
		}
		for l, v := range w.Cost.Line {
			if !v.Equal(q.CostTotal.Line[l]) {
				t.Errorf("%s: %s costs %s, quoted %s", c.name, price.LineNames[l], v, q.CostTotal.Line[l])
			}
		}
		got := fmt.Sprint(w.Cost.Total, w.Goods[0].Sizes[0].PriceEach, w.Total, w.WithoutTax, w.WithTax, w.MarginPercent, w.Sheets[0].Gang.Sheets, w.Goods[0].Prints[0].Spares)
		if want := fmt.Sprint(q.CostTotal.Total, q.PriceEach, q.PriceTotal, q.Net, q.WithTax, q.Margin, q.Sheets, q.Spares); got != want {
			t.Errorf("%s: %s, quoted %s", c.name, got, want)
		}
		if w.Date != "2026-11-27" || w.ValidUntil != "2026-12-27" || len(w.Tickets) != 1 || string(w.Tickets[0].Picture) != "picture" {
			t.Errorf("%s: %s to %s, %d tickets", c.name, w.Date, w.ValidUntil, len(w.Tickets))
		}
	}
}

// TestWholeShares: prints on the same media share sheets and set-up, a piece has one blank
// however many prints, the customer's own cost nothing, sizes their own; each art is checked
// once.
func TestWholeShares(t *testing.T) {
	o := ordertest.Badge(t)
	list := filepath.Join(t.TempDir(), "names.csv")
	if err := os.WriteFile(list, []byte("name,size\nHill,M\nLund,2XL\nHill,M\n,S\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	c, err := commission.Read([]byte(fmt.Sprintf(`customer = "Lund"
number = "7"
[[goods]]
name = "crew"
item = "black tee"
names = %[1]q
[[goods.print]]
art = %[2]q
width = "60 mm"
place = "chest"
process = "dark garment"
[[goods.print]]
text = "{name}"
letter_height = "20 mm"
width = "50 mm"
colour = "white"
process = "dark garment"
[[goods]]
item = "black tee"
own_blanks = true
quantity = 2
[[goods.print]]
art = %[2]q
width = "60 mm"
process = "dark garment"
`, list, o.ArtPath)), "order.toml", "")
	if err != nil {
		t.Fatal(err)
	}
	w, err := whole(t, o, c)
	if err != nil {
		t.Fatal(err)
	}
	if len(w.Sheets) != 1 || len(w.Sheets[0].Shares) != 3 || !w.Sheets[0].Pair {
		t.Fatalf("sheets %+v", w.Sheets)
	}
	sum, n := 0.0, 0.0
	for _, s := range w.Sheets[0].Shares {
		sum += s.Percent
		n += w.Goods[s.Goods].Prints[s.Print].Sheets
	}
	if d := sum - 100; d > 0.001 || d < -0.001 || n < float64(w.Sheets[0].Gang.Sheets)-0.001 || n > float64(w.Sheets[0].Gang.Sheets)+0.001 {
		t.Errorf("shares of %g %%, %g of %d sheets", sum, n, w.Sheets[0].Gang.Sheets)
	}
	near := func(what string, v decimal.Decimal, want string) {
		if v.Sub(decimal.RequireFromString(want)).Abs().GreaterThan(decimal.New(2, -4)) {
			t.Errorf("%s: %s, want %s", what, v, want)
		}
	}
	// A pair costs 2 × 95 ÷ 100.
	near("media", w.Cost.Line[price.MediaLine], fmt.Sprint(1.9*float64(w.Sheets[0].Gang.Sheets)))
	// Two files of 5 minutes, one set-up of 4, at 24 an hour.
	near("set-up", w.Cost.Line[price.SetupLine], "5.6")
	// Three at 3.20 and one 2XL at 3.90; two that the customer brings.
	near("blanks", w.Goods[0].Cost.Line[price.BlankLine], "13.5")
	near("own blanks", w.Goods[1].Cost.Line[price.BlankLine], "0")
	crew := w.Goods[0]
	if got := fmt.Sprint(crew.Prints[1].Quantity, len(crew.Prints[1].Designs), crew.Prints[1].Designs[0].Text, crew.Prints[1].Designs[0].Quantity); got != "3 2Hill2" {
		t.Errorf("names: %s", got)
	}
	if len(crew.Sizes) != 3 || crew.Sizes[1].Size != "2XL" || decimal.RequireFromString(crew.Sizes[1].PriceEach).Sub(decimal.RequireFromString(crew.Sizes[0].PriceEach)).String() != "1.5" {
		t.Errorf("sizes %+v", crew.Sizes)
	}
	if d := crew.Prints[1].Designs[1]; d.Text != "Lund" || d.Squeezed != 0 && d.SizeMM[0] > 50.01 {
		t.Errorf("%+v", d)
	}
	// Every piece is on the shared sheets, with its spares.
	count := map[string]int{}
	for _, l := range w.Sheets[0].Gang.Layouts {
		for _, p := range l.Places {
			count[p.Name] += l.Prints
		}
	}
	if count["heron-badge.png"] < 6 || count["Hill"] < 2 || count["Lund"] < 1 {
		t.Errorf("on the sheets: %v", count)
	}
	if len(w.Tickets) != 3 {
		t.Fatalf("%d tickets", len(w.Tickets))
	}
	if k := w.Tickets[1]; k.Order != "7" || k.For != "Lund" || !strings.HasPrefix(strings.Join(k.Texts, "; "), "2 × Hill (M; M); 1 × Lund (2XL), letters ") || !k.Shared || k.PrintOf != "print 2 of 2 on the piece" || strings.Join(k.Sizes, " ") != "2 × M 1 × 2XL 1 × S" {
		t.Errorf("%+v", k)
	}
	if !w.Tickets[2].OwnBlanks || w.Tickets[2].PrintOf != "" {
		t.Errorf("%+v", w.Tickets[2])
	}
}

func TestWholeRefuses(t *testing.T) {
	art := ordertest.Demo("heron-badge.png")
	one := func(g commission.Goods) *commission.Commission {
		return &commission.Commission{Goods: []commission.Goods{g}}
	}
	prints := []commission.Print{{Art: art, Width: 40, Process: "dark garment"}}
	for want, c := range map[string]*commission.Commission{
		`goods 1, black tee: black tee has no size "9XL": it comes in S, M, L, XL, 2XL`: one(commission.Goods{Item: "black tee", Quantity: 1, Sizes: map[string]int{"9XL": 1}, SizeOrder: []string{"9XL"}, Prints: prints}),
		`goods 1: print 1, none.png: none.png: there is no such file`:                   one(commission.Goods{Item: "black tee", Quantity: 1, Prints: []commission.Print{{Art: "none.png"}}}),
		`goods mugs: print 1: no font is called "Nothing"`:                              one(commission.Goods{Name: "mugs", Item: "black tee", Quantity: 1, Prints: []commission.Print{{Text: "a", Letters: unit.Length(9), Font: "Nothing"}}}),
		`no item is called "hat"`:                                                       one(commission.Goods{Item: "hat", Quantity: 1, Prints: prints}),
		`is sold as it is printed, and has one print`:                                   one(commission.Goods{Item: "transfer sheet", Quantity: 1, Prints: append(prints, prints...)}),
	} {
		if _, err := whole(t, ordertest.New(t, ""), c); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%v, want %q", err, want)
		}
	}
	// Rush without a surcharge, and a rate card that does not know of second prints.
	text := string(shop.Demo())
	text = strings.Replace(text, `rush_percent = "25"`, "", 1)
	text = strings.Replace(text, `margin_percent = "45"`, "", 1)
	text = strings.Replace(text, `[[printer]]`, "[[pricing.rate]]\nfrom = 1\neach = \"9\"\n\n[[printer]]", 1)
	s, err := shop.Load([]byte(text), "shop.toml")
	if err != nil {
		t.Fatal(err)
	}
	o := ordertest.New(t, "")
	o.Shop = s
	_, err = whole(t, o, &commission.Commission{Rush: true, Goods: []commission.Goods{{Item: "black tee", Quantity: 1, Prints: append(prints, prints...)}}})
	if err == nil || !strings.Contains(err.Error(), "terms: rush_percent is missing") || !strings.Contains(err.Error(), "further is missing") {
		t.Errorf("%v, want what was not agreed", err)
	}
}
