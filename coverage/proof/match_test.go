package proof

import (
	"testing"

	"laydown/colour"
	"laydown/colour/swatch"
	"laydown/coverage/order/ordertest"
	"laydown/coverage/plate"
)

// TestMatchOnTheItem asks for the same colours on several items and processes.
func TestMatchOnTheItem(t *testing.T) {
	swatches := []swatch.Swatch{{Name: "cream", Lab: colour.Lab{L: 90, A: 0, B: 10}}, {Name: "moss", Lab: colour.Lab{L: 35, A: -20, B: 15}}}
	match := func(process, item string) (cream, moss Swatch) {
		o := ordertest.New(t, "")
		o.ProcessName, o.ItemName, o.Swatches = process, item, swatches
		f, err := MatchSwatches(o)
		if err != nil {
			t.Fatal(err)
		}
		if f.Process.Name != process || f.Item.Name != item {
			t.Errorf("facts say %s on %s", f.Process.Name, f.Item.Name)
		}
		return f.Swatches[0], f.Swatches[1]
	}
	film, filmMoss := match("white film", "black tee")
	white, whiteMoss := match("dark garment", "black tee")
	bare, bareMoss := match("light garment", "black tee")
	if !film.InGamut || !filmMoss.InGamut {
		t.Errorf("on a film of its own white: %+v, %+v", film, filmMoss)
	}
	// White toner of 85 % contrast is darker than the film; moss is dark enough.
	if white.DeltaE00 < 2 || white.PrintedLab[0] > film.PrintedLab[0] || !whiteMoss.InGamut {
		t.Errorf("on white toner: %+v, %+v", white, whiteMoss)
	}
	if bare.Grade != "off" || bareMoss.Grade != "off" || bare.PrintedLab[0] > 15 {
		t.Errorf("without white on black: %+v, %+v", bare, bareMoss)
	}
	if onWhite, _ := match("light garment", "white tee"); onWhite.Grade != "close" {
		t.Errorf("without white on a white shirt: %+v", onWhite)
	}
}

// TestMainColours pairs the demo badge's own five colours with the club's.
func TestMainColours(t *testing.T) {
	o := ordertest.Badge(t)
	o.Swatches = []swatch.Swatch{{Name: "Race Blue", Lab: colour.FromSRGB(27, 79, 216)}, {Name: "Dawn", Lab: colour.FromSRGB(255, 106, 19)}}
	p, err := Make(o, Matches)
	if err != nil {
		t.Fatal(err)
	}
	if len(p.Main) != 5 {
		t.Fatalf("%d main colours, want the badge's five", len(p.Main))
	}
	for _, m := range p.Main {
		want := "Race Blue"
		if m.TargetLab[2] > 0 && m.TargetLab[1] >= 0 {
			want = "Dawn"
		}
		if !m.Flat || m.ClosestSwatch != want && m.Hex != "#125c46" {
			t.Errorf("%s is nearest %s, want %s", m.Hex, m.ClosestSwatch, want)
		}
	}
}

// TestWhiteRulesOnTheItem compares the rules on the badge: each leaves out white,
// and none looks better than white everywhere.
func TestWhiteRulesOnTheItem(t *testing.T) {
	cost, look := map[plate.Rule]float64{}, map[plate.Rule]float64{}
	for _, rule := range plate.Rules {
		o := ordertest.Badge(t)
		process, err := o.Shop.Process("dark garment")
		if err != nil {
			t.Fatal(err)
		}
		process.White, process.Choke = rule, 0
		_, m := choices(t, o)
		cost[rule], look[rule] = m["dark garment"].WhitePercent, m["dark garment"].MeanDeltaE
	}
	// The badge's night blue, 7.3 % of the print and a little of its edges, is the black shirt's own colour
	// to a hair; the four others need white.
	if d := cost[plate.Under] - cost[plate.Knockout]; d < 5 || d > 8.5 {
		t.Errorf("knockout saves %.2f points of white: %v", d, cost)
	}
	if look[plate.Knockout] > look[plate.Under]+1 {
		t.Errorf("knockout looks worse by more than a hair: %v", look)
	}
	if !(cost[plate.NoWhite] == 0 && cost[plate.Tonal] < 0.8*cost[plate.Knockout] && cost[plate.All] == 100) {
		t.Errorf("white by rule: %v", cost)
	}
	if !(look[plate.Under] < look[plate.Tonal] && look[plate.Tonal] < look[plate.NoWhite]) {
		t.Errorf("mean ΔE00 by rule: %v", look)
	}
}
