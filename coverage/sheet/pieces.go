package sheet

import (
	"path/filepath"
	"strings"

	"laydown/coverage/table"
)

// Ask is a piece as somebody asks for it: by its sides, or by an art file, whose size then
// gives the sides that are 0.
type Ask struct {
	Piece
	Art   string // path of an art file; "" if it is not known
	Order string // that it belongs to; "" if none is named
	Line  int    // of the list; 0 for none
}

// For is the order that the piece belongs to, or its own name where none is named.
func (a Ask) For() string {
	if a.Order != "" {
		return a.Order
	}
	return a.Name
}

// pieceList is how a list of pieces is written.
var pieceList = table.List{Of: "pieces", Most: mostPieces, Header: "name, width_mm, height_mm and quantity, or art and quantity",
	Either: [][]string{{"name", "width_mm", "height_mm"}, {"art"}}, Columns: []table.Column{
		{Name: "name", Failing: []string{"piece", "description"}, Hash: true, Hint: "what the piece is called"},
		{Name: "width_mm", Also: table.Synonyms("width"), Unit: "mm"},
		{Name: "height_mm", Also: table.Synonyms("height"), Unit: "mm"},
		{Name: "quantity", Also: table.Synonyms("quantity"), Failing: table.Failing("quantity"), Needed: true},
		{Name: "art", Also: table.Synonyms("art"), Hash: true},
		{Name: "order", Also: []string{"order number", "order no"}, Hash: true},
	}}

// ReadPieces reads a list of pieces, at most 2000, as package table reads lists: columns
// name, width_mm, height_mm and quantity, where the sides may name another unit; or art,
// the name of an art file in the list's folder, with either side, both or none, and a name
// if it shall not be the file's. A column order says what the piece belongs to. The
// error names the lines and what is wrong with them.
func ReadPieces(data []byte, folder string) ([]Ask, error) {
	t, err := pieceList.Read(data)
	if err != nil {
		return nil, err
	}
	var asks []Ask
	for _, r := range t.Rows {
		a := Ask{Art: r.Text("art"), Order: r.Text("order"), Line: r.Line}
		if a.Name = r.Text("name"); a.Art == "" {
			a.Name = r.Needed("name")
		}
		side := func(column string) float64 {
			if a.Art != "" && !r.Has(column) {
				return 0
			}
			return r.Length(column, mostMM)
		}
		a.WidthMM, a.HeightMM = side("width_mm"), side("height_mm")
		a.Quantity = r.Count("quantity", mostCopies)
		if a.Art != "" {
			if a.Name == "" {
				a.Name = NameOf(a.Art)
			}
			if !filepath.IsAbs(a.Art) {
				a.Art = filepath.Join(folder, a.Art)
			}
		}
		asks = append(asks, a)
	}
	if err := t.Err(); err != nil {
		return nil, err
	}
	return asks, nil
}

// NameOf is what a piece of an art file is called that has no other name: the file's, without its
// folder and what its name ends in.
func NameOf(art string) string {
	base := filepath.Base(art)
	if name := strings.TrimSuffix(base, filepath.Ext(base)); name != "" {
		return name
	}
	return base
}
