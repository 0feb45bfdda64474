package press

import (
	"fmt"
	"math"
	"slices"
	"sort"
	"strings"

	"laydown/colour"
	"laydown/colour/icc"
)

// Keep is which pure colours of CMYK art that was made for another press stay on
// their own toner. Without it fine black text and lines become four colours, whose
// edges show where the toners are out of register.
type Keep int

// What is kept, from nothing to every tint of one toner.
const (
	KeepNone  Keep = iota
	KeepBlack      // what has no C, M and Y stays on black alone
	KeepAll        // and what has one of C, M and Y only stays on that
)

var keepNames = []string{"none", "black", "all"}

// String is the name of what is kept.
func (k Keep) String() string { return keepNames[k] }

// Keeps are the names of what can be kept.
func Keeps() []string { return slices.Clone(keepNames) }

// ParseKeep reads a name that [Keep.String] gives.
func ParseKeep(s string) (Keep, error) {
	for i, n := range keepNames {
		if n == s {
			return Keep(i), nil
		}
	}
	return 0, fmt.Errorf("pure colours %q: choose one of %s", s, strings.Join(keepNames, ", "))
}

// keepPure wraps the separation of another press's CMYK so that pure colours stay on
// their own toner.
//
// Black keeps its lightness: paper stays paper, solid black stays solid, and between
// them the light of a tint is carried over in proportion, as black point compensation
// does (ISO 18619); the absolute intent keeps the light itself, as far as black alone
// prints it. A tint of another toner goes as far on the way from paper to the solid,
// in Lab, as it did on its own press. A trace of other toners does not count.
func keepPure(m *Model, src *icc.Profile, o Options, eval func(dst, src []float64)) (func(dst, src []float64), error) {
	in, err := src.ToPCS(o.Intent)
	if err != nil {
		return nil, err
	}
	black := newBlackRamp(m)
	paper := m.Lab([4]float64{}).XYZ(colour.D50).Y
	solid := m.Lab([4]float64{3: 1}).XYZ(colour.D50).Y
	fromPaper, fromSolid := in.XYZ([]float64{0, 0, 0, 0}).Y, in.XYZ([]float64{0, 0, 0, 1}).Y
	light := func(y float64) float64 {
		return solid + (y-fromSolid)/math.Max(fromPaper-fromSolid, 1e-3)*(paper-solid)
	}
	if o.Intent == icc.Absolute {
		light = func(y float64) float64 { return y * src.MediaWhite.Y }
	}
	var tints [3]func(tone float64) float64
	if o.Keep == KeepAll {
		for k := range tints {
			from := newWayRamp(k, func(d [4]float64) colour.Lab { return in.XYZ(d[:]).Lab(colour.D50) })
			to := newWayRamp(k, m.Lab)
			tints[k] = func(tone float64) float64 { return to.tone(from.way(tone)) }
		}
	}
	return func(dst, d []float64) {
		only, other := 3, 0.0 // the strongest toner, and the next
		for k := range 4 {
			if d[k] > d[only] {
				only = k
			}
		}
		for k := range 4 {
			if k != only {
				other = math.Max(other, d[k])
			}
		}
		w := 0.0
		if d[only] > 0 && (only == 3 || tints[only] != nil) {
			much := math.Min(1, 2*d[only]) // faint mixes are none the less mixes
			w = 1 - smooth(other, pureOther*much, mixedOther*much)
		}
		if w < 1 {
			eval(dst, d)
		}
		if w == 0 {
			return
		}
		alone := [4]float64{}
		alone[only] = d[only]
		tone := 0.0
		if only == 3 {
			tone = black.toneOf(colour.XYZ{Y: light(in.XYZ(alone[:]).Y)}.Lab(colour.D50).L)
		} else {
			tone = tints[only](d[only])
		}
		for k := range 4 {
			if w == 1 {
				dst[k] = 0
			}
			dst[k] *= 1 - w
		}
		dst[only] += w * tone
	}, nil
}

// What other toners may have beside one that counts as alone, and from which it does
// not; between them the two separations mix. Compression leaves as much noise around
// black text.
const (
	pureOther  = 0.02
	mixedOther = 0.08
)

// wayRamp is how far, 0–1, the tints of one toner lie on the way from paper to its
// solid: ΔE*ab from paper, of which there is the more the more toner there is.
type wayRamp [256]float64

func newWayRamp(toner int, lab func([4]float64) colour.Lab) *wayRamp {
	r := &wayRamp{}
	paper := lab([4]float64{})
	for i := range r {
		var d [4]float64
		d[toner] = float64(i) / 255
		c := lab(d)
		r[i] = math.Sqrt((c.L-paper.L)*(c.L-paper.L) + (c.A-paper.A)*(c.A-paper.A) + (c.B-paper.B)*(c.B-paper.B))
		if i > 0 { // noise in a table must not turn the ramp round
			r[i] = math.Max(r[i], r[i-1])
		}
	}
	if most := r[255]; most > 0 {
		for i := range r {
			r[i] /= most
		}
	}
	return r
}

func (r *wayRamp) way(tone float64) float64 {
	p := math.Max(0, math.Min(1, tone)) * 255
	i := min(int(p), 254)
	return r[i] + (p-float64(i))*(r[i+1]-r[i])
}

func (r *wayRamp) tone(way float64) float64 {
	i := sort.SearchFloat64s(r[:], way)
	switch {
	case i == 0:
		return 0
	case i == len(r):
		return 1
	}
	return (float64(i-1) + (way-r[i-1])/(r[i]-r[i-1])) / 255
}
