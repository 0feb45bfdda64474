package layer

import (
	"math"

	"laydown/colour"
	"laydown/colour/grid"
)

// View is a [Stack] compiled for pixels: it turns rows of plates into what is
// seen, in sRGB. It is immutable and safe for concurrent use. Colours are
// within ΔE00 0.5 of [Stack.Look] on the mean and 3 in the deepest shadows: enough
// to look at, not to measure by.
type View struct {
	prints *grid.Table     // CMYK → the print's sharpened reflectance, coded
	ground [256][3]float32 // by white tone value: what lies under the toner, relative to paper, times the paper
	cover  *cover          // where white is seen first
	linear [256]float32    // code → reflectance
	srgb   [4096 + 1]uint8 // linear sRGB in 1/4096 → code
	toRGB  [3][3]float32   // sharpened → linear sRGB
}

// cover is white before the colours, compiled: base + through·y ÷ (1 − again·y) is seen of
// what reflects y under solid white, but no more than most.
type cover struct{ base, through, again, most [3]float32 }

// seen is what is seen of y in a channel under white, 0–1.
func (c *cover) seen(y, white float32, i int) float32 {
	solid := min(c.base[i]+c.through[i]*y/max(1-c.again[i]*y, 1e-6), c.most[i])
	return white*solid + (1-white)*y
}

// viewPoints is the size of the table of prints.
const viewPoints = 17

// code is the power by which reflectances are kept in 8 bits: near to how the
// eye tells them apart.
const code = 1 / 2.4

// top is the highest reflectance, relative to paper, that the codes hold.
const top = 1.05

// View compiles the stack for a press whose paper the stack was made with, seen by an
// eye that takes white, absolute under D50, for white: it is then the screen's, and what
// is lighter is clipped. White of L 100 leaves colours absolute. print tells the Lab,
// absolute under D50, of four tone values 0–1, and is called concurrently.
func (s *Stack) View(print func(cmyk [4]float64) colour.Lab, white colour.Lab) *View {
	v := &View{}
	v.prints = grid.Compile(4, viewPoints, func(dst, src []float64) {
		c := sharpen(print([4]float64(src)))
		for i := range c {
			dst[i] = math.Pow(c[i]/s.paper[i]/top, code)
		}
		dst[3] = 0
	})
	for i := range v.linear {
		v.linear[i] = float32(math.Pow(float64(i)/255, 1/code) * top)
	}
	for w := range v.ground {
		t := float64(w) / 255
		for i := range 3 {
			v.ground[w][i] = float32((t*s.solid[i] + (1-t)*s.ground[i]) * s.paper[i])
			if s.first {
				v.ground[w][i] = float32(s.ground[i] * s.paper[i])
			}
		}
	}
	if s.first && s.white.some {
		v.cover = &cover{}
		for i := range 3 {
			unit := s.white.unit(s.paper[i], i)
			v.cover.base[i], v.cover.through[i] = float32(s.white.r0[i]*unit), float32(s.white.t2[i])
			v.cover.again[i], v.cover.most[i] = float32(s.white.r0[i]/unit), float32(most*s.paper[i])
		}
	}
	for i := range v.srgb {
		v.srgb[i] = colour.EncodeSRGB(float64(i) / 4096)
	}
	// As XYZ.Scale: the media-relative step of ICC.1:2010, 6.3.2.
	w := white.XYZ(colour.D50)
	beside := colour.Matrix{{colour.D50.X / w.X, 0, 0}, {0, colour.D50.Y / w.Y, 0}, {0, 0, colour.D50.Z / w.Z}}
	m := colour.XYZToSRGB().Mul(beside).Mul(fromCone)
	for r := range m {
		for c := range m[r] {
			v.toRGB[r][c] = float32(m[r][c])
		}
	}
	return v
}

// block is how many pixels are worked on at a time.
const block = 256

// Row writes what is seen of one row, three bytes of sRGB a pixel with step
// bytes from one pixel to the next. All planes are as long as the row; a tone
// value is 0 for none to 255 for solid.
func (v *View) Row(dst []uint8, step int, cmyk grid.Planes, white []uint8) {
	var dyed [4 * block]uint8
	var seen [4][block]uint8
	for from := 0; from < len(white); from += block {
		n := min(block, len(white)-from)
		c, m, y, k := cmyk[0][from:from+n], cmyk[1][from:from+n], cmyk[2][from:from+n], cmyk[3][from:from+n]
		for i := range c {
			px := dyed[4*i : 4*i+4 : 4*i+4]
			px[0], px[1], px[2], px[3] = c[i], m[i], y[i], k[i]
		}
		v.prints.Row8(grid.Planes{seen[0][:n], seen[1][:n], seen[2][:n], seen[3][:n]}, dyed[:4*n], 4)
		if v.cover != nil {
			v.covered(dst[from*step:], step, &seen, white[from:from+n])
			continue
		}
		for i, w := range white[from : from+n] {
			g := &v.ground[w]
			r, s, t := v.linear[seen[0][i]]*g[0], v.linear[seen[1][i]]*g[1], v.linear[seen[2][i]]*g[2]
			o := dst[(from+i)*step:]
			o = o[:3:3]
			for j := range v.toRGB {
				q := &v.toRGB[j]
				o[j] = v.srgb[int(max(0, min(1, q[0]*r+q[1]*s+q[2]*t))*4096+0.5)]
			}
		}
	}
}

// covered is the end of a row whose white is seen before its coded colours.
func (v *View) covered(dst []uint8, step int, colours *[4][block]uint8, white []uint8) {
	for i, w := range white {
		var y [3]float32
		for k := range y {
			y[k] = v.cover.seen(v.linear[colours[k][i]]*v.ground[w][k], float32(w)/255, k)
		}
		o := dst[i*step:]
		o = o[:3:3]
		for j := range v.toRGB {
			q := &v.toRGB[j]
			o[j] = v.srgb[int(max(0, min(1, q[0]*y[0]+q[1]*y[1]+q[2]*y[2]))*4096+0.5)]
		}
	}
}
