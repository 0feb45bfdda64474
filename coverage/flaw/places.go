package flaw

import (
	"cmp"
	"math"
	"slices"

	"laydown/coverage/stroke"
)

// places gathers the boxes of a finding's places, each with a number that is the
// smaller the worse it is.
type places struct {
	all      []spot
	outlines []Outline // of the boxes that were listed
}

type spot struct {
	Box
	size float64
	bent []Box // along it, nil if the box is tight
}

func (p *places) add(b Box, size float64) { p.all = append(p.all, spot{Box: b, size: size}) }

// addAlong adds a stroke through places of a view, so wide to either side.
func (p *places) addAlong(v *view, through []stroke.Place, half, size float64) {
	whole, bent := v.along(through, half)
	p.all = append(p.all, spot{whole, size, bent})
}

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
	p.outlines = nil
	for i, s := range list[:min(len(list), maxBoxes)] {
		out = append(out, Box{s.XMM, s.YMM, round(s.WidthMM, 100), round(s.HeightMM, 100)})
		if s.bent != nil {
			p.outlines = append(p.outlines, Outline{i, s.bent})
		}
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
	both := spot{Box: Box{x, y, w, h}, size: math.Min(s.size, o.size)}
	if s.bent != nil || o.bent != nil {
		both.bent = join(slices.Concat(s.parts(), o.parts()))
	}
	return both
}

// parts are the boxes along a spot: its own, if that is tight.
func (s spot) parts() []Box {
	if s.bent == nil {
		return []Box{s.Box}
	}
	return s.bent
}

// A stroke is bent if its box is longer than leastBentMM and boxes along it take a part of
// that at most.
const (
	mostParts   = 12
	leastBentMM = 3
	tightPart   = 0.5
)

// join takes together those of too many parts that grow least by it.
func join(parts []Box) []Box {
	around := func(a, b Box) Box {
		s := spot{Box: a}.with(spot{Box: b})
		return Box{s.XMM, s.YMM, round(s.WidthMM, 100), round(s.HeightMM, 100)}
	}
	area := func(b Box) float64 { return b.WidthMM * b.HeightMM }
	for len(parts) > mostParts {
		at, least := [2]int{}, math.Inf(1)
		for i, a := range parts {
			for j, b := range parts[:i] {
				if more := area(around(a, b)) - area(a) - area(b); more < least {
					at, least = [2]int{i, j}, more
				}
			}
		}
		parts[at[1]] = around(parts[at[0]], parts[at[1]])
		parts = slices.Delete(parts, at[0], at[0]+1)
	}
	return parts
}

// along is the box around a stroke through places of a view that is so wide to either
// side, and where that is mostly other than the stroke those along it, got by cutting the
// largest in two.
func (v *view) along(through []stroke.Place, half float64) (whole Box, bent []Box) {
	around := func(p []stroke.Place) Box {
		x0, y0, x1, y1 := p[0].X, p[0].Y, p[0].X, p[0].Y
		for _, q := range p {
			x0, y0, x1, y1 = min(x0, q.X), min(y0, q.Y), max(x1, q.X), max(y1, q.Y)
		}
		return v.box(float64(x0)+0.5-half, float64(y0)+0.5-half, float64(x1)+0.5+half, float64(y1)+0.5+half)
	}
	whole = around(through)
	if math.Max(whole.WidthMM, whole.HeightMM) < leastBentMM {
		return whole, nil
	}
	area := func(b Box) float64 { return b.WidthMM * b.HeightMM }
	cut, parts := [][]stroke.Place{slices.Clone(through)}, []Box{whole}
	for len(cut) < mostParts {
		at := 0
		for i, b := range parts {
			if area(b) > area(parts[at]) {
				at = i
			}
		}
		b, p := parts[at], cut[at]
		if math.Max(b.WidthMM, b.HeightMM) < leastBentMM/2 {
			break
		}
		mid := func(q stroke.Place) bool { return (float64(q.X)+0.5)*v.pixelMM < b.XMM+b.WidthMM/2 }
		if b.HeightMM > b.WidthMM {
			mid = func(q stroke.Place) bool { return (float64(q.Y)+0.5)*v.pixelMM < b.YMM+b.HeightMM/2 }
		}
		var low, high []stroke.Place
		for _, q := range p {
			if mid(q) {
				low = append(low, q)
			} else {
				high = append(high, q)
			}
		}
		if len(low) == 0 || len(high) == 0 {
			break
		}
		cut[at], parts[at] = low, around(low)
		cut, parts = append(cut, high), append(parts, around(high))
	}
	taken := 0.0
	for _, b := range parts {
		taken += area(b)
	}
	if taken < tightPart*area(whole) {
		bent = parts
	}
	return whole, bent
}
