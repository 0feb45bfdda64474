package flaw

import (
	"fmt"
	"math"
	"slices"
	"sync"

	"laydown/coverage/distance"
	"laydown/coverage/island"
	"laydown/coverage/plate"
)

// fades looks for parts that are neither there nor not there.
func fades(s *scene) ([]*Finding, error) {
	if s.Art.HasAlpha {
		return halfClear(s)
	}
	return tintsOut(s)
}

// leastBandPX is the width of half-clear band that antialiasing alone makes,
// whatever the resolution.
const leastBandPX = 2.5

// bandDepth is the squared distance to its edge that the middle of a band of a width
// has, which is half of it, and how far must be looked for that; all in pixels.
func bandDepth(widthPX float64) (squared uint16, reach int) {
	return uint16(math.Ceil(math.Pow((widthPX+1)/2, 2))), min(int(math.Ceil(widthPX/2))+1, distance.MaxReach)
}

// halfClear looks for parts that are neither clear nor solid over more than the
// edge of a shape: glows, shadows and tints by transparency. Under a white rule
// each of them gets a screen of white dots that shows as a pale rim; without one
// it is a tint that may not hold. A band too narrow for a fade may yet be a soft
// edge.
func halfClear(s *scene) ([]*Finding, error) {
	w, h := s.Art.Width, s.Art.Height
	part := make([]uint8, w*h) // 255 where half clear
	const clear, solid = 8, 247
	n := 0
	for i, a := range s.presence() {
		if a > clear && a < solid {
			part[i] = 255
			n++
		}
	}
	if n == 0 {
		return nil, nil
	}
	fadeDeep, reach := bandDepth(math.Max(s.Limits.FadeWidthMM/s.PixelMM, leastBandPX))
	softDeep, _ := bandDepth(math.Max(s.Limits.SoftEdgeMM/s.PixelMM, leastBandPX))
	fade, soft := newRegions(s), newRegions(s)
	deep := make([]uint8, w*h) // 1 in the middle of a fade
	narrow, widest := 0, uint16(0)
	presence := s.presence()
	var one sync.Mutex // rows come from several goroutines; few have anything to mark
	err := distance.Rows(distance.Mask{Pix: part, Width: w, Height: h, Threshold: 255}, reach, func(y int, row []uint16) {
		if slices.Max(row) < softDeep {
			return
		}
		one.Lock()
		defer one.Unlock()
		for x, v := range row {
			switch {
			case v >= fadeDeep:
				if smooth(presence, w, h, x, y) {
					deep[y*w+x] = 1
					fade.mark(x, y)
				}
			case v >= softDeep:
				narrow++
				soft.mark(x, y)
				widest = max(widest, v)
			}
		}
	})
	if err != nil {
		return nil, err
	}
	// What runs up to a fade's middle is no edge of its own.
	var out []*Finding
	if f := s.fadeOut(fade, deep, part, int(math.Ceil(math.Sqrt(float64(fadeDeep))))); f != nil {
		out = append(out, f)
	} else if narrow > 0 && s.White != plate.NoWhite && !s.HardWhite && s.Limits.SoftEdgeMM > 0 {
		f := &Finding{Kind: SoftEdge, Severity: Look, Measured: (2*math.Sqrt(float64(widest)) - 1) * s.PixelMM, Limit: s.Limits.SoftEdgeMM, Unit: "mm"}
		f.Boxes, f.Places = soft.boxes()
		f.Advice = fmt.Sprintf("Edges are half clear over as much as %.2f mm, and white toner is screened under them: they print with a pale, ragged rim. "+
			"Sharpen the edges, ask for the art at a higher resolution, or give the process a white_threshold_percent.", f.Measured)
		out = append(out, f)
	}
	return out, nil
}

// smooth reports whether what is there at a pixel goes on evenly to either side: between
// the edges of shapes that lie close together it goes up and down.
func smooth(p []uint8, w, h, x, y int) bool {
	i := y*w + x
	if x > 0 && x+1 < w && abs(int(p[i-1])+int(p[i+1])-2*int(p[i])) > fadeBend {
		return false
	}
	return y == 0 || y+1 == h || abs(int(p[i-w])+int(p[i+w])-2*int(p[i])) <= fadeBend
}

// fadeBend is the second difference, of 255, that a fade has at most.
const fadeBend = 24

// leastFadeMarks keeps the crossings of hairlines, which are all edge, from passing
// for fades.
const leastFadeMarks = 12

// fadeOut is the finding of fades by transparency, whose middles are marked, nil if there
// are none. Its share is that of what is half clear within reach pixels of a middle, as
// are its places.
func (s *scene) fadeOut(r *regions, deep, part []uint8, reach int) *Finding {
	f := &Finding{Kind: FadeOut, Severity: Look, Unit: "% of the print"}
	if f.Boxes, f.Places = r.boxesOf(leastFadeMarks); f.Places == 0 {
		return nil
	}
	w, h := s.Art.Width, s.Art.Height
	for i, b := range f.Boxes {
		f.Boxes[i] = b.grow(float64(reach)*s.PixelMM, float64(w)*s.PixelMM, float64(h)*s.PixelMM)
	}
	n := 0
	for i, is := range within(deep, w, h, reach) {
		if is != 0 && part[i] != 0 {
			n++
		}
	}
	f.Measured = float64(n) / float64(w*h) * 100
	share := f.Measured
	f.Advice = fmt.Sprintf("Half-clear parts (a glow, shadow or fade) take %.2f %% of the print. ", share)
	switch {
	case s.White != plate.NoWhite && s.HardWhite:
		f.Advice += "White stops at a hard edge inside them: beyond it their colour is lost on a dark item, within it they look " +
			"paler than designed. End the art in a hard edge of its own, or approve a sample."
	case s.White != plate.NoWhite:
		f.Severity = Stop
		f.Advice += "White toner is laid under them as a screen of dots and shows as a pale rim: end the art in a hard edge, " +
			"or fade it to a solid colour of the item."
	default:
		f.Advice += "Without white they print as light tints that may not hold: end the art in a hard edge or make the tint solid."
	}
	return f
}

// within marks what lies within a square of so many pixels to every side of a mark.
func within(marks []uint8, w, h, reach int) []uint8 {
	out := make([]uint8, len(marks))
	spread := func(from, to []uint8, start, step, n int) {
		last := -reach - 1
		for k := range n + reach {
			if k < n && from[start+k*step] != 0 {
				last = k
			}
			if at := k - reach; at >= 0 && last >= at-reach {
				to[start+at*step] = 1
			}
		}
	}
	for y := range h {
		spread(marks, out, y*w, 1, w)
	}
	rows := slices.Clone(out)
	for x := range w {
		spread(rows, out, x, w, h)
	}
	return out
}

// smoothCodes is how much more toner a pixel has than a faint neighbour in a ramp.
const smoothCodes = 24

// tintsOut looks, in art without transparency, for tints that run to nothing: faint
// bands wider than an edge that have bare paper on one side and solid art on the
// other.
func tintsOut(s *scene) ([]*Finding, error) {
	w, h := s.Art.Width, s.Art.Height
	top := uint8(math.Min(254, math.Max(12, math.Ceil(s.Limits.SmallestTonePercent*2.55))))
	tone := make([]uint8, w*h)
	for y := range h {
		strongest(s.Plates, y, tone[y*w:(y+1)*w])
	}
	band := make([]uint8, w*h) // 255 where faint
	for i, v := range tone {
		if v > 0 && v <= top {
			band[i] = 255
		}
	}
	widePX := math.Max(s.Limits.FadeWidthMM/s.PixelMM, leastBandPX)
	// What an enlargement makes of an edge is an edge.
	widePX = math.Max(widePX, softEdgePX*s.past().factor)
	if s.lossy() { // noise reaches over two blocks
		widePX = math.Max(widePX, (2*8+1)*s.past().factor)
	}
	deep, reach := bandDepth(widePX)
	d, err := distance.Squared(distance.Mask{Pix: band, Width: w, Height: h, Threshold: 255}, reach)
	if err != nil {
		return nil, err
	}
	var ground []uint8 // of a photograph, whose highlights are no bare film
	if s.view().grain.isPhoto {
		g := s.ground()
		if g == nil {
			return nil, nil
		}
		ground = g.Where
	}
	r := newRegions(s)
	total := 0
	m := island.Find(distance.Mask{Pix: band, Width: w, Height: h, Threshold: 255}, false)
	for _, i := range m.Islands {
		if float64(i.Pixels)*s.PixelMM*s.PixelMM < leastFaintMM2 {
			continue
		}
		// A fade goes on smoothly into what is toned; the crumbs that compression
		// leaves beside an edge do not.
		bare, next, edge, middles := 0, 0, 0, 0
		swing, span := 0, 0 // of tones along its rows: a decline goes one way
		rim := func(at int) {
			switch v := tone[at]; {
			case v == 0 && (ground == nil || ground[at] != 0):
				bare++
			case v == 0:
			case v > top && v <= top+smoothCodes:
				next++
			case v > top:
				edge++
			}
		}
		for _, run := range m.Runs(i) {
			a, b := swings(tone[int(run.Y)*w+int(run.X0) : int(run.Y)*w+int(run.X1)])
			swing, span = swing+a, span+b
			for _, x := range []int{int(run.X0) - 1, int(run.X1)} {
				if x >= 0 && x < w {
					rim(int(run.Y)*w + x)
				}
			}
			for x := run.X0; x < run.X1; x++ {
				at := int(run.Y)*w + int(x)
				if d[at] >= deep {
					middles++
				}
				for _, beside := range []int{at - w, at + w} {
					if beside >= 0 && beside < w*h {
						rim(beside)
					}
				}
			}
		}
		if all := bare + next + edge; bare*10 < all || next*10 < all || edge > next || middles < leastFadeMarks || float64(swing) > mostSwing*float64(span) {
			continue
		}
		total += i.Pixels
		for _, run := range m.Runs(i) {
			for x := run.X0; x < run.X1; x++ {
				r.mark(int(x), int(run.Y))
			}
		}
	}
	if total == 0 {
		return nil, nil
	}
	share := float64(total) / float64(w*h) * 100
	f := &Finding{Kind: FadeOut, Severity: Look, Measured: share, Unit: "% of the print"}
	f.Boxes, f.Places = r.boxes()
	f.Advice = fmt.Sprintf("Tints run out to nothing, faint on %.2f %% of the print: where they are lightest they print as stray specks and end in a visible line. "+
		"End the art in a hard edge, or stop the fade at %.0f %%.", share, s.Limits.SmallestTonePercent)
	return []*Finding{f}, nil
}

// swings are by how much tones go up and down along a line, and by how much they differ.
func swings(line []uint8) (swing, span int) {
	lo, hi, last := line[0], line[0], line[0]
	for _, v := range line {
		lo, hi = min(lo, v), max(hi, v)
		if d := abs(int(v) - int(last)); d >= leastSwing {
			swing, last = swing+d, v
		}
	}
	return swing, int(hi - lo)
}

// What tells a decline from the crumbs that compression leaves, which enlargement makes
// smooth: smaller swings are rounding, in tones of 255, and in a decline tones go up and
// down by little more than they differ. softEdgePX is how many pixels of the original an
// edge takes at most, with what sharpening leaves beside it.
const (
	leastSwing = 2
	mostSwing  = 1.4
	softEdgePX = 4
)
