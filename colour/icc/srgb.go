package icc

import (
	"encoding/binary"
	"math"

	"laydown/colour"
)

// SRGB is the profile of IEC 61966-2-1, made from the standard's numbers, for
// artwork that carries no profile of its own.
func SRGB() *Profile { return matrixProfile("sRGB (IEC 61966-2-1)", RGB) }

// GrayGamma is a grey profile with the tone curve of sRGB, for grey artwork
// that carries no profile of its own.
func GrayGamma() *Profile {
	return matrixProfile("grey with the sRGB tone curve (IEC 61966-2-1)", Gray)
}

func matrixProfile(name string, s Space) *Profile {
	p := &Profile{Description: name, Class: Display, Space: s, Major: 4, MediaWhite: colour.D50, tags: map[string][]byte{}}
	fixed := func(b []byte, v float64) []byte {
		return binary.BigEndian.AppendUint32(b, uint32(int32(math.Round(v*65536))))
	}
	curve := []byte("para\x00\x00\x00\x00\x00\x03\x00\x00")
	for _, v := range []float64{2.4, 1 / 1.055, 0.055 / 1.055, 1 / 12.92, 0.04045} {
		curve = fixed(curve, v)
	}
	if s == Gray {
		p.tags["kTRC"] = curve
		return p
	}
	m := colour.SRGBToXYZ()
	for j, c := range []string{"r", "g", "b"} {
		xyz := []byte("XYZ \x00\x00\x00\x00")
		for i := range m {
			xyz = fixed(xyz, m[i][j])
		}
		p.tags[c+"XYZ"], p.tags[c+"TRC"] = xyz, curve
	}
	return p
}
