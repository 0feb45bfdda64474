package sheet

import (
	"fmt"
	"math/rand/v2"
	"testing"

	"laydown/coverage/unit"
)

// held checks that a layout's copies lie within the margins, keep their gaps and are no
// larger or smaller than the print, and returns how many there are.
func held(t *testing.T, w, h float64, r Room) int {
	t.Helper()
	l, err := r.Fit(w, h)
	if err != nil {
		t.Fatal(err)
	}
	g := Gang{Layouts: []GangLayout{{Prints: 1}}, Sheets: 1}
	for _, p := range l.Places {
		g.Layouts[0].Places = append(g.Layouts[0].Places, GangPlace{Place: p})
	}
	sound(t, fmt.Sprintf("%g × %g on %+v", w, h, r), r, g, []Piece{{Name: "print", WidthMM: w, HeightMM: h, Quantity: l.Copies()}})
	return l.Copies()
}

// TestFiveBlocks sets prints where blocks around a corner each hold one copy less, or two:
// found by a search like naive's.
func TestFiveBlocks(t *testing.T) {
	for _, c := range []struct {
		w, h        float64
		sheet       unit.Sheet
		margin, gap float64
		copies      int
	}{
		{53, 42.5, unit.Sheet{Name: "A3", WidthMM: 297, HeightMM: 420}, 8.5, 6, 40},
		{42.5, 53, unit.Sheet{Name: "A3", WidthMM: 420, HeightMM: 297}, 8.5, 6, 40},
		{24.5, 28.5, unit.Sheet{Name: "A3", WidthMM: 297, HeightMM: 420}, 4, 1.5, 152},
	} {
		if n := held(t, c.w, c.h, Room{Sheet: c.sheet, MarginMM: c.margin, GapMM: c.gap}); n != c.copies {
			t.Errorf("%g × %g: %d copies, want %d", c.w, c.h, n, c.copies)
		}
	}
}

// TestPalletLoading holds the search to instances of the manufacturer's pallet loading
// problem on which simpler patterns fall short, each as large as its area bound or Barnes'
// allows, so that the count itself is no matter of trust (the instances from the literature
// around Morabito and Morales 1998 and Scheithauer and Terno 1996, from memory). The last is
// one that no five-block pattern fills (53 needs L-shaped parts: Lins, Lins and Morabito 2003,
// "An L-approach for packing (l, w)-rectangles into rectangular and L-shaped pieces", from
// memory): what is found there is one less, as those authors have it for this method.
func TestPalletLoading(t *testing.T) {
	for _, c := range []struct {
		w, h, a, b float64
		most, want int
	}{
		{86, 82, 15, 11, 42, 42}, {57, 44, 12, 5, 41, 41}, {87, 47, 7, 6, 97, 97}, {1000, 1000, 205, 159, 30, 30},
		{153, 100, 24, 7, 90, 90}, {42, 39, 9, 4, 45, 45}, {124, 81, 21, 10, 47, 47}, {43, 26, 7, 3, 53, 52},
	} {
		if most := atMost(int64(c.a), int64(c.b), int64(c.w), int64(c.h)); most != int64(c.most) {
			t.Errorf("%g × %g on %g × %g: bound %d, want %d", c.a, c.b, c.w, c.h, most, c.most)
		}
		if n := held(t, c.a, c.b, Room{Sheet: unit.Sheet{WidthMM: c.w, HeightMM: c.h}}); n < c.want || n > c.most {
			t.Errorf("%g × %g on %g × %g: %d copies, want %d at least", c.a, c.b, c.w, c.h, n, c.want)
		}
	}
}

// naive is the most copies of a × b, gaps among them, that any five grids around each other
// hold on w × h, found by trying all partings at all sums of sides.
func naive(a, b, w, h int) (most int) {
	grid := func(w, h int) int { return max((w/a)*(h/b), (w/b)*(h/a)) }
	sums := func(side int) (out []int) {
		is := make([]bool, side+1)
		for x := 0; x <= side; x += a {
			for y := x; y <= side; y += b {
				is[y] = true
			}
		}
		for v, ok := range is {
			if ok {
				out = append(out, v)
			}
		}
		return out
	}
	xs, ys := sums(w), sums(h)
	for i, x1 := range xs {
		for _, x2 := range xs[i:] {
			for j, y1 := range ys {
				for _, y2 := range ys[j:] {
					most = max(most, grid(x1, y2)+grid(w-x1, y1)+grid(x2-x1, y2-y1)+grid(w-x2, h-y1)+grid(x2, h-y2))
				}
			}
		}
	}
	return most
}

// TestFiveBlocksAgainstNaive sets random prints, in half millimetres as shops order them, and
// holds the copies to a naive search of five grids and to what blocks of both ways alone held.
func TestFiveBlocksAgainstNaive(t *testing.T) {
	rng := rand.New(rand.NewPCG(53, 42))
	more, beyond, cases := 0, 0, 0
	for cases < 300 {
		s := []unit.Sheet{{Name: "A4", WidthMM: 210, HeightMM: 297}, {Name: "A3", WidthMM: 297, HeightMM: 420}}[rng.IntN(2)]
		half := func(from, to int) float64 { return float64(from+rng.IntN(to-from)) / 2 }
		w, h, margin, gap := half(60, 260), half(60, 260), half(0, 24), half(0, 14)
		r := Room{Sheet: s, MarginMM: margin, GapMM: gap}
		freeW, freeH := s.WidthMM-2*margin, s.HeightMM-2*margin
		if max(w, h) > min(freeW, freeH) {
			continue
		}
		cases++
		n := held(t, w, h, r)
		want := naive(int(2*(w+gap)), int(2*(h+gap)), int(2*(freeW+gap)), int(2*(freeH+gap)))
		_, before := mixedBlocks(w, h, freeW, freeH, gap)
		before = max(before, fits(w, freeW, gap)*fits(h, freeH, gap), fits(h, freeW, gap)*fits(w, freeH, gap))
		if n < want || n < before {
			t.Errorf("%g × %g on %s, margin %g, gap %g: %d copies; five grids hold %d, blocks of both ways %d", w, h, s, margin, gap, n, want, before)
		}
		if n > before {
			more++
		}
		if n > want {
			beyond++
		}
	}
	t.Logf("of %d prints %d are set more often than by blocks of both ways alone, %d more often than by any five grids", cases, more, beyond)
	if more == 0 {
		t.Error("five blocks never held more")
	}
}

// TestAtMost holds the bound to what it may not be: below what
// five grids hold, over all small sides.
func TestAtMost(t *testing.T) {
	for w := int64(1); w <= 30; w++ {
		for h := int64(1); h <= w; h++ {
			for a := int64(1); a <= 7; a++ {
				for b := int64(1); b < a; b++ {
					if n, most := naive(int(a), int(b), int(w), int(h)), atMost(a, b, w, h); int64(n) > most {
						t.Fatalf("%d × %d on %d × %d: %d go in, the bound is %d", a, b, w, h, n, most)
					}
				}
			}
			if w > 12 && h > 5 {
				break
			}
		}
	}
}

// TestFitIsBounded sets tiny prints on a large sheet, with sides that hardly share a sum: the
// search counts its own steps and gives up, and grids remain.
func TestFitIsBounded(t *testing.T) {
	for _, c := range []struct{ w, h float64 }{{10.3, 7.1}, {1.7, 1.3}, {12.5, 20}, {20, 22.03}} {
		r := Room{Sheet: unit.Sheet{Name: "A2", WidthMM: 420, HeightMM: 594}, MarginMM: 3, GapMM: 1}
		l, err := r.Fit(c.w, c.h)
		if err != nil {
			t.Fatal(err)
		}
		grid := int(415.01/(c.w+1)) * int(589.01/(c.h+1))
		if l.Copies() < grid {
			t.Errorf("%g × %g: %d copies, a grid holds %d", c.w, c.h, l.Copies(), grid)
		}
	}
	p := newPartition(units(20), units(22.03), units(600))
	p.work = 1000
	p.hold(p.at(units(415)), p.at(units(589)), mostDepth)
	if p.work < -mostDepth*5 {
		t.Errorf("went on for %d steps beyond its means", -p.work)
	}
	again := func() Layout { l, _ := Fit(20, 22.03, unit.Sheet{WidthMM: 420, HeightMM: 594}, 3, 1); return l }
	if a, b := again(), again(); fmt.Sprint(a) != fmt.Sprint(b) {
		t.Error("the same print lies elsewhere the second time")
	}
}

func BenchmarkFit(b *testing.B) {
	for b.Loop() {
		if _, err := Fit(53, 42.5, unit.Sheet{WidthMM: 297, HeightMM: 420}, 8.5, 6); err != nil {
			b.Fatal(err)
		}
	}
}
