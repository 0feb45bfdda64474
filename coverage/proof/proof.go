package proof

import (
	"bytes"
	"encoding/json"

	"laydown/colour"
	"laydown/colour/icc"
	"laydown/coverage/artwork"
	"laydown/coverage/flaw"
	"laydown/coverage/palette"
	"laydown/coverage/plate"
	"laydown/coverage/sheet"
)

// Proof is everything that was worked out about one order. Its JSON form is a
// contract that scripts rely on: names say their units, percents are 0–100,
// amounts of money are decimal text.
type Proof struct {
	Artwork  Artwork        `json:"artwork"`
	Print    Print          `json:"print"`
	Sheet    Sheet          `json:"sheet"`
	Press    Press          `json:"press"`
	Process  Process        `json:"process"`
	Item     Item           `json:"item"`
	Plates   PlateCoverage  `json:"plates"`
	TAC      TAC            `json:"tac"`
	Toner    Toner          `json:"toner"`
	Findings []flaw.Finding `json:"findings"`
	Swatches []Swatch       `json:"swatches"`
	Main     []MainColour   `json:"main_colours"`
	// Underbase compares the shop's processes; nil if none suits the item.
	Underbase *Choices    `json:"underbase,omitempty"`
	Quoted    *QuoteFacts `json:"quote,omitempty"`
	Cautions  []string    `json:"cautions"`

	job     *job
	art     *artwork.Art
	source  *icc.Profile // of the art; nil for the press's own CMYK
	colours []palette.Colour
	meant   func([4]float64) colour.Lab // what design found
	plates  *plate.Plates
	layout  sheet.Layout
	size    artwork.Size
	pixelMM float64
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

// Sheet is one sheet and how many copies it holds.
type Sheet struct {
	Name     string  `json:"name"`
	WidthMM  float64 `json:"width_mm"`
	HeightMM float64 `json:"height_mm"`
	Copies   int     `json:"copies"`
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
	Colour string `json:"colour"` // #rrggbb
}

// PlateCoverage is the coverage of each plate.
type PlateCoverage struct {
	Cyan    Coverage `json:"cyan"`
	Magenta Coverage `json:"magenta"`
	Yellow  Coverage `json:"yellow"`
	Black   Coverage `json:"black"`
	White   Coverage `json:"white"`
}

func (p *PlateCoverage) at(k int) *Coverage {
	return [...]*Coverage{&p.Cyan, &p.Magenta, &p.Yellow, &p.Black, &p.White}[k]
}

// Coverage is a mean tone value over the print box, transparent area counting
// 0, and over the whole sheet with all copies on it.
type Coverage struct {
	PrintPercent float64 `json:"print_percent"`
	SheetPercent float64 `json:"sheet_percent"`
}

// TAC is the sum of C, M, Y and K over the print box.
type TAC struct {
	MeanPercent          float64 `json:"mean_percent"`
	P99Percent           float64 `json:"p99_percent"`
	MaxPercent           float64 `json:"max_percent"`
	LimitPercent         float64 `json:"limit_percent"`
	OverLimitAreaPercent float64 `json:"over_limit_area_percent"`
}

// Toner is what the toner costs, for one print and for a full sheet.
type Toner struct {
	Currency string     `json:"currency"`
	Print    TonerLines `json:"print"`
	Sheet    TonerLines `json:"sheet"`
}

// TonerLines are decimal amounts by plate; Total is their sum.
type TonerLines struct {
	Cyan    string `json:"cyan"`
	Magenta string `json:"magenta"`
	Yellow  string `json:"yellow"`
	Black   string `json:"black"`
	White   string `json:"white"`
	Total   string `json:"total"`
}

func (t TonerLines) at(k int) string {
	return [...]string{t.Cyan, t.Magenta, t.Yellow, t.Black, t.White}[k]
}

// Swatch is a brand colour and what the press makes of it.
type Swatch struct {
	Name        string     `json:"name"`
	TargetLab   [3]float64 `json:"target_lab"`
	PrintedLab  [3]float64 `json:"printed_lab"`
	DeltaE00    float64    `json:"delta_e00"`
	Grade       string     `json:"grade"`
	InGamut     bool       `json:"in_gamut"`
	Plates      Tones      `json:"plates"`
	AreaPercent *float64   `json:"area_percent,omitempty"` // of the print; absent without art
	Sentence    string     `json:"sentence"`

	target, printed colour.Lab
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

// misses reports whether anybody sees the difference.
func (s Swatch) misses() bool {
	return s.Grade == string(colour.Visible) || s.Grade == string(colour.Off)
}

// Tones are the tone values of the colour plates in percent.
type Tones struct {
	Cyan    float64 `json:"cyan"`
	Magenta float64 `json:"magenta"`
	Yellow  float64 `json:"yellow"`
	Black   float64 `json:"black"`
}

func (t *Tones) at(k int) *float64 {
	return [...]*float64{&t.Cyan, &t.Magenta, &t.Yellow, &t.Black}[k]
}

// JSON writes values as one indented JSON document, without escaping what is
// safe in JSON but not in HTML.
func JSON(v any) ([]byte, error) {
	var b bytes.Buffer
	e := json.NewEncoder(&b)
	e.SetEscapeHTML(false)
	e.SetIndent("", "  ")
	err := e.Encode(v)
	return b.Bytes(), err
}

// CoverageFacts is the part of a proof that the coverage command prints.
type CoverageFacts struct {
	Artwork Artwork       `json:"artwork"`
	Print   Print         `json:"print"`
	Sheet   Sheet         `json:"sheet"`
	Press   Press         `json:"press"`
	Plates  PlateCoverage `json:"plates"`
	TAC     TAC           `json:"tac"`
	Toner   Toner         `json:"toner"`
}

// Coverage picks the coverage command's facts.
func (p *Proof) Coverage() CoverageFacts {
	return CoverageFacts{p.Artwork, p.Print, p.Sheet, p.Press, p.Plates, p.TAC, p.Toner}
}

// FindingFacts is what the preflight command prints.
type FindingFacts struct {
	Findings []flaw.Finding `json:"findings"`
}

// Matches picks the match command's facts.
func (p *Proof) Matches() *SwatchFacts {
	return &SwatchFacts{p.Process, p.Item, p.Swatches, p.Main}
}

// SwatchFacts is what the match command prints.
type SwatchFacts struct {
	Process  Process      `json:"process"`
	Item     Item         `json:"item"`
	Swatches []Swatch     `json:"swatches"`
	Main     []MainColour `json:"main_colours,omitempty"` // with artwork
}
