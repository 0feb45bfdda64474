package flaw

import (
	"math"
	"slices"

	"laydown/colour"
	"laydown/colour/cores"
	"laydown/colour/icc"
	"laydown/coverage/artwork"
	"laydown/coverage/plate"
	"laydown/coverage/stroke"
	"laydown/coverage/unit"
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
// which shapes are measured: its own, or if that is very fine a whole fraction of it,
// for widths are told to a part of a pixel anyway; repeated pixels are taken for one.
// It is not changed once it is made.
type view struct {
	stroke.Picture
	bare    codes // what is bare
	scale   int   // pixels of the art along one of the view
	pixelMM float64
	flats   []codes // colours that it has flats of
	grain   *grain
	screen  func() *screen
}

// viewPPI is a resolution that shapes need at most.
const viewPPI = 300

// codes is a colour of a view in 8-bit codes.
type codes = [3]uint8

// apart is the largest difference of two colours' codes.
func apart(a, b codes) int {
	return max(abs(int(a[0])-int(b[0])), abs(int(a[1])-int(b[1])), abs(int(a[2])-int(b[2])))
}

func codesOf(c colour.Lab) codes {
	v := c.SRGB()
	return codes{v.R, v.G, v.B}
}

// newView lays art on what is bare. What is left over at the right and the bottom of
// art that is reduced is let go.
func newView(s *scene) *view {
	n := max(1, int(unit.MMPerInch/s.PixelMM/viewPPI*1.001))
	if k := s.past().repeats; k == math.Trunc(k) {
		n = max(n, int(k))
	}
	if s.Art.Width < 2*n || s.Art.Height < 2*n {
		n = 1
	}
	w, h := s.Art.Width/n, s.Art.Height/n
	v := &view{Picture: stroke.Picture{Width: w, Height: h, Pix: make([]uint8, 4*w*h)}, bare: codesOf(s.bareAround()), scale: n, pixelMM: s.PixelMM * float64(n)}
	cores.Share(h, func(lo, hi int) {
		code := s.coder()
		buf, alpha := make([]artwork.Device, s.Art.Width), make([]uint8, s.Art.Width)
		sum := make([]int, 4*w)
		for y := lo; y < hi; y++ {
			row := v.Pix[4*y*w : 4*(y+1)*w]
			if n == 1 {
				s.Art.Nearest(y, buf)
				s.Art.Alpha(y, alpha)
				last, lastAlpha := artwork.Device{}, uint8(0)
				now := v.mix(code(last), 0)
				for x, c := range buf {
					if a := alpha[x]; c != last || a != lastAlpha {
						last, lastAlpha, now = c, a, v.mix(code(c), a)
					}
					copy(row[4*x:4*x+4], now[:])
				}
				continue
			}
			clear(sum)
			for t := range n {
				s.Art.Nearest(y*n+t, buf)
				s.Art.Alpha(y*n+t, alpha)
				for x, c := range buf[:w*n] {
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
			for i, t := range sum {
				row[i] = uint8((t + 255*n*n/2) / (255 * n * n))
			}
		}
	})
	v.grain, v.flats = newGrain(v, s.lossy()), v.Flats()
	v.screen = lazyScreen(v)
	return v
}

// drawn reports whether an ink and what it lies between may be a drawing's: on a
// photograph only flat colours are, for its own lines and highlights are no flaws.
func (v *view) drawn(ink codes, sides ...codes) bool {
	if !v.grain.isPhoto {
		return true
	}
	for _, c := range append(sides, ink) {
		if !slices.ContainsFunc(v.flats, func(f codes) bool { return apart(f, c) <= nearFlat }) {
			return false
		}
	}
	return true
}

// nearFlat is how far from a flat colour a pixel of it lies at most, codes.
const nearFlat = 10

// skips reports whether no shapes are looked for at a pixel: in grain and in screens.
func (v *view) skips() func(x, y int) bool {
	c := v.screen()
	return func(x, y int) bool { return v.grain.has(x, y) || c.has(x, y) }
}

// mix is a colour of some alpha laid on what is bare.
func (v *view) mix(c codes, alpha uint8) (out [4]uint8) {
	a := int(alpha)
	for k, b := range v.bare {
		out[k] = uint8((int(c[k])*a + int(b)*(255-a) + 127) / 255)
	}
	out[3] = alpha
	return out
}

// at is where in the art the middle of a pixel of the view lies.
func (v *view) at(x, y int) (int, int) {
	return x*v.scale + v.scale/2, y*v.scale + v.scale/2
}

// pixels is a length in pixels of the view.
func (v *view) pixels(mm float64) float64 { return mm / v.pixelMM }

// box is the box between two corners in pixels of the view.
func (v *view) box(x0, y0, x1, y1 float64) Box {
	mm := func(px float64) float64 { return round(math.Max(0, px)*v.pixelMM, 100) }
	return Box{mm(x0), mm(y0), round(mm(x1)-mm(x0), 100), round(mm(y1)-mm(y0), 100)}
}

// coder returns a function that gives device colours of the art in codes of a view. It
// is for one goroutine.
func (s *scene) coder() func(artwork.Device) codes {
	switch {
	case s.Art.Space == icc.RGB:
		return func(c artwork.Device) codes { return codes{c[0], c[1], c[2]} }
	case s.Art.Space == icc.Gray:
		return func(c artwork.Device) codes { return codes{c[0], c[0], c[0]} }
	case s.Design == nil:
		return func(c artwork.Device) (v codes) {
			for k := range v {
				v[k] = uint8(max(0, 255-int(c[k])-int(c[3])))
			}
			return v
		}
	}
	known := map[artwork.Device]codes{}
	return func(c artwork.Device) codes {
		v, ok := known[c]
		if !ok {
			v = codesOf(s.Design(c.Fractions()))
			known[c] = v
		}
		return v
	}
}

// lab is how codes of a view look.
func lab(c codes) colour.Lab { return colour.FromSRGB(c[0], c[1], c[2]) }
