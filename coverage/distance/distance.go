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

	"laydown/colour/cores"
)

// MaxReach is the longest distance that is measured, in pixels.
const MaxReach = 255

// Mask is a picture of bytes in which a pixel is inside when its value is at
// least Threshold, or, with Below set, under it. The pixel at x, y is
// Pix[y*Stride+x*Step]; a Step of 0 means plain rows, of Step 1 and Stride
// Width.
type Mask struct {
	Pix           []uint8
	Width, Height int
	Step, Stride  int
	Threshold     uint8
	Below         bool
	EdgeIsOutside bool // what lies beyond the picture counts as outside
}

// grow sets row to what near becomes on entering row y of the mask: one more
// for pixels inside, up to far, and 0 outside. row and near may be the same.
func (m Mask) grow(row, near []uint8, y int, far uint8) {
	pix := m.Pix[y*m.Stride:]
	for x := range row {
		d := near[x]
		if d < far {
			d++
		}
		if (pix[x*m.Step] >= m.Threshold) == m.Below {
			d = 0
		}
		row[x] = d
	}
}

// Squared returns for each pixel inside the mask the squared distance, between
// pixel centres, to the nearest pixel outside; 0 for those outside; and reach²
// where there is none within reach. reach is 1 to [MaxReach] pixels; an error
// says that it is not.
func Squared(m Mask, reach int) ([]uint16, error) {
	d := make([]uint16, m.Width*m.Height)
	err := Rows(m, reach, func(y int, row []uint16) { copy(d[y*m.Width:], row) })
	if err != nil {
		return nil, err
	}
	return d, nil
}

// Rows is [Squared] for callers that look at each row once: it calls f with
// every row, in no order and from several goroutines at once; row is reused
// afterwards. The mask must not change meanwhile.
//
// It works in bands of rows. Nothing farther than reach counts, so a band needs
// to see only that much above and below itself, and its distances stay in the
// processor's cache.
func Rows(m Mask, reach int, f func(y int, row []uint16)) error {
	if reach < 1 || reach > MaxReach {
		return fmt.Errorf("a distance of %d pixels cannot be measured: 1 to %d can", reach, MaxReach)
	}
	if m.Step == 0 {
		m.Step, m.Stride = 1, m.Width
	}
	w, h := m.Width, m.Height
	far := uint8(reach)
	beyond := far
	if m.EdgeIsOutside {
		beyond = 0
	}
	tall := max(32, 3*reach)
	cores.Share((h+tall-1)/tall, func(lo, hi int) {
		e := envelope{at: make([]int32, w+2), from: make([]int32, w+2), g: make([]int32, w+2), far: int32(reach)}
		near, out := make([]uint8, w), make([]uint16, w)
		band := make([]uint8, tall*w) // along the column to the nearest outside pixel
		for b := lo; b < hi; b++ {
			y0, y1 := b*tall, min((b+1)*tall, h)
			enter := func(y int) { // what lies beyond row y, where nothing was looked at
				v := far
				if y < 0 || y >= h {
					v = beyond
				}
				for x := range near {
					near[x] = v
				}
			}
			first := max(0, y0-reach)
			enter(first - 1)
			for y := first; y < y0; y++ {
				m.grow(near, near, y, far)
			}
			last := near
			for y := y0; y < y1; y++ {
				row := band[(y-y0)*w : (y-y0+1)*w]
				m.grow(row, last, y, far)
				last = row
			}
			end := min(h, y1+reach)
			enter(end)
			for y := end - 1; y >= y1; y-- {
				m.grow(near, near, y, far)
			}
			for y := y1 - 1; y >= y0; y-- {
				row := band[(y-y0)*w : (y-y0+1)*w]
				for x, v := range row {
					d := near[x]
					if d < far {
						d++
					}
					d = min(d, v)
					row[x], near[x] = d, d
				}
				e.row(out, row, m.EdgeIsOutside)
				f(y, out)
			}
		}
	})
	return nil
}

// envelope turns column distances into squared distances, one run of inside
// pixels at a time: outside pixels bound a run, so nothing beyond them can be
// nearer.
type envelope struct {
	at, from, g []int32 // parabola apexes, where each takes over, column distances
	far         int32
}

// row finds the runs of a row.
func (e *envelope) row(out []uint16, down []uint8, edgeIsOutside bool) {
	w, far := len(down), uint8(e.far)
	for x := 0; x < w; {
		if down[x] == 0 {
			out[x] = 0
			x++
			continue
		}
		end, near := x, false
		for end < w && down[end] != 0 {
			near = near || down[end] < far
			end++
		}
		e.run(out[x:end], down[x:end], near, x > 0 || edgeIsOutside, end < w || edgeIsOutside)
		x = end
	}
}

func (e *envelope) run(out []uint16, down []uint8, near, left, right bool) {
	n := int32(len(down))
	limit := e.far * e.far
	// Where the columns' ends are far, only what bounds the run can be near.
	if !near {
		for i := range out {
			out[i] = uint16(limit)
		}
		for i := int32(0); i < min(n, e.far-1); i++ {
			d := uint16((i + 1) * (i + 1))
			if left {
				out[i] = min(out[i], d)
			}
			if right {
				out[n-1-i] = min(out[n-1-i], d)
			}
		}
		return
	}
	// Position 0 is the pixel before the run, n+1 the one behind it.
	g := e.g[:n+2]
	g[0], g[n+1] = e.far, e.far
	if left {
		g[0] = 0
	}
	if right {
		g[n+1] = 0
	}
	for i, v := range down {
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
	for u := n; u >= 1; u-- {
		for q > 0 && e.from[q] > u {
			q--
		}
		i := e.at[q]
		out[u-1] = uint16(min((u-i)*(u-i)+g[i]*g[i], limit))
	}
}
