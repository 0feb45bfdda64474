package flaw

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"laydown/colour"
	"laydown/coverage/artwork"
	"laydown/coverage/plate"
)

// gamutSamples is about how many pixels are compared with their print.
const gamutSamples = 60_000

// outOfGamut compares the design with its print, as brand colours are compared, over an
// even grid of the pixels that are at least half solid.
func outOfGamut(s *scene) ([]*Finding, error) {
	if s.Design == nil || s.Printed == nil || s.Limits.GamutDeltaE <= 0 {
		return nil, nil
	}
	missed := s.Missed
	if missed == nil {
		missed = func(meant colour.Lab, tones [4]float64) float64 { return colour.DeltaE00(meant, s.Printed(tones)) }
	}
	type off struct {
		d      float64
		n      int
		want   colour.Lab
		device artwork.Device
	}
	art, w, h := s.Art, s.Art.Width, s.Art.Height
	step := max(1, int(math.Sqrt(float64(w)*float64(h)/gamutSamples)))
	known := map[artwork.Device]*off{}
	r := newRegions(s)
	total, beyond, near := 0, 0, 0
	for y := step / 2; y < h; y += step {
		for x := step / 2; x < w; x += step {
			i := y*w + x
			alpha := art.AlphaAt(i)
			if alpha < 128 {
				continue
			}
			total++
			device := art.Device(i)
			c := known[device]
			if c == nil {
				var tones [4]float64
				for k := range plate.White {
					tones[k] = math.Min(1, float64(s.Plates.Plane[k][i])/float64(alpha)) // plates are scaled by alpha
				}
				want := s.Design(device.Fractions())
				c = &off{d: missed(want, tones), want: want, device: device}
				known[device] = c
			}
			c.n++
			if s.Limits.GamutNearDeltaE > 0 && c.d > s.Limits.GamutNearDeltaE {
				near++
			}
			if c.d > s.Limits.GamutDeltaE {
				beyond++
				r.add(x, y, c.d)
			}
		}
	}
	if total == 0 || float64(beyond) < 0.001*float64(total) {
		return nil, nil
	}
	var list []*off
	for _, c := range known {
		if c.d > s.Limits.GamutDeltaE {
			list = append(list, c)
		}
	}
	// Those that weigh the most: far off, and much of them.
	weight := func(c *off) float64 { return c.d * math.Sqrt(float64(c.n)) }
	slices.SortFunc(list, func(a, b *off) int {
		switch d := weight(b) - weight(a); {
		case d < 0:
			return -1
		case d > 0:
			return 1
		}
		return slices.Compare(a.device[:], b.device[:])
	})
	var worst []*off
	for _, c := range list {
		if !slices.ContainsFunc(worst, func(o *off) bool { return colour.DeltaE00(c.want, o.want) < 6 }) {
			if worst = append(worst, c); len(worst) == 3 {
				break
			}
		}
	}
	most, names := 0.0, []string{}
	for _, c := range worst {
		most = math.Max(most, c.d)
		names = append(names, fmt.Sprintf("%s by ΔE00 %.1f", s.name(c.device), c.d))
	}
	share := float64(beyond) / float64(total) * 100
	f := &Finding{Kind: OutOfGamut, Severity: Note, Measured: most, Limit: s.Limits.GamutDeltaE, Unit: "ΔE00"}
	if share >= 1 {
		f.Severity = Look
	}
	f.Boxes, f.Places = r.boxes()
	also := ""
	if near > beyond {
		also = fmt.Sprintf(" (%.1f %% by more than ΔE00 %.1f)", float64(near)/float64(total)*100, s.Limits.GamutNearDeltaE)
	}
	f.Advice = fmt.Sprintf("%.1f %% of the art%s has colours that this print does not reach, worst: %s. They print duller than they look on a screen: tell the customer, or choose colours within reach.",
		share, also, strings.Join(names, ", "))
	return []*Finding{f}, nil
}
