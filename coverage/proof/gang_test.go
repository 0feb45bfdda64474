package proof

import (
	"strings"
	"testing"

	"laydown/coverage/unit"
)

func TestGang(t *testing.T) {
	pieces, err := ParsePieces([]byte("Quantity, name,height_mm,width_mm\n12,badge,80,80\n30,label,25,60\n"))
	if err != nil {
		t.Fatal(err)
	}
	g, err := Gang(Room(unit.Sheet{Name: "A4", WidthMM: 210, HeightMM: 297}, 5, 2), pieces, false)
	if err != nil {
		t.Fatal(err)
	}
	if g.Sheets != 3 || len(g.Layouts) != 1 || g.Layouts[0].Prints != 3 || !strings.Contains(g.Text(), "4 × badge, 10 × label") {
		t.Errorf("%+v\n%s", g, g.Text())
	}
}

func TestParsePiecesRefuses(t *testing.T) {
	for data, want := range map[string]string{
		"":                                   "empty",
		"name,width_mm\n":                    `"height_mm" is missing`,
		"name,width_mm,height_mm,quantity\n": "no pieces",
		"name,width_mm,height_mm,quantity\na,wide,3,1\n": `line 2: width_mm "wide"`,
		"name,width_mm,height_mm,quantity\na,1,-3,1\n":   `line 2: height_mm "-3"`,
		"name,width_mm,height_mm,quantity\na,1,3,1.5\n":  `line 2: quantity "1.5"`,
		"name,width_mm,height_mm,quantity\n,1,3,1\n":     "no name",
		"name,width_mm,height_mm,quantity\na,1,3\n":      "wrong number of fields",
		"name,width_mm,height_mm,quantity\na,NaN,3,1\n":  "width_mm",
	} {
		if _, err := ParsePieces([]byte(data)); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%q: %v, want %q", data, err, want)
		}
	}
}

func FuzzParsePieces(f *testing.F) {
	f.Add([]byte("name,width_mm,height_mm,quantity\na,1,3,2\n"))
	f.Add([]byte("\ufeffname;width_mm\n"))
	f.Fuzz(func(t *testing.T, b []byte) {
		pieces, err := ParsePieces(b)
		if err == nil && len(pieces) == 0 {
			t.Error("no pieces and no error")
		}
	})
}
