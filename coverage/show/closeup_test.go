package show

import (
	"image"
	"image/color"
	"laydown/colour/reference"
	"math"
	"testing"

	"laydown/coverage/artwork"
	"laydown/coverage/flaw"
	"laydown/coverage/order/ordertest"
	"laydown/coverage/proof"
)

// TestCloseUpShowsThePlace puts red squares where boxes are, and looks for them in the
// close-ups, within the brackets and nowhere else.
func TestCloseUpShowsThePlace(t *testing.T) {
	reference.Long(t)
	const mm = 0.1 // a pixel
	paper, red := color.NRGBA{240, 240, 230, 255}, color.NRGBA{200, 20, 30, 255}
	dots := []flaw.Box{{XMM: 0, YMM: 0, WidthMM: .3, HeightMM: .3}, {XMM: 39.7, YMM: 29.8, WidthMM: .3, HeightMM: .2}, {XMM: 20, YMM: 10, WidthMM: .4, HeightMM: .8}}
	img := image.NewNRGBA(image.Rect(0, 0, 400, 300))
	for i := range 400 * 300 {
		img.SetNRGBA(i%400, i/400, paper)
	}
	paint := func(b flaw.Box) {
		for y := math.Round(b.YMM / mm); y < math.Round((b.YMM+b.HeightMM)/mm); y++ {
			for x := math.Round(b.XMM / mm); x < math.Round((b.XMM+b.WidthMM)/mm); x++ {
				img.SetNRGBA(int(x), int(y), red)
			}
		}
	}
	for _, b := range dots {
		paint(b)
	}
	o := ordertest.Draw(t, img)
	o.Wish = artwork.Wish{WidthMM: 40}
	p, err := proof.Make(o, 0)
	if err != nil {
		t.Fatal(err)
	}
	d, err := newDesigned(p.Laid)
	if err != nil {
		t.Fatal(err)
	}
	many := make([]flaw.Box, 100)
	for i := range many {
		many[i] = flaw.Box{XMM: float64(i) / 3, YMM: 20, WidthMM: .1, HeightMM: .1}
	}
	p.Findings = []flaw.Finding{
		{Kind: flaw.Speck, Severity: flaw.Look, Measured: 0.25, Limit: 0.3, Unit: "mm", Boxes: dots},
		{Kind: flaw.BackgroundBox, Severity: flaw.Stop, Unit: "% of the print", Boxes: []flaw.Box{{WidthMM: 40, HeightMM: 30}}},
		{Kind: flaw.FineLine, Severity: flaw.Stop, Measured: 0.1, Limit: 0.4, Unit: "mm", Boxes: []flaw.Box{{XMM: 10, YMM: 0.1, WidthMM: 8, HeightMM: 8}}},
		{Kind: flaw.NarrowGap, Severity: flaw.Look, Measured: 0.1, Limit: 0.2, Unit: "mm", Boxes: many},
	}
	places := placesOf(p.Findings)
	const perMM = 10
	got := closeUps(d, p, places, 150, perMM)
	if len(got) != 3+1+5 {
		t.Fatalf("%d close-ups", len(got))
	}
	for i, c := range got {
		q := places[c.place]
		if q.tag == "" || q.finding == 1 || c.sideMM != 3.75 || math.Abs(c.times-4) > 0.01 {
			t.Errorf("close-up %d is of %+v, %.2f mm at × %.2f", i, q, c.sideMM, c.times)
		}
		if (c.said == amountOnly(p.Findings[q.finding])) != c.worst || c.worst != (q.tag[len(q.tag)-1] == 'a' || q.finding == 2) {
			t.Errorf("close-up %s says %q", q.tag, c.said)
		}
		if q.finding != 0 {
			continue
		}
		inside, outside := 0, 0
		for y := range c.art.Rect.Dy() {
			for x := range c.art.Rect.Dx() {
				if v := c.art.NRGBAAt(x, y); v.G > 120 {
					continue
				}
				at := [2]float64{c.artBox.XMM + (float64(x)+.5)*mm, c.artBox.YMM + (float64(y)+.5)*mm}
				if at[0] > c.box.XMM && at[0] < c.box.XMM+c.box.WidthMM && at[1] > c.box.YMM && at[1] < c.box.YMM+c.box.HeightMM {
					inside++
				} else {
					outside++
				}
			}
		}
		if want := int(math.Round(q.box.WidthMM / mm * q.box.HeightMM / mm)); inside != want || outside != 0 {
			t.Errorf("close-up %s has %d of %d pixels within the brackets and %d without", q.tag, inside, want, outside)
		}
		if c.box.XMM < -1e-9 || c.box.YMM < -1e-9 || c.box.XMM+c.box.WidthMM > c.sideMM+1e-9 || c.box.YMM+c.box.HeightMM > c.sideMM+1e-9 {
			t.Errorf("close-up %s has its place at %+v of %.2f mm", q.tag, c.box, c.sideMM)
		}
	}
	if got := closeUps(d, p, places, 150, 60); len(got) != 0 {
		t.Errorf("%d close-ups of a picture that is as large", len(got))
	}
}

// amountOnly is what a close-up says of what was measured.
func amountOnly(f flaw.Finding) string {
	return map[flaw.Kind]string{flaw.Speck: "0.25 mm", flaw.FineLine: "0.10 mm", flaw.NarrowGap: "0.10 mm"}[f.Kind]
}
