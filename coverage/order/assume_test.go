package order_test

import (
	"testing"

	"laydown/colour"
	"laydown/coverage/artwork"
	"laydown/coverage/order"
	"laydown/coverage/order/ordertest"
)

// TestAssumed says what is taken for an item that is not named, never with the name of a
// colour that it has not.
func TestAssumed(t *testing.T) {
	tan := colour.FromSRGB(0xc1, 0x9a, 0x6b)
	for _, c := range []struct {
		item   string
		colour *colour.Lab
		want   string
	}{
		{"black tee", nil, ""},
		{"black tee", &tan, ""},
		{"", nil, "item not named: black tee, because it is the shop's default"},
		{"", &tan, "item not named: cotton in #c19a6b, because the shop's default item is of cotton; it also takes that item's price"},
		{"none", nil, "item colour not given: white is assumed"},
		{"NONE", &tan, ""},
	} {
		o := ordertest.Badge(t)
		o.ItemName, o.ItemColour = c.item, c.colour
		j, err := o.Resolve()
		if err != nil {
			t.Fatal(err)
		}
		got := ""
		for _, a := range j.Assumed {
			got += a.Words()
		}
		if got != c.want {
			t.Errorf("%q, %v: %q, want %q", c.item, c.colour, got, c.want)
		}
	}
}

// TestChosen says which page or frame was taken, and nothing of art that has one.
func TestChosen(t *testing.T) {
	if a := order.Chosen(artwork.Choice{}); a != nil {
		t.Errorf("one picture: %+v", a)
	}
	a := order.Chosen(artwork.Choice{Of: "page", Value: "1 of 3", Because: "it is the first"})
	if len(a) != 1 || a[0].Words() != "page not named: 1 of 3, because it is the first" {
		t.Errorf("%+v", a)
	}
}
