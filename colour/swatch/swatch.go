// Package swatch reads palettes: lists of named colours in fixed formats.
//
// Read are GIMP palettes, binary swatch exchange files (.ase: RGB, CMYK, Lab and grey)
// and CxF documents (ISO 17972-4: Lab and spectra), told apart by their content. Of
// colours that a CxF document has under several conditions of ISO 13655 one is taken,
// and the swatch says which. Screen
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
	// Screen says that the list gives a screen's colour, of which Lab is what a screen
	// shows beside its own white; else Lab was measured and is absolute.
	Screen bool
	// Relative says that Lab was measured beside the white of its own paper, as L 100.
	Relative bool
	// CMYK, if set, is all the list says: tone values 0–1 of a press, which
	// alone can tell their Lab.
	CMYK *[4]float64
	// Measurement is the condition under which Lab was measured, "" if the list does
	// not say. Also are the other conditions, in order, of which the list has the
	// colour as well; "" among them is one that is not said.
	Measurement Measurement
	Also        []Measurement
}

// Skipped is a colour of a list that cannot be taken, and why: what the list has of it.
type Skipped struct {
	Name string `json:"name"`
	Why  string `json:"why"` // such as: is not measured under M2: the list has M0 of it
}

// Recipe is a colour that a list gives as CMYK, tone values 0–1; one without a name is
// called by its numbers in percent.
func Recipe(name string, cmyk [4]float64) Swatch {
	if name == "" {
		name = fmt.Sprintf("C%.0f M%.0f Y%.0f K%.0f", 100*cmyk[0], 100*cmyk[1], 100*cmyk[2], 100*cmyk[3])
	}
	return Swatch{Name: name, CMYK: &cmyk}
}

// ParseRecipe reads C/M/Y/K in percent, such as 0/100/60/5; ok reports whether text has
// that form. Values outside 0–100 are an error.
func ParseRecipe(name, text string) (s Swatch, ok bool, err error) {
	parts := strings.Split(text, "/")
	if len(parts) != 4 {
		return s, false, nil
	}
	var v [4]float64
	for i, p := range parts {
		percent, err := strconv.ParseFloat(strings.TrimSpace(p), 64)
		if err != nil || !(percent >= 0 && percent <= 100) {
			return s, true, fmt.Errorf("colour %q: write C/M/Y/K in percent from 0 to 100, such as 0/100/60/5", text)
		}
		v[i] = percent / 100
	}
	return Recipe(name, v), true, nil
}

// Measurement is a measurement condition of ISO 13655: M0 (incandescent light), M1
// (daylight D50, with what brighteners make of it), M2 (without ultraviolet) or M3
// (polarised).
type Measurement string

// The conditions of ISO 13655.
const (
	M0 Measurement = "M0"
	M1 Measurement = "M1"
	M2 Measurement = "M2"
	M3 Measurement = "M3"
)

// ParseMeasurement reads a condition, in capitals or not.
func ParseMeasurement(s string) (Measurement, error) {
	m := Measurement(strings.ToUpper(strings.TrimSpace(s)))
	switch m {
	case M0, M1, M2, M3:
		return m, nil
	}
	return "", fmt.Errorf("measurement condition %q: choose one of m0, m1, m2, m3", s)
}

// Options say how to read.
type Options struct {
	// Measurement is the condition to take of colours that were measured under
	// several. A colour without it is skipped; a list without any is an error. "" takes
	// M1, else M0.
	Measurement Measurement
}

// maxSwatches is far above any brand's list.
const maxSwatches = 100_000

// ErrUnknown says that a file is in none of the formats that [Parse] reads. It may be
// a list as people write it.
var ErrUnknown = errors.New("is no palette that is known: save it as a GIMP palette, a swatch exchange file (.ase) or a CxF document")

// Parse reads a palette, and tells what it skips of it. The error is [ErrUnknown] if it is
// none by its first bytes; else it says what is broken, by line or block, or wraps
// [ErrMeasurement]. A palette of which nothing is taken is an error.
func Parse(data []byte, o Options) (list []Swatch, skipped []Skipped, err error) {
	data = bytes.TrimPrefix(data, []byte("\xef\xbb\xbf"))
	measured := false
	switch {
	case bytes.HasPrefix(data, []byte("GIMP Palette")):
		list, err = parseGIMP(data)
	case bytes.HasPrefix(data, []byte("ASEF")):
		list, err = parseASE(data)
	case bytes.HasPrefix(bytes.TrimSpace(data), []byte("<")):
		measured = true
		list, skipped, err = parseCxF(data, o)
	default:
		return nil, nil, ErrUnknown
	}
	if err == nil && o.Measurement != "" && !measured && len(list) > 0 {
		err = fmt.Errorf("%s %w %s: the list does not say how it was measured", list[0].Name, ErrMeasurement, o.Measurement)
	}
	if err == nil && len(list) == 0 {
		err = errors.New("the list holds no colours")
		if len(skipped) > 0 {
			err = fmt.Errorf("the list holds no colours that are read: %s %s", skipped[0].Name, skipped[0].Why)
		}
	}
	if err != nil {
		return nil, nil, err
	}
	return list, skipped, nil
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
		list = append(list, Swatch{Name: name, Lab: colour.FromSRGB(rgb[0], rgb[1], rgb[2]), Screen: true})
	}
	return list, sc.Err()
}
