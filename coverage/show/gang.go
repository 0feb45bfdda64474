package show

import (
	"bytes"
	_ "embed"
	"fmt"
	"html/template"
	"math"
	"slices"
	"strings"
	"unicode/utf8"

	"laydown/coverage/proof"
	"laydown/coverage/sheet"
)

//go:embed gang.svg
var gangSource string

var gangPage = template.Must(template.New("gang").Parse(gangSource))

// pieceColours tell pieces apart, also for the colour-blind (Okabe and Ito 2008, made
// paler).
var pieceColours = []string{"#f6d38a", "#aed9f5", "#99dcc5", "#f7f0a4", "#99c4e3", "#eec0a1", "#e6c5d8", "#d5d8dd"}

type gangPicture struct {
	Width, Height, SheetW, SheetH float64
	Layouts                       []gangPictureLayout
	Corners                       []sheet.Place
}

type gangPictureLayout struct {
	sheet.GangLayout
	Number int
	X, Y   float64
	Places []gangPicturePlace
}

type gangPicturePlace struct {
	sheet.GangPlace
	Fill         string
	Label, Up    bool
	LX, LY, Size float64
}

// GangPicture draws the layouts side by side, to scale, as SVG in millimetres, with the corners
// that stay free.
func GangPicture(f *proof.Ganged) ([]byte, error) { return newGangPicture(f.Gang, f.Corners).svg() }

func (p gangPicture) svg() ([]byte, error) {
	var b bytes.Buffer
	err := gangPage.Execute(&b, p)
	return safeDrawing(b.Bytes()), err
}

func newGangPicture(f sheet.Gang, corners []sheet.Place) gangPicture {
	const gap, head = 10.0, 12.0
	across := int(math.Ceil(math.Sqrt(float64(len(f.Layouts)))))
	p := gangPicture{Corners: corners, SheetW: f.Sheet.WidthMM, SheetH: f.Sheet.HeightMM}
	colour := map[string]string{}
	for i, q := range f.Pieces {
		if _, ok := colour[q.Name]; !ok {
			colour[q.Name] = pieceColours[i%len(pieceColours)]
		}
	}
	for i, l := range f.Layouts {
		v := gangPictureLayout{GangLayout: l, Number: i + 1, X: gap + float64(i%across)*(p.SheetW+gap), Y: head + float64(i/across)*(p.SheetH+head)}
		p.Width, p.Height = math.Max(p.Width, v.X+p.SheetW+gap), math.Max(p.Height, v.Y+p.SheetH+gap)
		for _, q := range l.Places {
			long, short := math.Max(q.WidthMM, q.HeightMM), math.Min(q.WidthMM, q.HeightMM)
			w := gangPicturePlace{GangPlace: q, Fill: colour[q.Name], Up: q.HeightMM > q.WidthMM, LX: q.XMM + q.WidthMM/2, LY: q.YMM + q.HeightMM/2}
			// A letter is about six tenths as wide as the type is high.
			w.Size = math.Round(100*math.Min(6, math.Min(short*0.6, long*0.9/(0.6*math.Max(1, float64(utf8.RuneCountInString(q.Name))))))) / 100
			w.Label = w.Size >= 1.5
			v.Places = append(v.Places, w)
		}
		p.Layouts = append(p.Layouts, v)
	}
	return p
}

// Gang sets a gang for a terminal.
func Gang(f *proof.Ganged, s Style) string {
	t := &folds{head: []string{"layout", "times to print", "sheet filled", "pieces on it"}, left: map[int]bool{3: true}}
	for i, l := range f.Layouts {
		count := map[string]int{}
		for _, p := range l.Places {
			count[p.Name]++
		}
		var parts []string
		for _, q := range f.Pieces {
			if n := count[q.Name]; n > 0 {
				parts = append(parts, fmt.Sprintf("%d × %s", n, q.Name))
				delete(count, q.Name)
			}
		}
		t.add(fmt.Sprint(i+1), fmt.Sprint(l.Prints), fmt.Sprintf("%.1f %%", l.FillPercent), strings.Join(parts, ", "))
	}
	out := s.para(fmt.Sprintf("Print %s of %s, in %s.", plural(f.Sheets, "sheet", "sheets"), f.Sheet.Name, plural(len(f.Layouts), "layout", "layouts")), "")
	if f.Extra > 0 {
		out += s.para(fmt.Sprintf("%s more than asked for.", plural(f.Extra, "copy", "copies")), "  ")
	}
	on := fmt.Sprintf("On %s, %g mm free at every edge, %g mm between pieces", f.Media, f.MarginMM, f.GapMM)
	if f.CornerMM > 0 {
		on += fmt.Sprintf(", %g mm square in every corner for a cutter's marks", f.CornerMM)
	}
	out += s.para(on+".", "  ")
	return out + "\n" + t.render(s.width()) + gangCost(f, s)
}

// gangCost says what the sheets cost, and what of that each order bears.
func gangCost(f *proof.Ganged, s Style) string {
	if f.Cost == nil {
		return "\n" + s.para("No price: "+f.Unpriced+".", "")
	}
	c := f.Cost
	toner := fmt.Sprintf("toner %s (known of %d of %s)", c.Toner, c.TonerOf, plural(c.Pieces, "piece", "pieces"))
	switch {
	case c.TonerOf == 0:
		toner = "without toner, which is known of art alone"
	case c.TonerOf == c.Pieces:
		toner = "toner " + c.Toner
	}
	split, head := "By area", []string{"order", "copies", "of the area", "media", c.Currency}
	if c.TonerOf > 0 {
		split, head = "Media by area, toner by what each lays down", slices.Insert(head, 4, "toner")
	}
	out := "\n" + s.para(fmt.Sprintf("The sheets cost %s %s: media %s, %s. %s:", c.Currency, c.Total, c.Media, toner, split), "") + "\n"
	t := &folds{head: head}
	for _, v := range c.Orders {
		cells := []string{v.Order, fmt.Sprint(v.Copies), fmt.Sprintf("%.1f %%", v.AreaPercent), v.Media, v.Total}
		if c.TonerOf > 0 {
			cells = slices.Insert(cells, 4, v.Toner)
		}
		t.add(cells...)
	}
	return out + t.render(s.width())
}
