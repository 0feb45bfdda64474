package proof

import (
	"encoding/json"
	"fmt"
	"image"
	"image/color"
	"maps"
	"math"
	"slices"
	"strings"
	"testing"

	"golang.org/x/image/colornames"

	"laydown/colour"
	"laydown/colour/icc"
	"laydown/colour/reference"
	"laydown/colour/swatch"
	"laydown/coverage/order/ordertest"
	"laydown/coverage/plate"
	"laydown/coverage/shop"
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
	// White toner of 85 % contrast is darker than the film: absolute, a cream misses on it.
	// Beside that white, which is what an eye sees, it does not.
	if white.DeltaAbsolute < 5 || white.PrintedLab[0] > film.PrintedLab[0]-5 || white.Grade != "close" || !white.InGamut || !whiteMoss.InGamut {
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
	o.Swatches = []swatch.Swatch{{Name: "Race Blue", Lab: colour.FromSRGB(27, 79, 216), Screen: true}, {Name: "Dawn", Lab: colour.FromSRGB(255, 106, 19), Screen: true}}
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
	reference.Long(t)
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
	// Beside white toner, which is darker than paper, the shirt is a lighter dark.
	if look[plate.Knockout] > look[plate.Under]+1.5 {
		t.Errorf("knockout looks worse by more than a hair: %v", look)
	}
	if !(cost[plate.NoWhite] == 0 && cost[plate.Tonal] < 0.8*cost[plate.Knockout] && cost[plate.All] == 100) {
		t.Errorf("white by rule: %v", cost)
	}
	if !(look[plate.Under] < look[plate.Tonal] && look[plate.Tonal] < look[plate.NoWhite]) {
		t.Errorf("mean ΔE00 by rule: %v", look)
	}
}

// TestSaidIsPrinted asks for what the art's own colours print, and reads the plates at
// pixels of those colours: they hold the very numbers.
func TestSaidIsPrinted(t *testing.T) {
	img := image.NewNRGBA(image.Rect(0, 0, 60, 20))
	colours := []color.NRGBA{{65, 105, 225, 255}, {255, 0, 255, 255}, {20, 120, 60, 255}}
	for i := range img.Pix {
		c := colours[i/4%60/20]
		img.Pix[i] = []uint8{c.R, c.G, c.B, c.A}[i%4]
	}
	o := ordertest.Draw(t, img)
	o.Wish.WidthMM = 30
	for _, c := range colours {
		o.Swatches = append(o.Swatches, swatch.Swatch{Name: colour.FromSRGB(c.R, c.G, c.B).Hex(), Lab: colour.FromSRGB(c.R, c.G, c.B), Screen: true})
	}
	p, err := Make(o, Matches)
	if err != nil {
		t.Fatal(err)
	}
	if len(p.Main) != 3 {
		t.Fatalf("%d main colours, want 3", len(p.Main))
	}
	for i, c := range colours {
		hex := colour.FromSRGB(c.R, c.G, c.B).Hex()
		at := slices.IndexFunc(p.Main, func(m MainColour) bool { return m.Hex == hex })
		for who, said := range map[string]Tones{"the art's own colour": p.Main[at].Plates, "the swatch": p.Swatches[i].Plates} {
			for k := range 4 {
				laid := float64(p.Laid.Plates.Plane[k][5*60+20*i+10]) / 2.55
				if d := *said.At(k) - laid; d > 0.06 || d < -0.06 {
					t.Errorf("%s %s: %s is said to be %.1f %%, and %.1f %% is laid", who, hex, plate.Names[k], *said.At(k), laid)
				}
			}
		}
	}
	// What is said to be best prints so, if the file asks for its numbers.
	magenta := p.Swatches[1]
	if b := magenta.Best; b != nil && b.DeltaE00 >= magenta.DeltaE00 {
		t.Errorf("the best, ΔE00 %.2f, is no better than the separation, %.2f", b.DeltaE00, magenta.DeltaE00)
	}
}

// TestWhiteAndBlackMatch asks for the ends of the scale, which every print has.
func TestWhiteAndBlackMatch(t *testing.T) {
	for _, c := range [][2]string{{"white film", "black tee"}, {"dark garment", "black tee"}, {"light garment", "white tee"}} {
		o := ordertest.New(t, "")
		o.ProcessName, o.ItemName = c[0], c[1]
		o.Swatches = []swatch.Swatch{{Name: "white", Lab: colour.FromSRGB(255, 255, 255), Screen: true}, {Name: "black", Screen: true},
			{Name: "paper", Lab: colour.Lab{L: 100}, Relative: true}}
		f, err := MatchSwatches(o)
		if err != nil {
			t.Fatal(err)
		}
		for _, s := range f.Swatches {
			if s.Grade != "close" {
				t.Errorf("%s on %s: %s is %s, ΔE00 %.1f", c[0], c[1], s.Name, s.Grade, s.DeltaE00)
			}
		}
		if !f.White.Own || !strings.Contains(f.White.Sentence, "White prints as L*") {
			t.Errorf("%s on %s: white %+v", c[0], c[1], f.White)
		}
	}
	o := ordertest.New(t, "")
	o.ProcessName, o.ItemName, o.Swatches = "light garment", "black tee", []swatch.Swatch{{Name: "white", Lab: colour.FromSRGB(255, 255, 255), Screen: true}}
	if f, err := MatchSwatches(o); err != nil || f.White.Own || f.Swatches[0].Grade != "off" {
		t.Errorf("without white on black: %+v, %v", f, err)
	}
}

// TestBestKeepsHue asks for every named colour of SVG 1.1 on items: what is told as the
// best in reach has the hue that is wanted, in IPT, within 4°, or turns no farther than
// the separation does.
func TestBestKeepsHue(t *testing.T) {
	reference.Long(t)
	told := 0
	for _, c := range [][2]string{{"white film", "white tee"}, {"dark garment", "black tee"}} {
		for _, intent := range []icc.Intent{icc.Relative, icc.Perceptual} {
			o := ordertest.New(t, "")
			o.ProcessName, o.ItemName, o.Intent = c[0], c[1], intent
			names := slices.Sorted(maps.Keys(colornames.Map))
			for _, n := range reference.Sweep(t, names, func(n string) bool { return len(n) <= 5 || strings.HasSuffix(n, "green") }) {
				v := colornames.Map[n]
				o.Swatches = append(o.Swatches, swatch.Swatch{Name: n, Lab: colour.FromSRGB(v.R, v.G, v.B), Screen: true})
			}
			f, err := MatchSwatches(o)
			if err != nil {
				t.Fatal(err)
			}
			for _, s := range f.Swatches {
				want := s.Target.XYZ(colour.D50).IPT()
				if s.Best == nil || want.Chroma() < 0.03 {
					continue
				}
				told++
				turn := func(l [3]float64) float64 {
					i := colour.Lab{L: l[0], A: l[1], B: l[2]}.XYZ(colour.D50).IPT()
					return math.Abs(math.Remainder(i.Hue()-want.Hue(), 2*math.Pi)) * 180 / math.Pi
				}
				if best, separated := turn(s.Best.SeenPrintedLab), turn(s.SeenPrintedLab); best > math.Max(4, separated+0.5) {
					t.Errorf("%s, %s, %s: at best its hue turns by %.1f°, and as separated by %.1f°", c[0], intent, s.Name, best, separated)
				}
			}
		}
	}
	if told == 0 {
		t.Error("nothing is told as better than the separation")
	}
}

// TestItemAsWhite prints white on items without white toner, from white to dark and
// coloured: what is light and neutral passes for white, a yellow never does, and items
// that look nearly alike are judged nearly alike.
func TestItemAsWhite(t *testing.T) {
	off := func(hex string) (float64, White) {
		o := ordertest.New(t, "")
		var r, g, b uint8
		if _, err := fmt.Sscanf(hex, "#%02x%02x%02x", &r, &g, &b); err != nil {
			t.Fatal(err)
		}
		c := colour.FromSRGB(r, g, b)
		o.ProcessName, o.ItemName, o.ItemColour = "light garment", "white tee", &c
		o.Swatches = []swatch.Swatch{{Name: "white", Lab: colour.FromSRGB(255, 255, 255), Screen: true}}
		f, err := MatchSwatches(o)
		if err != nil {
			t.Fatal(err)
		}
		return f.Swatches[0].DeltaE00, f.White
	}
	for hex, c := range map[string]struct {
		least, most float64
		says        string
	}{
		"#ffffff": {0, 1, "as light as paper"},
		"#dddddd": {0, 1, "a little grey"},
		"#fff5e0": {0, 3, "tinted"},
		"#ffd000": {25, 99, "judged beside paper"},
		"#ffc0cb": {10, 99, "pink"},
		"#7fd07f": {15, 99, "judged beside paper"},
		"#303030": {40, 99, "judged beside paper"},
	} {
		if d, w := off(hex); d < c.least || d > c.most || !strings.Contains(w.Sentence, c.says) {
			t.Errorf("white on %s: ΔE00 %.1f, %+v", hex, d, w)
		}
	}
	last := 0.0
	for v := 220; v >= 100; v -= 4 {
		d, _ := off(fmt.Sprintf("#%02x%02x%02x", v, v, v))
		if d < last-0.1 || d > last+6 {
			t.Errorf("white on grey %d: ΔE00 %.1f after %.1f on one a little lighter", v, d, last)
		}
		last = d
	}
}

// TestHalfClearLooksAsSolid compares a flat colour with the same at 60 % alpha: where the
// art is, it looks the same, for colour and white are thinned alike.
func TestHalfClearLooksAsSolid(t *testing.T) {
	look := func(alpha uint8) float64 {
		img := image.NewNRGBA(image.Rect(0, 0, 80, 80))
		for i := range 80 * 80 {
			img.SetNRGBA(i%80, i/80, color.NRGBA{60, 130, 90, alpha})
		}
		o := ordertest.Draw(t, img)
		o.Wish.WidthMM = 200 // the choke takes a row or two
		_, m := choices(t, o)
		return m["dark garment"].MeanDeltaE
	}
	solid := look(255)
	for _, alpha := range []uint8{153, 99} { // 60 % and 39 %
		if d := look(alpha) - solid; d > 0.3 || d < -0.3 {
			t.Errorf("mean ΔE00 %.2f solid, %+.2f at alpha %d", solid, d, alpha)
		}
	}
}

// TestHalfClearHasColours finds the colour of a flat tint at 39 % alpha, which has no
// solid pixel.
func TestHalfClearHasColours(t *testing.T) {
	img := image.NewNRGBA(image.Rect(0, 0, 80, 80))
	for i := range 60 * 60 {
		img.SetNRGBA(10+i%60, 10+i/60, color.NRGBA{60, 130, 90, 99})
	}
	o := ordertest.Draw(t, img)
	o.ProcessName, o.ItemName = "dark garment", "black tee"
	o.Wish.WidthMM = 80
	p, err := Make(o, Matches)
	if err != nil {
		t.Fatal(err)
	}
	if m := p.Main; len(m) != 1 || m[0].Hex != "#3c825a" || !m[0].Flat || *m[0].AreaPercent < 20 || *m[0].AreaPercent > 22 { // 39 % of 56 %
		t.Errorf("main colours %+v", m)
	}
}

// TestGivenColour has an order for an item in another colour than its own, which its name
// contradicts.
func TestGivenColour(t *testing.T) {
	for hex, want := range map[string][2]string{
		"#ffd000": {"tee in #ffd000", "tee in #ffd000"},
		"#17171a": {"black tee", "black tee (#17171a)"}, // its own
	} {
		o := ordertest.Badge(t)
		c, err := colour.Parse(hex)
		if err != nil {
			t.Fatal(err)
		}
		o.ItemName, o.ProcessName, o.ItemColour = "black tee", "dark garment", &c
		p, err := Make(o, Quotation)
		if err != nil {
			t.Fatal(err)
		}
		if got := [2]string{p.Item.Said(), p.Item.SaidInFull()}; got != want {
			t.Errorf("%s: %q, want %q", hex, got, want)
		}
		if ticket := p.Ticket(0); ticket.ItemSaid != want[0] || ticket.Item != "black tee" || p.Quoted.Placed != "on "+want[0] || p.Quoted.Item != "black tee" {
			t.Errorf("%s: ticket for %q, quote for %q", hex, ticket.ItemSaid, p.Quoted.Placed)
		}
		choice, err := Compare(o)
		if err != nil || !strings.Contains(choice.Reason, "looks right on "+want[0]+": ") {
			t.Errorf("%s: %+v, %v", hex, choice, err)
		}
	}
}

// TestWhiteIsToldUpTo100 prints white toner on a clear window with white behind, which the
// model makes lighter than a perfect white.
func TestWhiteIsToldUpTo100(t *testing.T) {
	o := ordertest.Badge(t)
	o.ProcessName = "dark garment"
	o.Shop.Items[0].Clear, o.Shop.Items[0].Seen, o.Shop.Items[0].Colour.Lab = true, shop.Front, colour.Lab{L: 100}
	j, err := o.Resolve()
	if err != nil {
		t.Fatal(err)
	}
	m, err := newMatcher(j)
	if err != nil {
		t.Fatal(err)
	}
	if m.eye.White.L < 100.5 {
		t.Fatalf("the model's white is L* %.1f, which tests nothing", m.eye.White.L)
	}
	if w := m.printWhite(); w.Sentence != "White prints as L* 100 here, as light as paper; colours are judged beside it." {
		t.Error(w.Sentence)
	}
	c := &Choices{Choices: []Choice{{Process: "p", PrintWhite: White{Lab: [3]float64{102}}}}}
	if c.pick(3.5); !strings.HasSuffix(c.Reason, "its white measures L* 100).") {
		t.Error(c.Reason)
	}
}

// TestItemFacts has items that are more than a colour.
func TestItemFacts(t *testing.T) {
	for name, c := range map[string]struct {
		change         func(*shop.Item, *shop.Process)
		item, sentence string
	}{
		"plain": {func(v *shop.Item, p *shop.Process) {}, `{"name":"black tee","colour":"#17171a"}`, "colours are judged beside it."},
		"mixed": {func(v *shop.Item, p *shop.Process) {
			v.Colours, v.Shares = []shop.Colour{{Lab: colour.Lab{}}, {Lab: colour.Lab{L: 100}}, {Lab: colour.Lab{}}}, []float64{25, 50, 25}
		}, `{"name":"black tee","colour":"#bcbcbc","mixed":[{"colour":"#000000","share_percent":25},{"colour":"#ffffff","share_percent":50},{"colour":"#000000","share_percent":25}]}`,
			"colours are judged beside it."},
		"mirror": {func(v *shop.Item, p *shop.Process) { v.Colour.Lab, v.Finish = colour.Lab{L: 100}, "mirror" },
			`{"name":"black tee","colour":"#bebebe","finish":"mirror","facing":{"light":"#ffffff","dark":"#303030"}}`, "from L* 100 before something light to 20 before something dark: colours go by the mean, and only those on solid white keep."},
		"through": {func(v *shop.Item, p *shop.Process) { v.Clear, v.Seen = true, shop.Through },
			`{"name":"black tee","colour":"#17171a","seen":"through"}`, `choose a process with white_side = "over".`},
		"through, over": {func(v *shop.Item, p *shop.Process) {
			v.Clear, v.Seen, p.WhiteSide = true, shop.Through, shop.OverColours
		},
			`{"name":"black tee","colour":"#17171a","seen":"through"}`, "colours are judged beside it."},
		"front, over": {func(v *shop.Item, p *shop.Process) { v.Clear, v.Seen, p.WhiteSide = true, shop.Front, shop.OverColours },
			`{"name":"black tee","colour":"#17171a","seen":"front"}`, "this one is seen from the front."},
		"tee, over": {func(v *shop.Item, p *shop.Process) { p.WhiteSide = shop.OverColours },
			`{"name":"black tee","colour":"#17171a"}`, "this process is for clear items that are seen through."},
	} {
		o := ordertest.Badge(t)
		c.change(&o.Shop.Items[0], &o.Shop.Processes[0])
		j, err := o.Resolve()
		if err != nil {
			t.Fatal(err)
		}
		if got, err := json.Marshal(itemFacts(j)); err != nil || string(got) != c.item {
			t.Errorf("%s: %s, %v, want %s", name, got, err, c.item)
		}
		m, err := newMatcher(j)
		if err != nil {
			t.Fatal(err)
		}
		w := m.printWhite()
		if !strings.HasSuffix(w.Sentence, c.sentence) {
			t.Errorf("%s: %s", name, w.Sentence)
		}
		if (w.FacingLight != nil) != (name == "mirror") {
			t.Errorf("%s: facing light %v", name, w.FacingLight)
		}
	}
}
