// Package stroke finds strokes in a picture: places where two opposed edges run along
// each other nearer than a limit, whatever the colours on either side.
//
// A picture is cut into rows and into columns. Along each, an edge is a change of
// colour that people see; its place is told to a fraction of a pixel by how much of
// the pixels in between shows either colour. What lies between two edges is a span.
// Spans of neighbouring rows that go on with each other are a chain, and the slope of
// its middle turns the width along the row into that across the stroke. Chains of rows
// and of columns that meet are one stroke.
//
// Strokes that are narrower than about three quarters of a pixel, and those of a
// colour between those of their two sides, cannot be told from an edge.
package stroke

import (
	"cmp"
	"math"
	"slices"

	"laydown/colour/cores"
)

// Picture is what strokes are found in. Pix has four bytes a pixel, row after row: a
// colour in three 8-bit codes, as it looks with the item under it, and how much of the
// pixel holds art, 0–255.
type Picture struct {
	Width, Height int
	Pix           []uint8
}

// Options say what is looked for.
type Options struct {
	// LimitPX is the width under which a stroke of an ink counts, and WidestPX the
	// largest that it is.
	LimitPX  func(ink [3]uint8, art uint8) float64
	WidestPX float64
	DotPX    float64 // the size of the largest island that is a dot, 0 for none
	// LeastDotPX is the diameter of the smallest dot that counts.
	LeastDotPX float64
	// SeamPX is the width under which what another colour leaves between two shapes is a
	// seam of antialiasing.
	SeamPX float64
	// Flats are colours that the picture has in flats: what is too small to show its
	// full colour may be a mix with one of them.
	Flats   [][3]uint8
	Noise   int     // codes by which pixels of one colour may differ
	EdgePX  int     // pixels that an edge takes at most
	Ringing float64 // a change of less than this part of an edge near by is its ringing
	// Skip reports whether nothing is looked for at a pixel; nil for everywhere. This and
	// the other functions are called from two goroutines.
	Skip func(x, y int) bool
	// Seen reports whether an edge between two colours is seen.
	Seen func(a, b [3]uint8) bool
}

// Place is one pixel on the middle of a stroke.
type Place struct{ X, Y int32 }

// Stroke is a run of places of about one colour.
type Stroke struct {
	Places         []Place
	WidthPX        float64     // the median
	lowPX, highPX  float64     // the width that a fifth of it stays under, and goes over
	LengthPX       float64     // along its middle
	Ink            [3]uint8    // its colour where it is strongest
	Art            uint8       // how much art it holds there
	Sides          [2][3]uint8 // the colours beside it there
	X0, Y0, X1, Y1 int         // pixels, the last ones inside
}

// Find finds the strokes of a picture, in the order of their first places, and its
// dots, from the top.
func Find(p Picture, o Options) ([]Stroke, []Dot) {
	var found [2][]place
	var dots []Dot
	var r *rings
	if o.Ringing > 0 {
		r = newRings(p)
	}
	cores.Each(2, func(k int) {
		all := p.scan(o, r, k == 1)
		found[k] = places(all, k == 1, o)
		if k == 0 && o.DotPX > 0 {
			dots = p.dots(all, o)
		}
	})
	return gather(slices.Concat(found[0], found[1]), p.Width, p.Height, o), dots
}

// scan finds the spans of rows, or of columns, linked from line to line.
func (p Picture) scan(o Options, rings *rings, columns bool) []span {
	n, lines := p.Width, p.Height
	if columns {
		n, lines = lines, n
	}
	seen := func(a, b pixel) bool { return o.Seen([3]uint8(a[:3]), [3]uint8(b[:3])) }
	s := steps{noise: o.Noise, longest: o.EdgePX, seen: seen}
	widest := math.Sqrt2*o.WidestPX + 1
	const block = 16 // columns are copied so many at a time
	buf := make([][]pixel, block)
	for i := range buf {
		buf[i] = make([]pixel, n)
	}
	var all []span
	var edges []edge
	y, last := 0, 0 // the line, and the first span of the one before
	at := func(x int) (int, int) {
		if columns {
			return y, x
		}
		return x, y
	}
	if rings != nil {
		s.least = func(x int) float64 { return o.Ringing * rings.near(at(x)) }
	}
	if o.Skip != nil {
		s.skip = func(x int) bool { return o.Skip(at(x)) }
	}
	for ; y < lines; y++ {
		if y%block == 0 {
			p.copy(buf, y, columns)
		}
		line := buf[y%block]
		edges = s.edges(line, edges[:0])
		from := len(all)
		all = spans(line, y, edges, widest, all)
		link(all[last:from], all[from:], int32(from))
		last = from
	}
	return all
}

// copy fills lines from the picture's rows or columns from the y-th on.
func (p Picture) copy(lines [][]pixel, y int, columns bool) {
	if !columns {
		for i := range min(len(lines), p.Height-y) {
			row := p.Pix[4*(y+i)*p.Width:]
			for x := range lines[i] {
				lines[i][x] = pixel(row[4*x : 4*x+4])
			}
		}
		return
	}
	n := min(len(lines), p.Width-y)
	for v := range p.Height {
		row := p.Pix[4*(v*p.Width+y):]
		for i := range n {
			lines[i][v] = pixel(row[4*i : 4*i+4])
		}
	}
}

// link joins the spans of a line with those of the line before that go on with them.
// first is the number of the line's first span.
func link(before, line []span, first int32) {
	at := 0
	for i := range line {
		s := &line[i]
		for at < len(before) && before[at].to < s.from-1 {
			at++
		}
		best, far := -1, math.Inf(1)
		for j := at; j < len(before) && before[j].from < s.to+1; j++ {
			b := &before[j]
			if b.next >= 0 || !s.like(b) {
				continue
			}
			if d := math.Abs(float64(s.middle() - b.middle())); d < far && d < 1.7+0.2*float64(s.width()) {
				best, far = j, d
			}
		}
		if best >= 0 {
			before[best].next, s.linked = first+int32(i), true
		}
	}
}

// like reports whether two spans differ from their sides in the same way.
func (s *span) like(t *span) bool {
	for _, side := range [2][2]pixel{{s.before, t.before}, {s.after, t.after}} {
		a, _ := step(side[0], s.ink)
		b, _ := step(side[1], t.ink)
		if !along(a, b) {
			return false
		}
	}
	most := max(apart(s.ink, s.before), apart(s.ink, s.after), apart(t.ink, t.before), apart(t.ink, t.after))
	return apart(s.ink, t.ink) < likeInk*most+12
}

// place is a place with what gathers it.
type place struct {
	Place
	width  float32 // pixels
	weight float32 // length of the stroke that it stands for, pixels
	ink    pixel
	sides  [2]pixel
	strong float32 // how far the ink lies from its sides, codes
}

// Chains are looked at over so many spans to either side, for their slope and for
// where their ink is strongest.
const (
	leastChain  = 3
	slopeReach  = 3
	strongReach = 12
)

// seamPart is the part of a flat colour that a span shows at most if it is a seam.
const seamPart = 0.45

// faint is the art, of 255, that a pixel holds less of if it is bare.
const faint = 25

// thin is a span's width in pixels under which its ink may not show fully.
const thin = 2.3

// What tells a fringe, which compression leaves beside an edge for it keeps chroma in
// coarser pixels than luma: between two colours, no wider than fringePX, its ink lies
// by less than a part of their difference off the way between them, or its luma is
// theirs or between them, give or take some codes.
const (
	fringePart = 0.45
	fringePX   = 3
	fringeLuma = 10
)

// fringe reports whether a span, whose ink lies so far off the way between its sides,
// is a fringe.
func (s *span) fringe(strong float64) bool {
	if beside := apart(s.before, s.after); beside < oneColour || s.width() > fringePX {
		return false
	} else if strong < fringePart*beside {
		return true
	}
	a, b, v := s.before.luma(), s.after.luma(), s.ink.luma()
	return v > min(a, b)-fringeLuma && v < max(a, b)+fringeLuma
}

// luma is that of ITU-R BT.601, as JPEG files have it (ITU-T T.871), codes.
func (p pixel) luma() float64 {
	return 0.299*float64(p[0]) + 0.587*float64(p[1]) + 0.114*float64(p[2])
}

func places(all []span, columns bool, o Options) (out []place) {
	var chain []*span
	var strong []float64
	for i := range all {
		if all[i].linked {
			continue
		}
		chain = chain[:0]
		for s := &all[i]; ; s = &all[s.next] {
			chain = append(chain, s)
			if s.next < 0 {
				break
			}
		}
		if len(chain) < leastChain {
			continue // its slope cannot be told
		}
		strong = strong[:0]
		for _, s := range chain {
			strong = append(strong, s.contrast())
		}
		for k, s := range chain {
			if o.Ringing > 0 && s.fringe(strong[k]) {
				continue
			}
			lo, hi := max(0, k-slopeReach), min(len(chain)-1, k+slopeReach)
			d := float64(hi - lo)
			left, right := float64(chain[hi].from-chain[lo].from)/d, float64(chain[hi].to-chain[lo].to)/d
			slope := (left + right) / 2
			if math.Abs(slope) > 1.1 || math.Abs(math.Atan(left)-math.Atan(right)) > widestAngle {
				continue
			}
			w := float64(s.width())
			if w < thin {
				most := strong[k]
				if a := s.ink[3]; a > 0 && max(s.before[3], s.after[3]) < faint {
					most *= 255 / float64(a) // what is half clear and thin is solid and thinner
				}
				for j := max(0, k-strongReach); j <= min(len(chain)-1, k+strongReach); j++ {
					if chain[j].width() < 2*thin {
						most = max(most, strong[j])
					}
				}
				w *= strong[k] / most
				if part := o.part(s); part < seamPart && w*part < o.SeamPX {
					continue
				}
			}
			cos := 1 / math.Sqrt(1+slope*slope)
			if w*cos >= o.LimitPX([3]uint8(s.ink[:3]), s.ink[3]) {
				continue
			}
			// Steeper ones are found along the other direction; those between along both.
			weight := 1 / cos
			switch a := math.Abs(slope); {
			case a > 1.02:
				weight = 0
			case a > 0.98:
				weight /= 2
			}
			x, y := int32(s.middle()), s.line
			if columns {
				x, y = y, x
			}
			out = append(out, place{Place: Place{X: x, Y: y}, width: float32(w * cos), weight: float32(weight), ink: s.ink,
				sides: [2]pixel{s.before, s.after}, strong: float32(strong[k])})
		}
	}
	return out
}

// widestAngle is the angle between two edges, in radians, from which they are no
// stroke but a corner.
const widestAngle = 0.5

// contrast is how far the ink lies from its sides: from the line between them, if
// they differ.
func (s *span) contrast() float64 {
	return norm(beside(s.ink, s.before, s.after, share(s.ink, s.before, s.after)))
}

// near is how many pixels apart places of one stroke lie at most.
const near = 2

// gatherer joins places into strokes.
type gatherer struct {
	all        []place
	cols, rows int     // of cells
	head, next []int32 // 1 + the last place of each cell, and 1 + the one before each
	of         []int32 // 1 + the stroke of each place, 0 for none yet
}

const cellPX = near + 1

// gather joins places that are near each other and of one colour; where the width of
// what is joined changes much, only those where it is steady.
func gather(all []place, w, h int, o Options) (out []Stroke) {
	g := &gatherer{all: all, cols: w/cellPX + 1, rows: h/cellPX + 1}
	g.head, g.next, g.of = make([]int32, g.cols*g.rows), make([]int32, len(all)), make([]int32, len(all))
	for i := range all {
		c := int(all[i].Y)/cellPX*g.cols + int(all[i].X)/cellPX
		g.next[i] = g.head[c]
		g.head[c] = int32(i + 1)
	}
	var again [][]int32
	n := int32(0)
	for start := range all {
		if g.of[start] != 0 {
			continue
		}
		n++
		parts := g.join(int32(start), 0, n)
		if s := g.stroke(parts); s.steady() {
			out = append(out, s)
		} else if kept := g.steady(parts, o); len(kept) > 0 {
			again = append(again, kept)
		}
	}
	for _, kept := range again {
		for _, i := range kept {
			g.of[i] = -1
		}
		for _, i := range kept {
			if g.of[i] == -1 {
				n++
				out = append(out, g.stroke(g.join(i, -1, n)))
			}
		}
	}
	return out
}

// join gives what goes on with a place, among those that are of one stroke, to another.
func (g *gatherer) join(start, from, to int32) []int32 {
	g.of[start] = to
	queue := []int32{start}
	for n := 0; n < len(queue); n++ {
		p := &g.all[queue[n]]
		g.around(p, near, func(k int32) {
			if g.of[k] == from && p.like(&g.all[k]) {
				g.of[k] = to
				queue = append(queue, k)
			}
		})
	}
	return queue
}

// around calls f with the places that lie so near a place along either side.
func (g *gatherer) around(p *place, reach int32, f func(k int32)) {
	x0, x1 := max(0, int(p.X-reach)/cellPX), min(g.cols-1, int(p.X+reach)/cellPX)
	y0, y1 := max(0, int(p.Y-reach)/cellPX), min(g.rows-1, int(p.Y+reach)/cellPX)
	for y := y0; y <= y1; y++ {
		for x := x0; x <= x1; x++ {
			for k := g.head[y*g.cols+x]; k != 0; k = g.next[k-1] {
				if q := &g.all[k-1]; max(q.X-p.X, p.X-q.X) <= reach && max(q.Y-p.Y, p.Y-q.Y) <= reach {
					f(k - 1)
				}
			}
		}
	}
}

// stroke is what places make.
func (g *gatherer) stroke(parts []int32) Stroke {
	s := Stroke{X0: math.MaxInt, Y0: math.MaxInt}
	widths := make([]float64, 0, len(parts))
	strong := float32(-1)
	for _, i := range parts {
		p := &g.all[i]
		s.Places = append(s.Places, p.Place)
		widths = append(widths, float64(p.width))
		s.LengthPX += float64(p.weight)
		s.X0, s.Y0, s.X1, s.Y1 = min(s.X0, int(p.X)), min(s.Y0, int(p.Y)), max(s.X1, int(p.X)), max(s.Y1, int(p.Y))
		if p.strong > strong {
			strong = p.strong
			s.Ink, s.Art, s.Sides = [3]uint8(p.ink[:3]), p.ink[3], [2][3]uint8{[3]uint8(p.sides[0][:3]), [3]uint8(p.sides[1][:3])}
		}
	}
	s.lowPX, s.WidthPX, s.highPX = spread(widths)
	return s
}

// spread is the width that a fifth stays under, the median, and that a fifth goes over.
// It sorts widths.
func spread(widths []float64) (low, median, high float64) {
	slices.Sort(widths)
	at := func(part float64) float64 { return widths[int(part*float64(len(widths)-1)+0.5)] }
	return at(0.2), at(0.5), at(0.8)
}

// A width that falls to less than tipPart along a stroke is that of a pointed tip, which
// loses its end and nothing that is missed. What is asked is the stroke as far as
// tipReach times its limit to every side. Our own figures.
const (
	tipPart  = 0.5
	tipReach = 1.25
)

func (s *Stroke) steady() bool { return s.lowPX >= tipPart*s.highPX }

// steady are those places of a stroke around which its width is.
func (g *gatherer) steady(parts []int32, o Options) (kept []int32) {
	var widths []float64
	for _, i := range parts {
		p := &g.all[i]
		widths = widths[:0]
		g.around(p, int32(tipReach*o.LimitPX([3]uint8(p.ink[:3]), p.ink[3])+0.5), func(k int32) {
			if g.of[k] == g.of[i] {
				widths = append(widths, float64(g.all[k].width))
			}
		})
		if low, _, high := spread(widths); low >= tipPart*high {
			kept = append(kept, i)
		}
	}
	return kept
}

// like reports whether two places may be of one stroke: their inks are near each other
// and differ from their sides in the same way.
func (p *place) like(q *place) bool {
	if apart(p.ink, q.ink) > max(sameInk, likeInk*float64(max(p.strong, q.strong))) {
		return false
	}
	dot := 0
	for k := range 3 {
		dot += (2*int(p.ink[k]) - int(p.sides[0][k]) - int(p.sides[1][k])) * (2*int(q.ink[k]) - int(q.sides[0][k]) - int(q.sides[1][k]))
	}
	return dot > 0
}

// sameInk is how far apart the colours of places of one stroke may lie, in codes, and
// likeInk the same in parts of how far they lie from their sides: a stroke narrower than
// a pixel shows more of its colour in some than in others.
const (
	sameInk = 60
	likeInk = 0.6
)

// Flats are the colours that a picture has most of, in parts of one colour, the most
// frequent first.
func (p Picture) Flats() (out [][3]uint8) {
	count := map[[3]uint8]int{}
	total := 0
	every := max(1, p.Width*p.Height/flatSamples)
	for i := 1; i < p.Width*p.Height; i += every {
		v, before := p.Pix[4*i:4*i+4], p.Pix[4*i-4:4*i]
		if v[0] == before[0] && v[1] == before[1] && v[2] == before[2] {
			count[[3]uint8(v)]++
			total++
		}
	}
	for c, n := range count {
		if n*leastFlat >= total {
			out = append(out, c)
		}
	}
	slices.SortFunc(out, func(a, b [3]uint8) int {
		return cmp.Or(cmp.Compare(count[b], count[a]), slices.Compare(a[:], b[:]))
	})
	return out[:min(len(out), mostFlats)]
}

// How many pixels tell the flat colours of a picture, the part of them, 1 in so many,
// that one has at least, and how many there are at most.
const (
	flatSamples = 400_000
	leastFlat   = 300
	mostFlats   = 16
)
