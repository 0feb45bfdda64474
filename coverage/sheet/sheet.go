// Package sheet says how many copies of one print go on a sheet of media, and
// where; and how pieces of several sizes and quantities share sheets.
//
// Copies of one print stand in a grid of equal gaps, all upright or all turned by a
// quarter, or in blocks of both and blocks within blocks where that holds more: by a
// heuristic, so that in rare cases a sheet could hold one copy more, as where parts would
// have to be L-shaped. Several prints share sheets by a packing heuristic. Margins stay
// free on all four sides. Searches count their own steps and are cut off by that count,
// never by a clock.
package sheet

import (
	"fmt"
	"math"

	"laydown/coverage/fault"
	"laydown/coverage/unit"
)

// Layout is one sheet and the copies on it.
type Layout struct {
	Sheet  unit.Sheet
	Places []Place
}

// Place is where one copy lies, from the sheet's top left corner. A turned copy
// has its width along the sheet's height.
type Place struct {
	XMM      float64 `json:"x_mm"`
	YMM      float64 `json:"y_mm"`
	WidthMM  float64 `json:"width_mm"` // along the sheet's width, also of a turned copy
	HeightMM float64 `json:"height_mm"`
	Turned   bool    `json:"turned"`
}

// Holding is a sheet and how many copies it holds, as reports give it: sides to a
// hundredth of a millimetre, and the size's name, or the sides in words if it has none.
type Holding struct {
	Name     string  `json:"name"`
	WidthMM  float64 `json:"width_mm"`
	HeightMM float64 `json:"height_mm"`
	Copies   int     `json:"copies"`
}

func holding(s unit.Sheet, copies int) Holding {
	return Holding{s.String(), hundredths(s.WidthMM), hundredths(s.HeightMM), copies}
}

// Holding says what the layout's sheet holds.
func (l Layout) Holding() Holding { return holding(l.Sheet, l.Copies()) }

func hundredths(v float64) float64 { return math.Round(v*100) / 100 }

// slack forgives a print that overshoots by a hundredth of a millimetre, as
// sizes worked out from pixels do.
const slack = 0.01

// Fit places as many copies of a print as a sheet holds, as [Room.Fit] does where no
// corners are kept free.
func Fit(widthMM, heightMM float64, s unit.Sheet, marginMM, gapMM float64) (Layout, error) {
	return Room{Sheet: s, MarginMM: marginMM, GapMM: gapMM}.Fit(widthMM, heightMM)
}

// Fit places as many copies of a print as it finds room for: no fewer than grids of one way
// or blocks of both hold, nor, where the search is not cut off, than any five grids around
// each other. The error is a [fault.Fault] that says by how much a print that does not fit
// at all is too large, and what of {width}, {height} and {sheet} to change.
func (r Room) Fit(widthMM, heightMM float64) (Layout, error) {
	if !(widthMM > 0) || !(heightMM > 0) {
		return Layout{}, &fault.Fault{Err: fmt.Errorf("a print of %g × %g mm has no area", widthMM, heightMM), Hint: "give {width} or {height}"}
	}
	freeW, freeH := r.Sheet.WidthMM-2*r.MarginMM, r.Sheet.HeightMM-2*r.MarginMM
	l := Layout{Sheet: r.Sheet}
	if r.CornerMM > 0 {
		l.Places = r.between(widthMM, heightMM)
		if len(l.Places) == 0 {
			return l, &fault.Fault{Err: fmt.Errorf("a print of %.1f × %.1f mm does not fit %s with margins of %g mm (%.1f × %.1f mm are free) and corners of %g mm for a cutter", widthMM, heightMM, r.Sheet, r.MarginMM, freeW, freeH, r.CornerMM),
				Hint: "make it smaller with {width} or take a larger {sheet}"}
		}
		return l, nil
	}
	for _, b := range blocks(widthMM, heightMM, freeW, freeH, r.GapMM) {
		w, h := widthMM, heightMM
		if b.turned {
			w, h = h, w
		}
		for j := range fits(h, b.h, r.GapMM) {
			for i := range fits(w, b.w, r.GapMM) {
				l.Places = append(l.Places, Place{r.MarginMM + b.x + float64(i)*(w+r.GapMM), r.MarginMM + b.y + float64(j)*(h+r.GapMM), w, h, b.turned})
			}
		}
	}
	if len(l.Places) == 0 {
		return l, &fault.Fault{Err: fmt.Errorf("a print of %.1f × %.1f mm does not fit %s with margins of %g mm (%.1f × %.1f mm are free)", widthMM, heightMM, r.Sheet, r.MarginMM, freeW, freeH),
			Hint: "make it smaller with {width} or take a larger {sheet}"}
	}
	return l, nil
}

// fits is how many sides, with gaps between them, go on a free length.
func fits(side, free, gap float64) int {
	return max(0, int(math.Floor((free+gap+slack)/(side+gap))))
}

// blocks are those of the free area that hold the most copies, of the simplest pattern that
// does: a grid, blocks of both ways, or blocks within blocks.
func blocks(w, h, freeW, freeH, gap float64) []block {
	upright, turned := fits(w, freeW, gap)*fits(h, freeH, gap), fits(h, freeW, gap)*fits(w, freeH, gap)
	best, most := []block{{0, 0, freeW, freeH, turned > upright}}, max(upright, turned)
	if most == 0 {
		return nil
	}
	if mixed, n := mixedBlocks(w, h, freeW, freeH, gap); n > most {
		best, most = mixed, n
	}
	if tiles := fiveBlocks(units(w+gap), units(h+gap), units(freeW+gap+slack), units(freeH+gap+slack), int64(most)); tiles != nil {
		best = nil
		for _, t := range tiles {
			best = append(best, t.block(gap))
		}
	}
	return best
}

// block is a part of the free area whose copies all stand the same way.
type block struct {
	x, y, w, h float64
	turned     bool
}

// mixedBlocks finds blocks of both ways that hold the most copies: two side by side
// or one over the other, or four around a corner each (the four-block pattern of
// Steudel 1979 and Smith and De Cani 1980). It tries all numbers of columns and rows.
func mixedBlocks(w, h, freeW, freeH, gap float64) (best []block, most int) {
	count := func(side, free float64) int { return fits(side, free, gap) }
	grid := func(b block) int {
		if b.turned {
			return count(h, b.w) * count(w, b.h)
		}
		return count(w, b.w) * count(h, b.h)
	}
	try := func(blocks ...block) {
		n := 0
		for _, b := range blocks {
			if b.w > 0 && b.h > 0 {
				n += grid(b)
			}
		}
		if n > most {
			best, most = blocks, n
		}
	}
	span := func(n int, side float64) float64 { return float64(n)*(side+gap) - gap } // of n copies
	after := func(length float64) float64 { return max(0, length) + gap }
	for _, first := range []bool{false, true} {
		a, b := w, h // of the first block's copies
		if first {
			a, b = b, a
		}
		for n := 1; n <= count(a, freeW); n++ {
			s := span(n, a)
			try(block{0, 0, s, freeH, first}, block{after(s), 0, freeW - after(s), freeH, !first})
		}
		for n := 1; n <= count(b, freeH); n++ {
			s := span(n, b)
			try(block{0, 0, freeW, s, first}, block{0, after(s), freeW, freeH - after(s), !first})
		}
		// Four blocks turn like a wheel: one and three stand the first way, in the
		// top left and bottom right corners, two and four the other way.
		across, down, high := count(a, freeW), count(b, freeH), count(a, freeH)
		if across*down*across*high > mostWheels {
			continue
		}
		for i := 1; i <= across; i++ {
			for j := 1; j <= down; j++ {
				for k := 1; k <= across; k++ {
					for l := 1; l <= high; l++ {
						w1, h1, w3, h2 := span(i, a), span(j, b), span(k, a), span(l, a)
						overlap13 := w1+gap+w3 > freeW+slack
						if (overlap13 && h1 > h2) || (!overlap13 && h2 > h1) {
							continue
						}
						try(block{0, 0, w1, h1, first},
							block{after(w1), 0, freeW - after(w1), h2, !first},
							block{freeW - w3, after(h2), w3, freeH - after(h2), first},
							block{0, after(h1), freeW - w3 - gap, freeH - after(h1), !first})
					}
				}
			}
		}
	}
	return best, most
}

// mostWheels bounds the patterns that are tried.
const mostWheels = 200_000

// Copies is the number of copies on the sheet.
func (l Layout) Copies() int { return len(l.Places) }

// Sheets is how many sheets a quantity of copies takes.
func (l Layout) Sheets(quantity int) int {
	return (quantity + l.Copies() - 1) / l.Copies()
}
