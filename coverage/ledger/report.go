package ledger

import (
	"errors"
	"fmt"
	"math"
	"strings"
	"time"

	"github.com/shopspring/decimal"

	"laydown/coverage/fault"
	"laydown/coverage/plate"
	"laydown/coverage/price"
	"laydown/coverage/shop"
)

// Report is what a ledger says of a printer's toners.
type Report struct {
	Printer  string        `json:"printer"`
	Currency string        `json:"currency"`
	Runs     int           `json:"runs"`
	Changes  int           `json:"changes"`
	Toners   []TonerReport `json:"toners"`
}

// TonerReport is one toner: what the shop file says, and what was measured.
type TonerReport struct {
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

// Report learns each toner's correction for a printer of the shop; "" is that of
// the default process. One that the shop file does not have is a [fault.Fault] about
// printer.
func (l *Ledger) Report(s *shop.Shop, printer string) (*Report, error) {
	pr, err := printerOf(s, printer)
	if err != nil {
		return nil, err
	}
	f := &Report{Printer: pr.Name, Currency: s.Currency}
	if f.Runs, f.Changes, err = l.counts(); err != nil {
		return nil, err
	}
	for k, name := range plate.Names {
		t, ok := pr.Toner[name]
		if !ok {
			continue
		}
		spans, err := l.spans(pr.Name, k)
		if err != nil {
			return nil, err
		}
		percent, _ := t.CoveragePercent.Float64()
		fit, err := fitSpans(spans, float64(t.YieldPages)*t.Page.AreaMM2()*percent/100)
		if err != nil && !errors.Is(err, errTooFew) {
			return nil, fmt.Errorf("%s toner: %w", name, err)
		}
		page := func(correction decimal.Decimal) string {
			return t.Price.Mul(correction).DivRound(decimal.NewFromInt(t.YieldPages), price.Places).StringFixed(price.Places)
		}
		v := TonerReport{Toner: name, Cartridges: fit.Spans, Now: t.Correction.String(), PageNow: page(t.Correction)}
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
		p, err := s.Printer(name)
		return p, fault.In("printer", err)
	}
	p, err := s.Process(s.DefaultProcess)
	if err != nil {
		return nil, err
	}
	return s.Printer(p.Printer)
}

// ChangeOf is a change of one of a printer's cartridges, by the toner's name. The error is
// a [fault.Fault] about printer, cartridge or left.
func ChangeOf(s *shop.Shop, printer, toner string, leftPercent float64, at time.Time) (Change, error) {
	pr, err := printerOf(s, printer)
	if err != nil {
		return Change{}, err
	}
	for k, name := range plate.Names {
		if _, ok := pr.Toner[name]; ok && name == toner {
			c := Change{At: at, Printer: pr.Name, Toner: k, LeftPercent: leftPercent}
			return c, c.check()
		}
	}
	return Change{}, fault.In("cartridge", fmt.Errorf("printer %q has no toner %q: choose one of %s", pr.Name, toner, strings.Join(plate.Names[:], ", ")))
}

// unsure is how wide the interval may be, in parts of the correction, for one to be
// offered.
const unsure = 0.5

// Sure reports whether enough is known to put the correction in the shop file.
func (t TonerReport) Sure() bool { return t.Cartridges > 1 && !t.Wide() }

// Wide reports whether there is an interval and it is too wide to use.
func (t TonerReport) Wide() bool { return t.Cartridges > 1 && t.High-t.Low > unsure*t.Correction }

func to(v float64, places int) float64 {
	p := math.Pow10(places)
	return math.Round(v*p) / p
}
