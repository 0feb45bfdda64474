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

// newView lays art, whose presence is given, on what is bare.
func newView(s *scene, d *sketch) *view {
	v := &view{Picture: stroke.Picture{Width: d.w, Height: d.h, Pix: make([]uint8, 4*d.w*d.h)}, bare: codesOf(s.bareAround())}
	cores.Share(d.h, func(lo, hi int) {
		buf := make([]artwork.Device, d.w)
		alpha := make([]uint8, d.w)
		last, code := artwork.Device{}, pixelCodes{}
		known := map[artwork.Device]pixelCodes{}
		for y := lo; y < hi; y++ {
			d.art.Nearest(y, buf)
			d.art.Alpha(y, alpha)
			row := v.Pix[4*y*d.w:]
			for x, c := range buf {
				if c != last || (x == 0 && y == lo) {
					last = c
					switch {
					case d.art.Space == icc.RGB:
						code = pixelCodes{c[0], c[1], c[2]}
					case d.art.Space == icc.Gray:
						code = pixelCodes{c[0], c[0], c[0]}
					case s.Design == nil:
						code = pixelCodes{}
						for k := range code {
							code[k] = uint8(max(0, 255-int(c[k])-int(c[3])))
						}
					default:
						var ok bool
						if code, ok = known[c]; !ok {
							code = codesOf(s.Design(c.Fractions()))
							known[c] = code
						}
					}
				}
				a := int(alpha[x])
				for k, b := range v.bare {
					row[4*x+k] = uint8((int(code[k])*a + int(b)*(255-a) + 127) / 255)
				}
				row[4*x+3] = alpha[x]
			}
		}
	})
	return v
}

// lab is how codes of a view look.
func lab(c pixelCodes) colour.Lab { return colour.FromSRGB(c[0], c[1], c[2]) }
