package flaw

import (
	"fmt"
	"image"
	"image/color"
	"math"
	"testing"

	"laydown/colour/icc"
	"laydown/colour/reference"
	"laydown/coverage/artwork"
	"laydown/coverage/plate"
)

// inCMYK makes of a drawing, black by its alpha, CMYK art of black alone on bare
// ground, and plates on which black has as much of the other toners as told.
func inCMYK(img *image.NRGBA, dpi float64, other uint8) Subject {
	w, h := img.Rect.Dx(), img.Rect.Dy()
	art, p := artwork.NewDraft(artwork.Info{File: "drawn.tif", Width: w, Height: h, Space: icc.CMYK, Depth: 8, StatesSRGB: true}), plate.New(w, h)
	for i := range w * h {
		c := img.NRGBAAt(i%w, i/w)
		art.Set(i, artwork.Device{3: c.A}, 255)
		p.Plane[plate.Black][i] = c.A
		for k := plate.Cyan; k <= plate.Yellow; k++ {
			p.Plane[k][i] = uint8(int(c.A) * int(other) / 255)
		}
	}
	limits := all
	limits.SmallestLineMM, limits.SmallestGapMM, limits.SmallestTextMM, limits.TACPercent = 0.1, 0.1, 0.1, 400
	return Subject{Art: art.Art(), Plates: p, PixelMM: 25.4 / dpi, White: plate.NoWhite, Limits: limits}
}

// TestRichBlackText draws black of known widths: fine black that gets other toners is
// found at its width, and neither what is thick nor what stays black alone.
func TestRichBlackText(t *testing.T) {
	black := color.NRGBA{0, 0, 0, 255}
	for _, dpi := range reference.Sweep(t, []float64{150, 300, 600}, func(dpi float64) bool { return dpi < 600 }) {
		for _, deg := range reference.Sweep(t, []float64{0, 33, 90}, func(deg float64) bool { return deg == 33 }) {
			for _, width := range []float64{0.4, 0.7, 1.4, 4} {
				img := paint(20, 20, dpi, func(x, y float64) color.NRGBA {
					u, v := turned(x-0.013, y+0.021, deg)
					if math.Abs(u) < width/2 && math.Abs(v) < 8 {
						return black
					}
					return clear0
				})
				name := fmt.Sprintf("%g mm at %g°, %g dpi", width, deg, dpi)
				f, ok := kinds(t, inCMYK(img, dpi, 150))[RichBlackText]
				if ok != (width < fineBlackMM) {
					t.Errorf("%s: found %v %+v", name, ok, f)
				}
				if ok && math.Abs(f.Measured-width) > 1.5*25.4/dpi { // edges count whole or not at all
					t.Errorf("%s: measured %.3f mm", name, f.Measured)
				}
				if f, ok := kinds(t, inCMYK(img, dpi, 0))[RichBlackText]; ok {
					t.Errorf("%s, black alone: %+v", name, f)
				}
			}
		}
	}
	lettered := paint(40, 12, 300, func(x, y float64) color.NRGBA { return clear0 })
	words(t, lettered, 300, 1.5, "hand printed in june", black)
	s := inCMYK(lettered, 300, 150)
	f, ok := kinds(t, s)[RichBlackText]
	if !ok || f.Severity != Look || len(f.Boxes) != 1 || f.Boxes[0].WidthMM < 10 {
		t.Errorf("lettering: %+v", f)
	}
	t.Log(f.Advice)
	// RGB art has no black alone.
	if f, ok := kinds(t, scan(t, lettered, 300, plate.WhiteOptions{Rule: plate.NoWhite}))[RichBlackText]; ok {
		t.Errorf("in RGB: %+v", f)
	}
}
