package proof

import (
	"encoding/csv"
	"fmt"
	"io"
	"strings"

	"github.com/jedib0t/go-pretty/v6/table"

	"laydown/coverage/sheet"
	"laydown/coverage/unit"
)

// GangFacts is what the gang command prints.
type GangFacts struct{ sheet.Gang }

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
	return &GangFacts{g}, nil
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
		for _, q := range f.Pieces {
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

// mostCopies is beyond what anybody orders.
const mostCopies = 10_000_000

// Room is the room on a sheet as the command line gives it.
func Room(s unit.Sheet, margin, gap unit.Length) sheet.Room {
	return sheet.Room{Sheet: s, MarginMM: margin.MM(), GapMM: gap.MM()}
}
