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

// GamutPlot draws what the press prints, seen along the L axis of Lab, with the
// colours of the order's art in it if it names one: dots within the gamut, crosses
// outside. format is "svg" or "png". The body is that of the press on its own paper,
// under the toner limit that the condition says.
func (c *Condition) GamutPlot(format string) ([]byte, error) {
	if format != "svg" && format != "png" {
		return nil, fmt.Errorf("a picture in %q cannot be drawn: name a file that ends in .svg or .png", format)
	}
	options := c.job.options
	options.TAC = c.tac
	outline, err := c.job.Press.Outline(options)
	if err != nil {
		return nil, err
	}
	p := plot.New()
	p.Title.Text = fmt.Sprintf("%s, total toner %.0f %%", c.job.Press.Name, c.tac*100)
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
	p.Legend.Add("what prints on the press's own paper", line)

	shown := outline
	if c.job.ArtPath != "" {
		art, err := artColours(c.job)
		if err != nil {
			return nil, err
		}
		shown = append(shown, art...)
		var inside, outside []colour.Lab
		for _, lab := range art {
			if c.gamut.Contains(lab) {
				inside = append(inside, lab)
			} else {
				outside = append(outside, lab)
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
	for _, lab := range shown {
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

// PlotFormat is the format that a file's name asks [Condition.GamutPlot] for.
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
	seen := map[artwork.Device]bool{}
	var out []colour.Lab
	for _, c := range palette.Count(art) {
		key := palette.Bucket(c.Device)
		if seen[key] {
			continue
		}
		seen[key] = true
		if out = append(out, design(c.Device.Fractions())); len(out) == mostDots {
			break
		}
	}
	return out
}
