package show

import (
	"fmt"
	"image"
	"image/color"
	"math"

	"laydown/coverage/flaw"
)

// How many places are drawn how: the worst of each finding have a number, some of
// those a close-up, and the rest a thin outline.
const (
	mostNumbers  = 16
	numbersEach  = 5
	mostCloseUps = 12
	placeGap     = 3  // pixels between a place and its line
	leastOutline = 9  // pixels that a line leaves free inside, both ways
	labelGap     = 3  // pixels between labels
	groundPart   = 16 // a box larger than this part of the canvas is ground
)

// markStyle is how findings of a severity are drawn: a light line in a dark casing, which
// stands out on any art; the colours are those that the colour-blind tell apart (Okabe
// and Ito 2008) and a light grey, and the lines differ as well.
type markStyle struct {
	colour color.NRGBA
	dash   int // on and off, pixels; 0 for an unbroken line
}

var marks = map[flaw.Severity]markStyle{
	flaw.Stop: {color.NRGBA{230, 159, 0, 255}, 0},
	flaw.Look: {color.NRGBA{86, 180, 233, 255}, 16},
	flaw.Note: {color.NRGBA{222, 226, 232, 255}, 6},
}

// casing is round every light line and the rim of every label, and what is written there.
var casing = color.NRGBA{20, 22, 26, 255}

// place is a box of a finding; one of the worst has a tag, as "2" or "2b".
type place struct {
	finding int
	box     flaw.Box
	tag     string
}

// placesOf are the boxes of all findings in their order, or those along their outlines, of which the worst
// get tags.
func placesOf(found []flaw.Finding) (out []place) {
	have := make([]int, len(found))
	for i, f := range found {
		have[i] = len(f.Boxes)
	}
	numbered := deal(have, mostNumbers, numbersEach)
	for i, f := range found {
		for k, b := range f.Boxes {
			p := place{finding: i, box: b}
			if k < numbered[i] {
				p.tag = tagOf(i, k, len(f.Boxes))
			}
			along := []flaw.Box{b}
			for _, o := range f.Outlines {
				if o.OfBox == k {
					along = o.Boxes
				}
			}
			for _, b := range along { // the first has the tag
				p.box = b
				out = append(out, p)
				p.tag = ""
			}
		}
	}
	return out
}

// tagOf names the k-th of n places of the i-th finding.
func tagOf(i, k, n int) string {
	if n == 1 {
		return fmt.Sprint(i + 1)
	}
	return fmt.Sprintf("%d%c", i+1, 'a'+k)
}

// deal gives out a total in rounds, one a round to each that still wants and has fewer
// than each, so that all get one before any gets two.
func deal(want []int, total, each int) []int {
	got := make([]int, len(want))
	for round := 1; round <= each; round++ {
		for i, n := range want {
			if n >= round && total > 0 {
				got[i], total = round, total-1
			}
		}
	}
	return got
}

// whereSaid says which places of the i-th finding have numbers and how many more
// there are: "2a to 2e and 37 more"; nothing if its only place has the finding's own.
func whereSaid(all []place, i int, f flaw.Finding) string {
	var first, last string
	n := 0
	for _, p := range all {
		if p.finding == i && p.tag != "" {
			if n++; first == "" {
				first = p.tag
			}
			last = p.tag
		}
	}
	more := max(f.Places, f.BoxesTotal, len(f.Boxes)) - n
	switch {
	case len(f.Boxes) == 0 || n == 0 && more == 0 || n == 1 && more == 0:
		return ""
	case n == 0:
		return fmt.Sprintf("%d places", more)
	case n == 2 && more == 0:
		return first + " and " + last
	case n == 2:
		first += ", " + last
	case n > 2:
		first += " to " + last
	}
	if more > 0 {
		first += fmt.Sprintf(" and %d more", more)
	}
	return first
}

// chart is a picture of art with its places round which there is a margin: all of it in
// pixels, the canvas from 0, 0.
type chart struct {
	canvas, art image.Rectangle
	outlines    []image.Rectangle // the outer rims of the places' lines
	labels      []label
}

// label is the tag of a place and the leader to its outline.
type label struct {
	place    int
	box      image.Rectangle
	from, to image.Point // from the label to the outline
}

// newChart sets the places of a print of a size in mm on art of w × h pixels, with a margin
// for labels of a height; wide is how wide a tag's label is. Lines are clear of what they show;
// line is how wide a place's is with its casing.
func newChart(all []place, w, h int, widthMM, heightMM float64, margin, high int, wide func(tag string) int, line func(p place, r image.Rectangle) int) *chart {
	c := &chart{canvas: image.Rect(0, 0, w+2*margin, h+2*margin), art: image.Rect(margin, margin, margin+w, margin+h)}
	x := func(mm float64) int { return margin + int(math.Round(mm/widthMM*float64(w))) }
	y := func(mm float64) int { return margin + int(math.Round(mm/heightMM*float64(h))) }
	var sizes []image.Point
	var own []int
	for i, p := range all {
		b := p.box
		r := image.Rect(x(b.XMM), y(b.YMM), x(b.XMM+b.WidthMM), y(b.YMM+b.HeightMM))
		if s := r.Intersect(c.art); !s.Empty() {
			r = s
		}
		r = r.Inset(-placeGap)
		if d := leastOutline - r.Dx(); d > 0 {
			r.Min.X, r.Max.X = r.Min.X-d/2, r.Max.X+(d+1)/2
		}
		if d := leastOutline - r.Dy(); d > 0 {
			r.Min.Y, r.Max.Y = r.Min.Y-d/2, r.Max.Y+(d+1)/2
		}
		c.outlines = append(c.outlines, r.Inset(-line(p, r)))
		if p.tag != "" {
			sizes, own = append(sizes, image.Pt(wide(p.tag), high)), append(own, i)
		}
	}
	c.labels = setLabels(c.canvas, c.outlines, sizes, own)
	return c
}

// setLabels finds a place for labels, in order, of sizes, the i-th of which is for the
// own[i]-th box. A label keeps within the canvas and, where there is room, off other labels,
// off every box but those larger than 1/16 of the canvas, and off the rims of those; of
// what is left it takes what has the shortest leader that crosses the least.
func setLabels(canvas image.Rectangle, boxes []image.Rectangle, sizes []image.Point, own []int) (out []label) {
	ground := canvas.Dx() * canvas.Dy() / groundPart
	for i, size := range sizes {
		best, least := label{}, math.MaxInt
		try := func(spots []image.Point) {
			for _, at := range spots {
				l := label{place: own[i], box: image.Rectangle{at, at.Add(size)}}
				if !l.box.In(canvas) {
					continue
				}
				l.from, l.to = between(l.box, boxes[own[i]])
				if cost := l.cost(boxes, out, ground, least); cost < least {
					best, least = l, cost
				}
			}
		}
		try(labelSpots(canvas, boxes[own[i]], size))
		if least >= hides { // neither near it nor at the rims is there room
			var spots []image.Point
			for y := canvas.Min.Y; y < canvas.Max.Y; y += (size.Y + 1) / 2 {
				for x := canvas.Min.X; x < canvas.Max.X; x += (size.X + 1) / 2 {
					spots = append(spots, image.Pt(x, y))
				}
			}
			try(spots)
		}
		out = append(out, best)
	}
	return out
}

// What a label's spot costs, beside a pixel of its leader's length each.
const (
	overlaps = 200000 // another label
	hides    = 20000  // a box
	strikes  = 4000   // a leader another's label
	tangles  = 600    // its leader another's
	cuts     = 300    // the rim of a box that is taken for ground
	passes   = 120    // its leader another's box, up to mostPassed of them

	mostPassed = 30
)

// cost is a label's among those that are set, but no more than what is enough to
// drop it.
func (l label) cost(boxes []image.Rectangle, set []label, ground, enough int) int {
	cost := int(math.Hypot(float64(l.to.X-l.from.X), float64(l.to.Y-l.from.Y)))
	for _, o := range set {
		if l.box.Inset(-labelGap).Overlaps(o.box) {
			cost += overlaps
		}
		if crosses(o.box, l.from, l.to) || crosses(l.box, o.from, o.to) {
			cost += strikes
		}
		if meet(l.from, l.to, o.from, o.to) {
			cost += tangles
		}
	}
	clear, passed := l.box.Inset(-1), 0
	for k, b := range boxes {
		if cost >= enough {
			break
		}
		switch {
		case k != l.place && b.Dx()*b.Dy() > ground:
			if clear.Overlaps(b) && !clear.In(b.Inset(placeGap)) {
				cost += cuts
			}
		case clear.Overlaps(b):
			cost += hides
		case k != l.place && passed < mostPassed && crosses(b, l.from, l.to):
			passed++
			cost += passes
		}
	}
	return cost
}

// labelSpots are where a box's label may have its top left corner: round the box, and
// along the canvas's sides.
func labelSpots(canvas, box image.Rectangle, size image.Point) (out []image.Point) {
	const steps = 4
	for _, d := range []int{10, 18, 30, 46, 66, 92, 124, 164, 212} {
		r := image.Rect(box.Min.X-d-size.X, box.Min.Y-d-size.Y, box.Max.X+d, box.Max.Y+d)
		for k := 0; k <= steps; k++ {
			x, y := r.Min.X+r.Dx()*k/steps, r.Min.Y+r.Dy()*k/steps
			out = append(out, image.Pt(x, r.Min.Y), image.Pt(r.Max.X, y), image.Pt(r.Min.X, y), image.Pt(x, r.Max.Y))
		}
	}
	const rim = 3
	in := image.Rectangle{canvas.Min, canvas.Max.Sub(size)}.Inset(rim)
	if in.Min.X > in.Max.X || in.Min.Y > in.Max.Y {
		return append(out, canvas.Min)
	}
	for x := in.Min.X; x <= in.Max.X; x += (size.X + labelGap + 1) / 2 {
		out = append(out, image.Pt(x, in.Min.Y), image.Pt(x, in.Max.Y))
	}
	for y := in.Min.Y; y <= in.Max.Y; y += (size.Y + labelGap + 1) / 2 {
		out = append(out, image.Pt(in.Min.X, y), image.Pt(in.Max.X, y))
	}
	return out
}

// between are the ends of the shortest way from one box to another, at the middle of
// where they are side by side.
func between(a, b image.Rectangle) (from, to image.Point) {
	axis := func(a0, a1, b0, b1 int) (int, int) {
		lo, hi := max(a0, b0), min(a1, b1)
		switch {
		case lo <= hi:
			return (lo + hi) / 2, (lo + hi) / 2
		case a1 < b0:
			return a1, b0
		}
		return a0, b1
	}
	from.X, to.X = axis(a.Min.X, a.Max.X, b.Min.X, b.Max.X)
	from.Y, to.Y = axis(a.Min.Y, a.Max.Y, b.Min.Y, b.Max.Y)
	return from, to
}

// side is on which side of the line through a and b the point p is.
func side(a, b, p image.Point) int {
	v := (b.X-a.X)*(p.Y-a.Y) - (b.Y-a.Y)*(p.X-a.X)
	switch {
	case v < 0:
		return -1
	case v > 0:
		return 1
	}
	return 0
}

// meet says whether two lines cross each other.
func meet(a, b, c, d image.Point) bool {
	return side(a, b, c)*side(a, b, d) < 0 && side(c, d, a)*side(c, d, b) < 0
}

// crosses says whether a line comes into a box.
func crosses(r image.Rectangle, a, b image.Point) bool {
	if max(a.X, b.X) < r.Min.X || min(a.X, b.X) > r.Max.X || max(a.Y, b.Y) < r.Min.Y || min(a.Y, b.Y) > r.Max.Y {
		return false
	}
	s := side(a, b, r.Min)
	for _, p := range []image.Point{{r.Max.X, r.Min.Y}, r.Max, {r.Min.X, r.Max.Y}} {
		if t := side(a, b, p); t != s || t == 0 {
			return true
		}
	}
	return s == 0
}
