package show

import (
	"testing"

	"laydown/coverage/flaw"
)

// TestAmount words what was measured.
func TestAmount(t *testing.T) {
	for want, f := range map[string]flaw.Finding{
		"0.11 mm (limit 0.35)":  {Measured: 0.106, Limit: 0.35, Unit: "mm"},
		"72 px/in (limit 150)":  {Measured: 72.2, Limit: 150, Unit: "px/in"},
		"1 ink":                 {Measured: 1, Unit: "inks"},
		"3 inks":                {Measured: 3, Unit: "inks"},
		"in the file":           {Measured: 1, Unit: "drawings"},
		"302.4 % (limit 240.0)": {Measured: 302.4, Limit: 240, Unit: "%"},
		"the file has none":     {Unit: "profiles", Limit: 1},
	} {
		if got := amount(f); got != want {
			t.Errorf("%q, want %q", got, want)
		}
	}
}
