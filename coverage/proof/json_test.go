package proof

import (
	"encoding/json"
	"testing"

	"laydown/coverage/plate"
	"laydown/coverage/shop"
)

// TestJSONOfOthers holds what other rooms' values look like in a proof's JSON: names and
// order are its contract.
func TestJSONOfOthers(t *testing.T) {
	step := shop.Step{Do: "press", TemperatureC: 150, TemperatureF: 302, Seconds: 8, Pressure: "medium", Peel: "hot", Covered: true, Per: shop.PerPair, Waits: true, Note: "n"}
	for _, c := range []struct {
		v    any
		want string
	}{
		{TicketStep{step, "w"}, `{"do":"press","temperature_c":150,"temperature_f":302,"seconds":8,"pressure":"medium","peel":"hot","covered":true,"per":"pair","waits":true,"note":"n","words":"w"}`},
		{TicketStep{shop.Step{Do: "cut", Per: shop.PerPiece}, "w"}, `{"do":"cut","per":"piece","waits":false,"words":"w"}`},
		{plate.TAC{MeanPercent: 1, P99Percent: 2, MaxPercent: 3, LimitPercent: 4, OverLimitAreaPercent: 5},
			`{"mean_percent":1,"p99_percent":2,"max_percent":3,"limit_percent":4,"over_limit_area_percent":5}`},
	} {
		if got, err := json.Marshal(c.v); err != nil || string(got) != c.want {
			t.Errorf("%s, %v, want %s", got, err, c.want)
		}
	}
}
