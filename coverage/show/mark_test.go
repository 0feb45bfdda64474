package show

import (
	"bytes"
	"image"
	"image/color"
	"image/draw"
	"image/png"
	"testing"

	"laydown/coverage/flaw"
	"laydown/coverage/order/ordertest"
	"laydown/coverage/proof"
)

// TestMarkedPNG looks for the frames where findings have boxes: each in its colour,
// and the legend below growing with what there is to say.
func TestMarkedPNG(t *testing.T) {
	p, err := proof.Make(ordertest.Badge(t), proof.Findings)
	if err != nil {
		t.Fatal(err)
	}
	p.Findings[1].Severity = flaw.Look // so that there are both
	drawn := func() *image.NRGBA {
		b, err := Marked(p)
		if err != nil {
			t.Fatal(err)
		}
		img, err := png.Decode(bytes.NewReader(b))
		if err != nil {
			t.Fatal(err)
		}
		out := image.NewNRGBA(img.Bounds())
		draw.Draw(out, out.Rect, img, img.Bounds().Min, draw.Src)
		return out
	}
	full := drawn()
	has := func(img *image.NRGBA, r image.Rectangle, c color.NRGBA) (n int) {
		for y := r.Min.Y; y < r.Max.Y; y++ {
			for x := r.Min.X; x < r.Max.X; x++ {
				if img.NRGBAAt(x, y) == c {
					n++
				}
			}
		}
		return n
	}
	if p.Findings[0].Severity != flaw.Stop {
		t.Fatalf("the badge has nothing that stops it: %+v", p.Findings)
	}
	art := image.Rect(markMargin, markMargin, markMargin+1000, markMargin+1000) // at its own pixels
	if has(full, art, marks[flaw.Stop].colour) < 500 || has(full, art, marks[flaw.Look].colour) < 200 {
		t.Error("no frames of both colours on the art")
	}
	places := placesOf(p.Findings)
	d, err := newDesigned(p.Laid)
	if err != nil {
		t.Fatal(err)
	}
	near := closeUps(d, p, places, closePX, 1000/p.Print.WidthMM)
	first := image.Rect(markPad, art.Max.Y+markMargin+markPad+markLine, markPad+closePX, art.Max.Y+markMargin+markPad+markLine+closePX)
	if len(near) < 3 || has(full, first.Inset(-2), casing) < 4*closePX || has(full, first.Inset(-1), casing) < 4*closePX {
		t.Errorf("%d close-ups, the first without a frame at %v", len(near), first)
	}
	legend := image.Rect(0, first.Max.Y+3*closeText, 80, full.Rect.Dy())
	if has(full, legend, marks[flaw.Stop].colour) < 300 || has(full, legend, marks[flaw.Look].colour) < 300 {
		t.Error("no badges in the legend")
	}
	for i, f := range p.Findings { // at its least, a label of every one with places
		box := false
		for _, q := range places {
			box = box || q.finding == i && q.tag != ""
		}
		if box != (len(f.Boxes) > 0) {
			t.Errorf("finding %d has %d boxes; a label: %v", i+1, len(f.Boxes), box)
		}
	}
	if again := drawn(); !bytes.Equal(again.Pix, full.Pix) {
		t.Error("another run draws another picture")
	}
	p.Findings = nil
	clean := drawn()
	if clean.Rect.Dy() >= full.Rect.Dy() || has(clean, clean.Rect, marks[flaw.Stop].colour) != 0 {
		t.Error("a clean print has marks")
	}
}
