package shop

import (
	"slices"

	"github.com/shopspring/decimal"

	"laydown/coverage/form"
)

// Unpriced is every figure that a quote for an item by a process needs and the file does
// not have, a line each, as [Load] says mistakes; nil if there is none. What costs nothing
// is written as 0. Printer, media and cover are those of the process.
func (s *Shop) Unpriced(p *Process, v *Item) error {
	if s.root == nil {
		return nil // made by a program, which means its zeros
	}
	c := &checker{&form.Check{Root: s.root}, s}
	need := func(in form.Path, key, example string, v decimal.Decimal) {
		if v.IsZero() { // else it is there, or a program put it there
			c.table(in...).Missing(key, example)
		}
	}
	in := form.Path{"labour"}
	presses := p.Work(v).Presses
	need(in, "rate_hour", `"24.00"`, s.Labour.RateHour)
	need(in, "file_check_minutes", `"5"`, s.Labour.FileCheckMinutes)
	need(in, "setup_minutes", `"4"`, s.Labour.SetupMinutes)
	need(in, "print_seconds", `"20"`, s.Labour.PrintSeconds)
	need(in, "weed_seconds", `"25"`, s.Labour.WeedSeconds)
	need(in, "pack_seconds", `"15"`, s.Labour.PackSeconds)
	if presses {
		need(in, "heat_press_seconds", `"20"`, s.Labour.HeatPressSeconds)
		need(form.Path{"costs"}, "heat_press_hour", `"0.90"`, s.Costs.HeatPressHour)
	}
	need(form.Path{"costs"}, "spoilage_percent", `"4"`, s.Costs.SpoilagePercent)
	need(form.Path{"costs"}, "overhead_percent", `"12"`, s.Costs.OverheadPercent)
	if p := s.Pricing; len(p.Rates) == 0 && p.MarkupPercent.IsZero() && !c.table("pricing").Has("markup_percent") {
		need(form.Path{"pricing"}, "margin_percent", `"45", or markup_percent, or [[pricing.rate]]`, s.Pricing.MarginPercent)
	}
	if i := slices.IndexFunc(s.Printers, func(of Printer) bool { return of.Name == p.Printer }); i >= 0 {
		in := form.Path{"printer", i}
		need(in, "machine_hour", `"1.80"`, s.Printers[i].MachineHour)
		for k, w := range s.Printers[i].Wear {
			need(in.To("wear", k), "price", `"420.00"`, w.Price)
		}
	}
	if i := slices.IndexFunc(s.Media, func(of Medium) bool { return of.Name == p.Media }); i >= 0 { // prices of its other sizes are checked with the file
		m, in := s.Media[i], form.Path{"media", i}
		if m.PackSheets > 0 {
			need(in, "pack_price", `"95.00"`, m.PackPrice)
		} else {
			need(in, "price_each", `"0.85", or pack_price and pack_sheets`, m.PriceEach)
		}
		if pr, err := s.Printer(p.Printer); err == nil && pr.MachineHour.IsPositive() {
			need(in, "pages_per_minute", `"4"`, m.PagesPerMinute)
		}
	}
	if i := slices.IndexFunc(s.Items, func(of Item) bool { return of.Name == v.Name }); i >= 0 && !v.Loose {
		need(form.Path{"item", i}, "price", `"3.20"`, v.Price)
	}
	if i := slices.IndexFunc(s.Covers, func(of Cover) bool { return of.Name == p.Cover }); i >= 0 {
		need(form.Path{"cover", i}, "price", `"14.00"`, s.Covers[i].Price)
	}
	for _, st := range p.Here(v) {
		i := slices.IndexFunc(s.Supplies, func(of Supply) bool { return st.Uses != "" && of.Name == st.Uses })
		if i >= 0 && s.Supplies[i].PackPieces == 0 {
			need(form.Path{"supply", i}, "price_each", `"0.85", or pack_price and pack_pieces`, s.Supplies[i].PriceEach)
		}
	}
	return form.All(c.Found, s.File, s.root)
}

// Unagreed is what an order needs of the file beside the figures of [Shop.Unpriced] and the
// file does not have: a surcharge for rush, and on a rate card, what each further print on a
// piece costs. nil if there is nothing.
func (s *Shop) Unagreed(rush, further bool) error {
	if s.root == nil {
		return nil
	}
	c := &checker{&form.Check{Root: s.root}, s}
	if rush && s.Terms.RushPercent.IsZero() {
		c.table("terms").Missing("rush_percent", `"25"`)
	}
	for i, r := range s.Pricing.Rates {
		if further && r.Further.IsZero() {
			c.table("pricing", "rate", i).Missing("further", `"4.50", what each further print on a piece costs`)
		}
	}
	return form.All(c.Found, s.File, s.root)
}

// Prices reports whether the file says what a medium costs; 0 that is written is a price.
func (s *Shop) Prices(m *Medium) bool {
	i := slices.IndexFunc(s.Media, func(of Medium) bool { return of.Name == m.Name })
	return i < 0 || m.TransferPrice().Sign() > 0 || s.writes(form.Path{"media", i, "price_each"}) || s.writes(form.Path{"media", i, "pack_price"})
}

// writes reports whether the shop's file has a key, if the shop is from one.
func (s *Shop) writes(key form.Path) bool {
	if s.root == nil {
		return true
	}
	_, ok := s.root.Find(key)
	return ok
}
