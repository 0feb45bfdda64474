package show

import (
	"fmt"

	"github.com/jedib0t/go-pretty/v6/table"

	"laydown/coverage/batch"
)

// Batch sets the results of a list for a terminal.
func Batch(results []batch.Result) string {
	t := newTable("line", "art", "item", "process", "quantity", "sheets", "cost each", "price each", "price", "margin")
	rightFrom(t, 5, 10)
	failed := ""
	for _, r := range results {
		if r.Error != "" {
			failed += fmt.Sprintf("line %d: %s\n", r.Line, r.Error)
			t.AppendRow(table.Row{r.Line, r.Art, r.Item, r.Process, r.Quantity, "", "", "", "failed", ""})
			continue
		}
		t.AppendRow(table.Row{r.Line, r.Art, r.Item, r.Process, r.Quantity, r.Sheets, r.CostEach, r.PriceEach, r.Currency + " " + r.PriceTotal, r.Margin + " %"})
	}
	out := t.Render() + "\n"
	if failed != "" {
		out += "\n" + failed
	}
	return out
}
