// Package plate turns artwork into the five plates of one print, cyan,
// magenta, yellow, black and white, and measures what they lay down.
//
// A plate is a grey picture of tone values: 0 no toner, 255 solid. A pixel
// that is partly transparent prints its colour on that part of its area, so
// each tone value is multiplied by alpha, and fully transparent pixels print
// nothing. White follows from alpha and a rule. It is not part of the total
// area coverage (TAC), the sum of C, M, Y and K that ISO 12647-2 limits.
package plate

import (
	"fmt"
	"math"

	"laydown/colour/grid"
	"laydown/colour/press"
	"laydown/coverage/artwork"
	"laydown/coverage/distance"
)

// The plates, by index.
const (
	Cyan = iota
	Magenta
	Yellow
	Black
	White
	Count
)

// Names are the plates' names, by index.
var Names = [Count]string{"cyan", "magenta", "yellow", "black", "white"}

// Rule says where white toner goes.
type Rule string

// The white rules.
const (
	NoWhite Rule = "none"  // no white toner
	Under   Rule = "under" // wherever there is art, as strong as the art is opaque
	All     Rule = "all"   // over the whole print box
)

// ParseRule reads a white rule's name.
func ParseRule(s string) (Rule, error) {
	switch r := Rule(s); r {
	case NoWhite, Under, All:
		return r, nil
	}
	return "", fmt.Errorf("white rule %q: choose none, under or all", s)
}

// WhiteOptions shape the white plate.
type WhiteOptions struct {
	Rule           Rule
	DensityPercent float64 // tone value of full white, 0–100
	ChokeMM        float64 // how far white stays back from the art's edge; negative spreads it beyond
	PixelMM        float64 // size of a pixel on the print
}

// Plates are the five plates of one print. Treat them as read-only.
type Plates struct {
	Width, Height int
	Plane         [Count][]uint8 // rows of Width values, 0 none to 255 solid
}

// solidArt is the alpha from which a pixel counts as art where a yes or no is
// needed.
const solidArt = 128

// Make separates artwork into plates by the given separator and white options.
// The art is only read.
func Make(art *artwork.Art, sep *press.Separator, white WhiteOptions) (*Plates, error) {
	table := sep.Table()
	if n := art.Space.Channels(); table.Inputs() != n {
		return nil, fmt.Errorf("plates of %d-channel art need a table of as many channels, not %d", n, table.Inputs())
	}
	w, h := art.Width, art.Height
	p := &Plates{Width: w, Height: h}
	for k := range p.Plane {
		p.Plane[k] = make([]uint8, w*h)
	}
	density := uint8(math.Round(math.Max(0, math.Min(100, white.DensityPercent)) * 255 / 100))
	if white.Rule == NoWhite {
		density = 0
	}
	grid.Parallel(h, func(lo, hi int) {
		wide := make([]uint16, w*art.Step)
		alpha := make([]uint8, w)
		for y := lo; y < hi; y++ {
			var rows grid.Planes
			for k := range rows {
				rows[k] = p.Plane[k][y*w : (y+1)*w]
			}
			if art.Depth == 16 {
				art.Row16(y, wide)
				table.Row16(rows, wide, art.Step)
			} else {
				table.Row8(rows, art.Row(y), art.Step)
			}
			under := p.Plane[White][y*w : (y+1)*w]
			if art.AlphaAt >= 0 {
				art.Alpha(y, alpha)
				for k := range rows {
					for x, a := range alpha {
						if a != 255 {
							rows[k][x] = scale(rows[k][x], a)
						}
					}
				}
				if density > 0 && white.Rule == Under {
					copy(under, alpha) // weighed below
					continue
				}
			}
			if density > 0 {
				for x := range under {
					under[x] = 255
				}
			}
		}
	})
	if density == 0 {
		return p, nil
	}
	if white.Rule == Under && white.ChokeMM != 0 {
		if err := p.choke(white.ChokeMM / white.PixelMM); err != nil {
			return nil, err
		}
	}
	if density < 255 {
		grid.Parallel(h, func(lo, hi int) {
			for i := lo * w; i < hi*w; i++ {
				p.Plane[White][i] = scale(p.Plane[White][i], density)
			}
		})
	}
	return p, nil
}

// scale is v × a ÷ 255, rounded.
func scale(v, a uint8) uint8 {
	t := uint32(v)*uint32(a) + 128
	return uint8((t + t>>8) >> 8)
}

// choke draws the white plate back from the edge of the art, or spreads it for
// a negative width, by true Euclidean distance with an antialiased edge.
func (p *Plates) choke(px float64) error {
	reach := int(math.Ceil(math.Abs(px))) + 2
	if reach > distance.MaxReach || math.IsNaN(px) {
		return fmt.Errorf("a choke of %.0f pixels is more than the %d that can be drawn: ask for less", px, distance.MaxReach-2)
	}
	white := p.Plane[White]
	// Distance runs from pixel centre to pixel centre, so the edge lies half a
	// pixel before the last one.
	d, err := distance.Squared(distance.Mask{Pix: white, Width: p.Width, Height: p.Height,
		Threshold: solidArt, Below: px < 0, EdgeIsOutside: px > 0}, reach)
	if err != nil {
		return err
	}
	// A pixel at squared distance q keeps this part of its white.
	keep := make([]uint8, reach*reach+1)
	for q := range keep {
		part := math.Sqrt(float64(q)) - px
		if px < 0 {
			part = -px + 1 - math.Sqrt(float64(q))
		}
		keep[q] = uint8(math.Round(255 * math.Max(0, math.Min(1, part))))
	}
	grid.Parallel(p.Height, func(lo, hi int) {
		for i := lo * p.Width; i < hi*p.Width; i++ {
			k := keep[d[i]]
			switch {
			case px > 0:
				if k != 255 {
					white[i] = scale(white[i], k)
				}
			case white[i] < k:
				white[i] = k
			}
		}
	})
	return nil
}

// MeanPercent is a plate's coverage: the mean tone value over the print box.
func (p *Plates) MeanPercent(plate int) float64 {
	return float64(p.Sum(plate)) / 255 / float64(p.Width*p.Height) * 100
}

// Sum adds up a plate's tone values, 255 for one solid pixel: exact, so that
// money can be reckoned from it without rounding.
func (p *Plates) Sum(plate int) uint64 {
	return sumRows(p.Height, func(y int) (s uint64) {
		for _, v := range p.Plane[plate][y*p.Width : (y+1)*p.Width] {
			s += uint64(v)
		}
		return s
	})
}

func sumRows(h int, row func(y int) uint64) uint64 {
	parts := make([]uint64, h)
	grid.Parallel(h, func(lo, hi int) {
		for y := lo; y < hi; y++ {
			parts[y] = row(y)
		}
	})
	var total uint64
	for _, s := range parts {
		total += s
	}
	return total
}

// OverLimit is the least sum of four 8-bit tone values that is over a limit in
// percent. Rounding four plates to 8 bits can add two steps to a sum, and what
// only rounding put over the limit is not over it.
func OverLimit(percent float64) int { return int(math.Floor(percent*255/100)) + 3 }

// maxTAC is four solid plates in steps of 1/255.
const maxTAC = 4 * 255

// TAC is the total area coverage over the print box, in percent: 400 is four
// solids.
type TAC struct {
	MeanPercent, P99Percent, MaxPercent float64
	LimitPercent, OverLimitAreaPercent  float64
}

// TAC measures the sum of C, M, Y and K at every pixel of the print box
// against a limit in percent.
func (p *Plates) TAC(limitPercent float64) TAC {
	n := p.Width * p.Height
	hists := make([][maxTAC + 1]uint32, (p.Height+255)/256)
	grid.Parallel(len(hists), func(lo, hi int) {
		for b := lo; b < hi; b++ {
			from, to := b*256*p.Width, min((b+1)*256*p.Width, n)
			c, m, y, k := p.Plane[Cyan][from:to], p.Plane[Magenta][from:to], p.Plane[Yellow][from:to], p.Plane[Black][from:to]
			hist := &hists[b]
			for i, v := range c {
				hist[int(v)+int(m[i])+int(y[i])+int(k[i])]++
			}
		}
	})
	var hist [maxTAC + 1]uint64
	for _, part := range hists {
		for v, c := range part {
			hist[v] += uint64(c)
		}
	}
	limit := OverLimit(limitPercent)
	t := TAC{LimitPercent: limitPercent}
	var sum, seen, over uint64
	for v, c := range hist {
		if c == 0 {
			continue
		}
		sum += uint64(v) * c
		if seen*100 < uint64(n)*99 && (seen+c)*100 >= uint64(n)*99 {
			t.P99Percent = float64(v) / 255 * 100
		}
		seen += c
		if v >= limit {
			over += c
		}
		t.MaxPercent = float64(v) / 255 * 100
	}
	t.MeanPercent = float64(sum) / 255 / float64(n) * 100
	t.OverLimitAreaPercent = float64(over) / float64(n) * 100
	return t
}
