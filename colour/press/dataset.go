package press

import (
	"bufio"
	"bytes"
	"errors"
	"fmt"
	"math"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"laydown/colour"
)

// Patch is one printed and measured colour.
type Patch struct {
	CMYK [4]float64 // tone values 0–1
	Lab  colour.Lab // D50, absolute: the paper is not white 100

	spectrum []float64 // while reading a spectral set
}

// Set is a characterisation data set: what one press printed for known tone
// values.
type Set struct {
	Name    string // DESCRIPTOR, or "" if the file names none
	Origin  string // ORIGINATOR
	Patches []Patch
}

// maxSetBytes is far above any real chart of a few thousand patches.
const maxSetBytes = 64 << 20

// ParseSet reads a data set in CGATS.17 text, also as .ti3, IT8.7/3 or IT8.7/4:
// any order of columns, with CMYK_C, CMYK_M, CMYK_Y, CMYK_K in percent and
// LAB_L, LAB_A, LAB_B, or XYZ_X, XYZ_Y, XYZ_Z (Y of the perfect diffuser 100),
// or spectral reflectances (columns such as SPECTRAL_NM400, SPEC_400, NM400 or
// R_400, as factors or percent). Colours are under D50; Lab is preferred, then
// XYZ. Patches measured more than once are averaged. The error
// names the line or the column at fault and what was expected.
func ParseSet(data []byte) (*Set, error) {
	if len(data) > maxSetBytes {
		return nil, fmt.Errorf("data set of %d MB is no chart I know; at most %d", len(data)>>20, maxSetBytes>>20)
	}
	s := &Set{}
	var columns []string
	var rows []Patch
	var cols setColumns
	section := ""
	sc := bufio.NewScanner(bytes.NewReader(data))
	sc.Buffer(nil, 1<<20)
	line := 0
	for sc.Scan() {
		line++
		text := sc.Text()
		if section == "" {
			if i := strings.IndexByte(text, '#'); i >= 0 && !strings.Contains(text[:i], `"`) {
				text = text[:i]
			}
		}
		f := fields(text)
		if len(f) == 0 {
			continue
		}
		switch key := strings.ToUpper(f[0]); {
		case key == "BEGIN_DATA_FORMAT":
			section = "format"
		case key == "END_DATA_FORMAT", key == "END_DATA":
			section = ""
		case key == "BEGIN_DATA":
			var err error
			if cols, err = findColumns(columns); err != nil {
				return nil, err
			}
			section = "data"
		case section == "format":
			columns = append(columns, f...)
		case section == "data":
			p, err := cols.patch(f)
			if err != nil {
				return nil, fmt.Errorf("line %d: %w", line, err)
			}
			rows = append(rows, p)
		case key == "DESCRIPTOR" && len(f) > 1 && s.Name == "":
			s.Name = f[1]
		case key == "ORIGINATOR" && len(f) > 1 && s.Origin == "":
			s.Origin = f[1]
		}
	}
	if err := sc.Err(); err != nil {
		return nil, fmt.Errorf("line %d: %w", line+1, err)
	}
	if len(columns) == 0 || len(rows) == 0 {
		return nil, errors.New("not a characterisation data set: expected CGATS text with BEGIN_DATA_FORMAT and BEGIN_DATA sections")
	}
	if err := cols.fromSpectra(rows); err != nil {
		return nil, err
	}
	var err error
	if s.Patches, err = merge(rows); err != nil {
		return nil, err
	}
	return s, s.check()
}

// fields splits a line at blanks, keeping quoted text whole.
func fields(line string) []string {
	var f []string
	for {
		line = strings.TrimLeft(line, " \t\r")
		if line == "" {
			return f
		}
		if line[0] == '"' {
			text, rest, _ := strings.Cut(line[1:], `"`)
			f, line = append(f, text), rest
			continue
		}
		n := strings.IndexAny(line, " \t\r")
		if n < 0 {
			n = len(line)
		}
		f, line = append(f, line[:n]), line[n:]
	}
}

type setColumns struct {
	cmyk, colour    [4]int // colour uses three
	lab, xyz        bool
	spectrum        []int // columns by rising wavelength
	firstNM, lastNM float64
	count           int
}

var spectralName = regexp.MustCompile(`^(?:SPECTRAL_NM_?|SPECTRAL_|SPEC_|NM_?|R_?)([0-9]{3})(?:[._]0*)?$`)

// findSpectrum looks for wavelengths at equal steps among the column names.
func (c *setColumns) findSpectrum(names []string) error {
	at := map[int]int{}
	var nms []int
	for i, n := range names {
		if m := spectralName.FindStringSubmatch(strings.ToUpper(n)); m != nil {
			nm, _ := strconv.Atoi(m[1])
			at[nm] = i
			nms = append(nms, nm)
		}
	}
	if len(nms) == 0 {
		return errors.New("data set has no LAB_L, LAB_A, LAB_B, no XYZ_X, XYZ_Y, XYZ_Z and no spectral columns")
	}
	slices.Sort(nms)
	for i, nm := range nms {
		if i > 1 && nm-nms[i-1] != nms[1]-nms[0] {
			return fmt.Errorf("spectral columns do not rise by equal steps: %d nm follows %d nm", nm, nms[i-1])
		}
		c.spectrum = append(c.spectrum, at[nm])
	}
	c.firstNM, c.lastNM = float64(nms[0]), float64(nms[len(nms)-1])
	_, err := colour.FromReflectance(make([]float64, len(nms)), c.firstNM, c.lastNM)
	return err
}

func findColumns(names []string) (c setColumns, err error) {
	at := map[string]int{}
	for i, n := range names {
		at[strings.ToUpper(n)] = i
	}
	find := func(dst []int, want ...string) bool {
		for i, w := range want {
			p, ok := at[w]
			if !ok {
				return false
			}
			dst[i] = p
		}
		return true
	}
	c.count = len(names)
	if !find(c.cmyk[:], "CMYK_C", "CMYK_M", "CMYK_Y", "CMYK_K") {
		return c, errors.New("data set has no columns CMYK_C, CMYK_M, CMYK_Y, CMYK_K: it must be measured from a CMYK chart")
	}
	if c.lab = find(c.colour[:3], "LAB_L", "LAB_A", "LAB_B"); c.lab {
		return c, nil
	}
	if c.xyz = find(c.colour[:3], "XYZ_X", "XYZ_Y", "XYZ_Z"); c.xyz {
		return c, nil
	}
	return c, c.findSpectrum(names)
}

func (c setColumns) patch(f []string) (p Patch, err error) {
	if len(f) != c.count {
		return p, fmt.Errorf("%d values where the data format names %d columns", len(f), c.count)
	}
	num := func(i int) float64 {
		v, e := strconv.ParseFloat(f[i], 64)
		if e != nil || math.IsNaN(v) || math.IsInf(v, 0) {
			err = fmt.Errorf("%q is not a number", f[i])
		}
		return v
	}
	for i, col := range c.cmyk {
		v := num(col)
		if v < 0 || v > 100.001 {
			return p, fmt.Errorf("tone value %g is outside 0 to 100", v)
		}
		p.CMYK[i] = math.Min(v/100, 1)
	}
	if c.lab || c.xyz {
		v := [3]float64{num(c.colour[0]), num(c.colour[1]), num(c.colour[2])}
		p.Lab = colour.Lab{L: v[0], A: v[1], B: v[2]}
		if c.xyz {
			p.Lab = colour.XYZ{X: v[0] / 100, Y: v[1] / 100, Z: v[2] / 100}.Lab(colour.D50)
		}
	} else {
		r := make([]float64, len(c.spectrum))
		for i, col := range c.spectrum {
			r[i] = num(col)
		}
		p.spectrum = r
		return p, err // its scale is known when all rows are
	}
	if err != nil {
		return p, err
	}
	if p.Lab.L < 0 && p.Lab.L > -1 { // a flare-corrected black may dip under zero
		p.Lab.L = 0
	}
	return p, p.Lab.Check()
}

// fromSpectra gives spectral rows their Lab. A set whose highest reflectance is
// above 3 counts in percent.
func (c setColumns) fromSpectra(rows []Patch) error {
	scale := 1.0
	for _, r := range rows {
		for _, v := range r.spectrum {
			if v > 3 {
				scale = 0.01
			}
		}
	}
	for i := range rows {
		r := &rows[i]
		if r.spectrum == nil {
			return nil
		}
		for k := range r.spectrum {
			r.spectrum[k] *= scale
		}
		x, err := colour.FromReflectance(r.spectrum, c.firstNM, c.lastNM)
		if err != nil {
			return err
		}
		r.spectrum = nil
		if r.Lab = x.Lab(colour.D50); r.Lab.Check() != nil {
			return fmt.Errorf("row %d of the data: its spectrum gives %v, which is no printed colour", i+1, r.Lab)
		}
	}
	return nil
}

// sameColour is how far apart two measurements of one patch may lie before the
// set contradicts itself.
const sameColour = 5

// merge averages patches of equal tone values, keeping the order of the first.
func merge(rows []Patch) ([]Patch, error) {
	at := map[[4]float64]int{}
	var out []Patch
	var count []float64
	for _, r := range rows {
		i, seen := at[r.CMYK]
		if !seen {
			at[r.CMYK] = len(out)
			out, count = append(out, r), append(count, 1)
			continue
		}
		p := &out[i].Lab
		if d := colour.DeltaE00(*p, r.Lab); d > sameColour {
			return nil, fmt.Errorf("data set contradicts itself: C %g M %g Y %g K %g was measured as %v and as %v",
				100*r.CMYK[0], 100*r.CMYK[1], 100*r.CMYK[2], 100*r.CMYK[3], *p, r.Lab)
		}
		n := count[i]
		*p = colour.Lab{L: (p.L*n + r.Lab.L) / (n + 1), A: (p.A*n + r.Lab.A) / (n + 1), B: (p.B*n + r.Lab.B) / (n + 1)}
		count[i]++
	}
	return out, nil
}

// primaries are the patches without which no model of a press can be fitted:
// bare paper, the four solids and the three two-colour overprints.
var primaries = []struct {
	name string
	cmyk [4]float64
}{
	{"bare paper", [4]float64{}},
	{"solid cyan", [4]float64{1}}, {"solid magenta", [4]float64{0, 1}}, {"solid yellow", [4]float64{0, 0, 1}},
	{"solid black", [4]float64{0, 0, 0, 1}},
	{"solid red (M+Y)", [4]float64{0, 1, 1}}, {"solid green (C+Y)", [4]float64{1, 0, 1}}, {"solid blue (C+M)", [4]float64{1, 1, 0}},
}

func isPrimary(p Patch) bool {
	for _, w := range primaries {
		if p.CMYK == w.cmyk {
			return true
		}
	}
	return false
}

func (s *Set) check() error {
	have := map[[4]float64]bool{}
	for _, p := range s.Patches {
		have[p.CMYK] = true
	}
	for _, w := range primaries {
		if !have[w.cmyk] {
			return fmt.Errorf("data set has no patch of %s, which every press model needs", w.name)
		}
	}
	return nil
}
