package flaw

import (
	"fmt"
	"math"
	"slices"
	"sync"

	"laydown/coverage/plate"
	"laydown/coverage/unit"
)

const ptMM = unit.MMPerInch / 72

// shapes looks at strokes, gaps and what lies by itself: at what is too thin to hold,
// against clear film or bare paper and of one flat colour on another; at strokes from
// under which the choke takes all white; at specks, pinholes and small text.
func shapes(s *scene) ([]*Finding, error) {
	d := s.sketch()
	if !d.hasInside() {
		return nil, nil
	}
	var fine, lost, narrow thinPlaces
	choke := math.Max(0, s.ChokeMM)
	limit := s.Limits.SmallestLineMM
	look := limit
	if s.White == plate.Under && choke > 0 {
		// White thinner than a tenth of a millimetre does not hold anything.
		look = math.Max(limit, 2*choke+0.1)
	}
	// After compression with loss, what is thinner than a pixel is its noise.
	noise := 0.0
	if d.lossy {
		noise = leastLossyPX
	}
	var all [][]shape
	mark := make([]uint16, d.w*d.h)
	// Islands are found on one core beside the strokes.
	both := func(plane []uint8, limitMM, beyond float64, holes []bool) ([]stroke, error) {
		var wg sync.WaitGroup
		found := make([][]shape, len(holes))
		for i, hole := range holes {
			wg.Go(func() { found[i] = d.shapesOf(plane, hole) })
		}
		var lines []stroke
		var err error
		if limitMM > 0 {
			lines, err = d.thinStrokes(plane, d.pixels(limitMM), beyond, mark)
		}
		wg.Wait()
		all = append(all, found...)
		return slices.DeleteFunc(lines, func(l stroke) bool { return l.width < noise }), err
	}
	found, err := both(d.presence, look, 0, []bool{false, true})
	if err != nil {
		return nil, err
	}
	for _, line := range found {
		if line.width < d.pixels(limit)-0.05 {
			fine.add(s, line)
		}
		// Other rules leave white out on purpose.
		if choke > 0 && s.White == plate.Under && s.whiteAlong(line) < 0.25 {
			lost.add(s, line)
		}
	}
	plane := make([]uint8, d.w*d.h) // of one thing after another
	for k := range d.flat.count() {
		of, least := limit, leastColourSpeckPX
		if d.flat.bare[k] { // a line of nothing is a gap; open letters are letters, and open dots were counted as holes
			of, least = 0, s.speckPX()
		}
		d.flat.show(k, d.presence, plane)
		if found, err = both(plane, of, 0, []bool{false}); err != nil {
			return nil, err
		}
		last := &all[len(all)-1]
		*last = slices.DeleteFunc(*last, func(v shape) bool { return v.area < least })
		for _, line := range found {
			fine.add(s, line)
		}
	}
	for i, v := range d.presence {
		plane[i] = 255 - v // what the art leaves open
	}
	if found, err = both(plane, s.Limits.SmallestGapMM, 1, nil); err != nil {
		return nil, err
	}
	for _, line := range found {
		narrow.add(s, line)
	}
	return []*Finding{fine.fineLine(s), lost.lostWhite(s, choke), narrow.narrowGap(s), s.specks(all), s.smallText(all)}, nil
}

// leastLossyPX is the least width of a line in art that was compressed with loss.
const leastLossyPX = 0.9

// thinPlaces gathers strokes of one kind.
type thinPlaces struct {
	places   *regions
	thinnest float64 // pixels of the sketch
}

func (g *thinPlaces) add(s *scene, line stroke) {
	if g.places == nil {
		g.places, g.thinnest = newRegions(s), line.width
	}
	g.thinnest = math.Min(g.thinnest, line.width)
	for _, i := range line.pixels {
		x, y := s.sketch().at(int(i))
		g.places.add(x, y, 1/line.width)
	}
}

// finding is the start of one, nil if nothing was gathered.
func (g *thinPlaces) finding(s *scene, kind Kind, limitMM float64) *Finding {
	if g.places == nil {
		return nil
	}
	f := &Finding{Kind: kind, Severity: Look, Measured: g.thinnest * s.sketch().pixelMM, Limit: limitMM, Unit: "mm"}
	f.Boxes, f.Places = g.places.boxes()
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
func (s *scene) whiteAlong(line stroke) float64 {
	got, asked := 0, 0
	for _, i := range line.pixels {
		x, y := s.sketch().at(int(i))
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
