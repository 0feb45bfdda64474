package swatch

import (
	"encoding/binary"
	"errors"
	"fmt"
	"math"
	"strings"
	"unicode/utf16"

	"laydown/colour"
)

// parseASE reads a binary swatch exchange file (.ase). The layout is from
// memory, big-endian throughout: a signature, a version, a count of blocks;
// each block a kind, a length and, for a colour, a UTF-16 name, a model of four
// letters, its values as 32-bit floats and a usage.
func parseASE(b []byte) ([]Swatch, error) {
	if len(b) < 12 {
		return nil, errors.New("swatch exchange file is cut short")
	}
	count := binary.BigEndian.Uint32(b[8:])
	b = b[12:]
	var list []Swatch
	for n := uint32(0); n < count; n++ {
		if len(b) < 6 {
			return nil, fmt.Errorf("swatch exchange file is cut short at block %d of %d", n+1, count)
		}
		kind, size := binary.BigEndian.Uint16(b), int64(binary.BigEndian.Uint32(b[2:]))
		if size > int64(len(b)-6) {
			return nil, fmt.Errorf("swatch exchange file is cut short at block %d of %d", n+1, count)
		}
		body := b[6 : 6+size]
		b = b[6+size:]
		if kind != 1 { // groups carry no colour
			continue
		}
		s, err := aseColour(body)
		if err != nil {
			return nil, fmt.Errorf("block %d: %w", n+1, err)
		}
		if len(list) == maxSwatches {
			return nil, fmt.Errorf("more than %d colours", maxSwatches)
		}
		list = append(list, s)
	}
	return list, nil
}

func aseColour(b []byte) (s Swatch, err error) {
	short := errors.New("colour is cut short")
	if len(b) < 2 {
		return s, short
	}
	n := 2 * int(binary.BigEndian.Uint16(b))
	if len(b) < 2+n+4 {
		return s, short
	}
	name := make([]uint16, n/2)
	for i := range name {
		name[i] = binary.BigEndian.Uint16(b[2+2*i:])
	}
	s.Name = strings.TrimSpace(strings.Trim(string(utf16.Decode(name)), "\x00"))
	model := string(b[2+n : 6+n])
	b = b[6+n:]
	values := map[string]int{"RGB ": 3, "CMYK": 4, "LAB ": 3, "Gray": 1}[model]
	if values == 0 {
		return s, fmt.Errorf("colour model %q is not RGB, CMYK, LAB or Gray", model)
	}
	if len(b) < 4*values {
		return s, short
	}
	var v [4]float64
	for i := range values {
		v[i] = float64(math.Float32frombits(binary.BigEndian.Uint32(b[4*i:])))
		if model != "LAB " && !(v[i] >= 0 && v[i] <= 1) {
			return s, fmt.Errorf("value %g is outside 0 to 1", v[i])
		}
	}
	code := func(v float64) uint8 { return uint8(v*255 + 0.5) }
	switch model {
	case "RGB ":
		s.Lab, s.Screen = colour.FromSRGB(code(v[0]), code(v[1]), code(v[2])), true
	case "Gray":
		s.Lab, s.Screen = colour.FromSRGB(code(v[0]), code(v[0]), code(v[0])), true
	case "LAB ":
		s.Lab = colour.Lab{L: v[0] * 100, A: v[1], B: v[2]}
	case "CMYK":
		s = Recipe(s.Name, v)
	}
	if s.Name == "" {
		s.Name = s.Lab.Hex()
	}
	return s, s.Lab.Check()
}
