package show

import (
	"fmt"
	"image/color"
	"image/png"
	"strings"

	"laydown/coverage/proof"
	"laydown/coverage/shop"
)

// ticketPX is how many pixels a ticket's picture is wide or high.
const ticketPX = 420

// TicketPicture is a small picture of a print on its item, for [proof.MakeWhole] and tickets.
func TicketPicture(p *proof.Proof) ([]byte, error) {
	img, err := itemPicture(p.Laid, ticketPX)
	if err != nil {
		return nil, err
	}
	return encodePNG(onGround(img, color.NRGBA{255, 255, 255, 255}), png.BestCompression)
}

// Whole sets the costing of an order of several designs for a terminal.
func Whole(w *proof.Whole, s Style) string {
	var b strings.Builder
	b.WriteString(wholeBlock(w, s) + "\n")
	t := &folds{head: []string{"goods", "pieces", "cost in all", "cost each", "price each", "price in all"}}
	for i, g := range w.Goods {
		each := g.Sizes[0].PriceEach
		for _, z := range g.Sizes {
			if z.PriceEach != each {
				each = "by size"
			}
		}
		t.add(goodsTitle(g, i), fmt.Sprint(g.Quantity), g.Cost.Total.StringFixed(2), g.CostEach, each, g.PriceTotal)
	}
	b.WriteString(t.render(s.width()))
	for i, g := range w.Goods {
		b.WriteString("\n" + s.para(goodsTitle(g, i)+": "+goodsWords(g), ""))
		for k, p := range g.Prints {
			b.WriteString(wrap(fmt.Sprintf("%d.%d %s", i+1, k+1, printWords(p)), "  ", "      ", s.width()))
			for _, line := range []struct {
				word  string
				stops []proof.Stop
			}{{"do not print", p.Stops}, {"check first", p.Check}} {
				if len(line.stops) > 0 {
					b.WriteString(wrap(line.word+": "+stopWords(line.stops), "      ", "      ", s.width()))
				}
			}
		}
	}
	b.WriteString("\n")
	sheets := &folds{head: []string{"sheets", "how many", "layouts", "shared by area"}, left: map[int]bool{3: true}}
	for _, v := range w.Sheets {
		n := fmt.Sprint(v.Gang.Sheets)
		if v.Pair {
			n = plural(v.Gang.Sheets, "pair", "pairs")
		}
		var parts []string
		for _, p := range v.Shares {
			parts = append(parts, fmt.Sprintf("%d.%d %.1f %%", p.Goods+1, p.Print+1, p.Percent))
		}
		sheets.add(v.Media+", "+v.Gang.Sheet.Name, n, fmt.Sprint(len(v.Gang.Layouts)), strings.Join(parts, ", "))
	}
	b.WriteString(sheets.render(s.width()) + "\n")

	costs := &folds{head: []string{"cost in " + w.Currency, "all goods"}}
	for l, v := range w.Cost.Line {
		if !v.IsZero() {
			costs.add(lineWords[l], money(v))
		}
	}
	costs.under = len(costs.rows)
	costs.add("cost in all", money(w.Cost.Total))
	b.WriteString(costs.render(s.width()) + "\n")

	bill := &folds{head: []string{"price in " + w.Currency, ""}}
	for _, r := range billRows(w) {
		if r.Sum {
			bill.under = len(bill.rows)
		}
		bill.add(r.Name, r.Amount)
	}
	b.WriteString(bill.render(s.width()))
	if w.Loses {
		b.WriteString(s.para("At these prices the goods lose money.", ""))
	}
	return b.String()
}

func wholeBlock(w *proof.Whole, s Style) string {
	verdict, c := "Print.", goodColour
	check := false
	pieces, prints, sheets := 0, 0, 0
	for _, g := range w.Goods {
		pieces += g.Quantity
		for _, p := range g.Prints {
			prints, check = prints+p.Quantity, check || len(p.Check) > 0
		}
	}
	for _, v := range w.Sheets {
		sheets += v.Gang.Sheets
	}
	switch {
	case len(w.Stops) > 0:
		verdict, c = "Do not print.", stopColour
	case check:
		verdict, c = "Check first.", lookColour
	}
	out := s.opening(w.Head, c, verdict)
	var why []string
	for i, g := range w.Goods {
		for k, p := range g.Prints {
			if len(w.Stops) > 0 && len(p.Stops) > 0 {
				why = append(why, fmt.Sprintf("%d.%d: %s", i+1, k+1, stopWords(p.Stops)))
			} else if len(w.Stops) == 0 && len(p.Check) > 0 {
				why = append(why, fmt.Sprintf("%d.%d: %s", i+1, k+1, stopWords(p.Check)))
			}
		}
	}
	if len(why) > 0 {
		out += s.line("why", strings.Join(why, "; "))
	}
	order := strings.TrimSpace(w.Number)
	if w.Customer != "" {
		order = strings.TrimSpace(order + " for " + w.Customer)
	}
	if order == "" {
		order = "order"
	}
	due := ""
	if w.Due != "" {
		due = ", due " + w.Due
	}
	out += s.line("order", fmt.Sprintf("%s, %s, valid until %s%s", order, w.Date, w.ValidUntil, due))
	out += s.line("on", fmt.Sprintf("%s with %s, on %s", plural(pieces, "piece", "pieces"), plural(prints, "print", "prints"), plural(sheets, "sheet or pair", "sheets or pairs")))
	loses := ""
	if w.Loses {
		loses = ": the goods lose money"
	}
	out += s.line("cost", fmt.Sprintf("%s %s, margin of the goods %s %%%s", w.Currency, w.Cost.Total.StringFixed(2), w.MarginPercent, loses))
	return out + s.line("price", fmt.Sprintf("%s %s without %s, %s with it", w.Currency, w.WithoutTax, w.Letter.TaxName, w.WithTax))
}

// goodsTitle is what goods are called by in a list.
func goodsTitle(g proof.WholeGoods, i int) string {
	name := g.Name
	if name == "" {
		name = g.ItemSaid
	}
	return fmt.Sprintf("%d %s", i+1, name)
}

// goodsWords say what goods are of.
func goodsWords(g proof.WholeGoods) string {
	out := plural(g.Quantity, "piece", "pieces") + " of " + g.ItemSaid
	if g.SoldBy == shop.BySheet {
		out = plural(g.Quantity, "sheet", "sheets") + " of " + g.ItemSaid
	}
	if sizes := sizeWords(g); sizes != "" {
		out += ": " + sizes
	}
	if g.OwnBlanks {
		out += "; the customer brings the pieces"
	}
	return out
}

func sizeWords(g proof.WholeGoods) string {
	var sizes []string
	for _, z := range g.Sizes {
		if z.Size != "" {
			sizes = append(sizes, fmt.Sprintf("%d × %s", z.Quantity, z.Size))
		}
	}
	return strings.Join(sizes, ", ")
}

// printWords say what a print is, for the bench.
func printWords(p proof.WholePrint) string {
	what := p.Art
	if p.Text != "" {
		what = fmt.Sprintf("text %q", p.Text)
	}
	if p.Place != "" {
		what = p.Place + ": " + what
	}
	size := ""
	if len(p.Designs) == 1 {
		size = fmt.Sprintf(", %.1f × %.1f mm", p.Designs[0].SizeMM[0], p.Designs[0].SizeMM[1])
	} else {
		size = fmt.Sprintf(", %d different ones", len(p.Designs))
	}
	out := fmt.Sprintf("%s%s, by %s; %s", what, size, p.Process, plural(p.Quantity, "print", "prints"))
	if p.Spares > 0 {
		out += " and " + plural(p.Spares, "spare", "spares")
	}
	var squeezed []string
	for _, d := range p.Designs {
		switch {
		case d.Smaller > 0:
			squeezed = append(squeezed, fmt.Sprintf("%s squeezed to %.0f %% and %.0f %% of the height", d.Text, d.Squeezed*100, d.Smaller*100))
		case d.Squeezed > 0:
			squeezed = append(squeezed, fmt.Sprintf("%s squeezed to %.0f %%", d.Text, d.Squeezed*100))
		}
	}
	if len(squeezed) > 0 {
		out += "; " + strings.Join(squeezed, ", ")
	}
	return out
}

// billRow is a row of what the customer pays.
type billRow struct {
	Name, Amount string
	Sum          bool
}

// billRows are what the customer pays, from the goods' total down.
func billRows(w *proof.Whole) (rows []billRow) {
	zero := func(v string) bool { return strings.Trim(v, "0.") == "" }
	add := func(name, amount string, sum bool) { rows = append(rows, billRow{name, amount, sum}) }
	add("goods", w.GoodsTotal, false)
	if !zero(w.Lift) {
		add("to the least that an order comes to", w.Lift, false)
	}
	if !zero(w.Discount) {
		add("discount, "+w.Letter.DiscountPercent+" % off", "-"+w.Discount, false)
	}
	if !zero(w.Rush) {
		add("rush, "+w.Letter.RushPercent+" % more", w.Rush, false)
	}
	for _, c := range w.Charges {
		add(c.Name, c.Amount, false)
	}
	if w.Prices == shop.Gross {
		add("in all, with "+w.Letter.TaxName, w.WithTax, true)
		for _, t := range w.Taxes {
			add(fmt.Sprintf("in it %s of %s %% on %s", w.Letter.TaxName, t.Percent, t.On), t.Amount, false)
		}
	} else {
		add("in all, without "+w.Letter.TaxName, w.WithoutTax, true)
		for _, t := range w.Taxes {
			add(fmt.Sprintf("%s of %s %% on %s", w.Letter.TaxName, t.Percent, t.On), t.Amount, false)
		}
		add("in all, with "+w.Letter.TaxName, w.WithTax, false)
	}
	if !zero(w.Deposit) {
		add("deposit, "+w.Letter.DepositP+" % of that", w.Deposit, false)
	}
	return rows
}
