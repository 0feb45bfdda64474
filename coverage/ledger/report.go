package ledger

import (
	"errors"
	"fmt"
	"math"
	"slices"

	"github.com/shopspring/decimal"

	"laydown/coverage/fault"
	"laydown/coverage/plate"
	"laydown/coverage/price"
)

// Report is what a ledger says of a printer's toners. All of it is about that printer
// alone.
type Report struct {
	Printer  string `json:"printer"`
	Currency string `json:"currency"`
	Counts
	// ForgottenPercent is the share of runs that is reckoned with as not entered.
	ForgottenPercent float64       `json:"forgotten_percent"`
	Toners           []TonerReport `json:"toners"`
	// Unknown are printers that the ledger has entries of and the shop file has not.
	Unknown []string `json:"unknown_printers,omitempty"`
}

// TonerReport is one toner: what the shop file says, and what was measured.
type TonerReport struct {
	Toner      string  `json:"toner"`
	Cartridges float64 `json:"cartridges"` // used up between the first change and the last, to a hundredth
	Now        string  `json:"correction_now"`
	Correction float64 `json:"correction"` // 0 if no cartridge was used up yet
	Low        float64 `json:"low_95"`     // 0 with one span between changes
	High       float64 `json:"high_95"`
	Scatter    float64 `json:"scatter_percent"` // standard deviation of what cartridges lay down; 0 with one span
	// PageNow and Page are the cost of a page with the stated coverage of this toner.
	PageNow string `json:"page_now"`
	Page    string `json:"page"`
}

// Report learns each toner's correction for a printer of the shop; "" is that of
// the default process. forgottenPercent of the runs, from 0 to 50, is taken as not
// entered. The error is a [fault.Fault] about printer or forgotten.
func (l *Ledger) Report(b Books, printer string, forgottenPercent float64) (*Report, error) {
	pr, err := b.printer(printer)
	if err != nil {
		return nil, err
	}
	if !(forgottenPercent >= 0 && forgottenPercent <= 50) {
		return nil, fault.In("forgotten", errors.New("must be from 0 to 50 percent"))
	}
	all, err := l.List("")
	if err != nil {
		return nil, err
	}
	list := slices.DeleteFunc(slices.Clone(all), func(e Entry) bool { return e.printer() != pr.Name })
	f := &Report{Printer: pr.Name, Currency: b.Shop.Currency, Counts: CountsOf(list, ""), ForgottenPercent: forgottenPercent, Unknown: unknownPrinters(b, all)}
	for k, name := range plate.Names {
		t, ok := pr.Toner[name]
		if !ok {
			continue
		}
		stated := cartridgeMM2(t)
		if !(stated > 0) {
			return nil, fmt.Errorf("%s toner: a cartridge must state a yield", name)
		}
		got, err := fit(marks(events(list, k, stated), forgottenPercent/100))
		if err != nil && !errors.Is(err, errTooFew) {
			return nil, fmt.Errorf("%s toner: %w", name, err)
		}
		page := func(correction decimal.Decimal) string {
			return t.Price.Mul(correction).DivRound(decimal.NewFromInt(t.YieldPages), price.Places).StringFixed(price.Places)
		}
		v := TonerReport{Toner: name, Now: t.Correction.String(), PageNow: page(t.Correction)}
		if err == nil {
			v.Cartridges, v.Scatter = to(got.Cartridges, 2), to(100*got.Scatter, 1)
			v.Correction, v.Low, v.High = to(got.Correction, 4), to(got.Low, 4), to(got.High, 4)
			v.Page = page(decimal.NewFromFloat(v.Correction))
		}
		f.Toners = append(f.Toners, v)
	}
	return f, nil
}

// unknownPrinters are those of entries that stand and that the shop does not have.
func unknownPrinters(b Books, list []Entry) (out []string) {
	for _, e := range list {
		if p := e.printer(); !e.Struck && !slices.Contains(b.Shop.PrinterNames(), p) && !slices.Contains(out, p) {
			out = append(out, p)
		}
	}
	slices.Sort(out)
	return out
}

// unsure is how wide the interval may be, in parts of the correction, for one to be
// offered.
const unsure = 0.5

// Bounded reports whether there is an interval: there are two spans or more.
func (t TonerReport) Bounded() bool { return t.High > 0 }

// Sure reports whether enough is known to put the correction in the shop file.
func (t TonerReport) Sure() bool { return t.Bounded() && !t.Wide() }

// Wide reports whether there is an interval and it is too wide to use.
func (t TonerReport) Wide() bool { return t.Bounded() && t.High-t.Low > unsure*t.Correction }

// Uneven reports whether cartridges differ by so much that a run or a change may be
// missing.
func (t TonerReport) Uneven() bool { return t.Scatter >= unevenPercent }

// unevenPercent is beyond what cartridges themselves are likely to differ by; our own
// figure.
const unevenPercent = 15

func to(v float64, places int) float64 {
	p := math.Pow10(places)
	return math.Round(v*p) / p
}
