// Package table reads lists as shops write them: a CSV file with one header row,
// out of a spreadsheet, a web shop or an editor.
//
// Cells stand apart by comma, semicolon or tab, whichever makes the most of the
// header; text is UTF-8, UTF-16 with its mark, or else Windows-1252; lines end in
// any of the three ways. Columns stand in any order, their names in any case and by
// the trade's synonyms, a length's with its unit ("width_mm", "Width (cm)"). Numbers
// have a decimal point or comma. Rows without anything in them are passed over, and
// columns that nobody asked for as well, unless their name looks like a slip of one
// that was.
//
// Nothing is guessed that could be read in two ways and make sense in both: a cell
// "1.500" that may be one and a half or fifteen hundred is refused. A comma that is
// meant as a decimal mark, but parts cells, is noticed where it makes a row longer
// than the header.
//
// Errors are the same on every run. What makes a file unreadable is an error of
// [List.Read]; what is wrong with one row waits in [Row.Err], so that the others can
// go on.
package table

import (
	"bufio"
	"bytes"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"math"
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"
)

// List says what a list holds.
type List struct {
	// Of is what its rows are, in the plural, such as "orders".
	Of      string
	Columns []Column
	// Either are sets of columns of which the file must have one whole, beside what is
	// needed; nil if that is all.
	Either [][]string
	// Header is how errors ask for the columns, such as "name, and hex or L, a, b"; ""
	// for the names of the needed ones.
	Header string
	// Most is how many rows there may be; 0 stands for 100 000.
	Most int
	// Comments says that lines that begin with # are passed over.
	Comments bool
}

// Column is one column that is read.
type Column struct {
	// Name is how the program calls it; errors without a place in the file do too. It
	// may end in a unit, as in width_mm.
	Name string
	// Also are other names that are read.
	Also []string
	// Unit is that of a length without one: mm, cm, in or pt. "" says that the column
	// holds no lengths. A unit in the header's name goes before it.
	Unit string
	// Needed says that there is no list without it.
	Needed bool
	// Hint is what a cell may hold, as in "a width such as 80mm, or 80x60mm"; "" for
	// the usual words of its kind.
	Hint string
	// Hash says that a cell may begin with #, as a colour does. Where it is the first of
	// the file, a comment is a line with no letter or digit behind the #.
	Hash bool
}

// Synonyms are the names that the trade also writes for a column; nil for names that
// it has none for.
func Synonyms(name string) []string {
	switch name {
	case "quantity":
		return []string{"qty", "pcs", "count", "copies"}
	case "width":
		return []string{"w"}
	case "height":
		return []string{"h"}
	case "art":
		return []string{"artwork", "art file"}
	case "item":
		return []string{"garment"}
	case "dpi":
		return []string{"ppi"}
	case "hex":
		return []string{"hex code", "hex value"}
	}
	return nil
}

// Table is the rows of a file.
type Table struct {
	// Rows are those that hold anything, in the file's order.
	Rows []*Row

	list  List
	names []string // of the columns as the file writes them; "" if it does not have one
	units []string // likewise
	at    []int    // where in the file; -1 if it does not have one
	width int      // columns of the file, up to the last that has a name
}

// Bounds beyond which a file is no list.
const (
	mostRows  = 100_000
	mostCells = 1000   // in a row
	mostBytes = 32_767 // in a cell, as in spreadsheets
)

// Read reads a file. The error says what to do: that a needed column is missing, that
// one stands twice or is misspelt, that there are no rows or too many, that a quote is
// not closed, that this is a spreadsheet's own file. Mistakes within one row are not
// among them, see [Row.Err].
func (l List) Read(data []byte) (*Table, error) {
	text, err := decode(data)
	if err != nil {
		return nil, err
	}
	s, head, err := l.sniff(text)
	if err == io.EOF {
		return nil, fmt.Errorf("is empty: the first row must name its columns, %s", l.header())
	}
	if err != nil {
		return nil, err
	}
	t := &Table{list: l}
	if err := t.head(head); err != nil {
		return nil, err
	}
	s.hashFirst = l.hashFirst(t.at)
	most := l.Most
	if most == 0 {
		most = mostRows
	}
	for {
		cells, line, err := s.next()
		if err == io.EOF {
			break
		}
		if err != nil {
			return nil, err
		}
		if len(t.Rows) == most {
			return nil, fmt.Errorf("there are more than %d %s: split the list", most, l.Of)
		}
		t.Rows = append(t.Rows, t.row(cells, line, s.comma()))
	}
	if len(t.Rows) == 0 {
		return nil, fmt.Errorf("there are no %s in it: write one a line below the first row", l.Of)
	}
	return t, nil
}

// Has reports whether the file has a column; name is one of the list's.
func (t *Table) Has(name string) bool { return t.at[t.list.column(name)] >= 0 }

// HasAll reports whether the file has all of some columns.
func (t *Table) HasAll(names ...string) bool {
	return !slices.ContainsFunc(names, func(n string) bool { return !t.Has(n) })
}

// column is the index of a column; asking for one that is not the list's is a mistake
// in the program.
func (l List) column(name string) int {
	i := slices.IndexFunc(l.Columns, func(c Column) bool { return c.Name == name })
	if i < 0 {
		panic("table: the list has no column " + name)
	}
	return i
}

func (l List) columnNames() (names []string) {
	for _, c := range l.Columns {
		names = append(names, c.Name)
	}
	return names
}

func (l List) header() string {
	if l.Header != "" {
		return l.Header
	}
	var names []string
	for _, c := range l.Columns {
		if c.Needed {
			names = append(names, c.Name)
		}
	}
	return strings.Join(names, ", ")
}

func (l List) hashFirst(at []int) bool {
	i := slices.Index(at, 0)
	return i >= 0 && l.Columns[i].Hash
}

// commas are what cells may stand apart by; the first of equals wins.
var commas = [...]rune{',', ';', '\t'}

// sniff finds what cells stand apart by: the header has the most known columns then,
// or failing that the most cells. It returns the rows behind the header, and the
// header.
func (l List) sniff(text string) (best *scanner, head []string, err error) {
	text, comma := separatorLine(text)
	first, known, cells := error(nil), -1, 0
	for _, c := range commas {
		if comma != 0 && c != comma {
			continue
		}
		s := newScanner(text, c, l.Comments)
		row, _, err := s.next()
		if err != nil {
			if first == nil {
				first = err
			}
			continue
		}
		n := 0
		for _, name := range row {
			if i, _ := l.find(name); i >= 0 {
				n++
			}
		}
		if n > known || (n == known && len(row) > cells) {
			best, head, known, cells = s, slices.Clone(row), n, len(row)
		}
	}
	if best == nil {
		return nil, nil, first
	}
	return best, head, nil
}

// separatorLine reads a first line such as sep=; that spreadsheets write and heed. The
// line is left empty, so that the others keep their numbers.
func separatorLine(text string) (rest string, comma rune) {
	line, _, _ := strings.Cut(text, "\n")
	after, ok := strings.CutPrefix(strings.ToLower(strings.Trim(line, `"`)), "sep=")
	if !ok {
		return text, 0
	}
	for _, c := range commas {
		if after == string(c) {
			return text[len(line):], c
		}
	}
	return text, 0
}

// scanner reads rows that hold anything.
type scanner struct {
	text      string // from where csv began
	line      int    // lines before text
	csv       *csv.Reader
	in        *bufio.Reader
	comments  bool
	hashFirst bool // the first column's cells may begin with #
}

func newScanner(text string, comma rune, comments bool) *scanner {
	s := &scanner{in: bufio.NewReader(nil), comments: comments}
	s.begin(text, 0, comma)
	return s
}

func (s *scanner) begin(text string, line int, comma rune) {
	s.text, s.line = text, line
	s.in.Reset(strings.NewReader(text))
	s.csv = csv.NewReader(s.in)
	s.csv.Comma = comma
	s.csv.FieldsPerRecord = -1
	s.csv.ReuseRecord = true
	s.csv.TrimLeadingSpace = comma != '\t' // it would take the tabs
}

func (s *scanner) comma() rune { return s.csv.Comma }

// next returns the cells of the next row and its line; they are good until the next
// call.
func (s *scanner) next() (cells []string, line int, err error) {
	for {
		s.skipComments()
		cells, err = s.csv.Read()
		if err == io.EOF {
			return nil, 0, err
		}
		var p *csv.ParseError
		if errors.As(err, &p) {
			return nil, 0, s.parseError(p)
		}
		if err != nil {
			return nil, 0, err
		}
		line, _ = s.csv.FieldPos(0)
		line += s.line
		if blank(cells) || (s.comments && len(cells) > 0 && s.comment(cells[0]) && blank(cells[1:])) {
			continue
		}
		if len(cells) > mostCells {
			return nil, 0, fmt.Errorf("line %d: has more than %d cells: is it a list?", line, mostCells)
		}
		for _, c := range cells {
			if len(c) > mostBytes {
				return nil, 0, fmt.Errorf("line %d: a cell holds more than %d bytes: is a quote (\") not closed?", line, mostBytes)
			}
		}
		return cells, line, nil
	}
}

// skipComments passes over lines that are comments, which may hold what no cell may.
func (s *scanner) skipComments() {
	if !s.comments {
		return
	}
	rest, n, found := s.text[s.csv.InputOffset():], 0, false
	for rest != "" && (rest[0] == '\n' || s.comment(rest)) {
		found = found || rest[0] != '\n'
		_, rest, _ = strings.Cut(rest, "\n")
		n++
	}
	if found {
		before := strings.Count(s.text[:s.csv.InputOffset()], "\n")
		s.begin(rest, s.line+before+n, s.csv.Comma)
	}
}

// comment reports whether a line that begins so is one.
func (s *scanner) comment(text string) bool {
	rest, ok := strings.CutPrefix(text, "#")
	if !ok || !s.hashFirst {
		return ok
	}
	r, _ := utf8.DecodeRuneInString(rest)
	return rest == "" || !(unicode.IsLetter(r) || unicode.IsDigit(r))
}

func (s *scanner) parseError(p *csv.ParseError) error {
	hint := "report this file"
	switch p.Err {
	case csv.ErrBareQuote:
		hint = `put the whole cell in quotes and double those within, as in "3"""`
	case csv.ErrQuote:
		hint = "close it behind the cell, and double a quote within"
	}
	return fmt.Errorf("line %d: %w: %s", s.line+p.StartLine, p.Err, hint)
}

// blank reports whether cells hold nothing but what cells stand apart by.
func blank(cells []string) bool {
	for _, c := range cells {
		if strings.IndexFunc(c, func(r rune) bool { return !unicode.IsSpace(r) && r != ',' && r != ';' }) >= 0 {
			return false
		}
	}
	return true
}

// head reads the header row.
func (t *Table) head(row []string) error {
	l := t.list
	t.names, t.units, t.at = make([]string, len(l.Columns)), make([]string, len(l.Columns)), make([]int, len(l.Columns))
	for i := range t.at {
		t.at[i] = -1
	}
	found := false
	for k, name := range row {
		name = strings.TrimSpace(name)
		if name != "" {
			t.width = k + 1
		}
		i, unit := l.find(name)
		if i < 0 {
			continue
		}
		if t.at[i] >= 0 {
			return fmt.Errorf("two columns give the %s, %q and %q: leave one out", base(l.Columns[i]), t.names[i], name)
		}
		t.names[i], t.units[i], t.at[i], found = name, unit, k, true
	}
	if found {
		for _, name := range row {
			if near := t.near(name); near != "" {
				return fmt.Errorf("no column is called %q; is %s meant? The columns are %s; others are passed over",
					strings.TrimSpace(name), near, strings.Join(l.columnNames(), ", "))
			}
		}
	}
	for i, c := range l.Columns {
		switch {
		case !c.Needed || t.at[i] >= 0:
		case l.Header != "":
			return fmt.Errorf("the first row must name its columns: %s", l.Header)
		default:
			return fmt.Errorf("the first row must name its columns, %s: %q is missing", l.header(), c.Name)
		}
	}
	if len(l.Either) > 0 && !slices.ContainsFunc(l.Either, func(set []string) bool { return t.HasAll(set...) }) {
		return fmt.Errorf("the first row must name its columns: %s", l.header())
	}
	return nil
}

// find returns the column that a header names, and the unit of its bare numbers; -1
// if it is none.
func (l List) find(header string) (column int, unit string) {
	key := fold(header)
	if key == "" {
		return -1, ""
	}
	bare, unit := cutUnit(key)
	for i, c := range l.Columns {
		if c.Unit == "" {
			for _, n := range c.called() {
				if fold(n) == key {
					return i, ""
				}
			}
			continue
		}
		for _, n := range c.called() {
			n, _ := cutUnit(fold(n))
			switch {
			case n == bare && unit != "":
				return i, unit
			case n == key:
				return i, c.Unit
			}
		}
	}
	return -1, ""
}

func (c Column) called() []string { return append([]string{c.Name}, c.Also...) }

// base is a column's name without its unit.
func base(c Column) string {
	key := fold(c.Name)
	if c.Unit != "" {
		key, _ = cutUnit(key)
	}
	return key
}

// near returns the column that a header which names none may mean: one that the file
// does not have by another name, with fewer than half of the letters amiss.
func (t *Table) near(header string) string {
	if i, _ := t.list.find(header); i >= 0 {
		return ""
	}
	key := fold(header)
	bare, unit := cutUnit(key)
	best, least := "", math.MaxInt
	for i, c := range t.list.Columns {
		if t.at[i] >= 0 {
			continue
		}
		n, key := fold(c.Name), key
		if c.Unit != "" {
			if n, _ = cutUnit(n); unit != "" {
				key = bare
			}
		}
		if d := apart(n, key); d < least && 2*d < utf8.RuneCountInString(key) {
			best, least = c.Name, d
		}
	}
	return best
}

// fold makes header names alike that differ in case, and in what stands between words
// and around them.
func fold(name string) string {
	name = strings.NewReplacer(`"`, " in", "″", " in").Replace(name)
	return strings.Join(strings.FieldsFunc(strings.ToLower(name), func(r rune) bool {
		return !unicode.IsLetter(r) && !unicode.IsDigit(r) && !unicode.IsMark(r)
	}), " ")
}

// cutUnit parts a folded name from the unit behind it: "width mm", "width in mm". unit
// is "" if there is none.
func cutUnit(key string) (bare, unit string) {
	i := strings.LastIndexByte(key, ' ')
	if i < 0 {
		return key, ""
	}
	if unit = unitNamed(key[i+1:]); unit == "" {
		return key, ""
	}
	return strings.TrimSuffix(key[:i], " in"), unit
}

// decode turns a file into text whose lines end in \n.
func decode(data []byte) (string, error) {
	switch {
	case bytes.HasPrefix(data, []byte("PK\x03\x04")), bytes.HasPrefix(data, []byte("\xd0\xcf\x11\xe0")):
		return "", errors.New("is a spreadsheet's own file: save the list from there as CSV")
	}
	text, err := toUTF8(data)
	if err != nil || strings.ContainsRune(text, 0) {
		return "", errors.New("is no text: save the list as CSV in UTF-8")
	}
	return strings.NewReplacer("\r\n", "\n", "\r", "\n").Replace(text), nil
}
