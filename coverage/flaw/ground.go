package flaw

import (
	"fmt"

	"laydown/colour/cores"
	"laydown/coverage/background"
	"laydown/coverage/plate"
)

// backgroundBox looks for a flat ground that would print, or get white under it,
// as a rectangle.
func backgroundBox(s *scene) ([]*Finding, error) {
	g := s.ground()
	if g == nil {
		return nil, nil
	}
	pale := g.Colour.L > 85 && g.Colour.Chroma() < 12
	if s.Art.HasAlpha && !pale {
		return nil, nil // who cut the art out meant the box that is left
	}
	if !s.groundPrints(g) {
		return nil, nil // pale parts of the art that touch it may print
	}
	w, h := s.Art.Width, s.Art.Height
	const rows = 64
	parts := make([][plate.Count + 1]uint64, (h+rows-1)/rows) // sums of tone values, and how many pixels print
	cores.Share(len(parts), func(lo, hi int) {
		for b := lo; b < hi; b++ {
			for i := b * rows * w; i < min((b+1)*rows, h)*w; i++ {
				if g.Where[i] != background.Edge {
					continue
				}
				most := uint8(0)
				for k := range plate.Count {
					parts[b][k] += uint64(s.Plates.Plane[k][i])
					most = max(most, s.Plates.Plane[k][i])
				}
				if most >= printing {
					parts[b][plate.Count]++
				}
			}
		}
	})
	var sum [plate.Count]uint64
	prints := 0
	for _, p := range parts {
		for k, v := range p[:plate.Count] {
			sum[k] += v
		}
		prints += int(p[plate.Count])
	}
	if prints*2 < g.Pixels {
		return nil, nil // what is on it is noise of compression around the art
	}
	mean := func(k int) float64 { return float64(sum[k]) / 2.55 / float64(g.Pixels) } // percent over the ground
	toner := mean(plate.Cyan) + mean(plate.Magenta) + mean(plate.Yellow) + mean(plate.Black)
	white := mean(plate.White)
	if toner < leastGround && white < leastGround {
		return nil, nil // prints nothing
	}
	r := newRegions(s)
	for i, v := range g.Where {
		if v == background.Edge {
			r.mark(i%w, i/w)
		}
	}
	share := float64(g.Pixels) / float64(w*h) * 100
	f := &Finding{Kind: BackgroundBox, Severity: Look, Measured: share, Unit: "% of the print"}
	f.Boxes, f.Places = r.boxes()
	name := "colour " + s.name(g.Device)
	if pale {
		name = "white or nearly white (" + s.name(g.Device) + ")"
		f.Severity = Stop
	}
	f.Advice = fmt.Sprintf("The art stands on a ground of %s that takes %.1f %% of the print and prints as a box: %.1f %% toner and %.1f %% white on it",
		name, share, toner, white)
	if s.TonerCost != nil {
		if cost := s.TonerCost(sum); cost != "" {
			f.Advice += ", " + cost + " a print"
		}
	}
	f.Advice += ". If it is not meant, cut the art out, or drop the background; holes in the art stay filled unless they are dropped too."
	return []*Finding{f}, nil
}

// groundPrints reports whether a ground's own colour lays down toner anywhere: the choke
// keeps white back from its rim.
func (s *scene) groundPrints(g *background.Ground) bool {
	for i, v := range g.Where {
		if v != background.Edge || s.Art.Device(i) != g.Device {
			continue
		}
		for k := range plate.Count {
			if s.Plates.Plane[k][i] >= printing {
				return true
			}
		}
	}
	return false
}

// printing is the tone value, of 255, from which a pixel of a ground is more than noise
// of compression.
const printing = 8

// leastGround is the mean tone value in percent from which a ground shows.
const leastGround = 0.3
