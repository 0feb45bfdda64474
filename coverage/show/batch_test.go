package show

import (
	"testing"

	"laydown/coverage/batch"
)

// TestBatch writes two results, one of which failed, for a spreadsheet and for a program.
func TestBatch(t *testing.T) {
	results := []batch.Result{
		{Line: 2, Art: "a, b.png", Item: "tee", Process: "film", Quantity: 3, Sheets: 1, Currency: "EUR", CostEach: "1.0000", CostTotal: "3.0000",
			PriceEach: "2.00", PriceTotal: "6.00", Margin: "50.00", Key: "k"},
		{Line: 3, Error: `art is empty: write <art>`},
	}
	csv, err := BatchCSV(results)
	if want := "line,art,item,process,quantity,sheets,currency,cost_each,cost_total,price_each,price_total,margin_percent,error\n" +
		"2,\"a, b.png\",tee,film,3,1,EUR,1.0000,3.0000,2.00,6.00,50.00,\n" +
		"3,,,,0,0,,,,,,,art is empty: write <art>\n"; err != nil || string(csv) != want {
		t.Errorf("%s, %v, want\n%s", csv, err, want)
	}
	lines, err := BatchJSON(results)
	if want := `{"line":2,"art":"a, b.png","item":"tee","process":"film","quantity":3,"sheets":1,"currency":"EUR","cost_each":"1.0000","cost_total":"3.0000","price_each":"2.00","price_total":"6.00","margin_percent":"50.00","key":"k"}
{"line":3,"art":"","item":"","process":"","quantity":0,"sheets":0,"currency":"","cost_each":"","cost_total":"","price_each":"","price_total":"","margin_percent":"","error":"art is empty: write <art>","key":""}
`; err != nil || string(lines) != want {
		t.Errorf("%s, %v, want\n%s", lines, err, want)
	}
}
