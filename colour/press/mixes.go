package press

import (
	"math"

	"laydown/colour"
	"laydown/colour/cores"
)

// mixes is a smooth choice of mix for every colour that prints. Near the darkest
// neutral, and near a solid yellow, many mixes print about the same, and which of them
// a search ends at is chance: two neighbours in a ramp could get different ones. So
// a lattice of colours is searched first, each node held to what its neighbours have,
// and every later search is held to what lies between the nodes (Tikhonov 1963). The
// hold is as strong everywhere, in tone value; where a change of mix shows it yields to
// the colour, and where none would show it decides.
//
// A node's place is a lightness of Oklab, at levels that lie closer in the dark, and a
// and b, in steps that span the gamut's widest chroma there.
type mixes struct {
	dark   float64 // Oklab lightness of the darkest level
	radius [mixLevels]float64
	node   [mixLevels][mixSide][mixSide]mixNode
}

// mixNode is a node of the lattice; one far beyond the gamut holds nothing.
type mixNode struct {
	holds bool
	x     [4]float64
}

const (
	mixLevels    = 32
	mixHalf      = 8 // steps from the neutral axis outwards
	mixSide      = 2*mixHalf + 1
	mixCurve     = 1.5  // the power by which levels crowd in the dark
	mixRadius    = 0.03 // at least, in Oklab
	mixBeyond    = 2    // steps beyond the gamut up to which nodes hold something
	mixRounds    = 3    // of holding every node to its neighbours
	leastMixPull = 3    // of a search towards the mix; see blackPull
)

func (t *mixes) lightness(level float64) float64 {
	return t.dark + (1-t.dark)*math.Pow(level/(mixLevels-1), mixCurve)
}

// oklabToIPT is about how much more chroma colours have in IPT than in Oklab.
const oklabToIPT = oklabScale / iptScale

// mixes searches the lattice, from the paper downwards, where only one mix will do, to
// the dark.
func (g *Gamut) mixes() *mixes {
	t := &mixes{dark: g.dark}
	for i := range t.radius {
		t.radius[i] = mixRadius
		from, to := t.lightness(math.Max(0, float64(i-1))), t.lightness(math.Min(mixLevels-1, float64(i+1)))
		for h := range g.rim {
			for _, p := range g.rim[h] {
				if p.ok.L >= from && p.ok.L <= to {
					t.radius[i] = math.Max(t.radius[i], p.ok.Chroma())
				}
			}
		}
	}
	var aims [mixLevels][mixSide][mixSide]aim
	for i := range t.node {
		step := t.radius[i] / mixHalf
		for j := range t.node[i] {
			for k := range t.node[i][j] {
				c := colour.Oklab{L: t.lightness(float64(i)), A: float64(j-mixHalf) * step, B: float64(k-mixHalf) * step}
				ipt := c.XYZ().IPT()
				reach := g.reach(ipt.Hue(), math.Max(g.dark, math.Min(1, c.L)))
				over := ipt.Chroma() - reach
				if over > mixBeyond*oklabToIPT*step {
					continue
				}
				if over > 0 {
					c.A, c.B = c.A*reach/ipt.Chroma(), c.B*reach/ipt.Chroma()
				}
				t.node[i][j][k].holds = true
				aims[i][j][k] = g.v.towards(c.XYZ(), g.black(c.XYZ()))
			}
		}
	}
	search := func(i, j, k int, mix [4]float64) [4]float64 {
		return g.v.solve(aims[i][j][k].held(mix, g.v.mixPull()), mix)
	}
	// The lightest level is the bare paper, and stays so.
	for i := mixLevels - 2; i >= 0; i-- {
		cores.Share(mixSide, func(lo, hi int) {
			for j := lo; j < hi; j++ {
				for k := range mixSide {
					n := &t.node[i][j][k]
					if !n.holds {
						continue
					}
					a := &aims[i][j][k]
					mix := g.v.guess(a.ok.XYZ(), a.mix[3])
					if t.node[i+1][j][k].holds {
						mix = t.node[i+1][j][k].x
						mix[3] = a.mix[3]
					}
					n.x = search(i, j, k, mix)
				}
			}
		})
	}
	for range mixRounds {
		next := t.node
		cores.Share(mixLevels-1, func(lo, hi int) {
			for i := lo; i < hi; i++ {
				for j := range mixSide {
					for k := range mixSide {
						if t.node[i][j][k].holds {
							next[i][j][k].x = search(i, j, k, t.mean(i, j, k))
						}
					}
				}
			}
		})
		t.node = next
	}
	return t
}

// mean is the mean of a node's neighbours: of both along an axis or of none, so that
// at the lattice's edge it leans to no side.
func (t *mixes) mean(i, j, k int) (m [4]float64) {
	at := func(i, j, k int) *mixNode {
		if min(i, j, k) < 0 || i >= mixLevels || max(j, k) >= mixSide || !t.node[i][j][k].holds {
			return nil
		}
		return &t.node[i][j][k]
	}
	n := 0.0
	for _, pair := range [...][2]*mixNode{{at(i-1, j, k), at(i+1, j, k)}, {at(i, j-1, k), at(i, j+1, k)}, {at(i, j, k-1), at(i, j, k+1)}} {
		if pair[0] == nil || pair[1] == nil {
			continue
		}
		n += 2
		for q := range m {
			m[q] += pair[0].x[q] + pair[1].x[q]
		}
	}
	if n == 0 {
		return t.node[i][j][k].x
	}
	for q := range m {
		m[q] /= n
	}
	return m
}

// at is the mix for a media-relative colour, between the nodes around it; false where
// none of them holds any.
func (t *mixes) at(c colour.Oklab) (m [4]float64, ok bool) {
	level := math.Pow(math.Max(0, math.Min(1, (c.L-t.dark)/(1-t.dark))), 1/mixCurve) * (mixLevels - 1)
	i := min(int(level), mixLevels-2)
	level -= float64(i)
	step := (t.radius[i] + level*(t.radius[i+1]-t.radius[i])) / mixHalf
	split := func(v float64) (int, float64) {
		v = math.Max(0, math.Min(mixSide-1, v/step+mixHalf))
		n := min(int(v), mixSide-2)
		return n, v - float64(n)
	}
	j, a := split(c.A)
	k, b := split(c.B)
	sum := 0.0
	for corner := range 8 {
		di, dj, dk := corner>>2, corner>>1&1, corner&1
		n := &t.node[i+di][j+dj][k+dk]
		w := part(level, di) * part(a, dj) * part(b, dk)
		if !n.holds || w == 0 {
			continue
		}
		sum += w
		for q := range m {
			m[q] += w * n.x[q]
		}
	}
	if sum == 0 {
		return m, false
	}
	for q := range m {
		m[q] /= sum
	}
	return m, true
}

// part is the weight of the lower or the upper of two neighbours.
func part(f float64, upper int) float64 {
	if upper == 1 {
		return f
	}
	return 1 - f
}

// held is the aim, held to a mix of cyan, magenta and yellow.
func (a aim) held(mix [4]float64, pull float64) aim {
	for k := range 3 {
		a.mix[k], a.pull[k] = mix[k], pull
	}
	return a
}

// mixPull is how much searches are held to the mix: more under a low limit, for along
// the limit, too, many mixes print about the same.
func (v *inverter) mixPull() float64 { return leastMixPull * (1 + (v.softer()-1)/5) }

// invert finds tone values for a media-relative colour with about so much black, or
// out of reach for one near it.
func (g *Gamut) invert(c colour.XYZ, black float64) [4]float64 {
	a := g.v.towards(c, black)
	mix, ok := g.mix.at(a.ok)
	if !ok {
		return g.v.solve(a, g.v.guess(c, black))
	}
	return g.v.solve(a.held(mix, g.v.mixPull()), mix)
}
