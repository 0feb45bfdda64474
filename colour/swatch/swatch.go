// Package swatch reads palettes: lists of named colours in fixed formats.
//
// Read are GIMP palettes, binary swatch exchange files (.ase: RGB, CMYK, Lab and grey)
// and CxF documents (ISO 17972-4: Lab and spectra), told apart by their content. Screen
// values are sRGB carried to D50: what a screen shows, which is not always what the
// brand's book says; measured Lab is better.
package swatch

import (
	"bufio"
	"bytes"
	"errors"
	"fmt"
	"strconv"
	"strings"

	"laydown/colour"
)

// Swatch is one named colour, absolute under D50.
type Swatch struct {
	Name string
	Lab  colour.Lab
	// CMYK, if set, is all the list says: tone values 0–1 of a press, which
	// alone can tell their Lab.
	CMYK *[4]float64
}

// maxSwatches is far above any brand's list.
const maxSwatches = 100_000

// ErrUnknown says that a file is in none of the formats that [Parse] reads. It may be
// a list as people write it.
var ErrUnknown = errors.New("is no palette that is known: save it as a GIMP palette, a swatch exchange file (.ase) or a CxF document")

// Parse reads a palette. The error is [ErrUnknown] if it is none by its first bytes;
// else it says what is broken, by line or block. An empty palette is an error.
func Parse(data []byte) (list []Swatch, err error) {
	data = bytes.TrimPrefix(data, []byte("\xef\xbb\xbf"))
	switch {
	case bytes.HasPrefix(data, []byte("GIMP Palette")):
		list, err = parseGIMP(data)
	case bytes.HasPrefix(data, []byte("ASEF")):
		list, err = parseASE(data)
	case bytes.HasPrefix(bytes.TrimSpace(data), []byte("<")):
		list, err = parseCxF(data)
	default:
		return nil, ErrUnknown
	}
	if err == nil && len(list) == 0 {
		err = errors.New("the list holds no colours")
	}
	if err != nil {
		return nil, err
	}
	return list, nil
}

// parseGIMP reads a GIMP palette (.gpl): rows of red, green, blue and a name.
func parseGIMP(data []byte) ([]Swatch, error) {
	var list []Swatch
	sc := bufio.NewScanner(bytes.NewReader(data))
	for line := 1; sc.Scan(); line++ {
		text := strings.TrimSpace(sc.Text())
		if line == 1 || text == "" || text[0] == '#' || strings.HasPrefix(text, "Name:") || strings.HasPrefix(text, "Columns:") {
			continue
		}
		f := strings.Fields(text)
		if len(f) < 3 {
			return nil, fmt.Errorf("line %d: expected red, green, blue and a name", line)
		}
		var rgb [3]uint8
		for i := range rgb {
			v, err := strconv.ParseUint(f[i], 10, 8)
			if err != nil {
				return nil, fmt.Errorf("line %d: %q is not a number from 0 to 255", line, f[i])
			}
			rgb[i] = uint8(v)
		}
		name := strings.Join(f[3:], " ")
		if name == "" || name == "Untitled" {
			name = fmt.Sprintf("#%02x%02x%02x", rgb[0], rgb[1], rgb[2])
		}
		if len(list) == maxSwatches {
			return nil, fmt.Errorf("more than %d colours", maxSwatches)
		}
		list = append(list, Swatch{Name: name, Lab: colour.FromSRGB(rgb[0], rgb[1], rgb[2])})
	}
	return list, sc.Err()
}
