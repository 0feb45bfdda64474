package flaw

import (
	"fmt"
	"math"
	"slices"

	"laydown/colour/cores"
	"laydown/coverage/artwork"
	"laydown/coverage/unit"
)

// past is what was done to the art before it came, as far as it shows.
type past struct {
	enlargement
	// blocks is by how many codes the steps between blocks of 8 × 8 pixels stand out
	// from those within; 0 where there is too little to tell.
	blocks float64
}

// enlargement is by how much the art was enlarged.
type enlargement struct {
	factor float64 // 1 for not at all
	words  string  // how that shows; "" for not at all
	// repeats is how many pixels, along either side, each was made into by repeating
	// it; 1 for none.
	repeats int
}

// pastOf looks at the art's edges and steps. presence is asked for only where the art
// has transparency.
func pastOf(art *artwork.Art, presence func() []uint8) past {
	t := tone(art, presence)
	p := past{enlargement: enlarged(t, art.Width, art.Height)}
	if p.repeats == 1 { // repeated pixels are blocks of their own
		p.blocks = blocks(t, art.Width, art.Height)
	}
	return p
}

// resolution looks at the pixels per inch at print size, and at how many of them
// are real: art that was enlarged before it came has pixels that say nothing.
func resolution(s *scene) ([]*Finding, error) {
	ppi, before := unit.MMPerInch/s.PixelMM, s.past()
	real := ppi / before.factor
	f := &Finding{Kind: LowResolution, Measured: real, Unit: "px/in"}
	switch {
	case real < s.Limits.LeastPPI*0.995:
		f.Severity, f.Limit = Stop, s.Limits.LeastPPI
	case real < s.Limits.GoodPPI*0.995: // 299.99 is 300 to everybody
		f.Severity, f.Limit = Look, s.Limits.GoodPPI
	default:
		return nil, nil
	}
	f.Advice = fmt.Sprintf("The art has %.0f pixels per inch at this size", ppi)
	if before.factor > 1 {
		if f.Severity == Stop && ppi >= s.Limits.LeastPPI {
			f.Severity = Look // an estimate stops nobody by itself
		}
		f.Advice += fmt.Sprintf(", but %s: in truth it has about %.0f", before.words, real)
	}
	f.Advice += fmt.Sprintf("; %.0f look sharp and %.0f are the least. Ask for the original at %d pixels wide or more, or print it no wider than %.0f mm.",
		s.Limits.GoodPPI, s.Limits.LeastPPI,
		int(math.Ceil(float64(s.Art.Width)*s.Limits.GoodPPI/ppi)), float64(s.Art.Width)/before.factor/s.Limits.GoodPPI*unit.MMPerInch)
	return []*Finding{f}, nil
}

// tone is one number a pixel for looking at edges: the art's green, or what
// stands for it, on white. It misses edges between colours of the same green, of
// which no picture has only those.
func tone(art *artwork.Art, presence func() []uint8) []uint8 {
	w, h := art.Width, art.Height
	t := make([]uint8, w*h)
	var there []uint8
	if art.HasAlpha {
		there = presence()
	}
	cores.Share(h, func(lo, hi int) {
		black := make([]uint8, w)
		for y := lo; y < hi; y++ {
			row := t[y*w : (y+1)*w]
			switch art.Space.Channels() {
			case 3:
				art.Channel(y, 1, row)
			case 4: // of magenta and black the stronger
				art.Channel(y, 1, row)
				art.Channel(y, 3, black)
				for x, v := range row {
					row[x] = 255 - max(v, black[x])
				}
			default:
				art.Channel(y, 0, row)
			}
			if there != nil {
				for x, v := range there[y*w : (y+1)*w] {
					a := int(v)
					row[x] = uint8((int(row[x])*a + 255*(255-a)) / 255)
				}
			}
		}
	})
	return t
}

// Edges are looked at only where there is enough to tell.
const (
	leastEdge   = 60  // codes that an edge rises
	widestEdge  = 24  // pixels; a slower rise is a ramp
	leastEdges  = 400 // in the picture
	sharpestOf  = 10  // the 1 in so many sharpest edges count
	nativeWidth = 1.5 // pixels that the sharp edges of art at its own size take at most
	surelySoft  = 2.2 // and from which it was enlarged, or is soft
)

// enlarged estimates from a plane of tones by how much the art was enlarged.
func enlarged(t []uint8, w, h int) enlargement {
	if k := repeated(t, w, h); k > 1 {
		return enlargement{factor: float64(k), repeats: k,
			words: fmt.Sprintf("every %d × %d of them are the same, so it was enlarged before it came", k, k)}
	}
	if width := edgeWidth(t, w, h); width >= surelySoft {
		return enlargement{factor: width / nativeWidth, repeats: 1,
			words: fmt.Sprintf("its sharpest edges take %.1f of them, so it was enlarged before it came, or is soft", width)}
	}
	return enlargement{factor: 1, repeats: 1}
}

// repeated tells enlargement that repeats pixels: in both directions, all changes
// lie on every k-th column and row.
func repeated(t []uint8, w, h int) int {
	columns, rows := make([]int, w), make([]int, h)
	every := max(1, h/600)
	for y := 0; y < h; y += every {
		row := t[y*w : (y+1)*w]
		for x := 1; x < w; x++ {
			if row[x] != row[x-1] {
				columns[x]++
			}
		}
	}
	every = max(1, w/600)
	for y := 1; y < h; y++ {
		for x := 0; x < w; x += every {
			if t[y*w+x] != t[(y-1)*w+x] {
				rows[y]++
			}
		}
	}
	period := func(changes []int) int {
		total, places := 0, 0
		for _, c := range changes {
			total += c
			if c > 0 {
				places++
			}
		}
		if total < leastEdges || places < 24 {
			return 1
		}
		for k := 16; k > 1; k-- {
			phase := make([]int, k)
			for i, c := range changes {
				phase[i%k] += c
			}
			if most := slices.Max(phase); float64(most) >= 0.98*float64(total) && places*k*3 > len(changes) { // at nearly every place where there could be one
				return k
			}
		}
		return 1
	}
	return min(period(columns), period(rows))
}

// edgeWidth is the width in pixels of the sharpest edges along rows: the whole rise
// divided by its steepest step. 0 says that there are too few to tell.
func edgeWidth(t []uint8, w, h int) float64 {
	const bins = 10 * widestEdge
	every := max(1, h/1500)
	lines := (h + every - 1) / every
	parts := make([][bins]int, 32)
	cores.Share(len(parts), func(lo, hi int) {
		for p := lo; p < hi; p++ {
			for k := p * lines / len(parts); k < (p+1)*lines/len(parts); k++ {
				row := t[k*every*w : (k*every+1)*w]
				for x := 1; x < w; {
					d := int(row[x]) - int(row[x-1])
					if d == 0 {
						x++
						continue
					}
					from, steep := x-1, 0
					for ; x < w; x++ {
						e := int(row[x]) - int(row[x-1])
						if e == 0 || (e > 0) != (d > 0) {
							break
						}
						steep = max(steep, e, -e)
					}
					if rise := int(row[x-1]) - int(row[from]); max(rise, -rise) >= leastEdge {
						if width := 10 * max(rise, -rise) / steep; width < bins {
							parts[p][width]++
						}
					}
				}
			}
		}
	})
	var count [bins]int
	total := 0
	for _, p := range parts {
		for i, n := range p {
			count[i] += n
			total += n
		}
	}
	if total < leastEdges {
		return 0
	}
	seen := 0
	for i, n := range count {
		if seen += n; seen*sharpestOf >= total {
			return float64(i) / 10
		}
	}
	return 0
}

// blocking looks for the 8 × 8 blocks of hard JPEG compression: steps between
// blocks that stand out from those within, in smooth parts.
func blocking(s *scene) ([]*Finding, error) {
	stands := s.past().blocks
	if stands < leastBlock {
		return nil, nil
	}
	f := &Finding{Kind: Blocking, Severity: Look, Measured: stands, Limit: leastBlock, Unit: "codes"}
	f.Advice = fmt.Sprintf("Hard JPEG compression shows as blocks of 8 pixels (%.1f mm): smooth parts print as tiles, edges with crumbs around them. Ask for the original, saved as PNG or TIFF.",
		8*s.PixelMM)
	return []*Finding{f}, nil
}

// leastBlocked is the least width and height of art in which blocks can be told.
const leastBlocked = 64

// blocks is by how many codes blocks stand out in a plane of tones, in the direction
// in which they do less; 0 in a small one.
func blocks(t []uint8, w, h int) float64 {
	if w < leastBlocked || h < leastBlocked {
		return 0
	}
	return min(blockSteps(w, h, func(x, y int) int { return int(t[y*w+x]) }), blockSteps(h, w, func(y, x int) int { return int(t[y*w+x]) }))
}

// leastBlock is how many codes the steps between blocks stand out from those
// within when a person sees blocks; our own figure.
const leastBlock = 1.5

// blockSteps is by how many codes the steps at every eighth place stand out from
// the others, where there are no edges.
func blockSteps(n, lines int, at func(i, line int) int) float64 {
	var sum [8]float64
	var count [8]int
	every := max(1, lines/150)
	for line := every / 2; line < lines; line += every {
		a, b, c := at(0, line), at(1, line), at(2, line)
		changed := -8 // where there was something other than a flat
		for i := 2; i < n-1; i++ {
			d := at(i+1, line)
			// The step from b to c against its neighbours.
			before, step, after := abs(b-a), abs(c-b), abs(d-c)
			if before+step+after > 0 {
				changed = i
			}
			if before < 12 && step < 24 && after < 12 && i-changed < 8 {
				sum[i%8] += float64(2*step-before-after) / 2
				count[i%8]++
			}
			a, b, c = b, c, d
		}
	}
	mean := func(k int) float64 { return sum[k] / math.Max(1, float64(count[k])) }
	best, at8 := math.Inf(-1), 0
	for k := range 8 {
		if m := mean(k); m > best {
			best, at8 = m, k
		}
	}
	others := 0.0
	for k := range 8 {
		if count[k] < 500 {
			return 0
		}
		if k != at8 {
			others += mean(k) / 7
		}
	}
	return best - others
}

func abs(v int) int { return max(v, -v) }
