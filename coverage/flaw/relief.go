package flaw

import (
	"math"
	"slices"

	"laydown/colour/cores"
	"laydown/coverage/distance"
	"laydown/coverage/island"
)

// relief is how far each pixel of a view stands out from what is around it, in codes of
// luma: what is lighter than a ground that takes wider shapes with it, or darker. The
// ground is the morphological opening, or closing, by a square that is wider than the
// strokes of small letters (Meyer's top-hat transform; see Soille, "Morphological Image
// Analysis", 2003, chapter 4), told in blocks of pixels. So letters stand out on any
// ground: flat, shaded or photographed. Ink and ground of one luma do not.
type relief struct {
	block      int // pixels along a block's side
	cols, rows int
	ground     []uint8 // of each block
	most       []uint8 // the most that anything stands out in the blocks around it
}

// reliefBlocks is how many blocks a letter of a limit is high, and reliefReach how many
// to every side the ground is taken from: the square is wider than a bold stroke, which
// takes a third of that height.
const (
	reliefBlocks = 4.5
	reliefReach  = 1
	reliefAround = 3 // blocks to every side in which letters stand out alike
)

// luma is that of ITU-R BT.601, as JPEG files have it (ITU-T T.871).
func luma(p []uint8) uint8 {
	return uint8((19595*uint32(p[0]) + 38470*uint32(p[1]) + 7471*uint32(p[2]) + 1<<15) >> 16)
}

// lumas are the luma of a view's pixels, upside down for dark ones.
func (v *view) lumas(dark bool, out []uint8) {
	flip := uint8(0)
	if dark {
		flip = 255
	}
	cores.Share(v.Height, func(lo, hi int) {
		for i := lo * v.Width; i < hi*v.Width; i++ {
			out[i] = luma(v.Pix[4*i:4*i+3]) ^ flip
		}
	})
}

// newRelief replaces lumas of a view by how far they stand out.
func newRelief(plane []uint8, w, h int, limitPX float64) *relief {
	r := &relief{block: max(1, int(limitPX/reliefBlocks))}
	r.cols, r.rows = (w+r.block-1)/r.block, (h+r.block-1)/r.block
	// The darkest of each block, and then of those around it, is the lightest of what is
	// taken from white.
	cells := make([]uint8, r.cols*r.rows)
	r.each(cells, plane, w, h, func(row, part []uint8, c, _ int) {
		for _, p := range part {
			row[c] = max(row[c], 255-p)
		}
	})
	darkest := r.spread(cells, reliefReach)
	for i := range darkest {
		darkest[i] = 255 - darkest[i]
	}
	r.ground = r.spread(darkest, reliefReach)
	clear(cells) // now how far pixels stand out
	r.each(cells, plane, w, h, func(row, part []uint8, c, b int) {
		ground := r.ground[b*r.cols+c]
		for i, p := range part {
			part[i] = max(p, ground) - ground
			row[c] = max(row[c], part[i])
		}
	})
	r.most = r.spread(cells, reliefAround)
	return r
}

// each calls f with the row of cells, the pixels and the column and row of each part of a
// block that lies in one row of pixels.
func (r *relief) each(cells, plane []uint8, w, h int, f func(row, part []uint8, c, b int)) {
	cores.Share(r.rows, func(lo, hi int) {
		for b := lo; b < hi; b++ {
			row := cells[b*r.cols : (b+1)*r.cols]
			for y := b * r.block; y < min((b+1)*r.block, h); y++ {
				for c := range row {
					f(row, plane[y*w+c*r.block:y*w+min((c+1)*r.block, w)], c, b)
				}
			}
		}
	})
}

// spread is the most of the blocks within a reach to every side of each.
func (r *relief) spread(in []uint8, reach int) []uint8 {
	mid, out := make([]uint8, len(in)), make([]uint8, len(in))
	raise := func(to, by []uint8) {
		to = to[:len(by)]
		for i, v := range by {
			to[i] = max(to[i], v)
		}
	}
	cores.Share(r.rows, func(lo, hi int) {
		for y := lo; y < hi; y++ {
			from, to := in[y*r.cols:(y+1)*r.cols], mid[y*r.cols:(y+1)*r.cols]
			copy(to, from)
			for k := 1; k <= min(reach, r.cols-1); k++ {
				raise(to, from[k:])
				raise(to[k:], from[:r.cols-k])
			}
		}
	})
	cores.Share(r.rows, func(lo, hi int) {
		for y := lo; y < hi; y++ {
			to := out[y*r.cols : (y+1)*r.cols]
			for k := max(0, y-reach); k <= min(r.rows-1, y+reach); k++ {
				raise(to, mid[k*r.cols:(k+1)*r.cols])
			}
		}
	})
	return out
}

// highest is the highest ground under an island and around it.
func (r *relief) highest(i island.Island) (most int) {
	for y := max(0, i.Y0/r.block-1); y <= min(r.rows-1, i.Y1/r.block+1); y++ {
		for x := max(0, i.X0/r.block-1); x <= min(r.cols-1, i.X1/r.block+1); x++ {
			most = max(most, int(r.ground[y*r.cols+x]))
		}
	}
	return most
}

// What stands out by less than so many codes is no ink, and by less than a part of what
// is around it no part of letters there.
const (
	leastRelief = 48
	reliefPart  = 0.45
)

// mask tells letters from their ground: 1 or 0 for every pixel of plane, which says how
// far it stands out.
func (r *relief) mask(plane []uint8, w, h int) []uint8 {
	out := make([]uint8, w*h)
	cores.Share(h, func(lo, hi int) {
		for y := lo; y < hi; y++ {
			for c := range r.cols {
				most := r.most[y/r.block*r.cols+c]
				if most < leastRelief {
					continue
				}
				least := uint8(max(leastRelief/2, reliefPart*float64(most)))
				for x := c * r.block; x < min((c+1)*r.block, w); x++ {
					if plane[y*w+x] >= least {
						out[y*w+x] = 1
					}
				}
			}
		}
	})
	return out
}

// reliefRows are the rows of letters that stand out from what is around them.
func (v *view) reliefRows(limitPX float64, dark bool, noise int) [][]letter {
	w, h := v.Width, v.Height
	c := v.screen()
	plane := make([]uint8, w*h)
	v.lumas(dark, plane)
	r := newRelief(plane, w, h, limitPX)
	found := island.Find(distance.Mask{Pix: r.mask(plane, w, h), Width: w, Height: h, Threshold: 1}, true)
	var all []letter
	for _, i := range found.Islands {
		if c.has(i.X0, i.Y0) {
			continue
		}
		height := i.Y1 - i.Y0 + 1
		if float64(height) > tallest*limitPX+2 || height < 3 || i.AtEdge(w, h) || i.X1-i.X0+1 > mostWide*height {
			continue
		}
		runs := found.Runs(i)
		peak, tone := uint8(0), 0 // tone is that of the ink
		for _, run := range runs {
			for x := int(run.X0); x < int(run.X1); x++ {
				if p := plane[int(run.Y)*w+x]; p > peak {
					peak, tone = p, int(p)+int(r.ground[int(run.Y)/r.block*r.cols+x/r.block])
				}
			}
		}
		if peak < leastRelief || 2*(tone-r.highest(i)) < int(peak) { // a part of something larger, or what lies within it
			continue
		}
		l := measure(plane, w, i, runs, peak)
		if l.sharp < leastSharp {
			continue
		}
		l.ink = v.inkOf(plane, runs, peak)
		all = append(all, l)
	}
	return textRows(all, limitPX, noise)
}

// leastSharp is the part of its rise that an edge of a letter takes within two pixels,
// at the median.
const leastSharp = 0.5

// inkOf is the mean colour of those pixels of an island that stand out most.
func (v *view) inkOf(plane []uint8, runs []island.Run, peak uint8) codes {
	var sum [3]int
	n := 0
	for _, run := range runs {
		for x := int(run.X0); x < int(run.X1); x++ {
			i := int(run.Y)*v.Width + x
			if int(plane[i])*10 < int(peak)*9 {
				continue
			}
			n++
			for k := range sum {
				sum[k] += int(v.Pix[4*i+k])
			}
		}
	}
	return codes{uint8(sum[0] / n), uint8(sum[1] / n), uint8(sum[2] / n)}
}

// level reports whether most letters of a row stand on one line, and end at one or two
// heights above it: those of an x and of capitals.
func level(row []letter) bool {
	low, high := make([]float64, len(row)), make([]float64, len(row))
	for i, l := range row {
		low[i], high[i] = l.bottom, l.top
	}
	off := math.Max(levelPX, levelPart*xHeight(row))
	foot, stand := most(low, off)
	var tops []float64 // of those that stand on it
	for i, t := range high {
		if math.Abs(low[i]-foot) <= off {
			tops = append(tops, t)
		}
	}
	top, n := most(tops, off)
	_, second := most(slices.DeleteFunc(tops, func(t float64) bool { return math.Abs(t-top) <= off }), off)
	return float64(stand) >= levelMost*float64(len(row)) && float64(n+second) >= levelMost*float64(stand)
}

// most is the value within reach of which most of others lie, and how many.
func most(of []float64, reach float64) (at float64, n int) {
	for _, v := range of {
		k := 0
		for _, u := range of {
			if math.Abs(u-v) <= reach {
				k++
			}
		}
		if k > n {
			at, n = v, k
		}
	}
	return at, n
}

// How far letters may be off their line: pixels, and a part of the height of an x; and the
// part of a row that keeps to it.
const (
	levelPX   = 0.8
	levelPart = 0.08
	levelMost = 0.65
)

// leastReliefPX is the height in pixels that an x takes at least for letters to be told
// from what lies between crossing lines.
const leastReliefPX = 5

// leastGrainy letters make a row where shapes lie side by side by chance.
const leastGrainy = 6

// written reports whether a row that stands out from what is around it is letters: in
// grain, where shapes lie side by side by chance, that takes more of them.
func (s *scene) written(row []letter) bool {
	b := bounds(row)
	switch n := len(row); {
	case xHeight(row) < leastReliefPX:
		return false
	case n < leastLetters || count(row) > 2*n || !level(row): // what lies between dots, or between lines
		return false
	case s.view().grain.at(b.x0, b.y0, b.x1, b.y1):
		return n >= leastGrainy
	}
	return true
}
