package proof

import (
	"image"
	"image/color"
	"math"
	"slices"
	"strings"
	"testing"

	"github.com/shopspring/decimal"

	"laydown/colour"
	"laydown/coverage/flaw"
	"laydown/coverage/order"
	"laydown/coverage/order/ordertest"
	"laydown/coverage/price"
	"laydown/coverage/shop"
)

func choices(t *testing.T, o order.Order) (*Choices, map[string]Choice) {
	t.Helper()
	c, err := Compare(o)
	if err != nil {
		t.Fatal(err)
	}
	m := map[string]Choice{}
	for _, v := range c.Choices {
		m[v.Process] = v
	}
	return c, m
}

// TestCompare lets the demo badge choose for a black and for a white shirt.
func TestCompare(t *testing.T) {
	o := ordertest.Badge(t)
	o.ItemName = "black tee"
	c, m := choices(t, o)
	if len(m) != 3 {
		t.Fatalf("choices %v, want the three for cotton", m)
	}
	if bare, white := m["light garment"], m["dark garment"]; bare.MeanDeltaE < 4*white.MeanDeltaE || bare.WhitePercent != 0 || white.WhitePercent < 50 {
		t.Errorf("on black: without white %+v, with white %+v", bare, white)
	}
	if c.Pick != "dark garment" || c.White != WhiteNeeded || !strings.HasPrefix(c.Answer, "White needed: without white the cream turns black: average difference 55.") || !strings.Contains(c.Reason, "White film takes less toner and media, but is cut out by hand") {
		t.Errorf("on black: %s %s", c.Answer, c.Reason)
	}
	// Toner and media by hand: 1.90 a sheet, 6 on it.
	if v := m["dark garment"]; v.MediaEach != "0.3167" || v.TonerEach != "0.0975" || v.CostEach != "0.4142" {
		t.Errorf("dark garment costs %s + %s = %s", v.TonerEach, v.MediaEach, v.CostEach)
	}
	o.ItemName = "white tee"
	c, m = choices(t, o)
	if c.Pick != "light garment" || c.White != WhiteNotNeeded || !strings.HasPrefix(c.Answer, "White not needed: ") {
		t.Errorf("on white: %s %s", c.Answer, c.Reason)
	}
	if d := m["light garment"].MeanDeltaE - m["dark garment"].MeanDeltaE; d > 1 || d < -1 {
		t.Errorf("on a white shirt, white toner should hardly matter: mean ΔE00 %.2f and %.2f", m["light garment"].MeanDeltaE, m["dark garment"].MeanDeltaE)
	}
}

// solid is a picture of 300 × 300 pixels, green where inside says so and clear elsewhere, to
// be printed 60 mm wide: 5 pixels a millimetre.
func solid(t *testing.T, inside func(x, y int) bool) order.Order {
	img := image.NewNRGBA(image.Rect(0, 0, 300, 300))
	for i := range 300 * 300 {
		if inside(i%300, i/300) {
			c := color.NRGBA{60, 130, 90, 255}
			if y := i / 300; y >= 140 && y < 160 { // a band of white, which shows how light the print's is
				c = color.NRGBA{255, 255, 255, 255}
			}
			img.SetNRGBA(i%300, i/300, c)
		}
	}
	o := ordertest.Draw(t, img)
	o.Wish.WidthMM = 60
	return o
}

// TestCuttingDecides gives a box of 50 × 50 mm to the white film, whose white is lighter, and
// 10 bars of 5 mm and 1.2 m of outline to the process that weeds itself.
func TestCuttingDecides(t *testing.T) {
	box := func(x, y int) bool { return x >= 25 && x < 275 && y >= 25 && y < 275 }
	bars := func(x, y int) bool { return y >= 10 && y < 290 && x%30 < 25 }
	for name, c := range map[string]struct {
		inside func(x, y int) bool
		cutMM  float64
		pick   string
		white  string
	}{
		"box": {box, 4 * 50, "white film", WhiteFilm}, "bars": {bars, 10 * (2*56 + 2*5), "dark garment", WhiteNeeded},
	} {
		got, m := choices(t, solid(t, c.inside))
		film := m["white film"]
		if film.CutMM < 0.97*c.cutMM || film.CutMM > 1.03*c.cutMM || m["dark garment"].CutMM != 0 {
			t.Errorf("%s: %.1f mm to cut, want about %.1f, and %.1f on film that weeds itself", name, film.CutMM, c.cutMM, m["dark garment"].CutMM)
		}
		if got.Pick != c.pick || got.White != c.white {
			t.Errorf("%s: %s; %s", name, got.Answer, got.Reason)
		}
	}
}

// TestWhiteIsWeighed: where art holds its colours without white, its own whites decide, and
// where it has none, the price; what was decided is said. A process without white that makes
// another picture of the art is wrong for the item.
func TestWhiteIsWeighed(t *testing.T) {
	draw := func(item string, c color.NRGBA, white bool) order.Order {
		img := image.NewNRGBA(image.Rect(0, 0, 200, 200))
		for i := range 200 * 200 {
			img.SetNRGBA(i%200, i/200, c)
			if white && i/200 < 60 {
				img.SetNRGBA(i%200, i/200, color.NRGBA{255, 255, 255, 255})
			}
		}
		o := ordertest.Draw(t, img)
		o.Wish.WidthMM, o.ItemName = 40, item
		return o
	}
	red := color.NRGBA{200, 20, 30, 255}
	for name, c := range map[string]struct {
		o                     order.Order
		grey                  bool
		white, answer, reason string
	}{
		"red on grey":    {draw("white tee", red, false), true, WhiteNotNeeded, "White not needed: the art looks right without it.", "Light garment (no white): the cheapest that looks right"},
		"white on grey":  {draw("white tee", red, true), true, WhiteNeeded, "White needed: without it what is white measures L* 81 in place of 88.", "Light garment costs EUR 0."},
		"black on black": {draw("black tee", color.NRGBA{23, 23, 26, 255}, false), false, WhiteNotNeeded, "White does not help: the art has the very colour of black tee.", ""},
		"red on navy":    {draw("enamel mug", red, true), true, WhiteNeeded, "White needed, but no process of the shop's prints it on enamelled steel.", "the nearest to the design that the shop has"},
	} {
		if c.grey {
			lab := colour.Lab{L: 80.6}
			if name == "red on navy" {
				lab = colour.Lab{L: 12, A: 40, B: -60}
			}
			c.o.ItemColour = &lab
		}
		got, err := Compare(c.o)
		if err != nil {
			t.Fatal(err)
		}
		if got.White != c.white || !strings.HasPrefix(got.Answer, c.answer) || !strings.Contains(got.Reason, c.reason) {
			t.Errorf("%s: %s: %s %s", name, got.White, got.Answer, got.Reason)
		}
	}
	for name, want := range map[string]bool{"black tee": true, "white tee": false} {
		o := draw(name, red, false)
		o.ProcessName, o.Quantities = "light garment", []int{1}
		for _, parts := range []Part{0, Findings, Quotation} {
			p, err := Make(o, parts)
			if err != nil {
				t.Fatal(err)
			}
			stopped := slices.ContainsFunc(p.Stops, func(s Stop) bool {
				return s.Kind == flaw.WrongItem && strings.HasPrefix(s.Advice, "Light garment prints no white, and on black tee the red turns black (average difference ")
			})
			if stopped != want {
				t.Errorf("red without white on %s, parts %d: %+v", name, parts, p.Stops)
			}
		}
	}
}

// TestCuttingIsPaid follows 200 mm of outline at 5 mm a second and 24.00 an hour into the
// choice and the quote: 40 s and 0.2667 a print, on a line of its own.
func TestCuttingIsPaid(t *testing.T) {
	o := solid(t, func(x, y int) bool { return x >= 25 && x < 275 && y >= 25 && y < 275 })
	o.ProcessName, o.Quantities = "white film", []int{10}
	p, err := Make(o, Quotation|Comparison)
	if err != nil {
		t.Fatal(err)
	}
	want := decimal.NewFromFloat(p.Quoted.CutMM).Div(decimal.NewFromInt(5)).Mul(decimal.NewFromInt(24)).DivRound(decimal.NewFromInt(3600), price.Places+4)
	if got := p.Quoted.Quantities[0].CostTotal.Line[price.CuttingLine]; p.Quoted.CutMM < 195 || p.Quoted.CutMM > 202 || !got.Equal(want.Mul(decimal.NewFromInt(10)).Round(price.Places)) {
		t.Errorf("ten pieces of %.1f mm: cutting %s, want ten times %s", p.Quoted.CutMM, got, want)
	}
	for _, v := range p.Underbase.Choices {
		if v.Process == "white film" && v.CuttingEach != want.Round(price.Places).StringFixed(price.Places) {
			t.Errorf("the choice has cutting %s, want %s", v.CuttingEach, want)
		}
	}
	o.Shop.Media[2].WeedsItself = true
	if p, err = Make(o, Quotation); err != nil || p.Quoted.CutMM != 0 || !p.Quoted.Quantities[0].CostTotal.Line[price.CuttingLine].IsZero() {
		t.Errorf("a film that weeds itself is cut: %+v, %v", p.Quoted, err)
	}
}

// TestCutAroundInk has art without clear parts: what is printed is cut around, and bare paper
// within it is not cut out.
func TestCutAroundInk(t *testing.T) {
	img := image.NewNRGBA(image.Rect(0, 0, 300, 300))
	for i := range 300 * 300 {
		x, y := i%300-150, i/300-150
		c := color.NRGBA{255, 255, 255, 255}
		if d := x*x + y*y; d < 125*125 && d >= 60*60 {
			c = color.NRGBA{60, 130, 90, 255}
		}
		img.SetNRGBA(i%300, i/300, c)
	}
	o := ordertest.Draw(t, img)
	o.ProcessName, o.Wish.WidthMM = "white film", 60
	p, err := Make(o, 0)
	if want := 2 * math.Pi * 25; err != nil || math.Abs(p.Laid.CutMM-want) > 0.02*want {
		t.Errorf("%.1f mm to cut, want %.1f, %v", p.Laid.CutMM, want, err)
	}
}

// TestFoilIsNotOffered leaves out processes that lay foil, and those for other materials.
func TestFoilIsNotOffered(t *testing.T) {
	o := solid(t, func(x, y int) bool { return x > 100 })
	foil := o.Shop.Processes[1]
	foil.Name, foil.Foil = "foil", true
	o.Shop.Processes = append(o.Shop.Processes, foil)
	if _, m := choices(t, o); len(m) != 3 || m["foil"].Process != "" {
		t.Errorf("choices %v", m)
	}
}

// TestBareIsTriedWhereNoneIsOffered says what no white would do also where every process of
// the shop prints it.
func TestBareIsTriedWhereNoneIsOffered(t *testing.T) {
	o := solid(t, func(x, y int) bool { return x > 100 })
	o.Shop.Processes = o.Shop.Processes[:1]
	if c, m := choices(t, o); len(m) != 1 || !strings.HasPrefix(c.Answer, "White needed: without white the green turns black: average difference 44.") {
		t.Errorf("%d choices: %s", len(m), c.Answer)
	}
}

// TestOpaqueWhiteHidesTheItem makes white toner wholly opaque and unchoked: the
// item's colour no longer matters.
func TestOpaqueWhiteHidesTheItem(t *testing.T) {
	var looks []float64
	for _, item := range []string{"black tee", "white tee"} {
		o := ordertest.Banner(t)
		o.Wish.WidthMM, o.ItemName = 60, item
		o.Shop.Printers[0].WhiteContrast = 100
		for i := range o.Shop.Processes {
			o.Shop.Processes[i].Choke = 0
		}
		_, m := choices(t, o)
		looks = append(looks, m["dark garment"].MeanDeltaE)
	}
	if looks[0] != looks[1] || looks[0] > 0.5 {
		t.Errorf("mean ΔE00 %v on black and on white, want the same and none", looks)
	}
}

func TestCompareRefuses(t *testing.T) {
	o := ordertest.Badge(t)
	o.Shop.Items = append(o.Shop.Items, shop.Item{Name: "driftwood", Material: "bone"})
	o.ItemName = "driftwood"
	if _, err := Compare(o); err == nil || !strings.Contains(err.Error(), "materials") {
		t.Errorf("no process for bone: %v", err)
	}
	o.ItemName = "black tee"
	o.Wish.WidthMM = 900
	if _, err := Compare(o); err == nil || !strings.Contains(err.Error(), "does not fit") {
		t.Errorf("too large: %v", err)
	}
}

// TestEveryRule compares five rules for the one process that prints white, among them
// the process's own with the figures that it has without the others.
func TestEveryRule(t *testing.T) {
	o := ordertest.Badge(t)
	plain, own := choices(t, o)
	o.EveryRule = true
	c, err := Compare(o)
	if err != nil {
		t.Fatal(err)
	}
	seen := map[string]Choice{}
	for _, v := range c.Choices {
		if v.Process == "dark garment" {
			seen[v.WhiteRule] = v
		}
	}
	if len(c.Choices) != 7 || len(seen) != 5 || seen["under"].MeanDeltaE != own["dark garment"].MeanDeltaE || seen["under"].CostEach != own["dark garment"].CostEach || c.Pick != plain.Pick {
		t.Errorf("%d choices, %d rules, pick %s", len(c.Choices), len(seen), c.Pick)
	}
	if p, err := o.Shop.Process("dark garment"); err != nil || p.White != "under" {
		t.Errorf("the shop's own process now has white %s, %v", p.White, err)
	}
}

// TestMeanNote explains a mean above the 95th percentile, as small art has whose white is
// pulled back all round.
func TestMeanNote(t *testing.T) {
	for want, list := range map[string][]Choice{
		"": {{MeanDeltaE: 2, P95DeltaE: 5, WhitePercent: 60}, {MeanDeltaE: 0, P95DeltaE: 0}},
		"Where the average is above the figure that the worst 5 % exceed, a small part of the art is far off.":                                                              {{MeanDeltaE: 2, P95DeltaE: 5, WhitePercent: 60}, {MeanDeltaE: 3, P95DeltaE: 2}},
		"Where the average is above the figure that the worst 5 % exceed, a small part of the art is far off: most often the rim, where white is pulled back at the edges.": {{MeanDeltaE: 3, P95DeltaE: 2}, {MeanDeltaE: 4.9, P95DeltaE: 4.1, WhitePercent: 60}},
	} {
		if got := (&Choices{Choices: list}).MeanNote(); got != want {
			t.Errorf("%q, want %q", got, want)
		}
	}
	img := image.NewNRGBA(image.Rect(0, 0, 300, 300))
	for i := range 280 * 280 {
		img.SetNRGBA(10+i%280, 10+i/280, color.NRGBA{60, 130, 90, 255})
	}
	o := ordertest.Draw(t, img)
	o.Wish.WidthMM = 50
	c, m := choices(t, o)
	if v := m["dark garment"]; v.MeanDeltaE <= v.P95DeltaE || c.MeanNote() == "" {
		t.Errorf("a rim of one pixel in a hundred: mean %.2f, 95 %% up to %.2f, %q", v.MeanDeltaE, v.P95DeltaE, c.MeanNote())
	}
}
