package shop

import (
	"math"
	"slices"
	"strings"

	"github.com/shopspring/decimal"

	"laydown/colour"
	"laydown/colour/layer"
	"laydown/colour/press"
	"laydown/coverage/drawing"
	"laydown/coverage/form"
	"laydown/coverage/plate"
	"laydown/coverage/price"
	"laydown/coverage/unit"
)

// checker looks for figures of a shop that cannot be, once its defaults are filled in.
type checker struct {
	*form.Check
	shop *Shop
}

// check returns every mistake that reading the file alone does not find.
func check(s *Shop, root *form.Node) []form.Mistake {
	c := &checker{&form.Check{Root: root}, s}
	c.top()
	c.match()
	c.layout()
	for i, p := range s.Printers {
		c.printer(p, form.Path{"printer", i})
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
	for i, v := range s.Supplies {
		c.supply(v, c.table("supply", i))
	}
	for i, p := range s.Processes {
		c.process(p, form.Path{"process", i})
	}
	c.labour()
	c.costs()
	c.pricing()
	c.terms()
	c.limits()
	return c.Found
}

// table is a table of the file that is being checked.
type table struct {
	form.Table
	shop *Shop
}

func (c *checker) table(in ...any) table { return table{c.Table(in...), c.shop} }

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

func (t table) amounts(list ...amount) {
	for _, a := range list {
		t.Amount(a.key, a.v)
	}
}

func (t table) lengths(mostMM float64, list ...length) {
	for _, l := range list {
		t.Length(l.key, l.v, mostMM)
	}
}

// prices asks for amounts that can be paid in the shop's currency.
func (t table) prices(list ...amount) {
	t.amounts(list...)
	for _, a := range list {
		if places := t.shop.Places(); !price.Payable(a.v, places) {
			t.Say(a.key, "%s = %s has more than the %d decimal places of %s", t.Spelt(a.key), a.v, places, t.shop.Currency)
		}
	}
}

func (t table) sides(key string, s unit.Sheet) {
	if most := t.shop.Limits.SheetMM; max(s.WidthMM, s.HeightMM) > float64(most) {
		t.Say(key, "%s: a side must be at most %d mm", key, most)
	}
}

// limits looks whether those of the shop are within what the program can keep to.
func (c *checker) limits() {
	t := c.table("limits")
	for _, l := range c.shop.Limits.Each() {
		if *l.Value < l.Least || *l.Value > l.Most {
			t.Say(l.Key, "%s must be from %d to %d", l.Key, l.Least, l.Most)
		}
	}
	if most := c.shop.Limits.Quantities; len(c.shop.Pricing.Quantities) > most {
		c.table("pricing").Say("quantities", "there are %d quantities, and at most %d are quoted: leave some out, or raise quantities under [limits]", len(c.shop.Pricing.Quantities), most)
	}
}

// mostEntries is how many of a kind a shop has at most: they are told apart by their beginnings.
const mostEntries = 1000

// names asks for entries of a list that can be told apart.
func (c *checker) names(kind, one, plural string, needed bool, names []string) {
	if len(names) > mostEntries {
		c.table(kind, mostEntries).Say("", "there are %d %s, and at most %d can be told apart: part the shop file by season or kind of goods", len(names), plural, mostEntries)
		return
	}
	for i, n := range names {
		if t := c.table(kind, i); n == "" {
			t.Say("name", "%s has no name", one)
		} else if slices.ContainsFunc(names[:i], func(v string) bool { return strings.EqualFold(v, n) }) {
			t.Say("name", "two %s are called %q", plural, n)
		}
	}
	if len(names) == 0 && needed {
		c.table().Say("", "there is no [[%s]]: at least one is needed", kind)
	}
}

func (c *checker) top() {
	s, t := c.shop, c.table()
	if s.Currency == "" {
		t.Say("currency", "currency is missing: write for example currency = \"EUR\"")
	}
	if z := s.Zone(); s.TimeZone == "Local" || s.TimeZone != "" && z == nil {
		t.Say("time_zone", "time_zone: no zone is called %q: write a name of the IANA list, such as Europe/Vienna or America/Chicago", s.TimeZone)
	}
	c.names("printer", "a printer", "printers", true, s.PrinterNames())
	c.names("media", "one of the media", "media", true, s.MediaNames())
	c.names("item", "an item", "items", true, s.ItemNames())
	c.names("process", "a process", "processes", true, s.ProcessNames())
	c.names("cover", "a cover", "covers", false, list(s.Covers, func(c Cover) string { return c.Name }))
	c.names("supply", "a supply", "supplies", false, list(s.Supplies, func(v Supply) string { return v.Name }))
	if len(s.Processes) > 0 {
		_, err := s.Process(s.DefaultProcess)
		t.Fails("default_process", err)
	}
	if len(s.Items) > 0 {
		_, err := s.Item(s.DefaultItem)
		t.Fails("default_item", err)
	}
}

func (c *checker) match() {
	m, t := c.shop.Match, c.table("match")
	if err := m.Limits().Check(); err != nil {
		key := t.Written("visible", "near")
		switch {
		case !(m.Close > 0):
			key = "close"
		case !(m.Near > m.Close):
			key = t.Written("near", "close")
		}
		t.Say(key, "%s: %v", key, err)
	}
	if m.CountsAs < 0 {
		t.Say("counts_as", "counts_as must not be negative")
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

func (c *checker) printer(p Printer, in form.Path) {
	t := c.table(in...)
	if p.TAC <= 0 || p.TAC > 400 {
		t.Say("tac_percent", "tac_percent must be above 0 and at most 400")
	}
	_, err := press.ParseBlack(p.Black)
	t.Fails("black", err)
	if p.WhiteContrast <= 0 || p.WhiteContrast > 100 {
		t.Say("white_contrast_percent", "white_contrast_percent must be above 0 and at most 100")
	}
	c.measuredWhite(p, t)
	t.amounts(amount{"machine_hour", p.MachineHour})
	if toners, ok := c.Root.Find(in.To("toner")); ok {
		for _, key := range toners.Keys() {
			if !slices.Contains(plate.Names[:], key) {
				c.table(in.To("toner", key)...).Say("", "no toner is called %q: they are %s", key, strings.Join(plate.Names[:], ", "))
			}
		}
	}
	for k, n := range plate.Names {
		toner, ok := p.Toner[n]
		if !ok {
			if k != plate.White {
				t.Say("", "has no toner.%s", n)
			}
			continue
		}
		t := c.table(in.To("toner", n)...)
		noPrice, noYield := t.Missing("price", `"74.00"`), t.Missing("yield_pages", "6000")
		if !toner.Price.IsNegative() { // which package price says
			t.prices(amount{"price", toner.Price})
		}
		t.sides("page", toner.Page)
		if err := toner.cartridge().Check(); err != nil {
			key, _, _ := strings.Cut(err.Error(), " ") // package price names the figure by its key
			if key == "yield_pages" && noYield || key == "price" && noPrice {
				continue
			}
			t.Say(key, "toner.%s: %v", n, err)
		}
	}
	for i, w := range p.Wear {
		t := c.table(in.To("wear", i)...)
		t.prices(amount{"price", w.Price})
		t.sides("page", w.Page)
		if w.LifePages <= 0 {
			t.Say("life_pages", "life_pages must be above 0")
		}
	}
}

// measuredWhite looks at solid white measured over two grounds; what the press's paper is
// is not known here.
func (c *checker) measuredWhite(p Printer, t table) {
	const black, white = "white_on_black", "white_on_white"
	switch {
	case !t.Has(black) && !t.Has(white):
		for _, key := range []string{"black_ground", "white_ground"} {
			if t.Has(key) {
				t.Say(key, "%s says what %s and %s were measured over: write these too, or leave it out", key, black, white)
			}
		}
		return
	case t.Has("white_contrast_percent"):
		t.Say("white_contrast_percent", "give either white_contrast_percent or %s and %s", black, white)
	case !t.Has(black) || !t.Has(white):
		t.Say(t.Written(black, white), "%s and %s go together: measure solid white over both grounds", black, white)
		return
	}
	ground := p.WhiteGround.Lab
	if !p.WhiteGround.Given() {
		ground = colour.Lab{L: 100} // no paper is lighter
	}
	if _, err := layer.Measure(p.WhiteOnBlack.Lab, p.WhiteOnWhite.Lab, p.BlackGround.Lab, ground); err != nil {
		t.Say(t.Written("white_ground", "black_ground", white), "%v", err)
	}
}

func (c *checker) medium(m Medium, t table) {
	t.bought(Size{m.Sheet, m.PriceEach, m.PackPrice, m.PackSheets})
	for k, v := range m.Sizes {
		t := c.table(t.In.To("size", k)...)
		t.bought(v)
		if v.PackSheets == 0 {
			t.Missing("price_each", `"1.70", or pack_price and pack_sheets`)
		}
		one := m
		one.Sizes = m.Sizes[:k]
		if _, twice := one.Bought(v.Sheet); twice && v.Sheet.AreaMM2() > 0 {
			t.Say("sheet", "sheet %s is there twice", v.Sheet)
		}
	}
	t.amounts(amount{"pages_per_minute", m.PagesPerMinute})
	if m.PerTransfer != 1 && m.PerTransfer != 2 {
		t.Say("sheets_per_transfer", "sheets_per_transfer must be 1, or 2 where two sheets make one transfer")
	}
	if t.Has("tac_percent") && !(m.TAC > 0 && m.TAC <= 400) {
		t.Say("tac_percent", "tac_percent must be above 0 and at most 400")
	}
	t.Within("smallest_tone_percent", m.SmallestTonePerc, 0, 100)
	t.Within("heavy_percent", m.HeavyPercent, 0, 500)
	t.Within("band_delta_e", m.BandDeltaE, 0, 100)
	t.lengths(mostDetailMM, length{"smallest_line", m.SmallestLine}, length{"smallest_gap", m.SmallestGap}, length{"smallest_dot", m.SmallestDot},
		length{"smallest_text", m.SmallestText}, length{"fade_width", m.FadeWidth}, length{"soft_edge", m.SoftEdge})
	t.lengths(mostHeavyMM, length{"heavy_width", m.HeavyWidth})
	t.lengths(mostSpaceMM, length{"cutter", m.Cutter}, length{"cutter_corner", m.Corner})
	t.care(m.Care)
	if !(0 < m.LeastPPI && m.LeastPPI <= m.GoodPPI) {
		t.Say(t.Written("least_ppi", "good_ppi"), "least_ppi must be above 0 and not above good_ppi")
	}
}

// bought looks at what a sheet costs.
func (t table) bought(v Size) {
	if !(v.Sheet.AreaMM2() > 0) {
		t.Say("sheet", "sheet is missing: write for example sheet = \"A4\"")
	}
	t.sides("sheet", v.Sheet)
	t.prices(amount{"price_each", v.PriceEach}, amount{"pack_price", v.PackPrice})
	if v.PackSheets < 0 || (v.PackPrice.IsPositive() && v.PackSheets == 0) {
		t.Say(t.Written("pack_sheets", "pack_price"), "pack_sheets must be the number of sheets in the pack")
	}
	if v.PackSheets > 0 && v.PriceEach.IsPositive() {
		t.Say("price_each", "give either price_each or pack_price and pack_sheets")
	}
	if v.PackSheets > 0 {
		t.Missing("pack_price", `"95.00"`)
	}
}

func (c *checker) item(v Item, t table) {
	if v.Clear {
		for _, key := range []string{"colour", "colours", "shares", "white_on_item", "finish"} {
			if t.Has(key) {
				t.Say(key, "a clear item has no %s: write behind = what lies behind it", key)
			}
		}
		t.OneOf("seen", v.Seen, seens)
	} else {
		c.mixed(v, t)
		var names []string
		for _, f := range finishes {
			names = append(names, f.name)
		}
		t.OneOf("finish", v.Finish, names)
		for _, key := range []string{"behind", "seen"} {
			if t.Has(key) {
				t.Say(key, "%s is for clear items: write clear = true as well, or leave it out", key)
			}
		}
	}
	t.prices(amount{"price", v.Price})
	t.sides("printable", v.Printable)
	switch {
	case v.Loose && t.Has("price"):
		t.Say("price", "loose goods have no blank that costs anything: leave price out")
	case !v.Loose && t.Has("sold_by"):
		t.Say("sold_by", "sold_by is for loose goods: write loose = true as well, or leave it out")
	}
	t.OneOf("sold_by", v.SoldBy, soldBy)
	t.amounts(amount{"tax_percent", v.OwnTax})
	t.sides("drawn_size", v.DrawnSize)
	if t.OneOf("drawn_as", v.DrawnAs, drawing.Kinds()); slices.Contains(drawing.Kinds(), v.DrawnAs) && t.Has("place") {
		if _, err := drawing.New(v.DrawnAs, v.Place, 0, 0); err != nil {
			t.Say("place", "place: %v", err)
		}
	}
	t.care(v.Care)
	c.sizes(v, t.In)
}

// mixed looks at what colours an item has.
func (c *checker) mixed(v Item, t table) {
	switch {
	case !t.Has("colours"):
		t.Missing("colour", `"#17171a"`)
		if t.Has("shares") {
			t.Say("shares", "shares are those of colours: write these in place of colour, or leave shares out")
		}
		return
	case t.Has("colour"):
		t.Say("colour", "give either colour or colours")
	case len(v.Colours) < 2:
		t.Say("colours", "colours are two or more: write for example colours = [\"#8a8d92\", \"#2b2d33\"], or one as colour")
	}
	if !t.Has("shares") {
		return
	}
	if len(v.Shares) != len(v.Colours) {
		t.Say("shares", "shares must be as many as colours, %d", len(v.Colours))
		return
	}
	sum := 0.0
	for i, p := range v.Shares {
		if !(p > 0) {
			t.SayOf("shares", form.Path{i}, "shares must be above 0")
			return
		}
		sum += p
	}
	if math.Abs(sum-100) > 0.5 { // such as 33.3 three times
		t.Say("shares", "shares must be 100 together, not %g", sum)
	}
}

// sizes looks at what sizes an item has.
func (c *checker) sizes(v Item, in form.Path) {
	for k, z := range v.Sizes {
		t := c.table(in.To("size", k)...)
		if z.Name == "" {
			t.Say("name", "a size has no name: write for example name = \"2XL\"")
		}
		if slices.ContainsFunc(v.Sizes[:k], func(o ItemSize) bool { return strings.EqualFold(o.Name, z.Name) }) {
			t.Say("name", "two sizes are called %q", z.Name)
		}
		t.prices(amount{"price", z.Price}, amount{"upcharge", z.Upcharge})
		if v.Loose {
			t.Say("", "loose goods have no sizes: leave them out")
		}
	}
}

// MostValidDays is longer than anybody binds themselves.
const MostValidDays = 3650

func (c *checker) terms() {
	v, t := c.shop.Terms, c.table("terms")
	if v.ValidDays < 0 || v.ValidDays > MostValidDays {
		t.Say("valid_days", "valid_days must be from 0 to %d", MostValidDays)
	}
	t.OneOf("paper", v.Paper, papers)
	t.amounts(amount{"rush_percent", v.RushPercent}, amount{"deposit_percent", v.DepositPercent})
	if v.DepositPercent.GreaterThan(hundred) {
		t.Say("deposit_percent", "deposit_percent must be at most 100")
	}
}

func (c *checker) cover(v Cover, t table) {
	t.prices(amount{"price", v.Price})
	if v.Uses <= 0 {
		t.Say("uses", "uses must be above 0")
	}
}

// mostSteps is how many steps of two lines a ticket of one page has room for.
const mostSteps = 36

func (c *checker) supply(v Supply, t table) {
	t.prices(amount{"price_each", v.PriceEach}, amount{"pack_price", v.PackPrice})
	switch {
	case v.PackPieces < 0 || v.PackPrice.IsPositive() && v.PackPieces == 0:
		t.Say(t.Written("pack_pieces", "pack_price"), "pack_pieces must be how many are in the pack")
	case v.PackPieces > 0 && v.PriceEach.IsPositive():
		t.Say("price_each", "give either price_each or pack_price and pack_pieces")
	case v.PackPieces > 0:
		t.Missing("pack_price", `"24.00"`)
	}
}

func (c *checker) process(p Process, in form.Path) {
	t := c.table(in...)
	_, err := plate.ParseRule(string(p.White))
	t.Fails("white", err)
	t.Within("white_density_percent", p.WhiteDensity, 0, 100)
	t.OneOf("white_side", p.WhiteSide, whiteSides)
	t.Within("white_threshold_percent", p.WhiteThreshold, 0, 100)
	if !(math.Abs(p.Choke.MM()) <= mostWhiteMM) {
		t.Say("choke", "choke must be from -%d mm to %d mm", mostWhiteMM, mostWhiteMM)
	}
	t.lengths(mostWhiteMM, length{"smallest_white", p.SmallestWhite})
	t.care(p.Care)
	if !(p.KnockoutWithin > 0 && p.KnockoutWithin <= 50) {
		t.Say("knockout_within", "knockout_within must be above 0 and at most 50")
	}
	if pr, err := c.shop.Printer(p.Printer); !t.Fails("printer", err) {
		if _, ok := pr.Toner[plate.Names[plate.White]]; !ok && p.White != plate.NoWhite {
			t.Say("white", "prints white, but printer %q has no toner.white", pr.Name)
		}
	}
	_, err = c.shop.Medium(p.Media)
	t.Fails("media", err)
	if p.Cover != "" {
		_, err := c.shop.Cover(p.Cover)
		t.Fails("cover", err)
	}
	if len(p.Steps) > mostSteps {
		t.Say("step", "step: a recipe of more than %d steps is not read at the bench, nor does it fit a page: put some of them into notes", mostSteps)
	}
	for i, st := range p.Steps {
		c.step(st, p, c.table(in.To("step", i)...))
	}
	if moves, turned := p.moves(); moves && turned != p.Mirrored {
		if turned {
			t.Say("mirrored", "mirrored = false, but by the moves of its steps the picture ends up mirrored: print it mirrored, or look whether a moves_to is missing or too many")
		} else {
			t.Say("mirrored", "mirrored = true, but by the moves of its steps the picture ends up as it was printed: do not print it mirrored, or look whether a moves_to is missing or too many")
		}
	}
}

func (c *checker) step(st Step, of Process, t table) {
	if st.Do == "" {
		t.Say("do", "a step says nothing to do: write do = one of %s", strings.Join(deeds, ", "))
	}
	t.OneOf("do", st.Do, deeds)
	t.OneOf("per", st.Per, pers)
	if m, err := c.shop.Medium(of.Media); err == nil && st.Per == PerPair && m.PerTransfer != 2 {
		t.Say("per", "per = \"pair\", but a transfer of %q is one sheet: write per = \"sheet\", or sheets_per_transfer = 2 for the media", m.Name)
	}
	if st.Uses != "" {
		_, err := c.shop.Supply(st.Uses)
		t.Fails("uses", err)
	}
	t.OneOf("pressure", st.Pressure, pressures)
	t.OneOf("peel", st.Peel, peels)
	t.Within("temperature_c", st.TemperatureC, 0, 260)
	t.Within("seconds", st.Seconds, 0, 14*24*3600)
	if st.Covered && of.Cover == "" {
		t.Say("covered", "covered says that a cover sheet is used, and the process names none: write cover = its name")
	}
}

func (c *checker) labour() {
	l := c.shop.Labour
	if t := c.table("labour"); !l.CutMMSecond.IsPositive() {
		t.Say("cut_mm_second", "cut_mm_second must be above 0: how many mm of outline a person cuts along in a second")
	}
	c.table("labour").amounts(amount{"rate_hour", l.RateHour}, amount{"file_check_minutes", l.FileCheckMinutes}, amount{"setup_minutes", l.SetupMinutes},
		amount{"print_seconds", l.PrintSeconds}, amount{"weed_seconds", l.WeedSeconds}, amount{"heat_press_seconds", l.HeatPressSeconds}, amount{"pack_seconds", l.PackSeconds})
}

var hundred = decimal.NewFromInt(100)

func (c *checker) costs() {
	v, t := c.shop.Costs, c.table("costs")
	t.amounts(amount{"overhead_percent", v.OverheadPercent}, amount{"spoilage_percent", v.SpoilagePercent}, amount{"heat_press_hour", v.HeatPressHour})
	if v.SpoilagePercent.GreaterThanOrEqual(hundred) {
		t.Say("spoilage_percent", "spoilage_percent must be below 100")
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
		t.Say(ways[len(ways)-1], "give one of margin_percent, markup_percent and [[pricing.rate]], not %d of them", len(ways))
	}
	if p.MarginPercent.GreaterThanOrEqual(hundred) {
		t.Say("margin_percent", "margin_percent must be below 100: it is a part of the price")
	}
	_, err := price.ParseRounding(p.RoundTo, "", c.shop.Places())
	t.Fails("round_to", err)
	_, err = price.ParseRounding("", p.Rounding, c.shop.Places())
	t.Fails("rounding", err)
	for i, r := range p.Rates {
		t := c.table("pricing", "rate", i)
		if (i == 0 && r.From != 1) || (i > 0 && r.From <= p.Rates[i-1].From) {
			t.Say("from", "rates must rise from = 1 on")
		}
		t.prices(amount{"each", r.Each}, amount{"further", r.Further})
	}
	t.OneOf("prices", p.Prices, pricesAs)
	if len(p.Quantities) == 0 {
		t.Say("quantities", "quantities is empty: write for example quantities = [1, 12, 48]")
	}
	for i, q := range p.Quantities {
		if q <= 0 || (i > 0 && q <= p.Quantities[i-1]) {
			t.SayOf("quantities", form.Path{i}, "quantities must be above 0 and rise")
		}
	}
}
