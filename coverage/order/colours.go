package order

import (
	"sync"

	"laydown/colour"
	"laydown/colour/icc"
	"laydown/colour/press"
	"laydown/coverage/artwork"
	"laydown/coverage/plate"
)

// ToLab tells the Lab, under D50, of device values 0–1 (as many as the art has
// channels). It may be called concurrently.
type ToLab func(device [4]float64) colour.Lab

// Colours is what one art's device colours mean on the order's press. What takes
// work is worked out when it is first asked for, once.
type Colours struct {
	// Source gives the art's numbers their meaning; nil for CMYK that is the press's
	// own, by its profile or for want of one, whose numbers are kept.
	Source     *icc.Profile
	SourceName string // in words

	job              *Job
	relative, design func() (ToLab, error)
}

func (j *Job) colours(a artwork.Info) *Colours {
	c := &Colours{job: j}
	c.Source, c.SourceName = j.sourceOf(a)
	c.relative = sync.OnceValues(c.workOutRelative)
	c.design = sync.OnceValues(c.workOutDesign)
	return c
}

// sourceOf is the profile that gives the art's numbers their meaning, nil for
// CMYK that is the press's own or is taken to be, and its name. Art that carries the
// profile of the very press was made for it: to separate it again would only turn its
// black text into four colours.
func (j *Job) sourceOf(a artwork.Info) (*icc.Profile, string) {
	switch {
	case a.Profile != nil:
		name := a.Profile.Description
		if name == "" {
			name = "unnamed " + a.Profile.Space.String() + " profile"
		}
		if own := j.Press.Profile; own != nil && own.Same(a.Profile) {
			return nil, name + " (the printer's own profile: numbers are kept)"
		}
		return a.Profile, name
	case a.Space == icc.CMYK:
		return nil, "none (taken as the printer's own CMYK)"
	}
	name := "none (taken as sRGB)"
	if a.StatesSRGB {
		name = "sRGB (stated by the file)"
	}
	if a.Space == icc.Gray {
		return icc.GrayGamma(), name
	}
	return icc.SRGB(), name
}

// Screen is what colours of screens mean: sRGB, in which people write them.
func (j *Job) Screen() *Colours {
	return j.colours(artwork.Info{Space: icc.RGB, StatesSRGB: true})
}

// Relative is how the art's colours were designed: media-relative, so that the art's
// white is L 100.
func (c *Colours) Relative() (ToLab, error) { return c.relative() }

// Design is how the art is meant to look in print: absolute, its white the press's
// paper, and with black point compensation its black the press's own black. Black is
// not the art's wish that misses the gamut of every press.
func (c *Colours) Design() (ToLab, error) { return c.design() }

func (c *Colours) workOutRelative() (ToLab, error) {
	if c.Source == nil {
		m, err := c.job.Press.Model()
		if err != nil {
			return nil, err
		}
		return m.Lab, nil
	}
	link, err := c.Source.ToPCS(icc.Relative)
	if err != nil {
		return nil, err
	}
	return func(d [4]float64) colour.Lab {
		return link.XYZ(d[:link.Channels]).Lab(colour.D50)
	}, nil
}

func (c *Colours) workOutDesign() (ToLab, error) {
	f, err := c.relative()
	if err != nil || c.Source == nil { // the press's own numbers are absolute already
		return f, err
	}
	m, err := c.job.Press.Model()
	if err != nil {
		return nil, err
	}
	paper := m.Lab([4]float64{}).XYZ(colour.D50)
	scale, shift := [3]float64{1, 1, 1}, [3]float64{}
	if c.job.Compensates() {
		from, err := c.Source.BlackPoint(c.job.Intent)
		if err != nil {
			return nil, err
		}
		to, err := c.job.printedBlack(m)
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
func (j *Job) printedBlack(m *press.Model) (colour.XYZ, error) {
	tones, err := j.Press.Black(j.Options)
	if err != nil {
		return colour.XYZ{}, err
	}
	paper := m.Lab([4]float64{}).XYZ(colour.D50)
	c := m.Lab(tones).XYZ(colour.D50).Scale(colour.D50, paper).Lab(colour.D50)
	return colour.Lab{L: c.L}.XYZ(colour.D50), nil
}

// WhiteNeed is how much white, 0–1, a colour needs by the process's rule, absolute
// under D50; nil where that does not depend on the colour.
func (j *Job) WhiteNeed() (func(colour.Lab) float64, error) {
	switch j.Process.White {
	case plate.Knockout:
		return plate.KnockoutNeed(j.Colour, j.Process.KnockoutWithin), nil
	case plate.Tonal:
		stack, paper, err := j.Stack()
		if err != nil {
			return nil, err
		}
		return plate.TonalNeed(j.Colour, stack.Look(paper, 1)), nil
	}
	return nil, nil
}
