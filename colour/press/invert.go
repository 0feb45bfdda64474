package press

import (
	"fmt"
	"math"
	"slices"
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

// blackWhole is all the black that a grey can take, which around pure black is wanted;
// nobody can ask for it.
const blackWhole = BlackFull + 1

var blackNames = []string{"none", "light", "medium", "heavy", "full"}

// String is the curve's name.
func (b Black) String() string { return blackNames[b] }

// Blacks are the curves' names.
func Blacks() []string { return slices.Clone(blackNames) }

// ParseBlack reads a name that [Black.String] gives.
func ParseBlack(s string) (Black, error) {
	for i, n := range blackNames {
		if strings.EqualFold(n, strings.TrimSpace(s)) {
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

// inverter finds tone values for colours under fixed conditions. Colours are
// media-relative: XYZ under D50 in which the paper is the white, so that greys are
// greys and hue is seen beside the paper.
type inverter struct {
	m     *Model
	tac   float64 // highest sum of tone values, 0.01–4
	black Black
	top   [4]float64 // highest tone value of each toner
	paper colour.Lab // absolute
	dark  colour.Lab // the darkest printable neutral under the limit, absolute

	white colour.XYZ // of the paper, absolute
	ramp  *blackRamp // for blackWhole
}

func newInverter(m *Model, tac float64, black Black) *inverter {
	v := &inverter{m: m, tac: math.Max(0.01, math.Min(4, tac)), black: black, paper: m.Lab([4]float64{}), top: [4]float64{1, 1, 1, 1}}
	v.white = v.paper.XYZ(colour.D50)
	if black == BlackNone {
		v.top[3] = 0
	}
	if black == blackWhole {
		v.ramp = newBlackRamp(m)
	}
	v.dark = v.darkest()
	return v
}

// relative makes an absolute colour media-relative.
func (v *inverter) relative(c colour.Lab) colour.XYZ {
	return c.XYZ(colour.D50).Scale(colour.D50, v.white)
}

// absolute undoes relative.
func (v *inverter) absolute(c colour.XYZ) colour.Lab {
	return c.Scale(v.white, colour.D50).Lab(colour.D50)
}

// darkest looks for the lowest lightness on the neutral axis under the limit, from all
// black that the limit allows and the rest grey balanced.
func (v *inverter) darkest() colour.Lab {
	k := math.Min(v.top[3], v.tac)
	grey := math.Min(0.8, (v.tac-k)/3)
	neutral := aim{alongA: 1, lightness: 1, radial: 20, across: 20, mix: [4]float64{3: k}, pull: [4]float64{3: blackPull}}
	return v.m.Lab(v.solve(neutral, [4]float64{grey, grey, grey, k}))
}

// blackTarget is the black that the curve wants for a colour: by its darkness,
// and less as it gets colourful, where black would only dull it.
func (v *inverter) blackTarget(c colour.Lab) float64 {
	if v.black == BlackNone {
		return 0
	}
	neutral := math.Max(0, 1-math.Hypot(c.A-v.neutralA(c.L), c.B-v.neutralB(c.L))/dulled)
	if v.black == blackWhole {
		return v.ramp.toneOf(c.L) * neutral * neutral
	}
	s := blackShape[v.black]
	dark := (v.paper.L - c.L) / math.Max(v.paper.L-v.dark.L, 1)
	t := (dark - s.start) / (1 - s.start)
	if t <= 0 {
		return 0
	}
	return math.Pow(math.Min(t, 1), s.power) * neutral * neutral
}

// dulled is the chroma, in CIELAB, from which a colour has no grey that black could take
// over.
const dulled = 140

// neutralA and neutralB follow the grey axis from the paper's tint to none.
func (v *inverter) neutralA(l float64) float64 { return v.paper.A * l / v.paper.L }
func (v *inverter) neutralB(l float64) float64 { return v.paper.B * l / v.paper.L }

// Weights of the search. Colour counts in hundredths of Oklab, which for small
// differences is about ΔE; tone values pull softly, so that they yield to colour.
const (
	oklabScale = 100
	iptScale   = 40 // colours have about 2.5 times as much chroma in IPT as in Oklab
	blackPull  = 3
)

// aim is what a search is after: a colour, with weights for how it may be missed, and
// tone values that it would rather have.
type aim struct {
	ok             colour.Oklab
	alongA, alongB float64 // unit vector of its chroma in Oklab
	alongP, alongT float64 // and of its hue in IPT
	chroma         float64 // wanted along alongP, alongT, if it weighs

	lightness, radial, across float64    // weights of Oklab's differences
	hue, reach                float64    // weights of IPT's: across the hue, and short of chroma
	mix, pull                 [4]float64 // tone values, and how much each weighs
}

// towards aims at a media-relative colour: the nearest in Oklab, where large
// differences are as long as they look, at its own hue in IPT, where hue is straight.
func (v *inverter) towards(c colour.XYZ, black float64) aim {
	a := aim{ok: c.Oklab(), alongA: 1, alongP: 1, lightness: 1, radial: 1, across: 1, mix: [4]float64{3: black}, pull: [4]float64{3: blackPull}}
	if r := a.ok.Chroma(); r > 1e-9 {
		a.alongA, a.alongB = a.ok.A/r, a.ok.B/r
	}
	i := c.IPT()
	if r := i.Chroma(); r > 1e-9 {
		a.alongP, a.alongT = i.P/r, i.T/r
		a.hue = hueWeight * math.Min(1, r/huedChroma)
	}
	return a
}

// hueWeight is how much more a miss of hue counts than one of chroma, of colours from
// huedChroma in IPT up: a duller one has less of a hue to miss.
const (
	hueWeight  = 12
	huedChroma = 0.07
)

// guess is where the search starts: the block-dye estimate, in which each
// toner takes what its complement lacks, with grey replaced by the wanted
// black, under the limit.
func (v *inverter) guess(c colour.XYZ, black float64) (x [4]float64) {
	s := c.Lab(colour.D50).SRGB()
	x[3] = math.Min(black, v.tac)
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

// finest is a step in tone value that nobody measures: a table holds 65,536.
const finest = 1e-5

// residuals is how many residuals a search has.
const residuals = 5

// miss is how far tone values are from an aim, and the slopes of that.
func (v *inverter) miss(a *aim, x [4]float64) (r [residuals]float64, jac [residuals][4]float64) {
	c, d := v.relativeSlopes(x)
	ok, ms := c.OklabSlopes()
	ipt, mi := c.IPTSlopes()
	dl, da, db := ok.L-a.ok.L, ok.A-a.ok.A, ok.B-a.ok.B
	r[0] = oklabScale * a.lightness * dl
	r[1] = oklabScale * a.radial * (a.alongA*da + a.alongB*db)
	r[2] = oklabScale * a.across * (a.alongA*db - a.alongB*da)
	r[3] = iptScale * a.hue * (a.alongP*ipt.T - a.alongT*ipt.P)
	r[4] = iptScale * a.reach * (a.alongP*ipt.P + a.alongT*ipt.T - a.chroma)
	for k := range d {
		o, p := ms.Apply(d[k]), mi.Apply(d[k])
		jac[0][k] = oklabScale * a.lightness * o[0]
		jac[1][k] = oklabScale * a.radial * (a.alongA*o[1] + a.alongB*o[2])
		jac[2][k] = oklabScale * a.across * (a.alongA*o[2] - a.alongB*o[1])
		jac[3][k] = iptScale * a.hue * (a.alongP*p[2] - a.alongT*p[1])
		jac[4][k] = iptScale * a.reach * (a.alongP*p[1] + a.alongT*p[2])
	}
	return r, jac
}

// relativeSlopes is the media-relative colour of tone values and its derivatives by
// each of them.
func (v *inverter) relativeSlopes(x [4]float64) (colour.XYZ, [4][3]float64) {
	c, d := v.m.xyzSlopes(x)
	scale := [3]float64{colour.D50.X / v.white.X, colour.D50.Y / v.white.Y, colour.D50.Z / v.white.Z}
	for k := range d {
		for j := range scale {
			d[k][j] *= scale[j]
		}
	}
	return colour.XYZ{X: c.X * scale[0], Y: c.Y * scale[1], Z: c.Z * scale[2]}, d
}

// solve is a damped Gauss–Newton search (Levenberg 1944, Marquardt 1963) over
// the four tone values within their bounds and the limit on their sum, on the
// residuals of miss and on how far tone values are from those of the aim.
func (v *inverter) solve(target aim, x [4]float64) [4]float64 {
	x, _ = v.search(target, x)
	return x
}

// search is solve, and the sum of squares by which it misses the aim.
func (v *inverter) search(target aim, x [4]float64) ([4]float64, float64) {
	sum := func(r [residuals]float64, x [4]float64) (s float64) {
		for _, q := range r {
			s += q * q
		}
		for k, p := range target.pull {
			q := p * (x[k] - target.mix[k])
			s += q * q
		}
		return s
	}
	x = v.underLimit(x)
	damp := 1e-3
	r, jac := v.miss(&target, x)
	best := sum(r, x)
	for range 60 {
		var a [4][4]float64
		var g [4]float64
		for q := range jac {
			for i := range 4 {
				g[i] += jac[q][i] * r[q]
				for j := range 4 {
					a[i][j] += jac[q][i] * jac[q][j]
				}
			}
		}
		for k, p := range target.pull {
			a[k][k] += p * p
			g[k] += p * p * (x[k] - target.mix[k])
		}
		moved := false
		for range 12 {
			y := v.step(a, g, x, damp)
			size := 0.0
			for k := range y {
				size = math.Max(size, math.Abs(y[k]-x[k]))
			}
			if size < finest {
				break
			}
			ry, jy := v.miss(&target, y)
			if s := sum(ry, y); s < best {
				gain := best - s
				x, r, jac, best = y, ry, jy, s
				damp = math.Max(damp/8, 1e-7)
				moved = gain > 1e-7*(1+best)
				break
			}
			damp *= 6
		}
		if !moved {
			break
		}
	}
	return x, best
}

// step solves the damped normal equations and goes there. Where that would go over
// the limit, the step goes along it: to the best place whose sum is the limit.
func (v *inverter) step(a [4][4]float64, g, x [4]float64, damp float64) [4]float64 {
	for k := range 4 {
		a[k][k] += damp * (a[k][k] + 1)
	}
	at := func(step [4]float64) (y [4]float64, sum float64) {
		for k := range y {
			y[k] = math.Max(0, math.Min(v.top[k], x[k]+step[k]))
			sum += y[k]
		}
		return y, sum
	}
	y, sum := at(v.boundedStep(a, g, x))
	if sum <= v.tac {
		return y
	}
	const stiff = 1e6
	room := v.tac - (x[0] + x[1] + x[2] + x[3])
	for i := range 4 {
		g[i] -= stiff * room
		for j := range 4 {
			a[i][j] += stiff
		}
	}
	y, _ = at(v.boundedStep(a, g, x))
	return v.underLimit(y)
}

// boundedStep solves normal equations for the tone values that are free: one at a
// bound that its gradient pushes against stays there.
func (v *inverter) boundedStep(a [4][4]float64, g, x [4]float64) (step [4]float64) {
	for k := range 4 {
		if (x[k] <= 0 && g[k] > 0) || (x[k] >= v.top[k] && g[k] < 0) {
			for j := range 4 {
				a[k][j], a[j][k] = 0, 0
			}
			a[k][k], g[k] = 1, 0
		}
	}
	// Gauss elimination; the matrix is symmetric and positive definite.
	for i := range 4 {
		p := math.Max(a[i][i], 1e-12)
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
