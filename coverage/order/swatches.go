package order

import (
	"errors"
	"strings"

	"laydown/colour"
	"laydown/colour/swatch"
	"laydown/coverage/fault"
	"laydown/coverage/table"
)

// ReadSwatches reads brand colours: a palette that package swatch knows, or a list as
// package table reads lists, with the columns name, and hex (#rrggbb) or L, a, b (D50).
// A column relative with yes or no says whether Lab is beside the paper's white. Where a
// row has both hex and Lab, Lab counts; a colour without a name is called by its #rrggbb.
// Lines that begin with # are passed over. The error names the lines and what is wrong
// with them; an empty list is one. Where a measurement is asked for that a colour does not
// have, which those of a list as people write it never say, the error is about the field
// measurement.
func ReadSwatches(data []byte, o swatch.Options) ([]swatch.Swatch, error) {
	list, err := swatch.Parse(data, o)
	switch {
	case errors.Is(err, swatch.ErrMeasurement):
		return nil, &fault.Fault{Field: "measurement", Err: err, Hint: "leave it out to take M1, else M0, else what there is"}
	case errors.Is(err, swatch.ErrUnknown) && o.Measurement != "":
		return nil, &fault.Fault{Field: "measurement", Err: errors.New("such a list does not say how its colours were measured; a CxF document may"), Hint: "leave it out"}
	}
	if !errors.Is(err, swatch.ErrUnknown) {
		return list, err
	}
	t, err := table.List{Of: "colours", Header: "name, and hex or L, a, b", Either: [][]string{{"hex"}, {"L", "a", "b"}}, Columns: []table.Column{
		{Name: "name", Also: []string{"colour name", "color name", "swatch"}, Failing: []string{"colour", "color"}, Needed: true},
		{Name: "hex", Also: table.Synonyms("hex"), Hint: "#rrggbb with hexadecimal digits", Hash: true},
		{Name: "L", Also: []string{"Lab L", "CIE L"}},
		{Name: "a", Also: []string{"Lab a", "CIE a"}},
		{Name: "b", Also: []string{"Lab b", "CIE b"}},
		{Name: "relative", Hint: "yes where L, a, b are beside the paper's white, no where they are absolute"},
	}}.Read(data)
	if err != nil {
		return nil, err
	}
	lab := t.HasAll("L", "a", "b")
	for _, r := range t.Rows {
		s := swatch.Swatch{Name: r.Text("name")}
		relative := r.Bool("relative")
		if lab && (r.Has("L") || !t.Has("hex")) {
			s.Lab = colour.Lab{L: r.Number("L", 0, 100), A: r.Number("a", -200, 200), B: r.Number("b", -200, 200)}
			s.Relative = relative
		} else if s.Lab, err = colour.Parse("#" + strings.TrimPrefix(r.Text("hex"), "#")); err != nil {
			r.Refuse("hex", "")
		} else {
			s.Screen = true
		}
		if s.Name == "" {
			s.Name = s.Lab.Hex()
		}
		list = append(list, s)
	}
	if err := t.Err(); err != nil {
		return nil, err
	}
	return list, nil
}
