// Package mark is what a drawing's file says of what it draws and its pixels hide: how wide
// a stroke is, how large a text is set and in which font, how many pixels a picture inside
// has, which inks are named.
//
// All lengths are parts of the drawing's width, so that they hold for a print of any size; x
// grows to the right and y downwards from the top left corner. What a file says need not be
// seen: it may be covered, clipped or clear. Who passes a mark on asks the pixels first.
package mark

import "math"

// Most is how many strokes, texts and pictures are gathered of one drawing, each.
const Most = 20_000

// MostPoints is how many points all strokes of a drawing have at most.
const MostPoints = 1_000_000

// Point is a place, in parts of the drawing's width.
type Point struct{ X, Y float64 }

// Box is a rectangle from its top left corner, in parts of the drawing's width.
type Box struct{ X, Y, Width, Height float64 }

// Around is the box around points; the zero box of none.
func Around(points ...Point) Box {
	if len(points) == 0 {
		return Box{}
	}
	lo, hi := points[0], points[0]
	for _, p := range points[1:] {
		lo, hi = Point{math.Min(lo.X, p.X), math.Min(lo.Y, p.Y)}, Point{math.Max(hi.X, p.X), math.Max(hi.Y, p.Y)}
	}
	return Box{lo.X, lo.Y, hi.X - lo.X, hi.Y - lo.Y}
}

// Stroke is one unbroken line with a width. A width of 0 is the thinnest that a device can
// draw (ISO 32000-1, 8.4.3.2).
type Stroke struct {
	Path  []Point // two or more
	Width float64
	Solid bool // without dashes
	// Ink is its colour in 8-bit codes of sRGB, if Inked says that it is known.
	Ink   [3]uint8
	Inked bool
}

// Text is a run of letters of one font and size.
type Text struct {
	Box
	Font    string
	Size    float64 // of the em
	XHeight float64 // height of an x, or of capitals and figures where there are only those
}

// Picture is a picture made of pixels.
type Picture struct {
	Box
	WidthPX, HeightPX int
	// Wide and High are how long its sides are drawn, however they lie.
	Wide, High float64
}

// Set is all that a drawing says of itself.
type Set struct {
	Strokes  []Stroke
	Texts    []Text
	Pictures []Picture
	// Spots are the names of spot colours that it paints with, each once, in order.
	Spots []string
	// Overprint says that something is painted over what lies under it without clearing the
	// other inks.
	Overprint bool
	// LostInks is why the numbers of CMYK that it paints with became screen colours; "" if
	// they are kept or there are none.
	LostInks string
	// Partly says that it holds more than was gathered, and Unread that nothing was.
	Partly, Unread bool
}
