package stroke

import "math"

// pixel is a colour in 8-bit codes and how much art there is, 0–255.
type pixel [4]uint8

// edge is where colours change along a line of pixels: from pixel start, the last of
// one colour, to pixel end, the first of the next.
type edge struct {
	start, end int32
	soft       bool // it takes more pixels than an edge of this picture does
}

// steps says how edges are told from what is none.
type steps struct {
	noise   int              // codes: smaller steps between pixels are nothing
	longest int              // pixels that an edge takes at most; a longer change is shading
	skip    func(x int) bool // nil for nowhere
	// least is the size, codes, that an edge at a place of the line has at least; nil
	// for any.
	least func(x int) float64
	seen  func(a, b pixel) bool
}

// skipPX is how many pixels are let go of where one is to be skipped.
const skipPX = 4

// edges finds the edges of a line that are seen, in order, and appends them to out.
func (s *steps) edges(line []pixel, out []edge) []edge {
	n := len(line)
	for x := 0; x < n-1; {
		if line[x] == line[x+1] {
			x++
			continue
		}
		total, size := step(line[x], line[x+1])
		if size <= s.noise {
			x++
			continue
		}
		if s.skip != nil && s.skip(x) {
			x += skipPX
			continue
		}
		start, most := x, size
		for x++; x < n-1; x++ {
			d, size := step(line[x], line[x+1])
			if size <= s.noise || !along(total, d) {
				break
			}
			most = max(most, size)
			for k := range total {
				total[k] += d[k]
			}
		}
		end := x
		// Shading that runs up to an edge is no part of it.
		for end-start > 2 && weak(line[start], line[start+1], most) {
			start++
		}
		for end-start > 2 && weak(line[end-1], line[end], most) {
			end--
		}
		if !s.seen(line[start], line[end]) || s.least != nil && apart(line[start], line[end]) < s.least((start+end)/2) {
			continue
		}
		out = append(out, edge{int32(start), int32(end), end-start > s.longest})
	}
	return out
}

// step is the change from one pixel to the next, and the largest of a channel.
func step(a, b pixel) (d [3]int, size int) {
	for k := range d {
		d[k] = int(b[k]) - int(a[k])
		size = max(size, d[k], -d[k])
	}
	return d, size
}

func weak(a, b pixel, most int) bool {
	_, size := step(a, b)
	return size*8 < most
}

// along reports whether d goes within 60° of the way of t.
func along(t, d [3]int) bool {
	dot, tt, dd := 0, 0, 0
	for k := range t {
		dot, tt, dd = dot+t[k]*d[k], tt+t[k]*t[k], dd+d[k]*d[k]
	}
	return dot > 0 && 4*dot*dot >= tt*dd
}

func length(d [3]int) float64 {
	return math.Sqrt(float64(d[0]*d[0] + d[1]*d[1] + d[2]*d[2]))
}

func apart(a, b pixel) float64 {
	d, _ := step(a, b)
	return length(d)
}

// ahead is how far v lies on the way from a to b: 0 at a, 1 at b, more beyond it.
func ahead(v, a, b pixel) float64 {
	dot, all := 0, 0
	for k := range 3 {
		d := int(b[k]) - int(a[k])
		dot, all = dot+(int(v[k])-int(a[k]))*d, all+d*d
	}
	if all == 0 {
		return 0
	}
	return float64(dot) / float64(all)
}

// beside is what of v lies off the straight line through a and b at t of the way.
func beside(v, a, b pixel, t float64) (d [3]float64) {
	for k := range d {
		d[k] = float64(v[k]) - float64(a[k]) - t*(float64(b[k])-float64(a[k]))
	}
	return d
}

func norm(d [3]float64) float64 { return math.Sqrt(d[0]*d[0] + d[1]*d[1] + d[2]*d[2]) }

// across is what of v lies across the straight line through a and b.
func across(v, a, b pixel) [3]float64 { return beside(v, a, b, ahead(v, a, b)) }

// off is how far v lies from the straight line through a and b, codes.
func off(v, a, b pixel) float64 { return norm(across(v, a, b)) }

// share is how much of b a pixel shows that mixes a and b, 0–1.
func share(v, a, b pixel) float64 { return math.Max(0, math.Min(1, ahead(v, a, b))) }

// span is what lies between two opposed edges of a line.
type span struct {
	line          int32
	from, to      float32 // pixels, at sub-pixel position; the middle of the first pixel is 0.5
	ink           pixel
	before, after pixel
	next          int32 // the span of the next line that goes on with it, or -1
	linked        bool  // a span before goes on with this one
}

func (s *span) middle() float32 { return (s.from + s.to) / 2 }
func (s *span) width() float32  { return s.to - s.from }

// spans appends the spans of a line that are at most so wide.
func spans(line []pixel, y int, edges []edge, widest float64, out []span) []span {
	for i := 1; i < len(edges); i++ {
		e, f := edges[i-1], edges[i]
		if e.soft || f.soft || f.start < e.end || float64(f.start-e.end) > widest {
			continue
		}
		before, after := line[e.start], line[f.end]
		ink := line[(e.end+f.start)/2]
		if other := line[f.start]; f.start-e.end == 1 && apart(other, before)+apart(other, after) > apart(ink, before)+apart(ink, after) {
			ink = other // of two pixels the stronger
		}
		from, to := float64(e.end)+1, float64(f.start)
		for x := e.start + 1; x <= e.end; x++ {
			from -= share(line[x], before, ink)
		}
		for x := f.start; x < f.end; x++ {
			to += share(line[x], after, ink)
		}
		if w := to - from; w <= 0.05 || w > widest {
			continue
		}
		out = append(out, span{line: int32(y), from: float32(from), to: float32(to), ink: ink, before: before, after: after, next: -1})
	}
	return out
}
