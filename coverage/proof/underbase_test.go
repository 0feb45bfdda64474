package proof

import (
	"image"
	"image/color"
	"strings"
	"testing"

	"laydown/coverage/order"
	"laydown/coverage/order/ordertest"
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
	if c.Pick != "white film" || !strings.Contains(c.Reason, "white film, white none: at EUR 0.2589") {
		t.Errorf("on black: %s", c.Reason)
	}
	// Toner and media by hand: 1.90 a sheet, 6 on it.
	if v := m["dark garment"]; v.MediaEach != "0.3167" || v.TonerEach != "0.0976" || v.CostEach != "0.4143" {
		t.Errorf("dark garment costs %s + %s = %s", v.TonerEach, v.MediaEach, v.CostEach)
	}
	o.ItemName = "white tee"
	c, m = choices(t, o)
	if c.Pick != "light garment" {
		t.Errorf("on white: %s", c.Reason)
	}
	if d := m["light garment"].MeanDeltaE - m["dark garment"].MeanDeltaE; d > 1 || d < -1 {
		t.Errorf("on a white shirt, white toner should hardly matter: mean ΔE00 %.2f and %.2f", m["light garment"].MeanDeltaE, m["dark garment"].MeanDeltaE)
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
	o.Shop.Items = append(o.Shop.Items, shop.Item{Name: "driftwood", Material: "wood"})
	o.ItemName = "driftwood"
	if _, err := Compare(o); err == nil || !strings.Contains(err.Error(), "materials") {
		t.Errorf("no process for wood: %v", err)
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
		`Where the mean is above "95 % up to", less than 5 % of the art is far off and counts into the mean.`:                                                              {{MeanDeltaE: 2, P95DeltaE: 5, WhitePercent: 60}, {MeanDeltaE: 3, P95DeltaE: 2}},
		`Where the mean is above "95 % up to", less than 5 % of the art is far off and counts into the mean: most often the rim, where white is pulled back at the edges.`: {{MeanDeltaE: 3, P95DeltaE: 2}, {MeanDeltaE: 4.9, P95DeltaE: 4.1, WhitePercent: 60}},
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
