package show

import (
	"image"
	"math/rand/v2"
	"slices"
	"testing"

	"laydown/coverage/flaw"
)

func TestDeal(t *testing.T) {
	for _, c := range []struct {
		want        []int
		total, each int
		got         []int
	}{
		{nil, 5, 5, []int{}},
		{[]int{0, 3}, 16, 5, []int{0, 3}},
		{[]int{100, 1, 100}, 16, 5, []int{5, 1, 5}},
		{[]int{100, 100, 2, 0, 100}, 10, 5, []int{3, 3, 2, 0, 2}},
		{[]int{9, 9, 9}, 2, 5, []int{1, 1, 0}},
	} {
		if got := deal(c.want, c.total, c.each); !slices.Equal(got, c.got) {
			t.Errorf("deal(%v, %d, %d) = %v, want %v", c.want, c.total, c.each, got, c.got)
		}
	}
}

// TestPlacesAreNumbered has the worst places of every finding numbered, and the rest
// counted.
func TestPlacesAreNumbered(t *testing.T) {
	boxes := func(n int) (out []flaw.Box) {
		for i := range n {
			out = append(out, flaw.Box{XMM: float64(i), WidthMM: 1, HeightMM: 1})
		}
		return out
	}
	found := []flaw.Finding{
		{Kind: flaw.FineLine, Boxes: boxes(100), Places: 142}, {Kind: flaw.NoProfile}, {Kind: flaw.BackgroundBox, Boxes: boxes(1), Places: 1},
		{Kind: flaw.Speck, Boxes: boxes(2), Places: 2}, {Kind: flaw.SmallText, Boxes: boxes(3), Places: 3}, {Kind: flaw.FadeOut, Boxes: boxes(1), Places: 4},
	}
	all := placesOf(found)
	if len(all) != 107 || all[0].tag != "1a" || all[4].tag != "1e" || all[5].tag != "" || all[100].tag != "3" || all[102].tag != "4b" {
		t.Fatalf("%d places, the first %+v", len(all), all[:6])
	}
	for i, want := range []string{"1a to 1e and 137 more", "", "", "4a and 4b", "5a to 5c", "6 and 3 more"} {
		if got := whereSaid(all, i, found[i]); got != want {
			t.Errorf("finding %d: %q, want %q", i+1, got, want)
		}
	}
}

// TestLabelsKeepOff sets labels for boxes of many kinds: all keep within the canvas and off
// one another and, where there is room, off every box that is not a ground.
func TestLabelsKeepOff(t *testing.T) {
	canvas := image.Rect(0, 0, 1000, 800)
	scatter := func(seed uint64, n, most int, in image.Rectangle) (out []image.Rectangle) {
		r := rand.New(rand.NewPCG(seed, 12))
		for range n {
			x, y := in.Min.X+r.IntN(in.Dx()), in.Min.Y+r.IntN(in.Dy())
			out = append(out, image.Rect(x, y, x+9+r.IntN(most), y+9+r.IntN(most)).Intersect(in))
		}
		return out
	}
	art := canvas.Inset(50)
	tiles := func(in image.Rectangle, pitch int) (out []image.Rectangle) {
		for y := in.Min.Y; y < in.Max.Y; y += pitch {
			for x := in.Min.X; x < in.Max.X; x += pitch {
				out = append(out, image.Rect(x, y, x+pitch-1, y+pitch-1).Intersect(in))
			}
		}
		return out
	}
	for name, c := range map[string]struct {
		boxes []image.Rectangle
		full  bool // no room off the boxes
	}{
		"none":         {},
		"one":          {boxes: []image.Rectangle{image.Rect(500, 400, 509, 409)}},
		"whole art":    {boxes: []image.Rectangle{art}},
		"corners":      {boxes: []image.Rectangle{{art.Min, art.Min.Add(image.Pt(9, 9))}, {art.Max.Sub(image.Pt(9, 9)), art.Max}, image.Rect(941, 50, 950, 59), image.Rect(50, 741, 59, 750)}},
		"same":         {boxes: slices.Repeat([]image.Rectangle{image.Rect(300, 300, 320, 330)}, 16)},
		"nested":       {boxes: []image.Rectangle{art, image.Rect(100, 100, 500, 500), image.Rect(200, 200, 400, 400), image.Rect(290, 290, 310, 310)}},
		"scattered":    {boxes: scatter(1, 120, 30, art)},
		"cluster":      {boxes: scatter(2, 100, 20, image.Rect(400, 300, 560, 400))},
		"on a ground":  {boxes: append([]image.Rectangle{art}, scatter(3, 60, 60, art)...)},
		"crowded art":  {boxes: tiles(art, 26)},
		"crowded rim":  {boxes: slices.DeleteFunc(tiles(canvas, 26), func(r image.Rectangle) bool { return r.In(image.Rect(300, 300, 700, 600)) })},
		"no room":      {boxes: tiles(canvas, 26), full: true},
		"long and low": {boxes: scatter(4, 20, 9, image.Rect(60, 395, 940, 405))},
	} {
		var sizes []image.Point
		var own []int
		for i := range c.boxes[:min(len(c.boxes), mostNumbers)] {
			sizes, own = append(sizes, image.Pt(26+9*(i%3), 28)), append(own, i*len(c.boxes)/min(len(c.boxes), mostNumbers))
		}
		got := setLabels(canvas, c.boxes, sizes, own)
		if again := setLabels(canvas, c.boxes, sizes, own); !slices.Equal(got, again) {
			t.Errorf("%s: another run sets other labels", name)
		}
		if len(got) != len(own) {
			t.Errorf("%s: %d labels for %d boxes", name, len(got), len(own))
		}
		for i, l := range got {
			if l.place != own[i] || l.box.Size() != sizes[i] || !l.box.In(canvas) {
				t.Errorf("%s: label %d is %+v", name, i, l)
			}
			if b := c.boxes[own[i]]; !l.to.In(image.Rectangle{b.Min, b.Max.Add(image.Pt(1, 1))}) || !l.from.In(image.Rectangle{l.box.Min, l.box.Max.Add(image.Pt(1, 1))}) {
				t.Errorf("%s: leader %v to %v does not join %v and %v", name, l.from, l.to, l.box, b)
			}
			for k, o := range got[:i] {
				if o.box.Overlaps(l.box) {
					t.Errorf("%s: labels %d and %d overlap", name, k, i)
				}
			}
			for k, b := range c.boxes {
				if k != own[i] && b.Dx()*b.Dy() > canvas.Dx()*canvas.Dy()/groundPart {
					continue
				}
				if b.Overlaps(l.box) && !c.full {
					t.Errorf("%s: label %d at %v hides box %d at %v", name, i, l.box, k, b)
				}
			}
		}
	}
}

// TestLeaderGeometry looks at lines that cross, touch and miss.
func TestLeaderGeometry(t *testing.T) {
	r := image.Rect(10, 10, 30, 20)
	for _, c := range []struct {
		a, b image.Point
		want bool
	}{
		{image.Pt(0, 15), image.Pt(40, 15), true}, {image.Pt(0, 0), image.Pt(40, 30), true}, {image.Pt(15, 12), image.Pt(16, 13), true},
		{image.Pt(0, 15), image.Pt(5, 15), false}, {image.Pt(0, 12), image.Pt(12, 0), false}, {image.Pt(0, 25), image.Pt(40, 25), false},
	} {
		if got := crosses(r, c.a, c.b); got != c.want {
			t.Errorf("%v to %v crosses %v: %v", c.a, c.b, r, got)
		}
	}
	if !meet(image.Pt(0, 0), image.Pt(9, 9), image.Pt(0, 9), image.Pt(9, 0)) || meet(image.Pt(0, 0), image.Pt(9, 9), image.Pt(0, 1), image.Pt(9, 10)) {
		t.Error("lines that cross do not meet, or parallel ones do")
	}
	if from, to := between(image.Rect(0, 0, 10, 10), image.Rect(20, 4, 30, 8)); from != image.Pt(10, 6) || to != image.Pt(20, 6) {
		t.Errorf("between: %v to %v", from, to)
	}
}

// TestChartHoldsPlaces sets places at the art's rims, of no size and beyond them: outlines are
// round them, and none is smaller than can be seen.
func TestChartHoldsPlaces(t *testing.T) {
	all := placesOf([]flaw.Finding{{Boxes: []flaw.Box{
		{XMM: 0, YMM: 0, WidthMM: 0.1, HeightMM: 0.1}, {XMM: 100, YMM: 50, WidthMM: 0, HeightMM: 0}, {XMM: -5, YMM: -5, WidthMM: 110, HeightMM: 60}, {XMM: 30, YMM: 20, WidthMM: 10, HeightMM: 0.2},
	}}})
	c := newChart(all, 1000, 500, 100, 50, 56, 28, func(string) int { return 30 }, func(place, image.Rectangle) int { return 5 })
	if c.canvas != image.Rect(0, 0, 1112, 612) || c.art != image.Rect(56, 56, 1056, 556) || len(c.labels) != 4 {
		t.Fatalf("%+v", c)
	}
	for i, r := range c.outlines {
		in := r.Inset(5 + placeGap)
		b := all[i].box
		x, y := 56+int(max(b.XMM, 0)*10), 56+int(max(b.YMM, 0)*10)
		if r.Dx() < leastOutline+10 || r.Dy() < leastOutline+10 || !r.In(c.canvas) || in.Min.X > x || in.Min.Y > y || in.Max.X < min(x+int(b.WidthMM*10), 1056) && b.XMM >= 0 {
			t.Errorf("place %d: %v", i, r)
		}
	}
	if c.outlines[2] != c.art.Inset(-placeGap-5) {
		t.Errorf("a place that is larger than the art is drawn at %v", c.outlines[2])
	}
}
