// Package outline measures how long the edges of a shape are: what a knife follows that
// cuts a print out of a film.
//
// A shape is a plane of values 0–255, such as an alpha channel, inside from about half on.
// It is smoothed by the 3 × 3 binomial filter and its edge is drawn through the squares
// between pixel centres, where the values cross the level (marching squares, Lorensen and
// Cline 1987 in two dimensions), and the lengths of the drawn segments are added up. Edges
// of holes count like outer ones, and so do edges along the picture's border: outside it
// nothing is.
//
// Limits: shapes narrower than a pixel are lost, corners are rounded by about a pixel, and
// edges without soft pixels at a slant come out up to about 1.5 % too long.
package outline

import (
	"fmt"
	"math"

	"laydown/colour/cores"
)

// level is what the edge is drawn at: a line one pixel wide, which smoothing leaves at
// half, is just inside.
const level = 120

// at is the level in 16ths, as rows are smoothed.
const at = 16 * level

// Length is the length of the edges of a shape, in pixels. Plane holds width × height
// values, row by row. An error says that it does not.
func Length(plane []uint8, width, height int) (float64, error) {
	if width <= 0 || height <= 0 || len(plane) != width*height {
		return 0, fmt.Errorf("a plane of %d values is no picture of %d × %d", len(plane), width, height)
	}
	// Squares lie between rows y and y+1, from one row above the picture, smoothed by as
	// much, to one below.
	rows := make([]float64, height+3)
	cores.Share(len(rows), func(lo, hi int) {
		up, down := make([]int, width+4), make([]int, width+4)
		smooth(down, plane, width, height, lo-2)
		for r := lo; r < hi; r++ {
			up, down = down, up
			smooth(down, plane, width, height, r-1)
			left := (up[0] >= at) != (down[0] >= at)
			for x := range width + 3 { // most squares have no edge
				right := (up[x+1] >= at) != (down[x+1] >= at)
				if left || right || (up[x] >= at) != (up[x+1] >= at) {
					rows[r] += segment(float64(up[x]), float64(up[x+1]), float64(down[x]), float64(down[x+1]))
				}
				left = right
			}
		}
	})
	sum := 0.0
	for _, v := range rows {
		sum += v
	}
	return sum, nil
}

// smooth writes row y of the plane, which may lie outside, from two pixels left of the
// picture to two right of it, in 16ths.
func smooth(dst []int, plane []uint8, width, height, y int) {
	clear(dst)
	for dy := -1; dy <= 1; dy++ {
		if y+dy < 0 || y+dy >= height {
			continue
		}
		weight := 2 - dy*dy
		for x, v := range plane[(y+dy)*width : (y+dy+1)*width] {
			s := weight * int(v)
			dst[x+1] += s
			dst[x+2] += 2 * s
			dst[x+3] += s
		}
	}
}

// segment is the length of the edge in the square between four values: upper left and
// right, lower left and right.
func segment(a, b, c, d float64) float64 {
	// Where the edge crosses a side, from its first corner to its second; what is inside
	// is at or above the level.
	in := func(v float64) bool { return v >= at }
	cross := func(p, q float64) float64 { return (at - p) / (q - p) }
	top, left, right, bottom := in(a) != in(b), in(a) != in(c), in(b) != in(d), in(c) != in(d)
	switch {
	case !top && !left && !right && !bottom:
		return 0
	case top && left && right && bottom:
		// A saddle: two edges, which part the two corners that the mean of all is not like.
		t, l, r, m := cross(a, b), cross(a, c), cross(b, d), cross(c, d)
		if in((a+b+c+d)/4) == in(a) {
			return math.Hypot(1-t, r) + math.Hypot(m, 1-l)
		}
		return math.Hypot(t, l) + math.Hypot(1-m, 1-r)
	case top && bottom:
		return math.Hypot(cross(a, b)-cross(c, d), 1)
	case left && right:
		return math.Hypot(cross(a, c)-cross(b, d), 1)
	case top && left:
		return math.Hypot(cross(a, b), cross(a, c))
	case top:
		return math.Hypot(1-cross(a, b), cross(b, d))
	case left:
		return math.Hypot(cross(c, d), 1-cross(a, c))
	}
	return math.Hypot(1-cross(c, d), 1-cross(b, d))
}
