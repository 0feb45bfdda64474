// Package distance measures how far inside a shape each pixel lies: the exact
// Euclidean distance transform, in time linear in the pixels, up to a reach
// beyond which nobody asks.
//
// The method is the two passes of Meijster, Roerdink and Hesselink, "A general
// algorithm for computing distance transforms in linear time" (2000): along
// columns to the nearest outside pixel, then along rows by the lower envelope
// of parabolas.
package distance

import (
	"fmt"

	"laydown/colour/grid"
)

// MaxReach is the longest distance that is measured, in pixels.
const MaxReach = 255

// Mask is a picture of w × h bytes in which a pixel is inside when its value is
// at least Threshold, or, with Below set, under it.
type Mask struct {
	Pix           []uint8
	Width, Height int
	Threshold     uint8
	Below         bool
	EdgeIsOutside bool // what lies beyond the picture counts as outside
}

func (m Mask) inside(v uint8) bool { return (v >= m.Threshold) != m.Below }

// Squared returns for each pixel inside the mask the squared distance, between
// pixel centres, to the nearest pixel outside; 0 for those outside; and reach²
// where there is none within reach. reach is 1 to [MaxReach] pixels; an error
// says that it is not.
func Squared(m Mask, reach int) ([]uint16, error) {
	if reach < 1 || reach > MaxReach {
		return nil, fmt.Errorf("a distance of %d pixels cannot be measured: 1 to %d can", reach, MaxReach)
	}
	w, h := m.Width, m.Height
	d := make([]uint16, w*h)
	far := uint16(reach)
	grid.Parallel(w, func(lo, hi int) { // down and up a strip of columns
		above := make([]uint16, hi-lo)
		if !m.EdgeIsOutside {
			for i := range above {
				above[i] = far
			}
		}
		for y := range h {
			row, pix := d[y*w+lo:y*w+hi], m.Pix[y*w+lo:y*w+hi]
			for i, v := range pix {
				if m.inside(v) {
					row[i] = min(above[i]+1, far)
				}
				above[i] = row[i]
			}
		}
		for i := range above {
			above[i] = far
			if m.EdgeIsOutside {
				above[i] = 0
			}
		}
		for y := h - 1; y >= 0; y-- {
			row := d[y*w+lo : y*w+hi]
			for i, v := range row {
				if up := above[i] + 1; up < v {
					row[i] = up
				}
				above[i] = row[i]
			}
		}
	})
	grid.Parallel(h, func(lo, hi int) {
		e := envelope{at: make([]int32, w+2), from: make([]int32, w+2), g: make([]int32, w+2), far: int32(reach)}
		for y := lo; y < hi; y++ {
			row := d[y*w : (y+1)*w]
			for x := 0; x < w; {
				if row[x] == 0 {
					x++
					continue
				}
				end, near := x, false
				for end < w && row[end] != 0 {
					near = near || row[end] < far
					end++
				}
				left, right := x > 0 || m.EdgeIsOutside, end < w || m.EdgeIsOutside
				if near || left || right {
					e.run(row[x:end], left, right)
				} else {
					for i := x; i < end; i++ {
						row[i] = far * far
					}
				}
				x = end
			}
		}
	})
	return d, nil
}

// envelope turns one run of column distances into squared distances. Outside
// pixels bound the run, so nothing beyond them can be nearer.
type envelope struct {
	at, from, g []int32 // parabola apexes, where each takes over, column distances
	far         int32
}

func (e *envelope) run(row []uint16, left, right bool) {
	n := int32(len(row))
	// Position 0 is the pixel before the run, n+1 the one behind it.
	g := e.g[:n+2]
	g[0], g[n+1] = e.far, e.far
	if left {
		g[0] = 0
	}
	if right {
		g[n+1] = 0
	}
	for i, v := range row {
		g[i+1] = int32(v)
	}
	q := -1
	for u := int32(0); u <= n+1; u++ {
		if g[u] >= e.far {
			continue // farther than anyone asks
		}
		for q >= 0 {
			i, t := e.at[q], e.from[q]
			a, b := t-i, t-u
			if a*a+g[i]*g[i] > b*b+g[u]*g[u] {
				q--
				continue
			}
			break
		}
		if q < 0 {
			q = 0
			e.at[0], e.from[0] = u, 0
			continue
		}
		i := e.at[q]
		// The first place where u's parabola lies lower than i's.
		w := 1 + (u*u-i*i+g[u]*g[u]-g[i]*g[i])/(2*(u-i))
		if w <= n+1 {
			q++
			e.at[q], e.from[q] = u, w
		}
	}
	limit := e.far * e.far
	if q < 0 {
		for i := range row {
			row[i] = uint16(limit)
		}
		return
	}
	for u := n; u >= 1; u-- {
		for q > 0 && e.from[q] > u {
			q--
		}
		i := e.at[q]
		row[u-1] = uint16(min((u-i)*(u-i)+g[i]*g[i], limit))
	}
}
