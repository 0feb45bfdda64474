package shop

import "laydown/coverage/plate"

// A recipe is a chain of moves. A picture that is pressed onto something, or married with
// it, meets it face to face: it is mirrored by that, and what was its top layer becomes the
// lowest. A decal that slides off its paper keeps its face up, and so its reading and its
// layers. All moves together, and the side that the finished piece is seen from, say how
// the sheet must be printed.

// moves reports whether the recipe says where the picture moves, and whether it is mirrored
// on the way. What is only sold on the sheet is moved by the customer.
func (p *Process) moves() (said, turned bool) {
	for _, s := range p.Steps {
		if s.MovesTo == "" {
			continue
		}
		said = true
		if s.Do != "slide" {
			turned = !turned
		}
	}
	return said, turned
}

// Turn is how a sheet must be printed so that the finished piece is right.
type Turn struct {
	Mirrored bool // the print reads the wrong way round on the sheet
	// White toner is printed first, under the colours, or last, over them. WhiteKnown says
	// whether the recipe tells; without it, or without white toner, neither is said.
	WhiteFirst, WhiteKnown bool
}

// Turned is how the sheet must be printed for an item. A print that is seen through its
// item is seen from its back, which mirrors it once more.
func (p *Process) Turned(v *Item) Turn {
	through := v.Clear && v.Seen == Through
	t := Turn{Mirrored: p.Mirrored != through}
	if said, turned := p.moves(); said || p.PrintedOn != "" {
		t.WhiteKnown = p.White != plate.NoWhite
		// On the finished item white under the colours lies next to the item, so on the sheet
		// it does if the layers are not turned over.
		t.WhiteFirst = t.WhiteKnown && (p.WhiteSide != OverColours) != turned
	}
	return t
}
