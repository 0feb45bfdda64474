package proof

import (
	"bytes"
	"fmt"
	"image/color"
	"math"
	"path/filepath"
	"strings"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/plotter"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"

	"laydown/colour"
	"laydown/coverage/artwork"
	"laydown/coverage/palette"
)

// mostDots is the most colours of the art that a plot shows; the most frequent
// come first.
const mostDots = 1500

// GamutPlot draws what the order's press prints, seen along the L axis of Lab,
// with the colours of the art in it if the order names one: dots within the
// gamut, crosses outside. format is "svg" or "png". The body is that of the
// press on its own paper, under the order's toner limit.
func GamutPlot(o Order, format string) ([]byte, error) {
	if format != "svg" && format != "png" {
		return nil, fmt.Errorf("a picture in %q cannot be drawn: name a file that ends in .svg or .png", format)
	}
	j, err := o.resolve()
	if err != nil {
		return nil, err
	}
	d, err := o.Press.Describe(j.options)
	if err != nil {
		return nil, err
	}
	j.options.TAC = d.TACPercent / 100
	gamut, err := o.Press.Gamut(j.options)
	if err != nil {
		return nil, err
	}
	p := plot.New()
	p.Title.Text = fmt.Sprintf("%s, total toner %.0f %%", o.Press.Name, d.TACPercent)
	p.X.Label.Text, p.Y.Label.Text = "a*", "b*"
	p.Add(plotter.NewGrid())

	outline, err := o.Press.Outline(j.options)
	if err != nil {
		return nil, err
	}
	edge := make(plotter.XYs, 0, len(outline)+1)
	reach := 0.0
	for i := range len(outline) + 1 {
		c := outline[i%len(outline)]
		edge = append(edge, plotter.XY{X: c.A, Y: c.B})
		reach = math.Max(reach, math.Max(math.Abs(c.A), math.Abs(c.B)))
	}
	line, err := plotter.NewLine(edge)
	if err != nil {
		return nil, err
	}
	line.Width = vg.Points(2)
	p.Add(line)
	hem := make(plotter.XYs, len(outline))
	for i, c := range outline {
		hem[i] = plotter.XY{X: c.A, Y: c.B}
	}
	rim, err := plotter.NewScatter(hem)
	if err != nil {
		return nil, err
	}
	rim.GlyphStyleFunc = func(i int) draw.GlyphStyle { return dot(outline[i], draw.CircleGlyph{}, 3) }
	p.Add(rim)
	p.Legend.Add("what prints on the press's own paper", line)

	if o.ArtPath != "" {
		art, err := artColours(j)
		if err != nil {
			return nil, err
		}
		inside, outside := make([]colour.Lab, 0, len(art)), []colour.Lab{}
		for _, c := range art {
			reach = math.Max(reach, math.Max(math.Abs(c.A), math.Abs(c.B)))
			if gamut.Contains(c) {
				inside = append(inside, c)
			} else {
				outside = append(outside, c)
			}
		}
		for _, part := range []struct {
			colours []colour.Lab
			shape   draw.GlyphDrawer
			name    string
		}{{inside, draw.CircleGlyph{}, "colours of the art that print"}, {outside, draw.CrossGlyph{}, "colours of the art that do not"}} {
			if len(part.colours) == 0 {
				continue
			}
			at := make(plotter.XYs, len(part.colours))
			for i, c := range part.colours {
				at[i] = plotter.XY{X: c.A, Y: c.B}
			}
			dots, err := plotter.NewScatter(at)
			if err != nil {
				return nil, err
			}
			dots.GlyphStyle = draw.GlyphStyle{Color: color.NRGBA{60, 60, 60, 255}, Radius: vg.Points(3), Shape: part.shape}
			dots.GlyphStyleFunc = func(i int) draw.GlyphStyle { return dot(part.colours[i], part.shape, 3) }
			p.Add(dots)
			p.Legend.Add(part.name, dots)
		}
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

// PlotFormat is the format that a file's name asks [GamutPlot] for.
func PlotFormat(file string) string {
	return strings.ToLower(strings.TrimPrefix(filepath.Ext(file), "."))
}

func dot(c colour.Lab, shape draw.GlyphDrawer, points float64) draw.GlyphStyle {
	return draw.GlyphStyle{Color: c.SRGB(), Radius: vg.Points(points), Shape: shape}
}

// artColours are the most frequent colours of the order's art, as they are meant
// to look on the press's paper.
func artColours(j *job) ([]colour.Lab, error) {
	pic, err := j.open()
	if err != nil {
		return nil, err
	}
	if pic.art, err = pic.file.Decode(); err != nil {
		return nil, err
	}
	p := &Proof{job: j, art: pic.art}
	p.source, _ = sourceOf(pic.file.Info)
	design, err := p.design()
	if err != nil {
		return nil, err
	}
	return topColours(pic.art, design), nil
}

// topColours are the art's most frequent colours, one of each bucket of 8 codes.
func topColours(art *artwork.Art, design func([4]float64) colour.Lab) []colour.Lab {
	seen := map[[4]uint8]bool{}
	var out []colour.Lab
	for _, c := range palette.Count(art) {
		key := c.Device
		for k := range key {
			key[k] >>= 3
		}
		if seen[key] {
			continue
		}
		seen[key] = true
		if out = append(out, design(palette.Fractions(c.Device))); len(out) == mostDots {
			break
		}
	}
	return out
}
