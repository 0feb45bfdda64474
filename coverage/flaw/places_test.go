package flaw

import (
	"image/color"
	"math"
	"testing"

	"laydown/coverage/plate"
)

// TestPartsOfOutline holds a long bent line to be shown by boxes along it, all of it and
// little else.
func TestPartsOfOutline(t *testing.T) {
	at := func(x, y float64) bool { return math.Abs(math.Hypot(x, 1.5*y)-14) < 0.12 }
	img := paint(32, 24, 300, func(x, y float64) color.NRGBA {
		if at(x, y) {
			return brick
		}
		return clear0
	})
	found, err := Find(scan(t, img, 300, plate.WhiteOptions{Rule: plate.Under, DensityPercent: 100}))
	if err != nil {
		t.Fatal(err)
	}
	for _, f := range found {
		if f.Kind != FineLine {
			continue
		}
		if f.BoxesListed != len(f.Boxes) || f.BoxesTotal < f.BoxesListed {
			t.Errorf("%d boxes, said %d of %d", len(f.Boxes), f.BoxesListed, f.BoxesTotal)
		}
		var parts []Box
		area := 0.0
		tight := map[int]bool{}
		for _, o := range f.Outlines {
			if len(o.Boxes) > mostParts {
				t.Errorf("%d parts", len(o.Boxes))
			}
			parts, tight[o.OfBox] = append(parts, o.Boxes...), true
		}
		for i, b := range f.Boxes {
			if !tight[i] {
				parts = append(parts, b)
			}
		}
		for _, p := range parts {
			area += p.WidthMM * p.HeightMM
		}
		if all := 28 * 28 / 1.5; area > all/3 {
			t.Errorf("%.0f of %.0f mm² in boxes: %+v", area, all, parts)
		}
		for deg := range 72 {
			s, c := math.Sincos(float64(deg) * math.Pi / 36)
			x, y := 16+14*c, 12+14/1.5*s
			in := false
			for _, p := range parts {
				in = in || x > p.XMM-0.2 && x < p.XMM+p.WidthMM+0.2 && y > p.YMM-0.2 && y < p.YMM+p.HeightMM+0.2
			}
			if !in {
				t.Errorf("at %d° nothing", 5*deg)
			}
		}
		return
	}
	t.Errorf("no line: %+v", found)
}

// TestBoxesSaid holds specks, of which one box may hold many, to say how many boxes there
// are, and that only the worst are listed.
func TestBoxesSaid(t *testing.T) {
	img := paint(44, 44, 300, func(x, y float64) color.NRGBA {
		i, j := math.Round(x/4), math.Round(y/4)
		u, v := x-4*i-0.31*math.Sin(7*i+3*j), y-4*j-0.31*math.Cos(5*i-2*j)
		if math.Hypot(u, v) < 0.11 || math.Hypot(u-0.5, v) < 0.11 {
			return brick
		}
		return clear0
	})
	found, err := Find(scan(t, img, 300, plate.WhiteOptions{Rule: plate.Under, DensityPercent: 100}))
	if err != nil {
		t.Fatal(err)
	}
	for _, f := range found {
		if f.Kind == Speck && (f.BoxesListed != maxBoxes || len(f.Boxes) != maxBoxes || f.BoxesTotal <= maxBoxes || f.BoxesTotal >= f.Places) {
			t.Errorf("%d specks, %d boxes of %d", f.Places, f.BoxesListed, f.BoxesTotal)
		}
		if f.Kind == Speck {
			return
		}
	}
	t.Errorf("no specks: %+v", found)
}
