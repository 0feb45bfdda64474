package proof

import (
	"image"
	"strings"
	"testing"

	"laydown/colour"
	"laydown/colour/reference"
	"laydown/colour/swatch"
	"laydown/coverage/fault"
	"laydown/coverage/flaw"
	"laydown/coverage/order"
	"laydown/coverage/order/ordertest"
	"laydown/coverage/price"
	"laydown/coverage/unit"
)

// unnamed is the demo's badge for an item, with no process named.
func unnamed(t testing.TB, item string) order.Order {
	o := ordertest.Badge(t)
	o.ProcessName, o.ItemName = "", item
	return o
}

// TestUnnamedProcess takes for every item the process that a comparison picks, and says so.
func TestUnnamedProcess(t *testing.T) {
	type asked struct{ item, because string }
	for _, c := range reference.Sweep(t, []asked{
		{"black tee", ""}, {"white tee", ""}, {"enamel mug", "it is the only one for enamelled steel"}, {"forearm", "it is the only one for skin"},
	}, func(c asked) bool { return c.item == "enamel mug" }) {
		o := unnamed(t, c.item)
		p, err := Make(o, 0)
		if err != nil {
			t.Fatal(err)
		}
		choice, err := Compare(o)
		if err != nil {
			t.Fatal(err)
		}
		if len(p.Assumed) != 1 {
			t.Fatalf("%s: assumed %+v", c.item, p.Assumed)
		}
		a := p.Assumed[0]
		if a.Field != "process" || a.Value != choice.Pick || p.Process.Name != choice.Pick || a.Because == "" || c.because != "" && a.Because != c.because {
			t.Errorf("%s: %+v on %s, where %s is the pick", c.item, a, p.Process.Name, choice.Pick)
		}
		if len(p.Stops) != 0 {
			t.Errorf("%s: %+v", c.item, p.Stops)
		}
	}
	if !reference.All() {
		return
	}
	// White shirts need no film for dark ones.
	p, err := Make(unnamed(t, "white tee"), 0)
	if err != nil || p.Process.Name == "dark garment" {
		t.Errorf("white tee on %s, %v", p.Process.Name, err)
	}
}

// TestUnnamedProcessOf what has no art, or none that can be seen, and of what cannot be done.
func TestUnnamedProcessOf(t *testing.T) {
	o := unnamed(t, "white tee")
	o.ArtPath, o.Swatches = "", []swatch.Swatch{{Name: "a", Lab: colour.Lab{L: 50}}}
	m, err := MatchSwatches(o)
	if err != nil || m.Process.Name == "dark garment" || len(m.Assumed) != 1 || m.Assumed[0].Because == "" {
		t.Errorf("without art: %+v, %v", m, err)
	}
	o.ItemName = "black tee"
	if m, err = MatchSwatches(o); err != nil || m.Process.Name == "light garment" {
		t.Errorf("without art, black tee: %+v, %v", m.Process, err)
	}

	clear := ordertest.Draw(t, image.NewNRGBA(image.Rect(0, 0, 30, 30)))
	clear.ProcessName, clear.ItemName, clear.Wish.WidthMM = "", "black tee", 30
	if p, err := Make(clear, 0); err != nil || p.Process.Name == "light garment" || len(p.Assumed) != 1 {
		t.Errorf("clear art: %+v, %v", p, err)
	}

	none := unnamed(t, "none")
	_, err = Make(none, 0)
	if got := fault.Words(err, strings.ToUpper); err == nil || !strings.HasPrefix(got, "PROCESS: without an item") {
		t.Errorf("no item, no process: %v", err)
	}
	if _, err := Compare(none); err == nil || !strings.HasPrefix(err.Error(), "item: processes are compared for an item") {
		t.Errorf("a comparison for no item: %v", err)
	}
	steel := unnamed(t, "black tee")
	steel.Shop.Items[0].Material = "granite"
	if _, err := Make(steel, 0); err == nil || !strings.Contains(err.Error(), "no process of the shop file is for granite") {
		t.Errorf("granite: %v", err)
	}
	large := unnamed(t, "black tee")
	large.Wish.WidthMM = 900
	if _, err := Make(large, 0); err == nil || !strings.Contains(err.Error(), "does not fit A4") {
		t.Errorf("too large for every sheet: %v", err)
	}
}

// TestClose names a second process that looks as good and costs little more.
func TestClose(t *testing.T) {
	o := unnamed(t, "white tee")
	o.Shop.Media[2].PriceEach = o.Shop.Media[1].PriceEach // the white film costs no more than the light one
	o.Shop.Media[2].WeedsItself = true                    // and is not cut out
	p, err := Make(o, 0)
	if err != nil {
		t.Fatal(err)
	}
	a := p.Assumed[0]
	if pair := a.Value + ", " + a.Close; pair != "light garment, white film" && pair != "white film, light garment" {
		t.Errorf("%+v", a)
	}
	if !strings.Contains(a.Words(), "about as good: "+a.Close) {
		t.Error(a.Words())
	}
}

// TestStopsEverywhere has an item that the process is not for, and a print that the item
// does not take, in every kind of answer.
func TestStopsEverywhere(t *testing.T) {
	o := ordertest.Badge(t)
	o.ProcessName, o.ItemName, o.Wish.WidthMM = "temporary tattoo", "enamel mug", 120
	o.Sheet = &unit.Sheet{WidthMM: 297, HeightMM: 420}
	has := func(what string, h *Head, kinds ...flaw.Kind) {
		t.Helper()
		for _, k := range kinds {
			found := false
			for _, s := range h.Stops {
				found = found || s.Kind == k && s.Advice != ""
			}
			if !found {
				t.Errorf("%s: no %s in %+v", what, k, h.Stops)
			}
		}
	}
	p, err := Make(o, 0)
	if err != nil {
		t.Fatal(err)
	}
	has("coverage", p.Coverage().Head, flaw.WrongItem, flaw.TooLarge)
	if len(p.Stops) != 2 {
		t.Errorf("without a look at the art: %+v", p.Stops)
	}
	p, err = Make(o, Quotation)
	if err != nil {
		t.Fatal(err)
	}
	has("quote", p.Quotation().Head, flaw.WrongItem, flaw.TooLarge, flaw.FadeOut)
	has("ticket", p.Ticket(3).Head, flaw.WrongItem, flaw.TooLarge, flaw.FadeOut)
	if !strings.Contains(p.Stops[0].Advice, "Choose decal on white, or the item") {
		t.Errorf("advice %q", p.Stops[0].Advice)
	}
	o.Swatches = []swatch.Swatch{{Name: "a", Lab: colour.Lab{L: 50}}}
	m, err := MatchSwatches(o)
	if err != nil {
		t.Fatal(err)
	}
	has("match", m.Head, flaw.WrongItem)
}

// TestLoose sells tattoos by the piece and transfers by the sheet, reckoned by hand.
func TestLoose(t *testing.T) {
	quote := func(item, process string, quantity int) (*Proof, QuoteQuantity) {
		t.Helper()
		o := ordertest.Badge(t)
		o.ProcessName, o.ItemName, o.Quantities = process, item, []int{quantity}
		p, err := Make(o, Quotation)
		if err != nil {
			t.Fatal(err)
		}
		return p, p.Quoted.Quantities[0]
	}
	for _, item := range []string{"loose tattoo", "none"} {
		p, q := quote(item, "temporary tattoo", 100)
		// 100 pieces and 4 spares are on 18 sheets at 20 s, and 100 pieces at 25 s of cutting and 15 s of packing, at 24.00 an hour.
		if line(q, price.BlankLine) != "0.0000" || line(q, price.CoverLine) != "0.0000" || line(q, price.LabourLine) != "29.0667" || q.Sheets != 18 {
			t.Errorf("%s: %+v", item, q)
		}
		// Paper at 0.70 and a sheet of adhesive of 28.00 ÷ 50 for each.
		if line(q, price.MediaLine) != "22.6800" {
			t.Errorf("%s: media %s", item, line(q, price.MediaLine))
		}
		ticket := p.Ticket(100)
		if len(ticket.Steps) != 2 || ticket.Steps[1].Do != "cut" || len(ticket.Customer) != 3 {
			t.Errorf("%s: here %+v, there %+v", item, ticket.Steps, ticket.Customer)
		}
		if unknown := item == "none"; unknown != (p.Item.Placed() == "loose, on no item") || len(p.Assumed) != map[bool]int{true: 1}[unknown] {
			t.Errorf("%s: %s, assumed %+v", item, p.Item.Placed(), p.Assumed)
		}
		for _, s := range p.Stops {
			if s.Kind == flaw.WrongItem {
				t.Errorf("%s: %+v", item, s)
			}
		}
	}
	p, q := quote("transfer sheet", "dark garment", 10)
	// Ten sheets, each with its six prints: a pair of film for each, of which one sheet goes
	// through the printer in 20 s, 15 s of packing, 55 s of marrying and 20 s beside it.
	if q.Sheets != 10 || line(q, price.MediaLine) != "19.0000" || line(q, price.LabourLine) != "7.3333" || q.SparePlaces != 0 {
		t.Errorf("by the sheet: %+v, labour %s", q, line(q, price.LabourLine))
	}
	sheet, err := price.TonerCost(p.Laid.Job.Printer.Cartridges(), p.Laid.toner(), 60)
	if err != nil || q.CostTotal.Line[price.TonerLine].Sub(sheet.Total).Abs().InexactFloat64() > 0.0005 {
		t.Errorf("toner of ten sheets %s, of 60 prints %s, %v", q.CostTotal.Line[price.TonerLine], sheet.Total, err)
	}
	if ticket := p.Ticket(10); ticket.Sheets != 10 || len(ticket.Steps) != 2 || len(ticket.Customer) != 5 || p.Quoted.SoldBy != "sheet" {
		t.Errorf("ticket %+v", ticket)
	}
}

// TestSaid never calls an item in a given colour by its own.
func TestSaid(t *testing.T) {
	for name, want := range map[string]string{
		"black tee": "tee in #c19a6b", "Heather grey hoodie": "hoodie in #c19a6b", "navy": "item in #c19a6b", "enamel mug": "enamel mug in #c19a6b",
		"dark-red cap, cotton": "cap, cotton in #c19a6b", "light blue": "item in #c19a6b",
	} {
		if got := (Item{Name: name, Colour: "#c19a6b", GivenColour: true}).Said(); got != want {
			t.Errorf("%s: %q, want %q", name, got, want)
		}
	}
	if got := (Item{Name: "none", Colour: "#c19a6b", GivenColour: true, Unknown: true, Loose: true}).Placed(); got != "loose, for something in #c19a6b" {
		t.Error(got)
	}
}
