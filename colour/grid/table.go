package grid

import (
	"encoding/binary"
	"errors"
	"fmt"
	"math"

	"laydown/colour/cores"
)

// Table is a function of three or four variables to four, compiled for
// pixels: the nodes are four 16-bit values packed in one word, and the place
// of every 8-bit code on the grid is worked out beforehand. A table of one
// variable is kept as all its 65,536 values.
//
// It is immutable once built and safe for concurrent use.
type Table struct {
	in, size int
	node     []uint64 // c | m<<16 | y<<32 | k<<48
	at8      [256]cellPos
}

type cellPos struct{ cell, frac uint32 } // frac in 1/32768

const one = 1 << 15

// Compile samples f, a function of in (1, 3 or 4) variables in 0–1 to four
// values in 0–1, on a grid of size points along each. Values of f outside 0–1
// are clipped. f is called from several goroutines at once. It panics on any
// other in or a size below 2: both are the caller's constants.
func Compile(in, size int, f func(dst, src []float64)) *Table {
	t := newTable(in, size)
	rows := len(t.node) / t.size
	cores.Share(rows, func(lo, hi int) {
		var src, dst [4]float64
		for r := lo; r < hi; r++ {
			for i, q := in-2, r; i >= 0; i-- {
				src[i] = float64(q%t.size) / float64(t.size-1)
				q /= t.size
			}
			for j := range t.size {
				src[in-1] = float64(j) / float64(t.size-1)
				f(dst[:], src[:in])
				t.node[r*t.size+j] = pack(dst)
			}
		}
	})
	return t
}

func newTable(in, size int) *Table {
	if in == 1 {
		size = 65536
	}
	if (in != 1 && in != 3 && in != 4) || size < 2 {
		panic(fmt.Sprintf("grid: no table of %d inputs and %d points", in, size))
	}
	n := 1
	for range in {
		n *= size
	}
	t := &Table{in: in, size: size, node: make([]uint64, n)}
	for v := range t.at8 {
		t.at8[v] = t.place16(uint32(v) * 257)
	}
	return t
}

func pack(v [4]float64) (w uint64) {
	for i, x := range v {
		q := 0.0
		if x > 0 {
			q = math.Min(x, 1)*65535 + 0.5
		}
		w |= uint64(q) << (16 * i)
	}
	return w
}

// place16 finds a 16-bit code on the grid.
func (t *Table) place16(v uint32) cellPos {
	p := (uint64(v)*uint64(t.size-1)*one + 32767) / 65535
	c, f := uint32(p>>15), uint32(p&(one-1))
	if int(c) >= t.size-1 {
		c, f = uint32(t.size-2), one
	}
	return cellPos{c, f}
}

// Inputs is the number of input channels: 1, 3 or 4.
func (t *Table) Inputs() int { return t.in }

const lanes = 0x0000ffff0000ffff

// tetra interpolates within one cell. o are the node strides, f the fractions.
// The result is two words of two 32-bit lanes: (out0, out2) and (out1, out3),
// each a 16-bit value times 32768.
func tetra(node []uint64, base int, o0, o1, o2 uint64, f0, f1, f2 uint32) (even, odd uint64) {
	// Sort the axes by falling fraction: fraction and stride travel in one word,
	// and each exchange is arithmetic, for a branch would be guessed wrong on
	// every other pixel.
	a, b, c := uint64(f0)<<32|o0, uint64(f1)<<32|o1, uint64(f2)<<32|o2
	d := (a - b) & uint64(int64(a-b)>>63)
	a, b = a-d, b+d
	d = (b - c) & uint64(int64(b-c)>>63)
	b, c = b-d, c+d
	d = (a - b) & uint64(int64(a-b)>>63)
	a, b = a-d, b+d
	fa, fb, fc := a>>32, b>>32, c>>32
	p := base + int(uint32(a))
	n0 := node[base]
	n1 := node[p]
	p += int(uint32(b))
	n2 := node[p]
	p += int(uint32(c))
	n3 := node[p]
	w0, w1, w2 := one-fa, fa-fb, fb-fc
	even = (n0&lanes)*w0 + (n1&lanes)*w1 + (n2&lanes)*w2 + (n3&lanes)*fc
	odd = (n0>>16&lanes)*w0 + (n1>>16&lanes)*w1 + (n2>>16&lanes)*w2 + (n3>>16&lanes)*fc
	return even, odd
}

// to8 rounds both lanes of a tetra result to 8 bits, in bits 0–7 and 32–39.
func to8(v uint64) uint64 {
	v = (v+(one/2)<<32+one/2)>>15&lanes + (128<<32 | 128)
	return (v - v>>8&0x1ff_000001ff) >> 8 & 0xff_000000ff
}

// Planes are the four outputs of a row of pixels, one slice each.
type Planes [4][]uint8

// Row8 carries pixels of 8-bit channels to four planes of 8 bits. src holds
// step bytes a pixel, of which the first Inputs() are read; every plane must
// be as long as there are pixels.
func (t *Table) Row8(dst Planes, src []uint8, step int) {
	n := len(src) / step
	d0, d1, d2, d3 := dst[0][:n], dst[1][:n], dst[2][:n], dst[3][:n]
	switch t.in {
	case 1:
		for i := range n {
			w := t.node[uint32(src[i*step])*257]
			d0[i], d1[i], d2[i], d3[i] = round8(w), round8(w>>16), round8(w>>32), round8(w>>48)
		}
	case 3:
		s1 := uint64(t.size)
		s0 := s1 * s1
		node := t.node
		last := uint32(1) << 31
		var p0, p1, p2, p3 uint8
		for i := range n {
			px := src[i*step : i*step+3 : i*step+3]
			key := uint32(px[0]) | uint32(px[1])<<8 | uint32(px[2])<<16
			if key != last {
				last = key
				// This is tetra written out, as the compiler does not inline it.
				u, v, w := t.at8[px[0]], t.at8[px[1]], t.at8[px[2]]
				p := uint64(u.cell)*s0 + uint64(v.cell)*s1 + uint64(w.cell)
				a, b, c := uint64(u.frac)<<32|s0, uint64(v.frac)<<32|s1, uint64(w.frac)<<32|1
				d := (a - b) & uint64(int64(a-b)>>63)
				a, b = a-d, b+d
				d = (b - c) & uint64(int64(b-c)>>63)
				b, c = b-d, c+d
				d = (a - b) & uint64(int64(a-b)>>63)
				a, b = a-d, b+d
				n0 := node[p]
				p += a & 0xffffffff
				n1 := node[p]
				p += b & 0xffffffff
				n2 := node[p]
				p += c & 0xffffffff
				n3 := node[p]
				fa, fb, fc := a>>32, b>>32, c>>32
				w0, w1, w2 := one-fa, fa-fb, fb-fc
				even := (n0&lanes)*w0 + (n1&lanes)*w1 + (n2&lanes)*w2 + (n3&lanes)*fc
				odd := (n0>>16&lanes)*w0 + (n1>>16&lanes)*w1 + (n2>>16&lanes)*w2 + (n3>>16&lanes)*fc
				even, odd = to8(even), to8(odd)
				p0, p1, p2, p3 = uint8(even), uint8(odd), uint8(even>>32), uint8(odd>>32)
			}
			d0[i], d1[i], d2[i], d3[i] = p0, p1, p2, p3
		}
	case 4:
		for i := range n {
			px := src[i*step : i*step+4 : i*step+4]
			if i > 0 && [4]uint8(px) == [4]uint8(src[(i-1)*step:]) {
				d0[i], d1[i], d2[i], d3[i] = d0[i-1], d1[i-1], d2[i-1], d3[i-1]
				continue
			}
			d0[i], d1[i], d2[i], d3[i] = t.four(t.at8[px[0]], t.at8[px[1]], t.at8[px[2]], t.at8[px[3]])
		}
	}
}

// Row16 is Row8 for 16-bit channels, of two bytes each, the upper one first; step
// counts channels, not bytes.
func (t *Table) Row16(dst Planes, src []byte, step int) {
	n := len(src) / (2 * step)
	s1 := uint64(t.size)
	s0 := s1 * s1
	for i := range n {
		px := src[2*i*step:]
		v := func(k int) uint32 { return uint32(px[2*k])<<8 | uint32(px[2*k+1]) }
		switch t.in {
		case 1:
			w := t.node[v(0)]
			dst[0][i], dst[1][i], dst[2][i], dst[3][i] = round8(w), round8(w>>16), round8(w>>32), round8(w>>48)
		case 3:
			a, b, c := t.place16(v(0)), t.place16(v(1)), t.place16(v(2))
			base := uint64(a.cell)*s0 + uint64(b.cell)*s1 + uint64(c.cell)
			even, odd := tetra(t.node, int(base), s0, s1, 1, a.frac, b.frac, c.frac)
			even, odd = to8(even), to8(odd)
			dst[0][i], dst[1][i], dst[2][i], dst[3][i] = uint8(even), uint8(odd), uint8(even>>32), uint8(odd>>32)
		case 4:
			dst[0][i], dst[1][i], dst[2][i], dst[3][i] = t.four(t.place16(v(0)), t.place16(v(1)), t.place16(v(2)), t.place16(v(3)))
		}
	}
}

// four interpolates in four variables: the first linearly between two
// tetrahedral results.
func (t *Table) four(a, b, c, d cellPos) (p0, p1, p2, p3 uint8) {
	s2 := uint64(t.size)
	s1 := s2 * s2
	s0 := s1 * s2
	base := uint64(a.cell)*s0 + uint64(b.cell)*s1 + uint64(c.cell)*s2 + uint64(d.cell)
	even, odd := tetra(t.node, int(base), s1, s2, 1, b.frac, c.frac, d.frac)
	if a.frac != 0 {
		even1, odd1 := tetra(t.node, int(base+s0), s1, s2, 1, b.frac, c.frac, d.frac)
		w := uint64(a.frac)
		even = (even>>15&lanes)*(one-w) + (even1>>15&lanes)*w
		odd = (odd>>15&lanes)*(one-w) + (odd1>>15&lanes)*w
	}
	even, odd = to8(even), to8(odd)
	return uint8(even), uint8(odd), uint8(even >> 32), uint8(odd >> 32)
}

func round8(w uint64) uint8 {
	v := w&0xffff + 128
	return uint8((v - v>>8) >> 8)
}

// MarshalBinary writes the table so that [Table.UnmarshalBinary] restores it
// on any machine.
func (t *Table) MarshalBinary() ([]byte, error) {
	b := make([]byte, 8, 8+8*len(t.node))
	binary.BigEndian.PutUint32(b, uint32(t.in))
	binary.BigEndian.PutUint32(b[4:], uint32(t.size))
	for _, w := range t.node {
		b = binary.BigEndian.AppendUint64(b, w)
	}
	return b, nil
}

// UnmarshalBinary restores a table; the error says that the data is damaged.
func (t *Table) UnmarshalBinary(b []byte) error {
	if len(b) < 8 {
		return errors.New("stored table is cut short")
	}
	in, size := binary.BigEndian.Uint32(b), binary.BigEndian.Uint32(b[4:])
	if (in != 1 && in != 3 && in != 4) || size < 2 || size > 65536 || (in != 1 && size > 255) || (in == 1 && size != 65536) {
		return errors.New("stored table has an impossible shape")
	}
	n := int(size)
	for range in - 1 {
		n *= int(size)
	}
	if len(b) != 8+8*n {
		return errors.New("stored table has the wrong length")
	}
	*t = *newTable(int(in), int(size))
	for i := range t.node {
		t.node[i] = binary.BigEndian.Uint64(b[8+8*i:])
	}
	return nil
}
