package order

import (
	"fmt"

	"laydown/colour"
	"laydown/colour/layer"
	"laydown/coverage/shop"
)

// What metal that mirrors faces, as parts of the light that falls on it: white walls and sky,
// or a dark room and the one who looks; of black cloth and dark wood about 0.03 (our own
// figures). Verdicts go by the mean of both.
const (
	FacesLight = 1.0
	FacesDark  = 0.03
	facesBoth  = (FacesLight + FacesDark) / 2 // looks are in proportion to it
)

// Stack is the item under this press's toner as it is seen, metal between light and dark,
// and the Lab of the press's paper. A film that carries its own white is opaque and hides
// the item.
func (j *Job) Stack() (*layer.Stack, colour.Lab, error) { return j.stackFacing(facesBoth) }

func (j *Job) stackFacing(surround float64) (*layer.Stack, colour.Lab, error) {
	m, err := j.Press.Model()
	if err != nil {
		return nil, colour.Lab{}, err
	}
	paper := m.Lab([4]float64{})
	white, err := j.white(paper)
	if err != nil {
		return nil, paper, err
	}
	colours, shares := j.Mixed()
	parts := make([]*layer.Stack, len(colours))
	for i, c := range colours {
		if parts[i], err = layer.Lay(c, paper, white); err != nil {
			return nil, paper, err
		}
	}
	s, err := layer.Mix(parts, shares)
	if err == nil {
		s = s.Facing(j.Item.Mirrors(), surround)
	}
	if err == nil && j.ItemColour == nil && j.Item.WhiteOnItem.Given() && !j.Medium.OwnWhite {
		s = s.Pinned(j.Item.WhiteOnItem.Lab)
	}
	if err == nil && j.WhiteFirst() {
		s = s.WhiteFirst()
	}
	return s, paper, err
}

// Facing is the colour of the bare item where it faces a surround, FacesLight or FacesDark,
// absolute under D50; of what does not mirror, its colour.
func (j *Job) Facing(surround float64) colour.Lab {
	c, part := colour.Mean(j.Mixed()), layer.Mirrored(j.Item.Mirrors(), surround)
	if part == 1 {
		return c // to the last digit
	}
	x := c.XYZ(colour.D50)
	return colour.XYZ{X: x.X * part, Y: x.Y * part, Z: x.Z * part}.Lab(colour.D50)
}

// WhiteFirst reports whether the eye meets white before the colours: under them on a clear
// item that is seen from the other side, or over them seen from the front.
func (j *Job) WhiteFirst() bool {
	through, over := j.Item.Clear && j.Item.Seen == shop.Through, j.Process.WhiteSide == shop.OverColours
	return through != over
}

// Mixed are the colours of the item, absolute under D50, and their shares, of any sum.
func (j *Job) Mixed() ([]colour.Lab, []float64) {
	if j.ItemColour != nil {
		return []colour.Lab{*j.ItemColour}, []float64{1}
	}
	return j.Item.Mixed()
}

// white is a solid layer of the printer's white, or of the film's own.
func (j *Job) white(paper colour.Lab) (layer.White, error) {
	p := j.Printer
	switch {
	case j.Medium.OwnWhite:
		return layer.Contrast(1)
	case !p.WhiteOnBlack.Given():
		return layer.Contrast(p.WhiteContrast / 100)
	}
	ground := p.WhiteGround.Lab
	if !p.WhiteGround.Given() {
		ground = paper
	}
	w, err := layer.Measure(p.WhiteOnBlack.Lab, p.WhiteOnWhite.Lab, p.BlackGround.Lab, ground)
	if err != nil {
		return w, fmt.Errorf("white of printer %q: %w", p.Name, err)
	}
	return w, nil
}
