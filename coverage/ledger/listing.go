package ledger

import (
	"slices"
	"time"

	"laydown/coverage/plate"
)

// Listing is a ledger's entries in the order of time.
type Listing struct {
	Printer string `json:"printer,omitempty"` // "" is all
	Zone    string `json:"time_zone"`
	Counts
	Unknown []string `json:"unknown_printers,omitempty"` // that entries are of and the shop file has not
	Entries []Line   `json:"entries"`
}

// Line is an entry as a list tells it. Of a run toner, left, put in and during are empty;
// of a change job, pieces, sheets and cost.
type Line struct {
	Number   int64  `json:"number"`
	At       string `json:"at"` // RFC 3339, in the shop's zone
	When     string `json:"-"`  // the same for people
	Kind     string `json:"kind"`
	Printer  string `json:"printer"`
	Job      string `json:"job,omitempty"`
	Pieces   int    `json:"pieces,omitempty"`
	Sheets   int    `json:"sheets,omitempty"`
	Cost     string `json:"toner_cost,omitempty"` // as it was reckoned then; "" if nobody knows
	Currency string `json:"currency,omitempty"`
	// AreasMM2 is the solid area that each toner laid down, and Corrections what was
	// reckoned with.
	AreasMM2    map[string]float64 `json:"solid_mm2,omitempty"`
	Corrections map[string]string  `json:"corrections,omitempty"`

	Toner        string  `json:"toner,omitempty"`
	LeftPercent  float64 `json:"left_percent,omitempty"`
	PutInPercent float64 `json:"put_in_percent,omitempty"`
	During       string  `json:"during,omitempty"` // "" is as it is usual

	Struck   bool  `json:"struck,omitempty"`
	Corrects int64 `json:"corrects,omitempty"`
}

// Listing lists the entries of a printer of the shop; "" is all. A printer that the shop
// file has not may be named in full, if the ledger has it. The error is a [fault.Fault]
// about printer.
func (l *Ledger) Listing(b Books, printer string) (*Listing, error) {
	all, err := l.List("")
	if err != nil {
		return nil, err
	}
	f := &Listing{Zone: b.Zone.String(), Unknown: unknownPrinters(b, all), Entries: []Line{}}
	if printer != "" {
		if f.Printer = printer; !slices.Contains(f.Unknown, printer) {
			pr, err := b.printer(printer)
			if err != nil {
				return nil, err
			}
			f.Printer = pr.Name
		}
	}
	f.Counts = CountsOf(all, f.Printer)
	for _, e := range all {
		if f.Printer == "" || e.printer() == f.Printer {
			f.Entries = append(f.Entries, b.line(e))
		}
	}
	return f, nil
}

func (b Books) line(e Entry) Line {
	at := e.at().In(b.Zone)
	v := Line{Number: e.Number, At: at.Format(time.RFC3339), When: b.When(at), Kind: change, Printer: e.printer(), Struck: e.Struck, Corrects: e.Corrects}
	if c := e.Change; c != nil {
		v.Toner, v.LeftPercent, v.PutInPercent, v.During = plate.Names[c.Toner], c.LeftPercent, 100*c.in(), c.During
		return v
	}
	r := e.Run
	v.Kind, v.Job, v.Pieces, v.Sheets = r.Kind, r.Job, r.Pieces, r.Sheets
	v.AreasMM2, v.Corrections = map[string]float64{}, map[string]string{}
	for k, area := range r.AreaMM2 {
		if area > 0 {
			v.AreasMM2[plate.Names[k]] = to(area, 1)
			if t := r.Then[k]; t.CartridgeMM2 > 0 {
				v.Corrections[plate.Names[k]] = t.Correction.String()
			}
		}
	}
	if cost, ok := r.Cost(); ok && r.Currency != "" {
		v.Cost, v.Currency = cost.StringFixed(costPlaces), r.Currency
	}
	return v
}
