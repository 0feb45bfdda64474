package proof

import (
	"errors"
	"math"
	"path/filepath"
	"testing"
	"time"

	"laydown/coverage/fault"
	"laydown/coverage/ledger"
	"laydown/coverage/order/ordertest"
	"laydown/coverage/plate"
	"laydown/coverage/price"
)

// TestRun makes runs of the pieces that were really printed: their toner is that of so many
// prints, whatever the sheets would have held, and costs in the ledger what it costs in a quote.
func TestRun(t *testing.T) {
	o := ordertest.Badge(t)
	p, err := Make(o, 0)
	if err != nil {
		t.Fatal(err)
	}
	at := time.Date(2026, 3, 14, 15, 0, 0, 0, time.UTC)
	copies := p.Laid.Layout.Copies()
	if copies < 2 {
		t.Fatalf("%d copies on a sheet", copies)
	}
	one, err := p.Laid.Run("", 1, 0, at)
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct{ pieces, sheets, wantPieces, wantSheets int }{
		{copies + 1, 0, copies + 1, 2}, {0, 3, 3 * copies, 3}, {copies + 1, 4, copies + 1, 4}, {2 * copies, 2, 2 * copies, 2},
	} {
		r, err := p.Laid.Run("spring", c.pieces, c.sheets, at)
		if err != nil || r.Pieces != c.wantPieces || r.Sheets != c.wantSheets || r.Copies != copies || r.Job != "spring" {
			t.Errorf("%+v: %+v, %v", c, r, err)
		}
		for k := range r.AreaMM2 {
			if want := one.AreaMM2[k] * float64(c.wantPieces); math.Abs(r.AreaMM2[k]-want) > 1e-6*(1+want) {
				t.Errorf("%+v lays down %g mm² of %s, want %g", c, r.AreaMM2[k], plate.Names[k], want)
			}
		}
	}
	var f *fault.Fault
	if _, err := p.Laid.Run("", 2*copies+1, 2, at); !errors.As(err, &f) || f.Field != "pieces" {
		t.Errorf("more than the sheets hold: %v", err)
	}

	l, err := ledger.OpenOrMake(filepath.Join(t.TempDir(), "l.db"))
	if err != nil {
		t.Fatal(err)
	}
	defer l.Close()
	r, err := p.Laid.Run("", 25, 0, at)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := l.AddRun(ledger.BooksOf(o.Shop, at, time.UTC), r); err != nil {
		t.Fatal(err)
	}
	list, err := l.List("")
	if err != nil {
		t.Fatal(err)
	}
	quoted, err := price.TonerCost(p.Laid.Job.Printer.Cartridges(), p.Laid.toner(), 25)
	if err != nil {
		t.Fatal(err)
	}
	if cost, ok := list[0].Run.Cost(); !ok || cost.Sub(quoted.Total).Abs().InexactFloat64() > 0.0003 { // each toner is rounded
		t.Errorf("the run cost %s, the quote says %s", cost, quoted.Total)
	}
}
