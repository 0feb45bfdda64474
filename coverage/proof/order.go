// Package proof answers everything about one order in one value, and renders
// it as text, JSON and an HTML page.
//
// It joins what the other packages know: artwork becomes plates, plates become
// coverage, findings and cost. It decides nothing about colour or money itself.
package proof

import (
	"fmt"
	"math"
	"runtime"

	"laydown/colour"
	"laydown/colour/icc"
	"laydown/colour/press"
	"laydown/colour/swatch"
	"laydown/coverage/artwork"
	"laydown/coverage/flaw"
	"laydown/coverage/palette"
	"laydown/coverage/plate"
	"laydown/coverage/price"
	"laydown/coverage/sheet"
	"laydown/coverage/shop"
	"laydown/coverage/unit"
)

// Order is what a person asks about.
type Order struct {
	ArtPath       string
	IgnoreProfile bool // take the art as if it had no embedded profile

	Shop       *shop.Shop
	Process    string      // "" for the shop's default
	Item       string      // "" for the shop's default
	ItemColour *colour.Lab // in place of the item's own
	Wish       artwork.Wish
	Sheet      *unit.Sheet // nil for the media's own

	Press      *press.Press
	Intent     icc.Intent
	NoBPC      bool
	TACPercent float64 // 0 for the shop's
	Black      string  // "" for the printer's
	PureBlack  bool    // black and neutral greys on the black plate alone, whatever the process says

	Swatches []swatch.Swatch
}

// job is an order with its names looked up.
type job struct {
	Order
	process *shop.Process
	printer *shop.Printer
	medium  *shop.Medium
	item    *shop.Item
	colour  colour.Lab
	tac     float64 // percent
	options press.Options
}

func (o Order) resolve() (*job, error) {
	j := &job{Order: o}
	var err error
	name := o.Process
	if name == "" {
		name = o.Shop.DefaultProcess
	}
	if j.process, err = o.Shop.Process(name); err != nil {
		return nil, fmt.Errorf("--process: %w", err)
	}
	if j.printer, err = o.Shop.Printer(j.process.Printer); err != nil {
		return nil, err
	}
	if j.medium, err = o.Shop.Medium(j.process.Media); err != nil {
		return nil, err
	}
	name = o.Item
	if name == "" {
		name = o.Shop.DefaultItem
	}
	if j.item, err = o.Shop.Item(name); err != nil {
		return nil, fmt.Errorf("--item: %w", err)
	}
	j.colour = j.item.Colour.Lab
	if o.ItemColour != nil {
		j.colour = *o.ItemColour
	}
	j.tac = j.printer.TACPercent(j.medium)
	if o.TACPercent != 0 {
		j.tac = o.TACPercent
	}
	if !(j.tac > 0 && j.tac <= 400) {
		return nil, fmt.Errorf("--tac: a limit of %g %% makes no sense: it is above 0 and at most 400", j.tac)
	}
	black := j.printer.Black
	if o.Black != "" {
		black = o.Black
	}
	// A profile separates by its own table unless the person asks otherwise.
	j.options = press.Options{Intent: o.Intent, BPC: !o.NoBPC, TAC: j.tac / 100,
		Own: o.TACPercent != 0 || o.Black != "", PureBlack: j.process.PureBlack || o.PureBlack}
	if j.options.Black, err = press.ParseBlack(black); err != nil {
		return nil, fmt.Errorf("--black: %w", err)
	}
	return j, nil
}

// Part is a part of a proof that takes work of its own.
type Part uint

// The parts that [Make] can be asked for beside coverage and cost.
const (
	Findings Part = 1 << iota
	Matches
	Everything = Findings | Matches
)

// Make works out the proof of an order. Parts that were not asked for stay
// empty. Every error says what to do.
func Make(o Order, parts Part) (*Proof, error) {
	j, err := o.resolve()
	if err != nil {
		return nil, err
	}
	file, err := artwork.Open(o.ArtPath, artwork.Options{IgnoreProfile: o.IgnoreProfile})
	if err != nil {
		return nil, err
	}
	size, err := file.PrintSize(o.Wish)
	if err != nil {
		return nil, err
	}
	s := j.medium.Sheet
	if o.Sheet != nil {
		s = *o.Sheet
	}
	layout, err := sheet.Fit(size.WidthMM, size.HeightMM, s, o.Shop.Layout.Margin.MM(), o.Shop.Layout.Gap.MM())
	if err != nil {
		return nil, fmt.Errorf("%s: %w", file.File, err)
	}
	source, sourceName := sourceOf(file.Info)
	sep, err := o.Press.Separate(source, j.options)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", file.File, err)
	}
	art, plates, err := decode(file, sep)
	if err != nil {
		return nil, err
	}
	pixelMM := size.WidthMM / float64(art.Width)
	if err := plates.Fill(art, sep, plate.WhiteOptions{Rule: j.process.White, DensityPercent: j.process.WhiteDensity,
		ChokeMM: j.process.Choke.MM(), PixelMM: pixelMM, ThresholdPercent: j.process.WhiteThreshold}); err != nil {
		return nil, fmt.Errorf("%s: %w", file.File, err)
	}
	p := &Proof{Findings: []flaw.Finding{}, Swatches: []Swatch{}, job: j, art: art, plates: plates, layout: layout, pixelMM: pixelMM}
	p.measure(size, sourceName)
	if err := p.cost(size); err != nil {
		return nil, err
	}
	if parts&Findings != 0 {
		p.Findings, err = flaw.Find(flaw.Subject{Art: art, Plates: plates, PixelMM: pixelMM, White: j.process.White, HardWhite: j.process.WhiteThreshold > 0,
			Limits: flaw.Limits{SmallestLineMM: j.medium.SmallestLine.MM(), FadeWidthMM: j.medium.FadeWidth.MM(),
				GoodPPI: j.medium.GoodPPI, LeastPPI: j.medium.LeastPPI, TACPercent: j.tac}})
		if err != nil {
			return nil, err
		}
	}
	if parts&Matches != 0 && len(o.Swatches) > 0 {
		if err := p.match(source); err != nil {
			return nil, err
		}
	}
	return p, nil
}

// decode decodes the art, which keeps one core busy for a while, and gets the
// table and empty plates ready beside it.
func decode(file *artwork.File, sep *press.Separator) (*artwork.Art, *plate.Plates, error) {
	w, h := file.Width, file.Height
	// Pixels of 16 bits and the file that holds them are large: there the plates
	// wait until the file's bytes can be had back.
	wide := file.Depth == 16
	ready := make(chan *plate.Plates, 1)
	go func() {
		sep.Table()
		var p *plate.Plates
		if !wide {
			p = plate.New(w, h)
		}
		ready <- p
	}()
	art, err := file.Decode()
	plates := <-ready
	if err != nil {
		return nil, nil, err
	}
	if wide {
		runtime.GC()
		plates = plate.New(w, h)
	}
	return art, plates, nil
}

// sourceOf is the profile that gives the art's numbers their meaning, nil for
// CMYK that is taken to be the press's own, and its name.
func sourceOf(a artwork.Info) (*icc.Profile, string) {
	switch {
	case a.Profile != nil:
		name := a.Profile.Description
		if name == "" {
			name = "unnamed " + a.Profile.Space.String() + " profile"
		}
		return a.Profile, name
	case a.Space == icc.CMYK:
		return nil, "none (taken as the press's own CMYK)"
	}
	name := "none (taken as sRGB)"
	if a.StatesSRGB {
		name = "sRGB (stated by the file)"
	}
	if a.Space == icc.Gray {
		return icc.GrayGamma(), name
	}
	return icc.SRGB(), name
}

func (p *Proof) measure(size artwork.Size, sourceName string) {
	a := p.art
	p.Artwork = Artwork{a.File, a.Width, a.Height, sourceName, a.HasAlpha}
	p.Print = Print{to(size.WidthMM, 2), to(size.HeightMM, 2), to(size.DPI(a.Info), 1)}
	p.Sheet = Sheet{p.layout.Sheet.String(), to(p.layout.Sheet.WidthMM, 2), to(p.layout.Sheet.HeightMM, 2), p.layout.Copies()}
	share := p.layout.PrintedShare()
	for k := range plate.Count {
		mean := p.plates.MeanPercent(k)
		p.Plates.at(k).PrintPercent, p.Plates.at(k).SheetPercent = to(mean, 4), to(mean*share, 4)
	}
	t := p.plates.TAC(p.job.tac)
	p.TAC = TAC{to(t.MeanPercent, 4), to(t.P99Percent, 4), to(t.MaxPercent, 4), to(t.LimitPercent, 4), to(t.OverLimitAreaPercent, 4)}
	pr := p.job.Press
	p.Press = Press{Name: pr.Name, StandIn: pr.StandIn, Intent: p.job.Intent.String(), BPC: p.job.options.BPC && p.job.Intent != icc.Absolute}
	p.Process = Process{p.job.process.Name, p.job.medium.Name, string(p.job.process.White), p.job.process.Mirrored}
	p.Item = Item{p.job.item.Name, p.job.colour.Hex()}
	p.Cautions = cautions(p.job.process)
}

func (p *Proof) cost(size artwork.Size) error {
	var laid [plate.Count]price.Laid
	for k := range laid {
		laid[k] = price.Laid{Sum: p.plates.Sum(k), Pixels: uint64(p.art.Width) * uint64(p.art.Height), AreaMM2: size.WidthMM * size.HeightMM}
	}
	carts := p.job.printer.Cartridges()
	one, err := price.TonerCost(carts, laid, 1)
	if err != nil {
		return err
	}
	all, err := price.TonerCost(carts, laid, p.layout.Copies())
	if err != nil {
		return err
	}
	p.Toner = Toner{p.job.Shop.Currency, tonerLines(one), tonerLines(all)}
	return nil
}

func tonerLines(t price.Toner) TonerLines {
	f := func(k int) string { return t.Plate[k].StringFixed(price.Places) }
	return TonerLines{f(plate.Cyan), f(plate.Magenta), f(plate.Yellow), f(plate.Black), f(plate.White), t.Total.StringFixed(price.Places)}
}

// match pairs each brand colour with the nearest that the press prints, and
// counts how much of the print it takes.
func (p *Proof) match(source *icc.Profile) error {
	found, err := MatchSwatches(p.job.Order)
	if err != nil {
		return err
	}
	var wanted []colour.Lab
	for _, s := range found {
		wanted = append(wanted, s.target)
	}
	lab, err := p.deviceLab(source)
	if err != nil {
		return err
	}
	pixels := palette.Shares(palette.Count(p.art), lab, wanted, p.job.Shop.Match.CountsAs)
	total := float64(p.art.Width) * float64(p.art.Height)
	for i, n := range pixels {
		area := to(float64(n)/total*100, 4)
		found[i].AreaPercent = &area
	}
	p.Swatches = found
	return nil
}

// deviceLab tells the Lab of the art's device values as they were designed:
// media-relative, so that the art's white is L 100.
func (p *Proof) deviceLab(source *icc.Profile) (func([4]uint8) colour.Lab, error) {
	if source == nil {
		m, err := p.job.Press.Model()
		if err != nil {
			return nil, err
		}
		return func(d [4]uint8) colour.Lab {
			return m.Lab(fractions(d))
		}, nil
	}
	link, err := source.ToPCS(icc.Relative)
	if err != nil {
		return nil, err
	}
	return func(d [4]uint8) colour.Lab {
		x := fractions(d)
		return link.XYZ(x[:link.Channels]).Lab(colour.D50)
	}, nil
}

// MatchSwatches finds the nearest printable colour for each of the order's
// swatches, without artwork. ArtPath is not looked at.
func MatchSwatches(o Order) ([]Swatch, error) {
	j, err := o.resolve()
	if err != nil {
		return nil, err
	}
	wanted, err := wantedLabs(o)
	if err != nil {
		return nil, err
	}
	near, err := o.Press.Nearest(wanted, j.options)
	if err != nil {
		return nil, err
	}
	limits := o.Shop.Match.Limits()
	out := make([]Swatch, len(near))
	for i, m := range near {
		grade := limits.Grade(m.DeltaE00)
		out[i] = Swatch{Name: o.Swatches[i].Name, TargetLab: lab3(m.Target), PrintedLab: lab3(m.Printed),
			DeltaE00: to(m.DeltaE00, 2), Grade: string(grade), InGamut: m.DeltaE00 <= printable, target: m.Target, printed: m.Printed}
		for k, v := range m.CMYK {
			*out[i].Plates.at(k) = to(v*100, 1)
		}
		out[i].Sentence = sentence(out[i], grade)
	}
	return out, nil
}

func fractions(d [4]uint8) (x [4]float64) {
	for k, v := range d {
		x[k] = float64(v) / 255
	}
	return x
}

// printable is the ΔE00 up to which a colour counts as within the gamut: what
// the search for tone values itself may miss by.
const printable = 0.5

// wantedLabs are the swatches' colours; those that only say CMYK get the Lab
// that the order's press prints for it.
func wantedLabs(o Order) (wanted []colour.Lab, err error) {
	for _, s := range o.Swatches {
		lab := s.Lab
		if s.CMYK != nil {
			m, err := o.Press.Model()
			if err != nil {
				return nil, err
			}
			lab = m.Lab(*s.CMYK)
		}
		wanted = append(wanted, lab)
	}
	return wanted, nil
}

// sentence says a match in a customer's words.
func sentence(s Swatch, g colour.Grade) string {
	switch g {
	case colour.Close:
		return fmt.Sprintf("%s will print as you know it.", s.Name)
	case colour.Near:
		return fmt.Sprintf("%s will print very near; side by side a trained eye sees a difference.", s.Name)
	case colour.Visible:
		return fmt.Sprintf("%s will print %s than your colour; side by side the difference shows.", s.Name, drift(s.target, s.printed))
	}
	return fmt.Sprintf("%s cannot be matched here: it will print %s than your colour. Please approve a sample first.", s.Name, drift(s.target, s.printed))
}

// drift says in a word or two how a print differs from its target.
func drift(target, printed colour.Lab) string {
	dl, dc := printed.L-target.L, printed.Chroma()-target.Chroma()
	light, vivid := "lighter", "more vivid"
	if dl < 0 {
		light = "darker"
	}
	if dc < 0 {
		vivid = "duller"
	}
	switch {
	case math.Abs(dl) > 2*math.Abs(dc):
		return light
	case math.Abs(dc) > 2*math.Abs(dl):
		return vivid
	}
	return vivid + " and " + light
}

// to rounds to a number of decimal places.
func to(v float64, places int) float64 {
	p := math.Pow10(places)
	return math.Round(v*p) / p
}

func lab3(c colour.Lab) [3]float64 { return [3]float64{to(c.L, 2), to(c.A, 2), to(c.B, 2)} }

// cautions are the usual ones, common practice with no source; the media
// maker's sheet and local rules come first.
func cautions(p *shop.Process) []string {
	var c []string
	if p.HeatPressed {
		c = append(c, "A heat press works near 150 °C (300 °F): keep hands off the platen and wear gloves for hot sheets and hard goods.",
			"Hot film and toner give off fumes: ventilate the room.",
			"Glass and ceramics may crack under heat and pressure: wear eye protection.")
	}
	if p.OnSkin {
		c = append(c, "On skin: sell only what the media maker allows for skin, keep off eyes, lips and broken skin, and follow local cosmetics rules.")
	}
	if p.OnTableware {
		c = append(c, "On cups and plates: keep decals off the lip rim and off any surface that food or drink touches; hand wash unless tested.")
	}
	return append(c, "Time, temperature and pressure are those of the media maker's sheet; local rules and licensed practice come first.")
}
