package proof

import (
	"fmt"
	"math"

	"laydown/colour"
	"laydown/colour/press"
	"laydown/coverage/artwork"
	"laydown/coverage/order"
	"laydown/coverage/palette"
	"laydown/coverage/plate"
)

// printable is the ΔE00 up to which a colour counts as within the gamut: what
// the search for tone values itself may miss by.
const printable = 0.5

// matches pairs each brand colour with the nearest that prints on the item, and
// counts how much of the print it takes; and does the same for the art's own
// main colours.
func (l *Laid) matches() ([]Swatch, []MainColour, error) {
	found, err := swatches(l.Job)
	if err != nil {
		return nil, nil, err
	}
	relative, err := l.Colours.Relative()
	if err != nil {
		return nil, nil, err
	}
	lab := func(d artwork.Device) colour.Lab { return relative(d.Fractions()) }
	counted := palette.Count(l.Art)
	total := float64(l.Art.Width) * float64(l.Art.Height)
	percent := func(pixels uint64) *float64 {
		v := to(float64(pixels)/total*100, 4)
		return &v
	}
	if len(found) > 0 {
		var wanted []colour.Lab
		for _, s := range found {
			wanted = append(wanted, s.Target)
		}
		for i, n := range palette.Shares(counted, lab, wanted, l.Job.Shop.Match.CountsAs) {
			found[i].AreaPercent = percent(n)
		}
	}
	own, err := l.mainColours(palette.Main(counted, lab), found, percent)
	return found, own, err
}

// mainColours are the art's own, each with the brand colour that it is closest to.
func (l *Laid) mainColours(main []palette.MainColour, brand []Swatch, percent func(uint64) *float64) ([]MainColour, error) {
	design, err := l.Colours.Design()
	if err != nil {
		return nil, err
	}
	var wanted []colour.Lab
	for _, m := range main {
		wanted = append(wanted, design(m.Device.Fractions()))
	}
	near, err := nearest(l.Job, wanted)
	if err != nil {
		return nil, err
	}
	out := []MainColour{}
	for i, m := range main {
		hex := m.Lab.Hex()
		v := MainColour{Swatch: matched(l.Job, near[i], colour.Name(m.Lab)+" "+hex), Hex: hex, Flat: m.Flat}
		v.AreaPercent = percent(m.Pixels)
		for _, s := range brand {
			if d := colour.DeltaE00(m.Lab, s.Target); v.ClosestSwatch == "" || d < v.ClosestDeltaE {
				v.ClosestSwatch, v.ClosestDeltaE = s.Name, d
			}
		}
		v.ClosestDeltaE = to(v.ClosestDeltaE, 2)
		out = append(out, v)
	}
	return out, nil
}

// MatchSwatches finds, for each of the order's swatches, the nearest colour that
// the process prints on the item, without artwork. ArtPath is not looked at.
func MatchSwatches(o order.Order) (*SwatchFacts, error) {
	j, err := o.Resolve()
	if err != nil {
		return nil, err
	}
	found, err := swatches(j)
	if err != nil {
		return nil, err
	}
	return &SwatchFacts{Process: processFacts(j), Item: itemFacts(j), Swatches: found}, nil
}

// swatches finds the nearest print for each of the order's swatches. One that the list
// gives as CMYK is a recipe already: its numbers are kept, in the condition of the
// order's press, and it is told what they look like here.
func swatches(j *order.Job) ([]Swatch, error) {
	wanted, err := wantedLabs(j)
	if err != nil {
		return nil, err
	}
	wishes, err := wishesFor(j, wanted)
	if err != nil {
		return nil, err
	}
	near := make([]press.Match, len(wishes))
	var open []press.Wish // and whose they are
	var whose []int
	for i, s := range j.Swatches {
		if s.CMYK == nil {
			open, whose = append(open, wishes[i]), append(whose, i)
			continue
		}
		seen := wishes[i].Seen(wanted[i])
		near[i] = press.Match{Target: wanted[i], Printed: seen, CMYK: *s.CMYK, DeltaE00: colour.DeltaE00(wanted[i], seen)}
	}
	if len(open) > 0 {
		found, err := j.Press.Nearest(open, j.Options)
		if err != nil {
			return nil, err
		}
		for k, m := range found {
			near[whose[k]] = m
		}
	}
	out := make([]Swatch, len(near))
	for i, m := range near {
		s := j.Swatches[i]
		out[i] = matched(j, m, s.Name)
		out[i].OwnRecipe, out[i].Measurement, out[i].MeasuredAlso = s.CMYK != nil, s.Measurement, s.Also
	}
	return out, nil
}

// nearest finds what the process prints nearest to each colour on the item.
func nearest(j *order.Job, wanted []colour.Lab) ([]press.Match, error) {
	wishes, err := wishesFor(j, wanted)
	if err != nil || len(wishes) == 0 {
		return nil, err
	}
	return j.Press.Nearest(wishes, j.Options)
}

// wishesFor are colours that are wanted on the item, over the white that the process
// gives each.
func wishesFor(j *order.Job, wanted []colour.Lab) ([]press.Wish, error) {
	if len(wanted) == 0 {
		return nil, nil
	}
	stack, _, err := j.Stack()
	if err != nil {
		return nil, err
	}
	need, err := j.WhiteNeed()
	if err != nil {
		return nil, err
	}
	full := j.Process.WhiteDensity / 100
	switch {
	case j.Medium.OwnWhite:
		full, need = 1, nil
	case j.Process.White == plate.NoWhite:
		full = 0
	}
	wishes := make([]press.Wish, len(wanted))
	for i, c := range wanted {
		w := full
		if need != nil {
			w *= need(c)
		}
		wishes[i] = press.Wish{Target: c, Start: stack.Print(c, w), Seen: func(printed colour.Lab) colour.Lab { return stack.Look(printed, w) }}
	}
	return wishes, nil
}

// matched says a match as numbers and words.
func matched(j *order.Job, m press.Match, name string) Swatch {
	grade := j.Shop.Match.Limits().Grade(m.DeltaE00)
	s := Swatch{Name: name, TargetLab: lab3(m.Target), PrintedLab: lab3(m.Printed), DeltaE00: to(m.DeltaE00, 2), Grade: string(grade),
		InGamut: m.DeltaE00 <= printable, Target: m.Target, Printed: m.Printed}
	for k, v := range m.CMYK {
		*s.Plates.At(k) = to(v*100, 1)
	}
	s.Sentence = sentence(s, grade)
	return s
}

// wantedLabs are the swatches' colours; those that only say CMYK get the Lab
// that the order's press prints for it.
func wantedLabs(j *order.Job) (wanted []colour.Lab, err error) {
	for _, s := range j.Swatches {
		lab := s.Lab
		if s.CMYK != nil {
			m, err := j.Press.Model()
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
		return fmt.Sprintf("%s will print %s than your colour; side by side the difference shows.", s.Name, drift(s.Target, s.Printed))
	}
	return fmt.Sprintf("%s cannot be matched here: it will print %s than your colour. Please approve a sample first.", s.Name, drift(s.Target, s.Printed))
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
