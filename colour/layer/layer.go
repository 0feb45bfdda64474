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
// divided by Y over white. Where white was measured over a black and a white
// ground instead, it may be tinted and absorb: see [Measure]. A screen of white is
// that white on part of the area (Murray and Davies 1936). Colour toner takes the
// same share of light from any ground as it does from paper. Bare metal mirrors
// what it faces: see [Stack.Facing].
//
// From this it follows that opaque white gives the press's own colours on any
// item, that an item of the paper's colour does so without white, and that
// nothing shows on a black item without white. A clear item counts as what lies
// behind it, without loss and seen from either side ([Stack.WhiteFirst]): its own
// reflections, about 4 % a surface of glass (Fresnel), and the light that comes
// through from behind are not in it. Nor are gloss, texture, highlights,
// show-through of the item's weave and light spread between dots.
package layer

import (
	"errors"
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
	white  White
	first  bool // white lies between the eye and the colours
}

// most is the highest reflectance, relative to paper, of an item and of what is on it: an
// item may be whiter than paper, within reason.
const most = 1.2

// Lay makes a stack. item and paper are absolute under D50. An error says that the paper
// reflects nothing.
func Lay(item, paper colour.Lab, white White) (*Stack, error) {
	s := &Stack{paper: sharpen(paper), white: white}
	g := sharpen(item)
	for i := range g {
		if s.paper[i] <= 0 {
			return nil, fmt.Errorf("paper %v reflects nothing", paper)
		}
		s.ground[i] = math.Max(0, math.Min(g[i]/s.paper[i], most))
		unit := white.unit(s.paper[i], i) / s.paper[i]
		s.solid[i] = math.Min(white.over(s.ground[i]/unit, i)*unit, most)
	}
	return s, nil
}

// White is solid white toner as a layer over any ground. Its zero value is none at all.
type White struct {
	r0, t2  [3]float64 // what it reflects over nothing, and the square of what it lets through
	ofPaper bool       // both in units of the press's paper; else of a perfect diffuser
	some    bool
}

// Contrast is neutral white that scatters and does not absorb, of a contrast ratio 0
// (clear) to 1 (opaque); an error says that it is outside.
func Contrast(ratio float64) (White, error) {
	if !(ratio >= 0 && ratio <= 1) {
		return White{}, fmt.Errorf("a contrast ratio of %g makes no sense: it is from 0 (clear) to 1 (opaque)", ratio)
	}
	r0, t2 := 1.0, 0.0
	if ratio < 1 {
		sc := scatter(ratio)
		r0, t2 = sc/(1+sc), 1/((1+sc)*(1+sc))
	}
	return White{r0: [3]float64{r0, r0, r0}, t2: [3]float64{t2, t2, t2}, ofPaper: true, some: true}, nil
}

// Measure is white of which the solid was measured over two grounds that were measured
// themselves, all absolute under D50. Each channel is solved by itself, so that white may
// be tinted and may absorb: over the two grounds it looks as measured, and over others by
// Kubelka's formula for a layer over a ground, R = R0 + T²·G ÷ (1 − R0·G) (Kubelka 1948;
// his 1954 paper has layers whose sides differ, and here both sides are taken as alike).
// The two measurements give
//
//	R0 = (W·Rb − B·Rw) ÷ (W − B − B·W·(Rw − Rb))
//
// where Rb and Rw are seen over grounds that reflect B and W. A channel in which white
// looks no lighter over the white ground, by noise, counts as opaque. Not in it: light
// that is reflected inside at the toner's surface, and light that leaves the layer
// sideways beyond the instrument's aperture.
//
// An error says that the grounds are not told apart, or that white is clearly darker over
// the white ground than over the black.
func Measure(onBlack, onWhite, black, white colour.Lab) (White, error) {
	if !(white.L-black.L >= leastApart) {
		return White{}, fmt.Errorf("the white ground, L* %.1f, must be lighter than the black, L* %.1f, by %d or more", white.L, black.L, leastApart)
	}
	if onWhite.L < onBlack.L-noise {
		return White{}, fmt.Errorf("solid white cannot be darker over the white ground, L* %.1f, than over the black, L* %.1f", onWhite.L, onBlack.L)
	}
	return solve(sharpen(onBlack), sharpen(onWhite), sharpen(black), sharpen(white)), nil
}

const (
	leastApart = 20 // L* between the grounds of a measurement, so that noise does not decide; our own figure
	noise      = 1  // L* by which two readings of opaque white may contradict each other; our own figure
)

func solve(onBlack, onWhite, black, white [3]float64) White {
	w := White{some: true}
	for i := range w.r0 {
		rb, rw, b, g := onBlack[i]/diffuser[i], onWhite[i]/diffuser[i], black[i]/diffuser[i], white[i]/diffuser[i]
		w.r0[i] = (rb + rw) / 2
		if rw > rb && g > b {
			w.r0[i] = math.Max(0, math.Min((g*rb-b*rw)/(g-b-b*g*(rw-rb)), mostOwn))
			w.t2[i] = math.Max(0, (rw-w.r0[i])*(1-w.r0[i]*g)/g)
		}
	}
	return w
}

// mostOwn is the most that a layer reflects by itself: 1 would be all.
const mostOwn = 0.99

// unit is what the layer's figures are relative to.
func (w *White) unit(paper float64, i int) float64 {
	if w.ofPaper {
		return paper
	}
	return diffuser[i]
}

// diffuser is a perfect one.
var diffuser = sharpen(colour.Lab{L: 100})

// over is what the layer reflects in a channel over a ground.
func (w *White) over(ground float64, i int) float64 {
	switch {
	case !w.some:
		return ground
	case w.t2[i] == 0:
		return w.r0[i]
	}
	return w.r0[i] + w.t2[i]*ground/math.Max(1-w.r0[i]*ground, 1e-6)
}

// Pinned is the stack with solid white that was measured on this very item: white, absolute
// under D50, in place of what the layer's figures make of it.
func (s *Stack) Pinned(white colour.Lab) *Stack {
	p := *s
	for i, v := range sharpen(white) {
		p.solid[i] = math.Min(v/s.paper[i], most)
	}
	return &p
}

// Mix is an item of several colours side by side, such as mixed yarns, under one print: its
// look is the mean of the looks on each, weighted by share, which is what an eye sees from so
// far that it does not tell them apart (see [colour.Mean]). All stacks are of the same paper;
// shares are of any sum above 0. An error says that they do not go together.
func Mix(stacks []*Stack, shares []float64) (*Stack, error) {
	sum := 0.0
	for _, v := range shares {
		sum += v
	}
	if len(stacks) == 0 || len(stacks) != len(shares) || !(sum > 0) {
		return nil, fmt.Errorf("%d colours cannot be mixed by the shares %v: give each a share", len(stacks), shares)
	}
	mix := &Stack{paper: stacks[0].paper, white: stacks[0].white}
	for k, s := range stacks {
		if s.first {
			return nil, errors.New("items of which white is seen before the colours cannot be mixed")
		}
		if s.paper != mix.paper {
			return nil, errors.New("items under different papers cannot be mixed")
		}
		for i := range mix.ground { // a look is in proportion to both
			mix.ground[i] += s.ground[i] * shares[k] / sum
			mix.solid[i] += s.solid[i] * shares[k] / sum
		}
	}
	return mix, nil
}

// Facing is the stack on metal or foil that mirrors a share, 0–1, of the light that it
// reflects and scatters the rest, and faces something that reflects surround, 0–1, of the
// light that falls on both. A mirror is as bright as what is seen in it times what it reflects,
// since radiance is kept along a ray (Nicodemus 1963), so that the bare item, and colours on
// it, reflect (1 − share) + share · surround of what they do before a perfect white; that look
// is the item's colour. White scatters light before and after the metal, which then returns
// all that it reflects, whatever it faces: solid white stays as it is. Not in it: highlights of
// lamps, which are brighter than any white, and a mirrored share that differs with angle.
// Figures outside are taken as 0 or 1.
func (s *Stack) Facing(share, surround float64) *Stack {
	f := *s
	for i := range f.ground {
		f.ground[i] *= Mirrored(share, surround)
	}
	return &f
}

// Mirrored is the part of a metal's reflectance that is seen before a surround; see
// [Stack.Facing].
func Mirrored(share, surround float64) float64 {
	share, surround = math.Max(0, math.Min(1, share)), math.Max(0, math.Min(1, surround))
	return 1 - share + share*surround
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

// WhiteFirst is the stack seen so that its white lies between the eye and the colours: a print
// with white under its colours seen through the clear item that it is on, or one with white
// over them seen from the front. The item, or what lies behind it, is farthest. Screens of
// white show the colours between their dots, and solid white covers them by Kubelka's
// formula, for which the colours on their ground are the ground. White that was pinned is
// not, since it was measured under no colours.
func (s *Stack) WhiteFirst() *Stack {
	f := *s
	f.first = true
	return &f
}

// seen is the reflectance in a channel of a print that reflects c on its own paper.
func (s *Stack) seen(c, white float64, i int) float64 {
	if !s.first {
		return c * (white*s.solid[i] + (1-white)*s.ground[i])
	}
	y := c * s.ground[i]
	unit := s.white.unit(s.paper[i], i)
	return white*math.Min(s.white.over(y/unit, i)*unit, most*s.paper[i]) + (1-white)*y
}

// Look is the colour that is seen, absolute under D50, where the press's print
// would measure printed on its own paper and white has a tone value 0–1.
func (s *Stack) Look(printed colour.Lab, white float64) colour.Lab {
	white = math.Max(0, math.Min(1, white))
	c := sharpen(printed)
	for i := range c {
		c[i] = s.seen(c[i], white, i)
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
		if s.first {
			c[i] = s.under(c[i], white, i)
		} else {
			c[i] /= math.Max(white*s.solid[i]+(1-white)*s.ground[i], least)
		}
	}
	return blunt(c)
}

// least is what ground and white must reflect, relative to paper: nothing shows on less.
const least = 0.01

// under is what reflects on its own paper so that it is seen as y beneath white, by
// bisection: more is seen of more. What opaque white hides is as good as any.
func (s *Stack) under(y, white float64, i int) float64 {
	lo, hi := 0.0, most*s.paper[i]/math.Max(s.ground[i], least)
	for range 50 {
		if mid := (lo + hi) / 2; s.seen(mid, white, i) < y {
			lo = mid
		} else {
			hi = mid
		}
	}
	return (lo + hi) / 2
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
