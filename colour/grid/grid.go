// Package grid interpolates functions of one to four variables that are known
// on a regular grid.
//
// [Lattice] holds float64 values and interpolates exactly as a colour lookup
// table is meant to be: linear in one dimension, tetrahedral (or trilinear on
// request) in three, and in four the first variable linearly between two
// three-dimensional results. [Table] is the same in 16-bit integers, laid out
// for pushing pixels through.
//
// Tetrahedral interpolation follows Kasson, Nin, Plouffe and Hafner,
// "Performing color space conversions with three-dimensional linear
// interpolation", Journal of Electronic Imaging 4(3), 1995.
package grid

import "fmt"

// Lattice is a function of len(Size) variables in 0–1 with Out values each,
// known at Size[i] equally spaced points along variable i. The last variable
// runs fastest in Node; the Out values of a node lie together.
type Lattice struct {
	Size []int
	Out  int
	Node []float64
}

// maxNodes bounds a lattice to what a printer profile could hold.
const maxNodes = 1 << 26

// New returns a lattice of zeros. It is an error when there are fewer than one
// or more than four variables, fewer than two points along one, no values, or
// more than 2²⁶ numbers.
func New(size []int, out int) (*Lattice, error) {
	if len(size) < 1 || len(size) > 4 || out < 1 {
		return nil, fmt.Errorf("a lookup table of %d inputs and %d outputs is not read: 1 to 4 inputs", len(size), out)
	}
	n := out
	for _, s := range size {
		if s < 2 || s > 255 {
			return nil, fmt.Errorf("lookup table has %d grid points along an input; 2 to 255 are allowed", s)
		}
		if n *= s; n > maxNodes {
			return nil, fmt.Errorf("lookup table of more than %d numbers", maxNodes)
		}
	}
	return &Lattice{append([]int(nil), size...), out, make([]float64, n)}, nil
}

// place splits x in 0–1 into a cell number and the fraction within it; x
// outside is clipped and NaN counts as 0.
func place(x float64, size int) (cell int, frac float64) {
	p := x * float64(size-1)
	if !(p > 0) {
		return 0, 0
	}
	if p >= float64(size-1) {
		return size - 2, 1
	}
	cell = int(p)
	return cell, p - float64(cell)
}

// Eval interpolates at x (one value per variable, clipped to 0–1) into dst
// (Out values): linear, tetrahedral in the last three variables, linear in a
// fourth before them.
func (l *Lattice) Eval(dst, x []float64) { l.eval(dst, x, tetrahedral) }

// EvalLinear is Eval with trilinear in place of tetrahedral interpolation: the
// better choice where neutrals do not run along the cube's diagonal, as in a
// Lab table.
func (l *Lattice) EvalLinear(dst, x []float64) { l.eval(dst, x, trilinear) }

type cubeFunc func(dst []float64, node []float64, o [3]int, f [3]float64)

func (l *Lattice) eval(dst, x []float64, cube cubeFunc) {
	n, out := len(l.Size), l.Out
	var stride, cell [4]int
	var frac [4]float64
	s, base := out, 0
	for i := n - 1; i >= 0; i-- {
		stride[i] = s
		cell[i], frac[i] = place(x[i], l.Size[i])
		base += cell[i] * s
		s *= l.Size[i]
	}
	node := l.Node[base:]
	switch n {
	case 1, 2:
		clear(dst[:out])
		for c := range 1 << n {
			w, o := 1.0, 0
			for i := range n {
				if c>>i&1 == 1 {
					w, o = w*frac[i], o+stride[i]
				} else {
					w *= 1 - frac[i]
				}
			}
			for j := range out {
				dst[j] += w * node[o+j]
			}
		}
	case 3:
		cube(dst[:out], node, [3]int(stride[:3]), [3]float64(frac[:3]))
	case 4:
		var hi [16]float64
		o, f := [3]int(stride[1:]), [3]float64(frac[1:])
		cube(dst[:out], node, o, f)
		if frac[0] == 0 {
			return
		}
		up := hi[:]
		if out > len(up) {
			up = make([]float64, out)
		}
		cube(up[:out], node[stride[0]:], o, f)
		for j := range out {
			dst[j] += frac[0] * (up[j] - dst[j])
		}
	}
}

// tetrahedral walks from the cell's low corner to its high one along the
// variables in order of falling fraction.
func tetrahedral(dst, node []float64, o [3]int, f [3]float64) {
	a, b, c := 0, 1, 2
	if f[b] > f[a] {
		a, b = b, a
	}
	if f[c] > f[b] {
		b, c = c, b
		if f[b] > f[a] {
			a, b = b, a
		}
	}
	p1, p2, p3 := o[a], o[a]+o[b], o[0]+o[1]+o[2]
	w0, w1, w2, w3 := 1-f[a], f[a]-f[b], f[b]-f[c], f[c]
	for j := range dst {
		dst[j] = w0*node[j] + w1*node[p1+j] + w2*node[p2+j] + w3*node[p3+j]
	}
}

func trilinear(dst, node []float64, o [3]int, f [3]float64) {
	for j := range dst {
		n := node[j:]
		lerp := func(at int) float64 { return n[at] + f[2]*(n[at+o[2]]-n[at]) }
		c00, c01 := lerp(0), lerp(o[1])
		c10, c11 := lerp(o[0]), lerp(o[0]+o[1])
		c0, c1 := c00+f[1]*(c01-c00), c10+f[1]*(c11-c10)
		dst[j] = c0 + f[0]*(c1-c0)
	}
}
