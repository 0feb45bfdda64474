package sheet

import (
	"encoding/json"
	"fmt"
	"math"
	"reflect"
	"strings"
	"testing"

	"laydown/coverage/fault"
	"laydown/coverage/unit"
)

func TestReadPieces(t *testing.T) {
	want := []Ask{{Piece: Piece{"badge", 80, 80, 12}, Line: 2}, {Piece: Piece{"label", 60, 25.4, 30}, Line: 3}}
	for _, data := range []string{
		"name,width_mm,height_mm,quantity\nbadge,80,80,12\nlabel,60,25.4,30\n",
		"Quantity, name,height_mm,width_mm\n12,badge,80,80\n30,label,25.4,60\n",
		"Quantity,name,art,height,width,order\n12,badge,,8cm,80,\n30,label,,1in,60,\n",
		"Name;Width (cm);H;Qty;customer\nbadge;8;8 cm;12;Lund\nlabel;6,0;1in;30;\n;;;;\n",
		"\ufeffname\twidth\theight\tpcs\r\nbadge\t80\t80\t12\r\nlabel\t60\t25,4\t30\r\n",
	} {
		if got, err := ReadPieces([]byte(data), ""); err != nil || !reflect.DeepEqual(got, want) {
			t.Errorf("%q: %+v, %v", data, got, err)
		}
	}
}

// TestReadArt reads pieces that are art files: in the list's folder, under the file's name, with
// the sides that are given.
func TestReadArt(t *testing.T) {
	got, err := ReadPieces([]byte("art;width;height;qty;order;name\nheron.png;8,5 cm;;12;Lund;\nlogos/mark.svg;;1in;30;;mark\n;20;30;4;Lund;label\n/abs/a.b.pdf;;;1;;\n"), "shop")
	want := []Ask{
		{Piece: Piece{"heron", 85, 0, 12}, Art: "shop/heron.png", Order: "Lund", Line: 2},
		{Piece: Piece{"mark", 0, 25.4, 30}, Art: "shop/logos/mark.svg", Line: 3},
		{Piece: Piece{"label", 20, 30, 4}, Order: "Lund", Line: 4},
		{Piece: Piece{"a.b", 0, 0, 1}, Art: "/abs/a.b.pdf", Line: 5},
	}
	if err != nil || !reflect.DeepEqual(got, want) {
		t.Errorf("%+v, %v, want %+v", got, err, want)
	}
	if a, b := want[0].For(), want[1].For(); a != "Lund" || b != "mark" {
		t.Errorf("orders %q, %q, want Lund, mark", a, b)
	}
}

func TestReadPiecesRefuses(t *testing.T) {
	const head = "name,width_mm,height_mm,quantity\n"
	const columns = "name, width_mm, height_mm and quantity, or art and quantity"
	const length = ": write a length above 0, such as 80mm, 8.5cm or 3.5in"
	for _, c := range []struct{ data, want string }{
		{"", "is empty: the first row must name its columns, " + columns},
		{"name,width_mm\n", "the first row must name its columns: " + columns},
		{"name,width_mm,height_mm,number\n", "the first row must name its columns: " + columns},
		{head, "there are no pieces in it: write one a line below the first row"},
		{head + "a,wide,3,1\n", `line 2: width_mm "wide"` + length},
		{head + "a,wide,high,some\n", `line 2: width_mm "wide"` + length + `; height_mm "high"` + length + `; quantity "some": write a whole number above 0`},
		{head + "a,wide,3,1\nb,1,1,1\n,1,1,0\n", `line 2: width_mm "wide"` + length + "\nline 4: name is empty: write what the piece is called; quantity \"0\": write a whole number above 0"},
		{head + "a,1,-3,1\n", `line 2: height_mm "-3"` + length},
		{head + "a,1,3,1.5\n", `line 2: quantity "1.5": write a whole number above 0`},
		{head + "badge,80,80,some\n", `line 2: quantity "some": write a whole number above 0`},
		{head + ",1,3,1\n", "line 2: name is empty: write what the piece is called"},
		{head + "a,1,3\n", "line 2: quantity is empty: write a whole number above 0"},
		{head + "a,8,5,3,1\n", `line 2: has 5 cells, and the first row names 4: put a cell that holds a comma in quotes, as in "8,5", or part cells by semicolons`},
		{head + "a,NaN,3,1\n", `line 2: width_mm "NaN"` + length},
		{head + "a,10001,3,1\n", `line 2: width_mm "10001": write a length above 0 and at most 10000mm`},
		{"art,order\nheron.png,7\n", "the first row must name its columns: " + columns},
		{"art,quantity,width\nheron.png,7,no\n,8,\n", `line 2: width "no"` + length + "\nline 3: name is empty: write what the piece is called; width is empty: write a length above 0, such as 80mm, 8.5cm or 3.5in; height_mm is empty: write a length above 0, such as 80mm, 8.5cm or 3.5in"},
		{head + "a,1,3,10000001\n", `line 2: quantity "10000001": write a whole number above 0 and at most 10000000`},
	} {
		for range 3 { // the same on every run
			if _, err := ReadPieces([]byte(c.data), ""); err == nil || err.Error() != c.want {
				t.Errorf("%q: %v, want %s", c.data, err, c.want)
			}
		}
	}
	many := []byte(head)
	for range mostPieces + 1 {
		many = append(many, "a,1,1,1\n"...)
	}
	if _, err := ReadPieces(many, ""); err == nil || err.Error() != "there are more than 2000 pieces: split the list" {
		t.Errorf("%d pieces: %v", mostPieces+1, err)
	}
}

// TestGangJSON holds the JSON form, which is a contract, to the letter.
func TestGangJSON(t *testing.T) {
	r := Room{Sheet: unit.Sheet{WidthMM: 100.126, HeightMM: 60}, MarginMM: 5.004, GapMM: 1}
	g, err := r.Share([]Piece{{"long & thin", 20, 85.555, 3}})
	if err != nil {
		t.Fatal(err)
	}
	got, err := json.Marshal(g)
	if err != nil {
		t.Fatal(err)
	}
	const want = `{"sheet":{"name":"100.126 x 60 mm","width_mm":100.13,"height_mm":60,"copies":2},"layouts":[{"prints":2,"fill_percent":75.96,"places":[` +
		`{"name":"long \u0026 thin","x_mm":5,"y_mm":5,"width_mm":85.56,"height_mm":20,"turned":true},` +
		`{"name":"long \u0026 thin","x_mm":5,"y_mm":26,"width_mm":85.56,"height_mm":20,"turned":true}]}],"sheets":2,"extra_copies":1}`
	if string(got) != want {
		t.Errorf("%s, want\n%s", got, want)
	}
}

func FuzzReadPieces(f *testing.F) {
	f.Add([]byte("name,width_mm,height_mm,quantity\na,1,3,2\n"))
	f.Add([]byte("\ufeffname;width_mm\n"))
	f.Add([]byte("name;Width (in);h;qty\na;8,5;3 cm;2\n"))
	f.Add([]byte("art,qty,order,w\na.png,1,Lund,3in\n"))
	f.Fuzz(func(t *testing.T, b []byte) {
		pieces, err := ReadPieces(b, "folder")
		if err == nil && len(pieces) == 0 {
			t.Error("no pieces and no error")
		}
		for _, p := range pieces {
			least := math.SmallestNonzeroFloat64
			if p.Art != "" {
				least = 0
			}
			if p.Name == "" || !(p.WidthMM >= least && p.WidthMM <= mostMM && p.HeightMM >= least && p.HeightMM <= mostMM) || p.Quantity < 1 || p.Quantity > mostCopies {
				t.Errorf("%+v passed", p)
			}
		}
	})
}

func ExampleReadPieces() {
	asks, err := ReadPieces([]byte("Name;Width (cm);Height (cm);Qty\nbadge;8,5;8,5;12\nlabel;6;1in;30\n"), "")
	for _, a := range asks {
		fmt.Println(a.Piece)
	}
	fmt.Println(err)
	// Output:
	// {badge 85 85 12}
	// {label 60 25.4 30}
	// <nil>
}

// TestFaults words the mistakes that more than one field may mend.
func TestFaults(t *testing.T) {
	r := Room{Sheet: a4, MarginMM: 5, GapMM: 2}
	_, large := r.Share([]Piece{{"big", 250, 300, 1}})
	_, many := r.OneLayout([]Piece{{"a", 190, 200, 1}, {"b", 190, 200, 1}})
	_, fits := r.OneLayout([]Piece{{"a", 120, 280, 1}, {"b", 120, 150, 1}})
	_, none := Fit(0, 10, a4, 0, 0)
	_, over := Fit(300, 300, a4, 5, 0)
	for _, c := range []struct {
		err  error
		want string
	}{
		{large, `piece "big" of 250 × 300 mm does not fit A4 with margins of 5 mm: make it smaller or take a larger --sheet`},
		{many, "the 2 pieces do not all fit on one layout of A4: leave out --one-layout, or take a larger --sheet"},
		{fits, "no single layout of A4 was found for all 2 pieces: leave out --one-layout, or take a larger --sheet"},
		{none, "a print of 0 × 10 mm has no area: give --width or --height"},
		{over, "a print of 300.0 × 300.0 mm does not fit A4 with margins of 5 mm (200.0 × 287.0 mm are free): make it smaller with --width or take a larger --sheet"},
	} {
		if c.err == nil || strings.Contains(c.err.Error(), "--") || fault.Words(c.err, func(field string) string { return "--" + field }) != c.want {
			t.Errorf("%v, want %s", c.err, c.want)
		}
	}
}
