package flaw

import (
	"cmp"
	"math"
	"slices"
)

// regions gathers marked pixels into boxes: marks that share a cell of the
// print, or lie in neighbouring cells, are one place.
type regions struct {
	pixelMM    float64
	cellPX     int // along a cell's side
	cols, rows int
	cells      []cell
}

// cell is a square of the print: how many marks it has, and their bounds in pixels.
type cell struct {
	marks          int
	x0, y0, x1, y1 int // inclusive
	worst          float64
}

// nearMM is how near two marks must lie to count as one place.
const nearMM = 1.5

func newRegions(s *scene) *regions {
	return newRegionsOf(s.Art.Width, s.Art.Height, s.PixelMM)
}

func newRegionsOf(w, h int, pixelMM float64) *regions {
	side := max(1, int(math.Round(nearMM/pixelMM)))
	// A very fine or very large print must not cost more memory than its art.
	for (w/side+1)*(h/side+1) > 1<<22 {
		side *= 2
	}
	r := &regions{pixelMM: pixelMM, cellPX: side, cols: (w + side - 1) / side, rows: (h + side - 1) / side}
	r.cells = make([]cell, r.cols*r.rows)
	return r
}

// mark marks a pixel.
func (r *regions) mark(x, y int) { r.add(x, y, 0) }

// fill marks the pixels from a corner up to, but not including, another.
func (r *regions) fill(x0, y0, x1, y1 int) {
	for y := y0; y < y1; y = min(y1, y/r.cellPX*r.cellPX+r.cellPX) {
		last := min(y1, y/r.cellPX*r.cellPX+r.cellPX) - 1
		for x := x0; x < x1; x = min(x1, x/r.cellPX*r.cellPX+r.cellPX) {
			r.add(x, y, 0)
			r.add(min(x1, x/r.cellPX*r.cellPX+r.cellPX)-1, last, 0)
		}
	}
}

// add marks a pixel that is bad by some amount; places with the largest amount
// come first, and among equals the largest number of marks.
func (r *regions) add(x, y int, bad float64) {
	c := &r.cells[y/r.cellPX*r.cols+x/r.cellPX]
	if c.marks == 0 {
		*c = cell{1, x, y, x, y, bad}
		return
	}
	c.grow(cell{1, x, y, x, y, bad})
}

func (c *cell) grow(o cell) {
	c.marks += o.marks
	c.x0, c.y0, c.x1, c.y1 = min(c.x0, o.x0), min(c.y0, o.y0), max(c.x1, o.x1), max(c.y1, o.y1)
	c.worst = max(c.worst, o.worst)
}

// boxes returns the places, worst first, at most maxBoxes, and how many there
// are.
func (r *regions) boxes() ([]Box, int) { return r.boxesOf(1) }

// boxesOf is boxes without the places that have fewer marks.
func (r *regions) boxesOf(marks int) ([]Box, int) {
	var places []cell
	seen := make([]bool, len(r.cells))
	var queue []int
	for start := range r.cells {
		if seen[start] || r.cells[start].marks == 0 {
			continue
		}
		place := r.cells[start]
		seen[start] = true
		queue = append(queue[:0], start)
		for len(queue) > 0 {
			at := queue[len(queue)-1]
			queue = queue[:len(queue)-1]
			for dy := -1; dy <= 1; dy++ {
				for dx := -1; dx <= 1; dx++ {
					x, y := at%r.cols+dx, at/r.cols+dy
					if x < 0 || y < 0 || x >= r.cols || y >= r.rows {
						continue
					}
					if n := y*r.cols + x; !seen[n] && r.cells[n].marks > 0 {
						seen[n] = true
						place.grow(r.cells[n])
						queue = append(queue, n)
					}
				}
			}
		}
		if place.marks >= marks {
			places = append(places, place)
		}
	}
	slices.SortStableFunc(places, func(a, b cell) int {
		if c := cmp.Compare(b.worst, a.worst); c != 0 {
			return c
		}
		return cmp.Compare(b.marks, a.marks)
	})
	n := len(places)
	var out []Box
	for _, p := range places[:min(n, maxBoxes)] {
		mm := func(px int) float64 { return round(float64(px)*r.pixelMM, 100) }
		out = append(out, Box{mm(p.x0), mm(p.y0), mm(p.x1 + 1 - p.x0), mm(p.y1 + 1 - p.y0)})
	}
	return out, n
}

// grow is the box made larger on every side, within a print of a size.
func (b Box) grow(byMM, widthMM, heightMM float64) Box {
	x0, y0 := math.Max(0, b.XMM-byMM), math.Max(0, b.YMM-byMM)
	x1, y1 := math.Min(widthMM, b.XMM+b.WidthMM+byMM), math.Min(heightMM, b.YMM+b.HeightMM+byMM)
	return Box{round(x0, 100), round(y0, 100), round(x1-x0, 100), round(y1-y0, 100)}
}
