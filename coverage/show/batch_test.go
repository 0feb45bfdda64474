package show

import (
	"strings"
	"testing"

	"laydown/coverage/batch"
	"laydown/coverage/flaw"
	"laydown/coverage/order"
	"laydown/coverage/proof"
)

// TestBatch writes two results, one of which failed, for a spreadsheet and for a program.
func TestBatch(t *testing.T) {
	results := []batch.Result{
		{Line: 2, Art: "a, b.png", Item: "tee", Process: "film", Quantity: 3, Sheets: 1, Currency: "EUR", CostEach: "1.0000", CostTotal: "3.0000",
			PriceEach: "2.00", PriceTotal: "6.00", Margin: "50.00", Key: "k",
			Head: &proof.Head{Assumed: []order.Assumption{{Field: "item", Value: "tee", Because: "it is ours", Close: "mug"}}, Stops: []proof.Stop{{Kind: flaw.TooLarge, Measured: 9, Limit: 8, Unit: "mm", Advice: "Too wide: print it smaller."}, {Kind: flaw.FineLine, Measured: 0.2, Limit: 0.4, Unit: "mm"}}, ShopFile: "own.toml", DemoShop: true}},
		{Line: 3, Error: `art is empty: write <art>`},
	}
	csv, err := BatchCSV(results)
	if want := "line,art,item,process,quantity,sheets,currency,cost_each,cost_total,price_each,price_total,margin_percent,error,stops,assumed,demo_shop,item_said,verdict,check_first,sold_by\n" +
		"2,\"a, b.png\",tee,film,3,1,EUR,1.0000,3.0000,2.00,6.00,50.00,,too-large; fine-line,\"item not named: tee, because it is ours; about as good: mug\",yes,,do not print,,\n" +
		"3,,,,0,0,,,,,,,art is empty: write <art>,,,,,not quoted,,\n"; err != nil || string(csv) != want {
		t.Errorf("%s, %v, want\n%s", csv, err, want)
	}
	lines, err := BatchJSON(results)
	if want := `{"line":2,"art":"a, b.png","item":"tee","process":"film","quantity":3,"sheets":1,"currency":"EUR","cost_each":"1.0000","cost_total":"3.0000","price_each":"2.00","price_total":"6.00","margin_percent":"50.00","key":"k","assumed":[{"field":"item","value":"tee","because":"it is ours","close":"mug"}],"stops":[{"kind":"too-large","measured":9,"limit":8,"unit":"mm","advice":"Too wide: print it smaller."},{"kind":"fine-line","measured":0.2,"limit":0.4,"unit":"mm","advice":""}],"shop_file":"own.toml","demo_shop":true}
{"line":3,"art":"","item":"","process":"","quantity":0,"sheets":0,"currency":"","cost_each":"","cost_total":"","price_each":"","price_total":"","margin_percent":"","error":"art is empty: write <art>","key":""}
`; err != nil || string(lines) != want {
		t.Errorf("%s, %v, want\n%s", lines, err, want)
	}
	words := Batch(results, Style{Width: 100})
	for _, want := range []string{"line 2: item not named: tee, because it is ours; about as good: mug\n",
		"line 2: do not print: too-large (too wide), fine-line\n"} {
		if !strings.Contains(words, want) {
			t.Errorf("%s\nwithout %q", words, want)
		}
	}
	told := strings.Split(strings.TrimSpace(words), "\n")
	if !strings.Contains(told[0], "invented") || !strings.Contains(told[len(told)-1], "invented") {
		t.Errorf("the demo's prices are not told first and last:\n%s", words)
	}
}

// TestBatchVerdictsComeFirst has the first line of a list say how many orders must not be
// printed, each row its own verdict, and loose goods what their quantity counts.
func TestBatchVerdictsComeFirst(t *testing.T) {
	row := func(line, quantity int, soldBy string, head *proof.Head, checks ...proof.Stop) batch.Result {
		return batch.Result{Line: line, Art: "a.png", Quantity: quantity, Currency: "EUR", PriceEach: "7.00", PriceTotal: "70.00", SoldBy: soldBy, Head: head, CheckFirst: checks}
	}
	stop := proof.Stop{Kind: flaw.FineLine}
	results := []batch.Result{
		row(2, 10, "sheet", &proof.Head{Stops: []proof.Stop{stop}}),
		row(3, 1, "piece", &proof.Head{}, proof.Stop{Kind: flaw.FadeOut}),
		row(4, 5, "", &proof.Head{}),
		{Line: 5, Error: "no such file"},
	}
	for _, v := range []struct {
		rows []batch.Result
		want string
	}{
		{results, "4 orders: 1 of 3 must not be printed; 1 of 3 to check first; 1 of 4 could not be quoted; 1 may be printed.\n"},
		{results[:1], "1 order: 1 must not be printed.\n"},
		{results[2:3], "1 order: 1 may be printed.\n"},
	} {
		if got := Batch(v.rows, Style{Width: 120}); !strings.HasPrefix(got, v.want) {
			t.Errorf("%s\nwant first %s", got, v.want)
		}
	}
	words := strings.Join(strings.Fields(Batch(results, Style{Width: 120})), " ")
	for _, want := range []string{"2 a.png do not print 10 sheets EUR 70.00", "3 a.png check first 1 piece EUR", "4 a.png print 5 EUR", "5 not quoted", "line 2: do not print: fine-line", "line 3: check first: fade-out"} {
		if !strings.Contains(words, want) {
			t.Errorf("%s\nwithout %q", words, want)
		}
	}
}
