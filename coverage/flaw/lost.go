package flaw

import (
	"fmt"
	"math"
	"sync/atomic"

	"laydown/colour"
	"laydown/colour/cores"
	"laydown/coverage/background"
	"laydown/coverage/distance"
	"laydown/coverage/island"
	"laydown/coverage/plate"
)

// The parts of the solid art from which lost art matters. All are our own figures.
const (
	mostLost   = 0.2  // in one part: the print is spoilt
	nearlyAll  = 0.9  // of the art, in however many parts
	someLost   = 0.05 // a person should look
	someFades  = 0.1  // of shadows and fades, which are meant to end in the item's colour
	wholeLost  = 0.9  // of a shape that lies by itself, and it is gone
	wholeDots  = 3    // smallest dots that such a shape is wide at least
	openDark   = 0.1  // of a part's outline lies against the bare item: it melts into it
	openPale   = 0.5  // the same of white, which colours around it show as white
	samePale   = 2    // ΔE00 within which a tint is not told from white beside it; in the dark less is seen
	paleItem   = 65   // L* from which people take a bare item for white
	solidAlpha = 128  // alpha from which a pixel is art
	hardAlpha  = 192  // and from which it is no fade
)

// lostSamples is about how many pixels are compared with the item.
const lostSamples = 2_000_000

// lostArt looks for art that cannot be told from what lies bare around it, and for art
// that the picture's edge cuts off.
func lostArt(s *scene) ([]*Finding, error) {
	f, err := vanishing(s)
	if err != nil {
		return nil, err
	}
	c := cutOff(s)
	switch {
	case f == nil && c == nil:
		return nil, nil
	case f == nil:
		f = c
	case c != nil: // one finding of a kind
		if f.Severity == Note {
			f.Severity = c.Severity
		}
		f.Boxes, f.Places = append(f.Boxes[:min(len(f.Boxes), maxBoxes-1)], c.Boxes...), f.Places+c.Places
		f.Advice += " " + c.Advice
	}
	return []*Finding{f}, nil
}

// veil is which samples of a print are solid art, and which of them are lost.
type veil struct {
	w, h, step        int
	solid, lost, fade []uint8 // 1 or 0; fades of the item's colour are not solid
	n, faded          int     // solid samples, and those of such fades
}

// vanishing compares the print as it looks on the item with what lies bare around it.
func vanishing(s *scene) (*Finding, error) {
	if s.Look == nil || s.Design == nil || s.Limits.GamutDeltaE <= 0 || s.Foil { // foil is what is seen of such a print
		return nil, nil
	}
	around := s.bareAround()
	v := s.veil(around)
	if v.n+v.faded == 0 {
		return nil, nil
	}
	pale := around.L > paleItem
	least := openDark
	if pale {
		least = openPale
	}
	gone := make([]uint8, len(v.lost))
	parts := island.Find(distance.Mask{Pix: v.lost, Width: v.w, Height: v.h, Threshold: 1}, true)
	held, open, largest := 0, 0, 0 // samples of what art around it holds, and of what melts into the item
	r := newRegionsOf(v.w, v.h, s.PixelMM*float64(v.step))
	for _, i := range parts.Islands {
		bad := 0.0
		switch {
		case v.open(parts.Runs(i)) >= least:
			open, largest, bad = open+i.Pixels, max(largest, i.Pixels), 1
		case pale:
			continue // white within colours is seen as white
		default:
			held += i.Pixels
		}
		for _, run := range parts.Runs(i) {
			for x := run.X0; x < run.X1; x++ {
				gone[int(run.Y)*v.w+int(x)] = 1
				r.add(int(x), int(run.Y), bad)
			}
		}
	}
	part := func(samples int) float64 { return float64(samples) / math.Max(1, float64(v.n)) }
	share, melts := part(open+held), part(open)
	f := &Finding{Kind: ArtLost, Measured: share * 100, Limit: someLost * 100, Unit: "% of the art"}
	lettering := s.lostLetters(v, gone)
	withFades := float64(open+held+v.faded) / float64(v.n+v.faded)
	switch {
	case melts > nearlyAll || part(largest) >= mostLost || len(lettering) > 0: // who can read it no more sends it back
		f.Severity = Stop
	case v.faded > open+held && withFades >= someFades:
		f.Severity, f.Measured = Note, withFades*100
		if withFades >= mostLost {
			f.Severity = Look
		}
		for i, is := range v.fade {
			if is != 0 {
				r.add(i%v.w, i/v.w, 1)
			}
		}
		f.Boxes, f.Places = r.boxes()
		f.Advice = fmt.Sprintf("%.1f %% of the art, most of it a shadow or a fade, prints so near the item's own colour that it melts into it: leave it out, or end it in a lighter colour if it must be seen.", f.Measured)
		return f, nil
	case melts >= someLost || share >= mostLost:
		f.Severity = Look
	case share >= someLost:
		f.Severity = Note
	default:
		if r = s.wholeShapes(v, gone); r == nil {
			return nil, nil
		}
		f.Severity = Note
	}
	if f.Severity == Stop && (s.OwnWhite || !s.Art.HasAlpha && s.colours() == nil) {
		f.Severity = Look // film may be cut along the art, and a photograph's shadows may melt away
	}
	f.Boxes, f.Places = r.boxes()
	if len(lettering) > 0 && share < mostLost { // the worst of it
		f.Boxes, f.Places = append(lettering, f.Boxes...), f.Places+len(lettering)
		f.Boxes = f.Boxes[:min(len(f.Boxes), maxBoxes)]
	}
	what := fmt.Sprintf("%.1f %% of the art", share*100)
	if share > nearlyAll {
		what = "Nearly all of the art"
	} else if len(lettering) > 0 {
		what += ", lettering among it,"
	}
	switch {
	case melts < someLost && held > open:
		f.Advice = what + " prints so near the item's own colour that it looks like a hole in the print; the art around it still shows its shape. If it must be seen, give it a lighter colour."
	case s.White == plate.All:
		f.Advice = what + " is as white as the box of white that is laid under all of the print, and vanishes in it: lay white under the art alone, or give the art an outline or a ground in a colour."
	case s.OwnWhite:
		f.Advice = what + " is as white as the film itself, and vanishes in it unless the film is cut along the art: cut it so, or give the art an outline in a colour."
	case pale:
		f.Advice = what + " looks like the bare item, and nothing around it shows where it ends: it vanishes. Give it an outline in a darker colour, or choose an item of another colour."
		if s.White == plate.NoWhite {
			f.Advice = f.Advice[:len(f.Advice)-1] + " and a process with white."
		}
	case s.White == plate.NoWhite:
		f.Advice = what + " cannot be told from the item's own colour, for no white lies under it: it vanishes. Choose a process with white, or a lighter item."
	default:
		f.Advice = what + " prints so near the item's own colour that it vanishes: give it an outline in a light colour, or choose an item of another colour."
	}
	return f, nil
}

// veil looks at an even grid of the pixels.
func (s *scene) veil(around colour.Lab) *veil {
	w, h := s.Art.Width, s.Art.Height
	step := int(math.Ceil(math.Sqrt(math.Max(1, float64(w)*float64(h)/lostSamples))))
	v := &veil{w: (w + step - 1) / step, h: (h + step - 1) / step, step: step}
	v.solid, v.lost, v.fade = make([]uint8, v.w*v.h), make([]uint8, v.w*v.h), make([]uint8, v.w*v.h)
	presence := s.presence()
	bare := s.bareGround(around)
	var n, faded atomic.Int64
	cores.Share(v.h, func(lo, hi int) {
		known := map[[plate.Count]uint8]bool{}
		count, fades := 0, 0
		for y := lo; y < hi; y++ {
			for x := range v.w {
				px, py := x*step, y*step
				i := py*w + px
				alpha := s.Art.AlphaAt(i)
				white := s.Plates.Plane[plate.White][i]
				switch {
				case alpha < solidAlpha, bare != nil && bare[i] != 0:
					continue
				case !s.Art.HasAlpha && presence[i] == 0 && (s.White == plate.All || white < solidAlpha):
					continue // bare paper
				}
				var key [plate.Count]uint8
				for k := range plate.White {
					key[k] = uint8(min(255, int(s.Plates.Plane[k][i])*255/int(alpha))) // plates are scaled by alpha
				}
				key[plate.White] = s.whiteNear(px, py, alpha)
				is, ok := known[key]
				if !ok {
					is = s.looksLike(key, around)
					known[key] = is
				}
				if is && alpha < hardAlpha {
					fades++
					v.fade[y*v.w+x] = 1
					continue // a shadow in the item's colour is meant to melt into it
				}
				count++
				v.solid[y*v.w+x] = 1
				if is {
					v.lost[y*v.w+x] = 1
				}
			}
		}
		n.Add(int64(count))
		faded.Add(int64(fades))
	})
	v.n, v.faded = int(n.Load()), int(faded.Load())
	return v
}

// looksLike reports whether tone values, of 255, cannot be told from a colour.
func (s *scene) looksLike(tones [plate.Count]uint8, around colour.Lab) bool {
	var t [4]float64
	for k := range t {
		t[k] = float64(tones[k]) / 255
	}
	limit := s.Limits.GamutDeltaE
	if around.L > paleItem {
		limit = min(limit, samePale)
	}
	return colour.DeltaE00(s.Look(t, float64(tones[plate.White])/255), around) < limit
}

// whiteNear is the white, of 255, that the art at a pixel lies on. Where the choke
// keeps white back, that is what lies within it: the rim is no part of its own.
func (s *scene) whiteNear(x, y int, alpha uint8) uint8 {
	full := uint8(math.Round(math.Max(0, math.Min(100, s.WhitePercent)) * 2.55))
	switch s.White {
	case plate.NoWhite:
		return 0
	case plate.Under, plate.All:
		return full
	}
	w, h := s.Art.Width, s.Art.Height
	reach := int(math.Ceil(math.Max(0, s.ChokeMM)/s.PixelMM*math.Sqrt2)) + 1
	most := s.Plates.Plane[plate.White][y*w+x]
	for v := max(0, y-reach); v <= min(h-1, y+reach) && most < full/4; v++ {
		for _, p := range s.Plates.Plane[plate.White][v*w+max(0, x-reach) : v*w+min(w, x+reach+1)] {
			most = max(most, p)
		}
	}
	return uint8(min(int(full), int(most)*255/int(alpha)))
}

// bareGround marks a flat ground that is no art: one that is all around and mostly looks
// like what lies bare. It is nil if there is none. Who cut the art out meant a dark
// ground that is left.
func (s *scene) bareGround(around colour.Lab) []uint8 {
	g := s.ground()
	if g == nil || s.Art.HasAlpha && around.L <= paleItem {
		return nil
	}
	w := s.Art.Width
	step := max(1, len(g.Where)/groundSamples)
	alike, other := 0, 0
	for i := 0; i < len(g.Where); i += step {
		if g.Where[i] != background.Edge || s.Art.AlphaAt(i) < 255 {
			continue
		}
		var key [plate.Count]uint8
		for k := range plate.White {
			key[k] = s.Plates.Plane[k][i]
		}
		key[plate.White] = s.whiteNear(i%w, i/w, 255)
		if s.looksLike(key, around) {
			alike++
		} else {
			other++
		}
	}
	if alike <= other {
		return nil
	}
	return g.Where
}

// groundSamples is about how many pixels tell how a ground looks.
const groundSamples = 5000

// open is the share of a part's outline along which it lies against what is bare, the
// picture's edge counting as bare.
func (v *veil) open(runs []island.Run) float64 {
	beside, bare := 0, 0
	look := func(x, y int) {
		switch {
		case x < 0 || y < 0 || x >= v.w || y >= v.h || v.solid[y*v.w+x] == 0:
			beside++
			bare++
		case v.lost[y*v.w+x] == 0:
			beside++
		}
	}
	for _, r := range runs {
		look(int(r.X0)-1, int(r.Y))
		look(int(r.X1), int(r.Y))
		for x := int(r.X0); x < int(r.X1); x++ {
			look(x, int(r.Y)-1)
			look(x, int(r.Y)+1)
		}
	}
	return float64(bare) / math.Max(1, float64(beside))
}

// wholeShapes are the shapes that lie by themselves, are more than a speck, and are
// gone; nil if there are none.
func (s *scene) wholeShapes(v *veil, gone []uint8) *regions {
	mm := s.PixelMM * float64(v.step)
	least := math.Pi / 4 * math.Pow(wholeDots*s.Limits.SmallestDotMM/mm, 2)
	var r *regions
	shapes := island.Find(distance.Mask{Pix: v.solid, Width: v.w, Height: v.h, Threshold: 1}, true)
	for _, i := range shapes.Islands {
		if float64(i.Pixels) < least {
			continue
		}
		n := 0
		for _, run := range shapes.Runs(i) {
			for x := run.X0; x < run.X1; x++ {
				n += int(gone[int(run.Y)*v.w+int(x)])
			}
		}
		if float64(n) < wholeLost*float64(i.Pixels) {
			continue
		}
		if r == nil {
			r = newRegionsOf(v.w, v.h, mm)
		}
		for _, run := range shapes.Runs(i) {
			for x := run.X0; x < run.X1; x++ {
				r.mark(int(x), int(run.Y))
			}
		}
	}
	return r
}

// lostLetters are the boxes of rows of shapes like letters that lie by themselves and are
// gone.
func (s *scene) lostLetters(v *veil, gone []uint8) (out []Box) {
	mm := s.PixelMM * float64(v.step)
	shapes := island.Find(distance.Mask{Pix: v.solid, Width: v.w, Height: v.h, Threshold: 1}, true)
	var all []letter
	for _, i := range shapes.Islands {
		if float64(i.Y1-i.Y0) > largestLetterMM/mm || i.AtEdge(v.w, v.h) {
			continue
		}
		runs, n := shapes.Runs(i), 0
		for _, run := range runs {
			for x := run.X0; x < run.X1; x++ {
				n += int(gone[int(run.Y)*v.w+int(x)])
			}
		}
		if float64(n) >= wholeLost*float64(i.Pixels) {
			all = append(all, measure(v.solid, v.w, i, runs, 1))
		}
	}
	for _, row := range textRows(all, largestLetterMM/mm/tallest, 0) {
		if len(row) < leastLetters {
			continue
		}
		b := bounds(row)
		at := func(px int) float64 { return round(float64(px)*mm, 100) }
		out = append(out, Box{at(b.x0), at(b.y0), round(at(b.x1+1)-at(b.x0), 100), round(at(b.y1+1)-at(b.y0), 100)})
	}
	return out[:min(len(out), maxBoxes)]
}

// largestLetterMM is how high letters are at most that are told as such.
const largestLetterMM = 30

// What tells art that a picture's edge cuts off: a hard cut of this length and part of
// that edge, while to the other three the art comes no nearer than clearMM or only touches them. All are our own figures.
const (
	cutMM     = 5
	cutPart   = 0.15
	clearMM   = 1
	hardEdge  = 250
	touchPart = 0.25 // of an edge that what only touches it takes at most: a disc does
	// Art that was trimmed comes to other edges too, and may stand on a straight foot. What is
	// cut goes on outwards at a slant from where it was cut: by so much in half of clearMM, and
	// in the other half by at least a part of that and at most so much more. Rounded corners
	// turn.
	leastSlantMM  = 0.08
	leastStraight = 0.5
)

// cutOff looks for cut-out art that runs into one edge of its picture.
func cutOff(s *scene) *Finding {
	w, h := s.Art.Width, s.Art.Height
	margin := int(math.Ceil(clearMM / s.PixelMM))
	if !s.Art.HasAlpha || w < 4*margin || h < 4*margin {
		return nil
	}
	p := s.presence()
	// Each edge as rows of pixels inwards from it.
	sides := []struct {
		name   string
		length int
		at     func(along, in int) int
	}{
		{"top", w, func(along, in int) int { return in*w + along }},
		{"right", h, func(along, in int) int { return along*w + w - 1 - in }},
		{"bottom", w, func(along, in int) int { return (h-1-in)*w + along }},
		{"left", h, func(along, in int) int { return along*w + in }},
	}
	var cut *Finding
	oblique, touches := false, 0
	for _, side := range sides {
		from, to, touched := 0, 0, false
		for along, start := 0, 0; along < side.length; along++ {
			if p[side.at(along, 0)] < hardEdge {
				start = along + 1
			} else if along+1-start > to-from {
				from, to = start, along+1
			}
			for in := 0; in < margin && !touched; in++ {
				touched = p[side.at(along, in)] >= solidAlpha
			}
		}
		if !touched {
			continue
		}
		touches++
		mm := float64(to-from) * s.PixelMM
		long := mm >= cutMM && float64(to-from) >= cutPart*float64(side.length)
		if cut != nil && long || !long && float64(to-from) > touchPart*float64(side.length) {
			return nil // it fills its frame
		}
		if !long {
			continue // only touches it, as art does that was trimmed
		}
		// How far its outline goes outwards from the edge to halfway into the margin, and on.
		within := func(along, in int) bool {
			return along >= 0 && along < side.length && p[side.at(along, in)] >= solidAlpha
		}
		for _, end := range [2][2]int{{from, -1}, {to - 1, 1}} {
			var out [2]float64
			at := end[0]
			for k, in := range [2]int{margin / 2, margin} {
				start := at
				for within(at+end[1], in) {
					at += end[1]
				}
				out[k] = float64(abs(at-start)) * s.PixelMM
			}
			oblique = oblique || out[0] >= leastSlantMM && out[1] >= out[0]*leastStraight && out[0] >= out[1]*leastStraight
		}
		r := newRegions(s)
		for along := from; along < to; along++ {
			for in := range margin {
				if i := side.at(along, in); p[i] >= solidAlpha {
					r.mark(i%w, i/w)
				}
			}
		}
		cut = &Finding{Kind: ArtLost, Severity: Look, Measured: mm, Unit: "mm of the edge"}
		cut.Boxes, cut.Places = r.boxes()
		cut.Advice = fmt.Sprintf("The art runs into the %s edge of its picture along %.1f mm and is cut straight off there: if that is not meant, ask for the whole art.", side.name, mm)
	}
	if touches > 1 && !oblique {
		return nil
	}
	return cut
}
