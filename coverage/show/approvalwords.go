package show

import (
	"fmt"

	"laydown/coverage/drawing"
	"laydown/coverage/flaw"
)

// placeSaid says where on the item the print is.
func placeSaid(d *drawing.Drawing) string {
	switch d.Place {
	case drawing.LeftChest:
		return "left chest, the wearer's left"
	case drawing.RightChest:
		return "right chest, the wearer's right"
	case drawing.Front:
		switch d.Kind {
		case drawing.Cap, drawing.Mug, drawing.Tumbler:
			return "front"
		}
		return "" // it lies where it is put
	}
	return d.Place
}

// kindWords are drawings in words.
var kindWords = map[string]string{drawing.Window: "window pane", drawing.Skin: "forearm", drawing.Plain: "piece"}

// drawnSaid says what a drawing shows: in place of it, and under it. item is what is drawn, ""
// for the drawing's own kind.
func drawnSaid(d *drawing.Drawing, item string, printMM float64) (alt, caption string) {
	kind := kindWords[d.Kind]
	if kind == "" {
		kind = d.Kind
	}
	side := "front"
	if d.Behind() {
		side = "back"
	}
	alt = fmt.Sprintf("Outline of a %s from the %s, the print in its place and in true proportion", kind, side)
	if item == "" || d.Kind == drawing.Window || d.Kind == drawing.Skin {
		item = kind
	}
	caption = fmt.Sprintf("In true proportion: the print is %.0f mm wide, the %s %.0f mm; yours may differ.", printMM, item, d.BodyWidthMM)
	if d.Kind == drawing.Plain {
		caption = "In true proportion."
	}
	switch {
	case d.RadiusMM > 0 && printMM > d.RadiusMM*3.1415:
		caption += " It goes round the sides: its ends are behind."
	case d.RadiusMM > 0:
		caption += " It goes round the side."
	}
	return alt, caption
}

// customerFindings are findings in a customer's words: what must be changed before printing,
// and what to look at. What only a shop can do anything about, and notes, are left out; a
// thing that is said of several findings is said once.
func customerFindings(found []flaw.Finding) (must, check []string) {
	said := map[string]bool{}
	for _, f := range found {
		words := customerWords(f)
		if words == "" || f.Severity == flaw.Note || said[words] {
			continue
		}
		said[words] = true
		if f.Severity == flaw.Stop {
			must = append(must, words)
		} else {
			check = append(check, words)
		}
	}
	return must, check
}

// customerWords say a finding to a customer; "" for what is the shop's alone.
func customerWords(f flaw.Finding) string {
	places := ""
	if f.Places > 1 {
		places = fmt.Sprintf(" in %d places", f.Places)
	}
	lengths := func(format string) string { return fmt.Sprintf(format, f.Limit, places, f.Measured) }
	switch f.Kind {
	case flaw.FineLine:
		return lengths("Lines thinner than %.2g mm%s (down to %.2f mm) may not hold: we suggest to thicken them, or a larger print.")
	case flaw.NarrowGap:
		return lengths("Gaps narrower than %.2g mm%s (down to %.2f mm) may close up: we suggest to widen them, or to close them.")
	case flaw.LostWhite:
		return lengths("Lines thinner than %.2g mm%s (down to %.2f mm) may hardly show on this colour: we suggest to thicken them.")
	case flaw.Speck:
		return lengths("Specks or holes smaller than %.2g mm%s (down to %.2f mm) may be lost: we suggest to clean them up.")
	case flaw.SmallText:
		return lengths("Lettering with small letters lower than %.2g mm%s (down to %.2f mm) may close up: we suggest to set it larger.")
	case flaw.Screen:
		return "The artwork is made of small printed dots, which can show as a pattern: artwork with smooth tones prints better."
	case flaw.FadeOut:
		return "Soft glows, shadows or fades end in a visible pale rim: a hard edge or a solid colour prints cleaner."
	case flaw.SoftEdge:
		return "Soft edges may print ragged: crisp edges print cleaner."
	case flaw.FaintTint:
		return "The lightest tints may print as specks, or not at all."
	case flaw.Banding:
		return "Smooth shading may show as bands."
	case flaw.BackgroundBox:
		return "The artwork stands on a plain ground, which prints as a box around it. Please tell us if it is not meant."
	case flaw.HeavyArea:
		return "Large solid areas feel stiff and can crack when stretched: we suggest to break them up."
	case flaw.OverLimit:
		return "The darkest parts of the artwork are mixed too heavily to hold: they need to be made lighter."
	case flaw.OutOfGamut:
		return "Some vivid colours cannot be reached in print and look duller than on a screen."
	case flaw.LowResolution:
		wants := "look sharp"
		if f.Severity == flaw.Stop {
			wants = "are the least"
		}
		return fmt.Sprintf("The picture is coarse at this size (about %.0f pixels to the inch, where %.0f %s) and will look soft: please send a larger original, or choose a smaller print.", f.Measured, f.Limit, wants)
	case flaw.Blocking:
		return "The picture was compressed hard and shows small blocks: please send the original."
	case flaw.TooLarge:
		return "The print is larger than the part of this item that takes one: it must be smaller."
	case flaw.FoilMiss:
		return "Only solid black parts take foil: greys and colours must be made solid black, or left out."
	case flaw.ArtLost:
		if f.Unit == "mm of the edge" {
			return "The artwork is cut straight off at an edge of its picture: please send all of it if that is not meant."
		}
		return "Part of the artwork is so near the item's own colour that it will not show: we suggest an outline, or an item of another colour."
	case flaw.WrongItem:
		return "Printed as planned here it does not suit this item: we will send you another proposal."
	case flaw.RichBlackText:
		return "Fine black lettering or lines may print with coloured edges: they should be pure black in the file."
	case flaw.MissingFont:
		return "The file uses typefaces that are not in it, so its lettering is set in others here: please send it with all lettering turned into outlines."
	case flaw.MissingPicture:
		return "The file shows pictures that are not in it, and they are blank here: please send it with its pictures embedded."
	}
	return ""
}
