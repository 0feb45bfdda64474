package table

import (
	"errors"
	"fmt"
	"math"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"laydown/coverage/unit"
)

// Row is one row. Its methods read cells by the column's name, and panic if the list
// has no such column. Mistakes are kept for [Row.Err].
type Row struct {
	Line int // of the file, where the row begins

	table  *Table
	cells  []string // by the list's columns, trimmed
	faults []*CellError
	whole  bool // the fault is the row's, and those of its cells follow from it
	parted bool // by something else than the header
}

// RowError is what is wrong with a row.
type RowError struct {
	Line  int          // of the file
	Cells []*CellError // in the order in which they were read
}

// Error is, for example, line 4: quantity "many": write a whole number above 0.
func (e *RowError) Error() string { return fmt.Sprintf("line %d: %s", e.Line, e.What()) }

// What is [RowError.Error] without the line.
func (e *RowError) What() string {
	words := make([]string, len(e.Cells))
	for i, c := range e.Cells {
		words[i] = c.Error()
	}
	return strings.Join(words, "; ")
}

// CellError says what is wrong with a cell.
type CellError struct {
	Column string // as the file's header names it; "" if the row as a whole is wrong
	Value  string // of the cell
	Want   string // what is allowed, as in "write a whole number above 0"
}

// Error is, for example, quantity "many": write a whole number above 0.
func (e *CellError) Error() string {
	switch {
	case e.Column == "":
		return e.Want
	case e.Value == "":
		return fmt.Sprintf("%s is empty: %s", e.Column, e.Want)
	}
	return fmt.Sprintf("%s %q: %s", e.Column, short(e.Value), e.Want)
}

// short keeps a cell that holds half the file out of the error.
func short(s string) string {
	const most = 60
	if r := []rune(s); len(r) > most {
		return string(r[:most]) + "…"
	}
	return s
}

// row takes the cells that the list asks for.
func (t *Table) row(cells []string, line int, comma rune) *Row {
	r := &Row{Line: line, table: t, cells: make([]string, len(t.at))}
	for i, k := range t.at {
		if k >= 0 && k < len(cells) {
			r.cells[i] = strings.TrimSpace(cells[k])
		}
	}
	n := len(cells)
	for n > 0 && strings.TrimSpace(cells[n-1]) == "" {
		n--
	}
	if other := t.partedBy(cells, comma); other != 0 {
		r.parted = true
		r.refuseRow(fmt.Sprintf("the first row parts its cells by %s, and this one by %s: part all of them alike", commaNames[comma], commaNames[other]))
	} else if n > t.width {
		hint := "name the column in the first row, or put a cell that holds " + commaName[comma] + " in quotes"
		if comma == ',' {
			hint = `put a cell that holds a comma in quotes, as in "8,5", or part cells by semicolons`
		}
		r.refuseRow(fmt.Sprintf("has %d cells, and the first row names %d: %s", n, t.width, hint))
	}
	return r
}

var (
	commaName  = map[rune]string{',': "a comma", ';': "a semicolon", '\t': "a tab"}
	commaNames = map[rune]string{',': "commas", ';': "semicolons", '\t': "tabs"}
)

// partedBy is what a row stands apart by, if that is not the header's comma: it has fewer
// cells than are named by this, and more by that; 0 if not. A row with all that is needed
// may hold commas in a cell, and hardly semicolons.
func (t *Table) partedBy(cells []string, comma rune) rune {
	if len(cells) >= t.width {
		return 0
	}
	for _, c := range commas {
		n := strings.Count(cells[0], string(c)) + 1
		if c != comma && n > 1 && n > len(cells) && (!t.complete(cells) || c == ';' && n >= t.width) {
			return c
		}
	}
	return 0
}

// complete reports whether a row has all cells that are needed.
func (t *Table) complete(cells []string) bool {
	for i, k := range t.at {
		if t.list.Columns[i].Needed && (k >= len(cells) || strings.TrimSpace(cells[k]) == "") {
			return false
		}
	}
	return true
}

// Err is what is wrong with the row, a *[RowError] with every cell that was refused, or
// nil. A row with more cells than the header is one before any is read.
func (r *Row) Err() error {
	if len(r.faults) == 0 {
		return nil
	}
	return &RowError{r.Line, r.faults}
}

// mostErrors is how many rows [Table.Err] names.
const mostErrors = 20

// Err is what is wrong with all rows that have been read, one a line, of at most 20 of
// them; nil if nothing is.
func (t *Table) Err() error {
	var lines []string
	more := 0
	for _, r := range t.Rows {
		switch err := r.Err(); {
		case err == nil:
		case len(lines) == mostErrors:
			more++
		default:
			lines = append(lines, err.Error())
		}
	}
	if len(lines) == 0 {
		return nil
	}
	if more > 0 {
		lines = append(lines, fmt.Sprintf("and %d more", more))
	}
	return errors.New(strings.Join(lines, "\n"))
}

// Refuse keeps a mistake in a cell for [Row.Err], if it is the cell's first. want is what
// is allowed, as in "a width such as 80mm, or 80x60mm"; "" for the column's own hint.
func (r *Row) Refuse(column, want string) {
	i := r.table.list.column(column)
	if want == "" {
		want = r.table.list.Columns[i].Hint
	}
	r.refuse(i, want)
}

func (r *Row) refuse(i int, want string) {
	name := r.table.names[i]
	if name == "" {
		name = r.table.list.Columns[i].Name
	}
	if r.whole || slices.ContainsFunc(r.faults, func(f *CellError) bool { return f.Column == name }) {
		return
	}
	r.faults = append(r.faults, &CellError{Column: name, Value: r.cells[i], Want: "write " + want})
}

func (r *Row) refuseRow(want string) {
	r.faults, r.whole = []*CellError{{Want: want}}, true
}

// hint is what a column may hold, in its own words or the usual ones.
func (r *Row) hint(i int, usual string) string {
	if h := r.table.list.Columns[i].Hint; h != "" {
		return h
	}
	return usual
}

// Has reports whether a cell holds anything.
func (r *Row) Has(column string) bool { return r.Text(column) != "" }

// Text is a cell without spaces around; "" if the row or the file has none.
func (r *Row) Text(column string) string { return r.cells[r.table.list.column(column)] }

// Needed is [Row.Text] of a cell that must hold something; "" if it is refused.
func (r *Row) Needed(column string) string {
	i := r.table.list.column(column)
	if r.cells[i] == "" {
		r.refuse(i, r.hint(i, "something"))
	}
	return r.cells[i]
}

// Bool is a cell of yes or no, which true, false, 1 and 0 stand for too, in any case;
// false if the row or the file has none, or if it is refused.
func (r *Row) Bool(column string) bool {
	i := r.table.list.column(column)
	switch strings.ToLower(r.cells[i]) {
	case "yes", "true", "1":
		return true
	case "no", "false", "0", "":
	default:
		r.refuse(i, r.hint(i, "yes or no"))
	}
	return false
}

var (
	countUnit = regexp.MustCompile(`(?i)\s*(?:pcs?|pieces?)\.?$`)
	noPart    = regexp.MustCompile(`[.,]0+$`)
)

// Count is a whole number from 1 to most, with or without pcs behind it and decimals that
// are 0; it is 0 if it is refused.
func (r *Row) Count(column string, most int) int {
	i := r.table.list.column(column)
	s, want := r.cells[i], r.hint(i, "a whole number above 0")
	s = countUnit.ReplaceAllString(s, "")
	many := grouped(s)
	n, err := strconv.ParseUint(noPart.ReplaceAllString(s, ""), 10, 62)
	switch {
	case many:
		r.refuse(i, want+noThousands)
	case (err == nil && n > uint64(most)) || errors.Is(err, strconv.ErrRange):
		r.refuse(i, fmt.Sprintf("a whole number above 0 and at most %d", most))
	case err != nil || n == 0:
		r.refuse(i, want)
	default:
		return int(n)
	}
	return 0
}

const noThousands = ", without thousands separators"

// Number is a number from least to most; 0 if it is refused.
func (r *Row) Number(column string, least, most float64) float64 {
	i := r.table.list.column(column)
	within := func(v float64) bool { return v >= least && v <= most }
	return r.number(i, r.cells[i], within, r.hint(i, fmt.Sprintf("a number from %s to %s", plain(least), plain(most))))
}

// Length is a length above 0 in millimetres, at most mostMM; 0 if it is refused. A cell
// without a unit has the header's, or else the column's.
func (r *Row) Length(column string, mostMM float64) float64 {
	i := r.table.list.column(column)
	number, of := cutLength(r.cells[i])
	return r.length(i, number, of, mostMM)
}

// Size is a length, or two joined by x or ×, each read as [Row.Length] reads one; secondMM
// is 0 where there is one alone, and both are if the cell is refused. A unit behind
// either of two counts for both, unless each has its own.
func (r *Row) Size(column string, mostMM float64) (firstMM, secondMM float64) {
	i := r.table.list.column(column)
	first, second, two := strings.Cut(strings.NewReplacer("×", "x", "X", "x").Replace(r.cells[i]), "x")
	if !two {
		return r.Length(column, mostMM), 0
	}
	a, ofA := cutLength(strings.TrimSpace(first))
	b, ofB := cutLength(strings.TrimSpace(second))
	if ofA == "" {
		ofA = ofB
	}
	if ofB == "" {
		ofB = ofA
	}
	firstMM, secondMM = r.length(i, a, ofA, mostMM), r.length(i, b, ofB, mostMM)
	if firstMM == 0 || secondMM == 0 {
		return 0, 0
	}
	return firstMM, secondMM
}

// length is a number with a unit, "" for the header's or the column's.
func (r *Row) length(i int, number, of string, mostMM float64) float64 {
	if of == "" {
		of = r.table.units[i]
	}
	mm := func(v float64) float64 { // NaN beyond what a length can be
		l, err := unit.ParseLength(plain(v) + of)
		if err != nil {
			return math.NaN()
		}
		return l.MM()
	}
	want := r.hint(i, "a length above 0, such as 80mm, 8.5cm or 3.5in")
	if v, ok := parse(number); ok && v > 0 && !(mm(v) <= mostMM) {
		want = fmt.Sprintf("a length above 0 and at most %smm", plain(mostMM))
	}
	v := r.number(i, number, func(v float64) bool { return mm(v) > 0 && mm(v) <= mostMM }, want)
	return mm(v)
}

// number reads a number of a cell. within is what makes sense: a number that does both
// with its mark taken as a decimal one and as one of thousands is refused.
func (r *Row) number(i int, s string, within func(float64) bool, want string) float64 {
	v, ok := parse(s)
	switch {
	case !ok && grouped(s):
		r.refuse(i, want+noThousands)
	case !ok || !within(v):
		r.refuse(i, want)
	case grouped(s) && within(v*1000):
		r.refuse(i, fmt.Sprintf("%s or %s, whichever is meant", plain(v), plain(math.Round(v*1000))))
	default:
		return v
	}
	return 0
}

// parse reads a number with a decimal point or comma.
func parse(s string) (float64, bool) {
	s = strings.Replace(s, "−", "-", 1)
	if strings.IndexFunc(s, func(r rune) bool { return (r < '0' || r > '9') && !strings.ContainsRune("+-.,eE", r) }) >= 0 {
		return 0, false // ParseFloat reads more than people write
	}
	if strings.ContainsRune(s, '.') && strings.ContainsRune(s, ',') {
		return 0, false
	}
	v, err := strconv.ParseFloat(strings.Replace(s, ",", ".", 1), 64)
	return v, err == nil
}

// grouped reports whether digits stand in threes, as with thousands separators.
func grouped(s string) bool {
	s = strings.TrimLeft(s, "+-−")
	digits := func(s string) (n int) {
		for n < len(s) && s[n] >= '0' && s[n] <= '9' {
			n++
		}
		return n
	}
	n := digits(s)
	if n < 1 || n > 3 || s[0] == '0' {
		return false
	}
	for groups := 0; ; groups++ {
		rest, mark := s[n:], ""
		for _, m := range [...]string{",", ".", "'", "’", " ", "\u00a0", "\u202f"} {
			if strings.HasPrefix(rest, m) {
				mark = m
			}
		}
		s = rest[len(mark):]
		if mark == "" || digits(s) != 3 {
			// One of another kind may stand before decimals.
			return groups > 0 && digits(s) == len(s)
		}
		n = 3
	}
}

// cutLength parts a length from the unit behind it, as [unit.ParseLength] knows it; ""
// if it has none, or one that is not known, which then is left in the number.
func cutLength(s string) (number, of string) {
	s = strings.ToLower(s)
	number = strings.TrimRightFunc(strings.TrimSuffix(s, "."), func(r rune) bool { return !strings.ContainsRune("0123456789.,", r) })
	behind := strings.TrimSpace(strings.TrimSuffix(s[len(number):], "."))
	if behind == "" {
		return strings.TrimSpace(s), ""
	}
	if of = unitNamed(behind); of == "" {
		return s, ""
	}
	return number, of
}

// unitNamed is the unit that is written so, as [unit.ParseLength] knows it; "" if it
// knows none.
func unitNamed(s string) string {
	switch s {
	case "mm", "millimetre", "millimetres", "millimeter", "millimeters":
		return "mm"
	case "cm", "centimetre", "centimetres", "centimeter", "centimeters":
		return "cm"
	case "in", "inch", "inches", `"`, "″", "”", "''":
		return "in"
	case "pt":
		return "pt"
	}
	return ""
}

func plain(v float64) string { return strconv.FormatFloat(v, 'f', -1, 64) }
