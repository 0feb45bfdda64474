package shop

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"github.com/shopspring/decimal"

	"laydown/colour"
	"laydown/colour/layer"
	"laydown/colour/press"
	"laydown/coverage/plate"
	"laydown/coverage/price"
	"laydown/coverage/unit"
)

// checker looks for figures of a shop that cannot be, once its defaults are filled in.
type checker struct {
	shop  *Shop
	root  *node // of the file, for the lines
	found []mistake
}

// check returns every mistake that reading the file alone does not find.
func check(s *Shop, root *node) []mistake {
	c := &checker{shop: s, root: root}
	c.top()
	c.match()
	c.layout()
	for i, p := range s.Printers {
		c.printer(p, path{"printer", i})
	}
	for i, m := range s.Media {
		c.medium(m, c.table("media", i))
	}
	for i, v := range s.Items {
		c.item(v, c.table("item", i))
	}
	for i, v := range s.Covers {
		c.cover(v, c.table("cover", i))
	}
	for i, p := range s.Processes {
		c.process(p, path{"process", i})
	}
	c.labour()
	c.costs()
	c.pricing()
	return c.found
}

// tableAt is a table of the file that is being checked.
type tableAt struct {
	*checker
	in path
}

func (c *checker) table(in ...any) tableAt { return tableAt{c, in} }

// say notes a mistake at a key, or at the table itself for the key "". Where the key is
// not written, the line is that of the table; where that is not, of the one around it.
func (t tableAt) say(key, format string, v ...any) { t.sayOf(key, nil, format, v...) }

// sayOf is say for one entry of a key that holds a list.
func (t tableAt) sayOf(key string, entry path, format string, v ...any) {
	at := t.in
	if key != "" {
		at, key = at.to(key).to(entry...), t.spelt(key)
	}
	n, _ := t.root.find(at)
	t.found = append(t.found, mistake{t.in, key, n.line, fmt.Sprintf(format, v...)})
}

// written is the first of some keys that the file has, or the very first if it has none:
// where figures contradict each other, a default is not the one to blame.
func (t tableAt) written(keys ...string) string {
	for _, k := range keys {
		if t.has(k) {
			return k
		}
	}
	return keys[0]
}

// spelt is a key as the file has it: it may be there by a former name.
func (t tableAt) spelt(key string) string {
	if n, ok := t.root.find(t.in.to(key)); ok {
		return n.key
	}
	return key
}

// amount and length are figures with their keys.
type (
	amount struct {
		key string
		v   decimal.Decimal
	}
	length struct {
		key string
		v   unit.Length
	}
)

func (t tableAt) amounts(list ...amount) {
	for _, a := range list {
		if a.v.IsNegative() {
			t.say(a.key, "%s must not be negative", t.spelt(a.key))
		}
	}
}

// prices asks for amounts that can be paid in the shop's currency.
func (t tableAt) prices(list ...amount) {
	t.amounts(list...)
	for _, a := range list {
		if places := t.shop.Places(); !price.Payable(a.v, places) {
			t.say(a.key, "%s = %s has more than the %d decimal places of %s", t.spelt(a.key), a.v, places, t.shop.Currency)
		}
	}
}

// lengths asks for figures from 0 to mostMM.
func (t tableAt) lengths(mostMM float64, list ...length) {
	for _, l := range list {
		switch {
		case l.v < 0:
			t.say(l.key, "%s must not be negative", l.key)
		case l.v.MM() > mostMM:
			t.say(l.key, "%s must be at most %g mm", l.key, mostMM)
		}
	}
}

// mostSideMM is longer than any sheet and any roll that is cut.
const mostSideMM = 10_000

func (t tableAt) sides(key string, s unit.Sheet) {
	if max(s.WidthMM, s.HeightMM) > mostSideMM {
		t.say(key, "%s: a side must be at most %g mm", key, float64(mostSideMM))
	}
}

// missing notes keys that must be written and are not; example is a value.
func (t tableAt) missing(key, example string) bool {
	if t.has(key) {
		return false
	}
	t.say(key, "%s is missing: write for example %s = %s", key, key, example)
	return true
}

func (t tableAt) has(key string) bool {
	_, ok := t.root.find(t.in.to(key))
	return ok
}

func (t tableAt) within(key string, v, lo, hi float64) {
	if !(v >= lo && v <= hi) {
		t.say(key, "%s must be from %g to %g", key, lo, hi)
	}
}

func (t tableAt) oneOf(key, v string, list []string) {
	if v != "" && !slices.Contains(list, v) {
		t.say(key, "%s = %q: choose one of %s", key, v, strings.Join(list, ", "))
	}
}

// fails notes the error of a key's own type, and reports whether there is one.
func (t tableAt) fails(key string, err error) bool {
	if err != nil {
		t.say(key, "%v", err)
	}
	return err != nil
}

// names asks for entries of a list that can be told apart.
func (c *checker) names(kind, one, plural string, needed bool, names []string) {
	for i, n := range names {
		if t := c.table(kind, i); n == "" {
			t.say("name", "%s has no name", one)
		} else if slices.ContainsFunc(names[:i], func(v string) bool { return strings.EqualFold(v, n) }) {
			t.say("name", "two %s are called %q", plural, n)
		}
	}
	if len(names) == 0 && needed {
		c.table().say("", "there is no [[%s]]: at least one is needed", kind)
	}
}

func (c *checker) top() {
	s, t := c.shop, c.table()
	if s.Currency == "" {
		t.say("currency", "currency is missing: write for example currency = \"EUR\"")
	}
	c.names("printer", "a printer", "printers", true, s.PrinterNames())
	c.names("media", "one of the media", "media", true, s.MediaNames())
	c.names("item", "an item", "items", true, s.ItemNames())
	c.names("process", "a process", "processes", true, s.ProcessNames())
	c.names("cover", "a cover", "covers", false, list(s.Covers, func(c Cover) string { return c.Name }))
	if len(s.Processes) > 0 {
		_, err := s.Process(s.DefaultProcess)
		t.fails("default_process", err)
	}
	if len(s.Items) > 0 {
		_, err := s.Item(s.DefaultItem)
		t.fails("default_item", err)
	}
}

func (c *checker) match() {
	m, t := c.shop.Match, c.table("match")
	if err := m.Limits().Check(); err != nil {
		key := t.written("visible", "near")
		switch {
		case !(m.Close > 0):
			key = "close"
		case !(m.Near > m.Close):
			key = t.written("near", "close")
		}
		t.say(key, "%s: %v", key, err)
	}
	if m.CountsAs < 0 {
		t.say("counts_as", "counts_as must not be negative")
	}
}

// What is beyond these is a mistake, and more than can be drawn.
const (
	mostSpaceMM  = 200 // on a sheet, beside a print
	mostDetailMM = 20
	mostHeavyMM  = 500
	mostWhiteMM  = 5
)

func (c *checker) layout() {
	l := c.shop.Layout
	c.table("layout").lengths(mostSpaceMM, length{"margin", l.Margin}, length{"gap", l.Gap}, length{"bleed", l.Bleed}, length{"cutter", l.Cutter},
		length{"cutter_corner", l.Corner})
}

func (c *checker) printer(p Printer, in path) {
	t := tableAt{c, in}
	if p.TAC <= 0 || p.TAC > 400 {
		t.say("tac_percent", "tac_percent must be above 0 and at most 400")
	}
	_, err := press.ParseBlack(p.Black)
	t.fails("black", err)
	if p.WhiteContrast <= 0 || p.WhiteContrast > 100 {
		t.say("white_contrast_percent", "white_contrast_percent must be above 0 and at most 100")
	}
	c.measuredWhite(p, t)
	t.amounts(amount{"machine_hour", p.MachineHour})
	if toners, ok := c.root.find(in.to("toner")); ok {
		for _, n := range toners.order {
			if !slices.Contains(plate.Names[:], n.key) {
				c.table(in.to("toner", n.key)...).say("", "no toner is called %q: they are %s", n.key, strings.Join(plate.Names[:], ", "))
			}
		}
	}
	for k, n := range plate.Names {
		toner, ok := p.Toner[n]
		if !ok {
			if k != plate.White {
				t.say("", "has no toner.%s", n)
			}
			continue
		}
		t := c.table(in.to("toner", n)...)
		noPrice, noYield := t.missing("price", `"74.00"`), t.missing("yield_pages", "6000")
		if !toner.Price.IsNegative() { // which package price says
			t.prices(amount{"price", toner.Price})
		}
		t.sides("page", toner.Page)
		if err := toner.cartridge().Check(); err != nil {
			key, _, _ := strings.Cut(err.Error(), " ") // package price names the figure by its key
			if key == "yield_pages" && noYield || key == "price" && noPrice {
				continue
			}
			t.say(key, "toner.%s: %v", n, err)
		}
	}
	for i, w := range p.Wear {
		t := c.table(in.to("wear", i)...)
		t.prices(amount{"price", w.Price})
		t.sides("page", w.Page)
		if w.LifePages <= 0 {
			t.say("life_pages", "life_pages must be above 0")
		}
	}
}

// measuredWhite looks at solid white measured over two grounds; what the press's paper is
// is not known here.
func (c *checker) measuredWhite(p Printer, t tableAt) {
	const black, white = "white_on_black", "white_on_white"
	switch {
	case !t.has(black) && !t.has(white):
		for _, key := range []string{"black_ground", "white_ground"} {
			if t.has(key) {
				t.say(key, "%s says what %s and %s were measured over: write these too, or leave it out", key, black, white)
			}
		}
		return
	case t.has("white_contrast_percent"):
		t.say("white_contrast_percent", "give either white_contrast_percent or %s and %s", black, white)
	case !t.has(black) || !t.has(white):
		t.say(t.written(black, white), "%s and %s go together: measure solid white over both grounds", black, white)
		return
	}
	ground := p.WhiteGround.Lab
	if !p.WhiteGround.Given() {
		ground = colour.Lab{L: 100} // no paper is lighter
	}
	if _, err := layer.Measure(p.WhiteOnBlack.Lab, p.WhiteOnWhite.Lab, p.BlackGround.Lab, ground); err != nil {
		t.say(t.written("white_ground", "black_ground", white), "%v", err)
	}
}

func (c *checker) medium(m Medium, t tableAt) {
	t.bought(Size{m.Sheet, m.PriceEach, m.PackPrice, m.PackSheets})
	for k, v := range m.Sizes {
		t := c.table(t.in.to("size", k)...)
		t.bought(v)
		if v.PackSheets == 0 {
			t.missing("price_each", `"1.70", or pack_price and pack_sheets`)
		}
		one := m
		one.Sizes = m.Sizes[:k]
		if _, twice := one.Bought(v.Sheet); twice && v.Sheet.AreaMM2() > 0 {
			t.say("sheet", "sheet %s is there twice", v.Sheet)
		}
	}
	t.amounts(amount{"pages_per_minute", m.PagesPerMinute})
	if m.PerTransfer != 1 && m.PerTransfer != 2 {
		t.say("sheets_per_transfer", "sheets_per_transfer must be 1, or 2 where two sheets make one transfer")
	}
	if t.has("tac_percent") && !(m.TAC > 0 && m.TAC <= 400) {
		t.say("tac_percent", "tac_percent must be above 0 and at most 400")
	}
	t.within("smallest_tone_percent", m.SmallestTonePerc, 0, 100)
	t.within("heavy_percent", m.HeavyPercent, 0, 500)
	t.within("band_delta_e", m.BandDeltaE, 0, 100)
	t.lengths(mostDetailMM, length{"smallest_line", m.SmallestLine}, length{"smallest_gap", m.SmallestGap}, length{"smallest_dot", m.SmallestDot},
		length{"smallest_text", m.SmallestText}, length{"fade_width", m.FadeWidth}, length{"soft_edge", m.SoftEdge})
	t.lengths(mostHeavyMM, length{"heavy_width", m.HeavyWidth})
	t.lengths(mostSpaceMM, length{"cutter", m.Cutter}, length{"cutter_corner", m.Corner})
	if !(0 < m.LeastPPI && m.LeastPPI <= m.GoodPPI) {
		t.say(t.written("least_ppi", "good_ppi"), "least_ppi must be above 0 and not above good_ppi")
	}
}

// bought looks at what a sheet costs.
func (t tableAt) bought(v Size) {
	if !(v.Sheet.AreaMM2() > 0) {
		t.say("sheet", "sheet is missing: write for example sheet = \"A4\"")
	}
	t.sides("sheet", v.Sheet)
	t.prices(amount{"price_each", v.PriceEach}, amount{"pack_price", v.PackPrice})
	if v.PackSheets < 0 || (v.PackPrice.IsPositive() && v.PackSheets == 0) {
		t.say(t.written("pack_sheets", "pack_price"), "pack_sheets must be the number of sheets in the pack")
	}
	if v.PackSheets > 0 && v.PriceEach.IsPositive() {
		t.say("price_each", "give either price_each or pack_price and pack_sheets")
	}
	if v.PackSheets > 0 {
		t.missing("pack_price", `"95.00"`)
	}
}

func (c *checker) item(v Item, t tableAt) {
	if v.Clear {
		for _, key := range []string{"colour", "colours", "shares", "white_on_item", "finish"} {
			if t.has(key) {
				t.say(key, "a clear item has no %s: write behind = what lies behind it", key)
			}
		}
		t.oneOf("seen", v.Seen, seens)
	} else {
		c.mixed(v, t)
		var names []string
		for _, f := range finishes {
			names = append(names, f.name)
		}
		t.oneOf("finish", v.Finish, names)
		for _, key := range []string{"behind", "seen"} {
			if t.has(key) {
				t.say(key, "%s is for clear items: write clear = true as well, or leave it out", key)
			}
		}
	}
	t.prices(amount{"price", v.Price})
	t.sides("printable", v.Printable)
	switch {
	case v.Loose && t.has("price"):
		t.say("price", "loose goods have no blank that costs anything: leave price out")
	case !v.Loose && t.has("sold_by"):
		t.say("sold_by", "sold_by is for loose goods: write loose = true as well, or leave it out")
	}
	t.oneOf("sold_by", v.SoldBy, soldBy)
}

// mixed looks at what colours an item has.
func (c *checker) mixed(v Item, t tableAt) {
	switch {
	case !t.has("colours"):
		t.missing("colour", `"#17171a"`)
		if t.has("shares") {
			t.say("shares", "shares are those of colours: write these in place of colour, or leave shares out")
		}
		return
	case t.has("colour"):
		t.say("colour", "give either colour or colours")
	case len(v.Colours) < 2:
		t.say("colours", "colours are two or more: write for example colours = [\"#8a8d92\", \"#2b2d33\"], or one as colour")
	}
	if !t.has("shares") {
		return
	}
	if len(v.Shares) != len(v.Colours) {
		t.say("shares", "shares must be as many as colours, %d", len(v.Colours))
		return
	}
	sum := 0.0
	for i, p := range v.Shares {
		if !(p > 0) {
			t.sayOf("shares", path{i}, "shares must be above 0")
			return
		}
		sum += p
	}
	if math.Abs(sum-100) > 0.5 { // such as 33.3 three times
		t.say("shares", "shares must be 100 together, not %g", sum)
	}
}

func (c *checker) cover(v Cover, t tableAt) {
	t.prices(amount{"price", v.Price})
	if v.Uses <= 0 {
		t.say("uses", "uses must be above 0")
	}
}

func (c *checker) process(p Process, in path) {
	t := tableAt{c, in}
	_, err := plate.ParseRule(string(p.White))
	t.fails("white", err)
	t.within("white_density_percent", p.WhiteDensity, 0, 100)
	t.oneOf("white_side", p.WhiteSide, whiteSides)
	t.within("white_threshold_percent", p.WhiteThreshold, 0, 100)
	if !(math.Abs(p.Choke.MM()) <= mostWhiteMM) {
		t.say("choke", "choke must be from -%d mm to %d mm", mostWhiteMM, mostWhiteMM)
	}
	t.lengths(mostWhiteMM, length{"smallest_white", p.SmallestWhite})
	if !(p.KnockoutWithin > 0 && p.KnockoutWithin <= 50) {
		t.say("knockout_within", "knockout_within must be above 0 and at most 50")
	}
	if pr, err := c.shop.Printer(p.Printer); !t.fails("printer", err) {
		if _, ok := pr.Toner[plate.Names[plate.White]]; !ok && p.White != plate.NoWhite {
			t.say("white", "prints white, but printer %q has no toner.white", pr.Name)
		}
	}
	_, err = c.shop.Medium(p.Media)
	t.fails("media", err)
	if p.Cover != "" {
		_, err := c.shop.Cover(p.Cover)
		t.fails("cover", err)
	}
	for i, st := range p.Steps {
		c.step(st, p, c.table(in.to("step", i)...))
	}
	if moves, turned := p.moves(); moves && turned != p.Mirrored {
		if turned {
			t.say("mirrored", "mirrored = false, but by the moves of its steps the picture ends up mirrored: print it mirrored, or look whether a moves_to is missing or too many")
		} else {
			t.say("mirrored", "mirrored = true, but by the moves of its steps the picture ends up as it was printed: do not print it mirrored, or look whether a moves_to is missing or too many")
		}
	}
}

func (c *checker) step(st Step, of Process, t tableAt) {
	if st.Do == "" {
		t.say("do", "a step says nothing to do: write do = one of %s", strings.Join(deeds, ", "))
	}
	t.oneOf("do", st.Do, deeds)
	t.oneOf("per", st.Per, pers)
	if m, err := c.shop.Medium(of.Media); err == nil && st.Per == PerPair && m.PerTransfer != 2 {
		t.say("per", "per = \"pair\", but a transfer of %q is one sheet: write per = \"sheet\", or sheets_per_transfer = 2 for the media", m.Name)
	}
	t.oneOf("pressure", st.Pressure, pressures)
	t.oneOf("peel", st.Peel, peels)
	t.within("temperature_c", st.TemperatureC, 0, 260)
	t.within("seconds", st.Seconds, 0, 14*24*3600)
	if st.Covered && of.Cover == "" {
		t.say("covered", "covered says that a cover sheet is used, and the process names none: write cover = its name")
	}
}

func (c *checker) labour() {
	l := c.shop.Labour
	if t := c.table("labour"); !l.CutMMSecond.IsPositive() {
		t.say("cut_mm_second", "cut_mm_second must be above 0: how many mm of outline a person cuts along in a second")
	}
	c.table("labour").amounts(amount{"rate_hour", l.RateHour}, amount{"file_check_minutes", l.FileCheckMinutes}, amount{"setup_minutes", l.SetupMinutes},
		amount{"print_seconds", l.PrintSeconds}, amount{"weed_seconds", l.WeedSeconds}, amount{"heat_press_seconds", l.HeatPressSeconds}, amount{"pack_seconds", l.PackSeconds})
}

var hundred = decimal.NewFromInt(100)

func (c *checker) costs() {
	v, t := c.shop.Costs, c.table("costs")
	t.amounts(amount{"overhead_percent", v.OverheadPercent}, amount{"spoilage_percent", v.SpoilagePercent}, amount{"heat_press_hour", v.HeatPressHour})
	if v.SpoilagePercent.GreaterThanOrEqual(hundred) {
		t.say("spoilage_percent", "spoilage_percent must be below 100")
	}
}

func (c *checker) pricing() {
	p, t := c.shop.Pricing, c.table("pricing")
	t.amounts(amount{"margin_percent", p.MarginPercent}, amount{"markup_percent", p.MarkupPercent}, amount{"tax_percent", p.TaxPercent})
	t.prices(amount{"minimum_order", p.MinimumOrder})
	var ways []string
	for _, w := range []struct {
		key string
		set bool
	}{{"margin_percent", p.MarginPercent.IsPositive()}, {"markup_percent", p.MarkupPercent.IsPositive()}, {"rate", len(p.Rates) > 0}} {
		if w.set {
			ways = append(ways, w.key)
		}
	}
	if len(ways) > 1 {
		t.say(ways[len(ways)-1], "give one of margin_percent, markup_percent and [[pricing.rate]], not %d of them", len(ways))
	}
	if p.MarginPercent.GreaterThanOrEqual(hundred) {
		t.say("margin_percent", "margin_percent must be below 100: it is a part of the price")
	}
	_, err := price.ParseRounding(p.RoundTo, "", c.shop.Places())
	t.fails("round_to", err)
	_, err = price.ParseRounding("", p.Rounding, c.shop.Places())
	t.fails("rounding", err)
	for i, r := range p.Rates {
		t := c.table("pricing", "rate", i)
		if (i == 0 && r.From != 1) || (i > 0 && r.From <= p.Rates[i-1].From) {
			t.say("from", "rates must rise from = 1 on")
		}
		t.prices(amount{"each", r.Each})
	}
	if len(p.Quantities) == 0 {
		t.say("quantities", "quantities is empty: write for example quantities = [1, 12, 48]")
	}
	for i, q := range p.Quantities {
		if q <= 0 || (i > 0 && q <= p.Quantities[i-1]) {
			t.sayOf("quantities", path{i}, "quantities must be above 0 and rise")
		}
	}
}
