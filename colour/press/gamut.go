package press

import (
	"math"

	"laydown/colour"
	"laydown/colour/cores"
)

// Gamut is the body of colours that a press prints under a toner limit: for every hue
// of IPT and every lightness of Oklab, from the darkest neutral to the paper, the
// colour with the most chroma. Colours are media-relative.
type Gamut struct {
	v    *inverter
	dark float64 // Oklab lightness of the darkest neutral
	rim  [hues][levels]rimPoint
}

// edge is where the gamut ends.
type edge struct {
	ok     colour.Oklab
	chroma float64 // in IPT
}

// towards is a part of the way from one edge to another.
func (p *edge) towards(q *edge, f float64) edge {
	return edge{colour.Oklab{L: p.ok.L + f*(q.ok.L-p.ok.L), A: p.ok.A + f*(q.ok.A-p.ok.A), B: p.ok.B + f*(q.ok.B-p.ok.B)}, p.chroma + f*(q.chroma-p.chroma)}
}

// rimPoint is a colour on the gamut's surface.
type rimPoint struct {
	edge
	l     float64 // L* of CIELAB
	black float64 // toner that it takes
	// most is the most chroma in IPT that the hue reaches within 5 L* of here.
	most float64
}

const (
	hues   = 120 // steps of 3° of hue
	levels = 65  // from the darkest neutral, 0, to the paper
)

const hueStep = 2 * math.Pi / hues

// level is the Oklab lightness of a level.
func (g *Gamut) level(i int) float64 {
	return g.dark + (1-g.dark)*float64(i)/(levels-1)
}

// gamut searches for the rim. It starts every search from the most colourful of the
// model's own corners near by.
func (v *inverter) gamut() *Gamut {
	dark := v.relative(v.dark)
	g := &Gamut{v: v, dark: dark.Oklab().L}
	starts := v.colourful(g)
	cores.Share(hues, func(lo, hi int) {
		for h := lo; h < hi; h++ {
			hue := float64(h) * hueStep
			sin, cos := math.Sincos(hue)
			var x [4]float64
			for i := range levels {
				c := colour.XYZ{}
				switch i {
				case 0:
					c, x = dark, [4]float64{3: math.Min(v.top[3], v.tac)}
				case levels - 1:
					c, x = colour.D50, [4]float64{}
				default:
					a := aim{ok: colour.Oklab{L: g.level(i)}, alongP: cos, alongT: sin, chroma: 1.5, lightness: 40, hue: 40, reach: 1}
					if s := starts[h][i]; s.chroma > 0 {
						x = s.x
					}
					x = v.solve(a, x)
					c = v.relative(v.m.Lab(x))
				}
				g.rim[h][i] = rimPoint{edge: edge{c.Oklab(), c.IPT().Chroma()}, l: c.Lab(colour.D50).L, black: x[3]}
			}
			rim := &g.rim[h]
			for i := range rim {
				for _, p := range rim {
					if math.Abs(p.l-rim[i].l) <= 5 {
						rim[i].most = math.Max(rim[i].most, p.chroma)
					}
				}
			}
		}
	})
	return g
}

// start is tone values whose colour has a chroma.
type start struct {
	x      [4]float64
	chroma float64
}

// colourful finds the most colourful of the model's corners for every hue and level.
func (v *inverter) colourful(g *Gamut) *[hues][levels]start {
	best := new([hues][levels]start)
	for n := range v.m.node {
		x := cornerTones(n)
		if x[0]+x[1]+x[2]+x[3] > v.tac+1e-9 || x[3] > v.top[3] {
			continue
		}
		c := v.relative(v.m.Lab(x))
		i := c.IPT()
		h := int(math.Round(i.Hue()/hueStep)+hues) % hues
		l := int(math.Round((c.Oklab().L - g.dark) / (1 - g.dark) * (levels - 1)))
		if l < 0 || l >= levels {
			continue
		}
		if s := &best[h][l]; i.Chroma() > s.chroma {
			*s = start{x, i.Chroma()}
		}
	}
	return best
}

// at is a hue as two neighbouring planes and how far the second is.
func plane(hue float64) (a, b int, f float64) {
	p := hue / hueStep
	i := math.Floor(p)
	a = (int(i)%hues + hues) % hues
	return a, (a + 1) % hues, p - i
}

// rimAt is the chroma of the rim at a hue and a lightness of Oklab, and the black
// toner that it takes; false where nothing prints.
func (g *Gamut) rimAt(hue, lightness float64) (chroma, black float64, ok bool) {
	t := (lightness - g.dark) / (1 - g.dark) * (levels - 1)
	if t < 0 || t > levels-1 {
		return 0, 0, false
	}
	i := min(int(t), levels-2)
	t -= float64(i)
	a, b, f := plane(hue)
	mix := func(p, q *rimPoint) (chroma, black float64) {
		return p.chroma + f*(q.chroma-p.chroma), p.black + f*(q.black-p.black)
	}
	c0, k0 := mix(&g.rim[a][i], &g.rim[b][i])
	c1, k1 := mix(&g.rim[a][i+1], &g.rim[b][i+1])
	return c0 + t*(c1-c0), k0 + t*(k1-k0), true
}

// reach is the most chroma in IPT at a hue and a lightness of Oklab; below 0 where
// nothing prints.
func (g *Gamut) reach(hue, lightness float64) float64 {
	chroma, _, ok := g.rimAt(hue, lightness)
	if !ok {
		return -1
	}
	return chroma
}

// within is the IPT chroma, about ΔE 0.7, that the rim's table may be short of.
const within = 0.015

// Contains reports whether the press prints a colour, absolute under D50.
func (g *Gamut) Contains(c colour.Lab) bool {
	x := g.v.relative(c)
	i := x.IPT()
	l := math.Max(g.dark, math.Min(1, x.Oklab().L))
	if math.Abs(l-x.Oklab().L) > within/2 {
		return false
	}
	return i.Chroma() <= g.reach(i.Hue(), l)+within
}

// Volume is the gamut's volume in cubic ΔE*ab, of absolute colours.
func (g *Gamut) Volume() float64 {
	mid := (g.v.paper.L + g.v.dark.L) / 2
	at := func(h, i int) [3]float64 {
		c := g.v.absolute(g.rim[h%hues][i].ok.XYZ())
		return [3]float64{c.L - mid, c.A, c.B}
	}
	sum := 0.0
	tetra := func(p, q, r [3]float64) {
		sum += p[0]*(q[1]*r[2]-q[2]*r[1]) - p[1]*(q[0]*r[2]-q[2]*r[0]) + p[2]*(q[0]*r[1]-q[1]*r[0])
	}
	for h := range hues {
		for i := range levels - 1 {
			a, b, c, d := at(h, i), at(h+1, i), at(h, i+1), at(h+1, i+1)
			tetra(a, b, d)
			tetra(a, d, c)
		}
	}
	return math.Abs(sum) / 6
}

// Nearest colours out of reach.
const (
	slackHue   = 3.4 * math.Pi / 180 // that hue may turn by where that comes nearer
	slackSteps = 3                   // tried to either side
	leastReach = 0.81                // of the chroma that the hue reaches within 5 L*, for colours that are vivid or light:

	paleChroma, vividChroma = 0.2, 0.6  // in IPT
	dimLight, paleLight     = 0.75, 0.9 // in Oklab
)

// nearest is the printable colour that is nearest to one out of reach, both
// media-relative: by the distance in Oklab, at the colour's own hue in IPT but for a
// few degrees. A vivid or a light colour keeps four fifths of the chroma that its hue has
// near by, near enough, and a dull dark one need not. Where the surface bends inwards and
// two places are about as near it is between them, so that no ramp jumps.
func (g *Gamut) nearest(c colour.XYZ) colour.XYZ {
	want, ipt := c.Oklab(), c.IPT()
	hue, chroma := ipt.Hue(), ipt.Chroma()
	asked := leastReach * math.Max(smooth(chroma, paleChroma, vividChroma), smooth(want.L, dimLight, paleLight))
	var asks [levels]float64 // chroma that a place must have, by level
	own, next, part := plane(hue)
	for i := range asks {
		p, q := g.rim[own][i].most, g.rim[next][i].most
		asks[i] = asked * math.Min(chroma, p+part*(q-p))
	}
	type place struct {
		d  float64
		at colour.Oklab
	}
	var places [(2*slackSteps + 1) * (levels - 1)]place
	n, least := 0, math.Inf(1)
	// The own hue first: it tells which lightnesses need not be looked at.
	for turn := range 2*slackSteps + 1 {
		s := (turn + 1) / 2
		if turn%2 == 0 {
			s = -s
		}
		a, b, f := plane(hue + slackHue*float64(s)/slackSteps)
		const loose = 0.01 // rim points lie so near to their level
		far := least + counts*(softness*least+hardness) + loose
		from, to := 0, levels-1
		if n > 0 {
			perLevel := (levels - 1) / (1 - g.dark)
			from = min(max(0, int((want.L-far-g.dark)*perLevel)-1), levels-2)
			to = max(min(levels-1, int((want.L+far-g.dark)*perLevel)+2), from+1)
		}
		left, right := &g.rim[a], &g.rim[b]
		p := left[from].towards(&right[from].edge, f)
		u := p.chroma - asks[from]
		for i := from + 1; i <= to; i++ {
			q := left[i].towards(&right[i].edge, f)
			w := q.chroma - asks[i]
			if d, at, ok := between(&p, &q, u, w, want); ok {
				places[n] = place{d, at}
				n++
				least = math.Min(least, d)
			}
			p, u = q, w
		}
	}
	if n == 0 {
		return c
	}
	soft := softness*least + hardness
	var sum float64
	var out colour.Oklab
	for _, p := range places[:n] {
		if p.d > least+counts*soft {
			continue
		}
		w := math.Exp((least - p.d) / soft)
		sum += w
		out.L, out.A, out.B = out.L+w*p.at.L, out.A+w*p.at.A, out.B+w*p.at.B
	}
	// Straight lines of Oklab between the rim's points bend a little in IPT.
	p := colour.Oklab{L: out.L / sum, A: out.A / sum, B: out.B / sum}.XYZ().IPT()
	turn := math.Remainder(p.Hue()-hue, 2*math.Pi)
	sin, cos := math.Sincos(hue + math.Max(-slackHue, math.Min(slackHue, turn)))
	return colour.IPT{I: p.I, P: p.Chroma() * cos, T: p.Chroma() * sin}.XYZ()
}

// between is the nearest place to a colour on the way from p to q, where there is more
// chroma than is asked for, by u at p and by w at q; false if there is none.
func between(p, q *edge, u, w float64, want colour.Oklab) (d float64, at colour.Oklab, ok bool) {
	from, to := 0.0, 1.0
	switch {
	case u < 0 && w < 0:
		return 0, at, false
	case u < 0:
		from = u / (u - w)
	case w < 0:
		to = u / (u - w)
	}
	dl, da, db := q.ok.L-p.ok.L, q.ok.A-p.ok.A, q.ok.B-p.ok.B
	t := from
	if length := lightWeight*dl*dl + da*da + db*db; length > 0 {
		t = (lightWeight*(want.L-p.ok.L)*dl + (want.A-p.ok.A)*da + (want.B-p.ok.B)*db) / length
		t = max(from, min(to, t))
	}
	at = colour.Oklab{L: p.ok.L + t*dl, A: p.ok.A + t*da, B: p.ok.B + t*db}
	l, a, b := want.L-at.L, want.A-at.A, want.B-at.B
	return math.Sqrt(lightWeight*l*l + a*a + b*b), at, true
}

// lightWeight is how much a miss of lightness counts, squared, beside one of chroma: a
// little less than in Oklab, for people would rather have a strong green than a pale
// one that is as light. It is our own figure, chosen by eye.
const lightWeight = 0.85

// Where several places are about as near they share, by exp(−excess ÷ soft): soft is
// a part of the least distance and a little, and counts times that is too far to count.
const (
	softness = 0.03
	hardness = 1e-4
	counts   = 8
)

// Oklab distances of a print from its wish up to which the wish counts as printable,
// and from which it does not.
const (
	reached   = 0.002
	unreached = 0.006
	farOut    = 0.05 // IPT chroma beyond the rim that is surely unreached
)

// separate finds tone values for a media-relative colour: those that print it, or
// where it is out of reach those of the nearest colour.
func (g *Gamut) separate(c colour.XYZ) [4]float64 {
	black, want := g.black(c), c.Oklab()
	w := 1.0
	if i := c.IPT(); i.Chroma() < g.reach(i.Hue(), math.Max(g.dark, math.Min(1, want.L)))+farOut { // else it need not be tried
		x := g.v.invert(c, black)
		if w = smooth(want.Distance(g.v.relative(g.v.m.Lab(x)).Oklab()), reached, unreached); w == 0 {
			return x
		}
	}
	to := g.nearest(c).Oklab()
	return g.v.invert(colour.Oklab{L: want.L + w*(to.L-want.L), A: want.A + w*(to.A-want.A), B: want.B + w*(to.B-want.B)}.XYZ(), black)
}

// black is the black that the curve wants for a colour. Near the rim only one amount
// will do, and it goes there in good time.
func (g *Gamut) black(c colour.XYZ) float64 {
	wanted := g.v.blackTarget(g.v.absolute(c))
	i := c.IPT()
	most, black, ok := g.rimAt(i.Hue(), math.Max(g.dark, math.Min(1, c.Oklab().L)))
	if !ok {
		return wanted
	}
	chroma := i.Chroma()
	near := smooth(chroma, 0.05, 0.15) * (1 - smooth(most-chroma, 0, rimRoom))
	return wanted + near*(black-wanted)
}

// rimRoom is how far from the rim, in IPT chroma, black begins to turn to what the
// rim takes.
const rimRoom = 0.15

// knee is the part of the way to the gamut's edge that perceptual rendering
// leaves alone.
const knee = 0.75

// compress makes room at the gamut's edge for what lies beyond it: a media-relative
// colour is drawn towards the middle of the neutral axis, within the gamut along the
// way out through it, beyond along the way to the nearest colour that prints; the
// farther out it was, the nearer to the edge it comes (a knee in the manner of CIE
// 156:2004). Hue is kept as there, and neutrals and pale tints stay where they are.
func (g *Gamut) compress(c colour.XYZ) colour.XYZ {
	ok, i := c.Oklab(), c.IPT()
	chroma := i.Chroma()
	mid := colour.Oklab{L: (1 + g.dark) / 2}
	// Where the way out from the middle meets the rim, in parts of the way to c.
	in, out := 0.0, 4.0
	for range 24 {
		m := (in + out) / 2
		if m*i.Chroma() <= g.reach(i.Hue(), mid.L+m*(ok.L-mid.L)) {
			in = m
		} else {
			out = m
		}
	}
	edge, x := ok, 1/math.Max(in, 1e-6) // x is where the colour lies, the edge being 1
	if in < 1 {
		edge = g.nearest(c).Oklab()
		x, chroma = 1+ok.Distance(edge)/edge.Distance(mid), edge.XYZ().IPT().Chroma()
	}
	weight := smooth(chroma, 0.03, 0.2)
	if x <= knee || weight == 0 {
		if in < 1 {
			return edge.XYZ()
		}
		return c
	}
	u := (x - knee) / (1 - knee)
	y := knee + (1-knee)*u/(1+u)
	from := edge
	if in >= 1 {
		from, y = ok, y/x
	}
	s := 1 + weight*(y-1)
	return colour.Oklab{L: mid.L + s*(from.L-mid.L), A: s * from.A, B: s * from.B}.XYZ()
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
