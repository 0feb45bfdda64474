package press

import (
	"math"

	"laydown/colour"
	"laydown/colour/cores"
)

// Match is how near a press comes to a wanted colour.
type Match struct {
	Target, Printed colour.Lab // D50, absolute or as [Wish.Seen] sees them
	CMYK            [4]float64 // tone values 0–1
	DeltaE00        float64    // said, never aimed at: it is made for small differences
}

// Wish is a colour that is wanted of a print under D50: absolute, or as Seen sees it.
type Wish struct {
	Target colour.Lab
	// Seen tells how a print that measures printed, absolute, on the press's own paper is
	// seen where it will be looked at, beside whatever white is there; nil if there is
	// no more to it.
	Seen func(printed colour.Lab) colour.Lab
	// Start is about what must measure, absolute, on the paper to be seen as Target; it
	// is not read without Seen.
	Start colour.Lab
}

// Nearest finds what the press can print nearest to each wish, under the
// options' limit and black: the wish itself where it prints, else what [Gamut] says is
// nearest, by hue first and then by the length of the difference in Oklab.
func (p *Press) Nearest(wishes []Wish, o Options) ([]Match, error) {
	m, err := p.Model()
	if err != nil {
		return nil, err
	}
	g := p.gamut(m, o)()
	v := g.v
	out := make([]Match, len(wishes))
	cores.Share(len(wishes), func(lo, hi int) {
		for i := lo; i < hi; i++ {
			w := wishes[i]
			if w.Seen == nil {
				x := g.separate(v.relative(w.Target), leastReach)
				out[i] = Match{w.Target, m.Lab(x), x, colour.DeltaE00(w.Target, m.Lab(x))}
				continue
			}
			x := v.nearestSeen(w, g.separate(v.relative(w.Start), leastReach))
			seen := w.Seen(m.Lab(x))
			out[i] = Match{w.Target, seen, x, colour.DeltaE00(w.Target, seen)}
		}
	})
	return out, nil
}

// nearestSeen betters what is printed by how it is seen. What was nearest in print
// is the start, and its chroma is not given away for a little lightness.
func (v *inverter) nearestSeen(w Wish, start [4]float64) [4]float64 {
	want := w.Target.XYZ(colour.D50)
	ok, ipt := want.Oklab(), want.IPT()
	along := [2]float64{1, 0}
	hold := 0.0
	if c := ipt.Chroma(); c > 1e-9 {
		along = [2]float64{ipt.P / c, ipt.T / c}
		hold = seenHueWeight * math.Min(1, c/0.05)
	}
	seen := func(x [4]float64) colour.XYZ { return w.Seen(v.m.Lab(x)).XYZ(colour.D50) }
	least := 0.98 * math.Min(seen(start).IPT().Chroma(), ipt.Chroma())
	// beyond is how far a look lies outside the cone of hues that pass for the wish's.
	beyond := func(i colour.IPT) float64 {
		across, out := along[0]*i.T-along[1]*i.P, along[0]*i.P+along[1]*i.T
		return math.Max(0, math.Abs(across)-math.Tan(slackHue)*math.Max(0, out))
	}
	allowed := beyond(seen(start).IPT()) // an item may let the hue through in the dark only
	off := func(x [4]float64) float64 {
		c := seen(x)
		i := c.IPT()
		d := oklabScale * ok.Distance(c.Oklab())
		across := iptScale * hold * (along[0]*i.T - along[1]*i.P)
		short := 4 * iptScale * math.Max(0, least-i.Chroma())
		turned := seenTurnWeight * iptScale * math.Max(0, beyond(i)-allowed)
		return math.Sqrt(d*d + across*across + short*short + turned*turned)
	}
	x, d := v.compass(start, off)
	if d > seenWell {
		if y, e := v.compass(v.coarse(off), off); e < d {
			x = y
		}
	}
	return x
}

// coarse looks at every mix in steps of a fifth and returns the best.
func (v *inverter) coarse(off func([4]float64) float64) (at [4]float64) {
	best := math.Inf(1)
	const steps = 5
	for i := range (steps + 1) * (steps + 1) * (steps + 1) * (steps + 1) {
		var x [4]float64
		sum := 0.0
		for k, q := 0, i; k < 4; k, q = k+1, q/(steps+1) {
			x[k] = float64(q%(steps+1)) / steps * v.top[k]
			sum += x[k]
		}
		if sum > v.tac {
			continue
		}
		if d := off(x); d < best {
			at, best = x, d
		}
	}
	return at
}

// seenHueWeight is hueWeight for how a print is seen on an item: less, for a coloured
// item may let a hue through only in the dark, and nobody wants it at that price.
const seenHueWeight = 3

// seenTurnWeight is the same for a hue beyond what passes for the wish's: a pale colour
// must not trade it for a little lightness.
const seenTurnWeight = 4 * hueWeight

// seenWell is what need not be bettered, in hundredths of Oklab.
const seenWell = 0.3

// compass betters tone values by trial: every toner a step up or down, alone or
// against another, and a finer step when nothing helps (Hooke and Jeeves 1961).
func (v *inverter) compass(x [4]float64, off func([4]float64) float64) ([4]float64, float64) {
	d := off(x)
	for step := 0.1; step > 5e-4; {
		best, at := d, x
		for a := range 4 {
			for b := range 4 {
				for _, sign := range []float64{step, -step} {
					y := x
					y[a] += sign
					if b != a {
						y[b] -= sign
					}
					sum := 0.0
					for k := range y {
						y[k] = math.Max(0, math.Min(v.top[k], y[k]))
						sum += y[k]
					}
					if sum > v.tac {
						continue
					}
					if e := off(y); e < best-1e-6 {
						best, at = e, y
					}
				}
			}
		}
		if best < d {
			x, d = at, best
		} else {
			step /= 2
		}
	}
	return x, d
}
