package proof

import (
	"laydown/colour"
	"laydown/colour/icc"
	"laydown/colour/layer"
	"laydown/colour/press"
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

// design is how the art is meant to look in print: absolute, its white the press's
// paper, and with black point compensation its black the press's own black. Black is
// not the art's wish that misses the gamut of every press. It is worked out once.
func (p *Proof) design() (_ func([4]float64) colour.Lab, err error) {
	if p.meant == nil {
		p.meant, err = p.workOutDesign()
	}
	return p.meant, err
}

func (p *Proof) workOutDesign() (func([4]float64) colour.Lab, error) {
	f, err := p.relative()
	if err != nil || p.source == nil { // the press's own numbers are absolute already
		return f, err
	}
	m, err := p.job.Press.Model()
	if err != nil {
		return nil, err
	}
	paper := m.Lab([4]float64{}).XYZ(colour.D50)
	scale, shift := [3]float64{1, 1, 1}, [3]float64{}
	if p.job.options.BPC && p.job.Intent != icc.Absolute {
		from, err := p.source.BlackPoint(p.job.Intent)
		if err != nil {
			return nil, err
		}
		to, err := p.printedBlack(m)
		if err != nil {
			return nil, err
		}
		scale, shift = icc.BlackCompensation(from, to)
	}
	return func(d [4]float64) colour.Lab {
		x := f(d).XYZ(colour.D50)
		x = colour.XYZ{X: x.X*scale[0] + shift[0], Y: x.Y*scale[1] + shift[1], Z: x.Z*scale[2] + shift[2]}
		return x.Scale(paper, colour.D50).Lab(colour.D50)
	}, nil
}

// printedBlack is the neutral black, relative to paper, that the press prints for
// black by the order's own separation.
func (p *Proof) printedBlack(m *press.Model) (colour.XYZ, error) {
	sep, err := p.job.Press.Separate(icc.SRGB(), p.job.options)
	if err != nil {
		return colour.XYZ{}, err
	}
	var tones [4]float64
	sep.Eval(tones[:], make([]float64, 3))
	paper := m.Lab([4]float64{}).XYZ(colour.D50)
	c := m.Lab(tones).XYZ(colour.D50).Scale(colour.D50, paper).Lab(colour.D50)
	return colour.Lab{L: c.L}.XYZ(colour.D50), nil
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
