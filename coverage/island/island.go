// Package island finds the connected parts of a mask: specks, pinholes, letters
// and other shapes that lie by themselves.
//
// Rows are cut into runs, and runs that touch in neighbouring rows are joined by
// union and find (Galler and Fischer 1964; the run-based form is common practice),
// in one pass over the pixels and memory in proportion to the runs.
package island

import (
	"encoding/binary"

	"laydown/coverage/distance"
)

// Run is a run of pixels of one row: X0 up to but not including X1.
type Run struct{ Y, X0, X1 int32 }

// Island is one connected part.
type Island struct {
	Pixels         int
	X0, Y0, X1, Y1 int // its box in pixels; X1 and Y1 are the last ones inside
	from, to       int // its runs
}

// AtEdge reports whether the island touches the edge of a picture of a size.
func (i Island) AtEdge(width, height int) bool {
	return i.X0 == 0 || i.Y0 == 0 || i.X1 == width-1 || i.Y1 == height-1
}

// Map is what was found: the islands in the order of their first pixels, row by
// row.
type Map struct {
	Islands []Island
	runs    []Run
}

// Runs are an island's runs from top to bottom.
func (m *Map) Runs(i Island) []Run { return m.runs[i.from:i.to] }

// next is the first run of a row from x on; from is the width if there is none.
func next(pix []uint8, x int, m distance.Mask) (from, to int) {
	if m.Step != 1 || m.Threshold != 1 || m.Below {
		for x < m.Width && (pix[x*m.Step] >= m.Threshold) == m.Below {
			x++
		}
		from = x
		for x < m.Width && (pix[x*m.Step] >= m.Threshold) != m.Below {
			x++
		}
		return from, x
	}
	row := pix[:m.Width] // the usual mask, eight pixels at a time where nothing is
	for ; x+8 <= len(row) && binary.LittleEndian.Uint64(row[x:]) == 0; x += 8 {
	}
	for x < len(row) && row[x] == 0 {
		x++
	}
	from = x
	for x < len(row) && row[x] != 0 {
		x++
	}
	return from, x
}

// Find finds the islands of the mask's inside. Pixels that touch only by a corner
// are one island if diagonal is set; ask for that for shapes and not for the
// holes between them.
func Find(m distance.Mask, diagonal bool) *Map {
	if m.Step == 0 {
		m.Step, m.Stride = 1, m.Width
	}
	var runs []Run
	var up []int32 // towards each run's root, which is the island's first run
	root := func(i int32) int32 {
		for up[i] != i {
			up[i] = up[up[i]]
			i = up[i]
		}
		return i
	}
	reach := int32(0)
	if diagonal {
		reach = 1
	}
	above, aboveEnd := 0, 0
	for y := range m.Height {
		pix := m.Pix[y*m.Stride:]
		start, a := len(runs), above
		for x := 0; ; {
			from, to := next(pix, x, m)
			if from == m.Width {
				break
			}
			r := Run{int32(y), int32(from), int32(to)}
			x = to
			me := int32(len(runs))
			runs, up = append(runs, r), append(up, me)
			for a < aboveEnd && runs[a].X1+reach <= r.X0 {
				a++
			}
			for b := a; b < aboveEnd && runs[b].X0 < r.X1+reach; b++ {
				p, q := root(int32(b)), root(me)
				up[max(p, q)] = min(p, q)
			}
		}
		above, aboveEnd = start, len(runs)
	}
	out := &Map{}
	number := make([]int32, len(runs)) // island of each run
	for i, r := range runs {
		n := int32(len(out.Islands))
		if p := root(int32(i)); p != int32(i) {
			n = number[p]
		} else {
			out.Islands = append(out.Islands, Island{X0: m.Width, Y0: m.Height})
		}
		number[i] = n
		s := &out.Islands[n]
		s.Pixels += int(r.X1 - r.X0)
		s.X0, s.X1 = min(s.X0, int(r.X0)), max(s.X1, int(r.X1)-1)
		s.Y0, s.Y1 = min(s.Y0, int(r.Y)), max(s.Y1, int(r.Y))
		s.to++
	}
	at := 0
	for i := range out.Islands {
		s := &out.Islands[i]
		s.from, at = at, at+s.to
		s.to = s.from
	}
	out.runs = make([]Run, len(runs))
	for i, r := range runs {
		s := &out.Islands[number[i]]
		out.runs[s.to] = r
		s.to++
	}
	return out
}
