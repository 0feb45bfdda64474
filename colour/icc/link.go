package icc

import (
	"fmt"

	"laydown/colour"
)

// Link is one direction of a profile for one intent, between device values
// (0–1 for each channel; CMYK 1 = solid; Lab in the encoding of ICC.1:2010)
// and D50 XYZ. It is immutable and safe for concurrent use.
type Link struct {
	Channels int // device channels
	toPCS    func(v []float64) colour.XYZ
	toDevice func(dst []float64, c colour.XYZ)
	table    bool // goes by a lookup table
}

// XYZ carries device values to media-relative D50 XYZ. Only for a link made by
// [Profile.ToPCS].
func (l *Link) XYZ(device []float64) colour.XYZ {
	var v [16]float64
	copy(v[:], device[:l.Channels])
	return l.toPCS(v[:])
}

// Device carries media-relative D50 XYZ to device values clipped to 0–1. dst
// takes Channels values. Only for a link made by [Profile.FromPCS].
func (l *Link) Device(dst []float64, c colour.XYZ) {
	l.toDevice(dst, c)
	for i := range dst[:l.Channels] {
		if !(dst[i] > 0) {
			dst[i] = 0
		} else if dst[i] > 1 {
			dst[i] = 1
		}
	}
}

// tagFor finds the lookup table of a direction ("A2B" or "B2A") for an intent.
// The absolute intent uses the relative table; a missing table falls back to
// the first (ICC.1:2010, 9.1 notes).
func (p *Profile) tagFor(direction string, i Intent) (string, bool) {
	n := map[Intent]string{Perceptual: "0", Relative: "1", Saturation: "2", Absolute: "1"}[i]
	if t := direction + n; p.has(t) {
		return t, true
	}
	return direction + "0", p.has(direction + "0")
}

// ToPCS returns the link from device values to XYZ.
func (p *Profile) ToPCS(i Intent) (*Link, error) {
	n := p.Space.Channels()
	if tag, ok := p.tagFor("A2B", i); ok {
		l, err := parseLut(p.tags[tag], n, 3, p.Space == Lab)
		if err != nil {
			return nil, fmt.Errorf("%s: %w", tag, err)
		}
		lab := p.pcsLab
		scale := p.labDeviceScale(l)
		return &Link{Channels: n, table: true, toPCS: func(v []float64) colour.XYZ {
			if scale != 1 {
				for k := range 3 {
					v[k] *= scale
				}
			}
			return l.decodePCS(l.eval(v), lab)
		}}, nil
	}
	if p.Space == Gray {
		c, err := p.curve("kTRC")
		if err != nil {
			return nil, err
		}
		lab := p.pcsLab
		return &Link{Channels: 1, toPCS: func(v []float64) colour.XYZ {
			y := c.eval(v[0])
			if lab {
				return colour.Lab{L: 100 * y}.XYZ(colour.D50)
			}
			return colour.XYZ{X: y * colour.D50.X, Y: y, Z: y * colour.D50.Z}
		}}, nil
	}
	m, cs, err := p.matrix()
	if err != nil {
		return nil, err
	}
	return &Link{Channels: 3, toPCS: func(v []float64) colour.XYZ {
		for k, c := range cs {
			v[k] = c.eval(v[k])
		}
		o := m.Apply([3]float64(v[:3]))
		return colour.XYZ{X: o[0], Y: o[1], Z: o[2]}
	}}, nil
}

// labDeviceScale is what a Lab device value in the v4 encoding is multiplied
// by before a table that expects the v2 one.
func (p *Profile) labDeviceScale(l *lut) float64 {
	if p.Space == Lab && l.legacy {
		return 65280.0 / 65535
	}
	return 1
}

// FromPCS returns the link from XYZ to device values.
func (p *Profile) FromPCS(i Intent) (*Link, error) {
	n := p.Space.Channels()
	if tag, ok := p.tagFor("B2A", i); ok {
		l, err := parseLut(p.tags[tag], 3, n, p.pcsLab)
		if err != nil {
			return nil, fmt.Errorf("%s: %w", tag, err)
		}
		lab := p.pcsLab
		scale := 1 / p.labDeviceScale(l)
		return &Link{Channels: n, table: true, toDevice: func(dst []float64, c colour.XYZ) {
			var v [16]float64
			l.encodePCS(v[:], c, lab)
			o := l.eval(v[:])
			for k := range n {
				dst[k] = o[k] * scale
			}
		}}, nil
	}
	if p.Space == Gray && p.has("kTRC") {
		c, err := p.curve("kTRC")
		if err != nil {
			return nil, err
		}
		inv, lab := c.inverse(), p.pcsLab
		return &Link{Channels: 1, toDevice: func(dst []float64, c colour.XYZ) {
			if lab {
				dst[0] = inv(c.Lab(colour.D50).L / 100)
			} else {
				dst[0] = inv(c.Y)
			}
		}}, nil
	}
	if !p.matrixShaper() {
		return nil, fmt.Errorf("profile %q has no table from the connection space to %s (B2A): it can only be an artwork's profile, not a printer's", p.Description, p.Space)
	}
	m, cs, err := p.matrix()
	if err != nil {
		return nil, err
	}
	inv, ok := m.Inverse()
	if !ok {
		return nil, fmt.Errorf("profile %q has colorants that cannot be told apart", p.Description)
	}
	var curves [3]func(float64) float64
	for k, c := range cs {
		curves[k] = c.inverse()
	}
	return &Link{Channels: 3, toDevice: func(dst []float64, c colour.XYZ) {
		o := inv.Apply([3]float64{c.X, c.Y, c.Z})
		for k := range o {
			dst[k] = curves[k](o[k])
		}
	}}, nil
}

func (p *Profile) curve(tag string) (*curve, error) {
	c, _, err := parseCurve(p.tags[tag])
	if err != nil {
		return nil, fmt.Errorf("%s: %w", tag, err)
	}
	return c, nil
}

func (p *Profile) matrix() (m colour.Matrix, cs [3]*curve, err error) {
	if !p.matrixShaper() {
		return m, cs, fmt.Errorf("profile %q has no table from %s to the connection space", p.Description, p.Space)
	}
	for j, c := range []string{"r", "g", "b"} {
		x, err := parseXYZ(p.tags[c+"XYZ"])
		if err != nil {
			return m, cs, fmt.Errorf("%sXYZ: %w", c, err)
		}
		m[0][j], m[1][j], m[2][j] = x.X, x.Y, x.Z
		if cs[j], err = p.curve(c + "TRC"); err != nil {
			return m, cs, err
		}
	}
	return m, cs, nil
}
