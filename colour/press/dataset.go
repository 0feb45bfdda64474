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

	Name     string    // of its place on the sheet, else its own, else its number; "" if the file has none
	spectrum []float64 // while reading a spectral set
	count    int       // of the measurements that Lab is the mean of; 0 is 1
}

// times is how many measurements a patch is the mean of.
func (p Patch) times() float64 { return max(1, float64(p.count)) }

// Set is a characterisation data set: what one press printed for known tone
// values.
type Set struct {
	Name    string // DESCRIPTOR, or "" if the file names none
	Origin  string // ORIGINATOR
	Patches []Patch

	Repeated int       // patches that were measured more than once
	Scatter  float64   // standard deviation of each of L, a and b of one measurement, by the repeats; 0 without
	Strays   []Outlier // repeats that the others of their patch outvote, worst first
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
//
// Of several tables the first with tone values and colours is read, and any more
// in the very same columns, as the sheets of one chart; others are passed over. So
// is the CAL table that ArgyllCMS appends to a chart printed through calibration
// curves, and its curves are not applied: the chart's tone values are those before
// the curves, whether Argyll applied them or the printer does (its fakeread 2.3.1
// writes the same tone values with -k, which applies them, and with -i, which only
// encloses them), and so are the tone values that laydown sends the same way.
func ParseSet(data []byte) (*Set, error) {
	if len(data) > maxSetBytes {
		return nil, fmt.Errorf("data set of %d MB is no chart I know; at most %d", len(data)>>20, maxSetBytes>>20)
	}
	s := &Set{}
	var columns []string
	var rows []Patch
	var cols setColumns
	section := ""
	var unread error // of the first table that is none of measurements
	var format []string
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
			section, columns = "format", nil
		case key == "END_DATA_FORMAT", key == "END_DATA":
			section = ""
		case key == "BEGIN_DATA":
			section = "passed over"
			if len(rows) > 0 {
				if slices.Equal(columns, format) {
					section = "data"
				}
			} else if c, err := findColumns(columns); err == nil {
				section, cols, format = "data", c, columns
			} else if unread == nil && len(columns) > 0 {
				unread = err
			}
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
	if len(rows) == 0 && format == nil && unread != nil {
		return nil, unread
	}
	if len(rows) == 0 {
		return nil, errors.New("not a characterisation data set: expected CGATS text with BEGIN_DATA_FORMAT and BEGIN_DATA sections")
	}
	if err := cols.fromSpectra(rows); err != nil {
		return nil, err
	}
	if err := s.merge(rows); err != nil {
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
	name            int // -1 if there is none
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
	c.count, c.name = len(names), -1
	for _, n := range []string{"SAMPLE_LOC", "SAMPLE_NAME", "SAMPLENAME", "SAMPLE_ID", "SAMPLEID"} {
		if i, ok := at[n]; ok {
			c.name = i
			break
		}
	}
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
	if c.name >= 0 {
		p.Name = f[c.name]
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

const (
	// sameColour is how far apart in ΔE00 two measurements of one patch may lie
	// before the set contradicts itself.
	sameColour = 5
	// sameTone is what tone values of one patch may differ by, half a thousandth:
	// files round them to a tenth of a percent or finer, and charts step wider.
	sameTone = 0.0005
)

// merge averages measurements of one patch, in the order of the first. Of three or
// more, those that lie apart from the median are strays if the others are the
// majority; else the set contradicts itself.
func (s *Set) merge(rows []Patch) error {
	var first []Patch
	var same [][]Patch
	at := map[[4]int][]int{}
	cell := func(x, move [4]float64) (c [4]int) {
		for k, v := range x {
			c[k] = int(math.Floor(v/(2*sameTone) + move[k]))
		}
		return c
	}
	find := func(x [4]float64) int {
		for corner := range 16 { // the cells that a patch this near can lie in
			var move [4]float64
			for k := range move {
				move[k] = float64(corner>>k&1) - 0.5
			}
			for _, i := range at[cell(x, move)] {
				near := true
				for k, v := range first[i].CMYK {
					near = near && math.Abs(v-x[k]) <= sameTone
				}
				if near {
					return i
				}
			}
		}
		return -1
	}
	for _, r := range rows {
		if i := find(r.CMYK); i >= 0 {
			same[i] = append(same[i], r)
			continue
		}
		c := cell(r.CMYK, [4]float64{})
		at[c] = append(at[c], len(first))
		first, same = append(first, r), append(same, []Patch{r})
	}
	squares, freedom := 0.0, 0
	for _, all := range same {
		kept, err := s.agreeing(all)
		if err != nil {
			return err
		}
		p := kept[0]
		p.CMYK, p.count = all[0].CMYK, len(kept)
		for _, r := range all {
			if isPrimary(r) { // not what a file rounds it to
				p.CMYK = r.CMYK
			}
		}
		for i, r := range kept[1:] {
			n, m := float64(i+1), &p.Lab
			*m = colour.Lab{L: (m.L*n + r.Lab.L) / (n + 1), A: (m.A*n + r.Lab.A) / (n + 1), B: (m.B*n + r.Lab.B) / (n + 1)}
		}
		if len(kept) > 1 {
			s.Repeated++
			freedom += len(kept) - 1
			for _, r := range kept {
				squares += sq(r.Lab.L-p.Lab.L) + sq(r.Lab.A-p.Lab.A) + sq(r.Lab.B-p.Lab.B)
			}
		}
		s.Patches = append(s.Patches, p)
	}
	if freedom > 0 {
		s.Scatter = math.Sqrt(squares / float64(3*freedom))
	}
	slices.SortStableFunc(s.Strays, worstFirst)
	return nil
}

// agreeing returns those of a patch's measurements that agree and adds the others to
// the strays. The error says that they are no majority.
func (s *Set) agreeing(all []Patch) (kept []Patch, err error) {
	middle := func(of func(c colour.Lab) float64) float64 {
		var v []float64
		for _, r := range all {
			v = append(v, of(r.Lab))
		}
		slices.Sort(v)
		return v[len(v)/2]
	}
	if len(all) == 1 {
		return all, nil
	}
	// Of two the median is the one or the other.
	m := colour.Lab{L: middle(func(c colour.Lab) float64 { return c.L }), A: middle(func(c colour.Lab) float64 { return c.A }),
		B: middle(func(c colour.Lab) float64 { return c.B })}
	if len(all) == 2 {
		m = all[0].Lab
	}
	var apart []Outlier
	for _, r := range all {
		if d := colour.DeltaE00(m, r.Lab); d > sameColour {
			apart = append(apart, Outlier{r.Name, r.CMYK, r.Lab, m, d})
		} else {
			kept = append(kept, r)
		}
	}
	if len(apart) > 0 && len(kept) < 2 || len(apart) >= len(kept) {
		x := all[0].CMYK
		return nil, fmt.Errorf("data set contradicts itself: C %g M %g Y %g K %g was measured as %v and as %v",
			100*x[0], 100*x[1], 100*x[2], 100*x[3], m, apart[0].Measured)
	}
	s.Strays = append(s.Strays, apart...)
	return kept, nil
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
			return fmt.Errorf("data set has no patch of %s, which every printer model needs", w.name)
		}
	}
	return nil
}
