package show

import (
	"fmt"
	"strings"

	"github.com/jedib0t/go-pretty/v6/table"

	"laydown/coverage/ledger"
)

// Ledger sets what a ledger says of toners for a terminal, with lines for the shop file.
func Ledger(f *ledger.Report) string {
	t := newTable("toner", "cartridges", "correction now", "measured", "95 % sure between", "page now", "page measured")
	rightFrom(t, 2, 7)
	var offers []string
	for _, v := range f.Toners {
		measured, between, page := "", "", ""
		switch {
		case v.Cartridges == 0:
			between = "no whole cartridge yet"
		case v.Cartridges == 1:
			measured, page, between = fmt.Sprintf("%.2f", v.Correction), v.Page, "one cartridge says nothing of that"
		default:
			measured, page, between = fmt.Sprintf("%.2f", v.Correction), v.Page, fmt.Sprintf("%.2f and %.2f", v.Low, v.High)
			if v.Wide() {
				between += ", too wide to use yet"
			}
		}
		if v.Sure() {
			offers = append(offers, fmt.Sprintf("[printer.toner.%s]\ncorrection = \"%.2f\"\n", v.Toner, v.Correction))
		}
		t.AppendRow(table.Row{v.Toner, v.Cartridges, v.Now, measured, between, v.PageNow, page})
	}
	s := fmt.Sprintf("%s: %s, %s; costs of a page of the stated coverage, in %s\n\n%s\n", f.Printer, plural(f.Runs, "run", "runs"),
		plural(f.Changes, "cartridge changed", "cartridges changed"), f.Currency, t.Render())
	if len(offers) > 0 {
		s += "\nFor the shop file:\n\n" + strings.Join(offers, "\n")
	}
	return s
}
