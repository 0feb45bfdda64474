package show

import (
	"cmp"
	"fmt"
	"strings"
	"time"

	"laydown/coverage/ledger"
	"laydown/coverage/name"
	"laydown/coverage/plate"
)

// Ledger sets what a ledger says of toners for a terminal, with lines for the shop file.
func Ledger(f *ledger.Report, s Style) string {
	t := &folds{head: []string{"toner", "cartridges", "correction in use", "measured", "95 % sure it lies between", "page costs, in use", "page costs, measured"}}
	var offers, uneven []string
	for _, v := range f.Toners {
		measured, between, page := "", "", ""
		switch {
		case v.Correction == 0:
			between = "no whole cartridge yet"
		case !v.Bounded():
			measured, page, between = fmt.Sprintf("%.2f", v.Correction), v.Page, "one span is too few"
		default:
			measured, page, between = fmt.Sprintf("%.2f", v.Correction), v.Page, fmt.Sprintf("%.2f and %.2f", v.Low, v.High)
			if v.Wide() {
				between += ", too wide to use yet"
			}
		}
		if v.Sure() {
			offers = append(offers, fmt.Sprintf("[printer.toner.%s]\ncorrection = \"%.2f\"\n", v.Toner, v.Correction))
		}
		if v.Uneven() {
			uneven = append(uneven, fmt.Sprintf("%s by about %.0f %%", v.Toner, v.Scatter))
		}
		t.add(v.Toner, trimmed(v.Cartridges), fmt.Sprint(v.Now), measured, between, v.PageNow, page)
	}
	out := s.para("No correction is sure yet: enter more runs and whole cartridges.", "")
	if len(offers) > 0 {
		out = s.para(fmt.Sprintf("Corrections for %s: put them in the shop file.", plural(len(offers), "toner", "toners")), "")
	}
	out += s.para(fmt.Sprintf("%s: %s; a page is one of the stated coverage, its cost in %s", f.Printer, countWords(f.Counts), f.Currency), "  ")
	if f.ForgottenPercent > 0 {
		out += s.para(fmt.Sprintf("%g %% of the runs are reckoned with as not entered.", f.ForgottenPercent), "  ")
	}
	if len(uneven) > 0 {
		out += s.para(fmt.Sprintf("Cartridges differ in what they lay down, %s: perhaps a run or a change was not entered.", name.Or(uneven)), "  ")
	}
	out += unknownPrinters(f.Unknown, s) + "\n" + t.render(s.width())
	if len(offers) > 0 {
		out += "\nFor the shop file:\n\n" + strings.Join(offers, "\n")
	}
	return out
}

// trimmed is a figure of up to two decimals.
func trimmed(v float64) string {
	return strings.TrimSuffix(strings.TrimRight(fmt.Sprintf("%.2f", v), "0"), ".")
}

func unknownPrinters(names []string, s Style) string {
	if len(names) == 0 {
		return ""
	}
	return s.para(fmt.Sprintf("The ledger also has entries of %s, which the shop file has not: correct the names there, or keep to this file's printers.", strings.Join(names, ", ")), "  ")
}

func countWords(n ledger.Counts) string {
	out := plural(n.Runs, "run", "runs")
	if n.Pieces > 0 {
		out += fmt.Sprintf(" of %s", plural(n.Pieces, "piece", "pieces"))
	}
	if n.Sheets > 0 {
		out += fmt.Sprintf(" on %s", plural(n.Sheets, "sheet", "sheets"))
	}
	if n.Jams > 0 {
		out += ", " + plural(n.Jams, "sheet jammed", "sheets jammed")
	}
	if n.TestSheets > 0 {
		out += ", " + plural(n.TestSheets, "test sheet", "test sheets")
	}
	return out + ", " + plural(n.Changes, "cartridge changed", "cartridges changed")
}

// entryBeside is what the other columns of a list take beside what an entry is.
const entryBeside = 58

// LedgerList sets a ledger's entries for a terminal; all has those that were struck too.
func LedgerList(f *ledger.Listing, all bool, s Style) string {
	t := &folds{head: []string{"no.", "when", "entry", "pieces", "sheets", "toner, then"}, left: map[int]bool{1: true, 2: true}}
	t.most = map[int]int{2: max(12, s.width()-entryBeside)}
	struck, of := 0, f.Printer // the only one that there are entries of
	for i, e := range f.Entries {
		if i == 0 {
			of = e.Printer
		} else if e.Printer != of {
			of = ""
		}
	}
	for _, e := range f.Entries {
		if e.Struck {
			if struck++; !all {
				continue
			}
		}
		count := func(n int) string {
			if n == 0 {
				return ""
			}
			return fmt.Sprint(n)
		}
		t.add(fmt.Sprint(e.Number), e.When, entryWords(e, of == ""), count(e.Pieces), count(e.Sheets), strings.TrimSpace(e.Currency+" "+e.Cost))
	}
	out := s.para(fmt.Sprintf("%s: %s", cmp.Or(of, "All printers"), countWords(f.Counts)), "")
	switch {
	case struck > 0 && all:
		out += s.para(fmt.Sprintf("%s taken back or corrected, and counts for nothing.", plural(struck, "entry was", "entries were")), "  ")
	case struck > 0:
		out += s.para(fmt.Sprintf("%s taken back or corrected; --all shows them.", plural(struck, "entry was", "entries were")), "  ")
	}
	zone := f.Zone
	if zone == time.Local.String() {
		zone = "this machine's time zone; time_zone in the shop file names another"
	}
	out += s.para("Times are those of "+zone+".", "  ")
	return out + unknownPrinters(f.Unknown, s) + "\n" + t.render(s.width())
}

// entryWords says what an entry is; with its printer if there may be several.
func entryWords(e ledger.Line, printer bool) string {
	out := ""
	switch {
	case e.Toner != "":
		out = e.Toner + " cartridge"
		if e.LeftPercent > 0 {
			out += fmt.Sprintf(", %g %% left", e.LeftPercent)
		}
		if e.PutInPercent < 100 {
			out += fmt.Sprintf(", one with %g %% put in", e.PutInPercent)
		}
		switch e.During {
		case ledger.NextRun:
			out += ", in the run behind it"
		case ledger.NoRun:
			out += ", between runs"
		case ledger.LastRun:
			out += ", in the run before it"
		}
	case e.Kind == ledger.Print:
		out = e.Job
	case e.Kind == ledger.Test && e.Job == ledger.TestJob:
		out = e.Job
	default:
		out = e.Kind + ": " + e.Job
	}
	if printer {
		out += ", on " + e.Printer
	}
	if e.Corrects != 0 {
		out += fmt.Sprintf(" (in place of %d)", e.Corrects)
	}
	if e.Struck {
		out += " (struck)"
	}
	return out
}

// Entered says in words what entry was made, taken back or corrected.
func Entered(e ledger.Entry, b ledger.Books) string {
	if c := e.Change; c != nil {
		return fmt.Sprintf("%s cartridge of %s changed, %s", plate.Names[c.Toner], c.Printer, b.When(c.At))
	}
	r := e.Run
	on := plural(r.Sheets, "sheet", "sheets")
	if r.Pieces > 0 {
		on = plural(r.Pieces, "piece", "pieces") + " on " + on
	}
	kind := ""
	if r.Kind != ledger.Print && r.Job != ledger.TestJob {
		kind = r.Kind + ": "
	}
	return fmt.Sprintf("%s%s, %s, %s, %s", kind, r.Job, on, r.Printer, b.When(r.At))
}
