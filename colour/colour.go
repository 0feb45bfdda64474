// Package colour holds the numbers a press is judged by: CIE XYZ and CIELAB
// under D50, the CIEDE2000 difference, chromatic adaptation, and grades of
// match.
//
// Everything is relative to the 2° standard observer. The profile connection
// space (PCS) is D50, so an XYZ or Lab value here means D50 unless the name
// says otherwise. Values are float64 and unbounded: a colour no ink can make
// is still a colour.
package colour

import (
	"fmt"
	"math"
)

// XYZ is a CIE 1931 tristimulus value, Y = 1 for the reference white.
type XYZ struct{ X, Y, Z float64 }

// Lab is a CIE 1976 L*a*b* value: L 0–100, a and b about ±128.
type Lab struct{ L, A, B float64 }

// White points, Y = 1.
var (
	// D50 is the PCS illuminant as ICC.1 rounds it (ICC.1:2010, 7.2.16).
	D50 = XYZ{0.9642, 1, 0.8249}
	// D65 is the sRGB white of IEC 61966-2-1 (x = 0.3127, y = 0.3290).
	D65 = XYZ{0.3127 / 0.3290, 1, (1 - 0.3127 - 0.3290) / 0.3290}
)

const (
	labEpsilon = 216.0 / 24389 // (6/29)³, CIE 15:2004, 8.2.1
	labKappa   = 24389.0 / 27
)

func labF(t float64) float64 {
	if t > labEpsilon {
		return math.Cbrt(t)
	}
	return (labKappa*t + 16) / 116
}

func labFInverse(f float64) float64 {
	if t := f * f * f; t > labEpsilon {
		return t
	}
	return (116*f - 16) / labKappa
}

// Lab converts c to CIELAB under the given white (CIE 15:2004, 8.2.1).
func (c XYZ) Lab(white XYZ) Lab {
	fx, fy, fz := labF(c.X/white.X), labF(c.Y/white.Y), labF(c.Z/white.Z)
	return Lab{116*fy - 16, 500 * (fx - fy), 200 * (fy - fz)}
}

// XYZ converts c to tristimulus values under the given white; it undoes
// [XYZ.Lab].
func (c Lab) XYZ(white XYZ) XYZ {
	fy := (c.L + 16) / 116
	return XYZ{
		white.X * labFInverse(fy+c.A/500),
		white.Y * labFInverse(fy),
		white.Z * labFInverse(fy-c.B/200),
	}
}

// Chroma is C*ab, the distance from the neutral axis.
func (c Lab) Chroma() float64 { return math.Hypot(c.A, c.B) }

// finite reports whether no component is NaN or infinite.
func (c Lab) finite() bool {
	s := c.L + c.A + c.B
	return !math.IsNaN(s) && !math.IsInf(s, 0)
}

// String prints c with one decimal, as a measuring device would.
func (c Lab) String() string { return fmt.Sprintf("L %.1f a %.1f b %.1f", c.L, c.A, c.B) }

// Scale multiplies each component of c by that of f over that of g: the "wrong
// von Kries" step by which ICC.1 turns media-relative into absolute values.
func (c XYZ) Scale(f, g XYZ) XYZ {
	return XYZ{c.X * f.X / g.X, c.Y * f.Y / g.Y, c.Z * f.Z / g.Z}
}

// DeltaE00 is the CIEDE2000 colour difference with kL = kC = kH = 1
// (ISO/CIE 11664-6:2014; the hue rules follow Sharma, Wu and Dalal 2005).
// It is symmetric and 0 only for equal colours.
func DeltaE00(p, q Lab) float64 {
	const pow25to7 = 6103515625.0
	deg := math.Pi / 180

	meanC7 := math.Pow((p.Chroma()+q.Chroma())/2, 7)
	g := 0.5 * (1 - math.Sqrt(meanC7/(meanC7+pow25to7)))
	ap, aq := (1+g)*p.A, (1+g)*q.A
	cp, cq := math.Hypot(ap, p.B), math.Hypot(aq, q.B)
	hp, hq := hueDegrees(ap, p.B), hueDegrees(aq, q.B)

	dL, dC := q.L-p.L, cq-cp
	dh, hm := 0.0, hp+hq
	if cp*cq != 0 {
		dh = hq - hp
		hm /= 2
		switch {
		case dh > 180:
			dh -= 360
		case dh < -180:
			dh += 360
		}
		if math.Abs(hp-hq) > 180 {
			if hp+hq < 360 {
				hm += 180
			} else {
				hm -= 180
			}
		}
	}
	dH := 2 * math.Sqrt(cp*cq) * math.Sin(dh/2*deg)

	lm, cm := (p.L+q.L)/2, (cp+cq)/2
	t := 1 - 0.17*math.Cos((hm-30)*deg) + 0.24*math.Cos(2*hm*deg) +
		0.32*math.Cos((3*hm+6)*deg) - 0.20*math.Cos((4*hm-63)*deg)
	l50 := (lm - 50) * (lm - 50)
	sL := 1 + 0.015*l50/math.Sqrt(20+l50)
	sC := 1 + 0.045*cm
	sH := 1 + 0.015*cm*t
	cm7 := math.Pow(cm, 7)
	rC := 2 * math.Sqrt(cm7/(cm7+pow25to7))
	turn := (hm - 275) / 25
	rT := -rC * math.Sin(2*30*deg*math.Exp(-turn*turn))

	l, c, h := dL/sL, dC/sC, dH/sH
	return math.Sqrt(math.Max(0, l*l+c*c+h*h+rT*c*h))
}

func hueDegrees(a, b float64) float64 {
	if a == 0 && b == 0 {
		return 0
	}
	h := math.Atan2(b, a) * 180 / math.Pi
	if h < 0 {
		h += 360
	}
	return h
}

// Matrix is a 3 × 3 matrix in row order.
type Matrix [3][3]float64

// Apply multiplies m by the column v.
func (m Matrix) Apply(v [3]float64) [3]float64 {
	var o [3]float64
	for i := range o {
		o[i] = m[i][0]*v[0] + m[i][1]*v[1] + m[i][2]*v[2]
	}
	return o
}

// Mul is the matrix product m·n.
func (m Matrix) Mul(n Matrix) Matrix {
	var o Matrix
	for i := range o {
		for j := range o[i] {
			o[i][j] = m[i][0]*n[0][j] + m[i][1]*n[1][j] + m[i][2]*n[2][j]
		}
	}
	return o
}

// Inverse returns m⁻¹; ok is false when m is singular.
func (m Matrix) Inverse() (inv Matrix, ok bool) {
	cof := func(r, c int) float64 {
		r1, r2, c1, c2 := (r+1)%3, (r+2)%3, (c+1)%3, (c+2)%3
		return m[r1][c1]*m[r2][c2] - m[r1][c2]*m[r2][c1]
	}
	det := m[0][0]*cof(0, 0) + m[0][1]*cof(0, 1) + m[0][2]*cof(0, 2)
	if math.Abs(det) < 1e-12 || math.IsNaN(det) || math.IsInf(det, 0) {
		return inv, false
	}
	for i := range inv {
		for j := range inv[i] {
			inv[i][j] = cof(j, i) / det
		}
	}
	return inv, true
}

// ConeResponse is the matrix from XYZ to the sharpened cone response of the
// linear Bradford transform (ICC.1:2010, Annex E; Lam 1985).
func ConeResponse() Matrix {
	return Matrix{
		{0.8951, 0.2664, -0.1614},
		{-0.7502, 1.7135, 0.0367},
		{0.0389, -0.0685, 1.0296},
	}
}

// Bradford returns the linear Bradford matrix that carries XYZ seen under one
// white to XYZ seen under another (ICC.1:2010, Annex E).
func Bradford(from, to XYZ) Matrix {
	cone := ConeResponse()
	f := cone.Apply([3]float64{from.X, from.Y, from.Z})
	t := cone.Apply([3]float64{to.X, to.Y, to.Z})
	inv, _ := cone.Inverse()
	return inv.Mul(Matrix{{t[0] / f[0]}, {0, t[1] / f[1]}, {0, 0, t[2] / f[2]}}).Mul(cone)
}
