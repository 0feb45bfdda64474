package flaw

import (
	"laydown/colour"
	"laydown/colour/cores"
	"laydown/colour/icc"
	"laydown/coverage/artwork"
	"laydown/coverage/plate"
	"laydown/coverage/stroke"
)

// bareAround is what lies bare around the art, as it is seen.
func (s *scene) bareAround() colour.Lab {
	switch {
	case s.Look == nil:
		return colour.Lab{L: 100}
	case s.White == plate.All:
		return s.Look([4]float64{}, s.WhitePercent/100)
	case s.OwnWhite:
		return s.Look([4]float64{}, 1)
	}
	return s.Item
}

// view is the art as designed, laid on what is bare around it, at the resolution at
// which shapes are measured.
type view struct {
	stroke.Picture
	bare pixelCodes // what is bare
}

type pixelCodes = [3]uint8

func codesOf(c colour.Lab) pixelCodes {
	v := c.SRGB()
	return pixelCodes{v.R, v.G, v.B}
}

// newView lays art on what is bare, at the resolution of its sketch.
func newView(s *scene, d *sketch) *view {
	v := &view{Picture: stroke.Picture{Width: d.w, Height: d.h, Pix: make([]uint8, 4*d.w*d.h)}, bare: codesOf(s.bareAround())}
	n := d.scale
	cores.Share(d.h, func(lo, hi int) {
		code := s.coder()
		buf, alpha := make([]artwork.Device, s.Art.Width), make([]uint8, s.Art.Width)
		sum := make([]int, 4*d.w)
		for y := lo; y < hi; y++ {
			clear(sum)
			for t := range n {
				s.Art.Nearest(y*n+t, buf)
				s.Art.Alpha(y*n+t, alpha)
				for x, c := range buf[:d.w*n] {
					a, to := int(alpha[x]), sum[x/n*4:x/n*4+4]
					if a == 0 {
						for k, b := range v.bare {
							to[k] += 255 * int(b)
						}
						continue
					}
					for k, c := range code(c) {
						to[k] += int(c)*a + int(v.bare[k])*(255-a)
					}
					to[3] += 255 * a
				}
			}
			row := v.Pix[4*y*d.w:]
			for i, t := range sum {
				row[i] = uint8((t + 255*n*n/2) / (255 * n * n))
			}
		}
	})
	return v
}

// coder returns a function that gives device colours of the art in codes of a view. It
// is for one goroutine.
func (s *scene) coder() func(artwork.Device) pixelCodes {
	switch {
	case s.Art.Space == icc.RGB:
		return func(c artwork.Device) pixelCodes { return pixelCodes{c[0], c[1], c[2]} }
	case s.Art.Space == icc.Gray:
		return func(c artwork.Device) pixelCodes { return pixelCodes{c[0], c[0], c[0]} }
	case s.Design == nil:
		return func(c artwork.Device) (v pixelCodes) {
			for k := range v {
				v[k] = uint8(max(0, 255-int(c[k])-int(c[3])))
			}
			return v
		}
	}
	known := map[artwork.Device]pixelCodes{}
	return func(c artwork.Device) pixelCodes {
		v, ok := known[c]
		if !ok {
			v = codesOf(s.Design(c.Fractions()))
			known[c] = v
		}
		return v
	}
}

// lab is how codes of a view look.
func lab(c pixelCodes) colour.Lab { return colour.FromSRGB(c[0], c[1], c[2]) }
