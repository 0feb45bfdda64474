package colour

import (
	"slices"
	"strings"
	"testing"

	"golang.org/x/image/colornames"
)

// TestPlainAgreesWithSVGNames holds plain words to the names of SVG 1.1 (W3C
// Recommendation, 4.4) that end in a basic term: the same term, and dark, light and pale
// where the name says so and never the other way round. Those that part ways on purpose
// are named.
func TestPlainAgreesWithSVGNames(t *testing.T) {
	terms := []string{"black", "white", "red", "green", "yellow", "blue", "brown", "purple", "pink", "orange", "grey", "turquoise", "olive"}
	other := map[string]string{
		"antiquewhite": "cream", "navajowhite": "cream", // white only by name
		"lightgoldenrodyellow": "pale yellow", "greenyellow": "yellow-green", "yellowgreen": "yellow-green",
		"palevioletred": "pink", "indianred": "brown", // between two
		"sandybrown": "orange", "rosybrown": "pink", "brown": "red", // SVG's brown is as red as brick
		"lightseagreen": "turquoise", "cadetblue": "turquoise", "aliceblue": "white",
		"slateblue": "purple", "mediumslateblue": "purple", "darkslateblue": "purple",
		"darkslategrey": "turquoise", "slategrey": "blue", "lightslategrey": "blue", // greyish, with a hue
		"darkolivegreen": "olive",
	}
	n := 0
	for _, name := range colornames.Names {
		i := slices.IndexFunc(terms, func(v string) bool { return strings.HasSuffix(name, v) })
		if i < 0 {
			continue
		}
		n++
		want, v := terms[i], colornames.Map[name]
		if w, ok := other[name]; ok {
			if want = w; strings.HasSuffix(name, w) {
				t.Errorf("%s is no exception", name)
			}
		}
		got := Plain(FromSRGB(v.R, v.G, v.B))
		if !strings.HasSuffix(got, want) {
			t.Errorf("%s is called %s", name, got)
		}
		if strings.HasPrefix(name, "dark") && strings.Contains(got, "light") || strings.HasPrefix(name, "light") && strings.Contains(got, "dark") {
			t.Errorf("%s is called %s", name, got)
		}
	}
	if n < 50 {
		t.Errorf("only %d names were compared", n)
	}
}

// TestPlain names what a bench would.
func TestPlain(t *testing.T) {
	for hex, want := range map[string]string{
		"#f3ead3": "cream", "#1b4fd8": "blue", "#125c46": "dark green", "#10141c": "black", "#ff6a13": "orange", // the demo's
		"#000000": "black", "#ffffff": "white", "#808080": "grey", "#d0d0d0": "light grey", "#333333": "dark grey",
		"#d2b48c": "light brown", "#8b4513": "dark brown", "#00008b": "dark blue", "#add8e6": "pale blue", "#c19a6b": "light brown", "#ffc0cb": "pale pink",
	} {
		c, err := Parse(hex)
		if err != nil {
			t.Fatal(err)
		}
		if got := Plain(c); got != want {
			t.Errorf("%s is called %s, want %s", hex, got, want)
		}
	}
}
