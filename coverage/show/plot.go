package show

import (
	"bytes"
	"fmt"
	"image/color"
	"math"
	"path/filepath"
	"slices"
	"strings"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/plotter"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"

	"laydown/colour"
	"laydown/coverage/proof"
)

// Gamut draws what a press prints, seen along the L axis of Lab, with the colours of
// an art in it if there are any: dots within the gamut, crosses outside. format is
// "svg" or "png". The body is that of the press on its own paper.
func Gamut(g *proof.Gamut, format string) ([]byte, error) {
	if format != "svg" && format != "png" {
		return nil, fmt.Errorf("a picture in %q cannot be drawn: name a file that ends in .svg or .png", format)
	}
	outline := g.Outline
	p := plot.New()
	p.Title.Text = fmt.Sprintf("%s, total toner %.0f %%", Style{}.Safe(g.Press), g.TACPercent)
	p.X.Label.Text, p.Y.Label.Text = "a*", "b*"
	p.Add(plotter.NewGrid())

	edge := points(outline)
	line, err := plotter.NewLine(append(edge, edge[0]))
	if err != nil {
		return nil, err
	}
	line.Width = vg.Points(2)
	p.Add(line)
	rim, err := plotter.NewScatter(edge)
	if err != nil {
		return nil, err
	}
	rim.GlyphStyleFunc = func(i int) draw.GlyphStyle { return dot(outline[i], draw.CircleGlyph{}, 3) }
	p.Add(rim)
	p.Legend.Add("what prints on the printer's own paper", line)

	if g.WithArt {
		for _, part := range []struct {
			colours []colour.Lab
			shape   draw.GlyphDrawer
			name    string
		}{{g.Inside, draw.CircleGlyph{}, "colours of the art that print"}, {g.Outside, draw.CrossGlyph{}, "colours of the art that do not"}} {
			if len(part.colours) == 0 {
				continue
			}
			dots, err := plotter.NewScatter(points(part.colours))
			if err != nil {
				return nil, err
			}
			dots.GlyphStyle = draw.GlyphStyle{Color: color.NRGBA{60, 60, 60, 255}, Radius: vg.Points(3), Shape: part.shape}
			dots.GlyphStyleFunc = func(i int) draw.GlyphStyle { return dot(part.colours[i], part.shape, 3) }
			p.Add(dots)
			p.Legend.Add(part.name, dots)
		}
	}
	reach := 0.0
	for _, lab := range slices.Concat(outline, g.Inside, g.Outside) {
		reach = math.Max(reach, math.Max(math.Abs(lab.A), math.Abs(lab.B)))
	}
	reach = math.Ceil(reach*1.08/10) * 10
	p.X.Min, p.X.Max, p.Y.Min, p.Y.Max = -reach, reach, -reach, reach
	w, err := p.WriterTo(16*vg.Centimeter, 16*vg.Centimeter, format)
	if err != nil {
		return nil, err
	}
	var b bytes.Buffer
	if _, err := w.WriteTo(&b); err != nil {
		return nil, err
	}
	return b.Bytes(), nil
}

// points are where colours lie in a* and b*.
func points(colours []colour.Lab) plotter.XYs {
	at := make(plotter.XYs, len(colours))
	for i, c := range colours {
		at[i] = plotter.XY{X: c.A, Y: c.B}
	}
	return at
}

// Format is the format of a picture that a file's name asks for, such as "svg".
func Format(file string) string {
	return strings.ToLower(strings.TrimPrefix(filepath.Ext(file), "."))
}

func dot(c colour.Lab, shape draw.GlyphDrawer, points float64) draw.GlyphStyle {
	return draw.GlyphStyle{Color: c.SRGB(), Radius: vg.Points(points), Shape: shape}
}
