package flaw

import (
	"fmt"
	"math"
	"slices"

	"laydown/colour"
	"laydown/coverage/plate"
	"laydown/coverage/stroke"
	"laydown/coverage/unit"
)

const ptMM = unit.MMPerInch / 72

// A part is a line if it is so many times longer than its limit: a short one holds by
// what it hangs on. A width that falls to less than a part along the stroke is that of
// a pointed tip, which loses its end and nothing that is missed.
const (
	lineShape = 2.5
	tipPart   = 0.5
)

// stopPart is the part of its limit under which a line, a gap or a letter will not
// print, and stopLength how many times their limit such lines, or gaps, are long together
// when a customer would send the print back. Our own figures.
const (
	stopPart   = 0.6
	stopLength = 10
)

// shapes looks at strokes, gaps and what lies by itself: at what is too thin to hold,
// on clear film or bare paper and of one colour on another; at strokes from under
// which the choke takes all white; at specks, pinholes and small text.
func shapes(s *scene) ([]*Finding, error) {
	v := s.view()
	choke := math.Max(0, s.ChokeMM)
	limit, gap := v.pixels(s.Limits.SmallestLineMM), v.pixels(s.Limits.SmallestGapMM)
	widest, white := limit, 0.0
	if s.White == plate.Under && choke > 0 { // other rules leave white out on purpose
		white = v.pixels(2*choke + leastWhiteMM)
		widest = math.Max(limit, white)
	}
	noise, ringing, edgePX := 2, 0.0, 4
	if s.lossy() {
		noise, ringing, edgePX = 6, 0.25, 5
	}
	bare, sure := s.bareness(), v.pixels(sureMM)
	strokes, dots := stroke.Find(v.Picture, stroke.Options{
		DotPX: v.pixels(s.Limits.SmallestDotMM) - 0.1, LeastDotPX: v.pixels(leastSpeckMM), SeamPX: v.pixels(seamMM), Flats: v.flats,
		WidestPX: math.Max(widest, gap), Noise: noise, EdgePX: edgePX, Ringing: ringing, Skip: v.skips(),
		Seen: func(a, b codes) bool { return colour.DeltaE00(lab(a), lab(b)) >= seenEdge },
		LimitPX: func(ink codes, art uint8) float64 {
			if bare(ink, art) {
				return gap - sure
			}
			return widest - sure
		},
	})
	rows, xs := s.lines()
	ofText := func(x0, y0, x1, y1 int) bool { // thin letters are told of once
		x, y := (x0+x1)/2, (y0+y1)/2
		return slices.ContainsFunc(rows, func(l letter) bool { return x >= l.x0 && x <= l.x1 && y >= l.y0 && y <= l.y1 })
	}
	dots = slices.DeleteFunc(dots, func(d stroke.Dot) bool {
		return v.grain.at(d.X0, d.Y0, d.X1, d.Y1) || !v.drawn(d.Ink, d.Around) || ofText(d.X0, d.Y0, d.X1, d.Y1)
	})
	drawn := s.pen(1.5 * widest)
	known := drawn.known(strokes, bare)
	fine, narrow, lost := thin{view: v, limitPX: limit}, thin{view: v, limitPX: gap}, thin{view: v, limitPX: white}
	for i, l := range strokes {
		if !known[i] && !v.drawn(l.Ink, l.Sides[0], l.Sides[1]) || s.grainyHere(l.X0, l.Y0, l.X1, l.Y1) {
			continue
		}
		long := l.LengthPX + l.WidthPX // from end to end
		if bare(l.Ink, l.Art) {
			if long >= lineShape*gap && !ofText(l.X0, l.Y0, l.X1, l.Y1) {
				narrow.add(l)
			}
			continue
		}
		if long < lineShape*limit {
			continue
		}
		if l.WidthPX < limit-sure && !ofText(l.X0, l.Y0, l.X1, l.Y1) {
			fine.add(l)
		}
		if l.WidthPX < white && s.whiteAlong(l) < leastLaid {
			lost.add(l)
		}
	}
	for _, l := range drawn.missed(s, strokes, limit-sure) {
		if !bare(l.Ink, l.Art) && !ofText(l.X0, l.Y0, l.X1, l.Y1) {
			fine.add(l)
		}
	}
	return []*Finding{fine.fineLine(s), lost.lostWhite(s, choke), narrow.narrowGap(s), s.specks(dots), s.smallText(s.smallRows(rows, xs))}, nil
}

// bareness returns a function that tells whether an ink, of which there is so much art,
// prints nothing.
func (s *scene) bareness() func(ink codes, art uint8) bool {
	around, paper, same := lab(s.view().bare), lab(codes{255, 255, 255}), sameColour
	if s.lossy() {
		same = sameLossy
	}
	return func(ink codes, art uint8) bool {
		if art < leastArt {
			return true
		}
		if s.White != plate.NoWhite {
			return false
		}
		c := lab(ink)
		return colour.DeltaE00(c, paper) < same || colour.DeltaE00(c, around) < same
	}
}

// What counts as bare, as one colour and as an edge. ΔE00.
const (
	leastArt   = 25 // of 255, that a pixel holds
	sameColour = 4.0
	sameLossy  = 8.0 // after compression
	seenEdge   = 7
)

// leastSpeckMM is the diameter of the smallest speck that is worth a word, seamMM the
// width of what two shapes that abut leave between them, and leastWhiteMM that of white
// that holds anything.
const (
	leastSpeckMM = 0.09
	seamMM       = 0.07
	leastWhiteMM = 0.1
)

// sureMM is by how much a width must be under its limit to be told from it: widths are
// measured so exactly.
const sureMM = 0.02

// leastLaid is the part of the white that a line asks for under which it is lost.
const leastLaid = 0.25

// thin gathers strokes of one kind.
type thin struct {
	view     *view
	limitPX  float64
	at       places
	thinnest float64 // pixels
	long     bool    // it is that of one of full length
	badPX    float64 // length of those that will not print
}

func (t *thin) add(l stroke.Stroke) {
	// The width of a short one is less sure, and tells only if there is no long one.
	long := l.LengthPX >= lineShape*t.limitPX
	if len(t.at.all) == 0 || long && !t.long || long == t.long && l.WidthPX < t.thinnest {
		t.thinnest, t.long = l.WidthPX, long
	}
	if l.WidthPX < stopPart*t.limitPX {
		t.badPX += l.LengthPX
	}
	half := l.WidthPX / 2
	t.at.addAlong(t.view, l.Places, half, l.WidthPX)
}

// finding is the start of one, nil if nothing was gathered.
func (t *thin) finding(kind Kind, limitMM float64) *Finding {
	if len(t.at.all) == 0 {
		return nil
	}
	f := &Finding{Kind: kind, Severity: Look, Measured: t.thinnest * t.view.pixelMM, Limit: limitMM, Unit: "mm"}
	f.Boxes, f.Places = t.at.boxes()
	f.Outlines = t.at.outlines
	if t.badPX >= stopLength*t.limitPX {
		f.Severity = Stop
	}
	return f
}

func (t *thin) fineLine(s *scene) *Finding {
	f := t.finding(FineLine, s.Limits.SmallestLineMM)
	if f == nil {
		return nil
	}
	f.Advice = fmt.Sprintf("Lines as thin as %.2f mm (%.1f pt) where this media holds %.2f mm: they break up or lift in the wash, "+
		"and on another colour any shift between toners hides them. Thicken them to %.2f mm",
		f.Measured, f.Measured/ptMM, f.Limit, f.Limit) + orLarger(f) + "."
	if f.Measured < hairlineMM {
		f.Advice = fmt.Sprintf("Lines without a width, which come out as thin as a device can draw them, where this media holds %.2f mm: they break up or lift in the wash. Give them %.2f mm.", f.Limit, f.Limit)
	}
	return f
}

// hairlineMM is the width under which a line of a drawing has none.
const hairlineMM = 0.005

// orLarger offers a larger print where that is within reason: nobody prints a
// badge as a poster.
func orLarger(f *Finding) string {
	if larger := f.Limit/f.Measured - 1; larger <= 1 {
		return fmt.Sprintf(", or print the art %.0f %% larger", math.Ceil(larger*100))
	}
	return ""
}

func (t *thin) narrowGap(s *scene) *Finding {
	f := t.finding(NarrowGap, s.Limits.SmallestGapMM)
	if f == nil {
		return nil
	}
	f.Advice = fmt.Sprintf("Gaps as narrow as %.2f mm (%.1f pt) where this media keeps %.2f mm open: they fill with toner or film. "+
		"Widen them to %.2f mm, close them", f.Measured, f.Measured/ptMM, f.Limit, f.Limit) + orLarger(f) + "."
	return f
}

func (t *thin) lostWhite(s *scene, choke float64) *Finding {
	f := t.finding(LostWhite, 2*choke+leastWhiteMM)
	if f == nil {
		return nil
	}
	f.Severity = Stop
	f.Advice = fmt.Sprintf("White stays back %.2f mm from every edge, and lines of up to %.2f mm lose all of it: on a dark item they vanish. "+
		"Choke less for this art, or thicken the lines to %.2f mm.", choke, 2*choke, 2*choke+s.Limits.SmallestLineMM)
	return f
}

// whiteAlong is how much of the white that its art asks for a stroke has along its
// middle, 0–1: half-clear art asks for less.
func (s *scene) whiteAlong(line stroke.Stroke) float64 {
	got, asked := 0, 0
	for _, p := range line.Places {
		x, y := s.view().at(int(p.X), int(p.Y))
		at := y*s.Art.Width + x
		got += int(s.Plates.Plane[plate.White][at])
		if s.Art.HasAlpha {
			asked += int(s.presence()[at])
		} else {
			asked += 255
		}
	}
	return float64(got) * 100 / (math.Max(1, s.WhitePercent) * math.Max(1, float64(asked)))
}
