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
	left, right    float64
	area           float64
	peak           float64 // codes by which it differs from its ground
	hollow         bool    // a line through it crosses more than one stroke
	sharp          float64 // part of its rise that its edges take within two pixels, at the median
	ink            codes   // its colour; told on a ground of any colours alone
}

func (l letter) height() float64 { return l.bottom - l.top }
func (l letter) width() float64  { return l.right - l.left }

// lines are the boxes of rows of islands of the size and shape of letters that are too
// small, in pixels, found on each of the grounds of the art, and the heights of an x in them.
func (s *scene) lines() (boxes []letter, xs []float64) {
	v := s.view()
	limit := v.pixels(s.Limits.SmallestTextMM)
	if limit < 3 { // smaller letters have no pixels to be told by
		return nil, nil
	}
	noise := 8
	if s.lossy() {
		noise = 24
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
			both[i] = textRows(v.letters(plane, ink, limit), limit, noise)
		})
		for _, row := range slices.Concat(both...) {
			if b := bounds(row); !v.grain.at(b.x0, b.y0, b.x1, b.y1) {
				found = append(found, row)
			}
		}
	}
	for _, dark := range []bool{false, true} {
		for _, row := range v.reliefRows(limit, dark, noise) {
			if s.written(row) {
				found = append(found, row)
			}
		}
	}
	// What lies between letters, and within them, stands out from them as they do from it.
	// There are fewer of it.
	slices.SortStableFunc(found, func(a, b []letter) int { return cmp.Compare(len(b), len(a)) })
	var taken []letter // bounds of rows
	for _, row := range found {
		b := bounds(row)
		if slices.ContainsFunc(taken, func(o letter) bool {
			return o.x0 <= b.x1 && b.x0 <= o.x1 && o.y0 <= (b.y0+b.y1)/2 && (b.y0+b.y1)/2 <= o.y1
		}) {
			continue
		}
		taken = append(taken, b)
		if x := xHeight(row); x < limit {
			boxes, xs = append(boxes, b), append(xs, x)
		}
	}
	return boxes, xs
}

func bounds(row []letter) letter {
	b := row[0]
	for _, l := range row {
		b.x0, b.y0, b.x1, b.y1 = min(b.x0, l.x0), min(b.y0, l.y0), max(b.x1, l.x1), max(b.y1, l.y1)
	}
	return b
}

// smallText tells of lettering that is too small.
func (s *scene) smallText(rows []smallRow) *Finding {
	if len(rows) == 0 {
		return nil
	}
	v := s.view()
	least := slices.MinFunc(rows, func(a, b smallRow) int { return cmp.Compare(a.xPX, b.xPX) })
	mm := least.xPX * v.pixelMM
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
	if t := least.text; t.Size > 0 && t.Font != "" {
		f.Advice = fmt.Sprintf("Text in %s at %.1f pt is as small as %.2f mm (height of an x, or of capitals where there are only those); below %.2f mm letters close up and lift. Set it larger",
			t.Font, t.Size*float64(s.Art.Width)*s.PixelMM/ptMM, mm, f.Limit) + orLarger(f) + "."
	}
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
	w, skip := v.Width, v.skips()
	cores.Share(v.Height, func(lo, hi int) {
		for y := lo; y < hi; y++ {
			last, d := [3]uint8(ground), uint8(0)
			for x0 := 0; x0 < w; x0 += grainTile {
				part := plane[y*w+x0 : y*w+min(x0+grainTile, w)]
				if skip(x0, y) {
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
	for _, i := range found.Islands {
		height := i.Y1 - i.Y0 + 1
		if float64(height) > tallest*limitPX+2 || height < 3 || i.AtEdge(w, h) || i.X1-i.X0+1 > mostWide*height {
			continue
		}
		peak := uint8(0)
		for _, r := range found.Runs(i) {
			for _, p := range plane[int(r.Y)*w+int(r.X0) : int(r.Y)*w+int(r.X1)] {
				peak = max(peak, p)
			}
		}
		if int(peak) < k.least || int(peak) > k.most {
			continue
		}
		l := measure(plane, w, i, found.Runs(i), peak)
		out = append(out, l)
	}
	return out
}

// measure tells an island's size and shape from how far pixels are from its ground, of
// which peak is the most within it.
func measure(plane []uint8, w int, i island.Island, runs []island.Run, peak uint8) letter {
	l := letter{x0: i.X0, y0: i.Y0, x1: i.X1, y1: i.Y1, peak: float64(peak)}
	part := func(x, y int) float64 { return math.Min(1, float64(plane[y*w+x])/float64(peak)) }
	for _, r := range runs {
		for x := int(r.X0); x < int(r.X1); x++ {
			l.area += part(x, int(r.Y))
		}
	}
	// The rows and columns beside it hold what antialiasing left there.
	rows, columns := make([]float64, i.Y1-i.Y0+3), make([]float64, i.X1-i.X0+3)
	for y := i.Y0 - 1; y <= i.Y1+1; y++ {
		for x := i.X0 - 1; x <= i.X1+1; x++ {
			v := part(x, y)
			if x >= i.X0 && x <= i.X1 {
				rows[y-i.Y0+1] = math.Max(rows[y-i.Y0+1], v)
			}
			if y >= i.Y0 && y <= i.Y1 {
				columns[x-i.X0+1] = math.Max(columns[x-i.X0+1], v)
			}
		}
	}
	l.top, l.bottom = ends(rows, i.Y0, i.Y1)
	l.left, l.right = ends(columns, i.X0, i.X1)
	for y := i.Y0; y <= i.Y1 && !l.hollow; y++ {
		l.hollow = dips(i.X1-i.X0+1, func(k int) float64 { return part(i.X0+k, y) })
	}
	for x := i.X0; x <= i.X1 && !l.hollow; x++ {
		l.hollow = dips(i.Y1-i.Y0+1, func(k int) float64 { return part(x, i.Y0+k) })
	}
	var rises []float64
	for _, r := range runs {
		for _, at := range [2][2]int{{int(r.X0), -1}, {int(r.X1) - 1, 1}} {
			in, out := at[0]-at[1], at[0]+at[1]
			if in < int(r.X0) || in >= int(r.X1) {
				in = at[0]
			}
			rises = append(rises, math.Max(part(at[0], int(r.Y)), part(in, int(r.Y)))-part(out, int(r.Y)))
		}
	}
	slices.Sort(rises)
	l.sharp = rises[len(rises)/2]
	return l
}

// ends are where a shape of strengths from one pixel to another, and one more on either
// side, starts and ends.
func ends(of []float64, from, to int) (start, end float64) {
	n := len(of)
	start, end = float64(from)+1-of[1], float64(to)+of[n-2]
	if of[1] > 0.95 && of[0] < 0.95 {
		start -= of[0]
	}
	if of[n-2] > 0.95 && of[n-1] < 0.95 {
		end += of[n-1]
	}
	return start, end
}

// dips reports whether strengths along a line fall between two strokes.
func dips(n int, at func(k int) float64) bool {
	top, bottom := 0.0, 0.0 // the strongest, and the weakest since
	for k := range n {
		v := at(k)
		if bottom < top-leastDip && v > bottom+leastDip {
			return true
		}
		if v > top && bottom > top-leastDip {
			top, bottom = v, v
		}
		bottom = math.Min(bottom, v)
	}
	return false
}

// leastDip is by how much of a shape's strength it falls between two strokes.
const leastDip = 0.25

// tallest is how many times taller than the limit a letter is at most that is looked at:
// rows of letters that hold tell what lies between them.
const tallest = 3

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
func textRows(all []letter, limitPX float64, noise int) (rows [][]letter) {
	var letters []letter
	for _, v := range all {
		fill := v.area / (v.width() * v.height())
		if h := v.height(); h <= tallest*limitPX && h >= 2.5 && fill > 0.12 && v.area >= 6 {
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
		open = slices.DeleteFunc(open, func(i int) bool { return float64(v.x0-rows[i][len(rows[i])-1].x1) > 1.2*tallest*limitPX })
		for _, i := range open {
			last := rows[i][len(rows[i])-1]
			tall := math.Max(last.height(), v.height())
			gap := float64(v.x0 - last.x1)
			if gap < -0.2*tall || gap > 1.2*tall || math.Abs(v.bottom-last.bottom) > 0.35*tall || math.Min(last.height(), v.height()) < 0.4*tall ||
				apart(last.ink, v.ink) > noise+int(inkSpread*math.Min(last.peak, v.peak)) {
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
		return len(row) < leastLetters && (len(row) < 2 || count(row) < leastJoined) || alike(row) || whole(row) || crowded(row, letters)
	})
}

// inkSpread is the part of what they differ from their ground by that the inks of letters
// of a row differ at most.
const inkSpread = 0.15

// count is about how many letters a row has: those that run into each other are one
// island.
func count(row []letter) (n int) {
	for _, v := range row {
		n += max(1, int(v.width()/v.height()/0.7))
	}
	return n
}

// alike reports whether all shapes of a row have the same area, or shapes side by side
// mostly the same size, as those of a pattern have, also where it grows along the row;
// letters have not.
func alike(row []letter) bool {
	mean, spread := 0.0, 0.0
	for _, v := range row {
		mean += v.area / float64(len(row))
	}
	for _, v := range row {
		spread += (v.area - mean) * (v.area - mean) / float64(len(row))
	}
	if math.Sqrt(spread) < 0.1*mean {
		return true
	}
	differ := func(a, b float64) float64 { return math.Abs(a-b) / math.Max(a, b) }
	var by []float64
	for i := 1; i < len(row); i++ {
		a, b := row[i-1], row[i]
		by = append(by, math.Max(differ(a.area, b.area), math.Max(differ(a.width(), b.width()), differ(a.height(), b.height()))))
	}
	if len(by) == 0 {
		return false
	}
	slices.Sort(by)
	return by[len(by)/2] < leastUnlike
}

// whole reports whether most shapes of a row are crossed but once by any line, as dots,
// blots and strokes are: of letters but the stems are.
func whole(row []letter) bool {
	n, hollow := 0, 0
	for _, v := range row {
		if v.width() >= 0.5*v.height() {
			n++
		}
		if v.hollow {
			hollow++
		}
	}
	return float64(hollow) < leastHollow*float64(n) || hollow == 0
}

// crowded reports whether most shapes of a row have others close above or below them, as
// what lies between crossing lines has: lines of text are further apart. All are in the
// order of their left ends.
func crowded(row, all []letter) bool {
	n, x := 0, xHeight(row)
	widest := 0
	for _, v := range all {
		widest = max(widest, v.x1-v.x0)
	}
	for _, v := range row {
		from, _ := slices.BinarySearchFunc(all, v.x0-widest, func(o letter, x int) int { return cmp.Compare(o.x0, x) })
		for _, o := range all[from:] {
			if o.x0 > v.x1 {
				break
			}
			if o.x1 < v.x0 || o.y0 == v.y0 && o.x0 == v.x0 {
				continue
			}
			if gap := math.Max(o.top-v.bottom, v.top-o.bottom); gap > -0.5*x && gap < closeLines*x {
				n++
				break
			}
		}
	}
	return 2*n > len(row)
}

// closeLines is how close shapes above each other are, in heights of an x, if they are no
// lines of text: between ascenders and descenders of lines set solid there is more.
const closeLines = 0.3

// leastUnlike is the part of their size by which letters side by side differ at the
// median, and leastHollow the part of a row's letters, stems aside, that are crossed
// twice.
const (
	leastUnlike = 0.12
	leastHollow = 0.35
)

// xHeight is the height that the lower letters of a row share.
func xHeight(row []letter) float64 {
	var h []float64
	for _, v := range row {
		h = append(h, v.height())
	}
	slices.Sort(h)
	return h[len(h)*3/10]
}
