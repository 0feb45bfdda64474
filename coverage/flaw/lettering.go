package flaw

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"laydown/colour/cores"
	"laydown/coverage/distance"
	"laydown/coverage/island"
)

// letter is an island of about the size of a letter, in pixels of a view.
type letter struct {
	x0, y0, x1, y1 int     // all inside
	top, bottom    float64 // to a fraction of a pixel
	area           float64
}

func (l letter) height() float64 { return l.bottom - l.top }
func (l letter) width() float64  { return float64(l.x1 - l.x0 + 1) }

// lines are the boxes of rows of islands of the size and shape of letters that are too
// small, in pixels, found on each of the grounds of the art, and the least height of an
// x among them.
func (s *scene) lines() (boxes []letter, least float64) {
	v := s.view()
	limit := v.pixels(s.Limits.SmallestTextMM)
	if limit < 3 { // smaller letters have no pixels to be told by
		return nil, 0
	}
	grounds := v.grounds()
	var found [][]letter
	plane := make([]uint8, v.Width*v.Height)
	for _, ground := range grounds {
		v.differ(ground, plane)
		both := make([][][]letter, len(inks))
		cores.Each(len(inks), func(i int) {
			ink := inks[i]
			if s.lossy() {
				ink.least = max(ink.least, leastLossyInk)
			}
			both[i] = textRows(v.letters(plane, ink, limit), limit)
		})
		found = append(found, slices.Concat(both...)...)
	}
	least = math.Inf(1)
	for _, row := range found {
		x := xHeight(row)
		if x >= limit {
			continue
		}
		b := row[0]
		for _, l := range row {
			b.x0, b.y0, b.x1, b.y1 = min(b.x0, l.x0), min(b.y0, l.y0), max(b.x1, l.x1), max(b.y1, l.y1)
		}
		if v.grain.at(b.x0, b.y0, b.x1, b.y1) {
			continue
		}
		least = math.Min(least, x)
		// Grounds that are nearly of one colour have the same letters.
		if !slices.ContainsFunc(boxes, func(o letter) bool {
			return o.x0 <= b.x1 && b.x0 <= o.x1 && o.y0 <= (b.y0+b.y1)/2 && (b.y0+b.y1)/2 <= o.y1
		}) {
			boxes = append(boxes, b)
		}
	}
	return boxes, least
}

// smallText tells of lettering that is too small.
func (s *scene) smallText(rows []letter, least float64) *Finding {
	if len(rows) == 0 {
		return nil
	}
	v := s.view()
	mm := least * v.pixelMM
	f := &Finding{Kind: SmallText, Severity: Look, Measured: mm, Limit: s.Limits.SmallestTextMM, Unit: "mm"}
	if mm < stopPart*f.Limit {
		f.Severity = Stop
	}
	places := places{}
	for _, l := range rows {
		places.add(v.box(float64(l.x0), float64(l.y0), float64(l.x1+1), float64(l.y1+1)), l.height())
	}
	f.Boxes, f.Places = places.boxes()
	f.Advice = fmt.Sprintf("What looks like lettering is as small as %.2f mm (height of an x, or of capitals where there are only those); below %.2f mm letters close up and lift. Set it larger",
		mm, f.Limit) + orLarger(f) + "."
	return f
}

// ink is how far letters differ from their ground, in codes: at their strongest and
// where they end.
type ink struct{ least, most, end int }

// inks are strong ones and weak ones; the end of a strong one lets letters that
// antialiasing joins fall apart.
var inks = [2]ink{{least: 100, most: 255, end: 60}, {least: 30, most: 99, end: 20}}

// leastLossyInk is the same in art that was compressed, whose noise is letters else.
const leastLossyInk = 50

// grounds are the colours that letters may stand on: those that the picture has most
// of, and what is bare.
func (v *view) grounds() (out []codes) {
	out = slices.Clone(v.flats[:min(len(v.flats), mostGrounds)])
	if !slices.Contains(out, v.bare) {
		out = append(out, v.bare)
	}
	return out
}

const mostGrounds = 4

// differ sets plane to how far each pixel's colour is from a ground, codes. What is grainy
// has no letters.
func (v *view) differ(ground codes, plane []uint8) {
	w := v.Width
	cores.Share(v.Height, func(lo, hi int) {
		for y := lo; y < hi; y++ {
			last, d := [3]uint8(ground), uint8(0)
			for x0 := 0; x0 < w; x0 += grainTile {
				part := plane[y*w+x0 : y*w+min(x0+grainTile, w)]
				if v.grain.has(x0, y) {
					clear(part)
					continue
				}
				for i := range part {
					if p := [3]uint8(v.Pix[4*(y*w+x0+i):]); p != last {
						last = p
						d = uint8(apart(p, ground))
					}
					part[i] = d
				}
			}
		}
	})
}

// letters are the islands on a ground, from which every pixel of plane is so far, that
// are no larger than letters of a limit are.
func (v *view) letters(plane []uint8, k ink, limitPX float64) (out []letter) {
	w, h := v.Width, v.Height
	found := island.Find(distance.Mask{Pix: plane, Width: w, Height: h, Threshold: uint8(k.end)}, true)
	rowMax := []float64{}
	for _, i := range found.Islands {
		height := i.Y1 - i.Y0 + 1
		if float64(height) > 2*limitPX+2 || height < 3 || i.AtEdge(w, h) || i.X1-i.X0+1 > mostWide*height {
			continue
		}
		peak, sum := uint8(0), 0
		for _, r := range found.Runs(i) {
			for _, p := range plane[int(r.Y)*w+int(r.X0) : int(r.Y)*w+int(r.X1)] {
				peak = max(peak, p)
				sum += int(p)
			}
		}
		if int(peak) < k.least || int(peak) > k.most {
			continue
		}
		// The rows above and below hold what antialiasing left there.
		rowMax = rowMax[:0]
		for y := i.Y0 - 1; y <= i.Y1+1; y++ {
			most := uint8(0)
			for _, p := range plane[y*w+i.X0 : y*w+i.X1+1] {
				most = max(most, p)
			}
			rowMax = append(rowMax, math.Min(1, float64(most)/float64(peak)))
		}
		n := len(rowMax)
		l := letter{x0: i.X0, y0: i.Y0, x1: i.X1, y1: i.Y1, area: float64(sum) / float64(peak)}
		l.top = float64(i.Y0) + 1 - rowMax[1]
		l.bottom = float64(i.Y1) + rowMax[n-2]
		if rowMax[1] > 0.95 && rowMax[0] < 0.95 {
			l.top -= rowMax[0]
		}
		if rowMax[n-2] > 0.95 && rowMax[n-1] < 0.95 {
			l.bottom += rowMax[n-1]
		}
		out = append(out, l)
	}
	return out
}

// mostWide is how many times wider than high letters that run into each other are at
// most.
const mostWide = 16

// leastLetters make a row: fewer small islands side by side are as well anything
// else. leastJoined make one where they run into each other.
const (
	leastLetters = 4
	leastJoined  = 10
	mostLetters  = 30000 // on a sheet; more are a screen
)

// textRows gathers islands of about the height of letters that stand side by side
// on one line.
func textRows(all []letter, limitPX float64) (rows [][]letter) {
	var letters []letter
	for _, v := range all {
		fill := v.area / (v.width() * v.height())
		if h := v.height(); h <= 2*limitPX && h >= 2.5 && fill > 0.12 && v.area >= 6 {
			letters = append(letters, v)
		}
	}
	if len(letters) > mostLetters {
		return nil
	}
	slices.SortFunc(letters, func(a, b letter) int { return cmp.Or(cmp.Compare(a.x0, b.x0), cmp.Compare(a.y0, b.y0)) })
	// Each letter joins the nearest row that ends just left of it.
	var open []int // rows that another letter may still join
	for _, v := range letters {
		best := -1
		open = slices.DeleteFunc(open, func(i int) bool { return float64(v.x0-rows[i][len(rows[i])-1].x1) > 2.4*limitPX })
		for _, i := range open {
			last := rows[i][len(rows[i])-1]
			tall := math.Max(last.height(), v.height())
			gap := float64(v.x0 - last.x1)
			if gap < -0.2*tall || gap > 1.2*tall || math.Abs(v.bottom-last.bottom) > 0.35*tall || math.Min(last.height(), v.height()) < 0.4*tall {
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
			rows = append(rows, []letter{v})
		}
	}
	return slices.DeleteFunc(rows, func(row []letter) bool {
		return len(row) < leastLetters && (len(row) < 2 || count(row) < leastJoined) || alike(row) || solid(row)
	})
}

// count is about how many letters a row has: those that run into each other are one
// island.
func count(row []letter) (n int) {
	for _, v := range row {
		n += max(1, int(v.width()/v.height()/0.7))
	}
	return n
}

// alike reports whether all shapes of a row have the same area, as the dots of a
// pattern have and letters have not.
func alike(row []letter) bool {
	mean, spread := 0.0, 0.0
	for _, v := range row {
		mean += v.area / float64(len(row))
	}
	for _, v := range row {
		spread += (v.area - mean) * (v.area - mean) / float64(len(row))
	}
	return math.Sqrt(spread) < 0.1*mean
}

// solid reports whether most shapes of a row fill the boxes around them, as spots and
// stones do and letters do not, but for those that are a stem.
func solid(row []letter) bool {
	full, n := 0, 0
	for _, v := range row {
		if v.width() < 0.5*v.height() {
			continue
		}
		n++
		if v.area > mostFilled*v.width()*v.height() {
			full++
		}
	}
	return 2*full > n
}

// mostFilled is the part of the box around it that a letter fills at most.
const mostFilled = 0.66

// xHeight is the height that the lower letters of a row share.
func xHeight(row []letter) float64 {
	var h []float64
	for _, v := range row {
		h = append(h, v.height())
	}
	slices.Sort(h)
	return h[len(h)*3/10]
}
