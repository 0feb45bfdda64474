package svg

import (
	"math"
	"strings"
	"testing"
)

// TestNames: texts without a name get one, others keep theirs, and nothing else changes.
func TestNames(t *testing.T) {
	for text, want := range map[string]string{
		`<text>a</text>`: `<text id="laydown-text-1">a</text>`,
		`<text x="1">a</text><text id="b">b</text>`: `<text id="laydown-text-1" x="1">a</text><text id="b">b</text>`,
		`<textPath href="#p"/><!-- <tex> -->`:       `<textPath href="#p"/><!-- <tex> -->`,
		`<text data-id="x">a</text>`:                `<text id="laydown-text-1" data-id="x">a</text>`,
	} {
		if got := string(WithNames([]byte(text))); got != want {
			t.Errorf("%s: %s", text, got)
		}
	}
}

// TestNamed: fonts and sizes of texts by attributes, styles and classes, inherited; what
// parts of a text ask for differently is not known of the whole.
func TestNamed(t *testing.T) {
	got := named([]byte(`<svg font-family="Sans"><style>.a, .b{font-size:9px;font-family:'Old Hand',serif}</style>
		<g font-size="5"><text id="plain">x</text><text id="styled" style="font-size: 7pt">x</text></g>
		<text id="classed" class="z b">x</text><text id="parts" font-size="4">x<tspan font-size="2">y</tspan></text>
		<text id="same" font-size="4">x<tspan fill="red">y</tspan></text><text id="odd" font-size="2em">x</text></svg>`))
	for id, want := range map[string]set{"plain": {font: "Sans", size: 5}, "styled": {font: "Sans", size: 7. / 72 * 96}, "classed": {font: "Old Hand", size: 9}, "parts": {}, "same": {font: "Sans", size: 4}, "odd": {font: "Sans", size: 16}} {
		if g := got[id]; g.font != want.font || math.Abs(g.size-want.size) > 1e-9 {
			t.Errorf("%s: %+v, want %+v", id, g, want)
		}
	}
}

// TestMarks reads drawings in plain words.
func TestMarks(t *testing.T) {
	const head = `<svg width="50" height="25" viewBox="10 0 100 50" xmlns="http://www.w3.org/2000/svg">`
	for name, c := range map[string]struct {
		inside string
		widths []float64 // percent of the drawing's width
		x, y   float64   // of the first place, the same
	}{
		"plain":      {`<path stroke="#ff0000" stroke-width="2" d="M 30 20 L 60 20"/>`, []float64{2}, 20, 20},
		"no width":   {`<path stroke="#ff0000" d="M 30 20 L 60 20"/>`, []float64{1}, 20, 20},
		"moved":      {`<g transform="matrix(0 2 -2 0 100 0)"><path stroke="#ff0000" stroke-width="2" d="M 5 5 L 6 20"/></g>`, []float64{4}, 80, 10},
		"parts":      {`<path stroke="url(#a)" stroke-width="2" d="M 30 20 L 60 20 Z M 1 1 Q 2 2 3 3 C 1 1 2 2 3 3"/>`, []float64{2, 2}, 20, 20},
		"uneven":     {`<g transform="matrix(1 0 0 3 0 0)"><path stroke="#ff0000" d="M 5 5 L 6 20"/></g>`, nil, 0, 0},
		"none":       {`<path stroke="none" d="M 30 20 L 60 20"/><path d="M 30 20 L 60 20"/>`, nil, 0, 0},
		"in defs":    {`<defs><g><path stroke="#ff0000" d="M 30 20 L 60 20"/></g></defs>`, nil, 0, 0},
		"clear":      {`<g opacity="0"><path stroke="#ff0000" d="M 30 20 L 60 20"/></g><path stroke="#000" stroke-opacity="0" d="M 1 1 L 2 2"/>`, nil, 0, 0},
		"after defs": {`<defs><path d="M 0 0"/></defs><path stroke="#ff0000" stroke-width="2" d="M 30 20 L 60 20"/>`, []float64{2}, 20, 20},
		"a point":    {`<path stroke="#ff0000" d="M 30 20"/><path stroke="#ff0000" d="L 3 4 Z"/>`, nil, 0, 0},
	} {
		m := Marks(head+c.inside+`</svg>`, nil)
		if len(m.Strokes) != len(c.widths) {
			t.Errorf("%s: %+v", name, m)
			continue
		}
		for i, w := range c.widths {
			if math.Abs(100*m.Strokes[i].Width-w) > 1e-9 {
				t.Errorf("%s: %g %%, want %g", name, 100*m.Strokes[i].Width, w)
			}
		}
		if len(c.widths) > 0 {
			if p := m.Strokes[0].Path[0]; math.Abs(100*p.X-c.x) > 1e-9 || math.Abs(100*p.Y-c.y) > 1e-9 {
				t.Errorf("%s: from %g, %g", name, 100*p.X, 100*p.Y)
			}
		}
	}
	if m := Marks(strings.Repeat("<g>", 3*deepestPlain), nil); len(m.Strokes) > 0 {
		t.Errorf("%+v", m)
	}
}

// FuzzMarks: what a drawing may become in plain words makes no panic.
func FuzzMarks(f *testing.F) {
	f.Add(`<svg viewBox="0 0 9 9"><g id="t"><path d="M 1 1 L 2 2 L 3 1 Z"/></g><path stroke="#123456" stroke-width="2" d="M 30 20 Q 1 2 3 4"/><image width="3" height="3" href="data:image/png;base64,iVBO"/></svg>`, `<text id="t" style="font-size:3px">a</text>`)
	f.Add(`<svg viewBox="0 0 9 9"><defs><g>`, `<text class="a"><tspan>`)
	f.Fuzz(func(t *testing.T, plain, text string) {
		for _, s := range Marks(plain, WithNames([]byte(text))).Strokes {
			if len(s.Path) < 2 {
				t.Errorf("a stroke of %d points", len(s.Path))
			}
		}
	})
}
