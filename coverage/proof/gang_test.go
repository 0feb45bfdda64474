package proof

import (
	"encoding/json"
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/shopspring/decimal"

	"laydown/colour/reference"
	"laydown/coverage/order"
	"laydown/coverage/order/ordertest"
	"laydown/coverage/price"
	"laydown/coverage/sheet"
	"laydown/coverage/unit"
)

func ask(name string, w, h float64, quantity int, of string) sheet.Ask {
	return sheet.Ask{Piece: sheet.Piece{Name: name, WidthMM: w, HeightMM: h, Quantity: quantity}, Order: of}
}

func gang(t *testing.T, o order.Order, asks ...sheet.Ask) *Ganged {
	t.Helper()
	g, err := MakeGang(o, asks, GangSpace{}, false, func(string) {})
	if err != nil {
		t.Fatal(err)
	}
	return g
}

// TestGangByHand prices sheets of a pair of films at 95.00 a hundred, 1.90 a pair, and splits them by
// area: 4 pieces of 100 × 100 mm against 8 of 100 × 50.
func TestGangByHand(t *testing.T) {
	o := ordertest.Badge(t)
	o.Shop.Layout.Margin, o.Shop.Layout.Gap = 5, 0
	g := gang(t, o, ask("square", 100, 100, 4, "Lund"), ask("bar", 100, 50, 8, ""), ask("patch", 50, 50, 4, "Lund"))
	// 40,000 + 10,000 mm² of Lund's and 40,000 of the bar's, on sheets of 57,400.
	if g.Sheets != 2 || g.Cost == nil {
		t.Fatalf("%d sheets, cost %v, want 2 with their cost", g.Sheets, g.Cost)
	}
	want := []GangOrder{
		{Order: "Lund", Copies: 8, AreaMM2: 50000, AreaPercent: 55.56, Media: "2.11", Toner: "0.00", Total: "2.11"}, // 2.111…
		{Order: "bar", Copies: 8, AreaMM2: 40000, AreaPercent: 44.44, Media: "1.69", Toner: "0.00", Total: "1.69"},  // 1.688…
	}
	if c := *g.Cost; c.Media != "3.80" || c.Toner != "0.00" || c.Total != "3.80" || c.TonerOf != 0 || c.Pieces != 3 || fmt.Sprint(c.Orders) != fmt.Sprint(want) {
		t.Errorf("%+v, want 3.80 and %v", c, want)
	}
}

// TestGangSharesAddUp holds random gangs to what must be so: media and toner of the orders add up
// to those of the sheets exactly.
func TestGangSharesAddUp(t *testing.T) {
	rng := rand.New(rand.NewPCG(4, 4))
	art := ordertest.Demo("heron-badge.png")
	for round := range reference.Samples(t, 30) { // of every currency
		o := ordertest.Badge(t)
		o.Shop.Currency = []string{"EUR", "JPY", "KWD"}[round%3]
		var asks []sheet.Ask
		for i := range 1 + rng.IntN(9) {
			a := ask(fmt.Sprint("piece ", i), 20+60*rng.Float64(), 20+60*rng.Float64(), 1+rng.IntN(30), []string{"", "Lund", "Regatta"}[rng.IntN(3)])
			if i == 0 && round%2 == 0 {
				a.Art, a.HeightMM = art, 0
			}
			asks = append(asks, a)
		}
		g := gang(t, o, asks...)
		media, toner, total, percent := decimal.Zero, decimal.Zero, decimal.Zero, 0.0
		d := decimal.RequireFromString
		for _, v := range g.Cost.Orders {
			media, toner, total, percent = media.Add(d(v.Media)), toner.Add(d(v.Toner)), total.Add(d(v.Total)), percent+v.AreaPercent
		}
		if !media.Equal(d(g.Cost.Media)) || !toner.Equal(d(g.Cost.Toner)) || !total.Equal(d(g.Cost.Total)) || !d(g.Cost.Media).Add(d(g.Cost.Toner)).Equal(total) {
			t.Errorf("orders bear %s + %s = %s, the sheets cost %s + %s = %s", media, toner, total, g.Cost.Media, g.Cost.Toner, g.Cost.Total)
		}
		if -total.Exponent() > o.Shop.Places() || percent < 99.9 || percent > 100.1 {
			t.Errorf("%s has other places than %s; %g %% of the area", total, o.Shop.Currency, percent)
		}
	}
}

// TestGangArt sets art files: they take their size from the file or one side, and their toner is that
// of the print's own proof.
func TestGangArt(t *testing.T) {
	o := ordertest.Badge(t)
	art := ordertest.Demo("heron-badge.png")
	file := sheet.Ask{Piece: sheet.Piece{Name: "own size", Quantity: 3}, Art: art, Order: "Lund"}
	wide := sheet.Ask{Piece: sheet.Piece{Name: "wide", WidthMM: 50, Quantity: 11}, Art: art, Order: "Regatta"}
	high := sheet.Ask{Piece: sheet.Piece{Name: "high", HeightMM: 30, Quantity: 2}, Art: art, Order: "Regatta"}
	g := gang(t, o, file, wide, high, ask("plain", 20, 20, 1, "Blank"))
	want, made := decimal.Zero, make([]int, 4)
	for _, l := range g.Layouts {
		for _, p := range l.Places {
			made[p.Piece] += l.Prints
		}
	}
	for i, a := range []sheet.Ask{file, wide, high} {
		of := o
		of.Wish.WidthMM, of.Wish.HeightMM = a.WidthMM, a.HeightMM
		p, err := Make(of, 0)
		if err != nil {
			t.Fatal(err)
		}
		if q := g.Pieces[i]; to(q.WidthMM, 2) != p.Print.WidthMM || to(q.HeightMM, 2) != p.Print.HeightMM {
			t.Errorf("%s is %g × %g mm, its proof %g × %g", q.Name, q.WidthMM, q.HeightMM, p.Print.WidthMM, p.Print.HeightMM)
		}
		all, err := price.TonerCost(p.Laid.Job.Printer.Cartridges(), p.Laid.toner(), made[i])
		if err != nil {
			t.Fatal(err)
		}
		want = want.Add(all.Total)
	}
	if g.Cost.Toner != want.StringFixed(2) || g.Cost.TonerOf != 3 || g.Cost.Pieces != 4 {
		t.Errorf("toner %s of %d of %d pieces, want %s of 3 of 4", g.Cost.Toner, g.Cost.TonerOf, g.Cost.Pieces, want)
	}
	if blank := g.Cost.Orders[2]; blank.Order != "Blank" || blank.Toner != "0.00" || blank.Media == "0.00" {
		t.Errorf("%+v, want no toner and some media for what is not known", blank)
	}
	// What is assumed is said: the item, as its colour may change what white lays down.
	if len(g.Assumed) != 1 || g.Assumed[0].Field != "item" {
		t.Errorf("assumed %+v", g.Assumed)
	}
	o.ProcessName = ""
	if a := gang(t, o, ask("a", 20, 20, 1, "")).Assumed; len(a) != 1 || a[0].Words() != "process not named: dark garment, because it is the shop's default" {
		t.Errorf("assumed %+v", a)
	}
}

// TestGangSpace takes margin, gap, bleed and what a cutter needs from the shop file and its media.
func TestGangSpace(t *testing.T) {
	o := ordertest.Badge(t)
	o.Shop.Layout.Margin, o.Shop.Layout.Gap, o.Shop.Layout.Bleed, o.Shop.Layout.Cutter = 7, 3, 1, 2
	m, err := o.Shop.Medium("two-part dark film")
	if err != nil {
		t.Fatal(err)
	}
	m.Cutter, m.Corner = 4, 25
	margin, gap := 1.0, 0.0
	for _, c := range []struct {
		space             GangSpace
		edge, gap, corner float64
	}{
		{GangSpace{}, 7 + 4 + 1, 3 + 2, 25},
		{GangSpace{MarginMM: &margin}, 1 + 4 + 1, 3 + 2, 25},
		{GangSpace{GapMM: &gap}, 7 + 4 + 1, 0 + 2, 25},
	} {
		g, err := MakeGang(o, []sheet.Ask{ask("a", 20, 30, 40, ""), ask("b", 31, 17, 25, "")}, c.space, false, func(string) {})
		if err != nil {
			t.Fatal(err)
		}
		if g.MarginMM != c.edge || g.GapMM != c.gap || g.CornerMM != c.corner || len(g.Corners) != 4 {
			t.Errorf("margin %g, gap %g, corners %g, want %g, %g, %g", g.MarginMM, g.GapMM, g.CornerMM, c.edge, c.gap, c.corner)
		}
		for _, l := range g.Layouts {
			for i, p := range l.Places {
				if p.XMM < c.edge-0.01 || p.YMM < c.edge-0.01 || p.XMM+p.WidthMM > 210-c.edge+0.01 || p.YMM+p.HeightMM > 297-c.edge+0.01 {
					t.Fatalf("%+v leaves the margin of %g mm", p, c.edge)
				}
				near := func(q sheet.Place, gap float64) bool {
					return p.XMM < q.XMM+q.WidthMM+gap-0.01 && q.XMM < p.XMM+p.WidthMM+gap-0.01 && p.YMM < q.YMM+q.HeightMM+gap-0.01 && q.YMM < p.YMM+p.HeightMM+gap-0.01
				}
				for _, q := range g.Corners {
					if near(q, 0) {
						t.Fatalf("%+v lies on the corner %+v", p, q)
					}
				}
				for _, q := range l.Places[:i] {
					if near(q.Place, c.gap) {
						t.Fatalf("%+v and %+v are nearer than %g mm", p, q, c.gap)
					}
				}
			}
		}
	}
}

// TestGangUnpriced sets pieces on sheets that have no price, and says why there is none.
func TestGangUnpriced(t *testing.T) {
	o := ordertest.Badge(t)
	o.Sheet = &unit.Sheet{Name: "A3", WidthMM: 297, HeightMM: 420}
	g := gang(t, o, ask("a", 60, 60, 5, ""))
	if g.Cost != nil || g.Unpriced != "two-part dark film is not bought in A3; choose A4, or add a [[media.size]] with that sheet and its price to the shop file" {
		t.Errorf("cost %v, %q", g.Cost, g.Unpriced)
	}
	b, err := json.Marshal(g)
	if err != nil || strings.Contains(string(b), `"cost"`) || !strings.Contains(string(b), `"unpriced":"two-part`) {
		t.Errorf("%s, %v", b, err)
	}
}

// TestGangRefuses names what is wrong with a piece's art, and the line it stands in.
func TestGangRefuses(t *testing.T) {
	o := ordertest.Badge(t)
	sizeless := filepath.Join(t.TempDir(), "sizeless.svg")
	if err := os.WriteFile(sizeless, []byte(`<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 10 10"><rect width="9" height="9"/></svg>`), 0o600); err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		a    sheet.Ask
		want string
	}{
		{sheet.Ask{Piece: sheet.Piece{Name: "a", Quantity: 1}, Art: "gone.png", Line: 3}, "line 3: gone.png"},
		{sheet.Ask{Piece: sheet.Piece{Name: "a", Quantity: 1}, Art: sizeless}, "sizeless.svg: does not say how large it prints: give its width or height"},
		{sheet.Ask{Piece: sheet.Piece{Name: "a", WidthMM: 50, HeightMM: 20, Quantity: 1}, Art: ordertest.Demo("heron-badge.png"), Line: 2}, "line 2: heron-badge.png: 50 × 20 mm would stretch the art"},
		{sheet.Ask{Piece: sheet.Piece{Name: "heron", WidthMM: 500, Quantity: 1}, Art: ordertest.Demo("heron-badge.png")}, `piece "heron" of 500 × 500 mm does not fit A4`},
	} {
		if _, err := MakeGang(o, []sheet.Ask{c.a}, GangSpace{}, false, func(string) {}); err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%v, want %s", err, c.want)
		}
	}
}
