package sheet

import (
	"math/rand/v2"
	"slices"
)

// packer sets rectangles on one sheet along a skyline: the outline of what is
// placed so far, filled at its lowest place with what fits there best (the best-fit
// heuristic of Burke, Kendall and Whitwell 2004, with scores in the manner of Leung
// and others 2011). It repeats that with other weights, and searches with
// backtracking where everything has to fit.
//
// Lengths are whole steps of a hundredth of a millimetre, so that what fits exactly
// is seen to.
//
// It counts its looks at ways to set a piece, and tries no more once it has none left: the
// same pieces get the same sheets on any machine.
type packer struct {
	w, h   int
	corner int // side of the squares in the corners that stay free
	types  []kind
	rng    *rand.Rand
	looks  int // that are left; the first try goes on without

	sides map[int]int // how many of the pieces still to be set have a side so long
}

// kind is pieces of one size.
type kind struct {
	w, h  int
	count int // at most
}

// put is one piece set down.
type put struct {
	kind       int
	x, y, w, h int
	turned     bool
}

type segment struct{ x, w, y int }

// weights steer the choice at one place.
type weights struct {
	wide, high, level, pair, area, waste, noise float64
}

var usualWeights = weights{wide: 4, high: 2, level: 1, pair: 1.5, area: 3, waste: 2}

func (p *packer) shake() weights {
	r := p.rng
	return weights{wide: 2 + 4*r.Float64(), high: 3 * r.Float64(), level: 2 * r.Float64(), pair: 3 * r.Float64(), area: 6 * r.Float64(), waste: 3 * r.Float64(),
		noise: 1.5 * r.Float64()}
}

// lowest is the leftmost of the lowest segments.
func lowest(line []segment) int {
	at := 0
	for i, s := range line {
		if s.y < line[at].y {
			at = i
		}
	}
	return at
}

// walls are how high the neighbours of a segment rise over it; the sheet's sides
// rise to its top.
func (p *packer) walls(line []segment, at int) (left, right int) {
	left, right = p.h-line[at].y, p.h-line[at].y
	if at > 0 {
		left = line[at-1].y - line[at].y
	}
	if at < len(line)-1 {
		right = line[at+1].y - line[at].y
	}
	return left, right
}

// raise lifts a segment to its lower neighbour and returns the area that is lost.
func (p *packer) raise(line []segment, at int) ([]segment, int) {
	left, right := p.walls(line, at)
	s := line[at]
	by := min(left, right)
	lost := by * s.w
	line[at].y += by
	return join(line, at), lost
}

// join merges a segment with neighbours of its height.
func join(line []segment, at int) []segment {
	if at < len(line)-1 && line[at+1].y == line[at].y {
		line[at].w += line[at+1].w
		line = slices.Delete(line, at+1, at+2)
	}
	if at > 0 && line[at-1].y == line[at].y {
		line[at-1].w += line[at].w
		line = slices.Delete(line, at, at+1)
	}
	return line
}

// set puts a piece at the left or right end of a segment.
func set(line []segment, at, w, h int, right bool) ([]segment, int, int) {
	s := line[at]
	x, y := s.x, s.y
	if w == s.w {
		line[at].y += h
		return join(line, at), x, y
	}
	if right {
		x = s.x + s.w - w
		line[at].w -= w
		line = slices.Insert(line, at+1, segment{x, w, y + h})
		return join(line, at+1), x, y
	}
	line[at].x, line[at].w = s.x+w, s.w-w
	line = slices.Insert(line, at, segment{x, w, y + h})
	return join(line, at), x, y
}

// option is a piece that could be set at a place.
type option struct {
	kind   int
	w, h   int
	turned bool
	right  bool
	tried  bool // at the segment's other end
	score  float64
}

// at is where the piece begins on its segment.
func (o option) at(s segment) int {
	if o.right {
		return s.x + s.w - o.w
	}
	return s.x
}

// take changes how many pieces of a kind are still to be set.
func (p *packer) take(left []int, k, by int) {
	left[k] += by
	t := p.types[k]
	p.sides[t.w] += by
	if t.h != t.w {
		p.sides[t.h] += by
	}
}

// begin is the outline of an empty sheet, and all pieces as still to be set.
func (p *packer) begin() (line []segment, left []int) {
	left, p.sides = make([]int, len(p.types)), map[int]int{}
	for k, t := range p.types {
		p.take(left, k, t.count)
	}
	line = make([]segment, 0, 64)
	if c := p.corner; c > 0 {
		return append(line, segment{0, c, c}, segment{c, p.w - 2*c, 0}, segment{p.w - c, c, c}), left
	}
	return append(line, segment{0, p.w, 0}), left
}

// clear reports whether a piece leaves the corners at the far end free.
func (p *packer) clear(x, y, w, h int) bool {
	return y+h <= p.h-p.corner || (x >= p.corner && x+w <= p.w-p.corner)
}

// options are what fits a segment, with scores.
func (p *packer) options(line []segment, at int, left []int, v weights, out []option) []option {
	out = out[:0]
	p.looks -= 2*len(left) + len(line)
	s := line[at]
	wl, wr := p.walls(line, at)
	narrowest := s.w
	for k, n := range left {
		if n > 0 {
			narrowest = min(narrowest, p.types[k].w, p.types[k].h)
		}
	}
	for k, n := range left {
		if n == 0 {
			continue
		}
		for turn := range 2 {
			w, h := p.types[k].w, p.types[k].h
			if turn == 1 {
				if w == h {
					break
				}
				w, h = h, w
			}
			if w > s.w || s.y+h > p.h {
				continue
			}
			o := option{kind: k, w: w, h: h, turned: turn == 1}
			rest := s.w - w
			sc := v.area * float64(w) * float64(h) / (float64(s.w) * float64(max(wl, wr, h)))
			switch {
			case rest == 0:
				sc += v.wide
			case rest < narrowest:
				sc -= v.waste * float64(rest) / float64(s.w)
			default:
				others := p.sides[rest]
				if rest == w || rest == h {
					others-- // the piece itself
				}
				if others > 0 { // something closes the rest
					sc += v.pair
				}
			}
			matchL, matchR := h == wl, h == wr
			o.right = matchR && !matchL
			if p.corner > 0 && !p.clear(o.at(s), s.y, w, h) {
				if o.right = !o.right; !p.clear(o.at(s), s.y, w, h) {
					continue
				}
				o.tried = true
			}
			if matchL || matchR {
				sc += v.high
				if matchL && matchR && rest == 0 {
					sc += v.high
				}
			}
			if s.y+h == p.h {
				sc += v.level
			}
			if v.noise > 0 {
				sc += v.noise * p.rng.Float64()
			}
			o.score = sc
			out = append(out, o)
		}
	}
	return out
}

// fill sets pieces until nothing more fits, and returns them and their area.
func (p *packer) fill(v weights) (puts []put, area int) {
	line, left := p.begin()
	var opts []option
	for {
		at := lowest(line)
		if line[at].y >= p.h {
			return puts, area
		}
		opts = p.options(line, at, left, v, opts)
		if len(opts) == 0 {
			if len(line) == 1 {
				return puts, area
			}
			line, _ = p.raise(line, at)
			continue
		}
		best := 0
		for i, o := range opts {
			if o.score > opts[best].score {
				best = i
			}
		}
		o := opts[best]
		var x, y int
		line, x, y = set(line, at, o.w, o.h, o.right)
		p.take(left, o.kind, -1)
		puts = append(puts, put{o.kind, x, y, o.w, o.h, o.turned})
		area += o.w * o.h
	}
}

// most fills the sheet as full as some tries manage, or as many of them as there are means
// for, one at least.
func (p *packer) most(tries int) (best []put, area int) {
	want := p.wanted()
	for i := range tries {
		v := usualWeights
		if i > 0 {
			v = p.shake()
		}
		if puts, a := p.fill(v); a > area {
			best, area = puts, a
		}
		if area == want || area == p.room() || p.looks <= 0 {
			break
		}
	}
	return best, area
}

// takes reports whether an empty sheet takes a piece that stands so.
func (p *packer) takes(w, h int) bool {
	return w <= p.w && h <= p.h && (w <= p.w-2*p.corner || h <= p.h-2*p.corner)
}

// mayHold is how many pieces may go on a sheet at most: the smallest, by their area.
func (p *packer) mayHold() (n int) {
	by := slices.Clone(p.types)
	slices.SortFunc(by, func(a, b kind) int { return a.w*a.h - b.w*b.h })
	left := p.room()
	for _, t := range by {
		m := min(t.count, left/(t.w*t.h))
		n, left = n+m, left-m*t.w*t.h
		if m < t.count {
			break
		}
	}
	return n
}

// room is the area that takes pieces.
func (p *packer) room() int { return p.w*p.h - 4*p.corner*p.corner }

// wanted is the area of all pieces.
func (p *packer) wanted() (a int) {
	for _, t := range p.types {
		a += t.w * t.h * t.count
	}
	return a
}

// mostSearched is how many pieces a search may find a way for: it is lost among more.
const mostSearched = 400

// all sets every piece, or returns nil if it finds no way within its means: tries
// of the plain heuristic, then a search with backtracking of so many steps that
// gives up a way as soon as it has lost more area than there is to spare.
func (p *packer) all(tries, steps int) []put {
	want := p.wanted()
	if want > p.room() {
		return nil
	}
	if puts, area := p.most(tries); area == want {
		return puts
	}
	pieces := 0
	for _, t := range p.types {
		pieces += t.count
	}
	for round := 0; round < 4 && p.looks > 0 && pieces <= mostSearched; round++ {
		v := usualWeights
		if round > 0 {
			v = p.shake()
		}
		if puts := p.search(v, steps/4); puts != nil {
			return puts
		}
	}
	return nil
}

// searcher looks for a way to set every piece. It remembers outlines that led
// nowhere, and gives up on a pit that no sum of pieces' sides can fill without
// losing more than there is to spare.
type searcher struct {
	*packer
	v     weights
	steps int
	left  []int
	puts  []put
	dead  map[uint64]struct{}
	unit  int    // all lengths are multiples of this
	sums  []bool // passing use
}

func (p *packer) search(v weights, steps int) []put {
	s := searcher{packer: p, v: v, steps: steps, dead: map[uint64]struct{}{}, unit: gcd(p.w, p.h)}
	n := 0
	var line []segment
	line, s.left = p.begin()
	s.unit = gcd(s.unit, p.corner)
	for _, t := range p.types {
		s.unit = gcd(gcd(s.unit, t.w), t.h)
		n += t.count
	}
	// The corners at the far end are lost like what stays empty; those at the near one never
	// were part of the outline.
	if s.place(line, p.room()+2*p.corner*p.corner-p.wanted(), n) {
		return s.puts
	}
	return nil
}

func gcd(a, b int) int {
	for b != 0 {
		a, b = b, a%b
	}
	return a
}

// key names an outline and what is left.
func (s *searcher) key(line []segment) uint64 {
	h := uint64(14695981039346656037) // FNV-1a
	mix := func(v int) { h = (h ^ uint64(v)) * 1099511628211; h ^= h >> 29 }
	for _, q := range line {
		mix(q.x)
		mix(q.y)
	}
	for _, n := range s.left {
		mix(n)
	}
	return h
}

// mostSums bounds the table of sums.
const mostSums = 4096

// unfillable is the least area of a pit that stays empty: side by side, pieces come
// only so near to its width, at least as high as the lowest side of any or the pit.
func (s *searcher) unfillable(width, depth int) int {
	n := width / s.unit
	if n > mostSums {
		return 0
	}
	if len(s.sums) < n+1 {
		s.sums = make([]bool, n+1)
	}
	sums := s.sums[:n+1]
	clear(sums)
	sums[0] = true
	low := depth
	for k, c := range s.left {
		if c == 0 {
			continue
		}
		a, b := s.types[k].w/s.unit, s.types[k].h/s.unit
		low = min(low, s.types[k].w, s.types[k].h)
		for range min(c, n/min(a, b)) {
			s.looks -= n/16 + 1
			for i := n; i >= min(a, b); i-- {
				if !sums[i] && ((i >= a && sums[i-a]) || (i >= b && sums[i-b])) {
					sums[i] = true
				}
			}
			if sums[n] {
				return 0
			}
		}
	}
	for i := n; ; i-- {
		if sums[i] {
			return (width - i*s.unit) * low
		}
	}
}

// place sets n more pieces, losing no more area than there is to spare.
func (s *searcher) place(line []segment, spare, n int) bool {
	if n == 0 {
		return true
	}
	if s.steps--; s.looks <= 0 {
		s.steps = -1
	}
	if s.steps < 0 {
		return false
	}
	at := lowest(line)
	wl, wr := s.walls(line, at)
	if s.unfillable(line[at].w, min(wl, wr)) > spare {
		return false
	}
	key := s.key(line)
	if _, dead := s.dead[key]; dead {
		return false
	}
	opts := s.options(line, at, s.left, s.v, nil)
	slices.SortStableFunc(opts, func(a, b option) int {
		switch {
		case a.score > b.score:
			return -1
		case a.score < b.score:
			return 1
		}
		return 0
	})
	for i := 0; i < len(opts); i++ {
		o := opts[i]
		if o.w < line[at].w && !o.tried && len(line) > 1 { // at the other end as well, later
			other := o
			other.right, other.tried = !o.right, true
			if s.corner == 0 || s.clear(other.at(line[at]), line[at].y, o.w, o.h) {
				opts = append(opts, other)
			}
		}
		next, x, y := set(slices.Clone(line), at, o.w, o.h, o.right)
		s.take(s.left, o.kind, -1)
		s.puts = append(s.puts, put{o.kind, x, y, o.w, o.h, o.turned})
		if s.place(next, spare, n-1) {
			return true
		}
		s.puts = s.puts[:len(s.puts)-1]
		s.take(s.left, o.kind, 1)
		if s.steps < 0 {
			return false
		}
	}
	if len(line) > 1 {
		next, lost := s.raise(slices.Clone(line), at)
		if lost <= spare && s.place(next, spare-lost, n) {
			return true
		}
	}
	// A piece may hang over from the left and another stand below its end.
	if at > 0 {
		for d := s.unit; d < line[at].w && d*wl <= spare && s.steps >= 0; d += s.unit {
			next := slices.Clone(line)
			next[at].x, next[at].w = next[at].x+d, next[at].w-d
			next[at-1].w += d
			if s.place(next, spare-d*wl, n) {
				return true
			}
		}
	}
	if s.steps >= 0 {
		s.dead[key] = struct{}{}
	}
	return false
}
