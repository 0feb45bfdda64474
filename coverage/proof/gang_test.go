package proof

import (
	"strings"
	"testing"

	"laydown/coverage/sheet"
	"laydown/coverage/unit"
)

func TestGang(t *testing.T) {
	pieces, err := sheet.ReadPieces([]byte("Quantity, name,height_mm,width_mm\n12,badge,80,80\n30,label,25,60\n"))
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
