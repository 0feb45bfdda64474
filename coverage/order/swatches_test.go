package order

import (
	"encoding/binary"
	"fmt"
	"os"
	"reflect"
	"strings"
	"testing"
	"unicode/utf16"

	"laydown/colour"
	"laydown/colour/swatch"
	"laydown/coverage/fault"
)

func TestReadSwatches(t *testing.T) {
	for name, c := range map[string]struct {
		data string
		want string // name=hex, comma separated
	}{
		"hex":           {"name,hex\nFen Green,#1f6b4a\n\"Sand, light\",e8d9b5\n", "Fen Green=#1f6b4a,Sand, light=#e8d9b5"},
		"lab":           {"L,a,b,name\n100,0,0,Paper\n0,0,0,Ink\n", "Paper=#ffffff,Ink=#000000"},
		"both":          {"name,hex,L,a,b\nA,,100,0,0\nB,#000080,,,\nC,#000080,100,0,0\n", "A=#ffffff,B=#000080,C=#ffffff"},
		"some of lab":   {"name,hex,L,a\nA,#010203,50,0\n", "A=#010203"},
		"semicolons":    {"name;L;a;b\nA;100,0;0,0;0,0\n", "A=#ffffff"},
		"quoted commas": {"name,L,a,b\nA,\"100,0\",\"0,0\",\"-0,000\"\n", "A=#ffffff"},
		"measured":      {"Name;L*;a*;b*\nA;40,021;-30,512;11,634\n", "A=#1f6b4a"},
		"tabs":          {"name\thex\nA, b\t#010203\n", "A, b=#010203"},
		"bom":           {"\xef\xbb\xbfName,HEX\nA,#010203\n", "A=#010203"},
		"Windows-1252":  {"name;hex\r\nR\xf6tlich;#010203\r\n", "Rötlich=#010203"},
		"comment":       {"# brand of 2026\nname,hex\nA,#010203\n#b,#010203\n# a \"quote\nC,#040506\n", "A=#010203,C=#040506"},
		"hex first":     {"hex,name\n#010203,A\n# the rest, too\n#040506,B\nabc,C\n#def,D\n", "A=#010203,B=#040506,C=#aabbcc,D=#ddeeff"},
		"starred":       {"colour;L* (D50);a*;b*\nA;50,5;0;0\n", "A=#787878"},
		"American":      {"Color,Hex [sRGB]\nA,#010203\n", "A=#010203"},
		"colour's name": {"name,colour,hex\nA,grey,#010203\n", "A=#010203"},
		"number sign":   {"name,hex,note\nA,#010203,#1\n", "A=#010203"},
		"no name":       {"name,hex\n,#010203\n", "#010203=#010203"},
		"gimp":          {"GIMP Palette\nName: Fen\nColumns: 2\n#\n 31 107  74\tFen Green\n0 0 0 Untitled\n", "Fen Green=#1f6b4a,#000000=#000000"},
	} {
		got, _, err := ReadSwatches([]byte(c.data), swatch.Options{})
		var s []string
		for _, g := range got {
			s = append(s, g.Name+"="+g.Lab.Hex())
		}
		if err != nil || strings.Join(s, ",") != c.want {
			t.Errorf("%s: %v, %v, want %s", name, s, err, c.want)
		}
	}
}

func TestReadSwatchesRefuses(t *testing.T) {
	const columns = "the first row must name its columns: name, and hex, or L, a, b, or c, m, y, k"
	for _, c := range []struct{ data, want string }{
		{"", "is empty: the first row must name its columns, name, and hex, or L, a, b, or c, m, y, k"},
		{"# nothing\n", "is empty: the first row must name its columns, name, and hex, or L, a, b, or c, m, y, k"},
		{"name,hex\n", "there are no colours in it: write one a line below the first row"},
		{"A,#010203\n", columns},
		{"dear printer\n", columns},
		{"hex\n#010203\n", columns},
		{"name,L,a\nA,1,2\n", columns},
		{"name,hex\nA,#01020\n", `line 2: hex "#01020": write #rrggbb with hexadecimal digits`},
		{"name,hex\nA,##010203\n", `line 2: hex "##010203": write #rrggbb with hexadecimal digits`},
		{"name,hex\nA,navy\n", `line 2: hex "navy": write #rrggbb with hexadecimal digits`},
		{"name,hex\nA\n", "line 2: hex is empty: write #rrggbb with hexadecimal digits"},
		{"hex,name\n# one\n#brand\n", `line 3: hex "#brand": write #rrggbb with hexadecimal digits`},
		{"name,L,a,b\nA,400,0,0\n", `line 2: L "400": write a number from 0 to 100`},
		{"name,L,a,b\nA,40,0,-201\n", `line 2: b "-201": write a number from -200 to 200`},
		{"name,L,a,b\nA,40,grey,0\n", `line 2: a "grey": write a number from -200 to 200`},
		{"name,L,a,b\nA,,,\nB,1,2,3\n", "line 2: L is empty: write a number from 0 to 100; a is empty: write a number from -200 to 200; b is empty: write a number from -200 to 200"},
		{"name,hex\nA,navy\nB,#010203\nC,blue\n", "line 2: hex \"navy\": write #rrggbb with hexadecimal digits\nline 4: hex \"blue\": write #rrggbb with hexadecimal digits"},
		{"name,L,a,b\nA,40,0,-3,5,1,2\n", `line 2: has 7 cells, and the first row names 4: put a cell that holds a comma in quotes, as in "8,5", or part cells by semicolons`},
		{"name,hex\n\"A,#010203\n", `line 2: a quote (") is not closed: close it behind the cell, and double a quote within`},
		{"name,c,m,y\nA,1,2,3\n", columns},
		{"name,c,m,y,k\nA,0,101,0,-1\n", `line 2: m "101": write percent, a number from 0 to 100; k "-1": write percent, a number from 0 to 100`},
		{"name,c,m,y,k\nA,0,50,0,\n", "line 2: k is empty: write percent, a number from 0 to 100"},
		{"name,c,m,y,k\nA,0.2,1,0,0\n", "no c, m, y or k in it is above 1, as if they were parts of 1: write them in percent, from 0 to 100"},
		{"name,hex,c,m,y,k\nA,,,,,\n", "line 2: hex is empty: write #rrggbb with hexadecimal digits"},
		{"name,L,a,b,relative\nA,40,0,0,paper\nB,40,0,0,no\n", `line 2: relative "paper": write yes where L, a, b are beside the paper's white, no where they are absolute`},
		{"GIMP Palette\n1 2 300 X\n", `line 2: "300" is not a number from 0 to 255`},
	} {
		if _, _, err := ReadSwatches([]byte(c.data), swatch.Options{}); err == nil || err.Error() != c.want {
			t.Errorf("%q: %v, want %s", c.data, err, c.want)
		}
	}
}

// TestRelative reads yes and no, where a cell that is left empty means no.
func TestRelative(t *testing.T) {
	for cell, want := range map[string]bool{"yes": true, "Yes": true, "TRUE": true, "1": true, "no": false, "No": false, "false": false, "0": false, "": false} {
		list, _, err := ReadSwatches([]byte("name,L,a,b,relative\nA,40,0,0,"+cell+"\n"), swatch.Options{})
		if err != nil || list[0].Relative != want {
			t.Errorf("%q: %+v, %v, want %t", cell, list, err, want)
		}
	}
	if list, _, err := ReadSwatches([]byte("name,L,a,b\nA,40,0,0\n"), swatch.Options{}); err != nil || list[0].Relative {
		t.Errorf("without the column: %+v, %v", list, err)
	}
}

// TestRecipes reads CMYK, and takes what says how a colour looks before it.
func TestRecipes(t *testing.T) {
	rose := &[4]float64{0.2, 0.9, 0.105, 0}
	for name, c := range map[string]struct {
		data string
		want []swatch.Swatch
	}{
		"alone":      {"name,c,m,y,k\nRose,20,90,10.5,0\n", []swatch.Swatch{{Name: "Rose", CMYK: rose}}},
		"words":      {"Name;Cyan (%);Magenta (%);Yellow (%);Black (%)\nRose;20;90;10,5;0\n", []swatch.Swatch{{Name: "Rose", CMYK: rose}}},
		"no name":    {"name,c,m,y,k\n,100,0,0,40\n", []swatch.Swatch{{Name: "C100 M0 Y0 K40", CMYK: &[4]float64{1, 0, 0, 0.4}}}},
		"blank":      {"name,c,m,y,k\nPaper,0,0,0,0\n", []swatch.Swatch{{Name: "Paper", CMYK: &[4]float64{}}}},
		"each a way": {"name,hex,L,a,b,c,m,y,k\nRose,,,,,20,90,10.5,0\nInk,#000000,,,,,,,\nSnow,,100,0,0,,,,\n", []swatch.Swatch{{Name: "Rose", CMYK: rose}, {Name: "Ink", Screen: true}, {Name: "Snow", Lab: colour.Lab{L: 100}}}},
		"both ways":  {"name,hex,c,m,y,k\nInk,#000000,60,40,40,100\n", []swatch.Swatch{{Name: "Ink", Screen: true}}},
		"Lab too":    {"name,c,m,y,k,L,a,b\nSnow,1,1,1,0,100,0,0\nRose,20,90,10.5,0,,,\n", []swatch.Swatch{{Name: "Snow", Lab: colour.Lab{L: 100}}, {Name: "Rose", CMYK: rose}}},
	} {
		got, _, err := ReadSwatches([]byte(c.data), swatch.Options{})
		if err != nil || !reflect.DeepEqual(got, c.want) {
			t.Errorf("%s: %+v, %v, want %+v", name, got, err, c.want)
		}
	}
}

// TestDemo reads the demo list, and the same as a spreadsheet saves it.
func TestDemo(t *testing.T) {
	data, err := os.ReadFile("../../testdata/demo/club-colours.csv")
	if err != nil {
		t.Fatal(err)
	}
	want, _, err := ReadSwatches(data, swatch.Options{})
	if err != nil || len(want) < 5 || want[3].Name != "Boathouse Cream" || want[3].Lab != (colour.Lab{L: 92.8, A: -0.6, B: 12.4}) {
		t.Fatalf("%+v, %v", want, err)
	}
	saved := []byte{0xff, 0xfe}
	for _, u := range utf16.Encode([]rune(strings.NewReplacer(",", "\t", "\n", "\r\n", "2.8", "2,8").Replace(string(data)))) {
		saved = binary.LittleEndian.AppendUint16(saved, u)
	}
	if got, _, err := ReadSwatches(saved, swatch.Options{}); err != nil || !reflect.DeepEqual(got, want) {
		t.Errorf("%+v, %v", got, err)
	}
}

// TestMeasurementIsAField words what is wrong with the condition that is asked for.
func TestMeasurementIsAField(t *testing.T) {
	for _, data := range []string{"name,hex\nA,#010203\n", "GIMP Palette\n1 2 3 X\n",
		`<CxF><Resources><ObjectCollection><Object Name="a"><ColorValues><ColorCIELab><L>1</L><A>2</A><B>3</B></ColorCIELab></ColorValues></Object></ObjectCollection></Resources></CxF>`} {
		_, _, err := ReadSwatches([]byte(data), swatch.Options{Measurement: swatch.M2})
		if got := fault.Words(err, strings.ToUpper); err == nil || !strings.HasPrefix(got, "MEASUREMENT: ") {
			t.Errorf("%.12s: %v", data, err)
		}
	}
}

func FuzzReadSwatches(f *testing.F) {
	f.Add([]byte("name,hex\nA,#010203\n"))
	f.Add([]byte("hex;name;L;a;b\n# c\n#010203;A;;;\n;B;92,815;-0,6;12,4\n"))
	f.Add([]byte("name,c,m,y,k\nA,1,2,3,100\n"))
	f.Fuzz(func(t *testing.T, b []byte) {
		list, _, err := ReadSwatches(b, swatch.Options{})
		if err == nil && len(list) == 0 {
			t.Error("no colours and no error")
		}
		for _, s := range list {
			if err == nil && (s.Name == "" || s.Lab.Check() != nil) {
				t.Errorf("%+v passed", s)
			}
		}
	})
}

func ExampleReadSwatches() {
	list, _, err := ReadSwatches([]byte("name;hex;L;a;b\nFen Green;#1f6b4a;;;\nCream;;92,8;-0,6;12,4\n"), swatch.Options{})
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, s := range list {
		fmt.Println(s.Name, s.Lab)
	}
	// Output:
	// Fen Green L 40.0 a -30.5 b 11.6
	// Cream L 92.8 a -0.6 b 12.4
}
