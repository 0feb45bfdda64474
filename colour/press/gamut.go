package press

import (
	"math"
	"sort"

	"laydown/colour"
	"laydown/colour/cores"
)

// Gamut is the body of colours that a press prints under a toner limit: for every hue
// of IPT and every lightness of Oklab, from the darkest neutral to the paper, the
// colour with the most chroma. Colours are media-relative.
//
// Every hue has as many levels of lightness below its cusp as every other, and as many
// above, so that between two hues the cusp, which is sharp and for yellow lies at
// another lightness 3° on, stays one.
type Gamut struct {
	v    *inverter
	dark float64       // Oklab lightness of the darkest neutral
	cusp [hues]float64 // Oklab lightness about where a hue has the most chroma
	rim  [hues][levels]rimPoint
	mix  *mixes
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
	arc   float64 // length of the way here from the darkest neutral, in Oklab
	// most is the most chroma in IPT that the hue reaches within 5 L* of here.
	most float64
}

const (
	hues   = 120 // steps of 3° of hue
	levels = 81  // from the darkest neutral, 0, to the paper
	peak   = 48  // the cusp's
)

const hueStep = 2 * math.Pi / hues

// cuspAt is the cusp's lightness on the way from one plane of hue to another.
func (g *Gamut) cuspAt(a, b int, f float64) float64 { return g.cusp[a] + f*(g.cusp[b]-g.cusp[a]) }

// lightness is the Oklab lightness of a level where the cusp's is so much.
func (g *Gamut) lightness(level, cusp float64) float64 {
	if level < peak {
		return g.dark + (cusp-g.dark)*level/peak
	}
	return cusp + (1-cusp)*(level-peak)/(levels-1-peak)
}

// level undoes lightness.
func (g *Gamut) level(lightness, cusp float64) float64 {
	if lightness < cusp {
		return peak * (lightness - g.dark) / (cusp - g.dark)
	}
	return peak + (levels-1-peak)*(lightness-cusp)/(1-cusp)
}

// gamut searches for the rim. It starts every search from the most colourful of the
// model's own corners near by, and where the rim has a dent then, anew from what was
// found around it.
func (v *inverter) gamut() *Gamut {
	dark := v.relative(v.dark)
	g := &Gamut{v: v, dark: dark.Oklab().L}
	starts := v.colourful(g)
	cores.Share(hues, func(lo, hi int) {
		for h := lo; h < hi; h++ {
			var most start
			for _, s := range starts[h] {
				if s.chroma > most.chroma {
					most = s
				}
			}
			cusp := v.relative(v.m.Lab(v.solve(outwards(h), most.x))).Oklab().L
			g.cusp[h] = g.dark + (1-g.dark)*math.Max(0.05, math.Min(0.97, (cusp-g.dark)/(1-g.dark)))
		}
	})
	var rim [hues][levels]found
	better := func(f *found, h, i int, x [4]float64) {
		a := outwards(h)
		a.ok.L, a.lightness = g.lightness(float64(i), g.cusp[h]), 40
		if x, missed := v.search(a, x); missed < f.missed {
			*f = found{x, missed}
		}
	}
	cores.Share(hues, func(lo, hi int) {
		for h := lo; h < hi; h++ {
			rim[h][0].x = [4]float64{3: math.Min(v.top[3], v.tac)}
			for i := 1; i < levels-1; i++ {
				x := rim[h][i-1].x
				if s := starts[h][g.even(g.lightness(float64(i), g.cusp[h]))]; s.chroma > 0 {
					x = s.x
				}
				rim[h][i].missed = math.Inf(1)
				better(&rim[h][i], h, i, x)
			}
		}
	})
	for range dentRounds {
		next := rim
		cores.Share(hues, func(lo, hi int) {
			for h := lo; h < hi; h++ {
				for i := 1; i < levels-1; i++ {
					below, above := &rim[h][max(1, i-1)], &rim[h][min(levels-2, i+1)]
					left, right := &rim[(h+hues-1)%hues][i], &rim[(h+1)%hues][i]
					if m := rim[h][i].missed - dent; m > (below.missed+above.missed)/2 || m > (left.missed+right.missed)/2 {
						for _, n := range [...]*found{below, above, left, right} {
							better(&next[h][i], h, i, n.x)
						}
					}
				}
			}
		})
		rim = next
	}
	cores.Share(hues, func(lo, hi int) {
		for h := lo; h < hi; h++ {
			row := &g.rim[h]
			for i, f := range rim[h] {
				c := v.relative(v.m.Lab(f.x))
				switch i {
				case 0:
					c = dark
				case levels - 1:
					c = colour.D50
				}
				row[i] = rimPoint{edge: edge{c.Oklab(), c.IPT().Chroma()}, l: c.Lab(colour.D50).L, black: f.x[3]}
				if i > 0 {
					row[i].arc = row[i-1].arc + row[i].ok.Distance(row[i-1].ok)
				}
			}
			for i := range row {
				row[i].most = g.mostNear(h, row[i].l)
			}
		}
	})
	g.mix = g.mixes()
	return g
}

// outwards aims at more chroma than there is on a plane of hue.
func outwards(h int) aim {
	sin, cos := math.Sincos(float64(h) * hueStep)
	return aim{alongP: cos, alongT: sin, chroma: 1.5, hue: 40, reach: 1}
}

// found is what a search found, and by how much, squared, it misses its aim.
type found struct {
	x      [4]float64
	missed float64
}

const (
	dent       = 10 // by which the rim misses more than around, squared residuals
	dentRounds = 2
)

// mostNear is the most chroma in IPT on a plane of hue within 5 L* of a lightness.
func (g *Gamut) mostNear(h int, l float64) (most float64) {
	rim := &g.rim[h]
	for i := range levels - 1 {
		p, q := &rim[i], &rim[i+1]
		// The part of the way from p to q that lies within.
		from, to := 0.0, 1.0
		if d := q.l - p.l; d > 0 {
			from, to = math.Max(0, (l-5-p.l)/d), math.Min(1, (l+5-p.l)/d)
		}
		if from <= to {
			for _, t := range []float64{from, to} {
				most = math.Max(most, p.chroma+t*(q.chroma-p.chroma))
			}
		}
	}
	return most
}

// start is tone values whose colour has a chroma.
type start struct {
	x      [4]float64
	chroma float64
}

const evenLevels = 65

// even is which of evenly spaced lightnesses is the nearest.
func (g *Gamut) even(lightness float64) int {
	return int(math.Round((lightness - g.dark) / (1 - g.dark) * (evenLevels - 1)))
}

// colourful finds the most colourful of the model's corners for every hue and
// lightness.
func (v *inverter) colourful(g *Gamut) *[hues][evenLevels]start {
	best := new([hues][evenLevels]start)
	for n := range v.m.node {
		x := cornerTones(n)
		if x[0]+x[1]+x[2]+x[3] > v.tac+1e-9 || x[3] > v.top[3] {
			continue
		}
		c := v.relative(v.m.Lab(x))
		i := c.IPT()
		h := int(math.Round(i.Hue()/hueStep)+hues) % hues
		l := g.even(c.Oklab().L)
		if l < 0 || l >= evenLevels {
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
	a, b, f := plane(hue)
	t := g.level(lightness, g.cuspAt(a, b, f))
	if t < 0 || t > levels-1 {
		return 0, 0, false
	}
	i := min(int(t), levels-2)
	t -= float64(i)
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
	slackHue   = 3.5 * math.Pi / 180 // that hue may turn by where that comes nearer
	slackSteps = 3                   // tried to either side
	leastReach = 0.812               // of the chroma that the hue reaches within 5 L*, for colours that are not both dull and dark:

	paleChroma, vividChroma = 0.1, 0.6 // in IPT
	dimLight, paleLight     = 0.4, 0.7 // in Oklab

	shortWeight = 60 // of chroma in IPT that is short of leastReach, beside a distance in Oklab
)

// nearest is the printable colour that is nearest to one out of reach, both
// media-relative: by the distance in Oklab, at the colour's own hue in IPT but for a
// few degrees. A vivid or a light colour keeps a share of the chroma that its hue has
// near by, near enough; a dull dark one need not, nor does any if the share is 0. Where
// several places are about as near, as they are where the surface bends inwards, it is
// between them on the surface, so that no ramp jumps.
func (g *Gamut) nearest(c colour.XYZ, share float64) colour.XYZ {
	want, ipt := c.Oklab(), c.IPT()
	hue, chroma := ipt.Hue(), ipt.Chroma()
	asked := share * math.Max(smooth(chroma, paleChroma, vividChroma), smooth(want.L, dimLight, paleLight))
	softer := g.v.softer()
	weigh := shortWeight / softer
	own, _, _ := plane(hue)
	type place struct {
		d, turn, arc, length float64
	}
	var places [(2*slackSteps + 1) * (levels - 1)]place
	n, least := 0, math.Inf(1)
	soft := func() float64 { return (2*softer - 1) * math.Min(softness*least+hardness, softest) }
	// The own hue first: it tells which lightnesses need not be looked at.
	for turn := range 2*slackSteps + 1 {
		s := (turn + 1) / 2
		if turn%2 == 0 {
			s = -s
		}
		a, b, f := plane(hue + slackHue*float64(s)/slackSteps)
		from, to := 0, levels-1
		if n > 0 {
			const loose = 0.01 // rim points lie so near to their level
			far, cusp := least+counts*soft()+loose, g.cuspAt(a, b, f)
			from = min(max(0, int(g.level(want.L-far, cusp))-1), levels-2)
			to = max(min(levels-1, int(g.level(want.L+far, cusp))+2), from+1)
		}
		left, right := &g.rim[a], &g.rim[b]
		// What a place has beyond the chroma that it ought to have.
		spare := func(p *edge, i int) float64 {
			return p.chroma - asked*math.Min(chroma, left[i].most+f*(right[i].most-left[i].most))
		}
		p := left[from].towards(&right[from].edge, f)
		u, start := spare(&p, from), g.arcAt(a, b, f, from)
		for i := from + 1; i <= to; i++ {
			q := left[i].towards(&right[i].edge, f)
			w, end := spare(&q, i), g.arcAt(a, b, f, i)
			d, t := between(&p, &q, u, w, weigh, want)
			places[n] = place{d, float64(s) / slackSteps, start + t*(end-start), end - start}
			n++
			least = math.Min(least, d)
			p, u, start = q, w, end
		}
	}
	var sum, turn, arc float64
	for _, p := range places[:n] {
		e := (p.d - least) / soft()
		if e > counts {
			continue
		}
		w := math.Exp(-e*e) * p.length / (p.length + longPlace)
		sum += w
		turn, arc = turn+w*p.turn, arc+w*p.arc
	}
	if sum == 0 { // nothing prints but one colour
		return g.rim[own][0].ok.XYZ()
	}
	a, b, f := plane(hue + slackHue*turn/sum)
	arc /= sum
	i := sort.Search(levels-2, func(i int) bool { return g.arcAt(a, b, f, i+1) >= arc })
	t := 0.0
	if from, to := g.arcAt(a, b, f, i), g.arcAt(a, b, f, i+1); to > from {
		t = math.Max(0, math.Min(1, (arc-from)/(to-from)))
	}
	p, q := g.rim[a][i].towards(&g.rim[b][i].edge, f), g.rim[a][i+1].towards(&g.rim[b][i+1].edge, f)
	at := p.towards(&q, t)
	// Straight lines of Oklab between the rim's points bend a little in IPT. And what is
	// as light and has no more chroma than is wanted prints, too, and is nearer.
	out := at.ok.XYZ().IPT()
	off := math.Remainder(out.Hue()-hue, 2*math.Pi)
	sin, cos := math.Sincos(hue + math.Max(-slackHue, math.Min(slackHue, off)))
	chroma = math.Min(chroma, out.Chroma())
	return colour.IPT{I: out.I, P: chroma * cos, T: chroma * sin}.XYZ()
}

// softer is by how much softer places share under a low limit, which cuts faces out of
// the surface that bend inwards: there the nearest place moves far in a few steps of a
// ramp. From softLimit up it is 1.
func (v *inverter) softer() float64 {
	return math.Min(mostSofter, 1+math.Max(0, softLimit-v.tac)*softRise)
}

const (
	softLimit  = 2.39
	softRise   = 8 // for every 100 % of limit that are lacking
	mostSofter = 6
)

// arcAt is the length of the rim up to a level on the way from one plane of hue to
// another.
func (g *Gamut) arcAt(a, b int, f float64, level int) float64 {
	p, q := g.rim[a][level].arc, g.rim[b][level].arc
	return p + f*(q-p)
}

// between is the place on the way from p to q, 0–1, that is the nearest to a colour,
// and how far off it is. What it lacks of the chroma that is asked for counts, too: -u
// at p and -w at q, weigh times.
func between(p, q *edge, u, w, weigh float64, want colour.Oklab) (d, t float64) {
	dl, da, db := q.ok.L-p.ok.L, q.ok.A-p.ok.A, q.ok.B-p.ok.B
	l, a, b := want.L-p.ok.L, want.A-p.ok.A, want.B-p.ok.B
	length, along := lightWeight*dl*dl+da*da+db*db, lightWeight*l*dl+a*da+b*db
	if length > 0 {
		t = along / length
	}
	rise := w - u
	if f := max(0, min(1, t)); u+f*rise < 0 {
		weight := weigh * weigh
		if n := length + weight*rise*rise; n > 0 {
			t = (along - weight*u*rise) / n
		}
		// No farther than to where nothing is lacking.
		if full := -u / rise; rise > 0 && t > full || rise < 0 && t < full {
			t = full
		}
	}
	t = max(0, min(1, t))
	l, a, b = l-t*dl, a-t*da, b-t*db
	short := weigh * min(0, u+t*rise)
	return math.Sqrt(lightWeight*l*l + a*a + b*b + short*short), t
}

// lightWeight is how much a miss of lightness counts, squared, beside one of chroma: a
// little more than in Oklab, for leastReach sees to the chroma. It is our own figure.
const lightWeight = 1.3

// Where several places are about as near they share, by exp(−(excess ÷ soft)²): soft is
// a part of the least distance and a little, up to a limit, and counts times that is too
// far to count. A place stands for as much of the rim as it is long, up to about
// longPlace: the rest of a longer one is not near.
const (
	softness  = 0.08
	hardness  = 0.001
	softest   = 0.007
	counts    = 3
	longPlace = 0.1
)

// Oklab distances of a print from its wish up to which the wish counts as printable,
// and from which it does not.
const (
	reached   = 0.002
	unreached = 0.006
	farOut    = 0.05 // IPT chroma beyond the rim that is surely unreached
)

// separate finds tone values for a media-relative colour: those that print it, or
// where it is out of reach those of the nearest colour that keeps a share of the chroma
// within reach.
func (g *Gamut) separate(c colour.XYZ, share float64) [4]float64 {
	c = g.toe(c)
	black, want := g.black(c), c.Oklab()
	w := 1.0
	if i := c.IPT(); i.Chroma() < g.reach(i.Hue(), math.Max(g.dark, math.Min(1, want.L)))+farOut { // else it need not be tried
		x := g.invert(c, black)
		if w = smooth(want.Distance(g.v.relative(g.v.m.Lab(x)).Oklab()), reached, unreached); w == 0 {
			return x
		}
	}
	to := g.nearest(c, share).Oklab()
	return g.invert(colour.Oklab{L: want.L + w*(to.L-want.L), A: want.A + w*(to.A-want.A), B: want.B + w*(to.B-want.B)}.XYZ(), black)
}

// toe takes chroma from what is far darker than the darkest neutral, all of it at black:
// in Oklab, as cube roots of light, the first step from black has more chroma than the
// next twenty together.
func (g *Gamut) toe(c colour.XYZ) colour.XYZ {
	ok := c.Oklab()
	if ok.L >= toeAt*g.dark {
		return c
	}
	f := math.Max(0, ok.L/(toeAt*g.dark))
	return colour.Oklab{L: ok.L, A: ok.A * f * f, B: ok.B * f * f}.XYZ()
}

// toeAt is where, in parts of the darkest neutral's Oklab lightness, that begins: an eighth
// of its light.
const toeAt = 0.5

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
const rimRoom = 0.4

// knee is the part of the way to the gamut's edge that perceptual rendering
// leaves alone.
const knee = 0.85

// compress makes room at the gamut's edge for what lies beyond it: a media-relative
// colour is drawn towards the middle of the neutral axis, within the gamut along the
// way out through it, beyond along the way to the nearest colour that prints; the
// farther out it was, the nearer to the edge it comes (a knee in the manner of CIE
// 156:2004). Hue is kept as there, and neutrals and pale tints stay where they are. No
// share of the chroma within reach is kept: that would give a ramp from white to cyan
// one lightness for most of its length, and steps are what this rendering is for.
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
		edge = g.nearest(c, 0).Oklab()
		x, chroma = 1+ok.Distance(edge)/edge.Distance(mid), edge.XYZ().IPT().Chroma()
	}
	weight := smooth(chroma, 0.03, 0.2)
	if x <= knee || weight == 0 {
		return c
	}
	u := (x - knee) / (1 - knee)
	y := knee + (1-knee)*u/(1+u)
	from := ok
	if in >= 1 {
		y /= x
	} else {
		near := smooth(chroma, 0.03, 0.06) // what is duller is brought into reach later
		from = colour.Oklab{L: ok.L + near*(edge.L-ok.L), A: ok.A + near*(edge.A-ok.A), B: ok.B + near*(edge.B-ok.B)}
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
