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
	Field   string `json:"field"`   // that was left open: process, item, item-colour, or the page or frame of an art
	Value   string `json:"value"`   // that was taken
	Because string `json:"because"` // "" where it has to be something
	// InShort is the reason in few words; "" if Because begins with them.
	InShort string `json:"in_short,omitempty"`
	// Close is another value that is about as good; "" if none is.
	Close string `json:"close,omitempty"`
}

// Words is the assumption in one line.
func (a Assumption) Words() string {
	s := fmt.Sprintf("%s: %s, because %s", a.open(), a.Value, a.Because)
	if a.Because == "" {
		s = fmt.Sprintf("%s: %s is assumed", a.open(), a.Value)
	}
	if a.Close != "" {
		s += "; about as good: " + a.Close
	}
	return s
}

// Short is the assumption in few words.
func (a Assumption) Short() string {
	why := a.InShort
	if why == "" {
		why, _, _ = strings.Cut(strings.TrimPrefix(a.Because, "it is "), ":")
	}
	if why == "" {
		return fmt.Sprintf("%s: %s is assumed", a.open(), a.Value)
	}
	return fmt.Sprintf("%s: %s, %s", a.open(), a.Value, why)
}

// open says what the order left open.
func (a Assumption) open() string {
	if a.Field == "item-colour" {
		return "item colour not given"
	}
	return a.Field + " not named"
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
		j.Assumed = append(j.Assumed, Assumption{Field: "item", Value: orElse(j.Item.Material, "one") + " in " + orElse(j.ItemColourName, j.Colour.Hex()),
			Because: fmt.Sprintf("the shop's default item is of %s; it also takes that item's price", orElse(j.Item.Material, "no stated material"))})
	case j.ItemName == "":
		j.Assumed = append(j.Assumed, Assumption{Field: "item", Value: j.Item.Name, Because: "it is the shop's default"})
	case j.Item.Unknown && j.ItemColour == nil:
		j.Assumed = append(j.Assumed, Assumption{Field: "item-colour", Value: j.Item.Colour.Text})
	}
}

// inShort is the reason for a process in few words: its first ones, without the item, which
// stands beside them.
func (j *Job) inShort(because string) string {
	short, _, _ := strings.Cut(strings.TrimPrefix(because, "it is "), ":")
	short = strings.TrimSuffix(short, " on "+j.Item.Name)
	return strings.Replace(short, "the cheapest of those that look right", "cheapest that looks right", 1)
}

// Named is the job with a process that the order did not name, and why that was taken.
func (j *Job) Named(p *shop.Process, because, close string) (*Job, error) {
	other, err := j.With(*p)
	if err == nil {
		other.Assumed = append([]Assumption{{Field: "process", Value: p.Name, Because: because, InShort: j.inShort(because), Close: close}}, other.Assumed...)
	}
	return other, err
}
