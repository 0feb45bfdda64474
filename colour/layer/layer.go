// Package layer predicts how a print looks on an item: the item's own colour,
// white toner of stated opacity on it, and the press's colours as a filter on
// top.
//
// Reflectances are three numbers in the sharpened RGB of the Bradford
// transform, in units of the press's own paper, so that 1 is its white. White
// scatters and does not absorb: over a ground it reflects by Kubelka's formula
// for a layer on a substrate (Kubelka 1948), R = R0 + T²·G ÷ (1 − R0·G), with
// R0 = S ÷ (1 + S) and T = 1 ÷ (1 + S) for a scattering power S. S follows from
// the contrast ratio in the manner of ISO 6504-3, lightness Y over black
// divided by Y over white. A screen of white is that white on part of the area
// (Murray and Davies 1936). Colour toner takes the same share of light from any
// ground as it does from paper.
//
// From this it follows that opaque white gives the press's own colours on any
// item, that an item of the paper's colour does so without white, and that
// nothing shows on a black item without white. Not modelled: gloss, texture,
// metallic shine, show-through of the item's weave and light spread between
// dots.
package layer

import (
	"fmt"
	"math"

	"laydown/colour"
)

// Stack is an item under a press whose paper is known. It is immutable and
// safe for concurrent use.
type Stack struct {
	paper  [3]float64 // sharpened
	ground [3]float64 // the item, relative to paper
	solid  [3]float64 // solid white on the item, relative to paper
}

// New makes a stack. item and paper are absolute under D50. contrast is the
// contrast ratio of solid white toner, 0 (clear) to 1 (opaque); an error says
// that it is outside, or that the paper reflects nothing.
func New(item, paper colour.Lab, contrast float64) (*Stack, error) {
	if !(contrast >= 0 && contrast <= 1) {
		return nil, fmt.Errorf("a contrast ratio of %g makes no sense: it is from 0 (clear) to 1 (opaque)", contrast)
	}
	s := &Stack{paper: sharpen(paper)}
	r0, t2 := 1.0, 0.0
	if contrast < 1 {
		sc := scatter(contrast)
		r0, t2 = sc/(1+sc), 1/((1+sc)*(1+sc))
	}
	g := sharpen(item)
	for i := range g {
		if s.paper[i] <= 0 {
			return nil, fmt.Errorf("paper %v reflects nothing", paper)
		}
		s.ground[i] = math.Max(0, math.Min(g[i]/s.paper[i], 1.2)) // an item may be whiter than paper, within reason
		s.solid[i] = r0 + t2*s.ground[i]/math.Max(1-r0*s.ground[i], 1e-6)
		if t2 == 0 {
			s.solid[i] = 1
		}
	}
	return s, nil
}

// whiteBacking is the reflectance of the white ground of a contrast ratio
// (ISO 6504-3 allows about 0.8; from memory).
const whiteBacking = 0.8

// scatter finds S for a contrast ratio by bisection; the ratio rises with S.
func scatter(contrast float64) float64 {
	ratio := func(s float64) float64 {
		r0, t := s/(1+s), 1/(1+s)
		return r0 / (r0 + t*t*whiteBacking/(1-r0*whiteBacking))
	}
	lo, hi := 0.0, 1e6
	for range 80 {
		mid := (lo + hi) / 2
		if ratio(mid) < contrast {
			lo = mid
		} else {
			hi = mid
		}
	}
	return (lo + hi) / 2
}

// Look is the colour that is seen, absolute under D50, where the press's print
// would measure printed on its own paper and white has a tone value 0–1.
func (s *Stack) Look(printed colour.Lab, white float64) colour.Lab {
	white = math.Max(0, math.Min(1, white))
	c := sharpen(printed)
	for i := range c {
		c[i] *= white*s.solid[i] + (1-white)*s.ground[i]
	}
	return blunt(c)
}

// Print is the inverse of [Stack.Look]: what the press must measure on its own
// paper to look like seen here. No toner is lighter than paper, so a look that
// is out of reach gives a print that is out of reach as well.
func (s *Stack) Print(seen colour.Lab, white float64) colour.Lab {
	white = math.Max(0, math.Min(1, white))
	c := sharpen(seen)
	for i := range c {
		c[i] /= math.Max(white*s.solid[i]+(1-white)*s.ground[i], 0.01) // nothing shows on less
	}
	return blunt(c)
}

var cone, fromCone = func() (m, inv colour.Matrix) {
	m = colour.ConeResponse()
	inv, _ = m.Inverse()
	return m, inv
}()

func sharpen(c colour.Lab) [3]float64 {
	x := c.XYZ(colour.D50)
	v := cone.Apply([3]float64{x.X, x.Y, x.Z})
	for i := range v {
		v[i] = math.Max(v[i], 0)
	}
	return v
}

func blunt(v [3]float64) colour.Lab {
	x := fromCone.Apply(v)
	return colour.XYZ{X: math.Max(0, x[0]), Y: math.Max(0, x[1]), Z: math.Max(0, x[2])}.Lab(colour.D50)
}
