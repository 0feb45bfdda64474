package ledger

import (
	"errors"
	"fmt"
	"strings"
	"time"
	"unicode"

	"laydown/coverage/fault"
	"laydown/coverage/name"
	"laydown/coverage/plate"
	"laydown/coverage/shop"
)

// Books are what entries are held to: the shop's printers, its zone, and the time now.
type Books struct {
	Shop *shop.Shop
	Zone *time.Location // that dates are read and told in
	Now  time.Time
}

// BooksOf are a shop's books: in the zone that its file names, else in the zone here.
func BooksOf(s *shop.Shop, now time.Time, here *time.Location) Books {
	if z := s.Zone(); z != nil {
		here = z
	}
	return Books{s, here, now}
}

// Limits on entries: what is beyond them is a slip of the pen.
const (
	mostSheets = 100_000    // a run: at thirty pages a minute, more than two days
	mostPieces = 10_000_000 // as many as a quote is for
	mostJob    = 200        // letters
)

// earliest is before any printer with white toner was sold (from memory), and before any
// entry.
var earliest = time.Date(2000, 1, 1, 0, 0, 0, 0, time.UTC)

const (
	dayForm   = "2006-01-02"
	clockForm = "2006-01-02 15:04"
)

// When words an instant in the shop's zone: day and time.
func (b Books) When(t time.Time) string { return t.In(b.Zone).Format(clockForm) }

// Parse reads a day such as 2026-03-14, which means its first minute, or a day and time,
// such as 2026-03-14T15:30, in the shop's zone; with a zone of its own as in RFC 3339. The
// error is a [fault.Fault] about date.
func (b Books) Parse(text string) (time.Time, error) {
	if t, err := time.Parse(time.RFC3339, text); err == nil {
		return t, nil
	}
	for _, form := range []string{dayForm, "2006-01-02T15:04", clockForm, "2006-01-02T15:04:05"} {
		t, err := time.ParseInLocation(form, text, b.Zone)
		if err != nil {
			continue
		}
		if form != dayForm && t.Format(form) != text {
			return t, fault.In("date", fmt.Errorf("%q is no time in %s: the clock was put forward then", text, b.Zone))
		}
		return t, nil
	}
	return time.Time{}, fault.In("date", fmt.Errorf("%q: write a day such as 2026-03-14, or 2026-03-14T15:30", text))
}

// common checks what every entry has, and puts the printer's name in full. "" is the
// printer of the default process.
func (b Books) common(printer string, at time.Time) (*shop.Printer, error) {
	pr, err := b.printer(printer)
	switch {
	case err != nil:
		return nil, err
	case at.Before(earliest):
		return nil, fault.In("date", fmt.Errorf("%s is before any ledger was kept: write the year in full", b.When(at)))
	case at.After(b.Now):
		return nil, fault.In("date", fmt.Errorf("%s is still to come: it is now %s in %s", b.When(at), b.When(b.Now), b.Zone))
	}
	return pr, nil
}

// Printer is the full name of a printer of the shop; "" is that of the default process. The
// error is a [fault.Fault] about printer.
func (b Books) Printer(called string) (string, error) {
	p, err := b.printer(called)
	if err != nil {
		return "", err
	}
	return p.Name, nil
}

// printer finds a printer of the shop by name, or that of the default process.
func (b Books) printer(called string) (*shop.Printer, error) {
	if called != "" {
		p, err := b.Shop.Printer(called)
		return p, fault.In("printer", err)
	}
	p, err := b.Shop.Process(b.Shop.DefaultProcess)
	if err != nil {
		return nil, err
	}
	return b.Shop.Printer(p.Printer)
}

// CheckRun returns a run as it will be entered: with its printer's name in full and what
// the shop file says of its toners now. Where a figure makes no sense, the error is a
// [fault.Fault] about printer, date, job, kind, sheets or pieces.
func (b Books) CheckRun(r Run) (Run, error) {
	if r.Printer == "" {
		return r, fault.In("printer", errors.New("a run needs one"))
	}
	pr, err := b.common(r.Printer, r.At)
	if err != nil {
		return r, err
	}
	r.Printer = pr.Name
	if r.Kind == "" {
		r.Kind = Print
	}
	if i, err := name.Find("kind of run", r.Kind, "laydown", Kinds); err != nil {
		return r, fault.In("kind", err)
	} else {
		r.Kind = Kinds[i]
	}
	switch {
	case strings.TrimSpace(r.Job) == "":
		return r, fault.In("job", errors.New("a run needs one"))
	case strings.ContainsFunc(r.Job, func(c rune) bool { return !unicode.IsPrint(c) }) || len([]rune(r.Job)) > mostJob:
		return r, fault.In("job", fmt.Errorf("must be one line of at most %d letters", mostJob))
	case r.Sheets <= 0 || r.Sheets > mostSheets:
		return r, fault.In("sheets", fmt.Errorf("must be above 0 and at most %d a run", mostSheets))
	case r.Pieces < 0 || r.Pieces > mostPieces:
		return r, fault.In("pieces", fmt.Errorf("must be above 0 and at most %d", mostPieces))
	case r.Copies > 0 && r.Pieces > r.Sheets*r.Copies:
		return r, fault.In("pieces", fmt.Errorf("%d cannot be on %s of %d", r.Pieces, sheetsWord(r.Sheets), r.Copies))
	}
	for k, a := range r.AreaMM2 {
		if !(a >= 0) || !finite(a) {
			return r, fmt.Errorf("a run cannot lay down %g mm² of %s", a, plate.Names[k])
		}
	}
	r.Then, r.Currency = [plate.Count]Stated{}, b.Shop.Currency
	for k, n := range plate.Names {
		if t, ok := pr.Toner[n]; ok {
			r.Then[k] = Stated{CartridgeMM2: cartridgeMM2(t), Price: t.Price, Correction: t.Correction}
		}
	}
	return r, nil
}

func sheetsWord(n int) string {
	if n == 1 {
		return "1 sheet"
	}
	return fmt.Sprintf("%d sheets", n)
}

// cartridgeMM2 is the solid area that a cartridge states: yield × page × coverage.
func cartridgeMM2(t shop.Toner) float64 {
	percent, _ := t.CoveragePercent.Float64()
	return float64(t.YieldPages) * t.Page.AreaMM2() * percent / 100
}

// CheckChange returns a change with its printer's name in full; "" is the printer of the
// default process. Where a figure makes no sense, the error is a [fault.Fault] about
// printer, date, cartridge, left, put-in or during.
func (b Books) CheckChange(c Change) (Change, error) {
	pr, err := b.common(c.Printer, c.At)
	if err != nil {
		return c, err
	}
	c.Printer = pr.Name
	if c.Toner < 0 || c.Toner >= plate.Count {
		return c, fault.In("cartridge", errors.New("a change needs a toner"))
	}
	if _, ok := pr.Toner[plate.Names[c.Toner]]; !ok {
		return c, b.noToner(pr, plate.Names[c.Toner])
	}
	switch {
	case !(c.LeftPercent >= 0 && c.LeftPercent < 100):
		return c, fault.In("left", fmt.Errorf("%g %% cannot have been left in the cartridge: from 0 to under 100", c.LeftPercent))
	case !(c.PutInPercent >= 0 && c.PutInPercent <= 100):
		return c, fault.In("put-in", fmt.Errorf("%g %% cannot have been in a cartridge: above 0 and at most 100", c.PutInPercent))
	}
	if c.During != "" {
		i, err := name.Find("run", c.During, "laydown", Durings)
		if err != nil {
			return c, fault.In("during", err)
		}
		c.During = Durings[i]
	}
	return c, nil
}

func (b Books) noToner(pr *shop.Printer, toner string) error {
	var has []string
	for _, n := range plate.Names {
		if _, ok := pr.Toner[n]; ok {
			has = append(has, n)
		}
	}
	return fault.In("cartridge", fmt.Errorf("printer %q has no toner %q: choose one of %s", pr.Name, toner, strings.Join(has, ", ")))
}

// Toner is a plate of a toner by its name, or the beginning of it. The error is a
// [fault.Fault] about cartridge. printer "" is that of the default process.
func (b Books) Toner(printer, toner string) (int, error) {
	pr, err := b.printer(printer)
	if err != nil {
		return 0, err
	}
	i, err := name.Find("toner", toner, "laydown", plate.Names[:])
	if err != nil {
		return 0, b.noToner(pr, toner)
	}
	return i, nil
}

// TestJob is the job of test pages of the printer's own.
const TestJob = "test page"

// TestPage is a run of test pages of the printer's own: each lays down the stated coverage
// of every toner but white, which such pages lack (common practice, no source). "" is the
// printer of the default process.
func (b Books) TestPage(printer string, sheets int, at time.Time) (Run, error) {
	pr, err := b.printer(printer)
	if err != nil {
		return Run{}, err
	}
	r := Run{At: at, Kind: Test, Job: TestJob, Printer: pr.Name, Sheets: sheets}
	for k, n := range plate.Names {
		if t, ok := pr.Toner[n]; ok && k != plate.White {
			r.AreaMM2[k] = cartridgeMM2(t) / float64(t.YieldPages) * float64(sheets)
		}
	}
	return r, nil
}
