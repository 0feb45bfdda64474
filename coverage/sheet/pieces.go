package sheet

import "laydown/coverage/table"

// ReadPieces reads a list of pieces, at most 2000, as package table reads lists: columns
// name, width_mm, height_mm and quantity, where the sides may name another unit. The
// error names the lines and what is wrong with them.
func ReadPieces(data []byte) ([]Piece, error) {
	t, err := table.List{Of: "pieces", Most: mostPieces, Columns: []table.Column{
		{Name: "name", Failing: []string{"piece", "description"}, Needed: true, Hash: true, Hint: "what the piece is called"},
		{Name: "width_mm", Also: table.Synonyms("width"), Unit: "mm", Needed: true},
		{Name: "height_mm", Also: table.Synonyms("height"), Unit: "mm", Needed: true},
		{Name: "quantity", Also: table.Synonyms("quantity"), Failing: table.Failing("quantity"), Needed: true},
	}}.Read(data)
	if err != nil {
		return nil, err
	}
	var pieces []Piece
	for _, r := range t.Rows {
		pieces = append(pieces, Piece{r.Needed("name"), r.Length("width_mm", mostMM), r.Length("height_mm", mostMM), r.Count("quantity", mostCopies)})
	}
	if err := t.Err(); err != nil {
		return nil, err
	}
	return pieces, nil
}
