package flaw

import (
	"cmp"
	"math"
	"slices"
)

// places gathers the boxes of a finding's places, each with a number that is the
// smaller the worse it is.
type places struct {
	all []spot
}

type spot struct {
	Box
	size float64
}

func (p *places) add(b Box, size float64) { p.all = append(p.all, spot{b, size}) }

// Boxes nearer to each other than joinMM are one, as long as what they hold fills a
// part of the box around them: the lines of a hatching are one place, a long bent line
// and what lies within its bend are two.
const (
	joinMM   = 0.5
	joinFill = 0.4
	// mostJoined is how many of the worst are joined: a screen has a million dots.
	mostJoined = 4000
)

// boxes are the places, worst first, at most maxBoxes, and how many places there are,
// those that lie close together counting as one.
func (p *places) boxes() ([]Box, int) {
	list := slices.Clone(p.all)
	more := 0
	if len(list) > mostJoined {
		slices.SortStableFunc(list, func(a, b spot) int { return cmp.Compare(a.size, b.size) })
		list, more = list[:mostJoined], len(list)-mostJoined
	}
	slices.SortStableFunc(list, func(a, b spot) int { return cmp.Compare(a.XMM, b.XMM) })
	filled := make([]float64, len(list)) // mm² that the boxes that were joined take
	for i, s := range list {
		filled[i] = s.area()
	}
	for joined := true; joined; {
		joined = false
		for i := range list {
			if math.IsNaN(list[i].size) {
				continue
			}
			for j := i + 1; j < len(list) && list[j].XMM <= list[i].XMM+list[i].WidthMM+joinMM; j++ {
				if math.IsNaN(list[j].size) || list[j].YMM > list[i].YMM+list[i].HeightMM+joinMM || list[i].YMM > list[j].YMM+list[j].HeightMM+joinMM {
					continue
				}
				both := list[i].with(list[j])
				if filled[i]+filled[j] < joinFill*both.area() {
					continue
				}
				list[i], filled[i] = both, math.Min(both.area(), filled[i]+filled[j])
				list[j].size = math.NaN() // taken
				joined = true
			}
		}
		list, filled = compact(list, filled)
	}
	slices.SortStableFunc(list, func(a, b spot) int { return cmp.Compare(a.size, b.size) })
	var out []Box
	for _, s := range list[:min(len(list), maxBoxes)] {
		out = append(out, Box{s.XMM, s.YMM, round(s.WidthMM, 100), round(s.HeightMM, 100)})
	}
	return out, len(list) + more
}

// compact lets go of what was taken, and keeps the order.
func compact(list []spot, filled []float64) ([]spot, []float64) {
	n := 0
	for i, s := range list {
		if !math.IsNaN(s.size) {
			list[n], filled[n] = s, filled[i]
			n++
		}
	}
	return list[:n], filled[:n]
}

// area is a box's area with a rim of half of joinMM, so that thin ones have one.
func (s spot) area() float64 { return (s.WidthMM + joinMM) * (s.HeightMM + joinMM) }

// with is the box around two, as bad as the worse.
func (s spot) with(o spot) spot {
	x, y := math.Min(s.XMM, o.XMM), math.Min(s.YMM, o.YMM)
	w, h := math.Max(s.XMM+s.WidthMM, o.XMM+o.WidthMM)-x, math.Max(s.YMM+s.HeightMM, o.YMM+o.HeightMM)-y
	return spot{Box{x, y, w, h}, math.Min(s.size, o.size)}
}
