package show

import (
	"bytes"
	"cmp"
	"encoding/csv"
	"encoding/json"
	"fmt"
	"strconv"
	"strings"

	"laydown/coverage/batch"
	"laydown/coverage/proof"
)

// Batch sets the results of a list for a terminal.
func Batch(results []batch.Result, s Style) string {
	t := &folds{head: []string{"line", "art", "verdict", "quantity", "price in all", "price each", "cost each", "margin", "sheets", "item", "process"}, left: map[int]bool{1: true, 2: true, 9: true, 10: true}}
	bad := ""
	count := map[string]int{}
	last := ""
	var head *proof.Head // of any row: they have one shop
	var notes []string
	lines := map[string][]string{}
	note := func(words string, line int) {
		if lines[words] == nil {
			notes = append(notes, words)
		}
		lines[words] = append(lines[words], strconv.Itoa(line))
	}
	for _, r := range results {
		if r.Error != "" {
			bad += wrap(fmt.Sprintf("line %d: %s", r.Line, r.Error), "", "  ", s.width())
			t.add(fmt.Sprint(r.Line), r.Art, notQuoted, "", "", "", "", "", "", r.Item, r.Process)
			continue
		}
		verdict := batchVerdict(r)
		count[verdict]++
		if h := r.Head; h != nil {
			head = h
			last = Foot(h, s)
			for _, a := range h.Assumed {
				note(a.Words(), r.Line)
			}
			if len(h.Stops) > 0 {
				note("do not print: "+stopWords(h.Stops), r.Line)
			}
			if len(r.CheckFirst) > 0 {
				note("check first: "+stopWords(r.CheckFirst), r.Line)
			}
		}
		t.add(fmt.Sprint(r.Line), r.Art, verdict, batchQuantity(r), r.Currency+" "+r.PriceTotal, r.PriceEach, r.CostEach, r.Margin+" %", fmt.Sprint(r.Sheets), cmp.Or(r.ItemSaid, r.Item), r.Process)
	}
	out := batchHead(len(results), count, head, s) + "\n" + t.render(s.width())
	if len(notes) > 0 {
		out += "\n"
	}
	for _, words := range notes {
		of := "line "
		if len(lines[words]) > 1 {
			of = "lines "
		}
		out += s.para(of+strings.Join(lines[words], ", ")+": "+words, "")
	}
	if bad != "" {
		out += "\n" + bad
	}
	return out + last
}

// The verdicts of a list's rows.
const (
	mustNot   = "do not print"
	lookFirst = "check first"
	mayPrint  = "print"
	notQuoted = "not quoted"
)

// batchVerdict is whether to print a row that was quoted.
func batchVerdict(r batch.Result) string {
	switch {
	case r.Head != nil && len(r.Stops) > 0:
		return mustNot
	case len(r.CheckFirst) > 0:
		return lookFirst
	}
	return mayPrint
}

// batchHead says of how many orders what must be done, the gravest first.
func batchHead(all int, count map[string]int, h *proof.Head, s Style) string {
	quoted := count[mustNot] + count[lookFirst] + count[mayPrint]
	var parts []string
	add := func(n, of int, words string) {
		if n > 0 && of > n {
			words = fmt.Sprintf("%d of %d %s", n, of, words)
		} else {
			words = fmt.Sprintf("%d %s", n, words)
		}
		if n > 0 {
			parts = append(parts, words)
		}
	}
	c := goodColour
	switch {
	case count[mustNot] > 0 || quoted < all:
		c = stopColour
	case count[lookFirst] > 0:
		c = lookColour
	}
	add(count[mustNot], quoted, "must not be printed")
	add(count[lookFirst], quoted, "to check first")
	add(all-quoted, all, "could not be quoted")
	add(count[mayPrint], 0, "may be printed")
	return s.opening(h, c, plural(all, "order", "orders")+": "+strings.Join(parts, "; ")+".")
}

// batchQuantity is a row's quantity with what it counts.
func batchQuantity(r batch.Result) string {
	if r.SoldBy == "" {
		return fmt.Sprint(r.Quantity)
	}
	return plural(r.Quantity, r.SoldBy, r.SoldBy+"s")
}

// BatchCSV writes the results of a list as CSV with a header row.
func BatchCSV(results []batch.Result) ([]byte, error) {
	var b bytes.Buffer
	w := csv.NewWriter(&b)
	rows := [][]string{{"line", "art", "item", "process", "quantity", "sheets", "currency", "cost_each", "cost_total", "price_each", "price_total", "margin_percent", "error", "stops", "assumed", "demo_shop", "item_said", "verdict", "check_first", "sold_by"}}
	for _, r := range results {
		var stops, assumed, checks []string
		verdict := notQuoted
		if r.Error == "" {
			verdict = batchVerdict(r)
		}
		for _, v := range r.CheckFirst {
			checks = append(checks, string(v.Kind))
		}
		demo := ""
		if h := r.Head; h != nil {
			for _, v := range h.Stops {
				stops = append(stops, string(v.Kind))
			}
			for _, a := range h.Assumed {
				assumed = append(assumed, a.Words())
			}
			if h.DemoShop {
				demo = "yes"
			}
		}
		rows = append(rows, []string{strconv.Itoa(r.Line), r.Art, r.Item, r.Process, strconv.Itoa(r.Quantity), strconv.Itoa(r.Sheets), r.Currency,
			r.CostEach, r.CostTotal, r.PriceEach, r.PriceTotal, r.Margin, r.Error,
			strings.Join(stops, "; "), strings.Join(assumed, "; "), demo, r.ItemSaid, verdict, strings.Join(checks, "; "), r.SoldBy})
	}
	for _, row := range rows {
		for i := range row {
			row[i] = cell(row[i])
		}
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
	return jsonSafe(b.Bytes()), nil
}
