package press

import (
	"fmt"
	"math"

	"laydown/colour"
	"laydown/colour/icc"
)

// Description is what a press says of itself and what follows from it.
type Description struct {
	Name, Origin string
	Kind         string  // of file, in words
	Patches      int     // measured; 0 for a profile
	N            float64 // Yule–Nielsen factor of the model
	HeldOut      HeldOut
	Noise        *Noise    // nil if the measurements show none
	Outliers     []Outlier // measurements that the model leaves out

	Paper, Dark colour.Lab // absolute; Dark is the darkest neutral under TACPercent
	// TACPercent is the most toner of a profile's own relative separation, or
	// for a data set, which has none, the limit that was asked about.
	TACPercent float64
	Gamut      *Gamut // under TACPercent
	Neutral    []NeutralStep
}

// Noise is how far one measurement strays, as the standard deviation of each of
// L, a and b: the model is smoothed where there is any.
type Noise struct {
	Lab        float64 // about what the model leaves unexplained
	Repeated   int     // patches that were measured more than once
	RepeatsLab float64 // the same by these patches alone; 0 without
}

// NeutralStep is one grey of the neutral axis as the press prints it, relative
// intent with black point compensation.
type NeutralStep struct {
	SRGB    int // the grey's value in sRGB, 0–255
	CMYK    [4]float64
	Printed colour.Lab // absolute
}

// Describe works out what there is to say about a press; o gives the limit and
// black for one without a separation of its own.
func (p *Press) Describe(o Options) (*Description, error) {
	m, err := p.Model()
	if err != nil {
		return nil, err
	}
	d := &Description{Name: p.Name, Origin: p.Origin, N: m.N, HeldOut: m.HeldOut, TACPercent: o.TAC * 100}
	if p.Profile != nil {
		d.Kind = fmt.Sprintf("ICC profile, version %d.%d, CMYK", p.Profile.Major, p.Profile.Minor)
		if !o.Own {
			if d.TACPercent, err = p.profileTAC(); err != nil {
				return nil, err
			}
			o.TAC = d.TACPercent / 100
		}
	} else {
		d.Kind, d.Patches = "characterisation data set, CGATS", len(p.Set.Patches)
	}
	d.Outliers = m.Outliers
	if m.Smoothing > 0 {
		d.Noise = &Noise{Lab: m.Noise}
		if p.Set != nil {
			d.Noise.Repeated, d.Noise.RepeatsLab = p.Set.Repeated, p.Set.Scatter
		}
	}
	d.Gamut = p.gamut(m, o)()
	d.Paper, d.Dark = d.Gamut.v.paper, d.Gamut.v.dark
	o.Intent, o.BPC = icc.Relative, true
	s, err := p.Separate(icc.SRGB(), o)
	if err != nil {
		return nil, err
	}
	for _, g := range []int{255, 230, 204, 179, 153, 128, 102, 77, 51, 26, 0} {
		n := NeutralStep{SRGB: g}
		x := float64(g) / 255
		s.Eval(n.CMYK[:], []float64{x, x, x})
		n.Printed = m.Lab(n.CMYK)
		d.Neutral = append(d.Neutral, n)
	}
	return d, nil
}

// profileTAC is the highest sum of tone values that the profile's own relative
// separation asks for, over Lab in steps of 2.5 and 10.
func (p *Press) profileTAC() (percent float64, err error) {
	out, err := p.Profile.FromPCS(icc.Relative)
	if err != nil {
		return 0, err
	}
	most := 0.0
	var x [4]float64
	for l := 0.0; l <= 100; l += 2.5 {
		for a := -100.0; a <= 100; a += 10 {
			for b := -100.0; b <= 100; b += 10 {
				out.Device(x[:], colour.Lab{L: l, A: a, B: b}.XYZ(colour.D50))
				most = math.Max(most, x[0]+x[1]+x[2]+x[3])
			}
		}
	}
	return most * 100, nil
}
