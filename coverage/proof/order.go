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
	"laydown/coverage/background"
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
	// DropBackground works everything out as if the flat ground that the art stands
	// on were gone, and DropHoles takes that colour out of holes in the art too.
	DropBackground, DropHoles bool
	PureBlack                 bool // black and neutral greys on the black plate alone, whatever the process says

	Swatches   []swatch.Swatch
	Quantities []int // to quote; none for the shop's
	EveryRule  bool  // compare every white rule for processes that print white
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

func (j *job) processFacts() Process {
	return Process{j.process.Name, j.medium.Name, string(j.process.White), j.process.Mirrored}
}

func (j *job) itemFacts() Item { return Item{j.item.Name, j.colour.Hex()} }

// Part is a part of a proof that takes work of its own.
type Part uint

// The parts that [Make] can be asked for beside coverage and cost.
const (
	Findings Part = 1 << iota
	Matches
	Comparison
	Quotation
	Everything = Findings | Matches | Comparison | Quotation
)

// picture is an opened art file, decoded once for all who need it.
type picture struct {
	file    *artwork.File
	art     *artwork.Art // nil until decoded
	dropped *float64     // percent of the picture that was background; nil if nobody asked
}

func (o Order) open() (*picture, error) {
	file, err := artwork.Open(o.ArtPath, artwork.Options{IgnoreProfile: o.IgnoreProfile})
	return &picture{file: file}, err
}

// Make works out the proof of an order. Parts that were not asked for stay
// empty. Every error says what to do.
func Make(o Order, parts Part) (*Proof, error) {
	j, err := o.resolve()
	if err != nil {
		return nil, err
	}
	pic, err := o.open()
	if err != nil {
		return nil, err
	}
	p, err := j.make(pic)
	if err != nil {
		return nil, err
	}
	if parts&Findings != 0 {
		if err := p.find(); err != nil {
			return nil, err
		}
	}
	if parts&Matches != 0 {
		if err := p.match(); err != nil {
			return nil, err
		}
	}
	if parts&Quotation != 0 {
		if p.Quoted, err = p.Quote(o.Quantities); err != nil {
			return nil, err
		}
	}
	if parts&Comparison != 0 {
		if p.Underbase, err = p.compared(pic); err != nil {
			return nil, err
		}
	}
	return p, nil
}

// make makes plates, coverage and cost.
func (j *job) make(pic *picture) (*Proof, error) {
	file := pic.file
	size, err := file.PrintSize(j.Wish)
	if err != nil {
		return nil, err
	}
	s := j.medium.Sheet
	if j.Sheet != nil {
		s = *j.Sheet
	}
	lay := j.Shop.Layout
	layout, err := sheet.Fit(size.WidthMM+2*lay.Bleed.MM(), size.HeightMM+2*lay.Bleed.MM(), s, lay.EdgeMM(), lay.Gap.MM())
	if err != nil {
		return nil, fmt.Errorf("%s: %w", file.File, err)
	}
	source, sourceName := sourceOf(file.Info)
	sep, err := j.Press.Separate(source, j.options)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", file.File, err)
	}
	plates, err := pic.decode(sep)
	if err != nil {
		return nil, err
	}
	if j.DropBackground && pic.dropped == nil {
		if err := j.dropBackground(pic); err != nil {
			return nil, err
		}
	}
	p := &Proof{Findings: []flaw.Finding{}, Swatches: []Swatch{}, Main: []MainColour{}, job: j, art: pic.art, source: source, plates: plates, layout: layout, size: size,
		pixelMM: size.WidthMM / float64(pic.art.Width)}
	white, err := p.whiteOptions()
	if err != nil {
		return nil, err
	}
	if err := plates.Fill(p.art, sep, white); err != nil {
		return nil, fmt.Errorf("%s: %w", file.File, err)
	}
	p.measure(sourceName)
	p.Artwork.DroppedPercent = pic.dropped
	return p, p.cost()
}

// dropBackground takes the flat ground out of the picture, if it has one.
func (j *job) dropBackground(pic *picture) error {
	p := &Proof{job: j, art: pic.art}
	p.source, _ = sourceOf(pic.file.Info)
	design, err := p.design()
	if err != nil {
		return err
	}
	share := 0.0
	if g := background.Find(pic.art, design); g != nil {
		gone := g.Pixels
		if j.DropHoles {
			gone += g.HolePixels
		}
		share = to(float64(gone)/float64(len(g.Where))*100, 4)
		pic.art = g.Drop(pic.art, j.DropHoles)
	}
	pic.dropped = &share
	return nil
}

// whiteOptions are the process's, for this art on this item.
func (p *Proof) whiteOptions() (plate.WhiteOptions, error) {
	j := p.job
	o := plate.WhiteOptions{Rule: j.process.White, DensityPercent: j.process.WhiteDensity, ChokeMM: j.process.Choke.MM(), PixelMM: p.pixelMM,
		ThresholdPercent: j.process.WhiteThreshold, SmallestMM: j.process.SmallestWhite.MM()}
	if o.Rule != plate.Knockout && o.Rule != plate.Tonal {
		return o, nil
	}
	design, err := p.design()
	if err != nil {
		return o, err
	}
	need, err := j.whiteNeed()
	o.Need = func(d [4]float64) float64 { return need(design(d)) }
	return o, err
}

// whiteNeed is how much white a colour needs by the process's rule, absolute under
// D50, where that depends on the colour.
func (j *job) whiteNeed() (func(colour.Lab) float64, error) {
	if j.process.White == plate.Knockout {
		return plate.KnockoutNeed(j.colour, j.process.KnockoutWithin), nil
	}
	stack, paper, err := j.stack()
	if err != nil {
		return nil, err
	}
	return plate.TonalNeed(j.colour, stack.Look(paper, 1)), nil
}

func (p *Proof) find() (err error) {
	j, m := p.job, p.job.medium
	model, err := j.Press.Model()
	if err != nil {
		return err
	}
	design, err := p.design()
	if err != nil {
		return err
	}
	relative, err := p.relative()
	if err != nil {
		return err
	}
	p.Findings, err = flaw.Find(flaw.Subject{Art: p.art, Plates: p.plates, PixelMM: p.pixelMM,
		White: j.process.White, WhitePercent: j.process.WhiteDensity, ChokeMM: j.process.Choke.MM(), HardWhite: j.process.WhiteThreshold > 0, Foil: j.process.Foil,
		Material: j.item.Material, Unsuited: !j.Shop.Suits(j.process, j.item.Material),
		ColourName: func(d artwork.Device) string { return relative(d.Fractions()).Hex() },
		Design:     design, Printed: model.Lab, Colours: p.colours, TonerCost: p.tonerCost,
		Limits: flaw.Limits{SmallestLineMM: m.SmallestLine.MM(), SmallestGapMM: m.SmallestGap.MM(), SmallestDotMM: m.SmallestDot.MM(),
			SmallestTextMM: m.SmallestText.MM(), SmallestTonePercent: m.SmallestTonePerc, FadeWidthMM: m.FadeWidth.MM(), SoftEdgeMM: m.SoftEdge.MM(),
			GoodPPI: m.GoodPPI, LeastPPI: m.LeastPPI, TACPercent: j.tac, HeavyPercent: m.HeavyPercent, HeavyWidthMM: m.HeavyWidth.MM(),
			BandDeltaE: m.BandDeltaE, GamutDeltaE: j.Shop.Match.Visible, GamutNearDeltaE: j.Shop.Match.Near,
			PrintableWidthMM: j.item.Printable.WidthMM, PrintableHeightMM: j.item.Printable.HeightMM}})
	return err
}

// countColours counts the art's colours once.
func (p *Proof) countColours() []palette.Colour {
	if p.colours == nil {
		p.colours = palette.Count(p.art)
	}
	return p.colours
}

// tonerCost words what sums of tone values cost, for a finding.
func (p *Proof) tonerCost(sum [plate.Count]uint64) string {
	laid := p.laid()
	for k := range laid {
		laid[k].Sum = sum[k]
	}
	t, err := price.TonerCost(p.job.printer.Cartridges(), laid, 1)
	if err != nil {
		return "" // the print's own cost has said so already
	}
	return p.job.Shop.Currency + " " + t.Total.StringFixed(price.Places)
}

// decode decodes the art if that was not done yet, which keeps one core busy
// for a while, and gets the table and empty plates ready beside it.
func (pic *picture) decode(sep *press.Separator) (*plate.Plates, error) {
	w, h := pic.file.Width, pic.file.Height
	if pic.art != nil {
		return plate.New(w, h), nil
	}
	// Pixels of 16 bits and the file that holds them are large: there the plates
	// wait until the file's bytes can be had back.
	wide := pic.file.Depth == 16
	ready := make(chan *plate.Plates, 1)
	go func() {
		sep.Table()
		var p *plate.Plates
		if !wide {
			p = plate.New(w, h)
		}
		ready <- p
	}()
	art, err := pic.file.Decode()
	plates := <-ready
	if err != nil {
		return nil, err
	}
	pic.art = art
	if wide {
		runtime.GC()
		plates = plate.New(w, h)
	}
	return plates, nil
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

func (p *Proof) measure(sourceName string) {
	a, size := p.art, p.size
	p.Artwork = Artwork{File: a.File, WidthPX: a.Width, HeightPX: a.Height, SourceProfile: sourceName, HasAlpha: a.HasAlpha}
	p.Print = Print{to(size.WidthMM, 2), to(size.HeightMM, 2), to(size.DPI(a.Info), 1)}
	p.Sheet = Sheet{p.layout.Sheet.String(), to(p.layout.Sheet.WidthMM, 2), to(p.layout.Sheet.HeightMM, 2), p.layout.Copies()}
	share := float64(p.layout.Copies()) * size.WidthMM * size.HeightMM / p.layout.Sheet.AreaMM2() // bleed is bare
	for k := range plate.Count {
		mean := p.plates.MeanPercent(k)
		p.Plates.at(k).PrintPercent, p.Plates.at(k).SheetPercent = to(mean, 4), to(mean*share, 4)
	}
	t := p.plates.TAC(p.job.tac)
	p.TAC = TAC{to(t.MeanPercent, 4), to(t.P99Percent, 4), to(t.MaxPercent, 4), to(t.LimitPercent, 4), to(t.OverLimitAreaPercent, 4)}
	pr := p.job.Press
	p.Press = Press{Name: pr.Name, StandIn: pr.StandIn, Intent: p.job.Intent.String(), BPC: p.job.options.BPC && p.job.Intent != icc.Absolute}
	p.Process, p.Item = p.job.processFacts(), p.job.itemFacts()
	p.Cautions = cautions(p.job.process)
}

func (p *Proof) cost() error {
	laid := p.laid()
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
