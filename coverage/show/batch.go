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
	"laydown/coverage/shop"
)

// Batch sets the results of a list for a terminal.
func Batch(results []batch.Result, s Style) string {
	t := &folds{head: []string{"line", "art", "verdict", "pieces", "price in all", "price each", "cost each", "margin", "sheets", "item", "process"}, left: map[int]bool{1: true, 2: true, 9: true, 10: true}}
	bad := ""
	failed, stopped, first, last := 0, 0, "", ""
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
			failed++
			bad += wrap(fmt.Sprintf("line %d: %s", r.Line, r.Error), "", "  ", s.width())
			t.add(fmt.Sprint(r.Line), r.Art, s.paint(stopColour, "no quote"), "", "", "", "", "", "", r.Item, r.Process)
			continue
		}
		verdict := "print"
		if h := r.Head; h != nil {
			first, last = Invented(h, s)
			for _, a := range h.Assumed {
				note(a.Words(), r.Line)
			}
			if len(h.Stops) > 0 {
				stopped++
				verdict = s.paint(stopColour, "do not print")
				note("do not print: "+stopWords(h.Stops), r.Line)
			}
		}
		pieces := fmt.Sprint(r.Quantity)
		if r.SoldBy == shop.BySheet {
			pieces = plural(r.Quantity, "sheet", "sheets")
		}
		t.add(fmt.Sprint(r.Line), r.Art, verdict, pieces, r.Currency+" "+r.PriceTotal, r.PriceEach, r.CostEach, r.Margin+" %", fmt.Sprint(r.Sheets), cmp.Or(r.ItemSaid, r.Item), r.Process)
	}
	say, c := plural(len(results)-failed, "order", "orders")+" quoted", goodColour
	if stopped > 0 {
		say, c = fmt.Sprintf("%d of %s must not be printed as they are", stopped, plural(len(results)-failed, "quoted order", "quoted orders")), stopColour
	}
	if failed > 0 {
		say, c = say+fmt.Sprintf("; %d could not be quoted", failed), stopColour
	}
	out := first + s.paint(c, say+".")
	out += "\n\n" + t.render(s.width())
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

// BatchCSV writes the results of a list as CSV with a header row.
func BatchCSV(results []batch.Result) ([]byte, error) {
	var b bytes.Buffer
	w := csv.NewWriter(&b)
	rows := [][]string{{"line", "art", "item", "process", "quantity", "sheets", "currency", "cost_each", "cost_total", "price_each", "price_total", "margin_percent", "error", "stops", "assumed", "demo_shop", "item_said"}}
	for _, r := range results {
		var stops, assumed []string
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
			strings.Join(stops, "; "), strings.Join(assumed, "; "), demo, r.ItemSaid})
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
