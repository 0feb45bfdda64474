package batch

import (
	"errors"
	"path/filepath"

	"laydown/coverage/artwork"
	"laydown/coverage/table"
	"laydown/coverage/unit"
)

// row is one order of a list.
type row struct {
	Line     int // of the file
	Art      string
	Item     string // "" for the order's, or else the shop's default
	Process  string // likewise
	Wish     artwork.Wish
	Quantity int
	Fault    error // what is wrong with the row; it is reported, and the others go on
}

// Bounds beyond which a cell is a mistake.
const (
	mostCopies = 10_000_000
	mostMM     = 1e6
	mostDPI    = 100_000
)

// list is how a list of orders is written; size is a width, or width x height.
var list = table.List{Of: "orders", Columns: []table.Column{
	{Name: "art", Also: table.Synonyms("art"), Failing: table.Failing("art"), Needed: true, Hash: true, Hint: "the name of an art file"},
	{Name: "quantity", Also: table.Synonyms("quantity"), Failing: table.Failing("quantity"), Needed: true},
	{Name: "item", Also: table.Synonyms("item"), Hash: true},
	{Name: "process", Hash: true},
	{Name: "size", Unit: "mm", Hint: "a width such as 80mm, or 80x60mm"},
	{Name: "width", Also: table.Synonyms("width"), Unit: "mm"},
	{Name: "height", Also: table.Synonyms("height"), Unit: "mm"},
	{Name: "dpi", Also: table.Synonyms("dpi")},
}}

// readRows reads a list of so many orders at most, whose art is in a folder. A bad row carries its fault; an
// error says that the list as a whole cannot be read.
func readRows(data []byte, folder string, most int) ([]row, error) {
	l := list
	l.Most = most
	t, err := l.Read(data)
	if err != nil {
		return nil, err
	}
	rows := make([]row, len(t.Rows))
	for i, r := range t.Rows {
		rows[i] = read(r)
		if a := rows[i].Art; a != "" && !filepath.IsAbs(a) {
			rows[i].Art = filepath.Join(folder, a)
		}
	}
	return rows, nil
}

func read(r *table.Row) row {
	out := row{Line: r.Line, Art: r.Needed("art"), Item: r.Text("item"), Process: r.Text("process")}
	out.Quantity = r.Count("quantity", mostCopies)
	if r.Has("size") {
		readSize(r, &out.Wish)
	}
	if r.Has("width") {
		out.Wish.WidthMM = r.Length("width", mostMM)
	}
	if r.Has("height") {
		out.Wish.HeightMM = r.Length("height", mostMM)
	}
	if r.Has("dpi") {
		out.Wish.DPI = r.Number("dpi", 1, mostDPI)
	}
	// The result of a row names its line itself.
	var fault *table.RowError
	if out.Fault = r.Err(); errors.As(out.Fault, &fault) {
		out.Fault = errors.New(fault.What())
	}
	return out
}

// readSize reads a width, or both sides, or the name of a sheet's size.
func readSize(r *table.Row, w *artwork.Wish) {
	if r.Has("width") || r.Has("height") {
		r.Refuse("size", "it, or width and height, not both")
		return
	}
	if named, err := unit.ParseSheet(r.Text("size")); err == nil && named.Name != "" {
		w.WidthMM, w.HeightMM = named.WidthMM, named.HeightMM
		return
	}
	w.WidthMM, w.HeightMM = r.Size("size", mostMM)
}
