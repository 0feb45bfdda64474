package flaw

import (
	"fmt"
	"math"

	"laydown/coverage/unit"
)

// resolution looks at the pixels per inch at print size, and at how many of them
// are real: art that was enlarged before it came has pixels that say nothing. Of a drawing it
// looks at the pictures inside alone.
func resolution(s *scene) ([]*Finding, error) {
	if s.Art.Vector { // outlines are as sharp as whatever they are drawn with
		return []*Finding{s.pictures()}, nil
	}
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
		if f.Severity == Stop && ppi >= s.Limits.LeastPPI && !before.sure {
			f.Severity = Look // softness may be meant, or the camera's
		}
		f.Advice += fmt.Sprintf(", but %s: in truth it has about %.0f", before.words, real)
	}
	f.Advice += fmt.Sprintf("; %.0f look sharp and %.0f are the least. Ask for the original at %d pixels wide or more, or print it no wider than %.0f mm.",
		s.Limits.GoodPPI, s.Limits.LeastPPI,
		int(math.Ceil(float64(s.Art.Width)*s.Limits.GoodPPI/ppi)), float64(s.Art.Width)/before.factor/s.Limits.GoodPPI*unit.MMPerInch)
	return []*Finding{f}, nil
}

// blocking looks for the 8 × 8 blocks of hard JPEG compression, also in art that was
// enlarged or saved otherwise afterwards: steps between blocks that stand out from those
// within, in smooth parts.
func blocking(s *scene) ([]*Finding, error) {
	before := s.past()
	if before.blocks < leastBlock {
		return nil, nil
	}
	f := &Finding{Kind: Blocking, Severity: Look, Measured: before.blocks, Limit: leastBlock, Unit: "codes"}
	f.Advice = fmt.Sprintf("Hard JPEG compression shows as blocks of %.3g pixels (%.1f mm): smooth parts print as tiles, edges with stray specks around them. Ask for the original, saved as PNG or TIFF.",
		before.block, before.block*s.PixelMM)
	return []*Finding{f}, nil
}
