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

// shapes looks at strokes, gaps and what lies by itself: at what is too thin to hold,
// on clear film or bare paper and of one colour on another; at strokes from under
// which the choke takes all white; at specks, pinholes and small text.
func shapes(s *scene) ([]*Finding, error) {
	d := s.sketch()
	if !d.hasInside() {
		return nil, nil
	}
	var fine, lost, narrow thinPlaces
	choke := math.Max(0, s.ChokeMM)
	limit, gap := d.pixels(s.Limits.SmallestLineMM), d.pixels(s.Limits.SmallestGapMM)
	look := limit
	if s.White == plate.Under && choke > 0 {
		// White thinner than a tenth of a millimetre does not hold anything.
		look = math.Max(limit, d.pixels(2*choke+0.1))
	}
	v := newView(s, d)
	paper := lab(pixelCodes{255, 255, 255})
	bare := func(ink pixelCodes, art uint8) bool {
		if art < leastArt {
			return true
		}
		if s.White != plate.NoWhite {
			return false
		}
		c := lab(ink)
		return colour.DeltaE00(c, paper) < sameColour || colour.DeltaE00(c, lab(v.bare)) < sameColour
	}
	noise, ringing, edgePX := 2, 0.0, 4
	if d.lossy {
		noise, ringing, edgePX = 6, 0.25, 5
	}
	lines, dots := stroke.Find(v.Picture, stroke.Options{
		DotPX: d.pixels(s.Limits.SmallestDotMM) - 0.1, LeastDotPX: d.dotPX(leastSpeckMM), SeamPX: d.pixels(seamMM), Flats: v.Flats(),
		WidestPX: math.Max(look, gap), Noise: noise, EdgePX: edgePX, Ringing: ringing,
		Seen: func(a, b pixelCodes) bool { return colour.DeltaE00(lab(a), lab(b)) >= seenEdge },
		LimitPX: func(ink pixelCodes, art uint8) float64 {
			if bare(ink, art) {
				return gap - 0.05
			}
			return look - 0.05
		},
	})
	g := newGrain(v)
	dots = slices.DeleteFunc(dots, func(v stroke.Dot) bool { return g.at(v.X0, v.Y0, v.X1, v.Y1) })
	for _, l := range lines {
		if g.at(l.X0, l.Y0, l.X1, l.Y1) {
			continue
		}
		if bare(l.Ink, l.Art) {
			if l.LengthPX+l.WidthPX >= 2.5*gap && l.LowPX > 0.5*l.HighPX {
				narrow.add(s, l)
			}
			continue
		}
		if l.LengthPX+l.WidthPX < 2.5*limit || l.LowPX < 0.5*l.HighPX {
			continue
		}
		if l.WidthPX < limit-0.05 {
			fine.add(s, l)
		}
		// Other rules leave white out on purpose.
		if choke > 0 && s.White == plate.Under && s.whiteAlong(l) < 0.25 {
			lost.add(s, l)
		}
	}
	return []*Finding{fine.fineLine(s), lost.lostWhite(s, choke), narrow.narrowGap(s), s.specks(dots), s.smallText(v, g)}, nil
}

// What counts as bare, as one colour and as an edge. ΔE00.
const (
	leastArt   = 25 // of 255, that a pixel holds
	sameColour = 4
	seenEdge   = 7
)

// leastSpeckMM is the diameter of the smallest speck that is worth a word, and seamMM
// the width of what two shapes that abut leave between them.
const (
	leastSpeckMM = 0.07
	seamMM       = 0.07
)

// leastLossyPX is the least width of a line in art that was compressed with loss.
const leastLossyPX = 0.9

// thinPlaces gathers strokes of one kind.
type thinPlaces struct {
	boxes    []Box
	thinnest float64 // pixels of the sketch
}

func (g *thinPlaces) add(s *scene, line stroke.Stroke) {
	if g.boxes == nil {
		g.thinnest = line.WidthPX
	}
	g.thinnest = math.Min(g.thinnest, line.WidthPX)
	half := line.WidthPX / 2
	g.boxes = append(g.boxes, s.boxOf(float64(line.X0)+0.5-half, float64(line.Y0)+0.5-half, float64(line.X1)+0.5+half, float64(line.Y1)+0.5+half))
}

// finding is the start of one, nil if nothing was gathered.
func (g *thinPlaces) finding(s *scene, kind Kind, limitMM float64) *Finding {
	if g.boxes == nil {
		return nil
	}
	f := &Finding{Kind: kind, Severity: Look, Measured: g.thinnest * s.sketch().pixelMM, Limit: limitMM, Unit: "mm"}
	f.Boxes, f.Places = g.boxes, len(g.boxes)
	if f.Measured < 0.6*limitMM {
		f.Severity = Stop
	}
	return f
}

func (g *thinPlaces) fineLine(s *scene) *Finding {
	f := g.finding(s, FineLine, s.Limits.SmallestLineMM)
	if f == nil {
		return nil
	}
	f.Advice = fmt.Sprintf("Lines as thin as %.2f mm (%.1f pt) where this media holds %.2f mm: they break up or lift in the wash, "+
		"and on another colour any shift between toners hides them. Thicken them to %.2f mm",
		f.Measured, f.Measured/ptMM, f.Limit, f.Limit) + orLarger(f) + "."
	return f
}

// orLarger offers a larger print where that is within reason: nobody prints a
// badge as a poster.
func orLarger(f *Finding) string {
	if larger := f.Limit/f.Measured - 1; larger <= 1 {
		return fmt.Sprintf(", or print the art %.0f %% larger", math.Ceil(larger*100))
	}
	return ""
}

func (g *thinPlaces) narrowGap(s *scene) *Finding {
	f := g.finding(s, NarrowGap, s.Limits.SmallestGapMM)
	if f == nil {
		return nil
	}
	f.Advice = fmt.Sprintf("Gaps as narrow as %.2f mm (%.1f pt) where this media keeps %.2f mm open: they fill with toner or film. "+
		"Widen them to %.2f mm, close them", f.Measured, f.Measured/ptMM, f.Limit, f.Limit) + orLarger(f) + "."
	return f
}

func (g *thinPlaces) lostWhite(s *scene, choke float64) *Finding {
	f := g.finding(s, LostWhite, 2*choke)
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
		x, y := s.sketch().at(int(p.Y)*s.sketch().w + int(p.X))
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
