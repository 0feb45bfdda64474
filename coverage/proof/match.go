package proof

import (
	"fmt"
	"math"

	"laydown/colour"
	"laydown/colour/press"
	"laydown/coverage/artwork"
	"laydown/coverage/palette"
	"laydown/coverage/plate"
)

// printable is the ΔE00 up to which a colour counts as within the gamut: what
// the search for tone values itself may miss by.
const printable = 0.5

// match pairs each brand colour with the nearest that prints on the item, and
// counts how much of the print it takes; and does the same for the art's own
// main colours.
func (p *Proof) match() error {
	found, err := p.job.match()
	if err != nil {
		return err
	}
	relative, err := p.relative()
	if err != nil {
		return err
	}
	lab := func(d artwork.Device) colour.Lab { return relative(d.Fractions()) }
	colours := p.countColours()
	total := float64(p.art.Width) * float64(p.art.Height)
	percent := func(pixels uint64) *float64 {
		v := to(float64(pixels)/total*100, 4)
		return &v
	}
	if len(found) > 0 {
		var wanted []colour.Lab
		for _, s := range found {
			wanted = append(wanted, s.target)
		}
		for i, n := range palette.Shares(colours, lab, wanted, p.job.Shop.Match.CountsAs) {
			found[i].AreaPercent = percent(n)
		}
	}
	p.Swatches = found

	design, err := p.design()
	if err != nil {
		return err
	}
	main := palette.Main(colours, lab)
	var wanted []colour.Lab
	for _, m := range main {
		wanted = append(wanted, design(m.Device.Fractions()))
	}
	near, err := p.job.nearest(wanted)
	if err != nil {
		return err
	}
	p.Main = []MainColour{}
	for i, m := range main {
		hex := m.Lab.Hex()
		v := MainColour{Swatch: p.job.swatch(near[i], colour.Name(m.Lab)+" "+hex), Hex: hex, Flat: m.Flat}
		v.AreaPercent = percent(m.Pixels)
		for _, s := range found {
			if d := colour.DeltaE00(m.Lab, s.target); v.ClosestSwatch == "" || d < v.ClosestDeltaE {
				v.ClosestSwatch, v.ClosestDeltaE = s.Name, d
			}
		}
		v.ClosestDeltaE = to(v.ClosestDeltaE, 2)
		p.Main = append(p.Main, v)
	}
	return nil
}

// MatchSwatches finds, for each of the order's swatches, the nearest colour that
// the process prints on the item, without artwork. ArtPath is not looked at.
func MatchSwatches(o Order) (*SwatchFacts, error) {
	j, err := o.resolve()
	if err != nil {
		return nil, err
	}
	found, err := j.match()
	if err != nil {
		return nil, err
	}
	return &SwatchFacts{Process: j.processFacts(), Item: j.itemFacts(), Swatches: found}, nil
}

// match finds the nearest print for each of the order's swatches.
func (j *job) match() ([]Swatch, error) {
	wanted, err := wantedLabs(j.Order)
	if err != nil {
		return nil, err
	}
	near, err := j.nearest(wanted)
	if err != nil {
		return nil, err
	}
	out := make([]Swatch, len(near))
	for i, m := range near {
		out[i] = j.swatch(m, j.Swatches[i].Name)
	}
	return out, nil
}

// nearest finds what the process prints nearest to each colour on the item.
func (j *job) nearest(wanted []colour.Lab) ([]press.Match, error) {
	if len(wanted) == 0 {
		return nil, nil
	}
	stack, _, err := j.stack()
	if err != nil {
		return nil, err
	}
	need := func(colour.Lab) float64 { return 1 }
	full := j.process.WhiteDensity / 100
	switch {
	case j.medium.OwnWhite:
		full = 1
	case j.process.White == plate.NoWhite:
		full = 0
	case j.process.White == plate.Knockout, j.process.White == plate.Tonal:
		if need, err = j.whiteNeed(); err != nil {
			return nil, err
		}
	}
	wishes := make([]press.Wish, len(wanted))
	for i, c := range wanted {
		w := full * need(c)
		wishes[i] = press.Wish{Target: c, Start: stack.Print(c, w), Seen: func(printed colour.Lab) colour.Lab { return stack.Look(printed, w) }}
	}
	return j.Press.Nearest(wishes, j.options)
}

// swatch says a match as numbers and words.
func (j *job) swatch(m press.Match, name string) Swatch {
	grade := j.Shop.Match.Limits().Grade(m.DeltaE00)
	s := Swatch{Name: name, TargetLab: lab3(m.Target), PrintedLab: lab3(m.Printed), DeltaE00: to(m.DeltaE00, 2), Grade: string(grade),
		InGamut: m.DeltaE00 <= printable, target: m.Target, printed: m.Printed}
	for k, v := range m.CMYK {
		*s.Plates.at(k) = to(v*100, 1)
	}
	s.Sentence = sentence(s, grade)
	return s
}

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
