package stroke

import "laydown/colour/cores"

// rings tells where a picture has strong edges, whose ringing compression leaves
// around them.
type rings struct {
	cols, rows int
	most       []float32 // of the square and those around it, codes
}

// ringPX is the side of a square of rings in pixels, and ringReach how many squares
// ringing reaches: chroma is compressed in blocks of 16 pixels.
const (
	ringPX    = 8
	ringReach = 2
)

func newRings(p Picture) *rings {
	r := &rings{cols: (p.Width + ringPX - 1) / ringPX, rows: (p.Height + ringPX - 1) / ringPX}
	own := make([]float32, r.cols*r.rows)
	at := func(x, y int) pixel { return pixel(p.Pix[4*(y*p.Width+x):]) }
	cores.Share(r.rows, func(lo, hi int) {
		for y := lo * ringPX; y < min(hi*ringPX, p.Height); y++ {
			for x := range p.Width {
				v := at(x, y)
				m := &own[y/ringPX*r.cols+x/ringPX]
				if x+2 < p.Width {
					if u := at(x+2, y); u != v {
						*m = max(*m, float32(apart(u, v)))
					}
				}
				if y+2 < p.Height {
					if u := at(x, y+2); u != v {
						*m = max(*m, float32(apart(u, v)))
					}
				}
			}
		}
	})
	r.most = make([]float32, len(own))
	cores.Share(r.rows, func(lo, hi int) {
		for y := lo; y < hi; y++ {
			for x := range r.cols {
				for v := max(0, y-ringReach); v <= min(r.rows-1, y+ringReach); v++ {
					for u := max(0, x-ringReach); u <= min(r.cols-1, x+ringReach); u++ {
						r.most[y*r.cols+x] = max(r.most[y*r.cols+x], own[v*r.cols+u])
					}
				}
			}
		}
	})
	return r
}

// near is the strongest change near a pixel, codes.
func (r *rings) near(x, y int) float64 { return float64(r.most[y/ringPX*r.cols+x/ringPX]) }
