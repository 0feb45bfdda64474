package sheet

import (
	"math/rand/v2"
	"strings"
	"testing"

	"laydown/colour/reference"
	"laydown/coverage/unit"
)

// TestCorners sets prints by hand where squares in the corners stay free.
func TestCorners(t *testing.T) {
	for _, c := range []struct {
		name         string
		w, h         float64
		sheet        unit.Sheet
		gap, corner  float64
		copies, most int // at least and at most
	}{
		// 4 × 6 squares but the four in the corners.
		{"one square in each corner", 50, 50, unit.Sheet{WidthMM: 200, HeightMM: 300}, 0, 50, 20, 20},
		{"a corner as large as one and a bit", 50, 50, unit.Sheet{WidthMM: 200, HeightMM: 300}, 0, 51, 12, 15},
		// Two arms of one each, and four in the body: it is full.
		{"a cross", 100, 50, unit.Sheet{WidthMM: 200, HeightMM: 200}, 0, 50, 6, 6},
		{"the same turned", 50, 100, unit.Sheet{WidthMM: 200, HeightMM: 200}, 0, 50, 6, 6},
		// Only between the corners at the sides, or those above and below.
		{"as wide as the sheet", 200, 40, unit.Sheet{WidthMM: 200, HeightMM: 300}, 0, 30, 6, 6},
		{"with gaps", 48, 48, unit.Sheet{WidthMM: 198, HeightMM: 298}, 2, 48, 20, 20},
	} {
		r := Room{Sheet: c.sheet, GapMM: c.gap, CornerMM: c.corner}
		if n := held(t, c.w, c.h, r); n < c.copies || n > c.most {
			t.Errorf("%s: %d copies, want %d", c.name, n, c.copies)
		}
	}
	if _, err := (Room{Sheet: a4, MarginMM: 5, CornerMM: 30}).Fit(195, 285); err == nil || !strings.Contains(err.Error(), "does not fit A4 with margins of 5 mm (200.0 × 287.0 mm are free) and corners of 30 mm for a cutter") {
		t.Errorf("error %v", err)
	}
	if _, err := (Room{Sheet: a4, MarginMM: 5, CornerMM: 100}).Fit(10, 10); err == nil {
		t.Error("corners that meet passed")
	}
}

// TestCornersCostLittle sets random prints and holds the copies to what anybody would find: those on
// the part of the sheet between the corners, either way, and the whole sheet's but those that lie on
// a corner.
func TestCornersCostLittle(t *testing.T) {
	rng := rand.New(rand.NewPCG(6, 1))
	for range reference.Samples(t, 40) {
		half := func(from, to int) float64 { return float64(from+rng.IntN(to-from)) / 2 }
		w, h, gap, corner := half(20, 140), half(20, 140), half(0, 10), half(10, 80)
		r := Room{Sheet: a4, MarginMM: 5, GapMM: gap, CornerMM: corner}
		n := held(t, w, h, r)
		least := 0
		for _, s := range []unit.Sheet{{WidthMM: 200 - 2*corner, HeightMM: 287}, {WidthMM: 200, HeightMM: 287 - 2*corner}} {
			if l, err := Fit(w, h, s, 0, gap); err == nil {
				least = max(least, l.Copies())
			}
		}
		whole, err := Fit(w, h, a4, 5, gap)
		if err != nil {
			t.Fatal(err)
		}
		kept := 0
		for _, p := range whole.Places {
			beside := p.XMM-5 < corner-slack || p.XMM+p.WidthMM > 205-corner+slack
			if upon := p.YMM-5 < corner-slack || p.YMM+p.HeightMM > 292-corner+slack; !beside || !upon {
				kept++
			}
		}
		if n < max(least, kept) || n > whole.Copies() {
			t.Errorf("%g × %g, gap %g, corners of %g: %d copies; %d between the corners, %d of the whole sheet's %d", w, h, gap, corner, n, least, kept, whole.Copies())
		}
	}
}
