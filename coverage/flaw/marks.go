package flaw

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"laydown/colour"
	"laydown/coverage/artwork/mark"
	"laydown/coverage/stroke"
	"laydown/coverage/unit"
)

// What a drawing's file says of its strokes, texts and pictures is truer than its pixels
// where both speak of the same thing. What it says of things that no pixel shows is not
// told.

// segment is a straight part of a stroke of a drawing, in pixels of the view.
type segment struct {
	x0, y0, x1, y1 float64
	of             int // its stroke
}

// from is how far a place is from it.
func (s segment) from(x, y float64) float64 {
	dx, dy := s.x1-s.x0, s.y1-s.y0
	t := 0.0
	if l := dx*dx + dy*dy; l > 0 {
		t = math.Max(0, math.Min(1, ((x-s.x0)*dx+(y-s.y0)*dy)/l))
	}
	return math.Hypot(x-s.x0-t*dx, y-s.y0-t*dy)
}

// pen is the strokes of a drawing, found by place.
type pen struct {
	view    *view
	strokes []mark.Stroke
	unit    float64 // pixels of the view in a drawing's width
	// atLeastPX says that no stroke is drawn thinner than a pixel.
	atLeastPX bool
	segments  []segment
	cells     map[[2]int32][]int32 // segments in squares of cellPX
}

const (
	cellPX       = 16
	mostSegments = 400_000
)

// pen gathers the strokes that are no wider than a limit; nil if the art is no drawing.
func (s *scene) pen(widestPX float64) *pen {
	if s.Art.Marks == nil || len(s.Art.Marks.Strokes) == 0 {
		return nil
	}
	v := s.view()
	p := &pen{view: v, strokes: s.Art.Marks.Strokes, unit: float64(s.Art.Width) / float64(v.scale), atLeastPX: s.Art.Format == "PDF", cells: map[[2]int32][]int32{}}
	put := 0
	for i, line := range p.strokes {
		if line.Width*p.unit > widestPX {
			continue
		}
		for k := 1; k < len(line.Path); k++ {
			a, b := line.Path[k-1], line.Path[k]
			g := segment{a.X * p.unit, a.Y * p.unit, b.X * p.unit, b.Y * p.unit, i}
			if !p.near(g) || len(p.segments) >= mostSegments || put >= 4*mostSegments {
				continue
			}
			p.segments = append(p.segments, g)
			// Into every square that it may touch, walked in steps of half of one.
			n := int(math.Hypot(g.x1-g.x0, g.y1-g.y0)/(cellPX/2)) + 1
			last := [2]int32{math.MinInt32}
			for j := range n + 1 {
				t := float64(j) / float64(n)
				c := cellOf(g.x0+t*(g.x1-g.x0), g.y0+t*(g.y1-g.y0))
				if c != last {
					p.cells[c] = append(p.cells[c], int32(len(p.segments)-1))
					last = c
					put++
				}
			}
		}
	}
	return p
}

// near reports whether a segment may be seen, and is no longer than can be walked.
func (p *pen) near(g segment) bool {
	w, h := float64(p.view.Width), float64(p.view.Height)
	return math.Max(g.x0, g.x1) >= 0 && math.Min(g.x0, g.x1) <= w && math.Max(g.y0, g.y1) >= 0 && math.Min(g.y0, g.y1) <= h &&
		math.Abs(g.x1-g.x0) < 4*w+4*h && math.Abs(g.y1-g.y0) < 4*w+4*h
}

func cellOf(x, y float64) [2]int32 {
	return [2]int32{int32(math.Floor(x / cellPX)), int32(math.Floor(y / cellPX))}
}

// agreeMM is how far a width that was measured is from what the file says, at most, when
// both are of the same line: beyond, something covers a part of the stroke.
const agreeMM = 0.03

// trueWidth is the width of the drawing's stroke that a stroke of the picture is of, pixels
// of the view; ok is false if it is of none, or is seen narrower or wider.
func (p *pen) trueWidth(l stroke.Stroke) (widthPX float64, ok bool) {
	if p == nil {
		return 0, false
	}
	var lines []int // of the drawing
	step := max(1, len(l.Places)/15)
	asked := 0
	for i := 0; i < len(l.Places); i += step {
		asked++
		x, y := float64(l.Places[i].X)+0.5, float64(l.Places[i].Y)+0.5
		best, of := 0.35*l.WidthPX+0.75, -1
		c := cellOf(x, y)
		for dy := int32(-1); dy <= 1; dy++ {
			for dx := int32(-1); dx <= 1; dx++ {
				for _, k := range p.cells[[2]int32{c[0] + dx, c[1] + dy}] {
					if d := p.segments[k].from(x, y); d < best {
						best, of = d, p.segments[k].of
					}
				}
			}
		}
		if of >= 0 {
			lines = append(lines, of)
		}
	}
	if 3*len(lines) < 2*asked {
		return 0, false
	}
	slices.SortFunc(lines, func(a, b int) int {
		return cmp.Or(cmp.Compare(p.strokes[a].Width, p.strokes[b].Width), cmp.Compare(a, b))
	})
	line := p.strokes[lines[len(lines)/2]]
	w := line.Width * p.unit
	return w, math.Abs(w-l.WidthPX) <= math.Max(agreePX, agreeMM/p.view.pixelMM) || p.drawnWider(line, w, l)
}

// drawnWider reports whether a stroke of less than two pixels looks as wide in the picture
// as one of its width does: what is thinner than a pixel takes a whole one, fainter in
// proportion, or in full where a renderer draws nothing thinner.
func (p *pen) drawnWider(line mark.Stroke, w float64, l stroke.Stroke) bool {
	switch {
	case w >= 2 || l.WidthPX > w+1.2 || l.WidthPX > 2.2 || l.WidthPX < w-agreePX: // less of it is seen
		return false
	case p.atLeastPX:
		return w < 1 || l.WidthPX < w+0.6
	case !line.Inked:
		return false
	}
	for _, side := range l.Sides {
		if float64(apart(l.Ink, side)) > 1.4*math.Min(1, w)*float64(apart(line.Ink, side))+10 {
			return false
		}
	}
	return w < 1 || l.WidthPX < w+0.6
}

// agreePX is how exactly the pixels can tell at all.
const agreePX = 0.35

// known replaces the widths of strokes by those that the drawing states, but of gaps, and
// tells of which it did so.
func (p *pen) known(strokes []stroke.Stroke, gap func(ink codes, art uint8) bool) []bool {
	is := make([]bool, len(strokes))
	for i := range strokes {
		if gap(strokes[i].Ink, strokes[i].Art) {
			continue
		}
		if w, ok := p.trueWidth(strokes[i]); ok {
			strokes[i].WidthPX, is[i] = w, true
		}
	}
	return is
}

// grainyHere reports whether a place is in the grain of a picture: in a drawing that holds
// pictures, outside of them nothing is.
func (s *scene) grainyHere(x0, y0, x1, y1 int) bool {
	v := s.view()
	if !v.grain.at(x0, y0, x1, y1) {
		return false
	}
	if s.Art.Marks == nil || len(s.Art.Marks.Pictures) == 0 {
		return true
	}
	k := float64(s.Art.Width) / float64(v.scale)
	return s.overPicture(mark.Box{X: float64(x0) / k, Y: float64(y0) / k, Width: float64(x1-x0+1) / k, Height: float64(y1-y0+1) / k})
}

// What is looked at along strokes that no pixel told of: every so many pixels, so many in all.
const (
	stepPX    = 2
	mostSteps = 300_000
)

// missed are the drawing's strokes thinner than a limit that are seen and that are not
// among those found.
func (p *pen) missed(s *scene, found []stroke.Stroke, limitPX float64) (out []stroke.Stroke) {
	if p == nil {
		return nil
	}
	v := p.view
	screen := v.screen()
	taken := map[[2]int32]bool{} // squares of 4 pixels
	for _, l := range found {
		for _, q := range l.Places {
			taken[[2]int32{q.X / 4, q.Y / 4}] = true
		}
	}
	told := func(x, y int) bool {
		for dy := -1; dy <= 1; dy++ {
			for dx := -1; dx <= 1; dx++ {
				if taken[[2]int32{int32(x/4 + dx), int32(y/4 + dy)}] {
					return true
				}
			}
		}
		return false
	}
	steps := 0
	for from := 0; from < len(p.segments); {
		of := p.segments[from].of
		to := from
		for to < len(p.segments) && p.segments[to].of == of {
			to++
		}
		line := p.strokes[of]
		width := line.Width * p.unit
		var run *stroke.Stroke
		begin, known, fresh := len(out), 0.0, 0.0 // length that was found before, and that is new
		end := func() {
			if run != nil && run.LengthPX >= lineShape*limitPX {
				run.X0, run.Y0, run.X1, run.Y1 = around(run.Places)
				out = append(out, *run)
				fresh += run.LengthPX
			}
			run = nil
		}
		for _, g := range p.segments[from:to] {
			length := math.Hypot(g.x1-g.x0, g.y1-g.y0)
			if !line.Solid || width >= limitPX || length == 0 {
				continue
			}
			n := int(math.Ceil(length / stepPX))
			for j := range n {
				if steps++; steps > mostSteps {
					break
				}
				t := (float64(j) + 0.5) / float64(n)
				x, y := g.x0+t*(g.x1-g.x0), g.y0+t*(g.y1-g.y0)
				ink, art, sides, ok := v.across(x, y, (g.y0-g.y1)/length, (g.x1-g.x0)/length, width)
				px, py := int(x), int(y)
				if ok && told(px, py) {
					known += length / float64(n)
				}
				if !ok || told(px, py) || screen.has(px, py) || s.grainyHere(px, py, px, py) {
					end()
					continue
				}
				if run == nil {
					run = &stroke.Stroke{WidthPX: width, Ink: ink, Art: art, Sides: sides}
				}
				run.Places = append(run.Places, stroke.Place{X: int32(px), Y: int32(py)})
				run.LengthPX += length / float64(n)
			}
		}
		end()
		if known > fresh { // the rest of a line that is told of
			out = out[:begin]
		}
		from = to
	}
	return out
}

// around are the corners of places, the last ones inside.
func around(places []stroke.Place) (x0, y0, x1, y1 int) {
	x0, y0 = math.MaxInt, math.MaxInt
	for _, p := range places {
		x0, y0, x1, y1 = min(x0, int(p.X)), min(y0, int(p.Y)), max(x1, int(p.X)), max(y1, int(p.Y))
	}
	return x0, y0, x1, y1
}

// fainter is the difference, ΔE00, from which a stroke of less than a pixel is seen, which
// is as much fainter as it is thinner.
const fainter = 3

// leastBeyond is by how many codes a stroke's colour lies outside of those of its two sides,
// in one channel at least: what lies between them may be the edge where they meet.
const leastBeyond = 8

func between(ink codes, sides [2]codes) bool {
	for k, c := range ink {
		if int(c) < int(min(sides[0][k], sides[1][k]))-leastBeyond || int(c) > int(max(sides[0][k], sides[1][k]))+leastBeyond {
			return false
		}
	}
	return true
}

// across looks across a stroke of a width at a place: its own colour, how much art it
// holds, and the colours to either side; ok is false unless it differs from both.
func (v *view) across(x, y, nx, ny, width float64) (ink codes, art uint8, sides [2]codes, ok bool) {
	at := func(d float64) (codes, uint8, bool) {
		px, py := int(math.Floor(x+d*nx)), int(math.Floor(y+d*ny))
		if px < 0 || py < 0 || px >= v.Width || py >= v.Height {
			return codes{}, 0, false
		}
		p := v.Pix[4*(py*v.Width+px):]
		return codes(p[:3]), p[3], true
	}
	away := width/2 + 1.5
	var sound bool
	if sides[0], _, sound = at(-away); !sound {
		return ink, art, sides, false
	}
	if sides[1], _, sound = at(away); !sound {
		return ink, art, sides, false
	}
	// Its own colour is where it differs most within a pixel of its middle.
	most := -1
	for _, d := range []float64{0, -0.5, 0.5} {
		c, a, in := at(d)
		if !in {
			continue
		}
		if k := min(apart(c, sides[0]), apart(c, sides[1])); k > most {
			most, ink, art = k, c, a
		}
	}
	if most < 2 || between(ink, sides) {
		return ink, art, sides, false
	}
	least := math.Max(fainter, seenEdge*math.Min(1, width))
	own := lab(ink)
	return ink, art, sides, colour.DeltaE00(own, lab(sides[0])) >= least && colour.DeltaE00(own, lab(sides[1])) >= least
}

// textAgreeMM is how far the height of an x that was measured is from what the drawing
// says, at most, when both are of the same letters.
const textAgreeMM = 0.1

// textMark is the drawing's text that a row of letters is of, and its true height of an x
// in pixels of the view.
func (s *scene) textMark(row letter) (t mark.Text, xPX float64, ok bool) {
	if s.Art.Marks == nil {
		return t, 0, false
	}
	unitPX := float64(s.Art.Width) / float64(s.view().scale)
	best := 0.0
	for _, m := range s.Art.Marks.Texts {
		x0, y0, x1, y1 := m.X*unitPX, m.Y*unitPX, (m.X+m.Width)*unitPX, (m.Y+m.Height)*unitPX
		wide := math.Min(x1, float64(row.x1+1)) - math.Max(x0, float64(row.x0))
		high := math.Min(y1, float64(row.y1+1)) - math.Max(y0, float64(row.y0))
		if wide <= 0 || high <= 0 || m.XHeight <= 0 {
			continue
		}
		part := wide * high / (float64(row.x1-row.x0+1) * float64(row.y1-row.y0+1))
		if part > best {
			best, t, xPX = part, m, m.XHeight*unitPX
		}
	}
	return t, xPX, best > 0.5
}

// smallRow is a row of letters that are too small.
type smallRow struct {
	letter
	xPX  float64
	text mark.Text // of the drawing, zero if nothing is known
}

// smallRows are the rows of letters that are too small, as large as the drawing says where
// it does, and those of its texts that are seen and were not found.
func (s *scene) smallRows(rows []letter, xs []float64) (out []smallRow) {
	v := s.view()
	limit := v.pixels(s.Limits.SmallestTextMM)
	for i, row := range rows {
		w := smallRow{row, xs[i], mark.Text{}}
		if t, x, ok := s.textMark(row); ok && math.Abs(x-xs[i]) <= math.Max(1, textAgreeMM/v.pixelMM) {
			w.xPX, w.text = x, t
		}
		if w.xPX < limit {
			out = append(out, w)
		}
	}
	if s.Art.Marks == nil || limit < 3 {
		return out
	}
	unitPX := float64(s.Art.Width) / float64(v.scale)
	for _, t := range s.Art.Marks.Texts {
		x := t.XHeight * unitPX
		if x <= 0 || x >= limit-v.pixels(sureMM) {
			continue
		}
		b := letter{x0: int(t.X * unitPX), y0: int(t.Y * unitPX), x1: int(math.Ceil((t.X+t.Width)*unitPX)) - 1, y1: int(math.Ceil((t.Y+t.Height)*unitPX)) - 1}
		b.top, b.bottom = float64(b.y0), float64(b.y1+1)
		if slices.ContainsFunc(rows, func(r letter) bool { return r.x0 <= b.x1 && b.x0 <= r.x1 && r.y0 <= b.y1 && b.y0 <= r.y1 }) || s.overPicture(t.Box) || !v.shows(b) {
			continue
		}
		out = append(out, smallRow{b, x, t})
	}
	return out
}

// overPicture reports whether a place is that of a picture in the drawing, whose own
// pixels say nothing of a text.
func (s *scene) overPicture(b mark.Box) bool {
	return slices.ContainsFunc(s.Art.Marks.Pictures, func(p mark.Picture) bool {
		return p.X < b.X+b.Width && b.X < p.X+p.Width && p.Y < b.Y+b.Height && b.Y < p.Y+p.Height
	})
}

// What a text's box holds when its letters are seen: a ground, and of other colours a part.
const (
	leastLetterPart = 0.08
	mostLetterPart  = 0.75
	letterCodes     = 60
)

// shows reports whether something that may be letters is seen in a box: on a ground, which
// is what most of the row above and the row below it has, marks of another colour.
func (v *view) shows(b letter) bool {
	if b.x0 < 1 || b.y0 < 1 || b.x1 >= v.Width-1 || b.y1 >= v.Height-1 || b.x1 <= b.x0 || b.y1 <= b.y0 || v.grain.at(b.x0, b.y0, b.x1, b.y1) {
		return false
	}
	at := func(x, y int) codes { return codes(v.Pix[4*(y*v.Width+x):][:3]) }
	count := map[codes]int{}
	for x := b.x0; x <= b.x1; x++ {
		count[at(x, b.y0-1)]++
		count[at(x, b.y1+1)]++
	}
	var ground codes
	most := 0
	for x := b.x0; x <= b.x1; x++ { // in order, so that ties fall alike
		if c := at(x, b.y0-1); count[c] > most {
			most, ground = count[c], c
		}
		if c := at(x, b.y1+1); count[c] > most {
			most, ground = count[c], c
		}
	}
	if most < b.x1-b.x0+1 { // less than half: no ground
		return false
	}
	other, all := 0, 0
	for y := b.y0; y <= b.y1; y++ {
		for x := b.x0; x <= b.x1; x++ {
			all++
			if apart(at(x, y), ground) >= letterCodes {
				other++
			}
		}
	}
	part := float64(other) / float64(all)
	return part >= leastLetterPart && part <= mostLetterPart
}

// pictures looks at the resolution of pictures inside of a drawing.
func (s *scene) pictures() *Finding {
	if s.Art.Marks == nil {
		return nil
	}
	v := s.view()
	wideMM := float64(s.Art.Width) * s.PixelMM
	f := &Finding{Kind: LowResolution, Severity: Look, Measured: math.Inf(1), Unit: "px/in"}
	var worst mark.Picture
	at := places{}
	for _, p := range s.Art.Marks.Pictures {
		w, h := p.Wide*wideMM, p.High*wideMM
		if !(w > 0 && h > 0) || math.Min(w, h) < leastPictureMM {
			continue
		}
		ppi := math.Min(float64(p.WidthPX)/w, float64(p.HeightPX)/h) * unit.MMPerInch
		if ppi >= s.Limits.GoodPPI*0.995 {
			continue
		}
		x0, y0, x1, y1 := s.pixelsOf(p.Box)
		if !v.detailed(x0, y0, x1, y1, unit.MMPerInch/ppi/v.pixelMM) {
			continue
		}
		if ppi < s.Limits.LeastPPI*0.995 && w*h >= leastPictureMM2 {
			f.Severity = Stop
		}
		if ppi < f.Measured {
			f.Measured, worst = ppi, p
		}
		at.add(v.box(float64(x0), float64(y0), float64(x1), float64(y1)), ppi)
	}
	if len(at.all) == 0 {
		return nil
	}
	if f.Limit = s.Limits.GoodPPI; f.Measured < s.Limits.LeastPPI*0.995 {
		f.Limit = s.Limits.LeastPPI
	}
	f.Boxes, f.Places = at.boxes()
	f.Advice = fmt.Sprintf("A picture of %d × %d pixels inside the drawing is %.0f × %.0f mm large: %.0f pixels per inch, where %.0f look sharp and %.0f are the least. "+
		"The outlines around it are sharp at any size. Ask for the drawing with the original picture in it, at %d pixels wide or more.",
		worst.WidthPX, worst.HeightPX, worst.Wide*wideMM, worst.High*wideMM, f.Measured, s.Limits.GoodPPI, s.Limits.LeastPPI, int(math.Ceil(worst.Wide*wideMM/unit.MMPerInch*s.Limits.GoodPPI)))
	return f
}

// A picture inside that is smaller than this on a side says nothing, and one of less area
// does not stop a print.
const (
	leastPictureMM  = 2
	leastPictureMM2 = 25
)

// pixelsOf is a box in pixels of the view, cut to it.
func (s *scene) pixelsOf(b mark.Box) (x0, y0, x1, y1 int) {
	v := s.view()
	k := float64(s.Art.Width) / float64(v.scale)
	clip := func(f float64, most int) int { return int(math.Max(0, math.Min(float64(most), f))) }
	return clip(b.X*k, v.Width), clip(b.Y*k, v.Height), clip(math.Ceil((b.X+b.Width)*k), v.Width), clip(math.Ceil((b.Y+b.Height)*k), v.Height)
}

// What a picture's pixels differ by from one to the next, codes, and in what part of it,
// when their size is seen: a soft shadow or a fade may be as coarse as it likes.
const (
	detailCodes = 24
	detailPart  = 0.003
)

// detailed reports whether a part of the view changes within one pixel of a picture, which
// is so many wide.
func (v *view) detailed(x0, y0, x1, y1 int, wide float64) bool {
	n := max(1, int(math.Round(wide)))
	x0, y0, x1, y1 = x0+n, y0+n, x1-n, y1-n // its own edge is none of its pixels'
	changes, all := 0, 0
	for y := y0; y < y1; y++ {
		for x := x0; x < x1; x++ {
			here := codes(v.Pix[4*(y*v.Width+x):][:3])
			all++
			if x+n < x1 && apart(here, codes(v.Pix[4*(y*v.Width+x+n):][:3])) >= detailCodes ||
				y+n < y1 && apart(here, codes(v.Pix[4*((y+n)*v.Width+x):][:3])) >= detailCodes {
				changes++
			}
		}
	}
	return all > 0 && float64(changes) > detailPart*float64(all)
}
