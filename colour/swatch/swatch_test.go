package swatch

import (
	"fmt"
	"strings"
	"testing"
)

func TestParse(t *testing.T) {
	for name, c := range map[string]struct {
		data string
		want string // name=hex, comma separated; or an error's words after !
	}{
		"csv hex":    {"name,hex\nFen Green,#1f6b4a\n\"Sand, light\",e8d9b5\n", "Fen Green=#1f6b4a,Sand, light=#e8d9b5"},
		"csv lab":    {"L,a,b,name\n100,0,0,Paper\n0,0,0,Ink\n", "Paper=#ffffff,Ink=#000000"},
		"csv both":   {"name,hex,L,a,b\nA,,100,0,0\nB,#000080,,,\n", "A=#ffffff,B=#000080"},
		"semicolons": {"name;L;a;b\nA;100,0;0,0;0,0\n", "A=#ffffff"},
		"bom":        {"\xef\xbb\xbfName,HEX\nA,#010203\n", "A=#010203"},
		"comment":    {"# brand of 2026\nname,hex\nA,#010203\n", "A=#010203"},
		"no name":    {"name,hex\n,#010203\n", "#010203=#010203"},
		"gimp":       {"GIMP Palette\nName: Fen\nColumns: 2\n#\n 31 107  74\tFen Green\n0 0 0 Untitled\n", "Fen Green=#1f6b4a,#000000=#000000"},
		"empty":      {"", "!no colours"},
		"head only":  {"name,hex\n", "!no colours"},
		"no head":    {"A,#010203\n", "!must name its columns"},
		"bad hex":    {"name,hex\nA,#01020\n", "!line 2"},
		"missing":    {"name,hex\nA\n", "!line 2"},
		"bad lab":    {"name,L,a,b\nA,400,0,0\n", "!line 2"},
		"bad gimp":   {"GIMP Palette\n1 2 300 X\n", "!line 2"},
		"short gimp": {"GIMP Palette\n1 2\n", "!line 2"},
		"quote":      {"name,hex\n\"A,#010203\n", "!"},
	} {
		got, err := Parse([]byte(c.data))
		if want, bad := strings.CutPrefix(c.want, "!"); bad {
			if err == nil || !strings.Contains(err.Error(), want) {
				t.Errorf("%s: error %v, want %q", name, err, want)
			}
			continue
		}
		var s []string
		for _, g := range got {
			s = append(s, g.Name+"="+g.Lab.Hex())
		}
		if err != nil || strings.Join(s, ",") != c.want {
			t.Errorf("%s: %v, %v, want %s", name, s, err, c.want)
		}
	}
}

func FuzzParse(f *testing.F) {
	f.Add([]byte("name,hex\nA,#010203\n"))
	f.Add([]byte("GIMP Palette\n1 2 3 X\n"))
	f.Fuzz(func(t *testing.T, b []byte) {
		list, err := Parse(b)
		for _, s := range list {
			if err == nil && (s.Name == "" || s.Lab.Check() != nil) {
				t.Errorf("%+v passed", s)
			}
		}
	})
}

func ExampleParse() {
	list, _ := Parse([]byte("name,hex\nFen Green,#1f6b4a\n"))
	fmt.Println(list[0].Name, list[0].Lab)
	// Output: Fen Green L 40.0 a -30.5 b 11.6
}
