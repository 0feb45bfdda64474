package colour

import "math"

// IPT is a colour in the space of Ebner and Fairchild 1998 (IS&T/SID 6th Color
// Imaging Conference, 8–13): I is lightness, 0 to 1 for the white; P runs from green
// to red and T from blue to yellow, about ±0.7. Of the spaces that are measured on
// published data (see the tests) it is the one in which hue, as people see it, runs
// straightest, above all from blue to white, where a line of constant hue in CIELAB
// turns purple.
type IPT struct{ I, P, T float64 }

// Oklab is a colour in the space of B. Ottosson, "A perceptual color space for image
// processing", 2020: L is lightness, 0 to 1 for the white; A and B about ±0.4. Large
// differences are about as long in it as they look.
type Oklab struct{ L, A, B float64 }

// response is a space of the form that IPT and Oklab share: cone responses to XYZ
// under D65, a power of each, and a mix of the three.
type response struct {
	cone, mix Matrix // cone takes XYZ under D50
	power     float64
}

// The matrices for D65 as published, each behind Bradford from D50, and scaled so
// that the white's three responses are exactly 1: the published figures, rounded to
// four places, miss that by up to 2e-4, and greys would have a hue.
var (
	iptResponse = newResponse(Matrix{{0.4002, 0.7075, -0.0807}, {-0.2280, 1.1500, 0.0612}, {0, 0, 0.9184}},
		Matrix{{0.4000, 0.4000, 0.2000}, {4.4550, -4.8510, 0.3960}, {0.8056, 0.3572, -1.1628}}, 0.43)
	oklabResponse = newResponse(
		Matrix{{0.8189330101, 0.3618667424, -0.1288597137}, {0.0329845436, 0.9293118715, 0.0361456387}, {0.0482003018, 0.2643662691, 0.6338517070}},
		Matrix{{0.2104542553, 0.7936177850, -0.0040720468}, {1.9779984951, -2.4285922050, 0.4505937099}, {0.0259040371, 0.7827717662, -0.8086757660}}, 1.0/3)
)

func newResponse(cone, mix Matrix, power float64) response {
	cone = cone.Mul(Bradford(D50, D65))
	for i, v := range cone.Apply([3]float64{D50.X, D50.Y, D50.Z}) {
		for j := range cone[i] {
			cone[i][j] /= v
		}
	}
	return response{cone, mix, power}
}

// least is the response below which a space runs straight to 0, as its slope at
// black would be infinite; it is a hundred thousandth of the white's.
const least = 1e-5

// raise is a response to the space's power, and the slope of that.
func (r *response) raise(x float64) (v, slope float64) {
	a := math.Max(math.Abs(x), least)
	p := 0.0
	if r.power == 1.0/3 {
		p = math.Cbrt(a)
	} else {
		p = math.Pow(a, r.power)
	}
	if math.Abs(x) < least {
		return x * p / a, p / a
	}
	return math.Copysign(p, x), r.power * p / a
}

func (r *response) of(c XYZ) [3]float64 {
	v := r.cone.Apply([3]float64{c.X, c.Y, c.Z})
	for i, x := range v {
		v[i], _ = r.raise(x)
	}
	return r.mix.Apply(v)
}

func (r *response) back(c [3]float64) XYZ {
	mix, _ := r.mix.Inverse()
	cone, _ := r.cone.Inverse()
	v := mix.Apply(c)
	edge, _ := r.raise(least)
	for i, x := range v {
		if math.Abs(x) < edge {
			v[i] = x * least / edge
		} else {
			v[i] = math.Copysign(math.Pow(math.Abs(x), 1/r.power), x)
		}
	}
	x := cone.Apply(v)
	return XYZ{x[0], x[1], x[2]}
}

// slopes is of, and its derivatives by X, Y and Z, a row for each value.
func (r *response) slopes(c XYZ) (v [3]float64, d Matrix) {
	v = r.cone.Apply([3]float64{c.X, c.Y, c.Z})
	for i, x := range v {
		var slope float64
		v[i], slope = r.raise(x)
		for j := range d[i] {
			d[i][j] = slope * r.cone[i][j]
		}
	}
	return r.mix.Apply(v), r.mix.Mul(d)
}

// IPT converts a colour under D50, white of Y = 1.
func (c XYZ) IPT() IPT {
	v := iptResponse.of(c)
	return IPT{v[0], v[1], v[2]}
}

// XYZ undoes [XYZ.IPT].
func (c IPT) XYZ() XYZ { return iptResponse.back([3]float64{c.I, c.P, c.T}) }

// IPTSlopes is [XYZ.IPT] and its derivatives: a row for each of I, P and T, a column
// for each of X, Y and Z.
func (c XYZ) IPTSlopes() (IPT, Matrix) {
	v, d := iptResponse.slopes(c)
	return IPT{v[0], v[1], v[2]}, d
}

// Oklab converts a colour under D50, white of Y = 1.
func (c XYZ) Oklab() Oklab {
	v := oklabResponse.of(c)
	return Oklab{v[0], v[1], v[2]}
}

// XYZ undoes [XYZ.Oklab].
func (c Oklab) XYZ() XYZ { return oklabResponse.back([3]float64{c.L, c.A, c.B}) }

// OklabSlopes is [XYZ.Oklab] and its derivatives: a row for each of L, A and B, a
// column for each of X, Y and Z.
func (c XYZ) OklabSlopes() (Oklab, Matrix) {
	v, d := oklabResponse.slopes(c)
	return Oklab{v[0], v[1], v[2]}, d
}

// Chroma is the distance from the neutral axis.
func (c IPT) Chroma() float64 { return math.Hypot(c.P, c.T) }

// Hue is the angle around the neutral axis in radians, from −π to π; 0 for a neutral.
func (c IPT) Hue() float64 {
	if c.P == 0 && c.T == 0 {
		return 0
	}
	return math.Atan2(c.T, c.P)
}

// Chroma is the distance from the neutral axis.
func (c Oklab) Chroma() float64 { return math.Hypot(c.A, c.B) }

// Distance is how far two colours are apart; 1 from black to white.
func (c Oklab) Distance(d Oklab) float64 {
	return math.Sqrt((c.L-d.L)*(c.L-d.L) + (c.A-d.A)*(c.A-d.A) + (c.B-d.B)*(c.B-d.B))
}
