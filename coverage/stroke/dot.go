package stroke

import (
	"math"
	"slices"
)

// Dot is a small island of one colour within another.
type Dot struct {
	WidthPX, HeightPX float64
	AreaPX            float64
	Ink, Around       [3]uint8
	InkArt, AroundArt uint8 // how much art there is
	X0, Y0, X1, Y1    int   // pixels, the last ones inside
}

// SizePX is the longer side.
func (d Dot) SizePX() float64 { return max(d.WidthPX, d.HeightPX) }

// dots finds the islands of at most a size among the spans of rows.
func (p Picture) dots(all []span, o Options) (out []Dot) {
	rows := int(o.DotPX) + 2
	seen := map[[2]int]bool{}
	for i := range all {
		if all[i].linked {
			continue
		}
		n := 0
		x0, x1 := float32(math.Inf(1)), float32(0)
		strongest, most := &all[i], -1.0
		for s := &all[i]; ; s = &all[s.next] {
			n++
			x0, x1 = min(x0, s.from), max(x1, s.to)
			if c := s.contrast(); c > most {
				strongest, most = s, c
			}
			if s.next < 0 || n > rows {
				break
			}
		}
		if n > rows || float64(x1-x0) > o.DotPX+1.5 {
			continue
		}
		d, ok := p.dot(strongest.before, strongest.after, strongest.ink, int(strongest.middle()), int(strongest.line), o)
		if at := [2]int{d.X0 + d.X1, d.Y0 + d.Y1}; ok && !seen[at] { // it may be found from two of its chains
			seen[at] = true
			out = append(out, d)
		}
	}
	return out
}

// dotLuma is how far the luma of a dot lies from that around it at least, codes, after
// compression.
const dotLuma = 20

// How much of a dot's colour, of what it has where it is strongest, a pixel shows at
// least that belongs to it, and how far from the way between the dot's colour and
// what is around it, in parts of their difference, a pixel lies that shows a third.
const (
	ofDot = 0.25
	third = 0.3
)

// dot measures the island of an ink between two sides that a pixel lies in; ok is false
// if it is too large, or if something else than one colour is around it.
func (p Picture) dot(around, after, ink pixel, cx, cy int, o Options) (d Dot, ok bool) {
	contrast := apart(ink, around)
	if apart(around, after) > third*contrast || !o.Seen([3]uint8(ink[:3]), [3]uint8(around[:3])) {
		return d, false
	}
	if o.Ringing > 0 && math.Abs(ink.luma()-around.luma()) < dotLuma {
		return d, false // compression keeps chroma coarser than such a dot
	}
	at := func(x, y int) pixel { return pixel(p.Pix[4*(y*p.Width+x):]) }
	d = Dot{Ink: [3]uint8(ink[:3]), InkArt: ink[3], Around: [3]uint8(around[:3]), AroundArt: around[3], X0: p.Width, Y0: p.Height}
	reach := int(o.DotPX) + 3 // on every side of the middle
	if cx < reach || cy < reach || cx+reach >= p.Width || cy+reach >= p.Height {
		return d, false
	}
	side := 2*reach + 1
	const (
		inside = 1
		rim    = 2
	)
	mark := make([]uint8, side*side)
	columns := make([]float64, side)
	rows := make([]float64, side)
	queue := []int{reach*side + reach}
	mark[queue[0]] = inside
	rims, thirds := 0, 0
	for n := 0; n < len(queue); n++ {
		i := queue[n]
		u, v := i%side, i/side
		c := at(cx-reach+u, cy-reach+v)
		part := share(c, around, ink)
		if mark[i] == inside && apart(c, around) > 1.05*contrast { // this is its true ink
			return p.dot(around, after, c, cx-reach+u, cy-reach+v, o)
		}
		columns[u], rows[v], d.AreaPX = columns[u]+part, rows[v]+part, d.AreaPX+part
		if mark[i] == rim {
			rims++
			if ahead(c, around, ink) > 2*ofDot {
				return d, false // it goes on in a colour that compression has turned
			}
			if off(c, around, ink) > third*contrast+float64(o.Noise) || ahead(c, around, ink) < -third {
				thirds++
			}
			continue
		}
		if u == 0 || v == 0 || u == side-1 || v == side-1 {
			return d, false
		}
		x, y := cx-reach+u, cy-reach+v
		d.X0, d.Y0, d.X1, d.Y1 = min(d.X0, x), min(d.Y0, y), max(d.X1, x), max(d.Y1, y)
		for w := v - 1; w <= v+1; w++ {
			for t := u - 1; t <= u+1; t++ {
				j := w*side + t
				if mark[j] != 0 {
					continue
				}
				mark[j] = rim
				if c := at(cx-reach+t, cy-reach+w); share(c, around, ink) >= ofDot && off(c, around, ink) <= third*contrast {
					mark[j] = inside
				}
				queue = append(queue, j)
			}
		}
	}
	d.WidthPX, d.HeightPX = slices.Max(rows), slices.Max(columns)
	strength := o.strength(around, ink)
	d.AreaPX *= strength
	long := d.SizePX()
	if long <= 2 { // it may fill no pixel, and be by up to one shorter than what shows of it
		long = math.Max(strength*long, long-1)
	}
	if d.AreaPX < sliver*o.LeastDotPX*long {
		return d, false
	}
	return d, d.SizePX() <= o.DotPX && d.AreaPX >= math.Max(math.Pi/4*o.LeastDotPX*o.LeastDotPX, noDotPX) && thirds*7 <= rims
}

// noDotPX is the area in pixels under which a dot cannot be told from noise.
const noDotPX = 0.2

// sliver is the width of what is no dot but left between shapes that hardly overlap, in
// parts of the diameter of the smallest dot.
const sliver = 0.6

// strength is how much of its full colour an ink on something shows, 0–1: what lies on
// the straight way to one of the picture's flat colours may be a mix with it.
func (o Options) strength(on, ink pixel) float64 {
	least := 1.0
	for _, f := range o.Flats {
		full := pixel{f[0], f[1], f[2]}
		if t := ahead(ink, on, full); t > 0.05 && t < least && off(ink, on, full) < mixed*apart(ink, on)+4 {
			least = t
		}
	}
	return least
}

// mixed is how far off the way to a flat colour a mix with it lies at most, in parts of
// how far it lies from what it is mixed with.
const mixed = 0.12

// part is how much of a flat colour a span may show at the least, 0–1, if it is a mix of
// that colour and those of its two sides.
func (o Options) part(s *span) float64 {
	if apart(s.before, s.after) < oneColour {
		return o.strength(s.before, s.ink)
	}
	least, ink := 1.0, across(s.ink, s.before, s.after)
	for _, f := range o.Flats {
		full := across(pixel{f[0], f[1], f[2]}, s.before, s.after)
		dot, all, own := 0.0, 0.0, 0.0
		for k := range full {
			dot, all, own = dot+full[k]*ink[k], all+full[k]*full[k], own+ink[k]*ink[k]
		}
		if dot <= 0 || dot*dot < sameWay*all*own {
			continue
		}
		if t := math.Sqrt(own / all); t > 0.05 {
			least = math.Min(least, t)
		}
	}
	return least
}

// oneColour is how far apart the two sides of a span are, in codes, if they are of one
// colour, and sameWay the square of the cosine between two ways that are the same.
const (
	oneColour = 30
	sameWay   = 0.9
)
