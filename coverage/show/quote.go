package show

import (
	"cmp"
	"fmt"
	"slices"

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
	add("sheets", false, func(q proof.QuoteQuantity) string {
		if q.SparePlaces > 0 {
			return fmt.Sprintf("%d, room for %d more", q.Sheets, q.SparePlaces)
		}
		return fmt.Sprint(q.Sheets)
	})
	for l := range price.LineNames {
		if used := slices.ContainsFunc(f.Quantities, func(q proof.QuoteQuantity) bool { return !q.CostTotal.Line[l].IsZero() }); !used && price.Line(l) == price.CuttingLine {
			continue
		}
		add(lineWords[l], false, func(q proof.QuoteQuantity) string { return money(q.CostTotal.Line[l]) })
	}
	add(costRow, true, func(q proof.QuoteQuantity) string { return money(q.CostTotal.Total) })
	add("cost each", false, func(q proof.QuoteQuantity) string { return money(q.CostEach.Total) })
	add("price each", true, func(q proof.QuoteQuantity) string { return q.PriceEach })
	add("price in all", true, func(q proof.QuoteQuantity) string { return q.PriceTotal })
	add("price in all with tax", false, func(q proof.QuoteQuantity) string { return q.WithTax })
	add("margin", false, func(q proof.QuoteQuantity) string { return q.Margin + " %" })
	add("breaks even from", false, func(q proof.QuoteQuantity) string {
		if q.BreakEven == 0 {
			return "never"
		}
		return fmt.Sprint(q.BreakEven)
	})
	add(fmt.Sprintf("price each at a flat %d %%", proof.FlatPercent), false, func(q proof.QuoteQuantity) string { return q.FlatPriceEach })
	add(fmt.Sprintf("lost at a flat %d %%", proof.FlatPercent), false, func(q proof.QuoteQuantity) string { return q.FlatShort })
	return rows
}

// costRow is the name of the row that cost lines add up to.
const costRow = "cost in all"

// lineWords are the cost lines in the words of a bench.
var lineWords = [price.Lines]string{"toner", "media", "wear of printer parts", "cover sheets", "blank items", "labour", "cutting out by hand", "machine hours", "set-up", "spoilage", "overhead"}

// Quote sets a quote for a terminal, under the block: what a quantity costs in all, line by
// line, and what it sells for.
func Quote(p *proof.Proof, s Style) string {
	return Block(p, s) + "\n" + quote(p.Quoted, s)
}

// quote is a quote's table.
func quote(f *proof.QuoteFacts, s Style) string {
	whole := "the whole quantity"
	if f.SoldBy == shop.BySheet {
		whole = "so many full sheets"
	}
	head := []string{"in " + f.Currency + ", " + whole}
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
	for _, q := range f.Quantities {
		if q.Loses {
			out += s.para(fmt.Sprintf("%d %ss at %s %s lose money.", q.Quantity, cmp.Or(f.SoldBy, shop.ByPiece), f.Currency, q.PriceEach), "")
		}
	}
	return out
}
