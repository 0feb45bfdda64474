package show

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
	"fmt"
	"strconv"

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

// BatchCSV writes the results of a list as CSV with a header row.
func BatchCSV(results []batch.Result) ([]byte, error) {
	var b bytes.Buffer
	w := csv.NewWriter(&b)
	rows := [][]string{{"line", "art", "item", "process", "quantity", "sheets", "currency", "cost_each", "cost_total", "price_each", "price_total", "margin_percent", "error"}}
	for _, r := range results {
		rows = append(rows, []string{strconv.Itoa(r.Line), r.Art, r.Item, r.Process, strconv.Itoa(r.Quantity), strconv.Itoa(r.Sheets), r.Currency,
			r.CostEach, r.CostTotal, r.PriceEach, r.PriceTotal, r.Margin, r.Error})
	}
	err := w.WriteAll(rows)
	return b.Bytes(), err
}

// BatchJSON writes the results of a list as JSON, one a line.
func BatchJSON(results []batch.Result) ([]byte, error) {
	var b bytes.Buffer
	e := json.NewEncoder(&b)
	e.SetEscapeHTML(false)
	for _, r := range results {
		if err := e.Encode(r); err != nil {
			return nil, err
		}
	}
	return b.Bytes(), nil
}
