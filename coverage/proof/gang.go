package proof

import (
	"bytes"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"strconv"
	"strings"

	"github.com/jedib0t/go-pretty/v6/table"

	"laydown/coverage/sheet"
	"laydown/coverage/unit"
)

// GangFacts is what the gang command prints.
type GangFacts struct {
	Sheet   Sheet         `json:"sheet"` // Copies counts the places of all layouts
	Layouts []GangLayout  `json:"layouts"`
	Sheets  int           `json:"sheets"`
	Extra   int           `json:"extra_copies"`
	pieces  []sheet.Piece // as asked for
}

// GangLayout is one layout and how often it is printed.
type GangLayout struct {
	Prints      int         `json:"prints"`
	FillPercent float64     `json:"fill_percent"` // of the sheet within its margins
	Places      []GangPlace `json:"places"`
}

// GangPlace is where one piece lies, from the sheet's top left corner.
type GangPlace struct {
	Name     string  `json:"name"`
	XMM      float64 `json:"x_mm"`
	YMM      float64 `json:"y_mm"`
	WidthMM  float64 `json:"width_mm"`
	HeightMM float64 `json:"height_mm"`
	Turned   bool    `json:"turned"`
}

// Gang sets pieces on shared sheets, or with oneLayout on a single one.
func Gang(room sheet.Room, pieces []sheet.Piece, oneLayout bool) (*GangFacts, error) {
	way := room.Share
	if oneLayout {
		way = room.OneLayout
	}
	g, err := way(pieces)
	if err != nil {
		return nil, err
	}
	f := &GangFacts{Sheet: Sheet{Name: room.Sheet.String(), WidthMM: to(room.Sheet.WidthMM, 2), HeightMM: to(room.Sheet.HeightMM, 2)},
		Sheets: g.Sheets, Extra: g.Extra, pieces: pieces}
	for _, l := range g.Layouts {
		v := GangLayout{Prints: l.Prints, FillPercent: to(l.Fill*100, 2)}
		for _, p := range l.Places {
			v.Places = append(v.Places, GangPlace{pieces[p.Piece].Name, to(p.XMM, 2), to(p.YMM, 2), to(p.WidthMM, 2), to(p.HeightMM, 2), p.Turned})
		}
		f.Sheet.Copies += len(v.Places)
		f.Layouts = append(f.Layouts, v)
	}
	return f, nil
}

// Text sets the gang for a terminal.
func (f *GangFacts) Text() string {
	t := newTable("layout", "prints", "filled", "pieces on it")
	rightFrom(t, 1, 3)
	for i, l := range f.Layouts {
		count := map[string]int{}
		for _, p := range l.Places {
			count[p.Name]++
		}
		var parts []string
		for _, q := range f.pieces {
			if n := count[q.Name]; n > 0 {
				parts = append(parts, fmt.Sprintf("%d × %s", n, q.Name))
				delete(count, q.Name)
			}
		}
		t.AppendRow(table.Row{i + 1, l.Prints, fmt.Sprintf("%.1f %%", l.FillPercent), strings.Join(parts, ", ")})
	}
	s := fmt.Sprintf("%s of %s:\n\n%s\n", plural(f.Sheets, "sheet", "sheets"), f.Sheet.Name, t.Render())
	if f.Extra > 0 {
		s += fmt.Sprintf("\n%s more than asked for.\n", plural(f.Extra, "copy", "copies"))
	}
	return s
}

// header reads the first row of a CSV file and finds the wanted columns, whose names
// may be in any order and case. An error names those that are missing.
func header(c *csv.Reader, wanted ...string) (map[string]int, error) {
	first, err := c.Read()
	if err == io.EOF {
		return nil, fmt.Errorf("is empty: the first row must name its columns, %s", strings.Join(wanted, ", "))
	}
	if err != nil {
		return nil, err
	}
	at := map[string]int{}
	for i, n := range first {
		at[strings.ToLower(strings.TrimSpace(strings.TrimPrefix(n, "\ufeff")))] = i
	}
	for _, w := range wanted {
		if _, ok := at[w]; !ok {
			return nil, fmt.Errorf("the first row must name its columns, %s: %q is missing", strings.Join(wanted, ", "), w)
		}
	}
	return at, nil
}

// ParsePieces reads a CSV file of pieces with the columns name, width_mm, height_mm
// and quantity. An error names the line and what is wrong with it.
func ParsePieces(data []byte) (pieces []sheet.Piece, err error) {
	c := csv.NewReader(bytes.NewReader(data))
	c.TrimLeadingSpace = true
	at, err := header(c, "name", "width_mm", "height_mm", "quantity")
	if err != nil {
		return nil, err
	}
	for {
		row, err := c.Read()
		if err == io.EOF {
			break
		}
		if err != nil {
			return nil, err
		}
		line, _ := c.FieldPos(0)
		fail := func(what string) error {
			return fmt.Errorf("line %d: %s %q: write a number above 0", line, what, row[at[what]])
		}
		p := sheet.Piece{Name: row[at["name"]]}
		if p.Name == "" {
			return nil, fmt.Errorf("line %d: a piece has no name", line)
		}
		for what, v := range map[string]*float64{"width_mm": &p.WidthMM, "height_mm": &p.HeightMM} {
			if *v, err = strconv.ParseFloat(strings.TrimSpace(row[at[what]]), 64); err != nil || !(*v > 0 && *v <= mostMM) {
				return nil, fail(what)
			}
		}
		if p.Quantity, err = strconv.Atoi(strings.TrimSpace(row[at["quantity"]])); err != nil || p.Quantity <= 0 || p.Quantity > mostCopies {
			return nil, fail("quantity")
		}
		pieces = append(pieces, p)
		if len(pieces) > mostPieces {
			return nil, errors.New("there are more than 2000 pieces: gang them in parts")
		}
	}
	if len(pieces) == 0 {
		return nil, errors.New("there are no pieces in it: write one a line below the first row")
	}
	return pieces, nil
}

// What is beyond these is a mistake.
const (
	mostMM     = 10_000
	mostCopies = 10_000_000
	mostPieces = 2000
)

// Room is the room on a sheet as the command line gives it.
func Room(s unit.Sheet, margin, gap unit.Length) sheet.Room {
	return sheet.Room{Sheet: s, MarginMM: margin.MM(), GapMM: gap.MM()}
}
