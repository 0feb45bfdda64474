package press

import (
	"fmt"
	"math"
	"strings"

	"laydown/colour"
)

// Black is how much of the grey in a colour the black toner takes over from
// cyan, magenta and yellow.
type Black int

// The black generation curves, from none to all that the colour allows.
const (
	BlackNone Black = iota
	BlackLight
	BlackMedium
	BlackHeavy
	BlackFull
)

var blackNames = []string{"none", "light", "medium", "heavy", "full"}

// String is the curve's name.
func (b Black) String() string { return blackNames[b] }

// ParseBlack reads a name that [Black.String] gives.
func ParseBlack(s string) (Black, error) {
	for i, n := range blackNames {
		if n == s {
			return Black(i), nil
		}
	}
	return 0, fmt.Errorf("black generation %q: choose one of %s", s, strings.Join(blackNames, ", "))
}

// blackShape gives each curve where on the way from paper (0) to the darkest
// colour (1) black starts, and how fast it rises.
var blackShape = [...]struct{ start, power float64 }{
	BlackNone: {1, 1}, BlackLight: {0.45, 1.8}, BlackMedium: {0.25, 1.5}, BlackHeavy: {0.1, 1.2}, BlackFull: {0, 0.9},
}

// inverter finds tone values for colours under fixed conditions.
type inverter struct {
	m     *Model
	tac   float64 // highest sum of tone values, 0.01–4
	black Black
	top   [4]float64 // highest tone value of each toner
	match bool       // out of reach, go by CIEDE2000 instead of at constant hue
	paper colour.Lab
	dark  colour.Lab // the darkest printable neutral under the limit
}

func newInverter(m *Model, tac float64, black Black) *inverter {
	v := &inverter{m: m, tac: math.Max(0.01, math.Min(4, tac)), black: black, paper: m.Lab([4]float64{}), top: [4]float64{1, 1, 1, 1}}
	if black == BlackNone {
		v.top[3] = 0
	}
	v.dark = v.darkest()
	return v
}

// darkest looks for the lowest lightness near the neutral axis under the
// limit: all black that the limit allows, the rest grey balanced.
func (v *inverter) darkest() colour.Lab {
	k := math.Min(v.top[3], v.tac)
	grey := math.Min(0.8, (v.tac-k)/3)
	return v.m.Lab(v.solve(colour.Lab{}, k, [4]float64{grey, grey, grey, k}))
}

// blackTarget is the black that the curve wants for a colour: by its darkness,
// and less as it gets colourful, where black would only dull it.
func (v *inverter) blackTarget(c colour.Lab) float64 {
	if v.black == BlackNone {
		return 0
	}
	s := blackShape[v.black]
	dark := (v.paper.L - c.L) / math.Max(v.paper.L-v.dark.L, 1)
	t := (dark - s.start) / (1 - s.start)
	if t <= 0 {
		return 0
	}
	k := math.Pow(math.Min(t, 1), s.power)
	neutral := math.Max(0, 1-math.Hypot(c.A-v.neutralA(c.L), c.B-v.neutralB(c.L))/60)
	return k * neutral * neutral
}

// neutralA and neutralB follow the grey axis from the paper's tint to none.
func (v *inverter) neutralA(l float64) float64 { return v.paper.A * l / v.paper.L }
func (v *inverter) neutralB(l float64) float64 { return v.paper.B * l / v.paper.L }

// Weights of the search. Colour counts in ΔE; black pulls softly, so that it
// yields to colour; the limit hardly yields.
const (
	hueWeight   = 4
	blackPull   = 3
	limitWeight = 300
)

// invert finds tone values for an absolute Lab colour. Out of reach, it goes
// to the nearest printable colour: at all but constant hue, by ΔE*ab
// (HPMINDE of CIE 156:2004), or with match set by CIEDE2000.
func (v *inverter) invert(target colour.Lab) [4]float64 {
	return v.solve(target, v.blackTarget(target), v.guess(target))
}

// guess is where the search starts: the block-dye estimate, in which each
// toner takes what its complement lacks, with grey replaced by the wanted
// black, under the limit.
func (v *inverter) guess(target colour.Lab) (x [4]float64) {
	s := target.XYZ(colour.D50).Scale(colour.D50, v.paper.XYZ(colour.D50)).Lab(colour.D50).SRGB()
	x[3] = math.Min(v.blackTarget(target), v.tac)
	sum := 0.0
	for k, c := range []uint8{s.R, s.G, s.B} {
		x[k] = math.Max(0.02, 0.9*(1-float64(c)/255)*(1-0.6*x[3]))
		sum += x[k]
	}
	if room := v.tac - x[3]; sum > room {
		for k := range x[:3] {
			x[k] *= room / sum
		}
	}
	return x
}

// solve is a damped Gauss–Newton search (Levenberg 1944, Marquardt 1963) over
// the four tone values within their bounds, on five residuals: lightness,
// chroma and hue against the target, black against its curve, and what
// exceeds the toner limit.
func (v *inverter) solve(target colour.Lab, black float64, x [4]float64) [4]float64 {
	ch, sh := 1.0, 0.0
	chroma := target.Chroma()
	if chroma > 1e-9 {
		ch, sh = target.A/chroma, target.B/chroma
	}
	wl, wc, wh := 1.0, 1.0, 1+(hueWeight-1)*math.Min(1, chroma/20)
	if v.match {
		l50 := (target.L - 50) * (target.L - 50)
		wl, wc, wh = 1/(1+0.015*l50/math.Sqrt(20+l50)), 1/(1+0.045*chroma), 1/(1+0.015*chroma)
	}

	residuals := func(x [4]float64, c colour.Lab) (r [5]float64) {
		dl, da, db := c.L-target.L, c.A-target.A, c.B-target.B
		r[0] = wl * dl
		r[1] = wc * (ch*da + sh*db)
		r[2] = wh * (ch*db - sh*da)
		r[3] = blackPull * (x[3] - black)
		if over := x[0] + x[1] + x[2] + x[3] - v.tac; over > 0 {
			r[4] = limitWeight * over
		}
		return r
	}
	sum := func(r [5]float64) (s float64) {
		for _, q := range r {
			s += q * q
		}
		return s
	}

	damp := 1e-3
	c, d := v.m.labSlopes(x)
	r := residuals(x, c)
	best := sum(r)
	for range 60 {
		var jac [5][4]float64
		for k := range 4 {
			jac[0][k] = wl * d[k][0]
			jac[1][k] = wc * (ch*d[k][1] + sh*d[k][2])
			jac[2][k] = wh * (ch*d[k][2] - sh*d[k][1])
			if r[4] > 0 {
				jac[4][k] = limitWeight
			}
		}
		jac[3][3] = blackPull
		var a [4][4]float64
		var g [4]float64
		for i := range 4 {
			for q := range 5 {
				g[i] += jac[q][i] * r[q]
			}
			for j := range 4 {
				for q := range 5 {
					a[i][j] += jac[q][i] * jac[q][j]
				}
			}
		}
		moved := false
		for range 12 {
			step := boundedStep(a, g, x, v.top, damp)
			var y [4]float64
			size := 0.0
			for k := range y {
				y[k] = math.Max(0, math.Min(v.top[k], x[k]+step[k]))
				size = math.Max(size, math.Abs(y[k]-x[k]))
			}
			if size < 1e-6 {
				break
			}
			cy, dy := v.m.labSlopes(y)
			ry := residuals(y, cy)
			if s := sum(ry); s < best {
				gain := best - s
				x, d, r, best = y, dy, ry, s
				damp = math.Max(damp/8, 1e-7)
				moved = gain > 1e-9*(1+best)
				break
			}
			damp *= 6
		}
		if !moved {
			break
		}
	}
	return v.underLimit(x)
}

// boundedStep solves the damped normal equations for the tone values that are
// free: one at a bound that its gradient pushes against stays there.
func boundedStep(a [4][4]float64, g, x, top [4]float64, damp float64) (step [4]float64) {
	free := [4]bool{}
	for k := range free {
		free[k] = !(x[k] <= 0 && g[k] > 0) && !(x[k] >= top[k] && g[k] < 0)
	}
	for k := range 4 {
		if !free[k] {
			for j := range 4 {
				a[k][j], a[j][k] = 0, 0
			}
			a[k][k], g[k] = 1, 0
		} else {
			a[k][k] += damp * (a[k][k] + 1)
		}
	}
	// Gauss elimination; the matrix is symmetric and positive definite.
	for i := range 4 {
		p := a[i][i]
		if p < 1e-12 {
			p = 1e-12
		}
		for j := i + 1; j < 4; j++ {
			f := a[j][i] / p
			for k := i; k < 4; k++ {
				a[j][k] -= f * a[i][k]
			}
			g[j] -= f * g[i]
		}
		a[i][i] = p
	}
	for i := 3; i >= 0; i-- {
		s := -g[i]
		for j := i + 1; j < 4; j++ {
			s -= a[i][j] * step[j]
		}
		step[i] = s / a[i][i]
	}
	return step
}

// underLimit takes what is over the limit from the colours in equal parts,
// then from black.
func (v *inverter) underLimit(x [4]float64) [4]float64 {
	for range 4 {
		over := x[0] + x[1] + x[2] + x[3] - v.tac
		if over <= 0 {
			return x
		}
		n := 0.0
		for _, q := range x[:3] {
			if q > 0 {
				n++
			}
		}
		if n == 0 {
			x[3] = math.Max(0, x[3]-over)
			return x
		}
		for k := range x[:3] {
			if x[k] > 0 {
				x[k] = math.Max(0, x[k]-over/n)
			}
		}
	}
	return x
}
