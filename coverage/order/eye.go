package order

import (
	"laydown/colour"
	"laydown/coverage/plate"
)

// Eye is who looks at a print: an eye takes the white that it is given for white, and
// judges colours beside it (media-relative colorimetry, ICC.1:2010, 6.3.2 and Annex D).
type Eye struct {
	// White is the print's own on the item, absolute under D50: white toner or film, or
	// the item itself where it is light. Where there is none it is the press's paper.
	White colour.Lab
	// Own reports whether White is the print's own.
	Own bool

	paper colour.Lab
}

// leastWhite is the L* from which people take something for white beside colours; our
// own figure.
const leastWhite = 65

// FullWhite is how much white, 0–1, lies under a print where the process's rule gives
// it all; a film's own white counts as all.
func (j *Job) FullWhite() float64 {
	switch {
	case j.Medium.OwnWhite:
		return 1
	case j.Process.White == plate.NoWhite:
		return 0
	}
	return j.Process.WhiteDensity / 100
}

// Eye finds the white that the print is judged by.
func (j *Job) Eye() (*Eye, error) {
	stack, paper, err := j.Stack()
	if err != nil {
		return nil, err
	}
	e := &Eye{White: stack.Look(paper, j.FullWhite()), Own: true, paper: paper}
	if e.White.L < leastWhite {
		e.White, e.Own = paper, false
	}
	return e, nil
}

// WhiteFacing is the print's own white where metal faces a surround, FacesLight or FacesDark,
// absolute under D50.
func (j *Job) WhiteFacing(surround float64) (colour.Lab, error) {
	stack, paper, err := j.stackFacing(surround)
	if err != nil {
		return colour.Lab{}, err
	}
	return stack.Look(paper, j.FullWhite()), nil
}

func beside(c, white colour.Lab) colour.Lab {
	return c.XYZ(colour.D50).Scale(colour.D50, white.XYZ(colour.D50)).Lab(colour.D50)
}

// Wanted is how a colour is wanted, beside white: its absolute Lab on the press's paper
// made relative to that.
func (e *Eye) Wanted(onPaper colour.Lab) colour.Lab { return beside(onPaper, e.paper) }

// Seen is how an absolute colour on the item is seen, beside the print's white.
func (e *Eye) Seen(onItem colour.Lab) colour.Lab { return beside(onItem, e.White) }

// OnItem is the absolute colour on the item that is seen there as one on the press's
// paper is: beside the white.
func (e *Eye) OnItem(onPaper colour.Lab) colour.Lab {
	return onPaper.XYZ(colour.D50).Scale(e.White.XYZ(colour.D50), e.paper.XYZ(colour.D50)).Lab(colour.D50)
}
