package flaw

import (
	"fmt"
	"math"
	"slices"

	"laydown/colour/cores"
	"laydown/colour/icc"
	"laydown/coverage/artwork"
	"laydown/coverage/distance"
	"laydown/coverage/island"
	"laydown/coverage/plate"
)

// fineBlackMM is the stroke below which black of several toners shows that they are
// not quite in register: common practice, no source.
const fineBlackMM = 1

// pureBlackTone is the black, of 255, from which a pixel of the art is black and not
// the edge of something, and otherToner what other toners may have in the art (noise
// of compression) and on the plates (nothing to be seen).
const (
	pureBlackTone = 128
	otherToner    = 5
	seenToner     = 13 // 5 %
)

// leastRichMM2 is how much fine black must be to be worth a word.
const leastRichMM2 = 0.5

// richBlackText looks, in CMYK art, for lettering and lines that are black alone and
// come out of the separation with other toners. Only parts that lie by themselves and
// are thin throughout count, so that a line which runs into a large black is missed.
func richBlackText(s *scene) ([]*Finding, error) {
	if s.Art.Space != icc.CMYK {
		return nil, nil
	}
	w, h := s.Art.Width, s.Art.Height
	mask := make([]uint8, w*h)
	rich := make([]bool, h)
	presence := s.presence()
	cores.Share(h, func(lo, hi int) {
		row := make([]artwork.Device, w)
		for y := lo; y < hi; y++ {
			s.Art.Nearest(y, row)
			for x, d := range row {
				i := y*w + x
				if d[plate.Black] < pureBlackTone || max(d[plate.Cyan], d[plate.Magenta], d[plate.Yellow]) > otherToner || presence[i] < 128 {
					continue
				}
				p := &s.Plates.Plane
				if max(p[plate.Cyan][i], p[plate.Magenta][i], p[plate.Yellow][i]) > seenToner {
					mask[i], rich[y] = 255, true
				}
			}
		}
	})
	some := false
	for _, r := range rich {
		some = some || r
	}
	if !some {
		return nil, nil
	}
	limit := min(fineBlackMM/s.PixelMM, 2*(distance.MaxReach-2)) // pixels
	m := distance.Mask{Pix: mask, Width: w, Height: h, Step: 1, Stride: w, Threshold: 255}
	depth, err := distance.Squared(m, int(limit/2)+2)
	if err != nil {
		return nil, err
	}
	r := newRegions(s)
	least, pixels := math.Inf(1), 0
	var sum [4]int // over the parts' cores, for edges are lighter
	core := 0
	found := island.Find(m, true)
	for _, part := range found.Islands {
		runs := found.Runs(part)
		deep := uint16(0)
		for _, run := range runs {
			for _, d := range depth[int(run.Y)*w+int(run.X0) : int(run.Y)*w+int(run.X1)] {
				deep = max(deep, d)
			}
		}
		// From the middle of a stroke to the first pixel outside is half its width and,
		// as its middle lies on a pixel or between two, half a pixel or none.
		width := 2*math.Sqrt(float64(deep)) - 0.5
		if width >= limit {
			continue
		}
		least, pixels = math.Min(least, width), pixels+part.Pixels
		black := s.Plates.Plane[plate.Black]
		most := uint8(0)
		for _, run := range runs {
			r.add(int(run.X0), int(run.Y), 1/width)
			r.add(int(run.X1)-1, int(run.Y), 1/width)
			most = max(most, slices.Max(black[int(run.Y)*w+int(run.X0):int(run.Y)*w+int(run.X1)]))
		}
		for _, run := range runs {
			for i := int(run.Y)*w + int(run.X0); i < int(run.Y)*w+int(run.X1); i++ {
				if most-black[i] > seenToner {
					continue
				}
				core++
				for k := range sum {
					sum[k] += int(s.Plates.Plane[k][i])
				}
			}
		}
	}
	if float64(pixels)*s.PixelMM*s.PixelMM < leastRichMM2 {
		return nil, nil
	}
	f := &Finding{Kind: RichBlackText, Severity: Look, Measured: least * s.PixelMM, Limit: fineBlackMM, Unit: "mm"}
	f.Boxes, f.Places = r.boxes()
	percent := func(k int) float64 { return float64(sum[k]) / 2.55 / float64(core) }
	f.Advice = fmt.Sprintf("Black lettering and lines as fine as %.2f mm are black alone in the art and would print as about C %.0f M %.0f Y %.0f K %.0f: "+
		"where the toners are a hair out of register their edges show colour and small letters blur. Keep pure black on the black toner, or ask for the art in the printer's own CMYK numbers.",
		f.Measured, percent(plate.Cyan), percent(plate.Magenta), percent(plate.Yellow), percent(plate.Black))
	return []*Finding{f}, nil
}
