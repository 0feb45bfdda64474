package proof

import (
	"errors"
	"fmt"

	"laydown/colour"
	"laydown/coverage/artwork"
	"laydown/coverage/flaw"
	"laydown/coverage/name"
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
	Quotation  // looks for findings as well: a quote repeats what stops the print
	Estimate   // a quotation where the shop file has what one needs; else what it lacks
	Everything = Findings | Matches | Comparison | Estimate
)

// Make works out the proof of an order. Parts that were not asked for stay
// empty. Every error says what to do.
func Make(o order.Order, parts Part) (*Proof, error) {
	j, err := o.Resolve()
	if err != nil {
		return nil, err
	}
	if parts&Quotation != 0 && o.ProcessName != "" {
		if err := priced(j); err != nil { // before any work
			return nil, err
		}
	}
	p, art, known, err := start(j)
	if err != nil {
		return nil, err
	}
	j = p.Laid.Job
	spoilt, err := p.Laid.unlike()
	if err != nil {
		return nil, err
	}
	p.Stops = append(p.Stops, stopsOf(spoilt)...)
	if parts&(Findings|Quotation) != 0 {
		found, err := p.Laid.flaws()
		if err != nil {
			return nil, err
		}
		p.Findings = append(spoilt, found...)
		p.Stops = stopsOf(p.Findings)
	}
	if parts&Matches != 0 {
		if p.White, p.Swatches, p.Main, err = p.Laid.matches(); err != nil {
			return nil, err
		}
	}
	if parts&(Quotation|Estimate) != 0 {
		if p.Quoted, err = p.Quote(o.Quantities); err != nil && parts&Quotation == 0 {
			err = p.lack(err)
		}
		if err != nil {
			return nil, err
		}
	}
	if parts&Comparison != 0 {
		// A proof says nothing of processes where none suits.
		if p.Underbase = known; known == nil || o.EveryRule {
			if p.Underbase, _, err = compare(j, art, p); err != nil {
				return nil, err
			}
		}
	}
	return p, nil
}

// start opens a job's art, settles on a process and begins the proof. Where the processes
// were compared for that, it returns the choices as well.
func start(j *order.Job) (*Proof, *order.Art, *Choices, error) {
	opened, err := j.Open()
	if err != nil {
		return nil, nil, nil, err
	}
	if j.ProcessName == "" {
		if err := fits(j, opened.File.Info, opened.Colours); err != nil {
			return nil, nil, nil, err
		}
		art, err := opened.Decode()
		if err != nil {
			return nil, nil, nil, err
		}
		j, known, err := settle(j, art)
		if err != nil {
			return nil, nil, nil, err
		}
		p, err := beginAs(j, art)
		return p, art, known, err
	}
	pl, err := newPlan(j, opened.File.Info, opened.Colours)
	if err != nil {
		return nil, nil, nil, err
	}
	art, plates, err := opened.DecodeBeside(pl.sep)
	if err != nil {
		return nil, nil, nil, err
	}
	p, err := begin(pl, art, plates)
	return p, art, nil, err
}

// begin makes plates, coverage, the cost of toner and the findings that the order alone tells.
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
	if p.Toner, err = l.tonerCost(); err != nil {
		return nil, err
	}
	found, err := l.misfits()
	p.Head = headAbout(j, art.Picture.Info, found)
	return p, err
}

func processFacts(j *order.Job) Process {
	return Process{j.Process.Name, j.Medium.Name, string(j.Process.White), j.Process.Turned(j.Item).Mirrored}
}

func itemFacts(j *order.Job) Item {
	v := Item{Name: j.Item.Name, Colour: j.Colour.Hex(), Loose: j.Item.Loose, Unknown: j.Item.Unknown}
	if v.GivenColour = j.ItemColour != nil && v.Colour != j.Item.Colour.Lab.Hex(); v.GivenColour {
		v.ColourName = j.ItemColourName
	}
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

// subjectOf is what the order alone tells of what is looked at for findings.
func subjectOf(j *order.Job) flaw.Subject {
	m := j.Medium
	return flaw.Subject{White: j.Process.White, WhitePercent: j.Process.WhiteDensity, ChokeMM: j.Process.Choke.MM(), HardWhite: j.Process.WhiteThreshold > 0, Foil: j.Process.Foil,
		Material: j.Item.Material, Unsuited: !j.Shop.Suits(j.Process, j.Item), Suited: j.Shop.SuitedTo(j.Item),
		Item: j.Colour, OwnWhite: m.OwnWhite,
		Limits: flaw.Limits{SmallestLineMM: m.SmallestLine.MM(), SmallestGapMM: m.SmallestGap.MM(), SmallestDotMM: m.SmallestDot.MM(),
			SmallestTextMM: m.SmallestText.MM(), SmallestTonePercent: m.SmallestTonePerc, FadeWidthMM: m.FadeWidth.MM(), SoftEdgeMM: m.SoftEdge.MM(),
			GoodPPI: m.GoodPPI, LeastPPI: m.LeastPPI, TACPercent: j.Limit, HeavyPercent: m.HeavyPercent, HeavyWidthMM: m.HeavyWidth.MM(),
			BandDeltaE: m.BandDeltaE, GamutDeltaE: j.Shop.Match.Visible, GamutNearDeltaE: j.Shop.Match.Near,
			PrintableWidthMM: j.Item.Printable.WidthMM, PrintableHeightMM: j.Item.Printable.HeightMM}}
}

// misfits are the findings that the order and the art's size alone tell.
func (l *Laid) misfits() ([]flaw.Finding, error) {
	s := subjectOf(l.Job)
	s.Art, s.PixelMM = l.Art, l.PixelMM
	return flaw.Fits(s)
}

// unlike finds that a process without white makes another picture of the art on its item: it
// is then as wrong for the item as one for other materials. How far is too far is what a
// comparison of processes calls not for this item. What lays white, or foil, is not looked
// at, nor what nobody says the item of.
func (l *Laid) unlike() ([]flaw.Finding, error) {
	j := l.Job
	if j.Process.White != plate.NoWhite || j.Medium.OwnWhite || j.Process.Foil || j.Item.Unknown || !j.Shop.Suits(j.Process, j.Item) {
		return []flaw.Finding{}, nil
	}
	m, look, err := l.looks()
	if errors.Is(err, errNothingSolid) {
		return []flaw.Finding{}, nil
	}
	if err != nil {
		return nil, err
	}
	limit := spoils(j)
	if look.mean <= limit {
		return []flaw.Finding{}, nil
	}
	turned, err := l.turned(m)
	if err != nil {
		return nil, err
	}
	if turned == "" {
		turned = "colours shift"
	}
	advice := fmt.Sprintf("%s prints no white, and on %s %s (average difference %.0f from the design): ", title(j.Process.Name), itemFacts(j).Said(), turned, look.mean)
	var others []string
	for _, of := range j.Shop.SuitedTo(j.Item) {
		p, err := j.Shop.Process(of)
		if err != nil {
			return nil, err
		}
		if medium, err := j.Shop.Medium(p.Media); err == nil && !p.Foil && (p.White != plate.NoWhite || medium.OwnWhite) {
			others = append(others, p.Name)
		}
	}
	if len(others) > 0 {
		advice += "choose " + name.Or(others) + ", or a lighter item."
	} else {
		advice += "no process of the shop file prints white on it; choose a lighter item."
	}
	return []flaw.Finding{{Kind: flaw.WrongItem, Severity: flaw.Stop, Measured: to(look.mean, 3), Limit: limit, Unit: "ΔE00", Advice: advice, Boxes: []flaw.Box{}}}, nil
}

// spoils is the mean ΔE00 from which the item spoils the art's colours.
func spoils(j *order.Job) float64 { return 2 * j.Shop.Match.Visible }

// flaws looks for what will print badly.
func (l *Laid) flaws() ([]flaw.Finding, error) {
	j := l.Job
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
	m, err := newMatcher(j)
	if err != nil {
		return nil, err
	}
	s := subjectOf(j)
	s.Art, s.Plates, s.PixelMM = l.Art, l.Plates, l.PixelMM
	s.ColourName = func(d artwork.Device) string { return relative(d.Fractions()).Hex() }
	s.Design, s.Printed, s.TonerCost = design, model.Lab, l.sumCost
	s.Look = func(tones [4]float64, white float64) colour.Lab {
		if j.Medium.OwnWhite {
			white = 1
		}
		return m.stack.Look(model.Lab(tones), white)
	}
	if m.eye.Adapts > 0 {
		s.Missed = func(meant colour.Lab, tones [4]float64) float64 {
			return colour.DeltaE00(m.eye.Wanted(meant), m.eye.Seen(m.stack.Look(model.Lab(tones), m.white(meant))))
		}
	}
	return flaw.Find(s)
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
