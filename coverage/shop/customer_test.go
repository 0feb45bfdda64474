package shop

import (
	"strings"
	"testing"

	"laydown/coverage/drawing"
)

// TestUsualDrawing draws every item of the demo, and others by their names and materials.
func TestUsualDrawing(t *testing.T) {
	s, err := Load(demo, "demo")
	if err != nil {
		t.Fatal(err)
	}
	want := map[string]string{"black tee": drawing.Tee, "white tee": drawing.Tee, "enamel mug": drawing.Mug, "china mug": drawing.Mug, "steel tumbler": drawing.Tumbler,
		"steel plate": drawing.Plate, "glass coaster": drawing.Plate, "birch board": drawing.Plate, "outside sticker": drawing.Window, "inside sticker": drawing.Window,
		"forearm": drawing.Skin, "loose tattoo": drawing.Skin, "transfer sheet": drawing.Tee}
	for _, v := range s.Items {
		if v.DrawnAs != want[v.Name] {
			t.Errorf("%s is drawn as %q, want %q", v.Name, v.DrawnAs, want[v.Name])
		}
	}
	for _, c := range []struct {
		item Item
		want string
	}{
		{Item{Name: "Hooded sweaters"}, drawing.Hoodie}, {Item{Name: "five-panel caps"}, drawing.Cap}, {Item{Name: "teacup"}, drawing.Mug}, {Item{Name: "business cards"}, drawing.Card},
		{Item{Name: "apron", Material: "Polyester"}, drawing.Tee}, {Item{Name: "a design", Material: "paper"}, drawing.Plain}, {Item{Name: "door", Material: "Glass", Loose: true}, drawing.Window},
		{Item{Name: "lamp", Material: "anodised metal"}, drawing.Plate},
	} {
		if got := c.item.usualDrawing(); got != c.want {
			t.Errorf("%s of %q is drawn as %q, want %q", c.item.Name, c.item.Material, got, c.want)
		}
	}
}

// TestCareOf: the shop's own words go before the usual ones, each once; the maker's sheet is
// deferred to always.
func TestCareOf(t *testing.T) {
	for _, c := range []struct {
		p    Process
		m    Medium
		v    Item
		want []string // beginnings of lines
	}{
		{Process{Care: []string{"a", "b"}}, Medium{Care: []string{"b"}}, Item{Care: []string{"c"}}, []string{"a", "b", "c", "Where the maker"}},
		{Process{OnSkin: true}, Medium{}, Item{Material: "skin"}, []string{"For healthy skin only", "Put it on", "Where the maker"}},
		{Process{OnTableware: true, HeatPressed: true}, Medium{}, Item{Material: "glazed china"}, []string{"Wash by hand", "Keep the print away from lips", "Where the maker"}},
		{Process{HeatPressed: true}, Medium{}, Item{Material: "cotton"}, []string{"Wash inside out", "Do not tumble dry", "Where the maker"}},
		{Process{HeatPressed: true}, Medium{}, Item{Material: "cotton", Loose: true}, []string{"Wash inside out", "Do not tumble dry", "To be pressed on as its own sheet says. Heat presses work near 150", "Where the maker"}},
		{Process{}, Medium{}, Item{DrawnAs: drawing.Window}, []string{"Put it on clean, dry glass", "Where the maker"}},
		{Process{HeatPressed: true}, Medium{}, Item{Material: "metal"}, []string{"Wipe with a soft", "Where the maker"}},
	} {
		got := (&Shop{}).CareOf(&c.p, &c.m, &c.v)
		ok := len(got) == len(c.want)
		for i := range got {
			ok = ok && strings.HasPrefix(got[i], c.want[i])
		}
		if !ok {
			t.Errorf("%q, want %q", got, c.want)
		}
	}
}
