package flaw

import (
	"cmp"
	"fmt"

	"laydown/coverage/name"
	"laydown/coverage/plate"
)

// wrongItem passes on that the process is for other materials.
func wrongItem(s *scene) ([]*Finding, error) {
	if !s.Unsuited {
		return nil, nil
	}
	return []*Finding{{Kind: WrongItem, Severity: Stop, Measured: 1, Unit: "items",
		Advice: fmt.Sprintf("This process is not for %s: the media does not bond to it, or not safely. Choose %s, or the item that is meant.",
			cmp.Or(s.Material, "an item of no stated material"), cmp.Or(name.Or(s.Suited), "another process"))}}, nil
}

// tooLarge compares the print with the item's printable area.
func tooLarge(s *scene) ([]*Finding, error) {
	pw, ph := s.Limits.PrintableWidthMM, s.Limits.PrintableHeightMM
	w, h := float64(s.Art.Width)*s.PixelMM, float64(s.Art.Height)*s.PixelMM
	if pw <= 0 || ph <= 0 || (w <= pw+0.01 && h <= ph+0.01) {
		return nil, nil
	}
	over := max(w/pw, h/ph)
	f := &Finding{Kind: TooLarge, Severity: Stop, Measured: w, Limit: pw, Unit: "mm"}
	if h/ph > w/pw {
		f.Measured, f.Limit = h, ph
	}
	f.Advice = fmt.Sprintf("The print is %.0f × %.0f mm and the item takes %.0f × %.0f mm: film that hangs over an edge does not bond and burns on. Print it no wider than %.0f mm",
		w, h, pw, ph, w/over)
	if w <= ph && h <= pw {
		f.Advice += ", or turn it"
	}
	f.Advice += "."
	return []*Finding{f}, nil
}

// solidBlack is the tone value from which foil takes to black, and foilColour what
// other toners may add: foil bonds to any toner that it meets.
const (
	solidBlack = 243 // 95 %
	foilColour = 13  // 5 %
)

// foilMiss looks, where foil goes over the black toner, for art that is not solid
// black: a screen takes foil in dots, and colour takes it where it should not.
func foilMiss(s *scene) ([]*Finding, error) {
	if !s.Foil {
		return nil, nil
	}
	w := s.Art.Width
	r := newRegions(s)
	screen, dyed, n := 0, 0, 0
	k := s.Plates.Plane[plate.Black]
	for i, p := range s.presence() {
		other := max(s.Plates.Plane[plate.Cyan][i], s.Plates.Plane[plate.Magenta][i], s.Plates.Plane[plate.Yellow][i])
		if p < 250 || (k[i] == 0 && other == 0) { // edges are half there
			continue
		}
		n++
		switch {
		case other > foilColour:
			dyed++
			r.mark(i%w, i/w)
		case k[i] < solidBlack:
			screen++
			r.mark(i%w, i/w)
		}
	}
	if n == 0 || (screen+dyed)*200 < n { // half a percent are edges
		return nil, nil
	}
	f := &Finding{Kind: FoilMiss, Severity: Stop, Measured: float64(screen+dyed) / float64(n) * 100, Unit: "% of the art"}
	f.Boxes, f.Places = r.boxes()
	f.Advice = fmt.Sprintf("Foil takes to solid black toner: %.1f %% of the art is a screen of black, which takes it in dots, and %.1f %% has other toner. Make the art black only, or print it with pure_black.",
		float64(screen)/float64(n)*100, float64(dyed)/float64(n)*100)
	return []*Finding{f}, nil
}
