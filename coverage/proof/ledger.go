package proof

import (
	"errors"
	"fmt"
	"strings"
	"time"

	"github.com/jedib0t/go-pretty/v6/table"
	"github.com/shopspring/decimal"

	"laydown/coverage/ledger"
	"laydown/coverage/plate"
	"laydown/coverage/price"
	"laydown/coverage/shop"
)

// LedgerRun is the proof's order as a run of so many full sheets.
func (p *Proof) LedgerRun(job string, sheets int, at time.Time) ledger.Run {
	if job == "" {
		job = p.Artwork.File
	}
	r := ledger.Run{At: at, Job: job, Printer: p.job.printer.Name, Sheets: sheets}
	area := p.size.WidthMM * p.size.HeightMM * float64(p.layout.Copies()) * float64(sheets)
	for k := range r.AreaMM2 {
		r.AreaMM2[k] = p.plates.MeanPercent(k) / 100 * area
	}
	return r
}

// LedgerFacts is what a ledger says of a printer's toners.
type LedgerFacts struct {
	Printer  string        `json:"printer"`
	Currency string        `json:"currency"`
	Runs     int           `json:"runs"`
	Changes  int           `json:"changes"`
	Toners   []LedgerToner `json:"toners"`
}

// LedgerToner is one toner: what the shop file says, and what was measured.
type LedgerToner struct {
	Toner      string  `json:"toner"`
	Cartridges int     `json:"cartridges"` // whole lives in the ledger
	Now        string  `json:"correction_now"`
	Correction float64 `json:"correction"` // 0 if there is no whole life yet
	Low        float64 `json:"low_95"`     // 0 with fewer than two
	High       float64 `json:"high_95"`
	// PageNow and Page are the cost of a page with the stated coverage of this toner.
	PageNow string `json:"page_now"`
	Page    string `json:"page"`
}

// FitLedger learns each toner's correction for a printer of the shop; "" is that of
// the default process.
func FitLedger(l *ledger.Ledger, s *shop.Shop, printer string) (*LedgerFacts, error) {
	pr, err := printerOf(s, printer)
	if err != nil {
		return nil, err
	}
	f := &LedgerFacts{Printer: pr.Name, Currency: s.Currency}
	if f.Runs, f.Changes, err = l.Counts(); err != nil {
		return nil, err
	}
	for k, name := range plate.Names {
		t, ok := pr.Toner[name]
		if !ok {
			continue
		}
		spans, err := l.Spans(pr.Name, k)
		if err != nil {
			return nil, err
		}
		percent, _ := t.CoveragePercent.Float64()
		fit, err := ledger.FitSpans(spans, float64(t.YieldPages)*t.Page.AreaMM2()*percent/100)
		if err != nil && !errors.Is(err, ledger.ErrTooFew) {
			return nil, fmt.Errorf("%s toner: %w", name, err)
		}
		page := func(correction decimal.Decimal) string {
			return t.Price.Mul(correction).DivRound(decimal.NewFromInt(t.YieldPages), price.Places).StringFixed(price.Places)
		}
		v := LedgerToner{Toner: name, Cartridges: fit.Spans, Now: t.Correction.String(), PageNow: page(t.Correction)}
		if fit.Spans > 0 {
			v.Correction, v.Low, v.High = to(fit.Correction, 4), to(fit.Low, 4), to(fit.High, 4)
			v.Page = page(decimal.NewFromFloat(v.Correction))
		}
		f.Toners = append(f.Toners, v)
	}
	return f, nil
}

// printerOf finds a printer by name, or that of the default process.
func printerOf(s *shop.Shop, name string) (*shop.Printer, error) {
	if name != "" {
		return s.Printer(name)
	}
	p, err := s.Process(s.DefaultProcess)
	if err != nil {
		return nil, err
	}
	return s.Printer(p.Printer)
}

// LedgerChange is a change of one of a printer's cartridges, by the toner's name.
func LedgerChange(s *shop.Shop, printer, toner string, leftPercent float64, at time.Time) (ledger.Change, error) {
	pr, err := printerOf(s, printer)
	if err != nil {
		return ledger.Change{}, err
	}
	for k, name := range plate.Names {
		if _, ok := pr.Toner[name]; ok && name == toner {
			return ledger.Change{At: at, Printer: pr.Name, Toner: k, LeftPercent: leftPercent}, nil
		}
	}
	return ledger.Change{}, fmt.Errorf("printer %q has no toner %q: choose one of %s", pr.Name, toner, strings.Join(plate.Names[:], ", "))
}

// unsure is how wide the interval may be, in parts of the correction, for one to be
// offered.
const unsure = 0.5

// Text sets what was learnt for a terminal, with lines for the shop file.
func (f *LedgerFacts) Text() string {
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
			if v.High-v.Low > unsure*v.Correction {
				between += ", too wide to use yet"
				break
			}
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
