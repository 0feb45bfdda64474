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

// tone is the black for a lightness from 0 (the darkest) to 1 (bare paper) of
// what black alone can print.
func (r *blackRamp) tone(t float64) float64 {
	return r.toneOf(r.l[255] + t*(r.l[0]-r.l[255]))
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

// Chroma up to which art counts as neutral, and from which it does not; between
// them the two separations mix.
const (
	neutralChroma = 1.5
	colourChroma  = 6
)

// pureBlack wraps a separation of RGB or grey so that the art's black and neutral
// greys print on the black plate alone, at the lightness they have between paper and
// solid black.
func pureBlack(m *Model, src *icc.Profile, intent icc.Intent, eval func(dst, src []float64)) (func(dst, src []float64), error) {
	ramp := newBlackRamp(m)
	in, err := src.ToPCS(intent)
	if err != nil {
		return nil, err
	}
	black, err := src.BlackPoint(intent)
	if err != nil {
		return nil, err
	}
	floor := black.Lab(colour.D50).L
	lightness := func(c colour.Lab) float64 {
		return math.Max(0, math.Min(1, (c.L-floor)/(100-floor)))
	}
	return func(dst, d []float64) {
		c := in.XYZ(d).Lab(colour.D50)
		w := 1 - smooth(c.Chroma(), neutralChroma, colourChroma)
		if w < 1 {
			eval(dst, d)
		}
		if w > 0 {
			k := ramp.tone(lightness(c))
			if w == 1 {
				dst[0], dst[1], dst[2], dst[3] = 0, 0, 0, 0
			}
			for i := range 3 {
				dst[i] *= 1 - w
			}
			dst[3] = (1-w)*dst[3] + w*k
		}
	}, nil
}
