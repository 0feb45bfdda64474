// Package flaw finds what will print badly as a transfer, and where.
//
// Each check looks at the art, its plates and the limits of the media and
// process, and returns at most one [Finding] of its kind: the worst measured
// value, the limit it broke, boxes on the print, worst first, and what to do.
// A check measures geometry in true distances (package distance), not by
// counting pixels of a pattern.
package flaw

import (
	"fmt"
	"math"
	"slices"

	"laydown/coverage/artwork"
	"laydown/coverage/plate"
	"laydown/coverage/unit"
)

// Severity says how much a finding matters.
type Severity string

// The severities.
const (
	Stop Severity = "stop" // will spoil the print
	Look Severity = "look" // may be seen; a person should decide
	Note Severity = "note" // good to know
)

// Kind names a flaw.
type Kind string

// The kinds of flaw that are looked for.
const (
	FineLine      Kind = "fine-line"
	FadeOut       Kind = "fade-out"
	LowResolution Kind = "low-resolution"
	OverLimit     Kind = "over-limit"
	NoProfile     Kind = "no-profile"
)

// Box is a part of the print, from its top left corner.
type Box struct {
	XMM      float64 `json:"x_mm"`
	YMM      float64 `json:"y_mm"`
	WidthMM  float64 `json:"width_mm"`
	HeightMM float64 `json:"height_mm"`
}

// Finding is one flaw of the art for this process. Boxes are empty when the
// whole print is meant, and hold at most [MaxBoxes]; Places counts them all.
type Finding struct {
	Kind     Kind     `json:"kind"`
	Severity Severity `json:"severity"`
	Measured float64  `json:"measured"`
	Limit    float64  `json:"limit"`
	Unit     string   `json:"unit"`
	Places   int      `json:"places"`
	Boxes    []Box    `json:"boxes"`
	Advice   string   `json:"advice"`
}

// MaxBoxes is the most boxes a finding lists.
const MaxBoxes = 20

// Limits are what the media and the process hold.
type Limits struct {
	SmallestLineMM    float64
	FadeWidthMM       float64
	GoodPPI, LeastPPI float64
	TACPercent        float64
}

// Subject is what is looked at.
type Subject struct {
	Art     *artwork.Art
	Plates  *plate.Plates
	PixelMM float64 // size of a pixel on the print
	White   plate.Rule
	// HardWhite says that white is solid or nothing, not screened by alpha.
	HardWhite bool
	Limits    Limits
}

// Find runs every check and returns the findings, worst first. An error means
// that a check could not be made, not that the art is bad.
func Find(s Subject) ([]Finding, error) {
	found := []Finding{}
	for _, check := range []func(Subject) (*Finding, error){lowResolution, overLimit, fineLine, fadeOut, noProfile} {
		f, err := check(s)
		if err != nil {
			return nil, err
		}
		if f != nil {
			if f.Boxes == nil {
				f.Boxes = []Box{}
			}
			f.Measured, f.Limit = round(f.Measured, 1000), round(f.Limit, 1000)
			found = append(found, *f)
		}
	}
	rank := map[Severity]int{Stop: 0, Look: 1, Note: 2}
	slices.SortStableFunc(found, func(a, b Finding) int { return rank[a.Severity] - rank[b.Severity] })
	return found, nil
}

func round(v, steps float64) float64 { return math.Round(v*steps) / steps }

// WorstIs reports whether any finding is as severe as s.
func WorstIs(found []Finding, s Severity) bool {
	return slices.ContainsFunc(found, func(f Finding) bool { return f.Severity == s })
}

func lowResolution(s Subject) (*Finding, error) {
	ppi := unit.MMPerInch / s.PixelMM
	f := &Finding{Kind: LowResolution, Measured: ppi, Unit: "px/in"}
	switch {
	case ppi < s.Limits.LeastPPI*0.995:
		f.Severity, f.Limit = Stop, s.Limits.LeastPPI
	case ppi < s.Limits.GoodPPI*0.995: // 299.99 is 300 to everybody
		f.Severity, f.Limit = Look, s.Limits.GoodPPI
	default:
		return nil, nil
	}
	f.Advice = fmt.Sprintf("The art has %.0f pixels per inch at this size; %.0f look sharp and %.0f are the least. "+
		"Ask for the original at %d pixels wide or more, or print it no wider than %.0f mm.",
		ppi, s.Limits.GoodPPI, s.Limits.LeastPPI,
		int(math.Ceil(float64(s.Art.Width)*s.Limits.GoodPPI/ppi)), float64(s.Art.Width)/s.Limits.GoodPPI*unit.MMPerInch)
	return f, nil
}

func overLimit(s Subject) (*Finding, error) {
	tac := s.Plates.TAC(s.Limits.TACPercent)
	if tac.OverLimitAreaPercent == 0 {
		return nil, nil
	}
	limit := plate.OverLimit(s.Limits.TACPercent)
	w := s.Plates.Width
	c, m, y, k := s.Plates.Plane[plate.Cyan], s.Plates.Plane[plate.Magenta], s.Plates.Plane[plate.Yellow], s.Plates.Plane[plate.Black]
	r := newRegions(s)
	for row := range s.Plates.Height {
		for x := range w {
			i := row*w + x
			if int(c[i])+int(m[i])+int(y[i])+int(k[i]) >= limit {
				r.mark(x, row)
			}
		}
	}
	f := &Finding{Kind: OverLimit, Severity: Look, Measured: tac.MaxPercent, Limit: s.Limits.TACPercent, Unit: "%"}
	if tac.OverLimitAreaPercent >= 0.5 {
		f.Severity = Stop
	}
	f.Boxes, f.Places = r.boxes()
	f.Advice = fmt.Sprintf("C, M, Y and K add up to as much as %.0f %% where the fuser and film take %.0f %%, on %.2f %% of the print. "+
		"Too much toner cracks, offsets in the fuser and stays stiff: separate with a press limit of %.0f %%, or lighten the darkest colours.",
		tac.MaxPercent, s.Limits.TACPercent, tac.OverLimitAreaPercent, s.Limits.TACPercent)
	return f, nil
}

func noProfile(s Subject) (*Finding, error) {
	if s.Art.Profile != nil || s.Art.StatesSRGB {
		return nil, nil
	}
	f := &Finding{Kind: NoProfile, Severity: Note, Unit: "profiles", Limit: 1}
	switch s.Art.Space.Channels() {
	case 4:
		f.Advice = "The file does not say which CMYK it is in. Its numbers are kept as they are and go to the toners unchanged; " +
			"if it was made for another press, ask for it with its profile."
	default:
		f.Advice = "The file does not say which colours its numbers mean. They are taken as sRGB, which is usual; " +
			"if the colours look wrong, ask for it with its profile."
	}
	return f, nil
}
