package icc

import (
	"encoding/binary"
	"errors"
	"math"

	"laydown/colour"
)

// Tone is the tone curve of a profile that is made here: the way from an encoded
// value to light, both 0–1. It is kept as a parametric curve (ICC.1:2010, 10.15),
// whose numbers are multiples of 1/65536.
type Tone struct {
	kind   byte
	values []float64
}

// Gamma is the curve y = x^g. g is from 0.01 to 100.
func Gamma(g float64) Tone { return Tone{0, []float64{g}} }

// Toe is the curve y = (a x + b)^g from x = d on and y = c x below.
func Toe(g, a, b, c, d float64) Tone { return Tone{3, []float64{g, a, b, c, d}} }

// SRGBTone is the curve of IEC 61966-2-1.
func SRGBTone() Tone { return Toe(2.4, 1/1.055, 0.055/1.055, 1/12.92, 0.04045) }

// SRGB is the profile of IEC 61966-2-1, made from the standard's numbers, for
// artwork that carries no profile of its own.
func SRGB() *Profile {
	return rgb("sRGB (IEC 61966-2-1)", colour.SRGBToXYZ(), SRGBTone())
}

// GrayGamma is a grey profile with the tone curve of sRGB, for grey artwork
// that carries no profile of its own.
func GrayGamma() *Profile { return Grey("grey with the sRGB tone curve (IEC 61966-2-1)", SRGBTone()) }

// Matrix is the profile of an RGB space that is stated by the chromaticities xy of
// its red, green and blue and of its white, and one tone curve. Its white is carried
// to D50 by Bradford, as ICC.1:2010, annex E, advises. The error says that the
// chromaticities span no space.
func Matrix(description string, primaries [3][2]float64, white [2]float64, t Tone) (*Profile, error) {
	for _, c := range append(primaries[:], white) {
		if !(c[1] > 1e-4) || math.Abs(c[0]) > 2 || c[1] > 2 {
			return nil, errors.New("chromaticities that are no colours")
		}
	}
	r, g, b := primaries[0], primaries[1], primaries[2]
	if area := (g[0]-r[0])*(b[1]-r[1]) - (g[1]-r[1])*(b[0]-r[0]); math.Abs(area) < 1e-3 {
		return nil, errors.New("chromaticities of red, green and blue that span no colours")
	}
	w := colour.XYZ{X: white[0] / white[1], Y: 1, Z: (1 - white[0] - white[1]) / white[1]}
	m := colour.Primaries(primaries, w)
	for _, y := range m[1] {
		if !(y > 0) {
			return nil, errors.New("a white that red, green and blue do not make")
		}
	}
	return rgb(description, colour.Bradford(w, colour.D50).Mul(m), t), nil
}

// Grey is the profile of a grey space that is stated by its tone curve.
func Grey(description string, t Tone) *Profile {
	p := made(description, Gray)
	p.tags["kTRC"] = t.element()
	return p
}

func rgb(description string, m colour.Matrix, t Tone) *Profile {
	p := made(description, RGB)
	for j, c := range []string{"r", "g", "b"} {
		xyz := []byte("XYZ \x00\x00\x00\x00")
		for i := range m {
			xyz = appendFixed(xyz, m[i][j])
		}
		p.tags[c+"XYZ"], p.tags[c+"TRC"] = xyz, t.element()
	}
	return p
}

func made(description string, s Space) *Profile {
	return &Profile{Description: description, Class: Display, Space: s, Major: 4, MediaWhite: colour.D50, tags: map[string][]byte{}}
}

// element is the curve as a parametricCurveType.
func (t Tone) element() []byte {
	b := []byte{'p', 'a', 'r', 'a', 0, 0, 0, 0, 0, t.kind, 0, 0}
	for _, v := range t.values {
		b = appendFixed(b, v)
	}
	return b
}

func appendFixed(b []byte, v float64) []byte {
	return binary.BigEndian.AppendUint32(b, uint32(int32(math.Round(v*65536))))
}
