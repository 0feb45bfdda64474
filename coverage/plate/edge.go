package plate

import (
	"encoding/binary"
	"math"
	"math/bits"
	"slices"

	"laydown/colour/cores"
)

// greys is a view of a grey picture, whose pixel at x, y is pix[y*stride+x*step].
// Beyond the picture all is 0.
type greys struct {
	pix          []uint8
	w, h         int
	step, stride int
	from         uint8 // above 0, what is at least this is 255 and all else 0
	negative     bool  // 255 less each value, beyond the picture too
}

// beyond is the value outside the picture.
func (g *greys) beyond() uint8 {
	if g.negative {
		return 255
	}
	return 0
}

// row sets dst to row y from x on; both may lie outside.
func (g *greys) row(dst []uint8, x, y int) {
	left, right := max(0, min(len(dst), -x)), max(0, min(len(dst), g.w-x))
	if y < 0 || y >= g.h || left >= right {
		left, right = 0, 0
	}
	for _, out := range [][]uint8{dst[:left], dst[right:]} {
		for i := range out {
			out[i] = g.beyond()
		}
	}
	if dst = dst[left:right]; len(dst) == 0 {
		return
	}
	if src := g.pix[y*g.stride+(x+left)*g.step:]; g.step == 1 {
		copy(dst, src)
	} else {
		for i := range dst {
			dst[i] = src[i*g.step]
		}
	}
	if g.from > 0 {
		for i, v := range dst {
			dst[i] = 0
			if v >= g.from {
				dst[i] = 255
			}
		}
	}
	if g.negative {
		for i, v := range dst {
			dst[i] = ^v
		}
	}
}

// least is the lesser of each of the eight bytes of two words.
func least(a, b uint64) uint64 {
	const high = 0x8080808080808080
	low := (a | high) - b&^high // high bit of each byte: the lower seven of a are no less than those of b
	no := (a&^b | ^(a^b)&low) & high
	return a ^ (a^b)&(no<<1-no>>7)
}

// cell is the side in pixels of the squares in which a picture is looked through for
// places where nothing moves, and the width of what is worked on at once.
const cell = 8

// mover moves every edge of a grey picture inwards by a radius: grey-scale erosion by
// a disc. Its answer at a pixel is the mean of the least value within r pixels, between
// centres, over all r from radius to radius + 1. Of a picture of 0 and 255 that is how
// far its nearest 0 is, less the radius, at most 1: an edge with one soft pixel whose
// place is known to a part of a pixel, for the edge itself lies half a pixel before the
// centre of the first pixel outside. What is soft is taken as so many such pictures as
// it has levels, and so a soft edge moves as it is, and level parts stay.
//
// The least value within a disc is that of its rows, each of which is two overlapping
// windows of a power of two in width (Urbach and Wilkinson, "Efficient 2-D grayscale
// morphological transformations with arbitrary flat structuring elements", 2008): of
// every such width a table holds the least values, eight pixels to a word. Work
// grows with the radius, but only near edges and in fades is there any.
//
// Along rows, columns and fades the answer is exact to a code. A slanted edge moves up
// to a third of a pixel too far, for its nearest pixels lie less than a whole one apart;
// all round a shape that makes up to a quarter.
type mover struct {
	reach  int // how many pixels away anything can count
	side   int // of a tile, pixels, without reach all round
	stride int // of a row of a table
	size   int // of a table
	tables int // of windows 1, 2, 4… wide, after which comes one of squares
	rings  []ring
}

// ring is by what a disc has grown since the ring before, the first one from nothing,
// and over what part of 256 of the radii it has grown no further.
type ring struct {
	rows []span
	part uint64
}

// span is a row of a disc: its two windows, by their places in the tables from that
// of a pixel.
type span struct{ a, b int }

func newMover(radius float64) *mover {
	m := &mover{reach: int(math.Ceil(radius))}
	m.side = max(64, (2*m.reach+cell-1)/cell*cell)
	m.stride = m.side + 2*m.reach
	m.tables = bits.Len(uint(2*m.reach + 1))
	m.size = m.stride*m.stride + 2*cell + m.stride
	// What is lost to an edge beside, above or below is soon known in this order.
	order := []int{0}
	half := map[int]int{0: -1} // of each row, -1 before the disc reaches it
	for dy := m.reach; dy > 0; dy-- {
		order = append(order, dy, -dy)
		half[dy], half[-dy] = -1, -1
	}
	for at := range 256 {
		r := radius + (float64(at)+0.5)/256
		var rows []span
		for _, dy := range order {
			if q := r*r - float64(dy*dy); q >= 0 {
				if w := min(m.reach, int(math.Sqrt(q))); w > half[dy] {
					half[dy] = w
					rows = append(rows, m.span(dy, w))
				}
			}
		}
		if rows != nil {
			m.rings = append(m.rings, ring{rows: rows})
		}
		m.rings[len(m.rings)-1].part++
	}
	return m
}

// span is the row dy below a pixel, of w to either side.
func (m *mover) span(dy, w int) span {
	k := bits.Len(uint(2*w+1)) - 1
	from := k*m.size + dy*m.stride
	return span{from - w, from + w + 1 - 1<<k}
}

// move calls f wherever something moves, with the values of a row from x, y on as they
// were and as they are now, from several goroutines at once. The picture must not
// change meanwhile, unless where f is called for it is not looked at again.
func (m *mover) move(g greys, f func(x, y int, was, now []uint8)) {
	still := m.still(&g)
	across := (g.w + cell - 1) / cell
	cores.Each((g.h+m.side-1)/m.side, func(i int) {
		top, table := i*m.side, make([]uint8, (m.tables+1)*m.size)
		bottom := min(top+m.side, g.h)
		for left := 0; left < g.w; left += m.side {
			right, ready := min(left+m.side, g.w), false
			for y := top; y < bottom; y += cell {
				for x := left; x < right; x += cell {
					if still[y/cell*across+x/cell] {
						continue
					}
					if !ready {
						m.look(table, &g, left, top)
						ready = true
					}
					at := (y-top+m.reach)*m.stride + x - left + m.reach
					for line := y; line < min(y+cell, bottom); line++ {
						m.word(table, at, &g, x, line, f)
						at += m.stride
					}
				}
			}
		}
	})
}

// word works on up to eight pixels from x, y on, which are at a place in the tables.
func (m *mover) word(table []uint8, at int, g *greys, x, y int, f func(x, y int, was, now []uint8)) {
	const even = 0x00ff00ff00ff00ff // every other byte, with room above it
	// Where there is nothing, or nothing less in the square around, nothing moves.
	was := binary.LittleEndian.Uint64(table[at:])
	if was == 0 || was == binary.LittleEndian.Uint64(table[m.tables*m.size+at-m.reach*m.stride:]) {
		return
	}
	e, lo, hi := uint64(math.MaxUint64), uint64(even/255*128), uint64(even/255*128)
work:
	for i := range m.rings {
		r := &m.rings[i]
		for _, s := range r.rows {
			e = least(e, least(binary.LittleEndian.Uint64(table[at+s.a:]), binary.LittleEndian.Uint64(table[at+s.b:])))
			if e == 0 {
				break work
			}
		}
		lo += e & even * r.part
		hi += e >> 8 & even * r.part
	}
	now := lo>>8&even | hi&^even
	if now == was {
		return
	}
	if g.negative {
		was, now = ^was, ^now
	}
	var b [2 * cell]uint8
	binary.LittleEndian.PutUint64(b[:], was)
	binary.LittleEndian.PutUint64(b[cell:], now)
	n := min(cell, g.w-x)
	f(x, y, b[:n], b[cell:cell+n])
}

// look fills the tables for the tile at left, top.
func (m *mover) look(table []uint8, g *greys, left, top int) {
	for y := range m.stride {
		g.row(table[y*m.stride:(y+1)*m.stride], left-m.reach, top-m.reach+y)
	}
	for k := 1; k < m.tables; k++ {
		half := 1 << (k - 1)
		from, to := table[(k-1)*m.size:], table[k*m.size:]
		for i := 0; i < m.stride*m.stride; i += cell { // windows that run over a row's end are not asked for
			v := least(binary.LittleEndian.Uint64(from[i:]), binary.LittleEndian.Uint64(from[i+half:]))
			binary.LittleEndian.PutUint64(to[i:], v)
		}
	}
	// The last table is of squares that hold the disc: the rows' widest windows, and as
	// many of them, first a power of two and then two that overlap.
	square := table[m.tables*m.size:]
	wide := m.span(0, m.reach)
	for y := range m.stride {
		for at := y*m.stride + m.reach; at < y*m.stride+m.reach+m.side; at += cell {
			v := least(binary.LittleEndian.Uint64(table[at+wide.a:]), binary.LittleEndian.Uint64(table[at+wide.b:]))
			binary.LittleEndian.PutUint64(square[at:], v)
		}
	}
	below := func(rows, left int) { // takes in what lies so many rows below, where that leaves so many
		for y := range left {
			for at := y*m.stride + m.reach; at < y*m.stride+m.reach+m.side; at += cell {
				v := least(binary.LittleEndian.Uint64(square[at:]), binary.LittleEndian.Uint64(square[at+rows*m.stride:]))
				binary.LittleEndian.PutUint64(square[at:], v)
			}
		}
	}
	tall := 1
	for ; 2*tall <= 2*m.reach+1; tall *= 2 {
		below(tall, m.stride-2*tall+1)
	}
	below(2*m.reach+1-tall, m.side)
}

// still says of each cell, row by row, whether nothing within reach of it is less than
// what it is all over, so that nothing there moves.
func (m *mover) still(g *greys) []bool {
	across, down := (g.w+cell-1)/cell, (g.h+cell-1)/cell
	low, high := make([]uint8, across*down), make([]uint8, across*down)
	still := make([]bool, across*down)
	cores.Share(down, func(lo, hi int) {
		row := make([]uint8, across*cell)
		lows, highs := make([]uint64, across), make([]uint64, across)
		for cy := lo; cy < hi; cy++ {
			for i := range lows {
				lows[i], highs[i] = math.MaxUint64, math.MaxUint64 // of the negative
			}
			for y := cy * cell; y < (cy+1)*cell; y++ {
				g.row(row, 0, y)
				for i := range lows {
					v := binary.LittleEndian.Uint64(row[i*cell:])
					lows[i], highs[i] = least(lows[i], v), least(highs[i], ^v)
				}
			}
			for i := range lows {
				low[cy*across+i], high[cy*across+i] = leastByte(lows[i]), ^leastByte(highs[i])
			}
		}
	})
	// The least of all cells within reach, along rows and then along columns.
	reach := (m.reach + cell - 1) / cell
	beside := make([]uint8, across*down)
	cores.Share(down, func(lo, hi int) {
		for cy := lo; cy < hi; cy++ {
			row := low[cy*across : (cy+1)*across]
			for cx := range row {
				v := slices.Min(row[max(0, cx-reach):min(across, cx+reach+1)])
				if cx < reach || cx+reach >= across {
					v = min(v, g.beyond())
				}
				beside[cy*across+cx] = v
			}
		}
	})
	cores.Share(down, func(lo, hi int) {
		for cy := lo; cy < hi; cy++ {
			for cx := range across {
				v := uint8(255)
				if cy < reach || cy+reach >= down {
					v = g.beyond()
				}
				for y := max(0, cy-reach); y < min(down, cy+reach+1); y++ {
					v = min(v, beside[y*across+cx])
				}
				still[cy*across+cx] = v == high[cy*across+cx]
			}
		}
	})
	return still
}

// leastByte is the least of a word's bytes.
func leastByte(v uint64) uint8 {
	v = least(v, v>>32|v<<32)
	v = least(v, v>>16|v<<48)
	return uint8(min(v&255, v>>8&255))
}
