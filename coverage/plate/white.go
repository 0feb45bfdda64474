package plate

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"laydown/colour"
	"laydown/colour/cores"
	"laydown/colour/grid"
	"laydown/colour/icc"
	"laydown/coverage/artwork"
	"laydown/coverage/distance"
	"laydown/coverage/island"
)

// Rule says where white toner goes.
type Rule string

// The white rules.
const (
	NoWhite  Rule = "none"     // no white toner
	Under    Rule = "under"    // wherever there is art, as strong as the art is opaque
	Knockout Rule = "knockout" // as Under, but left out where the art's colour is the item's own
	Tonal    Rule = "tonal"    // under the art in proportion to how much lighter than the item it must be
	All      Rule = "all"      // over the whole print box
)

// Rules are the white rules.
var Rules = []Rule{NoWhite, Under, Knockout, Tonal, All}

// ParseRule reads a white rule's name.
func ParseRule(s string) (Rule, error) {
	if r := Rule(s); slices.Contains(Rules, r) {
		return r, nil
	}
	var names []string
	for _, r := range Rules {
		names = append(names, string(r))
	}
	return "", fmt.Errorf("white rule %q: choose one of %s", s, strings.Join(names, ", "))
}

// WhiteOptions shape the white plate.
type WhiteOptions struct {
	Rule           Rule
	DensityPercent float64 // tone value of full white, 0–100
	ChokeMM        float64 // how far white stays back from its edge; negative spreads it beyond
	PixelMM        float64 // size of a pixel on the print
	// ThresholdPercent makes white solid or nothing: solid where it would be a
	// screen of at least this, 0–100. 0 keeps the screen.
	ThresholdPercent float64
	// SmallestMM leaves out islands of white with less area than a round dot of
	// this diameter; 0 keeps all.
	SmallestMM float64
	// Need is the share of white, 0–1, that a device colour of the art needs,
	// channels 0–1; [Knockout] and [Tonal] ask for it. See [KnockoutNeed] and
	// [TonalNeed]. It is called concurrently.
	Need func(device [4]float64) float64
}

// knockoutRamp is how many ΔE00 beyond the limit white takes to become full,
// so that the soft edges of shapes keep a soft white.
const knockoutRamp = 8

// KnockoutNeed is the need of [Knockout] by how a colour is meant to look, absolute
// under D50: none within limit ΔE00 of the item's colour, rising to full over the next
// 8.
func KnockoutNeed(item colour.Lab, limit float64) func(colour.Lab) float64 {
	return func(c colour.Lab) float64 {
		return math.Max(0, math.Min(1, (colour.DeltaE00(c, item)-limit)/knockoutRamp))
	}
}

// TonalNeed is the need of [Tonal] by how a colour is meant to look: the lightness L*
// that is wanted above the item's own, in parts of what solid white on this item,
// whose colour is white, would add. An item as light as that needs none.
func TonalNeed(item, white colour.Lab) func(colour.Lab) float64 {
	return func(c colour.Lab) float64 {
		if white.L-item.L < 1 {
			return 0
		}
		return math.Max(0, math.Min(1, (c.L-item.L)/(white.L-item.L)))
	}
}

// edge is the white from which a pixel counts as white where a yes or no is
// needed.
func (w WhiteOptions) edge() uint8 {
	if w.ThresholdPercent > 0 {
		return uint8(max(1, min(255, math.Ceil(w.ThresholdPercent*255/100))))
	}
	return 128
}

// density is the tone value of full white.
func (w WhiteOptions) density() uint8 {
	if w.Rule == NoWhite {
		return 0
	}
	return uint8(math.Round(math.Max(0, math.Min(100, w.DensityPercent)) * 255 / 100))
}

// whiteLayer lays white row by row, before choke and density.
type whiteLayer struct {
	WhiteOptions
	art  *artwork.Art
	need *grid.Table // nil where every colour needs white
}

func newWhiteLayer(art *artwork.Art, o WhiteOptions) (*whiteLayer, error) {
	l := &whiteLayer{WhiteOptions: o, art: art}
	if o.density() > 0 && (o.Rule == Knockout || o.Rule == Tonal) {
		if o.Need == nil {
			return nil, fmt.Errorf("white rule %s needs to know the item", o.Rule)
		}
		l.need = grid.Compile(art.Space.Channels(), icc.GridPoints(art.Space), func(dst, src []float64) {
			var d [4]float64
			copy(d[:], src)
			dst[0], dst[1], dst[2], dst[3] = o.Need(d), 0, 0, 0
		})
	}
	return l, nil
}

// whiteRows is one goroutine's share of a whiteLayer.
type whiteRows struct {
	*whiteLayer
	spare [3][]uint8
}

func (l *whiteLayer) rows() *whiteRows {
	r := &whiteRows{whiteLayer: l}
	if l.need != nil {
		for i := range r.spare {
			r.spare[i] = make([]uint8, l.art.Width)
		}
	}
	return r
}

// lay sets row y of white. alpha holds the row's alpha if the art has any.
func (r *whiteRows) lay(white []uint8, y int, alpha []uint8) {
	if r.density() == 0 {
		return
	}
	if r.need == nil {
		for x := range white {
			white[x] = 255
		}
	} else {
		r.byColour(white, y)
	}
	if r.Rule == All {
		return
	}
	if r.art.HasAlpha {
		for x, a := range alpha {
			white[x] = scale(white[x], a)
		}
	}
	if r.ThresholdPercent > 0 {
		edge := r.edge()
		for x, v := range white {
			white[x] = 0
			if v >= edge {
				white[x] = 255
			}
		}
	}
}

// byColour sets a row to what its colours need. A table is too coarse for the
// sharp tip of a knockout, so what it leaves in doubt is worked out exactly. No
// knockout is narrower than a step of the table.
func (r *whiteRows) byColour(white []uint8, y int) {
	r.art.Through(grid.Planes{white, r.spare[0], r.spare[1], r.spare[2]}, r.need, y)
	if r.Rule != Knockout {
		return
	}
	var last [4]float64
	share, known := uint8(0), false
	for x, v := range white {
		if v == 0 || v == 255 {
			continue
		}
		d := r.art.Fractions(y*r.art.Width + x)
		if !known || d != last {
			last, known = d, true
			share = uint8(math.Round(255 * r.Need(d)))
		}
		white[x] = share
	}
}

// finishWhite chokes or spreads white, sets its density and takes away what is
// too small.
func (p *Plates) finishWhite(art *artwork.Art, o WhiteOptions) error {
	density := o.density()
	if density == 0 {
		return nil
	}
	if o.ChokeMM != 0 && o.Rule != All {
		if err := p.choke(art, o); err != nil {
			return err
		}
	}
	if o.SmallestMM > 0 && o.Rule != All {
		p.dropSpecks(math.Pi / 4 * o.SmallestMM * o.SmallestMM / (o.PixelMM * o.PixelMM))
	}
	if density < 255 {
		p.thin(density)
	}
	return nil
}

func (p *Plates) thin(density uint8) {
	cores.Share(p.Height, func(lo, hi int) {
		for i := lo * p.Width; i < hi*p.Width; i++ {
			p.Plane[White][i] = scale(p.Plane[White][i], density)
		}
	})
}

// dropSpecks takes away islands of white with less area than least pixels,
// half-white ones counting half.
func (p *Plates) dropSpecks(least float64) {
	white, w := p.Plane[White], p.Width
	m := island.Find(distance.Mask{Pix: white, Width: w, Height: p.Height, Threshold: 1}, true)
	for _, i := range m.Islands {
		if float64(i.Pixels) >= 255*least { // not even the faintest island is as small
			continue
		}
		area := 0
		for _, r := range m.Runs(i) {
			for _, v := range white[int(r.Y)*w+int(r.X0) : int(r.Y)*w+int(r.X1)] {
				area += int(v)
			}
		}
		if float64(area) < 255*least {
			for _, r := range m.Runs(i) {
				clear(white[int(r.Y)*w+int(r.X0) : int(r.Y)*w+int(r.X1)])
			}
		}
	}
}

// choke moves the edges of white inwards by the choke's width, or outwards for a
// negative one, and leaves alone what lies between them: white of a flat tint stays
// what it is, a fade is moved as it is.
//
// Choked white is the most that nowhere is more than the art has alpha, however the
// plates lie off register by up to the choke; where a tint meets a solid, the step is
// thus moved into the solid. Spread white is the least that nowhere is less. [Knockout]
// means its own white instead of the art's alpha, for the edges of what was left out
// are edges too; [Tonal] moves with the art's alone, for it has steps wherever the art
// has, and in spreading grows only as the art does.
func (p *Plates) choke(art *artwork.Art, o WhiteOptions) error {
	px := o.ChokeMM / o.PixelMM
	if math.IsNaN(px) || math.Ceil(math.Abs(px))+2 > distance.MaxReach {
		return fmt.Errorf("a choke of %.0f pixels is more than the %d that can be drawn: ask for less", px, distance.MaxReach-2)
	}
	white, w, h := p.Plane[White], p.Width, p.Height
	alpha, soft := art.AlphaMask(o.edge())
	if !soft && o.Rule != Knockout { // solid to the picture's edge, beyond which is nothing to spread to
		if px > 0 {
			p.trim(px)
		}
		return nil
	}
	m := newMover(math.Abs(px))
	shape := greys{pix: alpha.Pix, w: w, h: h, step: alpha.Step, stride: alpha.Stride, negative: px < 0}
	if o.ThresholdPercent > 0 {
		shape.from = o.edge()
	}
	itself := func() greys {
		return greys{pix: slices.Clone(white), w: w, h: h, step: 1, stride: w, negative: px < 0}
	}
	switch {
	case o.Rule == Knockout:
		m.move(itself(), func(x, y int, _, now []uint8) { copy(white[y*w+x:], now) })
	case o.Rule == Under: // white is the shape
		m.move(shape, func(x, y int, _, now []uint8) { copy(white[y*w+x:], now) })
	case px > 0:
		m.move(shape, func(x, y int, was, now []uint8) {
			for i, v := range white[y*w+x:][:len(now)] {
				if was[i] != 0 {
					white[y*w+x+i] = uint8((int(v)*int(now[i]) + int(was[i])/2) / int(was[i]))
				}
			}
		})
	default:
		most := slices.Clone(white)
		m.move(itself(), func(x, y int, _, now []uint8) { copy(most[y*w+x:], now) })
		m.move(shape, func(x, y int, was, now []uint8) {
			for i, v := range white[y*w+x:][:len(now)] {
				grown := int(v) + int(now[i]) - int(was[i])
				white[y*w+x+i] = uint8(min(grown, int(most[y*w+x+i])))
			}
		})
	}
	return nil
}

// trim takes white away along the picture's edge, px pixels wide.
func (p *Plates) trim(px float64) {
	white, w, h := p.Plane[White], p.Width, p.Height
	reach := int(math.Ceil(px)) + 1
	for y := range h {
		line := white[y*w : (y+1)*w]
		for x := 0; x < w; x++ {
			d := min(x+1, w-x, y+1, h-y) // to the centre of the first pixel outside
			if d >= reach {
				x = w - reach // nothing to trim until the far edge
				continue
			}
			line[x] = scale(line[x], uint8(math.Round(255*math.Max(0, math.Min(1, float64(d)-px)))))
		}
	}
}
