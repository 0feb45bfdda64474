package show

import (
	"cmp"
	"fmt"
	"strings"

	"github.com/jedib0t/go-pretty/v6/table"

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
			return fmt.Sprintf("%d (%d free)", q.Sheets, q.SparePlaces)
		}
		return fmt.Sprint(q.Sheets)
	})
	for l, name := range price.LineNames {
		add(name, false, func(q proof.QuoteQuantity) string { return money(q.CostTotal.Line[l]) })
	}
	add("cost", true, func(q proof.QuoteQuantity) string { return money(q.CostTotal.Total) })
	add("cost each", false, func(q proof.QuoteQuantity) string { return money(q.CostEach.Total) })
	add("price each", true, func(q proof.QuoteQuantity) string { return q.PriceEach })
	add("price", true, func(q proof.QuoteQuantity) string { return q.PriceTotal })
	add("with tax", false, func(q proof.QuoteQuantity) string { return q.WithTax })
	add("margin", false, func(q proof.QuoteQuantity) string { return q.Margin + " %" })
	add("breaks even from", false, func(q proof.QuoteQuantity) string {
		if q.BreakEven == 0 {
			return "never"
		}
		return fmt.Sprint(q.BreakEven)
	})
	add(fmt.Sprintf("at flat %d %% each", proof.FlatPercent), false, func(q proof.QuoteQuantity) string { return q.FlatPriceEach })
	add("flat asks too little by", false, func(q proof.QuoteQuantity) string { return q.FlatShort })
	return rows
}

// Quote sets a quote for a terminal: what a quantity costs in all, line by line,
// and what it sells for.
func Quote(f *proof.QuoteFacts) string {
	whole := "the whole quantity"
	if f.SoldBy == shop.BySheet {
		whole = "so many full sheets"
	}
	head := []any{"in " + f.Currency + ", " + whole}
	for _, q := range f.Quantities {
		head = append(head, fmt.Sprintf("%d", q.Quantity))
	}
	t := newTable(head...)
	rightFrom(t, 2, len(head))
	for _, r := range quoteRows(f) {
		row := table.Row{r.Name}
		for _, c := range r.Cells {
			row = append(row, c)
		}
		t.AppendRow(row)
		if r.Name == "cost" {
			t.AppendSeparator()
		}
	}
	var warn []string
	for _, q := range f.Quantities {
		if q.Loses {
			warn = append(warn, fmt.Sprintf("%d %ss at %s %s lose money.", q.Quantity, cmp.Or(f.SoldBy, shop.ByPiece), f.Currency, q.PriceEach))
		}
	}
	s := fmt.Sprintf("%s %s, process %s; %d on a sheet of %s:\n\n%s\n", f.Artwork, f.Placed, f.Process, f.Copies, f.SheetName, t.Render())
	if len(warn) > 0 {
		s += "\n" + strings.Join(warn, "\n") + "\n"
	}
	return s
}
