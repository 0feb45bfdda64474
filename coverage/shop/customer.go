package shop

import (
	"cmp"
	"slices"
	"strings"
	"unicode/utf8"

	"laydown/coverage/drawing"
)

// mostCare is how many characters of care a customer can be expected to read, and that have
// room on a page beside all else.
const mostCare = 400

// care looks at what is said of care.
func (t table) care(lines []string) {
	n := 0
	for _, v := range lines {
		n += utf8.RuneCountInString(v)
	}
	if n > mostCare {
		t.Say("care", "care is %d characters long, and a customer reads at most %d: say the rest on a sheet of its own", n, mostCare)
	}
}

// CareOf is what a customer is told of the care of a print: what the shop file says of the
// process, its media and the item, each thing once; where it says nothing, usual words, common
// practice with no source. Last it defers to the maker's own sheet.
func (s *Shop) CareOf(p *Process, m *Medium, v *Item) (lines []string) {
	for _, list := range [][]string{p.Care, m.Care, v.Care} {
		for _, line := range list {
			if !slices.Contains(lines, line) {
				lines = append(lines, line)
			}
		}
	}
	if len(lines) == 0 {
		lines = usualCare(p, v)
	}
	return append(lines, "Where the maker's own care sheet or local rules say otherwise, they come first.")
}

// usualCare are the usual words, with the usual cautions.
func usualCare(p *Process, v *Item) (lines []string) {
	switch {
	case p.OnSkin:
		return []string{"For healthy skin only: not on broken or sore skin, lips or near the eyes. Try a small spot first, and take it off if it itches or reddens.",
			"Put it on clean, dry skin. It comes off with skin oil and a cloth."}
	case p.OnTableware:
		return []string{"Wash by hand with a soft cloth. No dishwasher, no microwave, no scouring pads.",
			"Keep the print away from lips, food and drink."}
	case v.DrawnAs == drawing.Window:
		return []string{"Put it on clean, dry glass. Wipe with a soft, damp cloth; no scrapers, no solvents."}
	case v.fabric():
		lines = []string{"Wash inside out at 30 °C (86 °F), without bleach or softener. Wait a day before the first wash.",
			"Do not tumble dry. Iron from the inside only, never on the print."}
	default:
		lines = []string{"Wipe with a soft, damp cloth; no solvents, no scouring pads."}
	}
	if v.Loose && p.HeatPressed {
		lines = append(lines, "To be pressed on as its own sheet says. Heat presses work near 150 °C (300 °F) and hot film gives off fumes: mind your hands and air the room.")
	}
	return lines
}

// fabrics are words for what is worn and washed.
var fabrics = []string{"cotton", "polyester", "fabric", "textile", "cloth", "canvas", "fleece", "wool", "linen", "viscose", "nylon", "jersey", "denim", "felt"}

func (v *Item) fabric() bool { return says(v.Material, fabrics...) }

// says reports whether a text has one of some words in it.
func says(text string, words ...string) bool {
	text = strings.ToLower(text)
	return slices.ContainsFunc(words, func(w string) bool { return strings.Contains(text, w) })
}

// usualDrawing is how an item is drawn where the file does not say: by words in its name,
// else by its material.
func (v *Item) usualDrawing() string {
	for _, k := range []struct {
		kind  string
		words []string
	}{
		{drawing.Hoodie, []string{"hoodie", "hooded"}}, {drawing.Tee, []string{"tee", "t-shirt", "shirt", "sweater", "jumper"}},
		{drawing.Tumbler, []string{"tumbler", "bottle", "flask"}}, {drawing.Mug, []string{"mug", "cup"}},
		{drawing.Cap, []string{"cap", "beanie"}}, {drawing.Card, []string{"card"}}, {drawing.Plate, []string{"plate", "board", "coaster", "plaque", "tile", "panel"}},
		{drawing.Window, []string{"window"}}, {drawing.Skin, []string{"tattoo", "arm", "skin"}},
	} {
		if slices.ContainsFunc(strings.FieldsFunc(strings.ToLower(v.Name), func(r rune) bool { return r == ' ' || r == ',' || r == '/' }), func(word string) bool {
			return slices.ContainsFunc(k.words, func(w string) bool { return strings.HasSuffix(strings.TrimSuffix(word, "s"), w) })
		}) {
			return k.kind
		}
	}
	switch {
	case says(v.Material, "skin"):
		return drawing.Skin
	case says(v.Material, "glass") && v.Loose:
		return drawing.Window
	case v.fabric():
		return drawing.Tee
	case says(v.Material, "metal", "wood", "glass", "acrylic", "slate"):
		return drawing.Plate
	}
	return drawing.Plain
}

// Drawing draws the item with the place of a print of a size in millimetres on it: "" for the
// item's own place, else the usual one. An item of no known kind is a flat piece a quarter
// larger than the print, and flat ones are as large as what takes a print, unless the file
// gives their size. The error lists the places that there are.
func (v *Item) Drawing(place string, widthMM, heightMM float64) (*drawing.Drawing, error) {
	kind, size := cmp.Or(v.DrawnAs, drawing.Plain), v.DrawnSize
	flat := kind == drawing.Plate || kind == drawing.Card || kind == drawing.Plain
	switch {
	case size.WidthMM > 0:
	case flat && v.Printable.WidthMM > 0:
		size = v.Printable
	case kind == drawing.Plain:
		size.WidthMM, size.HeightMM = 1.25*widthMM, 1.25*heightMM
	}
	return drawing.New(kind, cmp.Or(place, v.Place), size.WidthMM, size.HeightMM)
}
