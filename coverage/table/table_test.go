package table

import (
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"math"
	"reflect"
	"slices"
	"strings"
	"testing"
	"unicode/utf16"
	"unicode/utf8"
)

// orders is a list with a column of every kind.
func orders() List {
	return List{Of: "orders", Most: 50, Columns: []Column{
		{Name: "art", Also: Synonyms("art"), Failing: Failing("art"), Needed: true},
		{Name: "quantity", Also: Synonyms("quantity"), Failing: Failing("quantity"), Needed: true},
		{Name: "item", Also: Synonyms("item")},
		{Name: "width", Also: Synonyms("width"), Unit: "mm"},
		{Name: "height_mm", Also: Synonyms("height"), Unit: "mm"},
		{Name: "size", Hint: "a width such as 80mm, or 80x60mm"},
		{Name: "dpi", Also: Synonyms("dpi")},
	}}
}

// order is a row of it as a program would keep it.
type order struct {
	Line                   int
	Art, Item, Size        string
	Quantity               int
	WidthMM, HeightMM, DPI float64
	Err                    string
}

func read(l List, data []byte) (out []order, err error) {
	t, err := l.Read(data)
	if err != nil {
		return nil, err
	}
	for _, r := range t.Rows {
		o := order{Line: r.Line, Art: r.Text("art"), Item: r.Text("item"), Size: r.Text("size"), Quantity: r.Count("quantity", 10_000)}
		if r.Has("width") {
			o.WidthMM = r.Length("width", 10_000)
		}
		if r.Has("height_mm") {
			o.HeightMM = r.Length("height_mm", 10_000)
		}
		if r.Has("dpi") {
			o.DPI = r.Number("dpi", 1, 20_000)
		}
		if o.Size == "big" {
			r.Refuse("size", "")
		}
		if err := r.Err(); err != nil {
			o.Err = err.Error()
		}
		out = append(out, o)
	}
	return out, nil
}

func utf16LE(s string) []byte {
	b := []byte{0xff, 0xfe}
	for _, u := range utf16.Encode([]rune(s)) {
		b = append(b, byte(u), byte(u>>8))
	}
	return b
}

func utf16BE(s string) []byte {
	b := []byte{0xfe, 0xff}
	for _, u := range utf16.Encode([]rune(s)) {
		b = append(b, byte(u>>8), byte(u))
	}
	return b
}

func cp1252(s string) []byte {
	return []byte(strings.NewReplacer("ö", "\xf6", "ß", "\xdf", "“", "\x93", "”", "\x94", "–", "\x96").Replace(s))
}

// TestDialects reads one list in every dialect: the rows must be the same.
func TestDialects(t *testing.T) {
	const plain = "art,quantity,item,width,height_mm,dpi\n" +
		"a.png,12,Größe M,85,7.5,300\n" +
		"\"b, “new”.png\",3,,8.5cm,2in,\n" +
		"c.png,1,tee – white,63.5,,72.5\n"
	want := []order{
		{Line: 2, Art: "a.png", Quantity: 12, Item: "Größe M", WidthMM: 85, HeightMM: 7.5, DPI: 300},
		{Line: 3, Art: "b, “new”.png", Quantity: 3, WidthMM: 85, HeightMM: 50.8},
		{Line: 4, Art: "c.png", Quantity: 1, Item: "tee – white", WidthMM: 63.5, DPI: 72.5},
	}
	semicolons := "art;quantity;item;width;height_mm;dpi\n" +
		"a.png;12;Größe M;85;7,5;300\n" +
		"b, “new”.png;3;;8,5 cm;2 in;\n" +
		"c.png;1;tee – white;63,5;;72,5\n"
	tabs := strings.NewReplacer(";", "\t").Replace(semicolons)
	quoted := "\"art\",\"quantity\",\"item\",\"width\",\"height_mm\",\"dpi\"\n" +
		"\"a.png\",\"12\",\"Größe M\",\"85\",\"7,5\",\"300\"\n" +
		"\"b, “new”.png\",\"3\",\"\",\"8,5cm\",\"2in\",\"\"\n" +
		"\"c.png\",\"1\",\"tee – white\",\"63,5\",\"\",\"72,5\"\n"
	for name, data := range map[string][]byte{
		"plain":                []byte(plain),
		"semicolons":           []byte(semicolons),
		"tabs":                 []byte(tabs),
		"quoted":               []byte(quoted),
		"mark":                 []byte("\ufeff" + plain),
		"mark, semicolons":     []byte("\ufeff" + semicolons),
		"Windows-1252":         cp1252(semicolons),
		"Windows-1252, commas": cp1252(plain),
		"UTF-16":               utf16LE(tabs),
		"UTF-16, big end":      utf16BE(plain),
		"CRLF":                 []byte(strings.ReplaceAll(plain, "\n", "\r\n")),
		"CR":                   []byte(strings.ReplaceAll(semicolons, "\n", "\r")),
		"UTF-16, CRLF":         utf16LE(strings.ReplaceAll(tabs, "\n", "\r\n")),
		"no last line end":     []byte(strings.TrimSuffix(plain, "\n")),
		"lines at the end":     []byte(plain + "\n\n"),
		"empty rows":           []byte(semicolons + ";;;;;\n ; ;;;;\n;;;;;;;;;;\n\n"),
		"spaces":               []byte(strings.NewReplacer("b, ", "b, ", ",", ", ").Replace(plain)),
		"empty columns":        []byte(strings.ReplaceAll(semicolons, "\n", ";;\n")),
		"other order":          []byte("DPI;Height_MM;Width;Item;Quantity;Art\n300;7,5;85;Größe M;12;a.png\n;2in;8,5cm;;3;b, “new”.png\n72,5;;63,5;tee – white;1;c.png"),
		"quotes within":        []byte(strings.NewReplacer("2 in;", "2\";", "\"", "\"").Replace(semicolons)),
		"more synonyms":        []byte("Design;Qty (pcs);Garment [sort];W;H;D.P.I.\n" + strings.SplitN(semicolons, "\n", 2)[1]),
		"file and pieces":      []byte("File;Pieces;Item (blank);W;H;p.p.i.\n" + strings.SplitN(semicolons, "\n", 2)[1]),
		"file name and amount": []byte("Filename;Amount;Item;W;H;dpi (px/in)\n" + strings.SplitN(semicolons, "\n", 2)[1]),
		"synonyms":             []byte("Artwork;QTY;Garment;W;H;PPI\n" + strings.SplitN(semicolons, "\n", 2)[1]),
		"more columns":         []byte("customer;" + strings.TrimSuffix(strings.ReplaceAll(semicolons, "\n", "\nLund;"), "Lund;")),
		"units in the header":  []byte("art\tpcs\titem\tWidth (cm)\theight in inches\tdpi\na.png\t12\tGröße M\t8,5\t7.5mm\t300\nb, “new”.png\t3\t\t85mm\t2\t\nc.png\t1\ttee – white\t6,35\t\t72,5"),
	} {
		got, err := read(orders(), data)
		if err != nil || !reflect.DeepEqual(got, want) {
			t.Errorf("%s: %v\n%+v, want\n%+v", name, err, got, want)
		}
	}
	got, err := read(orders(), []byte("# of May, 3\" badges\n"+strings.NewReplacer("b, “new", "#12 is below\nb, “new", "c.png", "#\n\n#;;\nc.png").Replace(semicolons)))
	for i := range got {
		got[i].Line = want[i].Line
	}
	if err != nil || !reflect.DeepEqual(got, want) {
		t.Errorf("comments: %v\n%+v, want\n%+v", err, got, want)
	}
	// The same one line further down.
	for i := range want {
		want[i].Line++
	}
	for name, data := range map[string]string{"separator line": "sep=;\n" + semicolons, "empty line": "\n" + plain, "line of separators": ";;;;;\n" + semicolons, "quoted separator line": "\"sep=\t\"\r\n" + tabs} {
		if got, err := read(orders(), []byte(data)); err != nil || !reflect.DeepEqual(got, want) {
			t.Errorf("%s: %v\n%+v, want\n%+v", name, err, got, want)
		}
	}
}

// TestSpreadsheets reads files byte by byte as spreadsheets write them.
func TestSpreadsheets(t *testing.T) {
	for name, data := range map[string][]byte{
		"CSV of Western Europe": []byte("art;quantity;item;width (cm)\r\na.png;12;Gr\xf6\xdfe M;8,5\r\n;;;\r\n"),
		"Unicode text": {0xff, 0xfe, 'a', 0, 'r', 0, 't', 0, '\t', 0, 'q', 0, 't', 0, 'y', 0, '\t', 0, 'i', 0, 't', 0, 'e', 0, 'm', 0, '\t', 0, 'w', 0, '\r', 0, '\n', 0,
			'a', 0, '.', 0, 'p', 0, 'n', 0, 'g', 0, '\t', 0, '1', 0, '2', 0, '\t', 0, 'G', 0, 'r', 0, 0xf6, 0, 0xdf, 0, 'e', 0, ' ', 0, 'M', 0, '\t', 0, '8', 0, '5', 0, '\r', 0, '\n', 0},
		"CSV UTF-8":      []byte("\xef\xbb\xbfart,quantity,item,\"width\n(in)\"\r\na.png,12,Gr\xc3\xb6\xc3\x9fe M,\"85 mm\"\r\n"),
		"no-break space": []byte("art;quantity;item;width\r\na.png;12\xa0;Gr\xf6\xdfe M;85\xa0mm\r\n"),
	} {
		got, err := read(orders(), data)
		if err != nil || len(got) != 1 || got[0].Art != "a.png" || got[0].Quantity != 12 || got[0].Item != "Größe M" || got[0].WidthMM != 85 || got[0].Err != "" {
			t.Errorf("%s: %+v, %v", name, got, err)
		}
	}
}

// TestReadRefuses holds what makes a file unreadable to its words.
func TestReadRefuses(t *testing.T) {
	const columns = "The columns are art, quantity, item, width, height_mm, size, dpi; others are passed over"
	for _, c := range []struct{ data, want string }{
		{"", "is empty: the first row must name its columns, art, quantity"},
		{"\ufeff", "is empty: the first row must name its columns, art, quantity"},
		{"\n;;;\n,\n", "is empty: the first row must name its columns, art, quantity"},
		{"art,width\n", `the first row must name its columns, art, quantity: "quantity" is missing`},
		{"dear printer\n", `the first row must name its columns, art, quantity: "art" is missing`},
		{"art;quantity\n;\n", "there are no orders in it: write one a line below the first row"},
		{"art,quantity,widht\na,1,2\n", `no column is called "widht"; is width meant? ` + columns},
		{"art,quantity,widht_mm\na,1,2\n", `no column is called "widht_mm"; is width meant? ` + columns},
		{"art,quantity,Width (px)\na,1,2\n", `no column is called "Width (px)"; is width meant? ` + columns},
		{"art,quantity,hight,widht\na,1,2\n", `no column is called "hight"; is height_mm meant? ` + columns},
		{"art,Quantty\na,1\n", `no column is called "Quantty"; is quantity meant? ` + columns},
		{"art,qty,Quantity\na,1,2\n", `two columns give the quantity, "qty" and "Quantity": leave one out`},
		{"art,qty,Height (in),h\na,1,2,3\n", `two columns give the height, "Height (in)" and "h": leave one out`},
		{"art,quantity\n\"a,1\nb,2\n", `line 2: a quote (") is not closed: close it behind the cell, and double a quote within`},
		{"art,quantity\na,1\n\n\"b\nc,2\n", `line 4: a quote (") is not closed: close it behind the cell, and double a quote within`},
		{"art,quantity\n\"a\" badge,1\n", `line 2: text stands behind a closing quote ("): put the whole cell in quotes and double those within, as in "3"""`},
		{"art,quantity\n\n\"a,1\n\"b,2\n", `line 3: text stands behind a closing quote ("): put the whole cell in quotes and double those within, as in "3"""`},
		{"art,quantity,width\na.png;12;80\n", "line 2: the first row parts its cells by commas, and this one by semicolons: part all of them alike"},
		{"art;quantity;width\na.png,12\n", "line 2: the first row parts its cells by semicolons, and this one by commas: part all of them alike"},
		{"art,quantity,width\na.png;12;8,5 cm\n", "line 2: the first row parts its cells by commas, and this one by semicolons: part all of them alike"},
		{"art,quantity\na.png\t12\n", "line 2: the first row parts its cells by commas, and this one by tabs: part all of them alike"},
		{"art,qyt\na,1\n", `no column is called "qyt"; is quantity meant? ` + columns},
		{"art,quantity\n" + strings.Repeat("a,1\n", 51), "there are more than 50 orders: split the list"},
		{"art,quantity\na,\"" + strings.Repeat("x,1\n", 10_000) + "\"", `line 2: a cell holds more than 32767 bytes: is a quote (") not closed?`},
		{"PK\x03\x04\x14\x00", "is a spreadsheet's own file: save the list from there as CSV"},
		{"\xd0\xcf\x11\xe0\xa1\xb1", "is a spreadsheet's own file: save the list from there as CSV"},
		{"\x89PNG\r\n\x1a\n\x00\x00", "is no text: save the list as CSV in UTF-8"},
	} {
		for range 3 { // on every run
			if _, err := orders().Read([]byte(c.data)); err == nil || err.Error() != c.want {
				t.Errorf("%.40q: %v, want %s", c.data, err, c.want)
			}
		}
	}
	// Columns of the shop's own are passed over, also where they look like one that is there.
	for _, head := range []string{"art,quantity,id,customer,ref,date,note", "art,quantity,size,side", "art,quantity,,", "art;qty;side", "art;qty;site", "art;qty;weight", "art;qty;items",
		"art;qty;file;amount", "art;qty;width;with", "art;qty;height;hight", "art;qty;qty (free);design", "#;art;qty", "order;art;qty;price (EUR)"} {
		if _, err := orders().Read([]byte(head + "\na,1\n")); err != nil && !strings.Contains(err.Error(), "part all of them alike") {
			t.Errorf("%s: %v", head, err)
		}
	}
}

// TestLargeRows reports rows that are too large, and reads the others.
func TestLargeRows(t *testing.T) {
	for large, want := range map[string]string{
		"a,1" + strings.Repeat(",x", 1000):             "line 2: has more than 1000 cells: is it a list?",
		"a,\"" + strings.Repeat("9", 3_000_000) + "\"": `line 2: a cell holds more than 32767 bytes: is a quote (") not closed?`,
	} {
		l, err := orders().Read([]byte("art,quantity\n" + large + "\nb,2\n"))
		if err != nil || len(l.Rows) != 2 {
			t.Fatalf("%.20q: %v", large, err)
		}
		if n := l.Rows[0].Count("quantity", 9); n != 0 || l.Rows[0].Err() == nil || l.Rows[0].Err().Error() != want {
			t.Errorf("%.20q: %d, %v; want %s", large, n, l.Rows[0].Err(), want)
		}
		if n := l.Rows[1].Count("quantity", 9); n != 2 || l.Rows[1].Err() != nil {
			t.Errorf("the next row: %d, %v", n, l.Rows[1].Err())
		}
	}
}

// TestCells holds what is wrong with a row to its words, and numbers to how people
// write them.
func TestCells(t *testing.T) {
	const length = ": write a length above 0, such as 80mm, 8.5cm or 3.5in"
	for _, c := range []struct{ column, cell, want string }{ // want is an error's words, or else the number
		{"quantity", "12", "12"},
		{"quantity", " 007 ", "7"},
		{"quantity", "10000", "10000"},
		{"quantity", "12.0", "12"},
		{"quantity", "12,0", "12"},
		{"quantity", "12.00", "12"},
		{"quantity", "12 pcs", "12"},
		{"quantity", "12PCS.", "12"},
		{"quantity", "12,0 pieces", "12"},
		{"quantity", "1.000 pcs", `quantity "1.000 pcs": write a whole number above 0, without thousands separators`},
		{"quantity", "0,0", `quantity "0,0": write a whole number above 0`},
		{"quantity", "pcs", `quantity "pcs": write a whole number above 0`},
		{"quantity", "12 boxes", `quantity "12 boxes": write a whole number above 0`},
		{"quantity", "many", `quantity "many": write a whole number above 0`},
		{"quantity", "", "quantity is empty: write a whole number above 0"},
		{"quantity", "0", `quantity "0": write a whole number above 0`},
		{"quantity", "-3", `quantity "-3": write a whole number above 0`},
		{"quantity", "1.5", `quantity "1.5": write a whole number above 0`},
		{"quantity", "1e3", `quantity "1e3": write a whole number above 0`},
		{"quantity", "1.000", `quantity "1.000": write a whole number above 0, without thousands separators`},
		{"quantity", "1,000", `quantity "1,000": write a whole number above 0, without thousands separators`},
		{"quantity", "1 000", `quantity "1 000": write a whole number above 0, without thousands separators`},
		{"quantity", "1’000’000", `quantity "1’000’000": write a whole number above 0, without thousands separators`},
		{"quantity", "10001", `quantity "10001": write a whole number above 0 and at most 10000`},
		{"quantity", "99999999999999999999", `quantity "99999999999999999999": write a whole number above 0 and at most 10000`},
		{"quantity", strings.Repeat("x", 70), `quantity "` + strings.Repeat("x", 60) + `…": write a whole number above 0`},
		{"width", "85", "85"},
		{"width", "8,5 cm", "85"},
		{"width", "8.5CM", "85"},
		{"width", "3in", "76.2"},
		{"width", `3"`, "76.2"},
		{"width", "3 inches", "76.2"},
		{"width", "3,5 in.", "88.9"},
		{"width", ",5in", "12.7"},
		{"width", "72 pt", "25.4"},
		{"width", "3.125in", "79.375"}, // thousands of inches make no sense
		{"width", "35,125", "35.125"},
		{"width", "0.125", "0.125"},
		{"width", "1.500", `width "1.500": write 1.5 or 1500, whichever is meant`},
		{"width", "1,500 mm", `width "1,500 mm": write 1.5 or 1500, whichever is meant`},
		{"width", "1,500.5", `width "1,500.5"` + length + ", without thousands separators"},
		{"width", "1.500,5 mm", `width "1.500,5 mm"` + length + ", without thousands separators"},
		{"width", "wide", `width "wide"` + length},
		{"width", "3 furlongs", `width "3 furlongs"` + length},
		{"width", "80x60mm", `width "80x60mm"` + length},
		{"width", "3 1/2in", `width "3 1/2in"` + length},
		{"width", "0", `width "0"` + length},
		{"width", "-3mm", `width "-3mm"` + length},
		{"width", "NaN", `width "NaN"` + length},
		{"width", "inf", `width "inf"` + length},
		{"width", "0x10", `width "0x10"` + length},
		{"width", "mm", `width "mm"` + length},
		{"width", "10.5m", `width "10.5m"` + length},
		{"width", "10001", `width "10001": write a length above 0 and at most 10000mm`},
		{"width", "1e300", `width "1e300": write a length above 0 and at most 10000mm`},
		{"dpi", "72,5", "72.5"},
		{"dpi", "3e2", "300"},
		{"dpi", "0", `dpi "0": write a number from 1 to 20000`},
		{"dpi", "1e999", `dpi "1e999": write a number from 1 to 20000`},
		{"dpi", "1,2,3", `dpi "1,2,3": write a number from 1 to 20000`},
		{"dpi", "12.345.678", `dpi "12.345.678": write a number from 1 to 20000, without thousands separators`},
		{"dpi", "2.400", `dpi "2.400": write 2.4 or 2400, whichever is meant`},
		{"dpi", "92.815", "92.815"}, // 92815 is out of range
		{"size", "big", `size "big": write a width such as 80mm, or 80x60mm`},
	} {
		l := orders()
		for i := range l.Columns {
			l.Columns[i].Needed = false
		}
		t1, err := l.Read([]byte("item;" + c.column + "\nx;\"" + strings.ReplaceAll(c.cell, `"`, `""`) + "\"\n"))
		if err != nil {
			t.Fatal(err)
		}
		r, v := t1.Rows[0], 0.0
		switch c.column {
		case "quantity":
			v = float64(r.Count("quantity", 10_000))
		case "width":
			v = r.Length("width", 10_000)
		case "dpi":
			v = r.Number("dpi", 1, 20_000)
		default:
			r.Refuse(c.column, "")
		}
		got := fmt.Sprint(v)
		if err := r.Err(); err != nil {
			var row *RowError
			if !errors.As(err, &row) || err.Error() != "line 2: "+row.What() || row.Line != 2 || len(row.Cells) != 1 {
				t.Errorf("%+v", err)
			}
			if got = row.What(); v != 0 {
				t.Errorf("%s %q: %v in spite of %v", c.column, c.cell, v, err)
			}
		}
		if got != c.want {
			t.Errorf("%s %q: %s, want %s", c.column, c.cell, got, c.want)
		}
	}
}

// TestRows looks at rows that are shorter or longer than the header.
func TestRows(t *testing.T) {
	for _, c := range []struct{ data, want string }{
		{"art,quantity,width\na.png,1,8.5\n", ""},
		{"art,quantity,width\na.png,1\n", ""},
		{"art,quantity,width\na.png,1,8,,\n", ""},
		{"art,quantity,width\na.png\n", "line 2: quantity is empty: write a whole number above 0"},
		{"art,Qty,width\na.png,some\n", `line 2: Qty "some": write a whole number above 0`},
		{"art,quantity,width\na.png,1,8,5\n", `line 2: has 4 cells, and the first row names 3: put a cell that holds a comma in quotes, as in "8,5", or part cells by semicolons`},
		{"art,quantity,width,,\na.png,1,8,5,\n", `line 2: has 4 cells, and the first row names 3: put a cell that holds a comma in quotes, as in "8,5", or part cells by semicolons`},
		{"art;quantity;width\na.png;many;8;5\n", "line 2: has 4 cells, and the first row names 3: name the column in the first row, or put a cell that holds a semicolon in quotes"},
		{"art\tquantity\na.png\t1\t\t5\n", "line 2: has 4 cells, and the first row names 2: name the column in the first row, or put a cell that holds a tab in quotes"},
		{"art,quantity,width\na.png,many,wide\n", `line 2: quantity "many": write a whole number above 0; width "wide": write a length above 0, such as 80mm, 8.5cm or 3.5in`},
		{"art,quantity,width\na.png,1,2\nb.png,2,3\nc.png;3;8,5 cm\n", "line 4: the first row parts its cells by commas, and this one by semicolons: part all of them alike"},
		{"art,quantity,width\na.png,1,2\nb.png;3;4\n", "line 3: the first row parts its cells by commas, and this one by semicolons: part all of them alike"},
		{"art,quantity,width\na;b.png,1\n", ""},
		{"art;quantity;width\na, b, and c.png;1\n", ""},
	} {
		got, err := read(orders(), []byte(c.data))
		if err != nil || len(got) == 0 || got[len(got)-1].Err != c.want {
			t.Errorf("%q: %+v, %v, want %s", c.data, got, err, c.want)
		}
	}
	tab, err := orders().Read([]byte("art,quantity\na.png,1\n"))
	if err != nil || !tab.Has("art") || tab.Has("width") || tab.Rows[0].Err() != nil {
		t.Errorf("%+v, %v", tab, err)
	}
	defer func() {
		if recover() == nil {
			t.Error("a column that the list does not have")
		}
	}()
	tab.Rows[0].Text("colour")
}

func TestComments(t *testing.T) {
	l := List{Of: "colours", Columns: []Column{{Name: "name"}, {Name: "hex", Hash: true}}}
	for data, want := range map[string]string{
		"# the \"club\", 2026\n#\n\nname,hex\n# more\nFen,#010203\n\n#a,b\n#\nReed,#040506\n# end": "6 Fen #010203",
		"name,hex\nFen,#010203\n":                                    "2 Fen #010203",
		"hex,name\n#010203,Fen\n# more \"\n#040506,A\n":              "2 Fen #010203",
		"\"# the club, 2026\";;\nname;hex\n\"#, 1\";\nFen;#010203\n": "4 Fen #010203",
		"hex\n#010203\n": "2  #010203",
		"#,name,hex\n1,Fen,#010203\n#,,\n#2,Reed,#040506\n# 3,x,y\n": "2 Fen #010203", // a column that is called #
		"order,name,hex\n#1001,Fen,#010203\n":                        "2 Fen #010203", // a column of the shop's own
	} {
		tab, err := l.Read([]byte(data))
		if err != nil {
			t.Errorf("%q: %v", data, err)
			continue
		}
		if r := tab.Rows[0]; fmt.Sprint(r.Line, " ", r.Text("name"), " ", r.Text("hex")) != want {
			t.Errorf("%q: %d %q %q, want %s", data, r.Line, r.Text("name"), r.Text("hex"), want)
		}
		last := tab.Rows[len(tab.Rows)-1]
		if lines := strings.Split(data, "\n"); !strings.Contains(lines[last.Line-1], last.Text("hex")) {
			t.Errorf("%q: line %d is not that of %q", data, last.Line, last.Text("hex"))
		}
	}
	_, err := l.Read([]byte("# one\nname,hex\n# two\n\n# three\nA,\"#01\n"))
	if err == nil || !strings.HasPrefix(err.Error(), "line 6: ") {
		t.Errorf("a quote that is not closed in line 6: %v", err)
	}
	l.Columns[0].Hash = true
	if tab, err := l.Read([]byte("name,hex\n#12 badge,#010203\n# 12 badge,#010203\n")); err != nil || len(tab.Rows) != 1 || tab.Rows[0].Text("name") != "#12 badge" {
		t.Errorf("%+v, %v", tab, err)
	}
}

// TestTableErr names every bad row, and a bad cell once.
func TestTableErr(t *testing.T) {
	tab, err := orders().Read([]byte("art,quantity,width\na,1,2\n,many,wide\nb,2,\nc,0,3\n"))
	if err != nil || tab.Err() != nil {
		t.Fatal(err, tab.Err())
	}
	for _, r := range tab.Rows {
		r.Needed("art")
		r.Needed("art")
		r.Count("quantity", 100)
		if r.Has("width") {
			r.Length("width", 100)
			r.Refuse("width", "nothing")
		}
	}
	want := "line 3: art is empty: write something; quantity \"many\": write a whole number above 0; width \"wide\": write a length above 0, such as 80mm, 8.5cm or 3.5in\n" +
		"line 5: quantity \"0\": write a whole number above 0; width \"3\": write nothing"
	tab.Rows[0].faults = nil
	if err := tab.Err(); err == nil || err.Error() != want {
		t.Errorf("%v, want\n%s", err, want)
	}
	tab, err = orders().Read([]byte("art,quantity\n" + strings.Repeat("a,many\n", 23)))
	if err != nil {
		t.Fatal(err)
	}
	for _, r := range tab.Rows {
		r.Count("quantity", 100)
	}
	lines := strings.Split(tab.Err().Error(), "\n")
	if len(lines) != 21 || lines[19] != "line 21: quantity \"many\": write a whole number above 0" || lines[20] != "and 3 more" {
		t.Errorf("%q", lines)
	}
}

// TestBool reads yes and no, and refuses what is neither.
func TestBool(t *testing.T) {
	l := List{Of: "colours", Columns: []Column{{Name: "name", Needed: true}, {Name: "relative"}}}
	for cell, c := range map[string]struct {
		want bool
		err  string
	}{"yes": {true, ""}, "TRUE": {true, ""}, "1": {true, ""}, "No": {false, ""}, "false": {false, ""}, "0": {false, ""}, "": {false, ""},
		"perhaps": {false, `line 2: relative "perhaps": write yes or no`}} {
		tab, err := l.Read([]byte("name,relative\na," + cell + "\n"))
		if err != nil {
			t.Fatal(err)
		}
		got := tab.Rows[0].Bool("relative")
		said := ""
		if err := tab.Err(); err != nil {
			said = err.Error()
		}
		if got != c.want || said != c.err {
			t.Errorf("%q: %t, %q, want %t, %q", cell, got, said, c.want, c.err)
		}
	}
}

// TestEither wants one set of columns or the other, and says so in the list's own words.
func TestEither(t *testing.T) {
	l := List{Of: "colours", Header: "name, and hex or L, a", Either: [][]string{{"hex"}, {"L", "a"}}, Columns: []Column{
		{Name: "name", Needed: true}, {Name: "hex"}, {Name: "L"}, {Name: "a"}}}
	for data, want := range map[string]string{
		"name,hex\nx,1\n":       "",
		"a,L*,name\n1,2,x\n":    "",
		"name,L,hex,a\nx,1\n":   "",
		"name,L\nx,1\n":         "the first row must name its columns: name, and hex or L, a",
		"hex\nx\n":              "the first row must name its columns: name, and hex or L, a",
		"":                      "is empty: the first row must name its columns, name, and hex or L, a",
		"name,label,c\nx,1,2\n": "the first row must name its columns: name, and hex or L, a",
	} {
		_, err := l.Read([]byte(data))
		if (err == nil) != (want == "") || (err != nil && err.Error() != want) {
			t.Errorf("%q: %v, want %s", data, err, want)
		}
	}
}

func FuzzRead(f *testing.F) {
	f.Add([]byte("art,quantity,width,height_mm,dpi\na.png,12,8.5cm,\"7,5\",300\n"))
	f.Add([]byte("\xef\xbb\xbfart;qty;Width (cm)\r\n;;\r\n#a;1;8,5;;\r\n"))
	f.Add(utf16LE("art\tquantity\r\na\t1.000\r\n"))
	f.Add([]byte("sep=;\rart;quantity\r\"Gr\xf6\xdfe\";3\r"))
	f.Fuzz(func(t *testing.T, b []byte) {
		for _, hash := range []bool{false, true} {
			l := orders()
			l.Columns[0].Hash = hash
			got, err := read(l, b)
			again, other := read(l, b)
			if fmt.Sprint(got, err) != fmt.Sprint(again, other) {
				t.Fatalf("%+v, %v, then %+v, %v", got, err, again, other)
			}
			if err == nil && len(got) == 0 {
				t.Error("no rows and no error")
			}
			line := 1
			for _, o := range got {
				if o.Line <= line {
					t.Errorf("line %d after %d", o.Line, line)
				}
				line = o.Line
				if o.Err == "" && (o.Quantity < 1 || o.Quantity > 10_000) {
					t.Errorf("%+v passed", o)
				}
				for _, v := range []float64{o.WidthMM, o.HeightMM} {
					if math.IsNaN(v) || v < 0 || v > 10_000 {
						t.Errorf("%+v passed", o)
					}
				}
			}
		}
	})
}

// FuzzRows holds the rows to those of Go's own reader of RFC 4180, wherever it takes a text.
func FuzzRows(f *testing.F) {
	f.Add("a,b\n\"1,\n2\",\"3\"\"\" ,\n\n ,x\n\t\n,y")
	f.Add("a;b\n;\n\"\";c\n 1; 2 ;\n")
	f.Add("a\tb\n\t\n 1\t\"2\"")
	f.Fuzz(func(t *testing.T, data string) {
		if !utf8.ValidString(data) || strings.ContainsAny(data, "\r\x00#") {
			t.Skip() // decode sees to that, and comments are not in RFC 4180
		}
		for _, c := range commas {
			in := csv.NewReader(strings.NewReader(data))
			in.Comma, in.FieldsPerRecord, in.TrimLeadingSpace = c, -1, c != '\t'
			s := newScanner(data, c)
			for {
				want, err := in.Read()
				for err == nil && blank(want) {
					want, err = in.Read()
				}
				if err != nil && err != io.EOF {
					break
				}
				got, line, ours := s.next()
				if err == io.EOF && ours == io.EOF {
					break
				}
				if ours != nil && ours != io.EOF && (len(want) > mostCells || strings.Contains(ours.Error(), "bytes")) {
					break
				}
				for i := range got { // spaces around cells are nobody's
					got[i] = strings.TrimSpace(got[i])
				}
				for i := range want {
					want[i] = strings.TrimSpace(want[i])
				}
				if !slices.Equal(got, want) || (ours == nil) != (err == nil) {
					t.Fatalf("%q by %q: %q, %v; want %q, %v", data, c, got, ours, want, err)
				}
				if at, _ := in.FieldPos(0); line != at {
					t.Fatalf("%q by %q: %q on line %d, want %d", data, c, got, line, at)
				}
			}
		}
	})
}

func ExampleList_Read() {
	list := List{Of: "orders", Columns: []Column{
		{Name: "art", Needed: true},
		{Name: "quantity", Also: Synonyms("quantity"), Needed: true},
		{Name: "width", Unit: "mm"},
	}}
	t, err := list.Read([]byte("Qty;Art;Width (cm);customer\n12;heron.png;8,5;Lund\nmany;pike.png;;Lund\n"))
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, r := range t.Rows {
		art, quantity, width := r.Text("art"), r.Count("quantity", 10_000), 0.0
		if r.Has("width") {
			width = r.Length("width", 1000)
		}
		if err := r.Err(); err != nil {
			fmt.Println(err)
			continue
		}
		fmt.Printf("%d × %s, %g mm wide\n", quantity, art, width)
	}
	// Output:
	// 12 × heron.png, 85 mm wide
	// line 3: Qty "many": write a whole number above 0
}

func ExampleList_Read_misspelt() {
	list := List{Of: "orders", Columns: []Column{{Name: "art", Needed: true}, {Name: "width", Unit: "mm"}}}
	_, err := list.Read([]byte("art,widht\nheron.png,80\n"))
	fmt.Println(err)
	// Output: no column is called "widht"; is width meant? The columns are art, width; others are passed over
}

func ExampleRow_Refuse() {
	list := List{Of: "orders", Columns: []Column{{Name: "size", Hint: "a width such as 80mm, or 80x60mm"}}}
	t, _ := list.Read([]byte("size\nbig\n"))
	r := t.Rows[0]
	if r.Text("size") == "big" { // or whatever else the caller cannot read
		r.Refuse("size", "")
	}
	fmt.Println(r.Err())
	// Output: line 2: size "big": write a width such as 80mm, or 80x60mm
}
