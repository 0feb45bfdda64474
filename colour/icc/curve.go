package icc

import (
	"encoding/binary"
	"errors"
	"fmt"
	"math"
	"sort"
)

// curve is a one-dimensional tone curve: a parametric function (kind ≥ 0) or a
// table of equally spaced values in 0–1.
type curve struct {
	kind  int        // function type of ICC.1:2010 table 65, or -1 for a table
	g     [7]float64 // g a b c d e f
	table []float64
}

var paraCount = []int{1, 3, 4, 5, 7}

func gammaCurve(g float64) *curve { return &curve{kind: 0, g: [7]float64{g, 1}} }

// parseCurve reads a curv or para element and the number of bytes it takes.
func parseCurve(b []byte) (*curve, int, error) {
	if len(b) < 12 {
		return nil, 0, errors.New("tone curve is cut short")
	}
	switch string(b[:4]) {
	case "curv":
		n := int64(binary.BigEndian.Uint32(b[8:]))
		if 12+2*n > int64(len(b)) {
			return nil, 0, errors.New("tone curve is cut short")
		}
		size := 12 + 2*int(n)
		switch n {
		case 0:
			return gammaCurve(1), size, nil
		case 1:
			return gammaCurve(float64(binary.BigEndian.Uint16(b[12:])) / 256), size, nil
		}
		return &curve{kind: -1, table: words(b[12:size])}, size, nil
	case "para":
		kind := int(binary.BigEndian.Uint16(b[8:]))
		if kind >= len(paraCount) {
			return nil, 0, fmt.Errorf("parametric curve of type %d is not defined", kind)
		}
		n := paraCount[kind]
		if len(b) < 12+4*n {
			return nil, 0, errors.New("parametric curve is cut short")
		}
		c := &curve{kind: kind}
		for i := range n {
			c.g[i] = s15f16(b[12+4*i:])
		}
		if kind == 0 {
			c.g[1] = 1
		}
		return c, 12 + 4*n, nil
	}
	return nil, 0, fmt.Errorf("tone curve of type %q is not curv or para", b[:4])
}

// words reads big-endian 16-bit values as fractions of 65535.
func words(b []byte) []float64 {
	t := make([]float64, len(b)/2)
	for i := range t {
		t[i] = float64(binary.BigEndian.Uint16(b[2*i:])) / 65535
	}
	return t
}

func octets(b []byte) []float64 {
	t := make([]float64, len(b))
	for i, v := range b {
		t[i] = float64(v) / 255
	}
	return t
}

// eval applies the curve. Tables clip their input to 0–1; parametric curves do
// not clip, but never yield NaN.
func (c *curve) eval(x float64) float64 {
	if c.kind < 0 {
		last := len(c.table) - 1
		p := x * float64(last)
		switch {
		case !(p > 0):
			return c.table[0]
		case p >= float64(last):
			return c.table[last]
		}
		i := int(p)
		return c.table[i] + (p-float64(i))*(c.table[i+1]-c.table[i])
	}
	g, a, b, cc, d, e, f := c.g[0], c.g[1], c.g[2], c.g[3], c.g[4], c.g[5], c.g[6]
	y := x
	switch c.kind {
	case 0:
		if g != 1 {
			y = power(x, g)
		}
	case 1, 2:
		if a != 0 && x < -b/a {
			y = 0
		} else {
			y = power(a*x+b, g)
		}
		if c.kind == 2 {
			y += cc
		}
	case 3, 4:
		if x >= d {
			y = power(a*x+b, g) + e
		} else {
			y = cc*x + f
		}
	}
	if math.IsNaN(y) || math.IsInf(y, 0) {
		return 0
	}
	return y
}

func power(x, g float64) float64 {
	if x <= 0 {
		return 0
	}
	return math.Pow(x, g)
}

// inverse returns a function that undoes c on 0–1. The curve must not turn
// around: it may be flat in places, where the middle of the flat is returned.
func (c *curve) inverse() func(float64) float64 {
	n := 4096
	if c.kind < 0 {
		n = max(n, len(c.table))
	}
	t := make([]float64, n+1)
	for i := range t {
		t[i] = c.eval(float64(i) / float64(n))
	}
	falling := t[n] < t[0]
	if falling {
		for i := range t {
			t[i] = -t[i]
		}
	}
	for i := 1; i < len(t); i++ { // noise in a measured curve must not break the search
		t[i] = math.Max(t[i], t[i-1])
	}
	return func(y float64) float64 {
		if falling {
			y = -y
		}
		lo := sort.SearchFloat64s(t, y) // first t[lo] ≥ y
		if lo == 0 {
			return 0
		}
		if lo > n {
			return 1
		}
		x := float64(lo-1) + (y-t[lo-1])/(t[lo]-t[lo-1])
		if t[lo] == y {
			hi := lo
			for hi < n && t[hi+1] == y {
				hi++
			}
			if lo > 0 && hi < n && hi > lo {
				x = float64(lo+hi) / 2
			}
		}
		return x / float64(n)
	}
}
