// Package price turns what a print lays down into money.
//
// Toner follows ISO/IEC 19798: a cartridge's yield is stated in pages that
// carry about 5 % of each colour, so one print uses coverage × area ÷ (5 % ×
// page) of a page's toner. A correction factor per toner, measured by the shop,
// covers what its own machine does differently. All amounts are decimal, what is divided
// stays a fraction, every line is rounded once, and totals are the sums of the rounded
// lines that are shown.
package price

import (
	"errors"
	"fmt"

	"github.com/shopspring/decimal"

	"laydown/coverage/plate"
)

// Places are the decimal places that single costs are rounded to, half away
// from zero.
const Places = 4

// Cartridge is one toner cartridge's price and stated yield.
type Cartridge struct {
	Price           decimal.Decimal
	YieldPages      int64           // pages of PageAreaMM2 at CoveragePercent of this toner
	PageAreaMM2     float64         // 62,370 for A4
	CoveragePercent decimal.Decimal // 5 under ISO/IEC 19798
	Correction      decimal.Decimal // the shop's own measured use over the stated one, 1 if unmeasured
}

// Check returns an error that says which figure makes no sense.
func (c Cartridge) Check() error {
	switch {
	case c.Price.IsNegative():
		return errors.New("price must not be negative")
	case c.YieldPages <= 0:
		return errors.New("yield_pages must be above 0")
	case !(c.PageAreaMM2 > 0):
		return errors.New("page must be a sheet size")
	case !c.CoveragePercent.IsPositive() || c.CoveragePercent.GreaterThan(decimal.NewFromInt(100)):
		return errors.New("coverage_percent must be above 0 and at most 100")
	case !c.Correction.IsPositive():
		return errors.New("correction must be above 0")
	}
	return nil
}

// Laid is how much of a plate lies on an area: the sum of its tone values (255
// for a solid pixel) over all its pixels, and the area of those.
type Laid struct {
	Sum, Pixels uint64
	AreaMM2     float64
}

// toner is what the toner of one print costs.
func (c Cartridge) toner(l Laid) Exact {
	if l.Sum == 0 || l.Pixels == 0 {
		return Exact{} // a shop without white toner prices none
	}
	solid := Of(decimal.NewFromUint64(l.Sum)).Times(Of(decimal.NewFromFloat(l.AreaMM2))).Over(Of(decimal.NewFromUint64(l.Pixels)).Times(Whole(255)))
	perPage := Of(c.CoveragePercent).Times(Of(decimal.NewFromFloat(c.PageAreaMM2))).Times(Whole(c.YieldPages))
	return Of(c.Price).Times(Of(c.Correction)).Times(solid).Times(Whole(100)).Over(perPage)
}

// Toner is the cost of toner by plate.
type Toner struct {
	Plate [plate.Count]decimal.Decimal
	Total decimal.Decimal // the sum of Plate
}

// MarshalJSON writes the amounts by the plates' names, then their total, as text of
// [Places] decimals.
func (t Toner) MarshalJSON() ([]byte, error) {
	return amounts(plate.Names[:], t.Plate[:], t.Total), nil
}

// amounts writes named amounts and their total as one JSON object.
func amounts(names []string, of []decimal.Decimal, total decimal.Decimal) []byte {
	b := []byte{'{'}
	for i, v := range of {
		b = fmt.Appendf(b, "%q:%q,", names[i], v.StringFixed(Places))
	}
	return fmt.Appendf(b, "\"total\":%q}", total.StringFixed(Places))
}

// TonerCost prices what copies of one print lay down. Each plate's amount is
// rounded to [Places] after multiplying by copies.
func TonerCost(cartridges [plate.Count]Cartridge, laid [plate.Count]Laid, copies int) (Toner, error) {
	var t Toner
	for k := range laid {
		if laid[k].Sum == 0 {
			continue // a shop without white toner prices none
		}
		if err := cartridges[k].Check(); err != nil {
			return t, tonerError(k, err)
		}
		t.Plate[k] = cartridges[k].toner(laid[k]).Times(Whole(int64(copies))).Round(Places)
		t.Total = t.Total.Add(t.Plate[k])
	}
	return t, nil
}

func tonerError(k int, err error) error { return fmt.Errorf("%s toner: %w", plate.Names[k], err) }
