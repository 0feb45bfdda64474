package icc

import (
	"fmt"
	"math"

	"laydown/colour"
)

// Transform carries device values of one profile to those of another. It is
// immutable and safe for concurrent use.
type Transform struct {
	in, out      *Link
	scale, shift [3]float64
}

// NewTransform joins two profiles by an intent. bpc asks for black point
// compensation, which the absolute intent never has. The error says which
// profile lacks what.
func NewTransform(src, dst *Profile, intent Intent, bpc bool) (*Transform, error) {
	t := &Transform{}
	var err error
	if t.in, err = src.ToPCS(intent); err != nil {
		return nil, fmt.Errorf("source profile: %w", err)
	}
	if t.out, err = dst.FromPCS(intent); err != nil {
		return nil, fmt.Errorf("destination profile: %w", err)
	}
	t.scale = [3]float64{1, 1, 1}
	switch {
	case intent == Absolute:
		f, g := src.MediaWhite, dst.MediaWhite
		t.scale = [3]float64{f.X / g.X, f.Y / g.Y, f.Z / g.Z}
	case bpc:
		from, err := src.BlackPoint(intent)
		if err != nil {
			return nil, fmt.Errorf("source profile: %w", err)
		}
		to, err := dst.DestinationBlackPoint(intent)
		if err != nil {
			return nil, fmt.Errorf("destination profile: %w", err)
		}
		t.scale, t.shift = BlackCompensation(from, to)
	}
	return t, nil
}

// BlackCompensation returns the scale and shift per XYZ component that carry
// one black point to another and leave D50 alone (ISO 18619:2015).
func BlackCompensation(from, to colour.XYZ) (scale, shift [3]float64) {
	w := [3]float64{colour.D50.X, colour.D50.Y, colour.D50.Z}
	f, t := [3]float64{from.X, from.Y, from.Z}, [3]float64{to.X, to.Y, to.Z}
	for i := range w {
		scale[i] = (w[i] - t[i]) / (w[i] - f[i])
		shift[i] = w[i] * (t[i] - f[i]) / (w[i] - f[i])
	}
	return scale, shift
}

// Eval carries src (0–1 per channel) to dst (0–1 per channel).
func (t *Transform) Eval(dst, src []float64) {
	c := t.in.XYZ(src)
	t.out.Device(dst, colour.XYZ{
		X: c.X*t.scale[0] + t.shift[0], Y: c.Y*t.scale[1] + t.shift[1], Z: c.Z*t.scale[2] + t.shift[2],
	})
}

// The black a version 4 perceptual or saturation table is made for
// (ICC.1:2010, 6.3.3.3 and table 16).
var perceptualBlack = colour.XYZ{X: 0.00336, Y: 0.0034731, Z: 0.00287}

// BlackPoint estimates the darkest neutral of the profile as a source, as
// ISO 18619:2015 has it: the lightness of its darkest device colour, or, for a
// CMYK printer under the relative intent, of what its perceptual table prints
// for black, without colour and no lighter than L* 50.
func (p *Profile) BlackPoint(intent Intent) (colour.XYZ, error) {
	if p.Major >= 4 && (intent == Perceptual || intent == Saturation) {
		if p.has("A2B0") || p.has("B2A0") {
			return perceptualBlack, nil
		}
		intent = Relative
	}
	if intent == Relative && p.Class == Output && p.Space == CMYK && p.has("A2B0") && p.has("B2A0") {
		trip, err := p.roundTripper(Perceptual)
		if err != nil {
			return colour.XYZ{}, err
		}
		black := colour.Lab{}
		if p.Major >= 4 {
			black = perceptualBlack.Lab(colour.D50)
		}
		return neutralBlack(trip(black)), nil
	}
	in, err := p.ToPCS(intent)
	if err != nil {
		return colour.XYZ{}, err
	}
	black := map[Space][]float64{Gray: {0}, RGB: {0, 0, 0}, CMYK: {1, 1, 1, 1}}[p.Space]
	if p.Space == Lab {
		return colour.XYZ{}, nil
	}
	dark := in.XYZ(black).Lab(colour.D50)
	if p.Space == Gray { // a printer's grey may count toner, not light
		if other := in.XYZ([]float64{1}).Lab(colour.D50); other.L < dark.L {
			dark = other
		}
	}
	return neutralBlack(dark), nil
}

func neutralBlack(c colour.Lab) colour.XYZ {
	return colour.Lab{L: math.Min(math.Max(c.L, 0), 50)}.XYZ(colour.D50)
}

// roundTripper returns a function that prints a Lab colour by the intent's
// table and measures it by the relative one.
func (p *Profile) roundTripper(intent Intent) (func(colour.Lab) colour.Lab, error) {
	out, err := p.FromPCS(intent)
	if err != nil {
		return nil, err
	}
	in, err := p.ToPCS(Relative)
	if err != nil {
		return nil, err
	}
	return func(c colour.Lab) colour.Lab {
		var dev [4]float64
		out.Device(dev[:], c.XYZ(colour.D50))
		return in.XYZ(dev[:]).Lab(colour.D50)
	}, nil
}

// DestinationBlackPoint estimates the darkest neutral of the profile as a
// destination (ISO 18619:2015, 4.4): where the round trip of a neutral ramp
// leaves its black floor, found by a quadratic fit to the foot of the curve.
func (p *Profile) DestinationBlackPoint(intent Intent) (colour.XYZ, error) {
	if p.Major >= 4 && (intent == Perceptual || intent == Saturation) && (p.has("A2B0") || p.has("B2A0")) {
		return perceptualBlack, nil
	}
	_, table := p.tagFor("B2A", intent)
	if !table || p.Space == Lab {
		return p.BlackPoint(intent)
	}
	var first colour.Lab
	if intent == Relative {
		b, err := p.BlackPoint(intent)
		if err != nil {
			return b, err
		}
		first = b.Lab(colour.D50)
	}
	trip, err := p.roundTripper(intent)
	if err != nil {
		return colour.XYZ{}, err
	}
	const steps = 256
	var in, out [steps]float64
	for i := range in {
		in[i] = float64(i) * 100 / (steps - 1)
		out[i] = trip(colour.Lab{L: in[i], A: first.A, B: first.B}).L
	}
	for i := steps - 2; i > 0; i-- {
		out[i] = math.Min(out[i], out[i+1])
	}
	lo, hi := out[0], out[steps-1]
	if !(lo < hi) {
		return colour.XYZ{}, nil
	}
	from, to := 0.03, 0.25
	if intent == Relative {
		straight := true
		for i := range in {
			if in[i] > lo+0.2*(hi-lo) && math.Abs(in[i]-out[i]) >= 4 {
				straight = false
			}
		}
		if straight {
			return first.XYZ(colour.D50), nil
		}
		from, to = 0.1, 0.5
	}
	var x, y []float64
	for i := range in {
		if f := (out[i] - lo) / (hi - lo); f >= from && f < to {
			x, y = append(x, in[i]), append(y, f)
		}
	}
	if len(x) < 3 {
		return colour.XYZ{}, nil
	}
	first.L = quadraticRoot(x, y)
	return first.XYZ(colour.D50), nil
}

// quadraticRoot fits y = a x² + b x + c by least squares and returns the
// larger root, within 0–50; 0 when there is none.
func quadraticRoot(x, y []float64) float64 {
	var s [5]float64
	var r [3]float64
	for i := range x {
		p := 1.0
		for k := range s {
			s[k] += p
			if k < 3 {
				r[k] += p * y[i]
			}
			p *= x[i]
		}
	}
	m := colour.Matrix{{s[0], s[1], s[2]}, {s[1], s[2], s[3]}, {s[2], s[3], s[4]}}
	inv, ok := m.Inverse()
	if !ok {
		return 0
	}
	v := inv.Apply(r)
	c, b, a := v[0], v[1], v[2]
	root := 0.0
	if math.Abs(a) < 1e-10 {
		root = -c / b
	} else if d := b*b - 4*a*c; d > 0 {
		root = (-b + math.Sqrt(d)) / (2 * a)
	}
	if math.IsNaN(root) {
		return 0
	}
	return math.Max(0, math.Min(50, root))
}

// GridPoints is the number of grid points along each channel of a compiled
// table of the space: a balance of closeness to exact evaluation and of the
// processor's cache.
func GridPoints(s Space) int {
	if s == CMYK {
		return 23
	}
	return 49
}
