package flaw

import (
	"fmt"
	"math"

	"laydown/coverage/distance"
	"laydown/coverage/plate"
)

// fadeOut looks for parts that are neither clear nor solid over more than the
// edge of a shape: glows, shadows and tints by transparency. Under a white rule
// each of them gets a screen of white dots that shows as a pale rim; without
// one it is a tint that may not hold.
func fadeOut(s Subject) (*Finding, error) {
	if s.Art.AlphaAt < 0 {
		return nil, nil
	}
	w, h := s.Art.Width, s.Art.Height
	part := make([]uint8, w*h) // 255 where half clear
	const clear, solid = 8, 247
	n := 0
	for y := range h {
		row := part[y*w : (y+1)*w]
		s.Art.Alpha(y, row)
		for x, a := range row {
			row[x] = 0
			if a > clear && a < solid {
				row[x] = 255
				n++
			}
		}
	}
	if n == 0 {
		return nil, nil
	}
	// A band is as wide as twice the distance from its middle to its edge. An
	// antialiased edge is up to two pixels wide whatever the resolution.
	least := math.Max(s.Limits.FadeWidthMM/s.PixelMM, 2.5)
	reach := min(int(math.Ceil(least/2))+1, distance.MaxReach)
	d, err := distance.Squared(distance.Mask{Pix: part, Width: w, Height: h, Threshold: 255}, reach)
	if err != nil {
		return nil, err
	}
	deep := uint16(math.Ceil(math.Pow((least+1)/2, 2)))
	r := newRegions(s)
	wide := 0
	for i, v := range d {
		if v >= deep {
			wide++
			r.mark(i%w, i/w)
		}
	}
	if wide == 0 {
		return nil, nil
	}
	// The share counts whole bands, not only their middles.
	share := float64(n) / float64(w*h) * 100
	f := &Finding{Kind: FadeOut, Severity: Look, Measured: share, Unit: "% of the print"}
	f.Boxes, f.Places = r.boxes()
	f.Advice = fmt.Sprintf("Half-clear parts (a glow, shadow or fade) take %.2f %% of the print. ", share)
	switch {
	case s.White != plate.NoWhite && s.HardWhite:
		f.Advice += "White stops at a hard edge inside them: beyond it their colour is lost on a dark item, within it they look " +
			"paler than designed. End the art in a hard edge of its own, or approve a sample."
	case s.White != plate.NoWhite:
		f.Severity = Stop
		f.Advice += "White toner is laid under them as a screen of dots and shows as a pale rim: end the art in a hard edge, " +
			"or fade it to a solid colour of the item."
	default:
		f.Advice += "Without white they print as light tints that may not hold: end the art in a hard edge or make the tint solid."
	}
	return f, nil
}
