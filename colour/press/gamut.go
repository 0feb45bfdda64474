package press

import (
	"math"

	"laydown/colour"
	"laydown/colour/cores"
)

// Gamut is the body of colours that a press prints under a toner limit, as its
// reach in every direction from a middle grey: star-shaped by construction,
// which printers' gamuts are to within a small error.
type Gamut struct {
	Centre colour.Lab // absolute, on the neutral axis
	reach  [hues][rises]float64
}

const (
	hues  = 72 // steps of 5° of hue
	rises = 37 // steps of 5° from straight down to straight up
)

const step5 = math.Pi / 36

func direction(hue, rise float64) [3]float64 {
	s, c := math.Sincos(rise)
	sh, ch := math.Sincos(hue)
	return [3]float64{s, c * ch, c * sh}
}

func along(c colour.Lab, d [3]float64, r float64) colour.Lab {
	return colour.Lab{L: c.L + r*d[0], A: c.A + r*d[1], B: c.B + r*d[2]}
}

// within is the ΔE*ab between a wish and its print that still counts as
// printable.
const within = 0.7

// gamut bisects along every direction for the last colour that prints.
func (v *inverter) gamut() *Gamut {
	mid := (v.paper.L + v.dark.L) / 2
	g := &Gamut{Centre: colour.Lab{L: mid, A: v.neutralA(mid), B: v.neutralB(mid)}}
	cores.Share(hues, func(lo, hi int) {
		for h := lo; h < hi; h++ {
			for r := range rises {
				d := direction(float64(h)*step5, float64(r)*step5-math.Pi/2)
				in, out := 0.0, 160.0
				for range 10 {
					m := (in + out) / 2
					want := along(g.Centre, d, m)
					got := v.m.Lab(v.invert(want))
					if math.Sqrt((want.L-got.L)*(want.L-got.L)+(want.A-got.A)*(want.A-got.A)+(want.B-got.B)*(want.B-got.B)) < within {
						in = m
					} else {
						out = m
					}
				}
				g.reach[h][r] = in
			}
		}
	})
	return g
}

// polar splits a colour into its distance from the centre and its direction.
func (g *Gamut) polar(c colour.Lab) (r, hue, rise float64) {
	l, a, b := c.L-g.Centre.L, c.A-g.Centre.A, c.B-g.Centre.B
	chroma := math.Hypot(a, b)
	hue = math.Atan2(b, a)
	if hue < 0 {
		hue += 2 * math.Pi
	}
	return math.Hypot(l, chroma), hue, math.Atan2(l, chroma)
}

// Reach is how far the gamut goes from its centre towards a colour, in ΔE*ab.
func (g *Gamut) Reach(c colour.Lab) float64 {
	_, hue, rise := g.polar(c)
	x, y := hue/step5, (rise+math.Pi/2)/step5
	i, j := int(x), min(int(y), rises-2)
	fx, fy := x-float64(i), y-float64(j)
	a, b := &g.reach[i%hues], &g.reach[(i+1)%hues]
	return (1-fx)*((1-fy)*a[j]+fy*a[j+1]) + fx*((1-fy)*b[j]+fy*b[j+1])
}

// Contains reports whether the press prints a colour, absolute under D50.
func (g *Gamut) Contains(c colour.Lab) bool {
	r, _, _ := g.polar(c)
	return r <= g.Reach(c)+within
}

// Volume is the gamut's volume in cubic ΔE*ab.
func (g *Gamut) Volume() float64 {
	v := 0.0
	for h := range hues {
		for r := range rises {
			rise := float64(r)*step5 - math.Pi/2
			// The solid angle of the cell around this direction.
			lo, hi := math.Max(rise-step5/2, -math.Pi/2), math.Min(rise+step5/2, math.Pi/2)
			v += math.Pow(g.reach[h][r], 3) / 3 * (math.Sin(hi) - math.Sin(lo)) * step5
		}
	}
	return v
}

// knee is the part of the way to the gamut's edge that perceptual rendering
// leaves alone.
const knee = 0.75

// compress draws a colour towards the gamut's centre so that what lies beyond
// the edge comes inside without being pressed flat, at constant hue: a knee in
// the manner of the cusp scaling of CIE 156:2004, with its focus in the middle
// of the neutral axis. Neutrals and pale tints stay where they are.
func (g *Gamut) compress(c colour.Lab) colour.Lab {
	r, _, _ := g.polar(c)
	reach := g.Reach(c)
	if reach <= 0 || r <= knee*reach {
		return c
	}
	x := r / reach
	y := knee + (1-knee)*math.Tanh((x-knee)/(1-knee))
	chroma := math.Hypot(c.A-g.Centre.A, c.B-g.Centre.B)
	w := smooth(chroma, 4, 30)
	s := 1 + w*(y/x-1)
	return colour.Lab{L: g.Centre.L + s*(c.L-g.Centre.L), A: g.Centre.A + s*(c.A-g.Centre.A), B: g.Centre.B + s*(c.B-g.Centre.B)}
}

// smooth rises from 0 at lo to 1 at hi without a corner.
func smooth(v, lo, hi float64) float64 {
	t := math.Max(0, math.Min(1, (v-lo)/(hi-lo)))
	return t * t * (3 - 2*t)
}

// Outline is the silhouette of the gamut seen along the L axis of Lab: for every
// 2.5° of hue the colour with the most chroma. Those have two toners at most.
func (p *Press) Outline(o Options) ([]colour.Lab, error) {
	m, err := p.Model()
	if err != nil {
		return nil, err
	}
	const turns, steps = 144, 120
	var most [turns]colour.Lab
	for pair := range 3 {
		for i := range steps + 1 {
			for j := range steps + 1 {
				var x [4]float64
				x[pair], x[(pair+1)%3] = float64(i)/steps, float64(j)/steps
				if x[pair]+x[(pair+1)%3] > o.TAC {
					continue
				}
				c := m.Lab(x)
				t := math.Atan2(c.B, c.A) / (2 * math.Pi)
				if h := int((t + 1) * turns); c.Chroma() > most[h%turns].Chroma() {
					most[h%turns] = c
				}
			}
		}
	}
	var out []colour.Lab
	for _, c := range most {
		if c != (colour.Lab{}) {
			out = append(out, c)
		}
	}
	return out, nil
}
