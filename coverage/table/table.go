// Package table reads lists as shops write them: a CSV file with one header row,
// out of a spreadsheet, a web shop or an editor.
//
// Cells stand apart by comma, semicolon or tab, whichever makes the most of the
// header; text is UTF-8, UTF-16 with its mark, or else Windows-1252; lines end in
// any of the three ways. Columns stand in any order, their names in any case and by
// the trade's synonyms, a length's with its unit ("width_mm", "Width (cm)"). Numbers
// have a decimal point or comma. Rows without anything in them are passed over, lines that
// begin with # are, and columns that nobody asked for as well, unless their name looks
// like a slip of one that was.
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
	"bytes"
	"errors"
	"fmt"
	"io"
	"regexp"
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
	// Hash says that a cell may begin with #, as a colour or a name does. Where it is the
	// first of the file, a comment is a line with no letter or digit behind the #.
	Hash bool
	// Failing are names that are read where the file has none of the others: they often
	// mean this column, and sometimes another.
	Failing []string
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
		return []string{"ppi", "d.p.i.", "p.p.i."}
	case "hex":
		return []string{"hex code", "hex value"}
	}
	return nil
}

// Failing are the names for a column that may be meant by [Column.Failing].
func Failing(name string) []string {
	switch name {
	case "quantity":
		return []string{"pieces", "amount"}
	case "art":
		return []string{"file", "filename", "file name", "design"}
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
		if why := large(cells); why != "" {
			bad := &Row{Line: line, table: t, cells: make([]string, len(t.at))}
			bad.refuseRow(why)
			t.Rows = append(t.Rows, bad)
			continue
		}
		if t.Rows = append(t.Rows, t.row(cells, line, rune(s.comma))); len(t.Rows) == 1 && t.Rows[0].parted {
			return nil, t.Rows[0].Err()
		}
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

// hashFirst reports whether the cells of the file's first column may begin with #, as those
// of a column that nobody asked for may.
func (l List) hashFirst(at []int) bool {
	i := slices.Index(at, 0)
	return i < 0 || l.Columns[i].Hash
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
		s := newScanner(text, c)
		row, _, err := s.next()
		if err != nil {
			if first == nil {
				first = err
			}
			continue
		}
		n := 0
		for _, name := range row {
			if i, _ := l.find(name, strict); i >= 0 {
				n += 2
			} else if i, _ := l.find(name, loose); i >= 0 {
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

// scanner reads rows that hold anything, in the manner of RFC 4180. More freely than that,
// cells may differ in number, spaces around a cell are passed over, and a quote within a
// cell that does not begin with one is a quote, as in 3".
type scanner struct {
	text      string
	comma     byte
	at, line  int // where the next row begins, lines from 1
	cells     []string
	hashFirst bool // the first column's cells may begin with #
}

func newScanner(text string, comma rune) *scanner {
	return &scanner{text: text, comma: byte(comma), line: 1}
}

// next returns the cells of the next row and its line; they are good until the next
// call.
func (s *scanner) next() (cells []string, line int, err error) {
	for s.at < len(s.text) {
		if s.commentLine() {
			_, rest, _ := strings.Cut(s.text[s.at:], "\n")
			s.at, s.line = len(s.text)-len(rest), s.line+1
			continue
		}
		line = s.line
		if err := s.row(); err != nil {
			return nil, 0, err
		}
		if blank(s.cells) || (s.comment(s.cells[0]) && blank(s.cells[1:])) {
			continue
		}
		// A cell of many lines has swallowed rows that are asked for: no other may stand for them.
		if why := large(s.cells); why != "" && s.line > line+1 {
			return nil, 0, fmt.Errorf("line %d: %s", line, why)
		}
		return s.cells, line, nil
	}
	return nil, 0, io.EOF
}

// large says what is too large in a row; "" if nothing is.
func large(cells []string) string {
	if len(cells) > mostCells {
		return fmt.Sprintf("has more than %d cells: is it a list?", mostCells)
	}
	if slices.ContainsFunc(cells, func(c string) bool { return len(c) > mostBytes }) {
		return fmt.Sprintf("a cell holds more than %d bytes: is a quote (\") not closed?", mostBytes)
	}
	return ""
}

// row reads the cells of one row, which may be empty.
func (s *scanner) row() error {
	s.cells = s.cells[:0]
	for {
		s.skipSpaces()
		rest := s.text[s.at:]
		if strings.HasPrefix(rest, `"`) {
			cell, n := quoted(rest)
			if n == 0 {
				return fmt.Errorf("line %d: a quote (\") is not closed: close it behind the cell, and double a quote within", s.line)
			}
			begun := s.line
			s.at, s.line = s.at+n, s.line+strings.Count(rest[:n], "\n")
			s.skipSpaces()
			if s.at < len(s.text) && s.text[s.at] != s.comma && s.text[s.at] != '\n' {
				return fmt.Errorf("line %d: text stands behind a closing quote (\"): put the whole cell in quotes and double those within, as in \"3\"\"\"", begun)
			}
			s.cells = append(s.cells, cell)
		} else {
			n := 0
			for n < len(rest) && rest[n] != s.comma && rest[n] != '\n' {
				n++
			}
			s.at += n
			s.cells = append(s.cells, rest[:n])
		}
		if s.at == len(s.text) {
			return nil
		}
		s.at++
		if s.text[s.at-1] == '\n' {
			s.line++
			return nil
		}
	}
}

// skipSpaces passes over spaces within a line, but for those that cells stand apart by.
func (s *scanner) skipSpaces() {
	rest := strings.TrimLeftFunc(s.text[s.at:], func(r rune) bool { return unicode.IsSpace(r) && r != '\n' && r != rune(s.comma) })
	s.at = len(s.text) - len(rest)
}

// quoted reads a cell that begins with a quote, and how long it is in the text; 0 if it is
// not closed.
func quoted(text string) (cell string, n int) {
	n = 1
	for {
		i := strings.IndexByte(text[n:], '"')
		if i < 0 {
			return "", 0
		}
		n += i + 1
		if !strings.HasPrefix(text[n:], `"`) {
			return strings.ReplaceAll(text[1:n-1], `""`, `"`), n
		}
		n++
	}
}

// commentLine reports whether the next line is a comment, which may hold what no cell
// may. A # that is a cell by itself is one.
func (s *scanner) commentLine() bool {
	rest := s.text[s.at:]
	if !s.comment(rest) {
		return false
	}
	rest = strings.TrimLeft(rest[1:], " ")
	return rest == "" || rest[0] != s.comma
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
		if strings.TrimSpace(name) != "" {
			t.width = k + 1
		}
	}
	for _, how := range []reading{strict, loose} {
		had := slices.Clone(t.at) // by a better name
		for k, name := range row {
			name = strings.TrimSpace(name)
			i, unit := l.find(name, how)
			if i < 0 || had[i] >= 0 || slices.Contains(had, k) {
				continue
			}
			if t.at[i] >= 0 {
				return fmt.Errorf("two columns give the %s, %q and %q: leave one out", base(l.Columns[i]), t.names[i], name)
			}
			t.names[i], t.units[i], t.at[i], found = name, unit, k, true
		}
	}
	if found {
		for k, name := range row {
			if slices.Contains(t.at, k) {
				continue
			}
			if slip := t.slip(name); slip != "" {
				return fmt.Errorf("no column is called %q; is %s meant? The columns are %s; others are passed over",
					strings.TrimSpace(name), slip, strings.Join(l.columnNames(), ", "))
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
	if t.lacksEither() {
		return fmt.Errorf("the first row must name its columns: %s", l.header())
	}
	return nil
}

func (t *Table) lacksEither() bool {
	return len(t.list.Either) > 0 && !slices.ContainsFunc(t.list.Either, func(set []string) bool { return t.HasAll(set...) })
}

// reading is how a header names a column.
type reading int

const (
	strict reading = iota // by one of its names
	loose                 // by one that may stand for it, or with something in brackets behind it
)

// find returns the column that a header names, and the unit of its bare numbers; -1
// if it is none.
func (l List) find(header string, how reading) (column int, unit string) {
	key := fold(header)
	if key == "" {
		return -1, ""
	}
	whole, bare := key, fold(bracketed.ReplaceAllString(header, " "))
	if how == loose && bare != "" {
		key = bare
	}
	for i, c := range l.Columns {
		if c.Unit == "" {
			for _, n := range c.called() {
				if fold(n) == key {
					return i, ""
				}
			}
		}
		for _, n := range c.Failing {
			if how == loose && (fold(n) == key || fold(n) == whole) {
				return i, c.Unit
			}
		}
	}
	if how == loose {
		return -1, ""
	}
	bare, unit = cutUnit(key)
	for i, c := range l.Columns {
		if c.Unit == "" {
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

var bracketed = regexp.MustCompile(`[(\[][^)\]]*[)\]]`)

func (c Column) called() []string { return append([]string{c.Name}, c.Also...) }

// base is a column's name without its unit.
func base(c Column) string {
	key := fold(c.Name)
	if c.Unit != "" {
		key, _ = cutUnit(key)
	}
	return key
}

// longWord is how many letters a word has that is hardly another one but for a letter, as
// side is size.
const longWord = 5

// slip returns the column that a header which names none is a slip of: one that the file
// does not have. Where it could do without that column, the name must be a long one, or
// have something in brackets behind it.
func (t *Table) slip(header string) string {
	key := fold(header)
	plain, unit := cutUnit(key)
	short := fold(bracketed.ReplaceAllString(header, " "))
	either := t.lacksEither()
	for i, c := range t.list.Columns {
		if t.at[i] >= 0 {
			continue
		}
		needed := c.Needed || (either && slices.ContainsFunc(t.list.Either, func(set []string) bool { return slices.Contains(set, c.Name) }))
		names := []string{c.Name}
		if needed {
			names = c.called()
		}
		for _, n := range names {
			n, key := fold(n), key
			if c.Unit != "" {
				if n, _ = cutUnit(n); unit != "" {
					key = plain
				}
			}
			if n == short || ((needed || utf8.RuneCountInString(n) >= longWord) && (slipped(n, key) || slipped(n, short))) {
				return c.Name
			}
		}
	}
	return ""
}

// slipped reports whether w is v but for one letter, which is not the first, or for two
// neighbours that changed places.
func slipped(v, w string) bool {
	a, b := []rune(v), []rune(w)
	if min(len(a), len(b)) < 3 || a[0] != b[0] {
		return false
	}
	if len(a) == len(b) {
		for i := 1; i+1 < len(a); i++ {
			if a[i] != b[i] {
				a[i], a[i+1] = a[i+1], a[i]
				if slices.Equal(a, b) {
					return true
				}
				a[i], a[i+1] = a[i+1], a[i]
				break
			}
		}
	}
	return apart(v, w) == 1
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
