package order

import (
	"fmt"
	"strings"

	"laydown/coverage/artwork"
	"laydown/coverage/shop"
)

// Assumption is what an order left open, what was taken for it, and why. An answer says
// all of them first: nobody may read it for an answer to another question.
type Assumption struct {
	Field   string `json:"field"` // that was left open: process, item, item-colour, or the page or frame of an art
	Value   string `json:"value"` // that was taken
	Because string `json:"because"`
	// Close is another value that is about as good; "" if none is.
	Close string `json:"close,omitempty"`
}

// Words is the assumption in one line.
func (a Assumption) Words() string {
	s := fmt.Sprintf("%s not named: %s, because %s", strings.ReplaceAll(a.Field, "-", " "), a.Value, a.Because)
	if a.Close != "" {
		s += "; about as good: " + a.Close
	}
	return s
}

// Chosen says which page or frame of an art was taken; nothing if there was none to choose.
func Chosen(c artwork.Choice) []Assumption {
	if c.Of == "" {
		return nil
	}
	return []Assumption{{Field: c.Of, Value: c.Value, Because: c.Because}}
}

// assumeItem says what is taken for an item that is not named, or that nobody knows.
func (j *Job) assumeItem() {
	switch {
	case j.ItemName == "" && j.ItemColour != nil:
		j.Assumed = append(j.Assumed, Assumption{Field: "item", Value: orElse(j.Item.Material, "one") + " in " + j.Colour.Hex(),
			Because: fmt.Sprintf("the shop's default item is of %s; it also takes that item's price", orElse(j.Item.Material, "no stated material"))})
	case j.ItemName == "":
		j.Assumed = append(j.Assumed, Assumption{Field: "item", Value: j.Item.Name, Because: "it is the shop's default"})
	case j.Item.Unknown && j.ItemColour == nil:
		j.Assumed = append(j.Assumed, Assumption{Field: "item-colour", Value: j.Item.Colour.Text, Because: "nobody says what it will be put on"})
	}
}

// Named is the job with a process that the order did not name, and why that was taken.
func (j *Job) Named(p *shop.Process, because, close string) (*Job, error) {
	other, err := j.With(*p)
	if err == nil {
		other.Assumed = append([]Assumption{{Field: "process", Value: p.Name, Because: because, Close: close}}, other.Assumed...)
	}
	return other, err
}
