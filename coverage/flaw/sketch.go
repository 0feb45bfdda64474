package flaw

import (
	"math"

	"laydown/colour/cores"
	"laydown/coverage/artwork"
	"laydown/coverage/unit"
)

// sketch is the art at the resolution at which shapes are measured: its own, or if
// that is very fine a whole fraction of it, for widths are told to a fraction of a
// pixel anyway.
type sketch struct {
	w, h     int
	scale    int // pixels of the art along one of the sketch
	pixelMM  float64
	art      *artwork.Art
	presence []uint8  // how much of each pixel holds art, 0–255
	flat     *flatMap // nil if the art is no flat design

	plane []uint8  // for passing use
	mark  []uint16 // likewise; all 0 between uses
}

// sketchPPI is a resolution that shapes need at most.
const sketchPPI = 300

func newSketch(s *scene) *sketch {
	k := max(1, int(unit.MMPerInch/s.PixelMM/sketchPPI*1.001))
	if s.Art.Width < 2*k || s.Art.Height < 2*k {
		k = 1
	}
	d := &sketch{w: s.Art.Width / k, h: s.Art.Height / k, scale: k, pixelMM: s.PixelMM * float64(k), art: s.Art, presence: s.presence}
	if k > 1 {
		d.reduce(s)
	}
	d.flat = newFlatMap(s, d)
	return d
}

// reduce makes each pixel the mean of those that it stands for, by their alpha.
func (d *sketch) reduce(s *scene) {
	n, bytes, k := s.Art.Space.Channels(), s.Art.Depth/8, d.scale
	art := *s.Art
	art.Width, art.Height, art.Depth, art.Step = d.w, d.h, 8, n
	art.Pix = make([]uint8, d.w*d.h*n)
	d.presence = make([]uint8, d.w*d.h)
	cores.Share(d.h, func(lo, hi int) {
		for y := lo; y < hi; y++ {
			for x := range d.w {
				var sum [4]int
				weight, there := 0, 0
				for v := y * k; v < (y+1)*k; v++ {
					for u := x * k; u < (x+1)*k; u++ {
						i := v*s.Art.Width + u
						there += int(s.presence[i])
						a := 255
						if s.Art.AlphaAt >= 0 {
							a = int(s.presence[i])
						}
						weight += a
						for c := range n {
							sum[c] += a * int(s.Art.Pix[(i*s.Art.Step+c)*bytes])
						}
					}
				}
				o := y*d.w + x
				d.presence[o] = uint8((there + k*k/2) / (k * k))
				for c := range n {
					if weight > 0 {
						art.Pix[o*n+c] = uint8((sum[c] + weight/2) / weight)
					}
				}
			}
		}
	})
	d.art = &art
}

// at is where in the art the middle of a pixel of the sketch lies.
func (d *sketch) at(i int) (x, y int) {
	return i%d.w*d.scale + d.scale/2, i/d.w*d.scale + d.scale/2
}

// shapes reports whether the art has an inside and an outside: without
// transparency only flat designs and what stands on a bare ground have.
func (d *sketch) shapes(s *scene) bool {
	if s.Art.AlphaAt >= 0 || d.flat != nil {
		return true
	}
	bare := 0
	for _, v := range d.presence {
		if v == 0 {
			bare++
		}
	}
	return bare*leastBare > len(d.presence)
}

// leastBare is the part of the print, 1 in so many, that is bare in art on a
// white ground.
const leastBare = 6

// lossy reports whether the art was compressed with loss, whose noise around edges is
// no flaw of the drawing.
func (d *sketch) lossy() bool { return d.art.Format == "JPEG" }

// passing is the plane for passing use, with whatever was in it.
func (d *sketch) passing() []uint8 {
	if d.plane == nil {
		d.plane = make([]uint8, d.w*d.h)
	}
	return d.plane
}

// inverse is what the art leaves open.
func (d *sketch) inverse() []uint8 {
	p := d.passing()
	for i, v := range d.presence {
		p[i] = 255 - v
	}
	return p
}

// colour is how much of each pixel shows one of the flat colours.
func (d *sketch) colour(c int) []uint8 {
	p := d.passing()
	d.flat.plane(c, d.presence, p)
	return p
}

// pixels is a length in pixels of the sketch.
func (d *sketch) pixels(mm float64) float64 { return mm / d.pixelMM }

// dotPX is the area in pixels of a round dot.
func (d *sketch) dotPX(diameterMM float64) float64 {
	return math.Pi / 4 * d.pixels(diameterMM) * d.pixels(diameterMM)
}
