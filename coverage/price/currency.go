package price

import (
	"slices"
	"strings"

	"github.com/shopspring/decimal"
)

// minorUnits are the currencies whose smallest amount is not a hundredth, by its decimal
// places: ISO 4217, list one as published on 2024-06-25.
var minorUnits = [][]string{
	0: {"BIF", "CLP", "DJF", "GNF", "ISK", "JPY", "KMF", "KRW", "PYG", "RWF", "UGX", "UYI", "VND", "VUV", "XAF", "XOF", "XPF"},
	3: {"BHD", "IQD", "JOD", "KWD", "LYD", "OMR", "TND"},
	4: {"CLF", "UYW"},
}

// CurrencyPlaces are the decimal places of a currency's smallest amount, by its code in
// ISO 4217; 2 for what is no code.
func CurrencyPlaces(code string) int32 {
	code = strings.ToUpper(strings.TrimSpace(code))
	for places, of := range minorUnits {
		if slices.Contains(of, code) {
			return int32(places)
		}
	}
	return 2
}

// Payable reports whether an amount can be paid or asked in a currency with so many places:
// it has no more of them, or is below its smallest amount, as the price of a cover sheet's
// use may be, and has at most two more.
func Payable(v decimal.Decimal, places int32) bool {
	if v.Equal(v.Round(places)) {
		return true
	}
	return v.Abs().LessThan(decimal.New(1, -places)) && v.Equal(v.Round(places+2))
}
