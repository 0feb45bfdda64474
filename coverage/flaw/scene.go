package flaw

import (
	"maps"
	"slices"
	"sync"

	"laydown/colour/cores"
	"laydown/coverage/artwork"
	"laydown/coverage/background"
	"laydown/coverage/palette"
	"laydown/coverage/plate"
)

// scene is a subject with what several checks need of it. That is worked out when it
// is first asked for, once, and nobody changes it afterwards: checks may run in any
// order, each alone or all at once, and find the same. What a check fills in on the
// way is its own.
type scene struct {
	Subject
	presence func() []uint8            // how much of each pixel holds art, 0–255
	ground   func() *background.Ground // what the art stands on, nil if that is nothing flat
	past     func() past               // what was done to the art before it came
	view     func() *view              // the art as shapes are measured in it
}

func newScene(subject Subject) *scene {
	s := &scene{Subject: subject}
	s.presence = sync.OnceValue(func() []uint8 { return presenceOf(s.Art, s.Plates) })
	s.ground = sync.OnceValue(func() *background.Ground {
		if s.Design == nil {
			return nil
		}
		return background.Find(s.Art, s.Design)
	})
	s.past = sync.OnceValue(func() past { return pastOf(s.Art, s.presence) })
	s.view = sync.OnceValue(func() *view { return newView(s) })
	return s
}

// paper is the tone value that still counts as bare in art without
// transparency: the noise of a compressed white background.
const paper = 24

// presenceOf is how much of each pixel holds art, 0–255: alpha where the art has
// transparency, else the strongest toner against bare paper.
func presenceOf(art *artwork.Art, plates *plate.Plates) []uint8 {
	w, h := art.Width, art.Height
	p := make([]uint8, w*h)
	cores.Share(h, func(lo, hi int) {
		for y := lo; y < hi; y++ {
			row := p[y*w : (y+1)*w]
			if art.HasAlpha {
				art.Alpha(y, row)
				continue
			}
			strongest(plates, y, row)
			for x, v := range row {
				row[x] = uint8(max(0, int(v)-paper) * 255 / (255 - paper))
			}
		}
	})
	return p
}

// strongest sets row to the strongest colour toner of each pixel of row y.
func strongest(p *plate.Plates, y int, row []uint8) {
	clear(row)
	for k := plate.Cyan; k <= plate.Black; k++ {
		for x, v := range p.Plane[k][y*p.Width : (y+1)*p.Width] {
			row[x] = max(row[x], v)
		}
	}
}

// lossy reports whether the art was compressed with loss, now or before it was saved as it
// is, whose noise around edges is no flaw of the drawing.
func (s *scene) lossy() bool {
	if s.Art.Format == "JPEG" {
		return true
	}
	before := s.past()
	return before.compressed()
}

// colours are the art's colours, or nil if a glance says that it is no flat design.
func (s *scene) colours() []palette.Colour {
	share := map[artwork.Device]float64{}
	total := 0.0
	for _, c := range palette.Sample(s.Art, enoughPixels/20) {
		share[palette.Bucket(c.Device)] += c.Pixels
		total += c.Pixels
	}
	top, sum := slices.Sorted(maps.Values(share)), 0.0
	for _, n := range top[max(0, len(top)-2*mostFlat):] {
		sum += n
	}
	if 2*sum < total { // flat colours take three quarters of a flat design
		return nil
	}
	return palette.Sample(s.Art, enoughPixels)
}

// mostFlat is how many colours a flat design has at most.
const mostFlat = 10

// enoughPixels tells a flat design's colours.
const enoughPixels = 3_000_000

// name is what people call a colour of the art.
func (s *scene) name(device artwork.Device) string {
	if s.ColourName != nil {
		return s.ColourName(device)
	}
	return s.Design(device.Fractions()).Hex()
}
