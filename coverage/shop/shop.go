// Package shop is the shop file: the printer's toners and what they cost, the
// media, the items that are decorated, the processes that join them, and the
// tolerances the shop works to.
//
// The file is TOML. Lengths are text with a unit ("5 mm", "0.2 in"); money is
// written with a decimal point, quoted or not, and read digit by digit, never
// through a binary fraction. Unknown keys and impossible figures are refused on loading, each
// with its line or name.
package shop

import (
	"bytes"
	_ "embed"
	"errors"
	"fmt"
	"slices"
	"strings"

	"github.com/pelletier/go-toml/v2"
	"github.com/shopspring/decimal"

	"laydown/colour"
	"laydown/colour/press"
	"laydown/coverage/plate"
	"laydown/coverage/price"
	"laydown/coverage/unit"
)

// Shop is a loaded shop file. Its figures have been checked and its defaults
// filled in.
type Shop struct {
	Name           string    `toml:"name"`
	Currency       string    `toml:"currency"`
	DefaultProcess string    `toml:"default_process"`
	DefaultItem    string    `toml:"default_item"`
	Layout         Layout    `toml:"layout"`
	Match          Match     `toml:"match"`
	Printers       []Printer `toml:"printer"`
	Media          []Medium  `toml:"media"`
	Items          []Item    `toml:"item"`
	Processes      []Process `toml:"process"`
}

// Layout is how prints are set on a sheet.
type Layout struct {
	Margin unit.Length `toml:"margin"`
	Gap    unit.Length `toml:"gap"`
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
	Black string  `toml:"black"`       // black generation for presses without a separation of their own
	// Contrast ratio of solid white toner in the manner of ISO 6504-3: its
	// lightness Y over black divided by that over white.
	WhiteContrast float64          `toml:"white_contrast_percent"`
	Toner         map[string]Toner `toml:"toner"` // by plate name
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
	PriceEach        decimal.Decimal `toml:"price_each"` // of one sheet
	OwnWhite         bool            `toml:"own_white"`  // carries a white of its own
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
}

// Item is what is decorated.
type Item struct {
	Name     string `toml:"name"`
	Colour   Colour `toml:"colour"`
	Material string `toml:"material"`
	// Printable is the area that takes a print; none is no limit.
	Printable unit.Sheet `toml:"printable"`
}

// Process joins a printer, a medium and a white rule.
type Process struct {
	Name           string      `toml:"name"`
	Printer        string      `toml:"printer"`
	Media          string      `toml:"media"`
	Materials      []string    `toml:"materials"` // of the items it suits; none named means all
	White          plate.Rule  `toml:"white"`
	WhiteDensity   float64     `toml:"white_density_percent"`
	Choke          unit.Length `toml:"choke"`
	WhiteThreshold float64     `toml:"white_threshold_percent"` // 0 screens half-clear art
	SmallestWhite  unit.Length `toml:"smallest_white"`          // islands of white under a dot of this size are left out
	KnockoutWithin float64     `toml:"knockout_within"`         // ΔE00 from the item's colour, for the rule knockout
	Mirrored       bool        `toml:"mirrored"`
	PureBlack      bool        `toml:"pure_black"` // black and neutral greys on the black plate alone
	Foil           bool        `toml:"foil"`       // foil goes over the black toner
	HeatPressed    bool        `toml:"heat_pressed"`
	OnSkin         bool        `toml:"on_skin"`
	OnTableware    bool        `toml:"on_tableware"`
}

// Colour is a colour written as [colour.Parse] reads it.
type Colour struct {
	Text string
	Lab  colour.Lab
}

// UnmarshalText reads a colour.
func (c *Colour) UnmarshalText(b []byte) error {
	lab, err := colour.Parse(string(b))
	*c = Colour{string(b), lab}
	return err
}

//go:embed demo.toml
var demo []byte

// Demo is the built-in shop file, commented: an invented shop to start from.
func Demo() []byte { return bytes.Clone(demo) }

// Load reads a shop file; name is for messages. Every mistake found is in the
// error, one a line.
func Load(data []byte, name string) (*Shop, error) {
	s := &Shop{}
	d := toml.NewDecoder(bytes.NewReader(data))
	d.DisallowUnknownFields()
	if err := d.Decode(s); err != nil {
		return nil, decodeError(err, name)
	}
	s.fill()
	if faults := s.check(); len(faults) > 0 {
		for i, f := range faults {
			faults[i] = name + ": " + f
		}
		return nil, errors.New(strings.Join(faults, "\n"))
	}
	return s, nil
}

// decodeError says the line and the key where a library would draw a picture.
func decodeError(err error, name string) error {
	var strict *toml.StrictMissingError
	if errors.As(err, &strict) {
		var lines []string
		for _, e := range strict.Errors {
			row, _ := e.Position()
			lines = append(lines, fmt.Sprintf("%s:%d: no key is called %q here: see the comments of laydown init", name, row, strings.Join(e.Key(), ".")))
		}
		return errors.New(strings.Join(lines, "\n"))
	}
	var one *toml.DecodeError
	if errors.As(err, &one) {
		row, _ := one.Position()
		where := fmt.Sprintf("%s:%d", name, row)
		if k := one.Key(); len(k) > 0 {
			where += ": " + strings.Join(k, ".")
		}
		return fmt.Errorf("%s: %s", where, strings.TrimPrefix(one.Error(), "toml: "))
	}
	return fmt.Errorf("%s: %w", name, err)
}

func orElse[T comparable](v *T, otherwise T) {
	var zero T
	if *v == zero {
		*v = otherwise
	}
}

// The defaults, common practice of transfer printing with no source.
func (s *Shop) fill() {
	orElse(&s.Match.Close, 2)
	orElse(&s.Match.Near, 3.5)
	orElse(&s.Match.Visible, 6)
	orElse(&s.Match.CountsAs, 5)
	for i := range s.Printers {
		p := &s.Printers[i]
		orElse(&p.TAC, 240)
		orElse(&p.Black, press.BlackMedium.String())
		orElse(&p.WhiteContrast, 85)
		for k, t := range p.Toner {
			orElse(&t.Page, unit.Sheet{Name: "A4", WidthMM: 210, HeightMM: 297})
			if t.CoveragePercent.IsZero() {
				t.CoveragePercent = decimal.NewFromInt(5)
			}
			if t.Correction.IsZero() {
				t.Correction = decimal.NewFromInt(1)
			}
			p.Toner[k] = t
		}
	}
	for i := range s.Media {
		m := &s.Media[i]
		orElse(&m.SmallestLine, 0.35)
		orElse(&m.GoodPPI, 300)
		orElse(&m.LeastPPI, 150)
		orElse(&m.FadeWidth, 0.25)
		orElse(&m.SmallestTonePerc, 5)
		orElse(&m.SmallestGap, 0.7)
		orElse(&m.SmallestDot, 0.3)
		orElse(&m.SmallestText, 1.2)
		orElse(&m.SoftEdge, 0.15)
		orElse(&m.HeavyPercent, 280)
		orElse(&m.HeavyWidth, 30)
		orElse(&m.BandDeltaE, 1)
	}
	for i := range s.Processes {
		p := &s.Processes[i]
		orElse(&p.White, plate.NoWhite)
		orElse(&p.WhiteDensity, 100)
		orElse(&p.KnockoutWithin, 5)
	}
	if len(s.Processes) > 0 {
		orElse(&s.DefaultProcess, s.Processes[0].Name)
	}
	if len(s.Items) > 0 {
		orElse(&s.DefaultItem, s.Items[0].Name)
	}
}

// check returns every fault that loading alone does not find.
func (s *Shop) check() (faults []string) {
	say := func(format string, v ...any) { faults = append(faults, fmt.Sprintf(format, v...)) }
	if s.Currency == "" {
		say("currency is missing: write for example currency = \"EUR\"")
	}
	if err := s.Match.Limits().Check(); err != nil {
		say("match: %v", err)
	}
	if s.Layout.Margin < 0 || s.Layout.Gap < 0 {
		say("layout: margin and gap must not be negative")
	}
	names := func(kind string, list []string) {
		seen := map[string]bool{}
		for _, n := range list {
			if n == "" {
				say("a %s has no name", kind)
			} else if seen[n] {
				say("two %ss are called %q", kind, n)
			}
			seen[n] = true
		}
		if len(list) == 0 {
			say("there is no [[%s]]: at least one is needed", kind)
		}
	}
	names("printer", s.PrinterNames())
	names("media", s.MediaNames())
	names("item", s.ItemNames())
	names("process", s.ProcessNames())
	for _, p := range s.Printers {
		if p.TAC <= 0 || p.TAC > 400 {
			say("printer %q: tac_percent must be above 0 and at most 400", p.Name)
		}
		if _, err := press.ParseBlack(p.Black); err != nil {
			say("printer %q: %v", p.Name, err)
		}
		if p.WhiteContrast <= 0 || p.WhiteContrast > 100 {
			say("printer %q: white_contrast_percent must be above 0 and at most 100", p.Name)
		}
		for k := range p.Toner {
			if !slices.Contains(plate.Names[:], k) {
				say("printer %q: no toner is called %q: they are %s", p.Name, k, strings.Join(plate.Names[:], ", "))
			}
		}
		for _, n := range plate.Names[:plate.White] {
			t, ok := p.Toner[n]
			if !ok {
				say("printer %q has no toner.%s", p.Name, n)
				continue
			}
			if err := t.Cartridge().Check(); err != nil {
				say("printer %q: toner.%s: %v", p.Name, n, err)
			}
		}
		if t, ok := p.Toner[plate.Names[plate.White]]; ok {
			if err := t.Cartridge().Check(); err != nil {
				say("printer %q: toner.white: %v", p.Name, err)
			}
		}
	}
	for _, m := range s.Media {
		if !(m.Sheet.AreaMM2() > 0) {
			say("media %q: sheet is missing: write for example sheet = \"A4\"", m.Name)
		}
		if m.PriceEach.IsNegative() {
			say("media %q: price_each must not be negative", m.Name)
		}
		if m.TAC < 0 || m.TAC > 400 {
			say("media %q: tac_percent must be from 0 (the printer's) to 400", m.Name)
		}
		if m.SmallestLine < 0 || m.FadeWidth < 0 || m.SmallestTonePerc < 0 || m.SmallestTonePerc > 100 {
			say("media %q: smallest_line, fade_width and smallest_tone_percent must not be negative", m.Name)
		}
		if m.SmallestGap < 0 || m.SmallestDot < 0 || m.SmallestText < 0 || m.SoftEdge < 0 || m.HeavyWidth < 0 {
			say("media %q: smallest_gap, smallest_dot, smallest_text, soft_edge and heavy_width must not be negative", m.Name)
		}
		if m.HeavyPercent < 0 || m.HeavyPercent > 500 || m.BandDeltaE < 0 {
			say("media %q: heavy_percent must be from 0 to 500, and band_delta_e not negative", m.Name)
		}
		if !(0 < m.LeastPPI && m.LeastPPI <= m.GoodPPI) {
			say("media %q: least_ppi must be above 0 and not above good_ppi", m.Name)
		}
	}
	for _, p := range s.Processes {
		if _, err := plate.ParseRule(string(p.White)); err != nil {
			say("process %q: %v", p.Name, err)
		}
		if p.WhiteDensity < 0 || p.WhiteDensity > 100 {
			say("process %q: white_density_percent must be from 0 to 100", p.Name)
		}
		if p.WhiteThreshold < 0 || p.WhiteThreshold > 100 {
			say("process %q: white_threshold_percent must be from 0 (screen) to 100", p.Name)
		}
		if p.SmallestWhite < 0 || !(p.KnockoutWithin > 0 && p.KnockoutWithin <= 50) {
			say("process %q: smallest_white must not be negative, and knockout_within must be above 0 and at most 50", p.Name)
		}
		pr, err := s.Printer(p.Printer)
		if err != nil {
			say("process %q: %v", p.Name, err)
		} else if _, ok := pr.Toner[plate.Names[plate.White]]; !ok && p.White != plate.NoWhite {
			say("process %q prints white, but printer %q has no toner.white", p.Name, pr.Name)
		}
		if _, err := s.Medium(p.Media); err != nil {
			say("process %q: %v", p.Name, err)
		}
	}
	if _, err := s.Process(s.DefaultProcess); err != nil && len(s.Processes) > 0 {
		say("default_process: %v", err)
	}
	if _, err := s.Item(s.DefaultItem); err != nil && len(s.Items) > 0 {
		say("default_item: %v", err)
	}
	return faults
}

// Suits reports whether the process is for items of a material.
func (p *Process) Suits(material string) bool {
	return len(p.Materials) == 0 || slices.Contains(p.Materials, material)
}

func list[T any](of []T, name func(T) string) (n []string) {
	for _, v := range of {
		n = append(n, name(v))
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

func find[T any](kind, want string, of []T, name func(T) string) (*T, error) {
	for i := range of {
		if name(of[i]) == want {
			return &of[i], nil
		}
	}
	return nil, fmt.Errorf("no %s is called %q: the shop file has %s", kind, want, strings.Join(list(of, name), ", "))
}

// Printer finds a printer by name; the error lists the names there are.
func (s *Shop) Printer(name string) (*Printer, error) {
	return find("printer", name, s.Printers, func(v Printer) string { return v.Name })
}

// Medium finds a medium by name; the error lists the names there are.
func (s *Shop) Medium(name string) (*Medium, error) {
	return find("media", name, s.Media, func(v Medium) string { return v.Name })
}

// Item finds an item by name; the error lists the names there are.
func (s *Shop) Item(name string) (*Item, error) {
	return find("item", name, s.Items, func(v Item) string { return v.Name })
}

// Process finds a process by name; the error lists the names there are.
func (s *Shop) Process(name string) (*Process, error) {
	return find("process", name, s.Processes, func(v Process) string { return v.Name })
}

// Cartridge is the toner as package price reckons with it.
func (t Toner) Cartridge() price.Cartridge {
	return price.Cartridge{Price: t.Price, YieldPages: t.YieldPages, PageAreaMM2: t.Page.AreaMM2(),
		CoveragePercent: t.CoveragePercent, Correction: t.Correction}
}

// Cartridges are the printer's toners by plate.
func (p *Printer) Cartridges() (c [plate.Count]price.Cartridge) {
	for k, n := range plate.Names {
		if t, ok := p.Toner[n]; ok {
			c[k] = t.Cartridge()
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
