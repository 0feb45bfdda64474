// Package proof is the numbers about one order: coverage, toner, findings, brand
// colours, the choice of process, cost and price, the recipe.
//
// It joins what the other packages know: artwork becomes plates, plates become
// coverage, findings and cost. It decides nothing about colour or money itself and
// renders nothing. Its JSON form is a contract that scripts rely on.
package proof

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"laydown/colour"
	"laydown/colour/swatch"
	"laydown/coverage/flaw"
	"laydown/coverage/plate"
	"laydown/coverage/price"
	"laydown/coverage/sheet"
)

// Proof is everything that was worked out about one order. In JSON names say their
// units, percents are 0–100, amounts of money are decimal text.
type Proof struct {
	Artwork  Artwork        `json:"artwork"`
	Print    Print          `json:"print"`
	Sheet    sheet.Holding  `json:"sheet"` // with all the copies that it holds
	Press    Press          `json:"press"`
	Process  Process        `json:"process"`
	Item     Item           `json:"item"`
	Plates   PlateCoverage  `json:"plates"`
	TAC      plate.TAC      `json:"tac"`
	Toner    Toner          `json:"toner"`
	Findings []flaw.Finding `json:"findings"`
	White    White          `json:"print_white"`
	Swatches []Swatch       `json:"swatches"`
	// SwatchesSkipped are colours that the brand's list has and that are not read.
	SwatchesSkipped []swatch.Skipped `json:"swatches_skipped,omitempty"`
	Main            []MainColour     `json:"main_colours"`
	// Underbase compares the shop's processes; nil if none suits the item.
	Underbase *Choices    `json:"underbase,omitempty"`
	Quoted    *QuoteFacts `json:"quote,omitempty"`
	// QuoteLacks are the figures that keep the shop file from a quote, a sentence each.
	QuoteLacks []string `json:"quote_lacks,omitempty"`
	Cautions   []string `json:"cautions"`

	*Head

	// Laid is the print itself, for pictures of it.
	Laid *Laid `json:"-"`
}

// Artwork is the file.
type Artwork struct {
	File          string `json:"file"`
	WidthPX       int    `json:"width_px"`
	HeightPX      int    `json:"height_px"`
	SourceProfile string `json:"source_profile"`
	HasAlpha      bool   `json:"has_alpha"`
	// DroppedPercent of the picture was background and was taken away; absent if
	// nobody asked for that.
	DroppedPercent *float64 `json:"dropped_percent,omitempty"`
}

// Print is one print's size.
type Print struct {
	WidthMM  float64 `json:"width_mm"`
	HeightMM float64 `json:"height_mm"`
	DPI      float64 `json:"dpi"`
}

// Press is the printing condition the figures are for.
type Press struct {
	Name    string `json:"name"`
	StandIn bool   `json:"stand_in"` // not the shop's own profile
	Intent  string `json:"intent"`
	BPC     bool   `json:"black_point_compensation"`
}

// Process is the shop's process.
type Process struct {
	Name      string `json:"name"`
	Media     string `json:"media"`
	WhiteRule string `json:"white_rule"`
	Mirrored  bool   `json:"mirrored"`
}

// Item is what is decorated.
type Item struct {
	Name   string `json:"name"`
	Colour string `json:"colour"` // #rrggbb; of mixed colours their mean, of a clear item what lies behind
	// GivenColour says that Colour is the order's, in place of the item's own.
	GivenColour bool `json:"given_colour,omitempty"`
	// ColourName is the word that the order gives it by; "" if it gives numbers.
	ColourName string `json:"colour_name,omitempty"`
	// Loose goods have no blank and are not pressed on here; Unknown says that nobody knows
	// what they will be put on.
	Loose   bool `json:"loose,omitempty"`
	Unknown bool `json:"unknown,omitempty"`
	// Mixed are the colours of a mixed item.
	Mixed []MixedPart `json:"mixed,omitempty"`
	// Seen is the side that a clear item is seen from: front, the print's, or through.
	Seen string `json:"seen,omitempty"`
	// Finish is that of metal that mirrors, and Facing what the bare item shows.
	Finish string        `json:"finish,omitempty"`
	Facing *FacingColour `json:"facing,omitempty"`
}

// Said is the item's name; with a colour that the order gives in place of its own, its
// name without words for colours, such as "tee in #c19a6b" or "tee in navy", and that.
func (v Item) Said() string {
	name := v.Name
	if v.Unknown {
		name = "no item"
	}
	if v.GivenColour {
		return uncoloured(name) + " in " + v.called()
	}
	return name
}

// called is a given colour as the order gives it.
func (v Item) called() string { return cmp.Or(v.ColourName, v.Colour) }

// SaidInFull is the item's name and colour.
func (v Item) SaidInFull() string {
	if v.GivenColour && v.ColourName == "" {
		return v.Said()
	}
	return v.Said() + " (" + v.Colour + ")"
}

// Placed says where the print goes, such as "on black tee", or as what it is sold loose.
func (v Item) Placed() string {
	switch {
	case v.Unknown && v.GivenColour:
		return "loose, for something in " + v.called()
	case v.Unknown:
		return "loose, on no item"
	case v.Loose:
		return "as " + v.Said()
	}
	return "on " + v.Said()
}

// uncoloured is a name without its words for colours; "item" if it has no others.
func uncoloured(name string) string {
	var rest []string
	for _, w := range strings.Fields(name) {
		bare := strings.Trim(w, ",;:()")
		if _, err := colour.Parse(strings.ReplaceAll(bare, "-", "")); err != nil && !slices.Contains(shades, strings.ToLower(bare)) {
			rest = append(rest, w)
		}
	}
	if len(rest) == 0 {
		return "item"
	}
	return strings.Join(rest, " ")
}

// shades are words for colours in the names of items that no list of named colours has, and
// those that say how light one is.
var shades = []string{"dark", "light", "pale", "bright", "deep", "natural", "heather", "cream", "charcoal", "burgundy", "mustard", "rust", "sand", "stone", "ash", "royal", "sky", "bottle", "forest", "mint", "petrol"}

// FacingColour is a colour of metal where it faces something light and something dark,
// #rrggbb.
type FacingColour struct {
	Light string `json:"light"`
	Dark  string `json:"dark"`
}

// MixedPart is one colour of a mixed item.
type MixedPart struct {
	Colour       string  `json:"colour"` // #rrggbb
	SharePercent float64 `json:"share_percent"`
}

// PlateCoverage is the coverage of each plate.
type PlateCoverage struct {
	Cyan    Coverage `json:"cyan"`
	Magenta Coverage `json:"magenta"`
	Yellow  Coverage `json:"yellow"`
	Black   Coverage `json:"black"`
	White   Coverage `json:"white"`
}

// At is the coverage of a plate by its index, such as [plate.Cyan].
func (p *PlateCoverage) At(k int) *Coverage {
	return [...]*Coverage{&p.Cyan, &p.Magenta, &p.Yellow, &p.Black, &p.White}[k]
}

// Coverage is a mean tone value over the print box, transparent area counting
// 0, and over the whole sheet with all copies on it.
type Coverage struct {
	PrintPercent float64 `json:"print_percent"`
	SheetPercent float64 `json:"sheet_percent"`
}

// Toner is what the toner costs, for one print and for a full sheet.
type Toner struct {
	Currency string      `json:"currency"`
	Print    price.Toner `json:"print"`
	Sheet    price.Toner `json:"sheet"`
}

// Swatch is a brand colour and what the press makes of it: as art is separated that
// shows it, and at best. It is judged as an eye does, beside the print's own white.
type Swatch struct {
	Name       string     `json:"name"`
	TargetLab  [3]float64 `json:"target_lab"`  // absolute under D50; a screen's colour on the press's paper
	PrintedLab [3]float64 `json:"printed_lab"` // absolute, on the item
	// SeenTargetLab and SeenPrintedLab are the same beside their whites, which are L 100.
	SeenTargetLab  [3]float64 `json:"seen_target_lab"`
	SeenPrintedLab [3]float64 `json:"seen_printed_lab"`
	DeltaE00       float64    `json:"delta_e00"`          // between the two that are seen
	DeltaAbsolute  float64    `json:"delta_e00_absolute"` // between the two that are absolute
	Grade          string     `json:"grade"`
	InGamut        bool       `json:"in_gamut"`
	Plates         Tones      `json:"plates"`
	AreaPercent    *float64   `json:"area_percent,omitempty"` // of the print; absent without art
	Sentence       string     `json:"sentence"`
	// Best is what these plates would print if the file asked for them; absent where the
	// separation comes as near.
	Best *Best `json:"best,omitempty"`
	// OwnRecipe says that the list gives the plates itself; absent if they were
	// searched for.
	OwnRecipe bool `json:"own_recipe,omitempty"`
	// OverLimit says that the recipe has more toner than fuser and media take; absent if
	// not.
	OverLimit *OverLimit `json:"over_limit,omitempty"`
	// Measurement is the condition of ISO 13655 that the target was measured under and
	// MeasuredAlso are the others that the list has, "" for one that it does not say;
	// absent if the list does not say.
	Measurement  swatch.Measurement   `json:"measurement,omitempty"`
	MeasuredAlso []swatch.Measurement `json:"measured_also,omitempty"`

	Target  colour.Lab `json:"-"` // both as seen
	Printed colour.Lab `json:"-"`
	// Told is Sentence without what only a shop understands.
	Told string `json:"-"`
}

// Best is the nearest that a process prints to a colour, and its plates.
type Best struct {
	Plates         Tones      `json:"plates"`
	PrintedLab     [3]float64 `json:"printed_lab"`      // absolute, on the item
	SeenPrintedLab [3]float64 `json:"seen_printed_lab"` // beside its white
	DeltaE00       float64    `json:"delta_e00"`        // as seen
	Grade          string     `json:"grade"`
}

// OverLimit is a recipe that adds up to more than the limit of the toner's total.
type OverLimit struct {
	TotalPercent float64 `json:"total_percent"` // C + M + Y + K
	LimitPercent float64 `json:"limit_percent"`
	Within       Best    `json:"within"` // the nearest to it that heeds the limit
}

// White is the print's own white on the item, which its colours are judged beside.
type White struct {
	Lab      [3]float64 `json:"lab"`    // the print's own, absolute under D50
	Own      bool       `json:"own"`    // false: it is dark or strongly coloured, and colours are judged beside paper
	Adapts   float64    `json:"adapts"` // how far an eye takes it for white, 0–1
	Sentence string     `json:"sentence"`
	// On metal that mirrors, Lab is the mean of what is seen facing something light and
	// something dark, and these are the two.
	FacingLight *[3]float64 `json:"facing_light_lab,omitempty"`
	FacingDark  *[3]float64 `json:"facing_dark_lab,omitempty"`
}

// MainColour is one of the art's own main colours, as it prints on the item.
// Lab and sentence are those of [Swatch]; the target is the art's colour with its
// white taken as the press's paper.
type MainColour struct {
	Swatch
	Hex           string  `json:"hex"`
	Flat          bool    `json:"flat"`                     // one colour of a flat design, not the middle of many
	ClosestSwatch string  `json:"closest_swatch,omitempty"` // of the swatches given
	ClosestDeltaE float64 `json:"closest_delta_e00,omitempty"`
}

// Misses reports whether anybody sees the difference.
func (s Swatch) Misses() bool {
	return s.Grade == string(colour.Visible) || s.Grade == string(colour.Off)
}

// Tones are the tone values of the colour plates in percent.
type Tones struct {
	Cyan    float64 `json:"cyan"`
	Magenta float64 `json:"magenta"`
	Yellow  float64 `json:"yellow"`
	Black   float64 `json:"black"`
}

// At is the tone value of a plate by its index, such as [plate.Cyan].
func (t *Tones) At(k int) *float64 {
	return [...]*float64{&t.Cyan, &t.Magenta, &t.Yellow, &t.Black}[k]
}

// CMYK writes them in whole percent, such as "C 0 M 85 Y 73 K 0".
func (t Tones) CMYK() string {
	return fmt.Sprintf("C %.0f M %.0f Y %.0f K %.0f", t.Cyan, t.Magenta, t.Yellow, t.Black)
}

// CoverageFacts is the part of a proof that the coverage command prints.
type CoverageFacts struct {
	Artwork Artwork       `json:"artwork"`
	Print   Print         `json:"print"`
	Sheet   sheet.Holding `json:"sheet"`
	Press   Press         `json:"press"`
	Plates  PlateCoverage `json:"plates"`
	TAC     plate.TAC     `json:"tac"`
	Toner   Toner         `json:"toner"`
	Process Process       `json:"process"`
	Item    Item          `json:"item"`
	*Head
}

// Coverage picks the coverage command's facts.
func (p *Proof) Coverage() CoverageFacts {
	return CoverageFacts{p.Artwork, p.Print, p.Sheet, p.Press, p.Plates, p.TAC, p.Toner, p.Process, p.Item, p.Head}
}

// Preflight picks the preflight command's facts.
func (p *Proof) Preflight() FindingFacts {
	return FindingFacts{p.Findings, p.Artwork, p.Print, p.Process, p.Item, p.Head}
}

// FindingFacts is what the preflight command prints.
type FindingFacts struct {
	Findings []flaw.Finding `json:"findings"`
	Artwork  Artwork        `json:"artwork"`
	Print    Print          `json:"print"`
	Process  Process        `json:"process"`
	Item     Item           `json:"item"`
	*Head
}

// Quotation picks the quote command's facts.
func (p *Proof) Quotation() *QuoteFacts {
	q := *p.Quoted
	q.Head = p.Head
	return &q
}

// Matches picks the match command's facts.
func (p *Proof) Matches() *SwatchFacts {
	return &SwatchFacts{p.Process, p.Item, p.White, p.Swatches, p.SwatchesSkipped, p.Main, p.Head}
}

// SwatchFacts is what the match command prints.
type SwatchFacts struct {
	Process  Process  `json:"process"`
	Item     Item     `json:"item"`
	White    White    `json:"print_white"`
	Swatches []Swatch `json:"swatches"`
	// SwatchesSkipped are colours that the brand's list has and that are not read.
	SwatchesSkipped []swatch.Skipped `json:"swatches_skipped,omitempty"`
	Main            []MainColour     `json:"main_colours,omitempty"` // with artwork
	*Head
}

// to rounds to a number of decimal places; nothing is 0 and never -0.
func to(v float64, places int) float64 {
	p := math.Pow10(places)
	return math.Round(v*p)/p + 0
}

func lab3(c colour.Lab) [3]float64 { return [3]float64{to(c.L, 2), to(c.A, 2), to(c.B, 2)} }
