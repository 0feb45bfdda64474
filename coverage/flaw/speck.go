package flaw

import (
	"fmt"
	"math"

	"laydown/coverage/stroke"
)

// specks tells of dots and pinholes that are too small to hold.
func (s *scene) specks(dots []stroke.Dot) *Finding {
	n, holes, least := len(dots), 0, math.Inf(1)
	v := s.view()
	var at places
	for _, d := range dots {
		if d.InkArt < leastArt {
			holes++
		}
		least = math.Min(least, d.SizePX())
		at.add(v.box(float64(d.X0), float64(d.Y0), float64(d.X1+1), float64(d.Y1+1)), d.AreaPX)
	}
	if n == 0 {
		return nil
	}
	mm := least * v.pixelMM
	f := &Finding{Kind: Speck, Severity: Look, Measured: mm, Limit: s.Limits.SmallestDotMM, Unit: "mm"}
	f.Boxes, f.BoxesTotal = at.boxes()
	f.Places = n
	what := counted(n-holes, "speck", "specks")
	switch {
	case holes == n:
		what = counted(holes, "pinhole", "pinholes")
	case holes > 0:
		what += " and " + counted(holes, "pinhole", "pinholes")
	}
	f.Advice = fmt.Sprintf("%s smaller than a dot of %.2f mm, the smallest %.2f mm across: they do not transfer, or fill. Clean up the art, or make them larger.",
		what, f.Limit, mm)
	return f
}

func counted(n int, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return fmt.Sprintf("%d %s", n, many)
}
