// Package shop is the shop file: the printer's toners and what they cost, the
// media, the items that are decorated, the processes that join them, and the
// tolerances the shop works to.
//
// The file is TOML. Lengths are text with a unit ("5 mm", "0.2 in"); money is
// written with a decimal point, quoted or not.
//
// Unknown keys, values of the wrong sort and impossible figures are refused, each with its
// line, table and key: see package form. Two keys of [labour] and [costs] may go by their
// former names, press_seconds and press_hour.
package shop

import (
	"bytes"
	_ "embed"
	"fmt"
	"math"
	"slices"
	"strings"
	"time"
	_ "time/tzdata" // zones, also where the machine has none

	"github.com/shopspring/decimal"

	"laydown/colour"
	"laydown/colour/press"
	"laydown/coverage/form"
	"laydown/coverage/limit"
	"laydown/coverage/name"
	"laydown/coverage/plate"
	"laydown/coverage/price"
	"laydown/coverage/unit"
)

// Shop is a loaded shop file. Its figures have been checked and its defaults
// filled in.
type Shop struct {
	Name           string  `toml:"name"`
	Currency       string  `toml:"currency"`
	TimeZone       string  `toml:"time_zone"` // by its IANA name; "" is that of the machine
	DefaultProcess string  `toml:"default_process"`
	DefaultItem    string  `toml:"default_item"`
	Layout         Layout  `toml:"layout"`
	Match          Match   `toml:"match"`
	Labour         Labour  `toml:"labour"`
	Costs          Costs   `toml:"costs"`
	Pricing        Pricing `toml:"pricing"`
	Terms          Terms   `toml:"terms"`
	// Limits are what one run takes on at most.
	Limits    limit.Limits `toml:"limits"`
	Covers    []Cover      `toml:"cover"`
	Supplies  []Supply     `toml:"supply"`
	Printers  []Printer    `toml:"printer"`
	Media     []Medium     `toml:"media"`
	Items     []Item       `toml:"item"`
	Processes []Process    `toml:"process"`

	// File is the name that the shop was loaded under, and Demo says that it is still the
	// demo, all of whose figures are invented, whatever the file is called.
	File string `json:"-"`
	// Found says in words where the file was found, if nobody named it.
	Found string `json:"-"`
	Demo  bool   `json:"-"`
	// DemoFigures is how many of the file's figures are the demo's in a file that began as
	// the demo, and OwnFigures how many are not; both 0 for any other file.
	DemoFigures, OwnFigures int `json:"-"`

	root *form.Node // what the file has written; nil if the shop was made without one
}

// Places are the decimal places of the shop's currency.
func (s *Shop) Places() int32 { return price.CurrencyPlaces(s.Currency) }

// Zone is the zone that the shop's dates are in; nil if the file names none. It is looked
// up in the machine's tz database, or in the one built in.
func (s *Shop) Zone() *time.Location {
	if s.TimeZone == "" {
		return nil
	}
	z, err := time.LoadLocation(s.TimeZone)
	if err != nil {
		return nil // the check refuses it
	}
	return z
}

// Layout is how prints are set on a sheet.
type Layout struct {
	Margin unit.Length `toml:"margin"`
	Gap    unit.Length `toml:"gap"`
	Bleed  unit.Length `toml:"bleed"`  // that a print needs beyond its box on every side
	Cutter unit.Length `toml:"cutter"` // that a cutter needs inside the margin for its marks
	// Corner is the side of a square in every corner inside that, free for such marks.
	Corner unit.Length `toml:"cutter_corner"`
}

// EdgeMM is what stays free on every side of a sheet.
func (l Layout) EdgeMM() float64 { return l.Margin.MM() + l.Cutter.MM() }

// LayoutOn is how prints are set on a sheet of a medium: what a cutter needs is the larger of
// the shop's figure and the medium's own.
func (s *Shop) LayoutOn(m *Medium) Layout {
	l := s.Layout
	l.Cutter, l.Corner = max(l.Cutter, m.Cutter), max(l.Corner, m.Corner)
	return l
}

// Labour is people's time and what an hour of it costs.
type Labour struct {
	RateHour         decimal.Decimal `toml:"rate_hour"`
	FileCheckMinutes decimal.Decimal `toml:"file_check_minutes"` // once an order
	SetupMinutes     decimal.Decimal `toml:"setup_minutes"`      // once an order, at printer and heat press
	PrintSeconds     decimal.Decimal `toml:"print_seconds"`      // a sheet
	WeedSeconds      decimal.Decimal `toml:"weed_seconds"`       // a piece: parting it from the sheet, picking off
	// Outline that a person cuts along in a second, where the media does not weed itself.
	CutMMSecond decimal.Decimal `toml:"cut_mm_second"`
	// A piece: laying it on the heat press and taking it off, beside the recipe.
	HeatPressSeconds decimal.Decimal `toml:"heat_press_seconds" once:"press_seconds"`
	PackSeconds      decimal.Decimal `toml:"pack_seconds"` // a piece
}

// Costs are what comes on top.
type Costs struct {
	SpoilagePercent decimal.Decimal `toml:"spoilage_percent"` // of all pieces made
	OverheadPercent decimal.Decimal `toml:"overhead_percent"`
	HeatPressHour   decimal.Decimal `toml:"heat_press_hour" once:"press_hour"` // power and wear
}

// Pricing is how the shop asks for its money: by margin, markup or rate card.
type Pricing struct {
	MarginPercent decimal.Decimal `toml:"margin_percent"`
	MarkupPercent decimal.Decimal `toml:"markup_percent"`
	Rates         []Rate          `toml:"rate"`
	MinimumOrder  decimal.Decimal `toml:"minimum_order"`
	Quantities    []int           `toml:"quantities"`
	RoundTo       string          `toml:"round_to"`
	Rounding      string          `toml:"rounding"`
	TaxPercent    decimal.Decimal `toml:"tax_percent"`
	// NeverLess lifts what a quantity costs in all to what smaller ones do, if that is more.
	NeverLess bool `toml:"never_less"`
	// Prices says whether all prices are without tax (net) or with it (gross).
	Prices string `toml:"prices"`
}

// What prices are named as.
const (
	Net   = "net"
	Gross = "gross"
)

var pricesAs = []string{Net, Gross}

// Rate is an entry of a rate card.
type Rate struct {
	From    int             `toml:"from"`
	Each    decimal.Decimal `toml:"each"`
	Further decimal.Decimal `toml:"further"` // each further print on the same piece
}

// Terms are what a quote to a customer says beside its prices.
type Terms struct {
	Address        []string        `toml:"address"`    // of the shop, lines under its name
	TaxName        string          `toml:"tax_name"`   // what the tax is called
	TaxNumber      string          `toml:"tax_number"` // the shop's, as invoices must have it
	ValidDays      int             `toml:"valid_days"`
	DepositPercent decimal.Decimal `toml:"deposit_percent"` // of the whole, with the tax
	RushPercent    decimal.Decimal `toml:"rush_percent"`    // on the goods of an order that is rushed
	Words          []string        `toml:"words"`           // paragraphs
	Paper          string          `toml:"paper"`           // what a customer gets is set for: A4 or Letter
}

// Papers that what a customer gets can be set for.
const (
	A4     = "A4"
	Letter = "Letter"
)

var papers = []string{A4, Letter}

// Price is the pricing in a currency with so many places as package price reckons with it.
func (p Pricing) Price(places int32) (price.Pricing, error) {
	round, err := price.ParseRounding(p.RoundTo, p.Rounding, places)
	out := price.Pricing{NeverLess: p.NeverLess, Gross: p.Prices == Gross, MarginPercent: p.MarginPercent, MarkupPercent: p.MarkupPercent, MinimumOrder: p.MinimumOrder, Round: round, TaxPercent: p.TaxPercent}
	for _, r := range p.Rates {
		out.Rates = append(out.Rates, price.Rate{From: r.From, Each: r.Each, Further: r.Further})
	}
	return out, err
}

// Cover is a cover sheet or pad of the heat press, used up after so many pressings.
type Cover struct {
	Name  string          `toml:"name"`
	Price decimal.Decimal `toml:"price"`
	Uses  int             `toml:"uses"`
}

// Supply is what a step uses up beside the printed sheet, such as foil or a sheet of
// adhesive.
type Supply struct {
	Name       string          `toml:"name"`
	PriceEach  decimal.Decimal `toml:"price_each"` // of one; or
	PackPrice  decimal.Decimal `toml:"pack_price"` // of PackPieces
	PackPieces int             `toml:"pack_pieces"`
}

// each is what one costs.
func (v Supply) each() price.Exact {
	if v.PackPieces > 0 {
		return price.PerTransfer(v.PackPrice, v.PackPieces, 1)
	}
	return price.PerTransfer(v.PriceEach, 1, 1)
}

// Supplied is what the supplies of a recipe cost for an item.
func (s *Shop) Supplied(p *Process, v *Item) (sum price.Per) {
	for _, st := range p.Here(v) {
		if st.Uses == "" {
			continue
		}
		if of, err := s.Supply(st.Uses); err == nil { // the shop file was checked
			sum = sum.Plus(st.count(of.each()))
		}
	}
	return sum
}

// Match holds the CIEDE2000 limits of the grades of match.
type Match struct {
	Close    float64 `toml:"close"`
	Near     float64 `toml:"near"`
	Visible  float64 `toml:"visible"`
	CountsAs float64 `toml:"counts_as"` // art within this ΔE00 of a brand colour counts as that colour
}

// Limits are the grade limits.
func (m Match) Limits() colour.Limits {
	return colour.Limits{Close: m.Close, Near: m.Near, Visible: m.Visible}
}

// Printer is a printer and its toners.
type Printer struct {
	Name  string  `toml:"name"`
	TAC   float64 `toml:"tac_percent"` // the most C+M+Y+K that the fuser takes
	Black string  `toml:"black"`       // black generation for printing conditions without a separation of their own
	// Contrast ratio of solid white toner in the manner of ISO 6504-3: its
	// lightness Y over black divided by that over white.
	WhiteContrast float64 `toml:"white_contrast_percent"`
	// In place of the ratio: solid white toner measured over a black and a white ground,
	// and the grounds themselves; a WhiteGround that is not given is the press's paper.
	WhiteOnBlack Colour           `toml:"white_on_black"`
	WhiteOnWhite Colour           `toml:"white_on_white"`
	BlackGround  Colour           `toml:"black_ground"`
	WhiteGround  Colour           `toml:"white_ground"`
	Toner        map[string]Toner `toml:"toner"` // by plate name
	MachineHour  decimal.Decimal  `toml:"machine_hour"`
	Wear         []Wear           `toml:"wear"`
}

// Wear is a part that wears out: drum, belt, fuser, waste box.
type Wear struct {
	Name      string          `toml:"name"`
	Price     decimal.Decimal `toml:"price"`
	LifePages int             `toml:"life_pages"`
	Page      unit.Sheet      `toml:"page"`
	ByArea    bool            `toml:"by_area"` // a sheet wears it by its area; else every sheet is a page
}

// WearSheet is what one pass of a sheet takes of the printer's parts.
func (p *Printer) WearSheet(s unit.Sheet) (sum price.Exact) {
	area := func(s unit.Sheet) price.Exact { return price.Of(decimal.NewFromFloat(s.AreaMM2())) }
	for _, w := range p.Wear {
		v := price.PerUse(w.Price, w.LifePages)
		if w.ByArea {
			v = v.Times(area(s)).Over(area(w.Page))
		}
		sum = sum.Plus(v)
	}
	return sum
}

// Toner is one cartridge as the shop buys it.
type Toner struct {
	Price           decimal.Decimal `toml:"price"`
	YieldPages      int64           `toml:"yield_pages"`
	Page            unit.Sheet      `toml:"page"`
	CoveragePercent decimal.Decimal `toml:"coverage_percent"`
	Correction      decimal.Decimal `toml:"correction"`
}

// Medium is a film or paper.
type Medium struct {
	Name             string          `toml:"name"`
	Sheet            unit.Sheet      `toml:"sheet"`
	PriceEach        decimal.Decimal `toml:"price_each"` // of one sheet; or
	PackPrice        decimal.Decimal `toml:"pack_price"` // of PackSheets
	PackSheets       int             `toml:"pack_sheets"`
	Sizes            []Size          `toml:"size"`                // other sheets that it is bought in as well
	Tray             string          `toml:"tray"`                // of the printer, that it goes into
	PerTransfer      int             `toml:"sheets_per_transfer"` // 2 where two sheets make one transfer
	PagesPerMinute   decimal.Decimal `toml:"pages_per_minute"`    // that the printer takes of it
	Materials        []string        `toml:"materials"`           // it is for; none named means all
	OwnWhite         bool            `toml:"own_white"`           // carries a white of its own
	WeedsItself      bool            `toml:"weeds_itself"`        // only what is printed goes over; else it is cut out by hand
	TAC              float64         `toml:"tac_percent"`
	SmallestLine     unit.Length     `toml:"smallest_line"`
	GoodPPI          float64         `toml:"good_ppi"`
	LeastPPI         float64         `toml:"least_ppi"`
	FadeWidth        unit.Length     `toml:"fade_width"` // a part-transparent band wider than this is a fade, not an edge
	SmallestTonePerc float64         `toml:"smallest_tone_percent"`
	SmallestGap      unit.Length     `toml:"smallest_gap"`
	SmallestDot      unit.Length     `toml:"smallest_dot"`  // diameter; islands and holes with less area are specks
	SmallestText     unit.Length     `toml:"smallest_text"` // height of an x
	SoftEdge         unit.Length     `toml:"soft_edge"`     // a half-clear band wider than this is a soft edge
	HeavyPercent     float64         `toml:"heavy_percent"` // sum of all five toners from which a solid is heavy,
	HeavyWidth       unit.Length     `toml:"heavy_width"`   // where it holds a circle this wide
	BandDeltaE       float64         `toml:"band_delta_e"`  // ΔE00 of a step in a ramp that shows as a band
	Cutter           unit.Length     `toml:"cutter"`        // as in [Layout], for this medium
	Corner           unit.Length     `toml:"cutter_corner"` // likewise
	Care             []string        `toml:"care"`          // see [Shop.CareOf]
}

// Size is a further sheet that a medium is bought in, and what it costs.
type Size struct {
	Sheet      unit.Sheet      `toml:"sheet"`
	PriceEach  decimal.Decimal `toml:"price_each"`
	PackPrice  decimal.Decimal `toml:"pack_price"`
	PackSheets int             `toml:"pack_sheets"`
}

// Bought is the medium as it is bought in a sheet, which may be turned; ok is false if it
// is not.
func (m *Medium) Bought(s unit.Sheet) (as *Medium, ok bool) {
	if sameSheet(m.Sheet, s) {
		return m, true
	}
	for _, v := range m.Sizes {
		if sameSheet(v.Sheet, s) {
			sized := *m
			sized.Sheet, sized.PriceEach, sized.PackPrice, sized.PackSheets = v.Sheet, v.PriceEach, v.PackPrice, v.PackSheets
			return &sized, true
		}
	}
	return m, false
}

// sheetNearMM is what two sheets of one size differ by at most, as inches and millimetres
// may say it.
const sheetNearMM = 0.5

func sameSheet(a, b unit.Sheet) bool {
	near := func(w, h float64) bool {
		return math.Abs(a.WidthMM-w) <= sheetNearMM && math.Abs(a.HeightMM-h) <= sheetNearMM
	}
	return near(b.WidthMM, b.HeightMM) || near(b.HeightMM, b.WidthMM)
}

// SheetsBought are the sheets that it is bought in.
func (m *Medium) SheetsBought() []unit.Sheet {
	out := []unit.Sheet{m.Sheet}
	for _, v := range m.Sizes {
		out = append(out, v.Sheet)
	}
	return out
}

// TransferPrice is what the sheets of one transfer cost.
func (m *Medium) TransferPrice() price.Exact {
	if m.PackSheets > 0 {
		return price.PerTransfer(m.PackPrice, m.PackSheets, m.PerTransfer)
	}
	return price.PerTransfer(m.PriceEach, 1, m.PerTransfer)
}

// Item is what is decorated.
type Item struct {
	Name   string `toml:"name"`
	Colour Colour `toml:"colour"` // of mixed colours their mean, of a clear item what lies behind
	// Colours are those of a mixed (heather) item in place of Colour, and Shares their
	// parts of its area in percent.
	Colours []Colour  `toml:"colours"`
	Shares  []float64 `toml:"shares"`
	// Clear glass, acrylic or film, taken as without colour and loss, has Behind in place
	// of Colour: what lies behind item and print for who looks from Seen, the print's side
	// (front) or the other (through).
	Clear  bool   `toml:"clear"`
	Behind Colour `toml:"behind"`
	Seen   string `toml:"seen"`
	// Finish says how much a metal or foil mirrors what it faces; its Colour is then what is
	// seen where it faces white.
	Finish   string          `toml:"finish"`
	Material string          `toml:"material"`
	Price    decimal.Decimal `toml:"price"` // of the blank
	// Sizes are those that the blank comes in; none says that all cost the same.
	Sizes []ItemSize `toml:"size"`
	// OwnTax is the tax on goods of this item, in percent: see [Shop.TaxPercent].
	OwnTax decimal.Decimal `toml:"tax_percent"`
	// WhiteOnItem is solid white toner measured on this very item, if it was.
	WhiteOnItem Colour `toml:"white_on_item"`
	// Printable is the area that takes a print; none is no limit.
	Printable unit.Sheet `toml:"printable"`
	// Loose goods (transfers, decals, stickers, tattoos) are sold as they are printed: there
	// is no blank and nobody presses them on here. Colour and Material are then those of what
	// they will be put on.
	Loose bool `toml:"loose"`
	// SoldBy is what a quantity of loose goods counts and a price is for: a piece, cut out,
	// or a full sheet of them.
	SoldBy string `toml:"sold_by"`
	// DrawnAs is the kind of drawing that shows a customer where the print goes, DrawnSize the
	// size of its body, if it is not the usual one, and Place where on it, such as chest: see
	// package drawing.
	DrawnAs   string     `toml:"drawn_as"`
	DrawnSize unit.Sheet `toml:"drawn_size"`
	Place     string     `toml:"place"`
	Care      []string   `toml:"care"` // see [Shop.CareOf]
	// Unknown says that nothing is known of what the print will be put on: see [NoItem].
	Unknown bool
}

// ItemSize is a size of an item.
type ItemSize struct {
	Name     string          `toml:"name"`
	Price    decimal.Decimal `toml:"price"`    // of the blank, if it is another
	Upcharge decimal.Decimal `toml:"upcharge"` // that a piece of it is sold for more
}

// Size finds a size of the item by name, whatever its capitals. An item without sizes has
// any, at its own price. The error lists those that there are.
func (v *Item) Size(called string) (ItemSize, error) {
	if len(v.Sizes) == 0 {
		return ItemSize{Name: called, Price: v.Price}, nil
	}
	var names []string
	for _, z := range v.Sizes {
		if strings.EqualFold(z.Name, strings.TrimSpace(called)) {
			return z, nil
		}
		names = append(names, z.Name)
	}
	return ItemSize{}, fmt.Errorf("%s has no size %q: it comes in %s", v.Name, called, strings.Join(names, ", "))
}

// TaxPercent is the tax on goods of an item: its own, or that of all prices.
func (s *Shop) TaxPercent(v *Item) decimal.Decimal {
	i := slices.IndexFunc(s.Items, func(of Item) bool { return of.Name == v.Name })
	if i >= 0 && !v.Unknown && s.root != nil && s.writes(form.Path{"item", i, "tax_percent"}) {
		return v.OwnTax
	}
	return s.Pricing.TaxPercent
}

// What loose goods are sold by.
const (
	ByPiece = "piece"
	BySheet = "sheet"
)

var soldBy = []string{ByPiece, BySheet}

// None is the name of the item that is no item.
const None = "none"

// NoItem is what a print is on that is sold loose, and nobody says for what: no blank, any
// material, and looks are judged as on white, for want of better.
func NoItem() *Item {
	return &Item{Name: None, Colour: Colour{Text: "white", Lab: colour.Lab{L: 100}}, Loose: true, SoldBy: ByPiece, Unknown: true}
}

// Mixed are the colours that an item is mixed of and their shares, of any sum; of an item of
// one colour that one.
func (v *Item) Mixed() (of []colour.Lab, shares []float64) {
	if len(v.Colours) == 0 {
		return []colour.Lab{v.Colour.Lab}, []float64{1}
	}
	for i, c := range v.Colours {
		of, shares = append(of, c.Lab), append(shares, 1)
		if len(v.Shares) == len(v.Colours) {
			shares[i] = v.Shares[i]
		}
	}
	return of, shares
}

// Process joins a printer, a medium and a white rule.
type Process struct {
	Name           string      `toml:"name"`
	Printer        string      `toml:"printer"`
	Media          string      `toml:"media"`
	Materials      []string    `toml:"materials"` // of the items it suits; none named means all
	White          plate.Rule  `toml:"white"`
	WhiteDensity   float64     `toml:"white_density_percent"`
	WhiteSide      string      `toml:"white_side"` // on the finished item: under the colours, between them and it, or over them
	Choke          unit.Length `toml:"choke"`
	WhiteThreshold float64     `toml:"white_threshold_percent"` // 0 screens half-clear art
	SmallestWhite  unit.Length `toml:"smallest_white"`          // islands of white under a dot of this size are left out
	KnockoutWithin float64     `toml:"knockout_within"`         // ΔE00 from the item's colour, for the rule knockout
	PrintedOn      string      `toml:"printed_on"`              // the sheet that is loaded, and which side of it up
	Mirrored       bool        `toml:"mirrored"`                // for a print that is seen from the front: see [Process.Turned]
	PureBlack      bool        `toml:"pure_black"`              // black and neutral greys on the black plate alone
	Foil           bool        `toml:"foil"`                    // foil goes over the black toner
	HeatPressed    bool        `toml:"heat_pressed"`
	OnSkin         bool        `toml:"on_skin"`
	OnTableware    bool        `toml:"on_tableware"`
	Cover          string      `toml:"cover"` // cover sheet or pad of the heat press
	Care           []string    `toml:"care"`  // see [Shop.CareOf]
	Steps          []Step      `toml:"step"`
}

// Step is one step of a process's recipe.
type Step struct {
	Do           string  `toml:"do" json:"do"`
	TemperatureC float64 `toml:"temperature_c" json:"temperature_c,omitempty"`
	TemperatureF float64 `json:"temperature_f,omitempty"` // the same to a whole degree; 0 if none is given
	Seconds      float64 `toml:"seconds" json:"seconds,omitempty"`
	Pressure     string  `toml:"pressure" json:"pressure,omitempty"`
	Peel         string  `toml:"peel" json:"peel,omitempty"`
	Covered      bool    `toml:"covered" json:"covered,omitempty"` // under the cover sheet
	// Per is what the step is done once for: an order, a pair (or a sheet that is printed
	// alone) or a piece.
	Per string `toml:"per" json:"per"`
	// Waits says that somebody stands by for its Seconds and is paid for them; else other
	// work goes on.
	Waits bool `toml:"waits" json:"waits"`
	// Uses is the name of the supply that is used up.
	Uses string `toml:"uses" json:"uses,omitempty"`
	// MovesTo is where the picture lies after the step, if it did not lie there before.
	MovesTo string `toml:"moves_to" json:"moves_to,omitempty"`
	Note    string `toml:"note" json:"note,omitempty"`
}

// What a step can be, how hard it presses and how hot a sheet is peeled.
var (
	deeds     = []string{"pre-press", "marry", "press", "peel", "part", "strip", "reseal", "soak", "slide", "dry", "cut"}
	pressures = []string{"light", "medium", "firm"}
	peels     = []string{"hot", "warm", "cold"}
)

// presses reports whether a step is done under the heat press.
func (s Step) presses() bool {
	return s.Do == "pre-press" || s.Do == "marry" || s.Do == "press" || s.Do == "reseal"
}

// Makes reports whether a step makes the transfer; the others put it on, which is the
// customer's part of loose goods (common practice, no source).
func (s Step) Makes() bool { return s.Do == "marry" || s.Do == "part" || s.Do == "cut" }

// Here are the steps that are done in the shop for an item: all of them, or of loose goods
// those that make the transfer; sheets that are sold whole are not cut either.
func (p *Process) Here(v *Item) (steps []Step) {
	for _, s := range p.Steps {
		if !v.Loose || s.Makes() && (s.Do != "cut" || v.SoldBy != BySheet) {
			steps = append(steps, s)
		}
	}
	return steps
}

// What a step is done once for.
const (
	PerOrder = "order"
	PerPair  = "pair"
	PerSheet = "sheet"
	PerPiece = "piece"
)

var pers = []string{PerOrder, PerPair, PerSheet, PerPiece}

// usual is what a step is done once for unless the file says otherwise: two sheets are
// married and parted as such, all else is done piece by piece (common practice, no
// source).
func (s Step) usual(m *Medium) string {
	switch {
	case s.Do != "marry" && s.Do != "part":
		return PerPiece
	case m.PerTransfer == 2:
		return PerPair
	}
	return PerSheet
}

// count puts an amount where a step is counted.
func (s Step) count(v price.Exact) price.Per {
	switch s.Per {
	case PerOrder:
		return price.Per{Order: v}
	case PerPiece:
		return price.Per{Piece: v}
	}
	return price.Per{Sheet: v}
}

// seconds are those of a step, exactly as they are written.
func (s Step) seconds() price.Exact { return price.Of(decimal.NewFromFloat(s.Seconds)) }

// Work is what a recipe takes of people, heat press and cover sheet for an item.
type Work struct {
	Waiting price.Per // seconds that somebody is paid for
	Pressed price.Per // seconds under the heat press
	Covered price.Per // uses of the cover sheet
	Presses bool      // a piece goes under the heat press at all
}

// Work adds up the steps that are done here for an item.
func (p *Process) Work(v *Item) (w Work) {
	for _, s := range p.Here(v) {
		if s.Waits {
			w.Waiting = w.Waiting.Plus(s.count(s.seconds()))
		}
		if s.presses() {
			w.Pressed = w.Pressed.Plus(s.count(s.seconds()))
			w.Presses = w.Presses || s.Seconds > 0
		}
		if s.Covered {
			w.Covered = w.Covered.Plus(s.count(price.Whole(1)))
		}
	}
	return w
}

// Colour is a colour written as [colour.Parse] reads it; its zero value is none.
type Colour struct {
	Text string
	Lab  colour.Lab
}

// Given reports whether the file has the colour.
func (c Colour) Given() bool { return c.Text != "" }

// Describe says what a colour is written as.
func (Colour) Describe() string { return `a colour such as "#17171a"` }

// UnmarshalText reads a colour.
func (c *Colour) UnmarshalText(b []byte) error {
	lab, err := colour.Parse(string(b))
	*c = Colour{string(b), lab}
	return err
}

//go:embed demo.toml
var demo []byte

// BuiltIn is the name that the built-in shop file goes by where no other answers.
const BuiltIn = "built-in demo shop"

// Demo is the built-in shop file, commented: an invented shop to start from.
func Demo() []byte { return bytes.Clone(demo) }

// Load reads a shop file; name is for messages. The error has every mistake found on a
// line of its own, in the file's order, with its line, table and key. What is not TOML
// hides the other mistakes, and values of the wrong sort hide impossible figures.
func Load(data []byte, name string) (*Shop, error) {
	root, found := form.Read(data)
	if len(found) > 0 {
		return nil, form.All(found, name, root)
	}
	s := &Shop{}
	found = form.Bind(root, s, "The comments of laydown init list all keys.")
	s.File, s.Demo, s.root = name, bytes.Equal(data, demo), root
	s.ownFigures(root)
	if len(found) == 0 {
		s.fill(root)
		found = check(s, root)
	}
	if len(found) > 0 {
		return nil, form.All(found, name, root)
	}
	return s, nil
}

// ownFigures counts the figures that are the demo's and those that are not. A file of which
// more than half are the demo's, at the same keys, began as the demo: some are alike in any
// two shops.
func (s *Shop) ownFigures(root *form.Node) {
	invented, _ := form.Read(demo)
	known, same, own := invented.Figures(), 0, 0
	for at, v := range root.Figures() {
		if known[at] == v {
			same++
		} else {
			own++
		}
	}
	if same > own {
		s.DemoFigures, s.OwnFigures = same, own
		s.Demo = own == 0
	}
}

// orElse puts a default where the file does not write a key of the table in. A 0 that
// is written is a 0.
func orElse[T any](root *form.Node, in form.Path, key string, v *T, otherwise T) {
	if _, written := root.Find(in.To(key)); !written {
		*v = otherwise
	}
}

// finishes are the finishes of an item, and the share of the light it reflects that each
// mirrors. That of satin is our own figure.
var finishes = []struct {
	name  string
	share float64
}{{"matte", 0}, {"satin", 0.5}, {"mirror", 1}}

// Mirrors is the share of the light the item reflects that it mirrors, 0–1.
func (v *Item) Mirrors() float64 {
	for _, f := range finishes {
		if f.name == v.Finish {
			return f.share
		}
	}
	return 0
}

// The sides that a clear item is seen from, and those of the colours that white lies on.
var (
	seens      = []string{Front, Through}
	whiteSides = []string{UnderColours, OverColours}
)

// Where an eye and where white is: see [Item] and [Process].
const (
	Front        = "front"
	Through      = "through"
	UnderColours = "under"
	OverColours  = "over"
)

// behindClear is what lies behind a clear item unless the file says otherwise: a mid grey,
// between a night's window and a wall by day; our own choice.
var behindClear = Colour{Text: "50,0,0", Lab: colour.Lab{L: 50}}

// blackGround is what white is measured over unless the file says otherwise: the black
// backing of ISO 13655, which has a density near 1.5 (from memory).
var blackGround = Colour{Text: "20,0,0", Lab: colour.Lab{L: 20}}

// fill puts in the defaults, common practice of transfer printing with no source, and what
// follows from other figures.
func (s *Shop) fill(root *form.Node) {
	a4 := unit.Sheet{Name: "A4", WidthMM: 210, HeightMM: 297}
	in := form.Path{"match"}
	orElse(root, in, "close", &s.Match.Close, 2)
	orElse(root, in, "near", &s.Match.Near, 3.5)
	orElse(root, in, "visible", &s.Match.Visible, 6)
	orElse(root, in, "counts_as", &s.Match.CountsAs, 5)
	for i := range s.Printers {
		p, in := &s.Printers[i], form.Path{"printer", i}
		orElse(root, in, "tac_percent", &p.TAC, 240)
		orElse(root, in, "black", &p.Black, press.BlackMedium.String())
		orElse(root, in, "white_contrast_percent", &p.WhiteContrast, 85)
		orElse(root, in, "black_ground", &p.BlackGround, blackGround)
		for _, k := range plate.Names {
			t, ok := p.Toner[k]
			if !ok {
				continue
			}
			in := in.To("toner", k)
			orElse(root, in, "page", &t.Page, a4)
			orElse(root, in, "coverage_percent", &t.CoveragePercent, decimal.NewFromInt(5))
			orElse(root, in, "correction", &t.Correction, decimal.NewFromInt(1))
			p.Toner[k] = t
		}
		for k := range p.Wear {
			orElse(root, in.To("wear", k), "page", &p.Wear[k].Page, a4)
		}
	}
	for _, l := range s.Limits.Each() {
		orElse(root, form.Path{"limits"}, l.Key, l.Value, l.Usual)
	}
	orElse(root, form.Path{"labour"}, "cut_mm_second", &s.Labour.CutMMSecond, decimal.NewFromInt(5))
	in = form.Path{"pricing"}
	orElse(root, in, "quantities", &s.Pricing.Quantities, []int{1, 12, 48})
	orElse(root, in, "prices", &s.Pricing.Prices, Net)
	in = form.Path{"terms"}
	orElse(root, in, "tax_name", &s.Terms.TaxName, "tax")
	orElse(root, in, "valid_days", &s.Terms.ValidDays, 30)
	orElse(root, in, "paper", &s.Terms.Paper, A4)
	for i := range s.Media {
		m, in := &s.Media[i], form.Path{"media", i}
		orElse(root, in, "sheets_per_transfer", &m.PerTransfer, 1)
		orElse(root, in, "weeds_itself", &m.WeedsItself, !m.OwnWhite)
		orElse(root, in, "smallest_line", &m.SmallestLine, 0.35)
		orElse(root, in, "good_ppi", &m.GoodPPI, 300)
		orElse(root, in, "least_ppi", &m.LeastPPI, 150)
		orElse(root, in, "fade_width", &m.FadeWidth, 0.25)
		orElse(root, in, "smallest_tone_percent", &m.SmallestTonePerc, 5)
		orElse(root, in, "smallest_gap", &m.SmallestGap, 0.7)
		orElse(root, in, "smallest_dot", &m.SmallestDot, 0.3)
		orElse(root, in, "smallest_text", &m.SmallestText, 1.2)
		orElse(root, in, "soft_edge", &m.SoftEdge, 0.15)
		orElse(root, in, "heavy_percent", &m.HeavyPercent, 300)
		orElse(root, in, "heavy_width", &m.HeavyWidth, 40)
		orElse(root, in, "band_delta_e", &m.BandDeltaE, 1)
	}
	for i := range s.Items {
		v, in := &s.Items[i], form.Path{"item", i}
		if v.Loose {
			orElse(root, in, "sold_by", &v.SoldBy, ByPiece)
		}
		for k := range v.Sizes {
			orElse(root, in.To("size", k), "price", &v.Sizes[k].Price, v.Price)
		}
		orElse(root, in, "drawn_as", &v.DrawnAs, v.usualDrawing())
		switch {
		case v.Clear:
			orElse(root, in, "behind", &v.Behind, behindClear)
			v.Colour = v.Behind
			orElse(root, in, "seen", &v.Seen, Front)
		case len(v.Colours) > 0:
			v.Colour.Lab = colour.Mean(v.Mixed())
		}
	}
	for i := range s.Processes {
		p, in := &s.Processes[i], form.Path{"process", i}
		orElse(root, in, "white", &p.White, plate.NoWhite)
		orElse(root, in, "white_density_percent", &p.WhiteDensity, 100)
		orElse(root, in, "white_side", &p.WhiteSide, UnderColours)
		orElse(root, in, "knockout_within", &p.KnockoutWithin, 5)
		medium, err := s.Medium(p.Media)
		if err != nil {
			medium = &Medium{} // which the check refuses
		}
		for k := range p.Steps {
			st, in := &p.Steps[k], in.To("step", k)
			if c := st.TemperatureC; c != 0 {
				st.TemperatureF = math.Round(c*9/5 + 32)
			}
			orElse(root, in, "per", &st.Per, st.usual(medium))
			orElse(root, in, "waits", &st.Waits, st.Do != "dry")
		}
		if moves, turned := p.moves(); moves {
			orElse(root, in, "mirrored", &p.Mirrored, turned)
		}
	}
	if len(s.Processes) > 0 {
		orElse(root, nil, "default_process", &s.DefaultProcess, s.Processes[0].Name)
	}
	if len(s.Items) > 0 {
		orElse(root, nil, "default_item", &s.DefaultItem, s.Items[0].Name)
	}
}

// Suits reports whether the process, and the media it prints on, are for an item's
// material. Any process may be for [NoItem].
func (s *Shop) Suits(p *Process, v *Item) bool {
	fits := func(list []string) bool { return len(list) == 0 || v.Unknown || slices.Contains(list, v.Material) }
	m, err := s.Medium(p.Media)
	return fits(p.Materials) && (err != nil || fits(m.Materials))
}

// SuitedTo are the names of the processes that suit an item, in the file's order.
func (s *Shop) SuitedTo(v *Item) (names []string) {
	for _, p := range s.Processes {
		if s.Suits(&p, v) {
			names = append(names, p.Name)
		}
	}
	return names
}

func list[T any](of []T, called func(T) string) (n []string) {
	for _, v := range of {
		n = append(n, called(v))
	}
	return n
}

// PrinterNames are the names of the printers in the file's order.
func (s *Shop) PrinterNames() []string {
	return list(s.Printers, func(v Printer) string { return v.Name })
}

// MediaNames are the names of the media in the file's order.
func (s *Shop) MediaNames() []string { return list(s.Media, func(v Medium) string { return v.Name }) }

// ItemNames are the names of the items in the file's order.
func (s *Shop) ItemNames() []string { return list(s.Items, func(v Item) string { return v.Name }) }

// ProcessNames are the names of the processes in the file's order.
func (s *Shop) ProcessNames() []string {
	return list(s.Processes, func(v Process) string { return v.Name })
}

// find finds by name, as people write names.
func find[T any](kind, want string, of []T, called func(T) string) (*T, error) {
	i, err := name.Find(kind, want, "the shop file", list(of, called))
	if err != nil {
		return nil, err
	}
	return &of[i], nil
}

// Printer finds a printer by name, as [name.Find] does.
func (s *Shop) Printer(name string) (*Printer, error) {
	return find("printer", name, s.Printers, func(v Printer) string { return v.Name })
}

// Medium finds a medium by name, as [name.Find] does.
func (s *Shop) Medium(name string) (*Medium, error) {
	return find("media", name, s.Media, func(v Medium) string { return v.Name })
}

// Item finds an item by name, as [name.Find] does; none is [NoItem], unless the shop file
// has an item that is called so.
func (s *Shop) Item(name string) (*Item, error) {
	called := func(v Item) bool { return strings.EqualFold(v.Name, None) }
	if strings.EqualFold(strings.TrimSpace(name), None) && !slices.ContainsFunc(s.Items, called) {
		return NoItem(), nil
	}
	return find("item", name, s.Items, func(v Item) string { return v.Name })
}

// Process finds a process by name, as [name.Find] does.
func (s *Shop) Process(name string) (*Process, error) {
	return find("process", name, s.Processes, func(v Process) string { return v.Name })
}

// Cover finds a cover sheet by name, as [name.Find] does.
func (s *Shop) Cover(name string) (*Cover, error) {
	return find("cover", name, s.Covers, func(v Cover) string { return v.Name })
}

// Supply finds a supply by name, as [name.Find] does.
func (s *Shop) Supply(name string) (*Supply, error) {
	return find("supply", name, s.Supplies, func(v Supply) string { return v.Name })
}

// cartridge is the toner as package price reckons with it.
func (t Toner) cartridge() price.Cartridge {
	return price.Cartridge{Price: t.Price, YieldPages: t.YieldPages, PageAreaMM2: t.Page.AreaMM2(),
		CoveragePercent: t.CoveragePercent, Correction: t.Correction}
}

// Cartridges are the printer's toners by plate.
func (p *Printer) Cartridges() (c [plate.Count]price.Cartridge) {
	for k, n := range plate.Names {
		if t, ok := p.Toner[n]; ok {
			c[k] = t.cartridge()
		}
	}
	return c
}

// TACPercent is the limit on C+M+Y+K for a medium on this printer: the lower of
// the two.
func (p *Printer) TACPercent(m *Medium) float64 {
	if m.TAC > 0 {
		return min(m.TAC, p.TAC)
	}
	return p.TAC
}
