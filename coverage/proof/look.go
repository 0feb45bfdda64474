package proof

import (
	"laydown/colour"
	"laydown/colour/icc"
	"laydown/colour/layer"
)

// relative tells the Lab of the art's device values as they were designed:
// media-relative, so that the art's white is L 100. It may be called
// concurrently.
func (p *Proof) relative() (func([4]float64) colour.Lab, error) {
	if p.source == nil {
		m, err := p.job.Press.Model()
		if err != nil {
			return nil, err
		}
		return m.Lab, nil
	}
	link, err := p.source.ToPCS(icc.Relative)
	if err != nil {
		return nil, err
	}
	return func(d [4]float64) colour.Lab {
		return link.XYZ(d[:link.Channels]).Lab(colour.D50)
	}, nil
}

// design is how the art is meant to look: absolute, its white the press's paper.
func (p *Proof) design() (func([4]float64) colour.Lab, error) {
	f, err := p.relative()
	if err != nil || p.source == nil { // the press's own numbers are absolute already
		return f, err
	}
	m, err := p.job.Press.Model()
	if err != nil {
		return nil, err
	}
	paper := m.Lab([4]float64{}).XYZ(colour.D50)
	return func(d [4]float64) colour.Lab { return f(d).XYZ(colour.D50).Scale(paper, colour.D50).Lab(colour.D50) }, nil
}

// stack is the item under this press's toner, and the press's paper. A film that
// carries its own white is opaque and hides the item.
func (j *job) stack() (*layer.Stack, colour.Lab, error) {
	m, err := j.Press.Model()
	if err != nil {
		return nil, colour.Lab{}, err
	}
	paper := m.Lab([4]float64{})
	contrast := j.printer.WhiteContrast / 100
	if j.medium.OwnWhite {
		contrast = 1
	}
	s, err := layer.New(j.colour, paper, contrast)
	return s, paper, err
}
