package sheet

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"laydown/coverage/unit"
)

var a4 = unit.Sheet{Name: "A4", WidthMM: 210, HeightMM: 297}

func TestFit(t *testing.T) {
	for _, c := range []struct {
		w, h, margin, gap float64
		copies            int
		turned            bool
	}{
		{210, 297, 0, 0, 1, false},
		{297, 210, 0, 0, 1, true},
		{200, 287, 5, 0, 1, false},
		{200.005, 287, 5, 0, 1, false},
		{50, 50, 5, 0, 20, false},  // 4 × 5 in 200 × 287
		{50, 50, 5, 5, 15, false},  // 3 × 5
		{90, 60, 5, 2, 9, true},    // 2 × 4 upright, 3 × 3 turned
		{100, 30, 5, 0, 18, false}, // 2 × 9 upright, 6 × 2 turned
	} {
		l, err := Fit(c.w, c.h, a4, c.margin, c.gap)
		if err != nil {
			t.Fatal(err)
		}
		if l.Copies() != c.copies || l.Places[0].Turned != c.turned {
			t.Errorf("%+v: %d copies, turned %v", c, l.Copies(), l.Places[0].Turned)
		}
		for i, p := range l.Places {
			if p.XMM < c.margin-slack || p.YMM < c.margin-slack || p.XMM+p.WidthMM > 210-c.margin+slack || p.YMM+p.HeightMM > 297-c.margin+slack {
				t.Errorf("%+v: copy %d leaves the sheet: %+v", c, i, p)
			}
			for _, q := range l.Places[:i] {
				if p.XMM < q.XMM+q.WidthMM-1e-9 && q.XMM < p.XMM+p.WidthMM-1e-9 && p.YMM < q.YMM+q.HeightMM-1e-9 && q.YMM < p.YMM+p.HeightMM-1e-9 {
					t.Errorf("%+v: copies overlap: %+v %+v", c, p, q)
				}
			}
		}
	}
}

// TestMixed sets prints both ways where that holds more, by hand: on A4 with margins
// of 5 mm, 200 × 287 mm are free. It also holds every layout of many sizes to what
// must be so, and to no fewer than a grid.
func TestMixed(t *testing.T) {
	for _, c := range []struct {
		w, h   float64
		copies int
	}{
		{120, 80, 5}, // grids hold 3 and 4; the area has room for 5.98
		{140, 60, 6}, // grids hold 4 and 6
		{90, 64, 9},  // grids hold 8 and 9
		{110, 88, 5}, // grids hold 3 and 4
	} {
		l, err := Fit(c.w, c.h, a4, 5, 0)
		if err != nil {
			t.Fatal(err)
		}
		if l.Copies() != c.copies {
			t.Errorf("%g × %g: %d copies, want %d", c.w, c.h, l.Copies(), c.copies)
		}
	}
	rng := rand.New(rand.NewPCG(4, 4))
	won := 0
	for range 1000 {
		w, h, gap := 15+120*rng.Float64(), 15+120*rng.Float64(), 5*rng.Float64()
		l, err := Fit(w, h, a4, 5, gap)
		if err != nil {
			t.Fatal(err)
		}
		grid := func(w, h float64) int { return int((200+gap+slack)/(w+gap)) * int((287+gap+slack)/(h+gap)) }
		if n := max(grid(w, h), grid(h, w)); l.Copies() < n {
			t.Errorf("%g × %g: %d copies, a grid holds %d", w, h, l.Copies(), n)
		} else if l.Copies() > n {
			won++
		}
		room := Room{Sheet: a4, MarginMM: 5, GapMM: gap}
		g := Gang{Layouts: []GangLayout{{Prints: 1}}, Sheets: 1}
		for _, p := range l.Places {
			g.Layouts[0].Places = append(g.Layouts[0].Places, GangPlace{Place: p})
		}
		sound(t, fmt.Sprintf("%g × %g, gap %g", w, h, gap), room, g, []Piece{{"", w, h, l.Copies()}})
	}
	t.Logf("both ways won %d of 1000 times", won)
	if won < 100 {
		t.Errorf("both ways won only %d of 1000 times", won)
	}
}

func TestFitRefuses(t *testing.T) {
	if _, err := Fit(300, 300, a4, 0, 0); err == nil || !strings.Contains(err.Error(), "does not fit A4") {
		t.Errorf("error %v", err)
	}
	if _, err := Fit(0, 10, a4, 0, 0); err == nil {
		t.Error("no area passed")
	}
	if _, err := Fit(math.NaN(), 10, a4, 0, 0); err == nil {
		t.Error("NaN passed")
	}
}

func TestSheets(t *testing.T) {
	l, err := Fit(50, 50, a4, 5, 0)
	if err != nil {
		t.Fatal(err)
	}
	for q, want := range map[int]int{1: 1, 20: 1, 21: 2, 100: 5} {
		if got := l.Sheets(q); got != want {
			t.Errorf("%d copies take %d sheets, want %d", q, got, want)
		}
	}
	if got, want := l.Holding(), (Holding{"A4", 210, 297, 20}); got != want {
		t.Errorf("%+v, want %+v", got, want)
	}
}

func ExampleFit() {
	l, _ := Fit(60, 90, unit.Sheet{Name: "A4", WidthMM: 210, HeightMM: 297}, 5, 2)
	fmt.Println(l.Copies(), "copies,", l.Sheets(12), "sheets for 12")
	// Output: 9 copies, 2 sheets for 12
}
