package press

import (
	"math"
	"sort"

	"laydown/colour"
	"laydown/colour/icc"
)

// blackRamp finds the black toner alone that prints a lightness.
type blackRamp struct{ l [256]float64 } // falling with tone

func newBlackRamp(m *Model) *blackRamp {
	r := &blackRamp{}
	for i := range r.l {
		r.l[i] = m.Lab([4]float64{0, 0, 0, float64(i) / 255}).L
		if i > 0 {
			r.l[i] = math.Min(r.l[i], r.l[i-1])
		}
	}
	return r
}

// toneOf is the black for a lightness L*, absolute; solid or none for what black alone
// cannot print.
func (r *blackRamp) toneOf(want float64) float64 {
	i := sort.Search(256, func(i int) bool { return r.l[i] <= want })
	switch {
	case i == 0:
		return 0
	case i == 256:
		return 1
	}
	f := 0.0
	if r.l[i-1] > r.l[i] {
		f = (r.l[i-1] - want) / (r.l[i-1] - r.l[i])
	}
	return (float64(i-1) + f) / 255
}

// Art counts as neutral whose channels as sRGB lie neutralSpread apart at most. From
// there what prints turns from black alone to the colour, with as much black as it takes:
// for every 1/255 of spread, which is one step of a ramp, by no more than colourSlope of
// any plate. Up to mixSpread that hands over to the usual mix, which prints the same.
const (
	neutralSpread = 1.5 / 255
	mixSpread     = 64. / 255
	colourSlope   = 0.037 * 255
	colourCorner  = 0.1 // of the way at either end, on which it sets in and out
)

// coloured is how far, 0–1, the colour has set in at a spread, where tone values for
// all of it lie so far from those for none.
func coloured(spread, apart float64) float64 {
	const d = colourCorner
	u := colourSlope * (spread - neutralSpread) / math.Max(apart, 1e-9)
	switch {
	case u <= 0:
		return 0
	case u < 2*d:
		return u * u / (4 * d)
	case u < 1:
		return u - d
	case u < 1+2*d:
		return 1 - (1+2*d-u)*(1+2*d-u)/(4*d)
	}
	return 1
}

// saturation is how far apart the channels of a colour under D50 lie as sRGB, 0–1 each and
// beyond where sRGB does not reach.
func saturation(c colour.XYZ, toSRGB colour.Matrix) float64 {
	rgb := toSRGB.Apply([3]float64{c.X, c.Y, c.Z})
	for i, v := range rgb {
		if a := math.Abs(v); a <= 0.0031308 { // IEC 61966-2-1
			rgb[i] = 12.92 * v
		} else {
			rgb[i] = math.Copysign(1.055*math.Pow(a, 1/2.4)-0.055, v)
		}
	}
	return max(rgb[0], rgb[1], rgb[2]) - min(rgb[0], rgb[1], rgb[2])
}

// pureBlack wraps a separation of RGB or grey so that the art's black and neutral
// greys print on the black plate alone: paper stays paper, black prints solid, and
// between them light is carried over in proportion, as black point compensation does
// (ISO 18619). Around them colours print as they did, first with all the black that they
// can take, which a body with blackWhole finds.
func pureBlack(m *Model, body func() *Gamut, src *icc.Profile, intent icc.Intent, eval func(dst, src []float64)) (func(dst, src []float64), error) {
	ramp := newBlackRamp(m)
	in, err := src.ToPCS(intent)
	if err != nil {
		return nil, err
	}
	black, err := src.BlackPoint(intent)
	if err != nil {
		return nil, err
	}
	paper := m.Lab([4]float64{}).XYZ(colour.D50).Y
	solid := m.Lab([4]float64{3: 1}).XYZ(colour.D50).Y
	tone := func(c colour.XYZ) float64 {
		y := solid + (c.Y-black.Y)/(1-black.Y)*(paper-solid)
		return ramp.toneOf(colour.XYZ{Y: y}.Lab(colour.D50).L)
	}
	toSRGB := colour.XYZToSRGB()
	return func(dst, d []float64) {
		c := in.XYZ(d)
		s := saturation(c, toSRGB)
		if s >= mixSpread {
			eval(dst, d)
			return
		}
		alone := [4]float64{3: tone(c)}
		if s <= neutralSpread {
			copy(dst, alone[:])
			return
		}
		g := body()
		v := g.v
		var x, mix [4]float64
		eval(x[:], d)
		printed := v.relative(m.Lab(x))
		least, want := g.invert(printed, g.black(printed)), printed.Oklab()
		t, w := coloured(s, apart(least, alone)), smooth(s, neutralSpread, mixSpread)
		for i := range mix {
			y := alone[i] + t*(least[i]-alone[i])
			mix[i] = y + w*(x[i]-y)
		}
		grey := v.relative(m.Lab(alone)).Oklab()
		c = colour.Oklab{L: grey.L + t*(want.L-grey.L), A: grey.A + t*(want.A-grey.A), B: grey.B + t*(want.B-grey.B)}.XYZ()
		a := v.towards(c, mix[3])
		a.mix, a.pull = mix, [4]float64{mixHold, mixHold, mixHold, mixHold}
		y := v.solve(a, mix)
		copy(dst, y[:])
	}, nil
}

// mixHold is the pull of the search for what prints between two mixes of one colour, which
// between them print a little lighter, to the mix between them. Where toners hardly show
// beside the black it all but stays there.
const mixHold = 15

// apart is the largest difference of two sets of tone values.
func apart(x, y [4]float64) (d float64) {
	for i := range x {
		d = math.Max(d, math.Abs(x[i]-y[i]))
	}
	return d
}
