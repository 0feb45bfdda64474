package proof

import (
	"laydown/colour"
	"laydown/coverage/artwork"
	"laydown/coverage/flaw"
	"laydown/coverage/order"
	"laydown/coverage/plate"
	"laydown/coverage/price"
	"laydown/coverage/shop"
)

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

// Make works out the proof of an order. Parts that were not asked for stay
// empty. Every error says what to do.
func Make(o order.Order, parts Part) (*Proof, error) {
	j, err := o.Resolve()
	if err != nil {
		return nil, err
	}
	opened, err := j.Open()
	if err != nil {
		return nil, err
	}
	pl, err := newPlan(j, opened.File.Info, opened.Colours)
	if err != nil {
		return nil, err
	}
	art, plates, err := opened.DecodeBeside(pl.sep)
	if err != nil {
		return nil, err
	}
	p, err := begin(pl, art, plates)
	if err != nil {
		return nil, err
	}
	if parts&Findings != 0 {
		if p.Findings, err = p.Laid.flaws(); err != nil {
			return nil, err
		}
	}
	if parts&Matches != 0 {
		if p.White, p.Swatches, p.Main, err = p.Laid.matches(); err != nil {
			return nil, err
		}
	}
	if parts&Quotation != 0 {
		if p.Quoted, err = p.Quote(o.Quantities); err != nil {
			return nil, err
		}
	}
	if parts&Comparison != 0 {
		// A proof says nothing of processes where none suits.
		if p.Underbase, _, err = compare(j, art, p); err != nil {
			return nil, err
		}
	}
	return p, nil
}

// begin makes plates, coverage and the cost of toner.
func begin(pl plan, art *order.Art, plates *plate.Plates) (*Proof, error) {
	l, err := pl.lay(art, plates)
	if err != nil {
		return nil, err
	}
	j := l.Job
	p := &Proof{Findings: []flaw.Finding{}, Swatches: []Swatch{}, SwatchesSkipped: l.Job.SwatchesSkipped, Main: []MainColour{}, Laid: l}
	p.Artwork = Artwork{File: l.Art.File, WidthPX: l.Art.Width, HeightPX: l.Art.Height, SourceProfile: art.Colours.SourceName, HasAlpha: l.Art.HasAlpha,
		DroppedPercent: art.DroppedPercent}
	p.Print = Print{to(l.Size.WidthMM, 2), to(l.Size.HeightMM, 2), to(l.Size.DPI(l.Art.Info), 1)}
	p.Sheet = l.Layout.Holding()
	p.Press = Press{Name: j.Press.Name, StandIn: j.Press.StandIn, Intent: j.Intent.String(), BPC: j.Compensates()}
	p.Process, p.Item = processFacts(j), itemFacts(j)
	p.Plates, p.TAC = l.coverage()
	p.Cautions = cautions(j.Process)
	p.Toner, err = l.tonerCost()
	return p, err
}

func processFacts(j *order.Job) Process {
	return Process{j.Process.Name, j.Medium.Name, string(j.Process.White), j.Process.Mirrored}
}

func itemFacts(j *order.Job) Item {
	v := Item{Name: j.Item.Name, Colour: j.Colour.Hex()}
	v.GivenColour = j.ItemColour != nil && v.Colour != j.Item.Colour.Lab.Hex()
	if j.Item.Clear {
		v.Seen = j.Item.Seen
	}
	if j.Item.Mirrors() > 0 {
		v.Finish, v.Facing = j.Item.Finish, &FacingColour{j.Facing(order.FacesLight).Hex(), j.Facing(order.FacesDark).Hex()}
	}
	if colours, shares := j.Mixed(); len(colours) > 1 {
		sum := 0.0
		for _, s := range shares {
			sum += s
		}
		for i, c := range colours {
			v.Mixed = append(v.Mixed, MixedPart{c.Hex(), to(shares[i]/sum*100, 1)})
		}
	}
	return v
}

// coverage is the mean tone value of every plate, over the print and the sheet, and
// the sum of C, M, Y and K.
func (l *Laid) coverage() (c PlateCoverage, tac plate.TAC) {
	share := float64(l.Layout.Copies()) * l.Size.WidthMM * l.Size.HeightMM / l.Layout.Sheet.AreaMM2() // bleed is bare
	for k := range plate.Count {
		mean := l.Plates.MeanPercent(k)
		*c.At(k) = Coverage{to(mean, 4), to(mean*share, 4)}
	}
	t := l.Plates.TAC(l.Job.Limit)
	return c, plate.TAC{MeanPercent: to(t.MeanPercent, 4), P99Percent: to(t.P99Percent, 4), MaxPercent: to(t.MaxPercent, 4),
		LimitPercent: to(t.LimitPercent, 4), OverLimitAreaPercent: to(t.OverLimitAreaPercent, 4)}
}

func (l *Laid) tonerCost() (t Toner, err error) {
	t.Currency = l.Job.Shop.Currency
	laid, cartridges := l.toner(), l.Job.Printer.Cartridges()
	if t.Print, err = price.TonerCost(cartridges, laid, 1); err != nil {
		return t, err
	}
	t.Sheet, err = price.TonerCost(cartridges, laid, l.Layout.Copies())
	return t, err
}

// flaws looks for what will print badly.
func (l *Laid) flaws() ([]flaw.Finding, error) {
	j, m := l.Job, l.Job.Medium
	model, err := j.Press.Model()
	if err != nil {
		return nil, err
	}
	design, err := l.Colours.Design()
	if err != nil {
		return nil, err
	}
	relative, err := l.Colours.Relative()
	if err != nil {
		return nil, err
	}
	stack, _, err := j.Stack()
	if err != nil {
		return nil, err
	}
	return flaw.Find(flaw.Subject{Art: l.Art, Plates: l.Plates, PixelMM: l.PixelMM,
		White: j.Process.White, WhitePercent: j.Process.WhiteDensity, ChokeMM: j.Process.Choke.MM(), HardWhite: j.Process.WhiteThreshold > 0, Foil: j.Process.Foil,
		Material: j.Item.Material, Unsuited: !j.Shop.Suits(j.Process, j.Item.Material),
		ColourName: func(d artwork.Device) string { return relative(d.Fractions()).Hex() },
		Design:     design, Printed: model.Lab, TonerCost: l.sumCost,
		Look: func(tones [4]float64, white float64) colour.Lab {
			if j.Medium.OwnWhite {
				white = 1
			}
			return stack.Look(model.Lab(tones), white)
		},
		Item: j.Colour, OwnWhite: j.Medium.OwnWhite,
		Limits: flaw.Limits{SmallestLineMM: m.SmallestLine.MM(), SmallestGapMM: m.SmallestGap.MM(), SmallestDotMM: m.SmallestDot.MM(),
			SmallestTextMM: m.SmallestText.MM(), SmallestTonePercent: m.SmallestTonePerc, FadeWidthMM: m.FadeWidth.MM(), SoftEdgeMM: m.SoftEdge.MM(),
			GoodPPI: m.GoodPPI, LeastPPI: m.LeastPPI, TACPercent: j.Limit, HeavyPercent: m.HeavyPercent, HeavyWidthMM: m.HeavyWidth.MM(),
			BandDeltaE: m.BandDeltaE, GamutDeltaE: j.Shop.Match.Visible, GamutNearDeltaE: j.Shop.Match.Near,
			PrintableWidthMM: j.Item.Printable.WidthMM, PrintableHeightMM: j.Item.Printable.HeightMM}})
}

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
