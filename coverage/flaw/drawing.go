package flaw

import (
	"fmt"
	"strings"
)

// missingFont tells the fonts that a drawing asks for and that are not on this machine.
// Its texts were set in others, so the customer will not see what was drawn.
func missingFont(s *scene) ([]*Finding, error) {
	swaps := s.Art.Substitutes
	if len(swaps) == 0 {
		return nil, nil
	}
	f := &Finding{Kind: MissingFont, Severity: Stop, Measured: float64(len(swaps)), Unit: "fonts"}
	var words []string
	for _, w := range swaps[:min(len(swaps), mostNamed)] {
		if w.Used == "" {
			words = append(words, w.Asked+" (nothing stands in for it)")
		} else {
			words = append(words, fmt.Sprintf("%s (set in %s)", w.Asked, w.Used))
		}
	}
	f.Advice = fmt.Sprintf("The drawing asks for fonts that are not here: %s%s. Letters, line breaks and widths differ from what was drawn. "+
		"Ask for the drawing with its texts turned into outlines, or install the fonts.", strings.Join(words, ", "), more(len(swaps)))
	return []*Finding{f}, nil
}

// missingPicture tells the pictures that a drawing shows and does not hold. Nothing
// outside of a drawing is ever opened.
func missingPicture(s *scene) ([]*Finding, error) {
	linked := s.Art.Linked
	if len(linked) == 0 {
		return nil, nil
	}
	var words []string
	for _, w := range linked[:min(len(linked), mostNamed)] {
		if len(w) > longestName {
			w = w[:longestName] + "…"
		}
		words = append(words, fmt.Sprintf("%q", w))
	}
	f := &Finding{Kind: MissingPicture, Severity: Stop, Measured: float64(len(linked)), Unit: "pictures"}
	f.Advice = fmt.Sprintf("The drawing shows pictures that are not in the file: %s%s. They are left blank. Ask for the drawing with its pictures embedded.",
		strings.Join(words, ", "), more(len(linked)))
	return []*Finding{f}, nil
}

// spotColours tells the inks that a drawing names, for which the printer has no toner.
func spotColours(s *scene) ([]*Finding, error) {
	if s.Art.Marks == nil || len(s.Art.Marks.Spots) == 0 {
		return nil, nil
	}
	names := s.Art.Marks.Spots
	var words []string
	for _, n := range names[:min(len(names), mostNamed)] {
		if r := []rune(n); len(r) > longestName {
			n = string(r[:longestName]) + "…"
		}
		words = append(words, fmt.Sprintf("%q", n))
	}
	f := &Finding{Kind: SpotColour, Severity: Note, Measured: float64(len(names)), Unit: "inks"}
	f.Advice = fmt.Sprintf("The drawing names spot colours: %s%s. Each prints as the mix of toners that the file states in its place. "+
		"Where the very colour matters, give its measured Lab as a brand colour and see how near it comes.", strings.Join(words, ", "), more(len(names)))
	return []*Finding{f}, nil
}

// overprint tells that a drawing counts on inks that mix where they lie on each other.
func overprint(s *scene) ([]*Finding, error) {
	if s.Art.Marks == nil || !s.Art.Marks.Overprint {
		return nil, nil
	}
	f := &Finding{Kind: Overprint, Severity: Note, Measured: 1, Unit: "drawings"}
	f.Advice = "The drawing asks for overprint, inks laid over others without clearing them. It is shown and reckoned as if all cleared what lies under them, as screens show it: " +
		"where colours should mix, or white art overprints and should vanish, the print will differ. Ask for the drawing without overprint."
	return []*Finding{f}, nil
}

// screenColours tells that numbers of CMYK were lost, and that nobody could look.
func screenColours(s *scene) ([]*Finding, error) {
	m := s.Art.Marks
	if m == nil || m.LostInks == "" && !m.Unread {
		return nil, nil
	}
	f := &Finding{Kind: ScreenColours, Severity: Note, Measured: 1, Unit: "drawings"}
	f.Advice = fmt.Sprintf("Its numbers of CMYK were turned into screen colours, because %s: black text and lines come out as a mix of toners, unless the process prints black alone. "+
		"Ask for the drawing in CMYK alone, or in screen colours alone.", m.LostInks)
	if m.Unread {
		f.Advice = "The file was drawn, and in screen colours, but its objects could not be read: nothing is known of spot colours, overprint and numbers of CMYK in it. Ask for it saved anew."
	}
	return []*Finding{f}, nil
}

// mostNamed is how many are named, and longestName the bytes of an address.
const (
	mostNamed   = 4
	longestName = 60
)

func more(n int) string {
	if n <= mostNamed {
		return ""
	}
	return fmt.Sprintf(" and %d more", n-mostNamed)
}
