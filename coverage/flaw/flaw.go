// Package flaw finds what will print badly as a transfer, and where.
//
// Each check looks at the art, its plates and the limits of the media and
// process, and returns at most one [Finding] of a kind: the worst measured
// value, the limit it broke, boxes on the print, worst first, and what to do.
// A check measures geometry in true distances (package distance), not by
// counting pixels of a pattern. It reads one scene, which works out what several
// checks need, and knows of no other check.
package flaw

import (
	"math"
	"slices"

	"laydown/colour"
	"laydown/coverage/artwork"
	"laydown/coverage/plate"
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
	FineLine       Kind = "fine-line"
	NarrowGap      Kind = "narrow-gap"
	LostWhite      Kind = "lost-white" // the choke leaves no white under a line
	Speck          Kind = "speck"
	Screen         Kind = "screen" // art made of halftone dots
	SmallText      Kind = "small-text"
	FadeOut        Kind = "fade-out"
	FaintTint      Kind = "faint-tint"
	SoftEdge       Kind = "soft-edge"
	Banding        Kind = "banding"
	BackgroundBox  Kind = "background-box"
	HeavyArea      Kind = "heavy-area"
	OverLimit      Kind = "over-limit"
	OutOfGamut     Kind = "out-of-gamut"
	LowResolution  Kind = "low-resolution"
	Blocking       Kind = "blocking" // of JPEG compression
	TooLarge       Kind = "too-large"
	FoilMiss       Kind = "foil-miss"       // art that foil does not take to
	ArtLost        Kind = "art-lost"        // it looks like what is bare around it, or is cut off
	WrongItem      Kind = "wrong-item"      // of a material that the process is not for
	RichBlackText  Kind = "rich-black-text" // fine black of CMYK art that other toners come into
	NoProfile      Kind = "no-profile"
	MissingFont    Kind = "missing-font"    // a drawing's text is set in another font than it asks for
	MissingPicture Kind = "missing-picture" // a drawing shows one that is not in its file
	SpotColour     Kind = "spot-colour"     // a drawing names inks of its own, which print as a mix
	Overprint      Kind = "overprint"       // a drawing asks for inks over others, which are cleared
	ScreenColours  Kind = "screen-colours"  // a drawing's numbers of CMYK became screen colours
)

// Box is a part of the print, from its top left corner.
type Box struct {
	XMM      float64 `json:"x_mm"`
	YMM      float64 `json:"y_mm"`
	WidthMM  float64 `json:"width_mm"`
	HeightMM float64 `json:"height_mm"`
}

// Outline is at most 12 boxes along a line that is long and bent, which the box around
// it hardly shows.
type Outline struct {
	OfBox int   `json:"of_box"` // its index among the finding's boxes
	Boxes []Box `json:"boxes"`
}

// Finding is one flaw of the art for this process. Boxes are empty when the
// whole print is meant, and hold the worst 60 at most: BoxesListed is how many, of
// BoxesTotal. Places counts what was found, of which one box may hold several.
type Finding struct {
	Kind     Kind     `json:"kind"`
	Severity Severity `json:"severity"`
	Measured float64  `json:"measured"`
	Limit    float64  `json:"limit"`
	Unit     string   `json:"unit"`
	Places   int      `json:"places"`
	Boxes    []Box    `json:"boxes"`
	Advice   string   `json:"advice"`

	BoxesListed int `json:"boxes_listed"`
	BoxesTotal  int `json:"boxes_total"`
	// Outlines are of those boxes that are not tight, in their order.
	Outlines []Outline `json:"outlines,omitempty"`
}

// maxBoxes is the most boxes a finding lists.
const maxBoxes = 60

// Limits are what the media, the process and the item hold.
type Limits struct {
	SmallestLineMM      float64
	SmallestGapMM       float64
	SmallestDotMM       float64 // diameter: islands and holes with less area are specks
	SmallestTextMM      float64 // height of an x
	SmallestTonePercent float64
	FadeWidthMM         float64 // a half-clear band wider than this is a fade
	SoftEdgeMM          float64 // and one wider than this a soft edge
	GoodPPI, LeastPPI   float64
	TACPercent          float64
	HeavyPercent        float64 // sum of all five tone values from which a solid is heavy
	HeavyWidthMM        float64 // and how large it must be: it holds a circle of this diameter
	BandDeltaE          float64 // ΔE00 of a step 1 mm wide or more that is seen as a band
	GamutDeltaE         float64 // ΔE00 from which a colour is another
	GamutNearDeltaE     float64 // and from which a trained eye sees a difference
	// The item's printable area; 0 if it is not known.
	PrintableWidthMM, PrintableHeightMM float64
}

// Subject is what is looked at.
type Subject struct {
	Art     *artwork.Art
	Plates  *plate.Plates
	PixelMM float64 // size of a pixel on the print
	White   plate.Rule
	// WhitePercent is the tone value of full white, and ChokeMM how far it stays
	// back from its edge.
	WhitePercent, ChokeMM float64
	// HardWhite says that white is solid or nothing, not screened by alpha.
	HardWhite bool
	// Material is the item's, and Unsuited says that the process is not for it; Suited are
	// the names of those that are.
	Material string
	Unsuited bool
	Suited   []string
	// Foil says that foil goes over the black toner.
	Foil   bool
	Limits Limits

	// Design tells how a device colour of the art is meant to look, and Printed
	// how tone values look on the press's paper; both absolute under D50, for
	// channels 0–1, called concurrently. Without them, checks that need colour
	// are left out.
	Design, Printed func([4]float64) colour.Lab
	// Missed is by how much ΔE00 tone values miss a colour that was meant, absolute under
	// D50, as both are seen on the item; it is called concurrently. nil if the item has no
	// white that an eye would go by: then they are compared on the press's paper.
	Missed func(meant colour.Lab, tones [4]float64) float64
	// Look tells how tone values, and white of a tone value 0–1 under them, look on the
	// item, absolute under D50; it is called concurrently. Item is the item's own colour,
	// and OwnWhite says that a film's white hides it, under the art and around it. Without
	// Look, art is not compared with the item.
	Look     func(tones [4]float64, white float64) colour.Lab
	Item     colour.Lab
	OwnWhite bool
	// ColourName names a device colour of the art to people, such as #1b4fd8; nil
	// to name it as Design looks.
	ColourName func(artwork.Device) string
	// TonerCost words the price of sums of tone values, 255 a pixel, by plate; ""
	// or nil if it is not known.
	TonerCost func(sum [plate.Count]uint64) string
}

// check looks for flaws of one or a few kinds. It only reads the scene and depends on
// no other check; nil findings are none.
type check func(*scene) ([]*Finding, error)

// checks are all of them, in the order in which equally severe findings are listed.
func checks() []check {
	return []check{wrongItem, tooLarge, missingFont, missingPicture, spotColours, overprint, screenColours, resolution, blocking, backgroundBox, lostArt, overLimit, screened, shapes, fades, faintTint, banding, heavyArea, outOfGamut, foilMiss, richBlackText, noProfile}
}

// Find runs every check and returns the findings, worst first. An error means
// that a check could not be made, not that the art is bad. The subject is only read:
// several goroutines may look at one at once.
func Find(subject Subject) ([]Finding, error) { return find(subject, checks()) }

// Fits runs the checks that look at no pixel, and so take no time: whether process and
// item go together, and the print's size. Of the subject they need the art's own size, that
// of a pixel, material and limits.
func Fits(subject Subject) ([]Finding, error) { return find(subject, []check{wrongItem, tooLarge}) }

func find(subject Subject, checks []check) ([]Finding, error) {
	s := newScene(subject)
	found := []Finding{}
	for _, c := range checks {
		list, err := s.run(c)
		if err != nil {
			return nil, err
		}
		found = append(found, list...)
	}
	rank := map[Severity]int{Stop: 0, Look: 1, Note: 2}
	slices.SortStableFunc(found, func(a, b Finding) int { return rank[a.Severity] - rank[b.Severity] })
	return found, nil
}

// run makes a check and rounds what it found.
func (s *scene) run(c check) (found []Finding, err error) {
	list, err := c(s)
	if err != nil {
		return nil, err
	}
	for _, f := range list {
		if f == nil {
			continue
		}
		if f.Boxes == nil {
			f.Boxes = []Box{}
		}
		if f.BoxesListed = len(f.Boxes); f.BoxesTotal == 0 && f.BoxesListed > 0 {
			f.BoxesTotal = max(f.Places, f.BoxesListed)
		}
		f.Measured, f.Limit = round(f.Measured, 1000), round(f.Limit, 1000)
		found = append(found, *f)
	}
	return found, nil
}

func round(v, steps float64) float64 { return math.Round(v*steps) / steps }

// Any reports whether any finding is exactly as severe as s.
func Any(found []Finding, s Severity) bool {
	return slices.ContainsFunc(found, func(f Finding) bool { return f.Severity == s })
}
