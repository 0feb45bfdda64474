// Package drawing has plain outline drawings of what shops print on, in millimetres: where a
// print goes on an item, and how large it is beside it.
//
// Every drawing is our own, of an item of a usual size laid flat or seen from the front; the
// sizes are common practice, no source, unless the comment beside one names it, and a shop
// may give its own. Drawings show proportion and place; they have no folds, light or
// perspective. On what is round a print goes round the side as an eye far away sees it. The
// package knows nothing of colours or file formats.
package drawing

import (
	"fmt"
	"math"
	"slices"
	"strings"
)

// Kinds of items that there are drawings of. Plain is a flat piece of any size.
const (
	Tee     = "tee"
	Hoodie  = "hoodie"
	Cap     = "cap"
	Mug     = "mug"
	Tumbler = "tumbler"
	Plate   = "plate"
	Card    = "card"
	Window  = "window"
	Skin    = "skin"
	Plain   = "plain"
)

// Kinds are all of them.
func Kinds() []string {
	return []string{Tee, Hoodie, Cap, Mug, Tumbler, Plate, Card, Window, Skin, Plain}
}

// Places on an item; left and right are the wearer's.
const (
	Chest      = "chest"
	LeftChest  = "left chest"
	RightChest = "right chest"
	Back       = "back"
	Front      = "front"
)

// Places are those that a kind of item has, the usual one first; nil for no kind.
func Places(kind string) (names []string) {
	m, ok := models[kind]
	if !ok {
		return nil
	}
	for _, s := range m.spots {
		names = append(names, s.name)
	}
	return names
}

// Tone is what a part of a drawing is filled with.
type Tone int

// The tones of a part.
const (
	Unfilled Tone = iota // a line alone
	Bare                 // the item's own colour
	Shaded               // that in shadow: the inside of a collar or a cup
	Frame                // neither: what stands around the item
)

// Step is a step of a path: M moves, L draws a line and C a cubic curve, whose first two
// points are its handles. Z closes the path. Points are x and y in millimetres, y downward.
type Step struct {
	Do     byte
	Points [][2]float64
}

// Path is steps one after the other.
type Path []Step

// Part is a path, and whether it is filled. Every part has a line.
type Part struct {
	Path Path
	Tone Tone
}

// Drawing is an item of a size, seen from the side that a place is on.
type Drawing struct {
	Kind, Place string
	// BodyWidthMM and BodyHeightMM are the item's size without sleeves, handle or frame.
	BodyWidthMM, BodyHeightMM float64
	// What is drawn takes this box.
	LeftMM, TopMM, WidthMM, HeightMM float64
	Parts                            []Part // the first to be drawn first
	// Body is the outline of what takes the print.
	Body Path
	// RadiusMM is that of a round body, whose middle is at x = 0; 0 if it is flat.
	RadiusMM float64

	spot spot
}

// spot is where a print goes: its middle, or the middle of its upper edge.
type spot struct {
	name   string
	x, y   float64
	hangs  bool // y is the upper edge
	behind bool // on the other side of the item
}

// model is a kind of item at its usual size.
type model struct {
	width, height float64 // of the body
	round         bool
	front, back   []Part
	body          Path // of the front, and of the back
	spots         []spot
}

// New draws an item of a kind with a place for the print, "" for the usual one. The size is
// that of the body, 0 for the usual one. The error lists the kinds or the places that there
// are.
func New(kind, place string, widthMM, heightMM float64) (*Drawing, error) {
	m, ok := models[kind]
	if !ok {
		return nil, fmt.Errorf("there is no drawing of %q: choose one of %s", kind, strings.Join(Kinds(), ", "))
	}
	if place == "" {
		place = m.spots[0].name
	}
	at := slices.IndexFunc(m.spots, func(s spot) bool { return strings.EqualFold(s.name, strings.TrimSpace(place)) })
	if at < 0 {
		return nil, fmt.Errorf("a %s has no place %q: choose one of %s", kind, place, strings.Join(Places(kind), ", "))
	}
	if widthMM <= 0 {
		widthMM = m.width
	}
	if heightMM <= 0 {
		heightMM = m.height
	}
	sx, sy := widthMM/m.width, heightMM/m.height
	d := &Drawing{Kind: kind, Place: m.spots[at].name, BodyWidthMM: widthMM, BodyHeightMM: heightMM, Body: m.body.scaled(sx, sy), spot: m.spots[at]}
	d.spot.x, d.spot.y = d.spot.x*sx, d.spot.y*sy
	if m.round {
		d.RadiusMM = widthMM / 2
	}
	parts := m.front
	if d.spot.behind {
		parts = m.back
	}
	x0, y0, x1, y1 := math.Inf(1), math.Inf(1), math.Inf(-1), math.Inf(-1)
	for _, p := range parts {
		p.Path = p.Path.scaled(sx, sy)
		d.Parts = append(d.Parts, p)
		for _, q := range p.Path.Polygon() {
			x0, y0, x1, y1 = min(x0, q[0]), min(y0, q[1]), max(x1, q[0]), max(y1, q[1])
		}
	}
	d.LeftMM, d.TopMM, d.WidthMM, d.HeightMM = x0, y0, x1-x0, y1-y0
	return d, nil
}

// Behind reports whether the item is seen from behind.
func (d *Drawing) Behind() bool { return d.spot.behind }

// Print is the box that a print of a size takes on the drawing: on a round body, as wide as
// it is seen, at most the body's diameter.
func (d *Drawing) Print(widthMM, heightMM float64) (leftMM, topMM, wideMM, highMM float64) {
	wide := widthMM
	if d.RadiusMM > 0 {
		wide = 2 * d.RadiusMM * math.Sin(min(widthMM/2/d.RadiusMM, math.Pi/2))
	}
	top := d.spot.y
	if !d.spot.hangs {
		top -= heightMM / 2
	}
	return d.spot.x - wide/2, top, wide, heightMM
}

// Along is how far along a round body from its middle, in millimetres, an eye sees what is at
// x; x itself if the body is flat. x beyond the body is taken for its edge.
func (d *Drawing) Along(xMM float64) float64 {
	if d.RadiusMM == 0 {
		return xMM
	}
	return d.RadiusMM * math.Asin(max(-1, min(1, xMM/d.RadiusMM)))
}

// SVG is the path as the attribute d of SVG's path (SVG 1.1, 8.3).
func (p Path) SVG() string {
	var b strings.Builder
	for _, s := range p {
		b.WriteByte(s.Do)
		for i, q := range s.Points {
			if i > 0 {
				b.WriteByte(' ')
			}
			fmt.Fprintf(&b, "%.5g %.5g", q[0], q[1])
		}
	}
	return b.String()
}

// steps is how many lines a curve becomes in a polygon.
const steps = 16

// Polygon is the path's points, curves as short lines.
func (p Path) Polygon() (out [][2]float64) {
	for _, s := range p {
		if s.Do != 'C' {
			out = append(out, s.Points...)
			continue
		}
		from := out[len(out)-1]
		for i := 1; i <= steps; i++ {
			t := float64(i) / steps
			u := 1 - t
			var q [2]float64
			for k := range q {
				q[k] = u*u*u*from[k] + 3*u*u*t*s.Points[0][k] + 3*u*t*t*s.Points[1][k] + t*t*t*s.Points[2][k]
			}
			out = append(out, q)
		}
	}
	return out
}

func (p Path) scaled(sx, sy float64) Path {
	out := make(Path, len(p))
	for i, s := range p {
		out[i].Do = s.Do
		for _, q := range s.Points {
			out[i].Points = append(out[i].Points, [2]float64{q[0] * sx, q[1] * sy})
		}
	}
	return out
}
