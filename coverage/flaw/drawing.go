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
