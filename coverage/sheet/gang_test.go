package sheet

import (
	"encoding/csv"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"time"

	"laydown/colour/reference"
	"laydown/coverage/unit"
)

// sound holds a gang to what must be so: nothing overlaps or leaves the sheet, and
// every piece is printed often enough.
func sound(t testing.TB, name string, r Room, g Gang, pieces []Piece) {
	t.Helper()
	made := make([]int, len(pieces))
	sheets := 0
	for _, l := range g.Layouts {
		sheets += l.Prints
		for i, p := range l.Places {
			made[p.Piece] += l.Prints
			w, h := pieces[p.Piece].WidthMM, pieces[p.Piece].HeightMM
			if p.Turned {
				w, h = h, w
			}
			if p.WidthMM != w || p.HeightMM != h {
				t.Errorf("%s: a place of %g × %g for a piece of %g × %g", name, p.WidthMM, p.HeightMM, w, h)
			}
			if p.XMM < r.MarginMM-slack || p.YMM < r.MarginMM-slack || p.XMM+w > r.Sheet.WidthMM-r.MarginMM+slack || p.YMM+h > r.Sheet.HeightMM-r.MarginMM+slack {
				t.Fatalf("%s: a piece leaves the sheet: %+v", name, p)
			}
			if c := r.CornerMM; c > 0 {
				beside := p.XMM-r.MarginMM < c-slack || r.Sheet.WidthMM-r.MarginMM-p.XMM-w < c-slack
				if upon := p.YMM-r.MarginMM < c-slack || r.Sheet.HeightMM-r.MarginMM-p.YMM-h < c-slack; beside && upon {
					t.Fatalf("%s: a piece lies on a corner: %+v", name, p)
				}
			}
			for _, q := range l.Places[:i] {
				if p.XMM < q.XMM+q.WidthMM+r.GapMM-slack && q.XMM < p.XMM+w+r.GapMM-slack && p.YMM < q.YMM+q.HeightMM+r.GapMM-slack && q.YMM < p.YMM+h+r.GapMM-slack {
					t.Fatalf("%s: pieces are too near: %+v %+v", name, p, q)
				}
			}
		}
	}
	extra := 0
	for i, n := range made {
		if n < pieces[i].Quantity {
			t.Errorf("%s: %d of piece %d, want %d", name, n, i, pieces[i].Quantity)
		}
		extra += n - pieces[i].Quantity
	}
	if sheets != g.Sheets || extra != g.Extra {
		t.Errorf("%s: says %d sheets and %d extra, has %d and %d", name, g.Sheets, g.Extra, sheets, extra)
	}
}

func readInstance(t testing.TB, file string) (Room, []Piece) {
	t.Helper()
	f, err := os.Open(file)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	c := csv.NewReader(f)
	c.FieldsPerRecord = -1
	rows, err := c.ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	n := func(s string) float64 {
		v, err := strconv.ParseFloat(s, 64)
		if err != nil {
			t.Fatal(err)
		}
		return v
	}
	r := Room{Sheet: unit.Sheet{WidthMM: n(rows[0][0]), HeightMM: n(rows[0][1])}}
	var pieces []Piece
	for i, row := range rows[1:] {
		pieces = append(pieces, Piece{fmt.Sprint(i), n(row[0]), n(row[1]), int(n(row[2]))})
	}
	return r, pieces
}

// bound is the fewest sheets that the area allows.
func bound(r Room, pieces []Piece) float64 {
	a := 0.0
	for _, q := range pieces {
		a += q.WidthMM * q.HeightMM * float64(q.Quantity)
	}
	return math.Ceil(a / r.Sheet.AreaMM2())
}

// TestPublishedInstances gangs HGJ1–HGJ10 of Klippenstein, Kautz and Balduccini,
// "Expert-Level Job Ganging using Systematic and Local Search" (from the collection
// JeroenGar/datasets, CC0 1.0): at most 15 % over the area bound on the mean and
// 30 % on any.
func TestPublishedInstances(t *testing.T) {
	files, err := filepath.Glob("../../testdata/ganging/HGJ*.txt")
	if err != nil || len(files) != 10 {
		t.Fatalf("%d instances, %v", len(files), err)
	}
	type way struct {
		name        string
		gang        func(Room, []Piece) (Gang, error)
		mean, worst float64
	}
	// A single layout takes the longer search.
	for _, c := range reference.Sweep(t, []way{{"shared", Room.Share, 0.15, 0.30}, {"one layout", Room.OneLayout, 0.21, 0.38}}, func(w way) bool { return w.name == "shared" }) {
		name, mean := c.name, 0.0
		files := reference.Sweep(t, files, func(f string) bool {
			return strings.Contains(f, "HGJ1") || strings.Contains(f, "HGJ6") || strings.Contains(f, "HGJ9")
		})
		for _, file := range files {
			r, pieces := readInstance(t, file)
			start := time.Now()
			g, err := c.gang(r, pieces)
			if err != nil {
				t.Fatal(err)
			}
			took := time.Since(start)
			sound(t, file, r, g, pieces)
			over := float64(g.Sheets)/bound(r, pieces) - 1
			mean += over / float64(len(files))
			t.Logf("%s, %s: %d sheets on %d layouts, %.1f %% over the area bound, %v", filepath.Base(file), name, g.Sheets, len(g.Layouts), over*100, took.Round(time.Millisecond))
			if over > c.worst {
				t.Errorf("%s, %s: %.1f %% over the area bound", file, name, over*100)
			}
		}
		t.Logf("%s: mean %.1f %% over", name, mean*100)
		if mean > c.mean {
			t.Errorf("%s: mean %.1f %% over the area bound", name, mean*100)
		}
	}
}

// cut cuts sheets by guillotine into so many pieces each, so that the best packing
// fills every sheet.
func cut(rng *rand.Rand, w, h float64, sheets, pieces int) (out []Piece) {
	type rect struct{ w, h float64 }
	for range sheets {
		parts := []rect{{w, h}}
		for tries := 0; len(parts) < pieces && tries < 1000; tries++ {
			at := 0
			for i, p := range parts { // the largest is cut next, mostly
				if p.w*p.h > parts[at].w*parts[at].h && rng.IntN(4) > 0 {
					at = i
				}
			}
			p := parts[at]
			share := math.Round((0.25+0.5*rng.Float64())*100) / 100
			if p.w > p.h {
				a := math.Round(p.w * share)
				parts[at] = rect{a, p.h}
				parts = append(parts, rect{p.w - a, p.h})
			} else {
				a := math.Round(p.h * share)
				parts[at] = rect{p.w, a}
				parts = append(parts, rect{p.w, p.h - a})
			}
		}
		for _, p := range parts {
			if rng.IntN(2) == 0 {
				p.w, p.h = p.h, p.w
			}
			out = append(out, Piece{fmt.Sprint(len(out)), p.w, p.h, 1})
		}
	}
	return out
}

// TestPerfectSheets packs what was cut from whole sheets, so that all of them can be
// filled: at least 95 % on the mean.
func TestPerfectSheets(t *testing.T) {
	rng := rand.New(rand.NewPCG(2, 7))
	type sheets struct{ sheets, pieces int }
	all := []sheets{{1, 8}, {1, 15}, {1, 25}, {1, 40}, {3, 12}, {8, 15}}
	for _, c := range reference.Sweep(t, all, func(c sheets) bool { return c.sheets*c.pieces <= 15 }) {
		mean, together := 0.0, 0.0
		const rounds = 4
		for range rounds {
			pieces := cut(rng, 300, 420, c.sheets, c.pieces)
			r := Room{Sheet: unit.Sheet{WidthMM: 300, HeightMM: 420}}
			g, err := r.Share(pieces)
			if err != nil {
				t.Fatal(err)
			}
			sound(t, fmt.Sprint(c), r, g, pieces)
			fill := 0.0
			for _, l := range g.Layouts[:c.sheets] {
				fill += l.FillPercent / 100 / float64(c.sheets)
			}
			mean += fill / rounds
			together += float64(c.sheets) / float64(g.Sheets) / rounds
		}
		t.Logf("%d sheets of %d pieces: the first %d are filled %.2f %%, all together %.2f %%", c.sheets, c.pieces, c.sheets, mean*100, together*100)
		if mean < 0.95 {
			t.Errorf("%d sheets of %d pieces: filled %.2f %% on the mean", c.sheets, c.pieces, mean*100)
		}
	}
}

func TestGangRefuses(t *testing.T) {
	r := Room{Sheet: unit.Sheet{Name: "A4", WidthMM: 210, HeightMM: 297}, MarginMM: 5, GapMM: 2}
	for name, pieces := range map[string][]Piece{
		"nothing":          nil,
		"too large":        {{"big", 250, 300, 1}},
		"nothing wanted":   {{"none", 20, 20, 0}},
		"no size":          {{"thin", 0, 20, 1}},
		"too long to turn": {{"long", 290, 20, 1}},
	} {
		if _, err := r.Share(pieces); err == nil {
			t.Errorf("%s: no error", name)
		}
		if _, err := r.OneLayout(pieces); err == nil {
			t.Errorf("%s, one layout: no error", name)
		}
	}
	var many []Piece
	for i := range 40 {
		many = append(many, Piece{fmt.Sprint(i), 60, 60, 1})
	}
	if _, err := r.OneLayout(many); err == nil {
		t.Error("40 pieces of 60 × 60 mm on one A4")
	}
	if g, err := r.Share(many); err != nil || g.Sheets != 4 {
		t.Errorf("40 pieces of 60 × 60 mm: %d sheets, %v; 12 fit one", g.Sheets, err)
	}
}

// TestShareKeepsCorners packs random pieces, and some that fill a sheet between its corners: none
// lies on a corner.
func TestShareKeepsCorners(t *testing.T) {
	rng := rand.New(rand.NewPCG(8, 8))
	for range reference.Samples(t, 20) {
		r := Room{Sheet: a4, MarginMM: 5, GapMM: float64(rng.IntN(4)), CornerMM: float64(5 + rng.IntN(40))}
		var pieces []Piece
		for i := range 1 + rng.IntN(6) {
			pieces = append(pieces, Piece{Name: fmt.Sprint(i), WidthMM: float64(10 + rng.IntN(90)), HeightMM: float64(10 + rng.IntN(90)), Quantity: 1 + rng.IntN(40)})
		}
		g, err := r.Share(pieces)
		if err != nil {
			t.Fatal(err)
		}
		sound(t, fmt.Sprintf("%+v", r), r, g, pieces)
		if one, err := r.OneLayout(pieces); err == nil {
			sound(t, fmt.Sprintf("%+v, one layout", r), r, one, pieces)
		}
	}
	// A cross: arms of 100 × 50 mm around 200 × 200 leave corners of 50 mm, and eight pieces fill it.
	r := Room{Sheet: unit.Sheet{WidthMM: 200, HeightMM: 300}, CornerMM: 50}
	pieces := []Piece{{Name: "arm", WidthMM: 50, HeightMM: 50, Quantity: 4}, {Name: "body", WidthMM: 100, HeightMM: 100, Quantity: 4}}
	g, err := r.OneLayout(pieces)
	if err != nil || g.Sheets != 1 {
		t.Errorf("a cross that can be filled takes %d sheets, %v", g.Sheets, err)
	}
	sound(t, "cross", r, g, pieces)
	for _, c := range []struct {
		r    Room
		q    Piece
		want string
	}{
		{Room{Sheet: a4, MarginMM: 5, CornerMM: 100}, Piece{Name: "a", WidthMM: 10, HeightMM: 10, Quantity: 1}, "corners of 100 mm for a cutter leave nothing of A4 with margins of 5 mm: take a larger sheet"},
		{Room{Sheet: a4, MarginMM: 5, CornerMM: 30}, Piece{Name: "a", WidthMM: 195, HeightMM: 285, Quantity: 1}, `piece "a" of 195 × 285 mm does not fit A4 with margins of 5 mm and corners of 30 mm for a cutter: make it smaller or take a larger sheet`},
	} {
		if _, err := c.r.Share([]Piece{c.q}); err == nil || err.Error() != c.want {
			t.Errorf("%v, want %s", err, c.want)
		}
	}
}

// TestShareIsBounded gives hundreds of kinds few looks: they are set all the same, the looks are
// spent on more than one layout, and no layout takes more beyond its means than one try does.
func TestShareIsBounded(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 1))
	var pieces []Piece
	for i := range 200 {
		pieces = append(pieces, Piece{Name: fmt.Sprint(i), WidthMM: float64(20 + rng.IntN(70)), HeightMM: float64(20 + rng.IntN(70)), Quantity: 1 + rng.IntN(20)})
	}
	r := Room{Sheet: a4, MarginMM: 5, GapMM: 2}
	const means = 3_000_000
	g, took := r.share(pieces, means)
	sound(t, "200 kinds", r, g, pieces)
	if over := float64(g.Sheets)/bound(r, pieces) - 1; over > 0.25 {
		t.Errorf("%d sheets, %.0f %% over the area bound", g.Sheets, over*100)
	}
	tries := 0
	for _, l := range g.Layouts {
		tries += 2 * (len(pieces)*2 + 50) * (len(l.Places) + 50) // the last try begins with some means left, and is followed by one
	}
	t.Logf("%d sheets on %d layouts for %d looks of %d", g.Sheets, len(g.Layouts), took, means)
	if took > means+tries || took < means/4 {
		t.Errorf("%d looks of %d", took, means)
	}
	again, _ := r.share(pieces, means)
	if fmt.Sprint(g) != fmt.Sprint(again) {
		t.Error("other sheets the second time")
	}
	if more, _ := r.share(pieces, 10*means); more.Sheets > g.Sheets {
		t.Errorf("%d sheets with ten times the means, %d without", more.Sheets, g.Sheets)
	}
}

// TestAlone gangs pieces of one kind: no fewer go on a sheet than copies of it do by itself.
func TestAlone(t *testing.T) {
	r := Room{Sheet: unit.Sheet{Name: "A3", WidthMM: 297, HeightMM: 420}, MarginMM: 8.5, GapMM: 6}
	pieces := []Piece{{"label", 53, 42.5, 400}}
	for name, set := range map[string]func([]Piece) (Gang, error){"shared": r.Share, "one layout": r.OneLayout} {
		g, err := set(pieces)
		if err != nil || g.Sheets != 10 {
			t.Errorf("%s: %d sheets, %v; 40 go on one", name, g.Sheets, err)
		}
		sound(t, name, r, g, pieces)
	}
	tiny := []Piece{{"dot", 3, 5, 1_000_001}}
	l, err := r.Fit(3, 5)
	if err != nil {
		t.Fatal(err)
	}
	g, err := r.Share(tiny)
	if err != nil || g.Sheets != (tiny[0].Quantity+l.Copies()-1)/l.Copies() || len(g.Layouts) != 1 {
		t.Errorf("%d sheets of %d layouts, %v; %d go on one", g.Sheets, len(g.Layouts), err, l.Copies())
	}
	sound(t, "tiny", r, g, tiny)
}

// TestHugeOrders sets ten millions of pieces, which end by counted work, and refuses what is
// beyond the limits with a sentence that says them.
func TestHugeOrders(t *testing.T) {
	r := Room{Sheet: a4, MarginMM: 5, GapMM: 2}
	few := []Piece{{"a", 60, 80, 6_000_000}, {"b", 33, 47, 3_999_999}, {"c", 90, 25, 1}}
	for name, set := range map[string]func([]Piece) (Gang, error){"shared": r.Share, "one layout": r.OneLayout} {
		g, err := set(few)
		if err != nil {
			t.Fatal(err)
		}
		sound(t, name, r, g, few)
		t.Logf("%s: %d sheets, %.1f %% over the area bound", name, g.Sheets, (float64(g.Sheets)/bound(r, few)-1)*100)
	}
	many := make([]Piece, mostPieces+1)
	for i := range many {
		many[i] = Piece{"a", 30, 30, 1}
	}
	for name, c := range map[string]struct {
		pieces []Piece
		want   string
	}{
		"kinds":    {many, "there are 2001 pieces, and at most 2000 are set together: split the list"},
		"quantity": {[]Piece{{"a", 30, 30, 10_000_001}}, `piece "a": 10000001 are wanted, and at most 10000000 are set: split the order`},
		"tiny":     {[]Piece{{"a", 1, 1, 10_000_000}}, "more than 5000 of these pieces may go on one sheet of A4, and at most 5000 are set: give many small ones as one piece, or take a smaller sheet"},
	} {
		for _, set := range []func([]Piece) (Gang, error){r.Share, r.OneLayout} {
			if _, err := set(c.pieces); err == nil || err.Error() != c.want {
				t.Errorf("%s: %v, want %s", name, err, c.want)
			}
		}
	}
}

func BenchmarkShare(b *testing.B) {
	pieces := cut(rand.New(rand.NewPCG(2, 7)), 300, 420, 3, 12)
	r := Room{Sheet: unit.Sheet{WidthMM: 300, HeightMM: 420}}
	for b.Loop() {
		if _, err := r.Share(pieces); err != nil {
			b.Fatal(err)
		}
	}
}

func ExampleRoom_Share() {
	r := Room{Sheet: unit.Sheet{Name: "A4", WidthMM: 210, HeightMM: 297}, MarginMM: 5, GapMM: 2}
	g, _ := r.Share([]Piece{{"badge", 80, 80, 12}, {"label", 60, 25, 30}})
	for _, l := range g.Layouts {
		fmt.Printf("%d prints of %d pieces, %.0f %% filled\n", l.Prints, len(l.Places), l.FillPercent)
	}
	// Output: 3 prints of 14 pieces, 71 % filled
}
