package show

import (
	"fmt"
	"strings"

	"laydown/coverage/ledger"
)

// Ledger sets what a ledger says of toners for a terminal, with lines for the shop file.
func Ledger(f *ledger.Report, s Style) string {
	t := &folds{head: []string{"toner", "cartridges", "correction in use", "measured", "95 % sure it lies between", "page costs, in use", "page costs, measured"}}
	var offers []string
	for _, v := range f.Toners {
		measured, between, page := "", "", ""
		switch {
		case v.Cartridges == 0:
			between = "no whole cartridge yet"
		case v.Cartridges == 1:
			measured, page, between = fmt.Sprintf("%.2f", v.Correction), v.Page, "one cartridge is too few"
		default:
			measured, page, between = fmt.Sprintf("%.2f", v.Correction), v.Page, fmt.Sprintf("%.2f and %.2f", v.Low, v.High)
			if v.Wide() {
				between += ", too wide to use yet"
			}
		}
		if v.Sure() {
			offers = append(offers, fmt.Sprintf("[printer.toner.%s]\ncorrection = \"%.2f\"\n", v.Toner, v.Correction))
		}
		t.add(v.Toner, fmt.Sprint(v.Cartridges), fmt.Sprint(v.Now), measured, between, v.PageNow, page)
	}
	out := s.para("No correction is sure yet: enter more runs and whole cartridges.", "")
	if len(offers) > 0 {
		out = s.para(fmt.Sprintf("Corrections for %s: put them in the shop file.", plural(len(offers), "toner", "toners")), "")
	}
	out += s.para(fmt.Sprintf("%s: %s, %s; a page is one of the stated coverage, its cost in %s", f.Printer, plural(f.Runs, "run", "runs"),
		plural(f.Changes, "cartridge changed", "cartridges changed"), f.Currency), "  ") + "\n" + t.render(s.width())
	if len(offers) > 0 {
		out += "\nFor the shop file:\n\n" + strings.Join(offers, "\n")
	}
	return out
}
