// Package swatch reads lists of brand colours.
//
// Read are CSV with a header row (columns name, and hex or L, a, b under D50),
// GIMP palettes, binary swatch exchange files (.ase: RGB, CMYK, Lab and grey)
// and CxF documents (ISO 17972-4: Lab and spectra). Screen values (#rrggbb) are sRGB carried to D50: what a
// screen shows, which is not always what the brand's book says; measured Lab
// is better.
package swatch

import (
	"bufio"
	"bytes"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
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

// Parse reads a list, telling the format by its content. Empty lists are an
// error; so is any row that cannot be read, named by its line.
func Parse(data []byte) ([]Swatch, error) {
	data = bytes.TrimPrefix(data, []byte("\xef\xbb\xbf"))
	var list []Swatch
	var err error
	switch {
	case bytes.HasPrefix(data, []byte("GIMP Palette")):
		list, err = parseGIMP(data)
	case bytes.HasPrefix(data, []byte("ASEF")):
		list, err = parseASE(data)
	case bytes.HasPrefix(bytes.TrimSpace(data), []byte("<")):
		list, err = parseCxF(data)
	default:
		list, err = parseCSV(data)
	}
	if err != nil {
		return nil, err
	}
	if len(list) == 0 {
		return nil, errors.New("the list holds no colours")
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

func parseCSV(data []byte) ([]Swatch, error) {
	r := csv.NewReader(bytes.NewReader(data))
	r.TrimLeadingSpace = true
	r.FieldsPerRecord = -1
	r.Comment = '#'
	if first, _, _ := bytes.Cut(data, []byte("\n")); bytes.Count(first, []byte(";")) > bytes.Count(first, []byte(",")) {
		r.Comma = ';'
	}
	head, err := r.Read()
	if err == io.EOF {
		return nil, nil
	}
	if err != nil {
		return nil, err
	}
	at := map[string]int{}
	for i, h := range head {
		at[strings.ToLower(strings.TrimSpace(h))] = i
	}
	name, hasName := at["name"]
	hex, hasHex := at["hex"]
	l, hasL := at["l"]
	a, hasA := at["a"]
	b, hasB := at["b"]
	if !hasName || (!hasHex && !(hasL && hasA && hasB)) {
		return nil, errors.New("the first row must name its columns: name, and hex or L, a, b")
	}
	var list []Swatch
	for {
		row, err := r.Read()
		if err == io.EOF {
			return list, nil
		}
		if err != nil {
			return nil, err
		}
		line, _ := r.FieldPos(0)
		cell := func(i int) string {
			if i < len(row) {
				return strings.TrimSpace(row[i])
			}
			return ""
		}
		s := Swatch{Name: cell(name)}
		if hasL && hasA && hasB && cell(l) != "" {
			s.Lab, err = colour.Parse(number(cell(l)) + "," + number(cell(a)) + "," + number(cell(b)))
		} else {
			h := cell(hex)
			if h != "" && !strings.HasPrefix(h, "#") {
				h = "#" + h
			}
			s.Lab, err = colour.Parse(h)
		}
		if err != nil {
			return nil, fmt.Errorf("line %d: %w", line, err)
		}
		if s.Name == "" {
			s.Name = s.Lab.Hex()
		}
		if len(list) == maxSwatches {
			return nil, fmt.Errorf("more than %d colours", maxSwatches)
		}
		list = append(list, s)
	}
}

// number lets a list with semicolons write decimal commas.
func number(s string) string { return strings.ReplaceAll(s, ",", ".") }
