// Package unit reads the measures that people write: lengths in millimetres,
// centimetres or inches, and sheet sizes by name or by their sides. Inside the
// program every length is in millimetres.
package unit

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
)

// MMPerInch is exact by definition.
const MMPerInch = 25.4

// Length is a length in millimetres that is written with its unit.
type Length float64

// MM is the length in millimetres.
func (l Length) MM() float64 { return float64(l) }

// String writes l in millimetres.
func (l Length) String() string { return strconv.FormatFloat(float64(l), 'f', -1, 64) + " mm" }

// MarshalText writes l as [Length.String] does.
func (l Length) MarshalText() ([]byte, error) { return []byte(l.String()), nil }

// UnmarshalText reads what [ParseLength] reads.
func (l *Length) UnmarshalText(b []byte) error {
	v, err := ParseLength(string(b))
	*l = v
	return err
}

var lengthUnits = []struct {
	suffix string
	mm     float64
}{{"mm", 1}, {"cm", 10}, {"in", MMPerInch}, {`"`, MMPerInch}, {"pt", MMPerInch / 72}}

// maxMM is longer than any roll of film.
const maxMM = 1e6

// ParseLength reads a number with one of the units mm, cm, in or pt (1/72 in);
// a bare number counts millimetres.
func ParseLength(s string) (Length, error) {
	t := strings.ToLower(strings.TrimSpace(s))
	factor := 1.0
	for _, u := range lengthUnits {
		if rest, ok := strings.CutSuffix(t, u.suffix); ok {
			t, factor = strings.TrimSpace(rest), u.mm
			break
		}
	}
	v, err := strconv.ParseFloat(t, 64)
	if err != nil || math.IsNaN(v) || math.Abs(v*factor) > maxMM {
		return 0, fmt.Errorf("length %q: write a number and mm, cm or in, such as 80mm or 3.5in", s)
	}
	return Length(math.Round(v*factor*1e9) / 1e9), nil // a nanometre hides the factor's rounding
}

// Sheet is a sheet of media: its name, or "" if it has none, and its sides.
type Sheet struct {
	Name              string
	WidthMM, HeightMM float64
}

// sheets are the named sizes, upright: the A series of ISO 216 and the three
// North American sizes of ANSI/ASME Y14.1 and common trade.
var sheets = []Sheet{
	{"A2", 420, 594}, {"A3", 297, 420}, {"A4", 210, 297}, {"A5", 148, 210}, {"A6", 105, 148},
	{"Letter", 8.5 * MMPerInch, 11 * MMPerInch}, {"Legal", 8.5 * MMPerInch, 14 * MMPerInch}, {"Tabloid", 11 * MMPerInch, 17 * MMPerInch},
}

// Sheets are the named sizes, upright.
func Sheets() []Sheet { return slices.Clone(sheets) }

// ParseSheet reads a named size in any case or by a beginning that no other has, or two
// lengths joined by x, such as 210x297mm or 8.5x11in; a unit behind the second counts for
// both.
func ParseSheet(s string) (Sheet, error) {
	written := strings.TrimSpace(s)
	var begin []Sheet
	for _, n := range sheets {
		if strings.EqualFold(n.Name, written) {
			return n, nil
		}
		if len(written) > 1 && len(written) < len(n.Name) && strings.EqualFold(n.Name[:len(written)], written) {
			begin = append(begin, n)
		}
	}
	if len(begin) == 1 {
		return begin[0], nil
	}
	a, b, ok := strings.Cut(strings.ToLower(s), "x")
	if ok {
		h, err := ParseLength(b)
		if err == nil {
			if strings.IndexFunc(a, func(r rune) bool { return r >= 'a' && r <= 'z' || r == '"' }) < 0 {
				a += strings.TrimLeft(strings.TrimSpace(b), "0123456789. ")
			}
			w, err := ParseLength(a)
			if err == nil && w > 0 && h > 0 {
				return Sheet{"", w.MM(), h.MM()}, nil
			}
		}
	}
	var names []string
	for _, n := range sheets {
		names = append(names, n.Name)
	}
	return Sheet{}, fmt.Errorf("sheet %q: write one of %s, or its sides such as 210x297mm", s, strings.Join(names, ", "))
}

// String is the name, or the sides in millimetres.
func (s Sheet) String() string {
	if s.Name != "" {
		return s.Name
	}
	return fmt.Sprintf("%g x %g mm", s.WidthMM, s.HeightMM)
}

// UnmarshalText reads what [ParseSheet] reads.
func (s *Sheet) UnmarshalText(b []byte) error {
	v, err := ParseSheet(string(b))
	*s = v
	return err
}

// AreaMM2 is the area in square millimetres.
func (s Sheet) AreaMM2() float64 { return s.WidthMM * s.HeightMM }
