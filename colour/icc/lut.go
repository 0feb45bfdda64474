package icc

import (
	"encoding/binary"
	"errors"
	"fmt"

	"laydown/colour"
	"laydown/colour/grid"
)

// lut is a lookup-table tag in either direction, as a chain of stages on
// encoded values in 0–1.
type lut struct {
	in, out int
	legacy  bool // 16-bit Lab in the encoding of version 2
	stages  []func(v []float64) []float64
}

// eval runs the chain. v must have room for 4 values.
func (l *lut) eval(v []float64) []float64 {
	for _, s := range l.stages {
		v = s(v)
	}
	return v
}

func curveStage(cs []*curve) func([]float64) []float64 {
	return func(v []float64) []float64 {
		for i, c := range cs {
			v[i] = c.eval(v[i])
		}
		return v
	}
}

func matrixStage(m colour.Matrix, off [3]float64) func([]float64) []float64 {
	return func(v []float64) []float64 {
		o := m.Apply([3]float64(v[:3]))
		for i := range o {
			v[i] = o[i] + off[i]
		}
		return v
	}
}

func latticeStage(l *grid.Lattice, linear bool) func([]float64) []float64 {
	return func(v []float64) []float64 {
		var in [4]float64
		copy(in[:], v)
		if linear {
			l.EvalLinear(v[:l.Out], in[:len(l.Size)])
		} else {
			l.Eval(v[:l.Out], in[:len(l.Size)])
		}
		return v
	}
}

// parseLut reads a tag that must have in inputs and out outputs. linear asks
// for trilinear interpolation, for tables whose input is Lab.
func parseLut(b []byte, in, out int, linear bool) (*lut, error) {
	if len(b) < 32 {
		return nil, errors.New("lookup table is cut short")
	}
	kind := string(b[:4])
	if i, o := int(b[8]), int(b[9]); i != in || o != out {
		return nil, fmt.Errorf("lookup table has %d inputs and %d outputs, not %d and %d", i, o, in, out)
	}
	l := &lut{in: in, out: out}
	var err error
	switch kind {
	case "mft1", "mft2":
		err = l.parseMft(b, kind == "mft2", linear)
	case "mAB ":
		err = l.parseStaged(b, false, linear)
	case "mBA ":
		err = l.parseStaged(b, true, linear)
	default:
		err = fmt.Errorf("lookup table of type %q is not read", kind)
	}
	if err != nil {
		return nil, err
	}
	return l, nil
}

// parseMft reads lut8Type and lut16Type (ICC.1:2010, 10.10 and 10.8).
func (l *lut) parseMft(b []byte, wide, linear bool) error {
	if len(b) < 52 {
		return errors.New("lookup table is cut short")
	}
	l.legacy = wide
	var m colour.Matrix
	for i := range 9 {
		m[i/3][i%3] = s15f16(b[12+4*i:])
	}
	if l.in == 3 && m != (colour.Matrix{{1}, {0, 1}, {0, 0, 1}}) && m != (colour.Matrix{}) {
		l.stages = append(l.stages, matrixStage(m, [3]float64{}))
	}
	size := int(b[10])
	nIn, nOut, at, width := 256, 256, 48, 1
	read := octets
	if wide {
		nIn, nOut, at, width = int(binary.BigEndian.Uint16(b[48:])), int(binary.BigEndian.Uint16(b[50:])), 52, 2
		read = words
		if nIn < 2 || nIn > 4096 || nOut < 2 || nOut > 4096 {
			return fmt.Errorf("lookup table with curves of %d and %d entries; 2 to 4096 are allowed", nIn, nOut)
		}
	}
	take := func(n int) ([]float64, error) {
		if n *= width; at+n > len(b) {
			return nil, errors.New("lookup table is cut short")
		}
		v := read(b[at : at+n])
		at += n
		return v, nil
	}
	curves := func(count, entries int) error {
		cs := make([]*curve, count)
		for i := range cs {
			t, err := take(entries)
			if err != nil {
				return err
			}
			cs[i] = &curve{kind: -1, table: t}
		}
		l.stages = append(l.stages, curveStage(cs))
		return nil
	}
	if err := curves(l.in, nIn); err != nil {
		return err
	}
	sizes := make([]int, l.in)
	for i := range sizes {
		sizes[i] = size
	}
	if err := l.addLattice(sizes, linear, take); err != nil {
		return err
	}
	return curves(l.out, nOut)
}

func (l *lut) addLattice(sizes []int, linear bool, take func(int) ([]float64, error)) error {
	n := l.out
	for _, s := range sizes {
		if s > 0 && n <= 1<<26 {
			n *= s
		}
	}
	v, err := take(n) // before grid.New: a damaged size must not cost memory
	if err != nil {
		return err
	}
	g, err := grid.New(sizes, l.out)
	if err != nil {
		return err
	}
	g.Node = v
	l.stages = append(l.stages, latticeStage(g, linear))
	return nil
}

// parseStaged reads lutAToBType and lutBToAType (ICC.1:2010, 10.12 and 10.13).
func (l *lut) parseStaged(b []byte, toDevice, linear bool) error {
	offset := func(i int) int { return int(binary.BigEndian.Uint32(b[12+4*i:])) }
	offB, offMatrix, offM, offC, offA := offset(0), offset(1), offset(2), offset(3), offset(4)
	for i := range 5 {
		if o := offset(i); o != 0 && (o < 32 || o >= len(b)) {
			return errors.New("lookup table points outside itself")
		}
	}
	pcsSide, devSide := l.out, l.in
	if toDevice {
		pcsSide, devSide = l.in, l.out
	}
	curves := func(off, n int) error {
		if off == 0 {
			return nil
		}
		cs := make([]*curve, n)
		for i := range cs {
			if off >= len(b) {
				return errors.New("lookup table is cut short")
			}
			c, size, err := parseCurve(b[off:])
			if err != nil {
				return err
			}
			cs[i] = c
			off += (size + 3) &^ 3
		}
		l.stages = append(l.stages, curveStage(cs))
		return nil
	}
	matrix := func() error {
		if offMatrix == 0 {
			return nil
		}
		if offMatrix+48 > len(b) {
			return errors.New("lookup table is cut short")
		}
		var m colour.Matrix
		var off [3]float64
		for i := range 9 {
			m[i/3][i%3] = s15f16(b[offMatrix+4*i:])
		}
		for i := range off {
			off[i] = s15f16(b[offMatrix+36+4*i:])
		}
		l.stages = append(l.stages, matrixStage(m, off))
		return nil
	}
	lattice := func() error {
		if offC == 0 {
			if l.in != l.out {
				return fmt.Errorf("lookup table from %d to %d channels has no grid", l.in, l.out)
			}
			return nil
		}
		if offC+20 > len(b) {
			return errors.New("lookup table is cut short")
		}
		sizes := make([]int, l.in)
		for i := range sizes {
			sizes[i] = int(b[offC+i])
		}
		at, width, read := offC+20, int(b[offC+16]), octets
		switch width {
		case 1:
		case 2:
			read = words
		default:
			return fmt.Errorf("lookup table of %d bytes a value; 1 or 2 are allowed", width)
		}
		return l.addLattice(sizes, linear, func(n int) ([]float64, error) {
			if n > (len(b)-at)/width {
				return nil, errors.New("lookup table is cut short")
			}
			return read(b[at : at+n*width]), nil
		})
	}
	steps := []func() error{
		func() error { return curves(offA, devSide) }, lattice,
		func() error { return curves(offM, pcsSide) }, matrix,
		func() error { return curves(offB, pcsSide) },
	}
	for i := range steps {
		if toDevice {
			i = len(steps) - 1 - i
		}
		if err := steps[i](); err != nil {
			return err
		}
	}
	return nil
}

// The encodings of the connection space in a lookup table, all to and from
// 0–1 (ICC.1:2010, 6.3.4; the 16-bit Lab of lut16Type is that of version 2,
// 10.8 note).

const xyzScale = 65535.0 / 32768

func (l *lut) decodePCS(v []float64, lab bool) colour.XYZ {
	if !lab {
		return colour.XYZ{X: v[0] * xyzScale, Y: v[1] * xyzScale, Z: v[2] * xyzScale}
	}
	s := 1.0
	if l.legacy {
		s = 65535.0 / 65280
	}
	return colour.Lab{L: v[0] * s * 100, A: v[1]*s*255 - 128, B: v[2]*s*255 - 128}.XYZ(colour.D50)
}

func (l *lut) encodePCS(v []float64, c colour.XYZ, lab bool) {
	if !lab {
		v[0], v[1], v[2] = c.X/xyzScale, c.Y/xyzScale, c.Z/xyzScale
		return
	}
	encodeLab(v, c.Lab(colour.D50), l.legacy)
}

func encodeLab(v []float64, c colour.Lab, legacy bool) {
	s := 1.0
	if legacy {
		s = 65280.0 / 65535
	}
	v[0], v[1], v[2] = c.L/100*s, (c.A+128)/255*s, (c.B+128)/255*s
}
