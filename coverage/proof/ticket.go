package proof

import (
	"fmt"
	"math"
	"slices"

	"laydown/coverage/price"
	"laydown/coverage/shop"
)

// Ticket is the recipe of an order for the person at the heat press.
type Ticket struct {
	Artwork  string       `json:"artwork"`
	Item     string       `json:"item"`
	ItemSaid string       `json:"item_said"` // as [Item.Said] says it
	Process  string       `json:"process"`
	Media    string       `json:"media"`
	Quantity int          `json:"quantity,omitempty"`
	Spares   int          `json:"spares,omitempty"` // as [QuoteQuantity.Spares]
	Sheets   int          `json:"sheets,omitempty"` // that both are on
	Copies   int          `json:"copies_on_sheet"`
	SizeMM   [2]float64   `json:"print_mm"`
	Load     string       `json:"load,omitempty"` // the sheet that goes into the printer, and which side up
	Tray     string       `json:"tray,omitempty"` // of the printer, that it goes into
	Mirrored bool         `json:"mirrored"`
	WhiteAt  string       `json:"white_printed,omitempty"` // first, under the colours, or last, over them
	White    string       `json:"white_rule"`
	Cover    string       `json:"cover,omitempty"`
	Steps    []TicketStep `json:"steps"`
	Customer []TicketStep `json:"customer_steps,omitempty"` // of loose goods: those that are not done here
	SoldBy   string       `json:"sold_by,omitempty"`        // as [QuoteFacts.SoldBy]
	Cautions []string     `json:"cautions"`

	*Head

	// Of an order of several designs.
	Order     string   `json:"order,omitempty"`    // its number
	For       string   `json:"customer,omitempty"` // its name
	Due       string   `json:"due,omitempty"`
	OfGoods   string   `json:"goods,omitempty"`
	PrintOf   string   `json:"print_of,omitempty"` // which one of how many on the piece
	Place     string   `json:"place,omitempty"`    // on the item
	Sizes     []string `json:"sizes,omitempty"`
	Texts     []string `json:"texts,omitempty"`         // that are printed, and how often
	OwnBlanks bool     `json:"own_blanks,omitempty"`    // the customer's pieces
	Shared    bool     `json:"shared_sheets,omitempty"` // Sheets hold other prints as well
	// CheckFirst are findings to decide on before printing; those that stop it are in Head.
	CheckFirst []Stop `json:"check_first,omitempty"`
	Picture    []byte `json:"-"` // of the print, as who asked for the ticket drew it

	Shop      string `json:"-"` // its name
	WhiteSaid string `json:"-"` // where white comes from, in words
	Pair      bool   `json:"-"` // two sheets make one transfer
}

// TicketStep is one step, also as a sentence.
type TicketStep struct {
	shop.Step
	Words string `json:"words"`
}

// Ticket writes the order's recipe for a quantity of pieces; 0 leaves that open.
func (p *Proof) Ticket(quantity int) *Ticket {
	j := p.Laid.Job
	t := &Ticket{Artwork: p.Artwork.File, Item: p.Item.Name, ItemSaid: p.Item.Said(), Process: p.Process.Name, Media: p.Process.Media, Quantity: quantity, Copies: p.Sheet.Copies,
		SizeMM: [2]float64{p.Print.WidthMM, p.Print.HeightMM}, Mirrored: p.Process.Mirrored, White: p.Process.WhiteRule, Cover: j.Process.Cover,
		Steps: []TicketStep{}, SoldBy: j.Item.SoldBy, Cautions: p.Cautions, Head: p.Head, Shop: j.Shop.Name, WhiteSaid: RuleSaid(p.Process.WhiteRule), Pair: j.Medium.PerTransfer == 2}
	t.Load, t.Tray = j.Process.PrintedOn, j.Medium.Tray
	if turn := j.Process.Turned(j.Item); turn.WhiteKnown {
		t.WhiteAt = "last"
		if turn.WhiteFirst {
			t.WhiteAt = "first"
		}
	}
	if j.Medium.OwnWhite {
		t.WhiteSaid = "the film is white"
	}
	if quantity > 0 {
		t.Spares = price.Spares(quantity, j.Shop.Costs.SpoilagePercent)
		t.Sheets = quantity + t.Spares
		if !p.Laid.soldBySheet() {
			t.Sheets = p.Laid.Layout.Sheets(t.Sheets)
		}
	}
	here := j.Process.Here(j.Item)
	for _, s := range here {
		t.Steps = append(t.Steps, TicketStep{s, stepWords(s, j.Process.Cover)})
	}
	if j.Item.Loose {
		for _, s := range j.Process.Steps {
			if !slices.Contains(here, s) {
				t.Customer = append(t.Customer, TicketStep{s, stepWords(s, j.Process.Cover)})
			}
		}
	}
	return t
}

// deeds are how a step begins on the ticket.
var deeds = map[string]string{"pre-press": "Press the bare item", "strip": "Strip off the backing", "marry": "Marry the two sheets", "press": "Press", "peel": "Peel", "part": "Part the two sheets", "reseal": "Reseal",
	"soak": "Soak", "slide": "Slide the decal", "dry": "Let it dry", "cut": "Cut out"}

// stepWords says a step in a sentence.
func stepWords(s shop.Step, cover string) string {
	words := []string{deeds[s.Do]}
	if s.Do == "marry" && s.Uses != "" {
		words[0] = "Marry the printed sheet"
	}
	if s.Peel != "" {
		words = append(words, s.Peel)
	}
	if s.TemperatureC > 0 {
		words = append(words, fmt.Sprintf("at %.0f °C (%.0f °F)", s.TemperatureC, s.TemperatureF))
	}
	if s.Seconds > 0 {
		words = append(words, "for "+howLong(s.Seconds))
	}
	if s.Pressure != "" {
		words = append(words, "with "+s.Pressure+" pressure")
	}
	if s.Uses != "" {
		words = append(words, "using one "+s.Uses)
	}
	if s.Covered {
		words = append(words, "under the "+cover)
	}
	if s.Per != shop.PerPiece {
		words = append(words, "once "+map[string]string{shop.PerOrder: "an order", shop.PerPair: "a pair", shop.PerSheet: "a sheet"}[s.Per])
	}
	if s.Seconds > 0 && !s.Waits {
		words = append(words, "go on with other work meanwhile")
	}
	out := words[0]
	for i, w := range words[1:] {
		sep := ", "
		if i == 0 {
			sep = " "
		}
		out += sep + w
	}
	if s.Note != "" {
		out += ": " + s.Note
	}
	return out + "."
}

// howLong writes a time.
func howLong(seconds float64) string {
	switch {
	case seconds >= 7200 && math.Mod(seconds, 3600) == 0:
		return fmt.Sprintf("%.0f h", seconds/3600)
	case seconds >= 600 && math.Mod(seconds, 60) == 0:
		return fmt.Sprintf("%.0f min", seconds/60)
	}
	return fmt.Sprintf("%.0f s", seconds)
}
