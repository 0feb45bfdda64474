package flaw

import (
	"math"

	"laydown/colour/cores"
	"laydown/coverage/artwork"
	"laydown/coverage/unit"
)

// sketch is the art at the resolution at which shapes are measured: its own, or if
// that is very fine a whole fraction of it, for widths are told to a fraction of a
// pixel anyway. It is not changed once it is made.
type sketch struct {
	w, h     int
	scale    int // pixels of the art along one of the sketch
	pixelMM  float64
	art      *artwork.Art // its colours; alpha is in presence
	presence []uint8      // how much of each pixel holds art, 0–255
	flat     *flatMap     // nil if the art is no flat design
	cut      bool         // the art has transparency
	lossy    bool         // and was compressed with loss
}

// sketchPPI is a resolution that shapes need at most.
const sketchPPI = 300

func newSketch(s *scene) *sketch {
	k := max(1, int(unit.MMPerInch/s.PixelMM/sketchPPI*1.001))
	if s.Art.Width < 2*k || s.Art.Height < 2*k {
		k = 1
	}
	d := &sketch{w: s.Art.Width / k, h: s.Art.Height / k, scale: k, pixelMM: s.PixelMM * float64(k), art: s.Art, presence: s.presence(),
		cut: s.Art.HasAlpha, lossy: s.lossy()}
	if k > 1 {
		d.art, d.presence = s.Art.Reduced(k), reduced(s.presence(), s.Art.Width, s.Art.Height, k)
	}
	d.flat = newFlatMap(s, d)
	return d
}

// reduced makes of every k × k pixels of presence one, their mean. What is left over at
// the right and the bottom is let go.
func reduced(presence []uint8, width, height, k int) []uint8 {
	w, h := width/k, height/k
	out := make([]uint8, w*h)
	cores.Share(h, func(lo, hi int) {
		for y := lo; y < hi; y++ {
			for x := range w {
				sum := k * k / 2
				for v := y * k; v < (y+1)*k; v++ {
					for _, p := range presence[v*width+x*k : v*width+(x+1)*k] {
						sum += int(p)
					}
				}
				out[y*w+x] = uint8(sum / (k * k))
			}
		}
	})
	return out
}

// at is where in the art the middle of a pixel of the sketch lies.
func (d *sketch) at(i int) (x, y int) {
	return i%d.w*d.scale + d.scale/2, i/d.w*d.scale + d.scale/2
}

// hasInside reports whether the art has an inside and an outside: without
// transparency only flat designs and what stands on a bare ground have.
func (d *sketch) hasInside() bool {
	if d.cut || d.flat != nil {
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

// pixels is a length in pixels of the sketch.
func (d *sketch) pixels(mm float64) float64 { return mm / d.pixelMM }

// dotPX is the area in pixels of a round dot.
func (d *sketch) dotPX(diameterMM float64) float64 {
	return math.Pi / 4 * d.pixels(diameterMM) * d.pixels(diameterMM)
}
