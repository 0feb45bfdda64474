package show

import (
	"cmp"
	"fmt"
	"slices"

	"github.com/shopspring/decimal"

	"laydown/coverage/price"
	"laydown/coverage/proof"
	"laydown/coverage/shop"
)

// quoteRow is a row of the quote's table: a name, and a cell a quantity.
type quoteRow struct {
	Name  string
	Cells []string
	Sum   bool // of what stands above it, or what is asked for it
}

// quoteRows are the quote's table, cost first.
func quoteRows(f *proof.QuoteFacts) (rows []quoteRow) {
	add := func(name string, sum bool, get func(proof.QuoteQuantity) string) {
		r := quoteRow{Name: name, Sum: sum}
		for _, q := range f.Quantities {
			r.Cells = append(r.Cells, get(q))
		}
		rows = append(rows, r)
	}
	if slices.ContainsFunc(f.Quantities, func(q proof.QuoteQuantity) bool { return q.Spares > 0 }) {
		add("spares, for what is spoilt", false, func(q proof.QuoteQuantity) string { return fmt.Sprint(q.Spares) })
	}
	add("sheets", false, func(q proof.QuoteQuantity) string { return fmt.Sprint(q.Sheets) })
	add("empty places on the sheets", false, func(q proof.QuoteQuantity) string { return fmt.Sprint(q.SparePlaces) })
	for l := range price.LineNames {
		if used := slices.ContainsFunc(f.Quantities, func(q proof.QuoteQuantity) bool { return !q.CostTotal.Line[l].IsZero() }); !used && price.Line(l) == price.CuttingLine {
			continue
		}
		add(lineWords[l], false, func(q proof.QuoteQuantity) string { return money(q.CostTotal.Line[l]) })
	}
	add(costRow, true, func(q proof.QuoteQuantity) string { return money(q.CostTotal.Total) })
	add("cost each", false, func(q proof.QuoteQuantity) string { return money(q.CostEach.Total) })
	each := "price each"
	goods := cmp.Or(f.SoldBy, shop.ByPiece) + "s"
	if f.Prices == shop.Gross {
		each = "price each, with tax"
	}
	add(each, true, func(q proof.QuoteQuantity) string { return q.PriceEach })
	if slices.ContainsFunc(f.Quantities, func(q proof.QuoteQuantity) bool { return decimal.RequireFromString(q.Lift).IsPositive() }) {
		add("added, as fewer cost more", false, func(q proof.QuoteQuantity) string { return q.Lift })
	}
	add("price in all", true, func(q proof.QuoteQuantity) string { return q.PriceTotal })
	if f.Prices == shop.Gross {
		add("price in all without tax", false, func(q proof.QuoteQuantity) string { return q.Net })
	} else {
		add("price in all with tax", false, func(q proof.QuoteQuantity) string { return q.WithTax })
	}
	add("margin", false, func(q proof.QuoteQuantity) string { return q.Margin + " %" })
	add("no loss from … "+goods+" on", false, func(q proof.QuoteQuantity) string {
		if q.BreakEven == 0 {
			return fmt.Sprintf("not up to %d", q.BreakEvenBound)
		}
		return fmt.Sprint(q.BreakEven)
	})
	add(fmt.Sprintf("price each if art were %d %% coverage", proof.FlatPercent), false, func(q proof.QuoteQuantity) string { return q.FlatPriceEach })
	add("lost by that", false, func(q proof.QuoteQuantity) string { return q.FlatShort })
	return rows
}

// costRow is the name of the row that cost lines add up to.
const costRow = "cost in all"

// lineWords are the cost lines in the words of a bench.
var lineWords = [price.Lines]string{"toner", "media", "wear of printer parts", "cover sheets", "blank items", "labour", "cutting out by hand", "machine hours", "set-up", "spoilage", "overhead"}

// Quote sets a quote for a terminal, under the block: what a quantity costs in all, line by
// line, and what it sells for.
func Quote(p *proof.Proof, s Style) string {
	return Block(p, s) + "\n" + quote(p.Quoted, s) + Assumed(p.Head, s)
}

// quote is a quote's table.
func quote(f *proof.QuoteFacts, s Style) string {
	whole := "the whole quantity"
	if f.SoldBy == shop.BySheet {
		whole = "this many full sheets"
	}
	head := []string{"in " + f.Currency + ", for " + whole}
	for _, q := range f.Quantities {
		head = append(head, fmt.Sprintf("%d", q.Quantity))
	}
	t := &folds{head: head}
	for _, r := range quoteRows(f) {
		t.add(append([]string{r.Name}, r.Cells...)...)
		if r.Name == costRow {
			t.under = len(t.rows)
		}
	}
	out := t.render(s.width())
	if f.CutMM > 0 {
		out += s.para(fmt.Sprintf("Cutting: %.0f mm of outline a print, by hand.", f.CutMM), "")
	}
	for _, n := range quoteNotes(f) {
		out += s.para(n, "")
	}
	return out
}

// quoteNotes are what a shop should know of the prices before it names them.
func quoteNotes(f *proof.QuoteFacts) (out []string) {
	add := func(format string, v ...any) { out = append(out, fmt.Sprintf(format, v...)) }
	goods := cmp.Or(f.SoldBy, shop.ByPiece)
	told := map[int]bool{} // steps that several quantities lead to
	for _, q := range f.Quantities {
		n := plural(q.Quantity, goods, goods+"s")
		if q.Loses {
			verb := "lose"
			if q.Quantity == 1 {
				verb = "loses"
			}
			add("%s at %s %s %s money.", n, f.Currency, q.PriceEach, verb)
		}
		if v := q.MoreForLess; v != nil {
			add("%d cost %s %s in all, less than the %s of %d: tell the customer, or write never_less = true under [pricing].", v.Quantity, f.Currency, v.PriceTotal, q.PriceTotal, q.Quantity)
			continue // which is the step to take
		}
		if v := q.DearerEach; v != nil {
			add("%s would be %s %s each, more than the %s of %d.", plural(v.Quantity, goods, goods+"s"), f.Currency, v.PriceEach, q.EachAsked, q.Quantity)
		}
		if v := q.NextStep; v != nil && !told[v.Quantity] {
			told[v.Quantity] = true
			add("%s would be %s %s each, in place of %d; the order costs %s more.", plural(v.Quantity, goods, goods+"s"), f.Currency, v.PriceEach, q.Quantity, v.More)
		}
	}
	return out
}
