package order

import (
	"errors"
	"slices"
	"strings"

	"laydown/colour"
	"laydown/colour/swatch"
	"laydown/coverage/fault"
	"laydown/coverage/table"
)

// ReadSwatches reads brand colours: a palette that package swatch knows, or a list as
// package table reads lists, with the columns name, and hex (#rrggbb), L, a, b (D50) or
// c, m, y, k (percent of a press, 0–100).
// A column relative with yes or no says whether Lab is beside the paper's white. Of
// several that a row has, Lab counts, else hex: they say how the colour looks, and CMYK
// is some press's recipe. A colour without a name is called by its #rrggbb or its CMYK.
// Lines that begin with # are passed over. The error names the lines and what is wrong
// with them; an empty list is one. Where a measurement is asked for that no colour has,
// and those of a list as people write it never say it, the error is about the field
// measurement. Skipped are colours that the list has and that are not read.
func ReadSwatches(data []byte, o swatch.Options) ([]swatch.Swatch, []swatch.Skipped, error) {
	list, skipped, err := swatch.Parse(data, o)
	switch {
	case errors.Is(err, swatch.ErrMeasurement):
		return nil, nil, &fault.Fault{Field: "measurement", Err: err, Hint: "leave it out to take M1, else M0, else what there is"}
	case errors.Is(err, swatch.ErrUnknown) && o.Measurement != "":
		return nil, nil, &fault.Fault{Field: "measurement", Err: errors.New("such a list does not say how its colours were measured; a CxF document may"), Hint: "leave it out"}
	}
	if !errors.Is(err, swatch.ErrUnknown) {
		return list, skipped, err
	}
	recipe := []string{"c", "m", "y", "k"}
	t, err := table.List{Of: "colours", Header: "name, and hex, or L, a, b, or c, m, y, k", Either: [][]string{{"hex"}, {"L", "a", "b"}, recipe}, Columns: []table.Column{
		{Name: "name", Also: []string{"colour name", "color name", "swatch"}, Failing: []string{"colour", "color"}, Needed: true},
		{Name: "hex", Also: table.Synonyms("hex"), Hint: "#rrggbb with hexadecimal digits", Hash: true},
		{Name: "L", Also: []string{"Lab L", "CIE L"}},
		{Name: "a", Also: []string{"Lab a", "CIE a"}},
		{Name: "b", Also: []string{"Lab b", "CIE b"}},
		{Name: "relative", Hint: "yes where L, a, b are beside the paper's white, no where they are absolute"},
		{Name: "c", Also: []string{"cyan", "CMYK c"}, Hint: percentHint},
		{Name: "m", Also: []string{"magenta", "CMYK m"}, Hint: percentHint},
		{Name: "y", Also: []string{"yellow", "CMYK y"}, Hint: percentHint},
		{Name: "k", Also: []string{"black", "CMYK k"}, Hint: percentHint},
	}}.Read(data)
	if err != nil {
		return nil, nil, err
	}
	lab, hex, cmyk := t.HasAll("L", "a", "b"), t.Has("hex"), t.HasAll(recipe...)
	most := 0.0 // tone value in percent
	for _, r := range t.Rows {
		s := swatch.Swatch{Name: r.Text("name")}
		relative, own := r.Bool("relative"), cmyk && slices.ContainsFunc(recipe, r.Has)
		switch {
		case lab && (r.Has("L") || (!hex && !own)):
			s.Lab = colour.Lab{L: r.Number("L", 0, 100), A: r.Number("a", -200, 200), B: r.Number("b", -200, 200)}
			s.Relative = relative
		case hex && (r.Has("hex") || !own):
			if s.Lab, err = colour.Parse("#" + strings.TrimPrefix(r.Text("hex"), "#")); err != nil {
				r.Refuse("hex", "")
			}
			s.Screen = true
		default:
			var v [4]float64
			for i, k := range recipe {
				percent := r.Number(k, 0, 100)
				v[i], most = percent/100, max(most, percent)
			}
			s = swatch.Recipe(s.Name, v)
		}
		if s.Name == "" {
			s.Name = s.Lab.Hex()
		}
		list = append(list, s)
	}
	if err := t.Err(); err != nil {
		return nil, nil, err
	}
	if most > 0 && most <= 1 {
		return nil, nil, errors.New("no c, m, y or k in it is above 1, as if they were parts of 1: write them in percent, from 0 to 100")
	}
	return list, nil, nil
}

const percentHint = "percent, a number from 0 to 100"
