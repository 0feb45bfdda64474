package colour

import (
	"fmt"
	"image/color"
	"math"
	"strconv"
	"strings"

	colorful "github.com/lucasb-eyer/go-colorful"
	"github.com/mandykoh/prism/srgb"
	"golang.org/x/image/colornames"
)

// SRGBToXYZ is the matrix from linear sRGB to XYZ under D50: the primaries of
// IEC 61966-2-1 with their D65 white, carried to D50 by Bradford.
func SRGBToXYZ() Matrix {
	rgb := Primaries([3][2]float64{{0.64, 0.33}, {0.30, 0.60}, {0.15, 0.06}}, D65)
	return Bradford(D65, D50).Mul(rgb)
}

// Primaries returns the matrix from linear RGB to XYZ for the chromaticities
// xy of red, green and blue and a white (SMPTE RP 177).
func Primaries(xy [3][2]float64, white XYZ) Matrix {
	var m Matrix
	for j, c := range xy {
		m[0][j], m[1][j], m[2][j] = c[0]/c[1], 1, (1-c[0]-c[1])/c[1]
	}
	inv, _ := m.Inverse()
	s := inv.Apply([3]float64{white.X, white.Y, white.Z})
	for i := range m {
		for j := range m[i] {
			m[i][j] *= s[j]
		}
	}
	return m
}

// XYZToSRGB is the inverse of [SRGBToXYZ].
func XYZToSRGB() Matrix {
	m, _ := SRGBToXYZ().Inverse()
	return m
}

var srgbToXYZ, xyzToSRGB = SRGBToXYZ(), XYZToSRGB()

// FromSRGB returns the D50 Lab of an encoded 8-bit sRGB colour.
func FromSRGB(r, g, b uint8) Lab {
	v := srgbToXYZ.Apply([3]float64{
		float64(srgb.From8Bit(r)), float64(srgb.From8Bit(g)), float64(srgb.From8Bit(b))})
	return XYZ{v[0], v[1], v[2]}.Lab(D50)
}

// SRGB returns c as an encoded 8-bit sRGB colour for a screen; what the screen
// cannot show is clipped per channel.
func (c Lab) SRGB() color.NRGBA {
	x := c.XYZ(D50)
	v := xyzToSRGB.Apply([3]float64{x.X, x.Y, x.Z})
	return color.NRGBA{EncodeSRGB(v[0]), EncodeSRGB(v[1]), EncodeSRGB(v[2]), 255}
}

// EncodeSRGB is the IEC 61966-2-1 encoding of one linear channel, 0–1 and
// clipped to that, to 8 bits.
func EncodeSRGB(v float64) uint8 {
	switch {
	case !(v > 0):
		return 0
	case v >= 1:
		return 255
	case v <= 0.0031308:
		v *= 12.92
	default:
		v = 1.055*math.Pow(v, 1/2.4) - 0.055
	}
	return uint8(v*255 + 0.5)
}

// Hex prints c as the #rrggbb a screen would be given for it.
func (c Lab) Hex() string {
	s := c.SRGB()
	return fmt.Sprintf("#%02x%02x%02x", s.R, s.G, s.B)
}

// Name is the name of a colour, in small letters, if that is what a text is that [Parse]
// reads; "" for numbers.
func Name(s string) string {
	t := strings.ToLower(strings.TrimSpace(s))
	if _, ok := colornames.Map[t]; ok {
		return t
	}
	return ""
}

// Parse reads a colour as a person types it: #rgb or #rrggbb (sRGB), one of
// the 147 colour names of SVG 1.1, or three D50 Lab numbers separated by
// commas, such as 52,-10.5,31.
func Parse(s string) (Lab, error) {
	t := strings.ToLower(strings.TrimSpace(s))
	if strings.HasPrefix(t, "#") {
		c, err := colorful.Hex(t)
		if err != nil || (len(t) != 4 && len(t) != 7) {
			return Lab{}, fmt.Errorf("colour %q: write #rrggbb with hexadecimal digits", s)
		}
		return FromSRGB(c.RGB255()), nil
	}
	if c, ok := colornames.Map[t]; ok {
		return FromSRGB(c.R, c.G, c.B), nil
	}
	if parts := strings.Split(t, ","); len(parts) == 3 {
		var v [3]float64
		for i, p := range parts {
			f, err := strconv.ParseFloat(strings.TrimSpace(p), 64)
			if err != nil {
				return Lab{}, fmt.Errorf("colour %q: %q is not a number; write L,a,b", s, p)
			}
			v[i] = f
		}
		lab := Lab{v[0], v[1], v[2]}
		if err := lab.Check(); err != nil {
			return Lab{}, fmt.Errorf("colour %q: %w", s, err)
		}
		return lab, nil
	}
	return Lab{}, fmt.Errorf("colour %q is not known: write #rrggbb, a colour name such as navy, or L,a,b", s)
}

// Check returns an error when c is no plausible measured colour: L outside
// 0–100, or a or b beyond ±200.
func (c Lab) Check() error {
	if !c.finite() || c.L < 0 || c.L > 100 || math.Abs(c.A) > 200 || math.Abs(c.B) > 200 {
		return fmt.Errorf("Lab %g, %g, %g is out of range: L is 0 to 100, a and b within ±200", c.L, c.A, c.B)
	}
	return nil
}
