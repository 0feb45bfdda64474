package flaw

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"laydown/coverage/distance"
	"laydown/coverage/island"
)

// touched is the part of a pixel, of 255, from which it belongs to a shape.
const touched = 40

// touchedJPEG is the same for art that was compressed with loss.
const touchedJPEG = 110

// shape is an island's box and its area in pixels, half-covered ones counting
// half.
type shape struct {
	x0, y0, x1, y1 int // pixels, all inside
	area           float64
	hole           bool
}

func (s shape) height() float64 { return float64(s.y1 - s.y0 + 1) }
func (s shape) width() float64  { return float64(s.x1 - s.x0 + 1) }

// shapesOf finds the islands of a plane. With hole set, those of what it leaves
// open, without what runs to the picture's edge.
func (d *sketch) shapesOf(plane []uint8, hole bool) (out []shape) {
	w, h := d.w, d.h
	m := distance.Mask{Pix: plane, Width: w, Height: h, Threshold: touched}
	if d.lossy { // its noise does not pass for specks
		m.Threshold = touchedJPEG
	}
	if hole {
		m.Threshold, m.Below = 255-m.Threshold+1, true
	}
	found := island.Find(m, !hole)
	for _, i := range found.Islands {
		if hole && i.AtEdge(w, h) {
			continue
		}
		v := shape{x0: i.X0, y0: i.Y0, x1: i.X1, y1: i.Y1, hole: hole}
		if i.Pixels > mostCounted { // far too large for a speck or a letter
			v.area = float64(i.Pixels)
			out = append(out, v)
			continue
		}
		sum := 0
		for _, r := range found.Runs(i) {
			for _, p := range plane[int(r.Y)*w+int(r.X0) : int(r.Y)*w+int(r.X1)] {
				sum += int(p)
			}
		}
		if v.area = float64(sum) / 255; hole {
			v.area = float64(i.Pixels) - v.area
		}
		out = append(out, v)
	}
	return out
}

const mostCounted = 20000

// leastColourSpeckPX is the area in pixels below which an island on another colour is
// no speck: where three colours meet a pixel can be taken for a mix with a fourth.
// leastSpeckPX is the same against bare ground, where only noise is so small.
const (
	leastColourSpeckPX = 1.5
	leastSpeckPX       = 0.3
)

// speckPX is the area in pixels below which an island is a speck.
func (s *scene) speckPX() float64 { return s.sketch().dotPX(s.Limits.SmallestDotMM) }

func (s *scene) specks(all [][]shape) *Finding {
	limit, smallest := s.speckPX(), leastSpeckPX
	if !s.Art.HasAlpha { // ramps and compression leave crumbs on a bare ground
		smallest = leastColourSpeckPX
	}
	r := newRegions(s)
	n, holes, least := 0, 0, math.Inf(1)
	seen := map[[2]int]bool{} // a speck shows in the art and in its own colour
	for _, plane := range all {
		for _, v := range plane {
			if v.area >= limit || v.area < smallest {
				continue
			}
			at := [2]int{(v.x0 + v.x1) / 2, (v.y0 + v.y1) / 2}
			if seen[at] {
				continue
			}
			seen[at] = true
			n++
			if v.hole {
				holes++
			}
			least = math.Min(least, v.area)
			s.box(r, v, 1/v.area)
		}
	}
	if n == 0 {
		return nil
	}
	mm := 2 * math.Sqrt(least/math.Pi) * s.sketch().pixelMM
	f := &Finding{Kind: Speck, Severity: Look, Measured: mm, Limit: s.Limits.SmallestDotMM, Unit: "mm"}
	f.Boxes, _ = r.boxes()
	f.Places = n
	what := counted(n-holes, "speck", "specks")
	switch {
	case holes == n:
		what = counted(holes, "pinhole", "pinholes")
	case holes > 0:
		what += " and " + counted(holes, "pinhole", "pinholes")
	}
	f.Advice = fmt.Sprintf("%s smaller than a dot of %.2f mm, the smallest %.2f mm across: they do not transfer, or fill. Clean up the art, or make them larger.",
		what, f.Limit, mm)
	return f
}

// box marks a shape's corners.
func (s *scene) box(r *regions, v shape, bad float64) {
	k := s.sketch().scale
	r.add(v.x0*k, v.y0*k, bad)
	r.add(v.x1*k+k-1, v.y1*k+k-1, bad)
}

func counted(n int, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return fmt.Sprintf("%d %s", n, many)
}

// smallText looks for rows of islands of the size and shape of letters.
func (s *scene) smallText(all [][]shape) *Finding {
	limit := s.sketch().pixels(s.Limits.SmallestTextMM)
	if limit < 3 { // smaller letters have no pixels to be told by
		return nil
	}
	r := newRegions(s)
	least := math.Inf(1)
	for _, plane := range all {
		for _, row := range textRows(plane, limit, s.speckPX()) {
			x := xHeight(row)
			if x >= limit-0.5 {
				continue
			}
			least = math.Min(least, x)
			for _, v := range row {
				s.box(r, v, 1/x)
			}
		}
	}
	if math.IsInf(least, 1) {
		return nil
	}
	mm := least * s.sketch().pixelMM
	f := &Finding{Kind: SmallText, Severity: Look, Measured: mm, Limit: s.Limits.SmallestTextMM, Unit: "mm"}
	if mm < 0.6*f.Limit {
		f.Severity = Stop
	}
	f.Boxes, f.Places = r.boxes()
	f.Advice = fmt.Sprintf("What looks like lettering is as small as %.2f mm (height of an x, or of capitals where there are only those); below %.2f mm letters close up and lift. Set it larger",
		mm, f.Limit) + orLarger(f) + "."
	return f
}

// leastLetters make a row: fewer small islands side by side are as well anything
// else.
const leastLetters = 4

// textRows gathers islands of about the height of letters that stand side by side
// on one line.
func textRows(all []shape, limitPX, speckPX float64) (rows [][]shape) {
	var letters []shape
	for _, v := range all {
		fill := v.area / (v.width() * v.height())
		if h := v.height(); h <= 2*limitPX && h >= 3 && v.width() <= 2.5*h && fill > 0.12 && v.area >= math.Min(speckPX, 6) {
			letters = append(letters, v)
		}
	}
	slices.SortFunc(letters, func(a, b shape) int { return cmp.Or(cmp.Compare(a.x0, b.x0), cmp.Compare(a.y0, b.y0)) })
	// Each letter joins the nearest row that ends just left of it.
	var open []int // rows that another letter may still join
	for _, v := range letters {
		best := -1
		open = slices.DeleteFunc(open, func(i int) bool { return float64(v.x0-rows[i][len(rows[i])-1].x1) > 2.4*limitPX })
		for _, i := range open {
			last := rows[i][len(rows[i])-1]
			tall := math.Max(last.height(), v.height())
			gap := float64(v.x0 - last.x1)
			if gap < -0.2*tall || gap > 1.2*tall || math.Abs(float64(v.y1-last.y1)) > 0.35*tall || math.Min(last.height(), v.height()) < 0.4*tall {
				continue
			}
			if best < 0 || gap < float64(v.x0-rows[best][len(rows[best])-1].x1) {
				best = i
			}
		}
		if best >= 0 {
			rows[best] = append(rows[best], v)
		} else {
			open = append(open, len(rows))
			rows = append(rows, []shape{v})
		}
	}
	return slices.DeleteFunc(rows, func(row []shape) bool { return len(row) < leastLetters || alike(row) })
}

// alike reports whether all shapes of a row have the same area, as the dots of a
// pattern have and letters have not.
func alike(row []shape) bool {
	mean, spread := 0.0, 0.0
	for _, v := range row {
		mean += v.area / float64(len(row))
	}
	for _, v := range row {
		spread += (v.area - mean) * (v.area - mean) / float64(len(row))
	}
	return math.Sqrt(spread) < 0.1*mean
}

// xHeight is the height that the lower letters of a row share.
func xHeight(row []shape) float64 {
	var h []float64
	for _, v := range row {
		h = append(h, v.height())
	}
	slices.Sort(h)
	return h[len(h)*3/10]
}
