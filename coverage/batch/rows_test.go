package batch

import (
	"fmt"
	"strings"
	"testing"
)

// TestSize reads the size of an order in the dialect of all lists, as a width is read.
func TestSize(t *testing.T) {
	const hint = ": write a width such as 80mm, or 80x60mm"
	for _, c := range []struct{ header, cell, want string }{
		{"size", "80mm", "80 0"},
		{"size", "80", "80 0"},
		{"size", "80mm.", "80 0"},
		{"size", "8,5 cm", "85 0"},
		{"size", "8,5", "8.5 0"},
		{"size", "3.5 inches", "88.9 0"},
		{"size", "3.5″", "88.9 0"},
		{"size", "80x60mm", "80 60"},
		{"size", "80×80", "80 80"},
		{"size", "80 X 60", "80 60"},
		{"size", "8,5 x 8,5 cm", "85 85"},
		{"size", "8,5 cm x 6", "85 60"},
		{"size", "80 mm. x 6 cm", "80 60"},
		{"size", "3″ × 2 in.", "76.2 50.8"},
		{"size", "a6", "105 148"},
		{"Size (cm)", "8,5", "85 0"},
		{"Size (cm)", "8,5 x 6", "85 60"},
		{"Size (cm)", "85 x 60 mm", "85 60"},
		{"size_in", "3", "76.2 0"},
		{"size", "1.500", `size "1.500": write 1.5 or 1500, whichever is meant`},
		{"size", "80 x 1,500", `size "80 x 1,500": write 1.5 or 1500, whichever is meant`},
		{"size", "1.500,5", `size "1.500,5"` + hint + ", without thousands separators"},
		{"size", "big", `size "big"` + hint},
		{"size", "80x", `size "80x"` + hint},
		{"size", "x60", `size "x60"` + hint},
		{"size", "80x60x2", `size "80x60x2"` + hint},
		{"size", "80x0", `size "80x0"` + hint},
		{"size", "-80", `size "-80"` + hint},
		{"Size (cm)", "0", `Size (cm) "0"` + hint},
		{"size", "2e6", `size "2e6": write a length above 0 and at most 1000000mm`},
	} {
		rows, err := readRows([]byte("art;qty;"+c.header+"\na.png;1;"+c.cell+"\n"), "", 0)
		if err != nil {
			t.Errorf("%s %q: %v", c.header, c.cell, err)
			continue
		}
		got := fmt.Sprintf("%g %g", rows[0].Wish.WidthMM, rows[0].Wish.HeightMM)
		if rows[0].Fault != nil {
			got = rows[0].Fault.Error()
		}
		if got != c.want {
			t.Errorf("%s %q: %s, want %s", c.header, c.cell, got, c.want)
		}
	}
	for _, cells := range []string{"80mm;80;", "80mm;;60", "80mm;80;60"} {
		rows, err := readRows([]byte("art;qty;size;width;height\na.png;1;"+cells+"\n"), "", 0)
		if err != nil || rows[0].Fault == nil || !strings.Contains(rows[0].Fault.Error(), `size "80mm": write it, or width and height, not both`) {
			t.Errorf("%s: %+v, %v", cells, rows, err)
		}
	}
}
