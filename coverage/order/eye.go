package order

import (
	"laydown/colour"
	"laydown/coverage/plate"
)

// Eye is who looks at a print: an eye takes the white that it is given for white, and
// judges colours beside it (media-relative colorimetry, ICC.1:2010, 6.3.2 and Annex D).
type Eye struct {
	// White is what the eye takes for white, absolute under D50: the print's own where
	// that is light and neutral, the press's paper where it is dark or strongly coloured,
	// and between the two where it is between those.
	White colour.Lab
	// Print is the print's own lightest on the item, absolute under D50: white toner or
	// film on it, or the item itself.
	Print colour.Lab
	// Adapts is how far the eye takes Print for white, 0–1.
	Adapts float64

	paper colour.Lab
}

// An eye takes for white what is light and has little colour. From where it begins to
// and from where it does so fully, in L* and in chroma C*ab; our own figures: a shop
// calls a light grey tee with a print "white" at a glance, a yellow one never.
const (
	darkWhite, lightWhite    = 55, 75
	tintedWhite, colourWhite = 8, 24
)

// adapts is how far an eye takes a colour, absolute under D50, for white. It changes
// step by step, so that two items that look nearly alike are judged nearly alike.
func adapts(c colour.Lab) float64 {
	part := func(v, lo, hi float64) float64 { return max(0, min(1, (v-lo)/(hi-lo))) }
	return part(c.L, darkWhite, lightWhite) * (1 - part(c.Chroma(), tintedWhite, colourWhite))
}

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
	e := &Eye{Print: stack.Look(paper, j.FullWhite()), paper: paper}
	e.Adapts = adapts(e.Print)
	p, w := paper.XYZ(colour.D50), e.Print.XYZ(colour.D50)
	mix := func(p, w float64) float64 { return p + e.Adapts*(w-p) }
	e.White = colour.XYZ{X: mix(p.X, w.X), Y: mix(p.Y, w.Y), Z: mix(p.Z, w.Z)}.Lab(colour.D50)
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
