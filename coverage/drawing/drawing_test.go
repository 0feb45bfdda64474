package drawing

import (
	"fmt"
	"math"
	"regexp"
	"strings"
	"testing"
)

// within reports whether a point is inside a polygon (even-odd rule).
func within(poly [][2]float64, x, y float64) bool {
	in := false
	for i, j := 0, len(poly)-1; i < len(poly); j, i = i, i+1 {
		a, b := poly[i], poly[j]
		if (a[1] > y) != (b[1] > y) && x < (b[0]-a[0])*(y-a[1])/(b[1]-a[1])+a[0] {
			in = !in
		}
	}
	return in
}

// TestEveryDrawing: a small print lies on the body at every place, the body within the
// drawing, paths are drawn as SVG has them, and a size of the shop's own stretches all alike.
func TestEveryDrawing(t *testing.T) {
	path := regexp.MustCompile(`^M-?[0-9.e-]+ -?[0-9.e-]+([LC](-?[0-9.e-]+ -?[0-9.e-]+ ?)+)+Z?$`)
	for _, kind := range Kinds() {
		for _, place := range Places(kind) {
			d, err := New(kind, place, 0, 0)
			if err != nil {
				t.Fatal(err)
			}
			body := d.Body.Polygon()
			w := min(40, d.BodyWidthMM/4)
			x, y, wide, high := d.Print(w, w)
			for _, q := range [][2]float64{{x, y}, {x + wide, y}, {x, y + high}, {x + wide, y + high}} {
				if !within(body, q[0], q[1]) {
					t.Errorf("%s, %s: a print of %g mm lies at %v, off the body", kind, place, w, q)
				}
			}
			bares := 0
			for _, p := range d.Parts {
				if !path.MatchString(p.Path.SVG()) {
					t.Errorf("%s: path %s", kind, p.Path.SVG())
				}
				if p.Tone == Bare {
					bares++
				}
				for _, q := range p.Path.Polygon() {
					if q[0] < d.LeftMM-1e-9 || q[0] > d.LeftMM+d.WidthMM+1e-9 || q[1] < d.TopMM-1e-9 || q[1] > d.TopMM+d.HeightMM+1e-9 {
						t.Errorf("%s: %v lies outside of its drawing", kind, q)
					}
				}
			}
			if bares == 0 {
				t.Errorf("%s: nothing has the item's colour", kind)
			}
			twice, err := New(kind, place, 2*d.BodyWidthMM, 3*d.BodyHeightMM)
			if err != nil || math.Abs(twice.WidthMM-2*d.WidthMM) > 1e-6 || math.Abs(twice.HeightMM-3*d.HeightMM) > 1e-6 || d.Behind() != (place == Back) {
				t.Errorf("%s: %g × %g, and stretched %g × %g, %v", kind, d.WidthMM, d.HeightMM, twice.WidthMM, twice.HeightMM, err)
			}
		}
	}
	for _, c := range []struct{ kind, place, want string }{{"sock", "", "choose one of tee, hoodie"}, {Tee, "knee", `a tee has no place "knee": choose one of chest`}} {
		if _, err := New(c.kind, c.place, 0, 0); err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%v, want %q", err, c.want)
		}
	}
	if Places("sock") != nil {
		t.Error("a sock has places")
	}
}

// TestBodySize holds the outlines to the sizes that they state: across the body under the
// arms, and on the flat ones all over.
func TestBodySize(t *testing.T) {
	for _, c := range []struct {
		kind        string
		at          float64 // height that the width is measured at
		least, most float64 // share of the stated width
	}{{Tee, 500, 0.97, 1}, {Hoodie, 640, 0.97, 1}, {Mug, 50, 1, 1}, {Tumbler, 80, 1, 1}, {Card, 27, 1, 1}, {Plate, 75, 1, 1}, {Window, 250, 1, 1}, {Plain, 100, 1, 1}, {Cap, 100, 0.95, 1}, {Skin, 60, 0.97, 1.08}} {
		d, err := New(c.kind, "", 0, 0)
		if err != nil {
			t.Fatal(err)
		}
		poly, half := d.Body.Polygon(), 0.0
		for x := 0.0; x < d.WidthMM; x += 0.05 {
			if !within(poly, x, c.at) {
				half = x // to where the body ends, and no sleeve begins
				break
			}
		}
		if got := 2 * half / d.BodyWidthMM; got < c.least-0.003 || got > c.most+0.003 {
			t.Errorf("%s is %.3f as wide as it says", c.kind, got)
		}
	}
}

// TestPrint: a print is as much of the body's width as it is in truth; on a round one, as
// wide as a cylinder's arc is seen from afar, 2 r sin(w / 2r), and what is seen at each
// place is as far along as that says.
func TestPrint(t *testing.T) {
	flat, err := New(Tee, Back, 0, 0)
	if err != nil {
		t.Fatal(err)
	}
	if x, y, w, h := flat.Print(260, 130); math.Abs(w/flat.BodyWidthMM-0.5) > 1e-9 || h != 130 || x != -130 || y != 120 {
		t.Errorf("260 mm of %g: %g, %g, %g × %g", flat.BodyWidthMM, x, y, w, h)
	}
	mug, err := New(Mug, "", 80, 0)
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct{ print, seen float64 }{{8, 80 * math.Sin(0.1)}, {40, 80 * math.Sin(0.5)}, {40 * math.Pi, 80}, {200, 80}} {
		x, _, w, _ := mug.Print(c.print, 50)
		if math.Abs(w-c.seen) > 1e-9 || math.Abs(x+w/2) > 1e-9 {
			t.Errorf("a print of %.1f mm is seen %.3f mm wide from %.3f, want %.3f", c.print, w, x, c.seen)
		}
		if along := mug.Along(w / 2); math.Abs(along-min(c.print/2, 20*math.Pi)) > 1e-6 {
			t.Errorf("the edge of a print of %.1f mm is %.3f mm along", c.print, along)
		}
	}
	if flat.Along(33) != 33 || mug.Along(99) != mug.Along(40) {
		t.Error("what is flat is seen as it lies, and what is off the body at its edge")
	}
}

func ExampleDrawing_Print() {
	d, err := New(Tee, LeftChest, 0, 0)
	if err != nil {
		panic(err)
	}
	_, _, wide, _ := d.Print(80, 60)
	fmt.Printf("%.1f %% of the width of a %s\n", 100*wide/d.BodyWidthMM, d.Kind)
	// Output: 15.4 % of the width of a tee
}
