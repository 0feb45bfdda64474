// Package commission is what a customer orders as a whole: goods of several designs, with
// one or more prints on each piece, in sizes, on the shop's blanks or the customer's own,
// with names from a list; and what is agreed beside them.
//
// It is read from a file that people fill in, in TOML or as a CSV list, or made of a folder
// of art. Names of items and processes are only looked up later, with the shop file; art
// and lists are named relative to the file. It knows no prices.
package commission

import (
	"bytes"
	_ "embed"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"github.com/shopspring/decimal"

	"laydown/colour"
	"laydown/coverage/file"
	"laydown/coverage/form"
	"laydown/coverage/limit"
	"laydown/coverage/table"
	"laydown/coverage/unit"
)

// Commission is a whole order. Zero fields are left open.
type Commission struct {
	Number   string   `toml:"number"`
	Customer string   `toml:"customer"`
	Address  []string `toml:"address"` // lines under the customer's name
	Date     Date     `toml:"date"`    // of the quote
	Due      Date     `toml:"due"`
	Note     string   `toml:"note"` // to the customer
	// Rush asks for the shop's surcharge on the goods, and DiscountPercent is taken off them.
	Rush            bool            `toml:"rush"`
	DiscountPercent decimal.Decimal `toml:"discount_percent"`
	Charges         []Charge        `toml:"charge"`
	Goods           []Goods         `toml:"goods"`
}

// Charge is an amount beside the goods, such as for design or delivery.
type Charge struct {
	Name   string          `toml:"name"`
	Amount decimal.Decimal `toml:"amount"`
}

// Goods are pieces of one item with the same prints on each.
type Goods struct {
	Name       string         `toml:"name"`        // that the customer knows them by; "" for the item's
	Item       string         `toml:"item"`        // of the shop file; "" for what the asker says
	ItemColour string         `toml:"item_colour"` // in place of the item's own
	OwnBlanks  bool           `toml:"own_blanks"`  // the customer brings the pieces
	Quantity   int            `toml:"quantity"`    // the sum of Sizes, if there are any
	Sizes      map[string]int `toml:"sizes"`
	Names      string         `toml:"names"` // a list with a row for every piece, for prints that are text
	Prints     []Print        `toml:"print"`

	SizeOrder []string    // the sizes, as the file has them
	List      []Piece     // of Names
	Colour    *colour.Lab // of ItemColour
	folder    string      // that files are named from
}

// Piece is a row of a list of names.
type Piece struct {
	Line               int // of the list
	Name, Number, Size string
}

// Print is one print on every piece: art, or a text.
type Print struct {
	Art     string      `toml:"art"`
	Page    int         `toml:"page"`
	Text    string      `toml:"text"`    // with {name} and {number} of the piece
	Place   string      `toml:"place"`   // on the item, in the shop's words
	Process string      `toml:"process"` // "" for the best, or what the asker says
	Width   unit.Length `toml:"width"`   // of a text the most
	Height  unit.Length `toml:"height"`  // not of a text
	DPI     float64     `toml:"dpi"`
	// Of a text: its font, the height of its capitals, its colours and outline.
	Font          string      `toml:"font"`
	Bold          bool        `toml:"bold"`
	Italic        bool        `toml:"italic"`
	Letters       unit.Length `toml:"letter_height"`
	Colour        string      `toml:"colour"`
	Outline       unit.Length `toml:"outline"`
	OutlineColour string      `toml:"outline_colour"`
}

// Date is a day. Its zero value is none.
type Date struct{ time.Time }

const dateForm = "2006-01-02"

// Describe says what a date is written as.
func (Date) Describe() string { return `a date such as "2026-03-14"` }

// Dated says that it may stand in a form without quotes.
func (Date) Dated() {}

// UnmarshalText reads a date.
func (d *Date) UnmarshalText(b []byte) error {
	t, err := time.Parse(dateForm, string(b))
	if err != nil || t.Year() < 1970 || t.Year() > 2999 {
		return fmt.Errorf("%q is no date: write it as year, month and day, such as \"2026-03-14\"", b)
	}
	d.Time = t
	return nil
}

// String is the date as it is written; "" for none.
func (d Date) String() string {
	if d.IsZero() {
		return ""
	}
	return d.Format(dateForm)
}

//go:embed example.toml
var example []byte

// Example is an order to start from, commented, with every key in it; all of it is invented.
// It names heron-badge.png of the demo and a list of names, team.csv.
func Example() []byte { return bytes.Clone(example) }

// Bounds beyond which a figure is a mistake.
const (
	mostPieces  = 10_000_000
	mostGoods   = 200
	mostNamesMB = 4 // of a list of some thousand names
	mostPrints  = 20
	mostMM      = 10_000
)

// Read reads a file in TOML, whose folder is where art and lists are named from, and the
// lists. The error has every mistake on a line of its own, with its line, table and key.
func Read(data []byte, name, folder string) (*Commission, error) {
	root, found := form.Read(data)
	if len(found) > 0 {
		return nil, form.All(found, name, root)
	}
	c := &Commission{}
	if found := form.Bind(root, c, "The comments of laydown init --order list all keys."); len(found) > 0 {
		return nil, form.All(found, name, root)
	}
	check := &form.Check{Root: root}
	top := check.Table()
	if len(c.Goods) == 0 {
		top.Say("", "there are no [[goods]]: write what is ordered")
	}
	if len(c.Goods) > mostGoods {
		top.Say("goods", "goods are more than %d: split the order", mostGoods)
	}
	top.Amount("discount_percent", c.DiscountPercent)
	if c.DiscountPercent.GreaterThan(decimal.NewFromInt(100)) {
		top.Say("discount_percent", "discount_percent must be at most 100")
	}
	if !c.Due.IsZero() && c.Due.Before(c.Date.Time) {
		top.Say("due", "due is before date")
	}
	for i, v := range c.Charges {
		t := check.Table("charge", i)
		if v.Name == "" {
			t.Missing("name", `"delivery"`)
		}
		t.Missing("amount", `"6.50"`)
		t.Amount("amount", v.Amount)
	}
	for i := range c.Goods {
		g, t := &c.Goods[i], check.Table("goods", i)
		g.folder = folder
		if sizes, ok := root.Find(form.Path{"goods", i, "sizes"}); ok {
			g.SizeOrder = sizes.Keys()
		}
		g.check(t)
	}
	return c, form.All(check.Found, name, root)
}

// check looks at goods and reads their list.
func (g *Goods) check(t form.Table) {
	if g.ItemColour != "" {
		lab, err := colour.Parse(g.ItemColour)
		if !t.Fails("item_colour", err) {
			g.Colour = &lab
		}
	}
	if len(g.Prints) == 0 {
		t.Say("", "has no [[goods.print]]: write what is printed on it")
	}
	if len(g.Prints) > mostPrints {
		t.Say("print", "print: at most %d prints are on one piece", mostPrints)
	}
	if g.Names != "" {
		t.Fails("names", g.readNames())
	}
	sum := 0
	for _, z := range g.SizeOrder {
		n := g.Sizes[z]
		if n <= 0 || n > mostPieces {
			t.Say("sizes", "sizes: %s = %d: a quantity must be above 0", z, n)
			n = 0
		}
		sum += n
	}
	switch {
	case g.Quantity < 0 || g.Quantity > mostPieces || (t.Has("quantity") && g.Quantity == 0):
		t.Say("quantity", "quantity must be above 0 and at most %d", mostPieces)
	case g.Quantity == 0 && sum > 0:
		g.Quantity = sum
	case g.Quantity == 0 && !t.Has("sizes") && !t.Has("names"):
		t.Missing("quantity", "24, or sizes = { M = 10, L = 14 }, or names = a list")
	case sum > 0 && sum != g.Quantity:
		t.Say("quantity", "quantity = %d, but the %s are %d: leave quantity out, or mend one of them", g.Quantity, map[bool]string{true: "rows of the list", false: "sizes"}[g.Names != ""], sum)
	}
	for k := range g.Prints {
		g.Prints[k].check(g, t.Table(t.In.To("print", k)...))
	}
}

// holders are what a text may have in the place of which a piece's own stands.
var holders = []string{"{name}", "{number}"}

// Own reports whether a print is another one on every piece.
func (p *Print) Own() bool {
	return slices.ContainsFunc(holders, func(h string) bool { return strings.Contains(p.Text, h) })
}

// Said is the print's text on a piece.
func (p *Print) Said(v Piece) string {
	return strings.TrimSpace(strings.NewReplacer(holders[0], v.Name, holders[1], v.Number).Replace(p.Text))
}

func (p *Print) check(g *Goods, t form.Table) {
	text := []string{"font", "bold", "italic", "letter_height", "colour", "outline", "outline_colour"}
	switch {
	case (p.Art == "") == (p.Text == ""):
		t.Say("", "a print is art or a text: write art = a file, or text = what it says")
		return
	case p.Art != "":
		for _, key := range text {
			if t.Has(key) {
				t.Say(key, "%s is for a text: leave it out", key)
			}
		}
	default:
		for _, key := range []string{"height", "dpi", "page"} {
			if t.Has(key) {
				t.Say(key, "%s is for art: the size of a text is letter_height, and width the most it takes", key)
			}
		}
		if !t.Missing("letter_height", `"50 mm"`) && !(p.Letters > 0) {
			t.Say("letter_height", "letter_height must be above 0")
		}
		t.Missing("colour", `"#ffffff"`)
		p.Colour = screen(t, "colour", p.Colour)
		if p.Outline > 0 {
			t.Missing("outline_colour", `"#000000"`)
			p.OutlineColour = screen(t, "outline_colour", p.OutlineColour)
		}
	}
	for _, l := range []struct {
		key string
		v   unit.Length
	}{{"width", p.Width}, {"height", p.Height}, {"letter_height", p.Letters}, {"outline", p.Outline}} {
		t.Length(l.key, l.v, mostMM)
	}
	if p.DPI < 0 || (t.Has("dpi") && p.DPI == 0) {
		t.Say("dpi", "dpi must be above 0")
	}
	if p.DPI > 0 && (p.Width > 0 || p.Height > 0) {
		t.Say("dpi", "dpi: give either it or a size")
	}
	if p.Page < 0 {
		t.Say("page", "page: the first one is 1")
	}
	if p.Own() && g.Names == "" {
		t.Say("text", "text has %s in it: write names = the list of them above", strings.Join(holders, " or "))
	}
	if p.Art != "" && !filepath.IsAbs(p.Art) {
		p.Art = filepath.Join(g.folder, p.Art)
	}
}

// screen is a colour as a drawing has it, #rrggbb.
func screen(t form.Table, key, text string) string {
	if text == "" {
		return text
	}
	lab, err := colour.Parse(text)
	if t.Fails(key, err) {
		return text
	}
	return lab.Hex()
}

// names is how a list of names is written.
var names = table.List{Of: "names", Most: 5000, Columns: []table.Column{
	{Name: "name", Hash: true}, {Name: "number", Also: []string{"no", "nr"}, Hash: true}, {Name: "size", Hash: true},
}, Either: [][]string{{"name"}, {"number"}}}

// readNames reads the list of pieces: their number, and their sizes, if it has them.
func (g *Goods) readNames() error {
	if g.Quantity != 0 || len(g.SizeOrder) > 0 {
		return errors.New("names: the list says how many pieces there are and of which sizes: leave quantity and sizes out")
	}
	path := g.namesFile()
	data, err := file.Read(path, mostNamesMB*limit.MB)
	if err != nil {
		return fmt.Errorf("names: %s: %w", path, err)
	}
	rows, err := names.Read(data)
	if err != nil {
		return fmt.Errorf("names: %s: %w", path, err)
	}
	g.Sizes = map[string]int{}
	sized := 0
	for _, r := range rows.Rows {
		p := Piece{Line: r.Line, Name: r.Text("name"), Number: r.Text("number"), Size: r.Text("size")}
		if p.Size != "" {
			sized++
			if g.Sizes[p.Size]++; g.Sizes[p.Size] == 1 {
				g.SizeOrder = append(g.SizeOrder, p.Size)
			}
		}
		g.List = append(g.List, p)
	}
	if sized > 0 && sized < len(g.List) {
		return fmt.Errorf("names: %s: some rows have a size and some none: write one in every row", path)
	}
	g.Quantity = len(g.List)
	return rows.Err()
}

// Files are the files that the order names, which are read and must not be written.
func (c *Commission) Files() (files []string) {
	for _, g := range c.Goods {
		if g.Names != "" {
			files = append(files, g.namesFile())
		}
		for _, p := range g.Prints {
			if p.Art != "" {
				files = append(files, p.Art)
			}
		}
	}
	return files
}

// namesFile is the list of pieces, seen from where the program runs.
func (g *Goods) namesFile() string {
	if filepath.IsAbs(g.Names) {
		return g.Names
	}
	return filepath.Join(g.folder, g.Names)
}

// list is how an order is written as CSV: a row a print. Rows with the same word under
// goods are prints on the same pieces.
var list = table.List{Of: "goods", Most: 1000, Columns: []table.Column{
	{Name: "goods", Hash: true},
	{Name: "art", Also: table.Synonyms("art"), Failing: table.Failing("art"), Needed: true, Hash: true, Hint: "the name of an art file"},
	{Name: "quantity", Also: table.Synonyms("quantity"), Failing: table.Failing("quantity"), Needed: true},
	{Name: "item", Also: table.Synonyms("item"), Hash: true},
	{Name: "place", Also: []string{"placement", "position"}, Hash: true},
	{Name: "process", Hash: true},
	{Name: "size", Hash: true, Hint: "a size of the item, such as M"},
	{Name: "width", Also: table.Synonyms("width"), Unit: "mm"},
	{Name: "height", Also: table.Synonyms("height"), Unit: "mm"},
	{Name: "dpi", Also: table.Synonyms("dpi")},
	{Name: "own_blanks", Also: []string{"own blanks", "customer blanks"}},
}}

// ReadList reads an order as CSV, whose folder is where art is named from. The error has
// the mistakes, a line each.
func ReadList(data []byte, folder string) (*Commission, error) {
	t, err := list.Read(data)
	if err != nil {
		return nil, err
	}
	c := &Commission{}
	at := map[string]int{}
	for _, r := range t.Rows {
		p := Print{Art: r.Needed("art"), Place: r.Text("place"), Process: r.Text("process")}
		if p.Art != "" && !filepath.IsAbs(p.Art) {
			p.Art = filepath.Join(folder, p.Art)
		}
		if r.Has("width") {
			p.Width = unit.Length(r.Length("width", mostMM))
		}
		if r.Has("height") {
			p.Height = unit.Length(r.Length("height", mostMM))
		}
		if r.Has("dpi") {
			p.DPI = r.Number("dpi", 1, 100_000)
		}
		n, size, word := r.Count("quantity", mostPieces), r.Text("size"), r.Text("goods")
		i, known := at[word]
		if word == "" || !known {
			g := Goods{Name: word, Item: r.Text("item"), Quantity: n, OwnBlanks: r.Bool("own_blanks"), Prints: []Print{p}}
			if size != "" {
				g.Sizes, g.SizeOrder = map[string]int{size: n}, []string{size}
			}
			at[word] = len(c.Goods)
			c.Goods = append(c.Goods, g)
			continue
		}
		g := &c.Goods[i]
		switch {
		case r.Has("own_blanks") && r.Bool("own_blanks") != g.OwnBlanks:
			r.Refuse("own_blanks", fmt.Sprintf("the same in all rows of %q, or leave it out", word))
		case r.Text("item") != "" && r.Text("item") != g.Item:
			r.Refuse("item", fmt.Sprintf("the same item in all rows of %q, or leave it out", word))
		case size != "" && g.Sizes[size] == 0 && slices.Contains(g.Prints, p): // more of them in another size
			g.Sizes[size], g.SizeOrder, g.Quantity = n, append(g.SizeOrder, size), g.Quantity+n
		case n != g.Quantity && size == "":
			r.Refuse("quantity", fmt.Sprintf("the quantity of %q above, %d: each of its rows is a print on the same pieces", word, g.Quantity))
		case size != "":
			r.Refuse("size", fmt.Sprintf("sizes of %q in rows with the same print, and its other prints without a size", word))
		default:
			g.Prints = append(g.Prints, p)
		}
	}
	if err := t.Err(); err != nil {
		return nil, err
	}
	if len(c.Goods) > mostGoods {
		return nil, fmt.Errorf("there are more than %d goods: split the order", mostGoods)
	}
	return c, nil
}

// OfFolder is an order of all art in a folder, in the order of their names, so many pieces
// each. Files whose names begin with a point are passed over, and so are lists and forms.
func OfFolder(folder string, quantity int) (*Commission, error) {
	entries, err := os.ReadDir(folder)
	if err != nil {
		return nil, err
	}
	c := &Commission{}
	for _, e := range entries {
		n := e.Name()
		if !e.Type().IsRegular() || strings.HasPrefix(n, ".") || slices.Contains([]string{".csv", ".toml", ".txt", ".md"}, strings.ToLower(filepath.Ext(n))) {
			continue
		}
		c.Goods = append(c.Goods, Goods{Name: strings.TrimSuffix(n, filepath.Ext(n)), Quantity: quantity, Prints: []Print{{Art: filepath.Join(folder, n)}}})
	}
	switch {
	case len(c.Goods) == 0:
		return nil, errors.New("there is no art in the folder")
	case len(c.Goods) > mostGoods:
		return nil, fmt.Errorf("there are %d files in the folder, and at most %d are taken as one order", len(c.Goods), mostGoods)
	}
	return c, nil
}
