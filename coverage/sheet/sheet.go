// Package sheet says how many copies of one print go on a sheet of media, and
// where.
//
// Copies stand in a grid of equal gaps, either all upright or all turned by a
// quarter, whichever holds more. Margins stay free on all four sides.
package sheet

import (
	"fmt"
	"math"

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
	XMM, YMM, WidthMM, HeightMM float64
	Turned                      bool
}

// slack forgives a print that overshoots by a hundredth of a millimetre, as
// sizes worked out from pixels do.
const slack = 0.01

// Fit places as many copies of a print as the sheet holds. The error says by
// how much a print that does not fit at all is too large, and what to do.
func Fit(widthMM, heightMM float64, s unit.Sheet, marginMM, gapMM float64) (Layout, error) {
	if !(widthMM > 0) || !(heightMM > 0) {
		return Layout{}, fmt.Errorf("a print of %g × %g mm has no area: give --width or --height", widthMM, heightMM)
	}
	freeW, freeH := s.WidthMM-2*marginMM, s.HeightMM-2*marginMM
	count := func(side, free float64) int {
		return max(0, int(math.Floor((free+gapMM+slack)/(side+gapMM))))
	}
	upright := count(widthMM, freeW) * count(heightMM, freeH)
	turned := count(heightMM, freeW) * count(widthMM, freeH)
	l := Layout{Sheet: s}
	if upright+turned == 0 {
		return l, fmt.Errorf("a print of %.1f × %.1f mm does not fit %s with margins of %g mm (%.1f × %.1f mm are free): make it smaller with --width or take a larger --sheet",
			widthMM, heightMM, s, marginMM, freeW, freeH)
	}
	w, h := widthMM, heightMM
	if turned > upright {
		w, h = h, w
	}
	for j := range count(h, freeH) {
		for i := range count(w, freeW) {
			l.Places = append(l.Places, Place{marginMM + float64(i)*(w+gapMM), marginMM + float64(j)*(h+gapMM), w, h, turned > upright})
		}
	}
	return l, nil
}

// Copies is the number of copies on the sheet.
func (l Layout) Copies() int { return len(l.Places) }

// PrintedShare is the part of the sheet, 0–1, that lies within print boxes.
func (l Layout) PrintedShare() float64 {
	a := 0.0
	for _, p := range l.Places {
		a += p.WidthMM * p.HeightMM
	}
	return a / l.Sheet.AreaMM2()
}

// Sheets is how many sheets a quantity of copies takes.
func (l Layout) Sheets(quantity int) int {
	return (quantity + l.Copies() - 1) / l.Copies()
}
