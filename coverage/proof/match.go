package proof

import (
	"fmt"
	"math"
	"strings"

	"laydown/colour"
	"laydown/colour/grid"
	"laydown/colour/layer"
	"laydown/colour/press"
	"laydown/coverage/artwork"
	"laydown/coverage/flaw"
	"laydown/coverage/order"
	"laydown/coverage/palette"
	"laydown/coverage/plate"
	"laydown/coverage/shop"
)

// printable is the ΔE00 up to which a colour counts as within the gamut: what
// the search for tone values itself may miss by.
const printable = 0.5

// matcher matches colours on one job's item, as its process prints and an eye sees
// them.
type matcher struct {
	job   *order.Job
	model *press.Model
	stack *layer.Stack
	eye   *order.Eye
	need  func(colour.Lab) float64 // for white, by colour on paper; nil if it does not depend on it

	light, dark colour.Lab // print's white on metal that mirrors, facing either
}

func newMatcher(j *order.Job) (m *matcher, err error) {
	m = &matcher{job: j}
	if m.model, err = j.Press.Model(); err != nil {
		return nil, err
	}
	if m.stack, _, err = j.Stack(); err != nil {
		return nil, err
	}
	if m.eye, err = j.Eye(); err != nil {
		return nil, err
	}
	if m.light, err = j.WhiteFacing(order.FacesLight); err != nil {
		return nil, err
	}
	if m.dark, err = j.WhiteFacing(order.FacesDark); err != nil {
		return nil, err
	}
	if !j.Medium.OwnWhite {
		m.need, err = j.WhiteNeed()
	}
	return m, err
}

// printWhite says what the print's white is.
func (m *matcher) printWhite() White {
	own := m.eye.Print
	w := White{Lab: lab3(own), Own: m.eye.Adapts > 0, Adapts: to(m.eye.Adapts, 2)}
	paper := m.model.Lab([4]float64{}).L
	is := fmt.Sprintf("White prints as L* %.0f here, ", told(own.L))
	switch {
	case !w.Own:
		is = fmt.Sprintf("Without white of its own the print shows its white areas on %s as %s (L* %.0f)", itemFacts(m.job).Said(), colour.Plain(own), told(own.L))
	case own.L > paper-2:
		is += "as light as paper"
	case own.L > paper-15:
		is += fmt.Sprintf("a little grey beside paper (L* %.0f)", paper)
	default:
		is += fmt.Sprintf("grey beside paper (L* %.0f)", paper)
	}
	if w.Own && own.Chroma() > tinted {
		is += fmt.Sprintf(", and tinted: %s, C* %.0f", colour.Plain(own), own.Chroma())
	}
	switch {
	case !w.Own:
		w.Sentence = is + "; colours are judged beside paper."
	case m.eye.Adapts < 1:
		w.Sentence = is + "; an eye takes it for white in part, and colours are judged beside what lies between it and paper."
	default:
		w.Sentence = is + "; colours are judged beside it."
	}
	if j := m.job; j.Item.Mirrors() > 0 {
		light, dark := lab3(m.light), lab3(m.dark)
		w.FacingLight, w.FacingDark = &light, &dark
		w.Sentence += fmt.Sprintf(" Bare metal changes with what it faces, from L* %.0f before something light to %.0f before something dark: colours go by the mean, and only those on solid white keep.",
			told(j.Facing(order.FacesLight).L), told(j.Facing(order.FacesDark).L))
	}
	if m.job.WhiteFirst() && m.job.FullWhite() > 0 {
		w.Sentence += " " + whiteFirst(m.job)
	}
	return w
}

// tinted is the chroma C*ab from which a white's tint is told; our own figure.
const tinted = 6

// told is an L* for people: none is above 100, that of a white that scatters all light.
// A white toner's contrast before something white makes a little more of it.
func told(l float64) float64 { return math.Min(l, 100) }

// whiteFirst says that the colours are seen through their white, and what to do about it.
func whiteFirst(j *order.Job) string {
	const lies = "White lies between the eye and the colours here"
	switch {
	case !j.Item.Clear:
		return lies + ": this process is for clear items that are seen through."
	case j.Item.Seen == shop.Through && j.Medium.OwnWhite:
		return lies + ": the film hides them from this side."
	case j.Item.Seen == shop.Through:
		return lies + `: for an item that is seen through, choose a process with white_side = "over".`
	}
	return lies + ": this process is for items that are seen through, and this one is seen from the front."
}

// wish is a colour that is wanted.
type wish struct {
	name    string
	onPaper colour.Lab // absolute, on the press's paper
	tones   [4]float64 // of the art's separation, or its own recipe
	recipe  bool       // nothing better is looked for
}

// white is how much white lies under a colour.
func (m *matcher) white(onPaper colour.Lab) float64 {
	if m.need == nil {
		return m.job.FullWhite()
	}
	return m.job.FullWhite() * m.need(onPaper)
}

// match says what becomes of colours: as they are separated, and at best.
func (m *matcher) match(wanted []wish) ([]Swatch, error) {
	asked := make([]press.Wish, len(wanted))
	looks := make([]func(colour.Lab) colour.Lab, len(wanted))
	for i, w := range wanted {
		white := m.white(w.onPaper)
		looks[i] = func(c colour.Lab) colour.Lab { return m.stack.Look(c, white) }
		asked[i] = press.Wish{Target: m.eye.Wanted(w.onPaper), Start: m.stack.Print(m.eye.OnItem(w.onPaper), white),
			Seen: func(c colour.Lab) colour.Lab { return m.eye.Seen(looks[i](c)) }}
	}
	best, err := m.job.Press.Nearest(asked, m.job.Options)
	if err != nil {
		return nil, err
	}
	limits := m.job.Shop.Match.Limits()
	out := make([]Swatch, len(wanted))
	for i, w := range wanted {
		target := asked[i].Target
		seen := func(x [4]float64) (absolute, beside colour.Lab, d float64) {
			absolute = looks[i](m.model.Lab(x))
			beside = m.eye.Seen(absolute)
			return absolute, beside, colour.DeltaE00(target, beside)
		}
		printed, beside, d := seen(w.tones)
		s := Swatch{Name: w.name, TargetLab: lab3(w.onPaper), PrintedLab: lab3(printed), SeenTargetLab: lab3(target), SeenPrintedLab: lab3(beside),
			DeltaE00: to(d, 2), DeltaAbsolute: to(colour.DeltaE00(w.onPaper, printed), 2), Grade: string(limits.Grade(d)), Plates: tonesOf(w.tones),
			Target: target, Printed: beside}
		bestPrinted, bestBeside, e := seen(best[i].CMYK)
		s.InGamut = math.Min(d, e) <= printable
		bound := Best{tonesOf(best[i].CMYK), lab3(bestPrinted), lab3(bestBeside), to(e, 2), string(limits.Grade(e))}
		if !w.recipe && m.eye.Adapts > 0 && d-e >= worthSaying {
			s.Best = &bound
		}
		// As preflight counts it, which leaves room for the rounding of plates.
		if sum := w.tones[0] + w.tones[1] + w.tones[2] + w.tones[3]; w.recipe && sum*255 >= float64(plate.OverLimit(m.job.Limit)) {
			s.OverLimit = &OverLimit{to(sum*100, 1), to(m.job.Limit, 1), bound}
		}
		s.Sentence, s.Told = sentence(s, limits.Grade(d)), sentenceOf(s, limits.Grade(d))
		out[i] = s
	}
	return out, nil
}

// worthSaying is by how much ΔE00 the best must be better than the separation to be told:
// more than roundings of either.
const worthSaying = 0.3

func tonesOf(x [4]float64) (t Tones) {
	for k, v := range x {
		*t.At(k) = to(v*100, 1)
	}
	return t
}

// separated are the tone values that a table makes of a colour in 8 bits.
func separated(sep *press.Separator, d artwork.Device, channels int) (x [4]float64) {
	var one [4][1]uint8
	sep.Table().Row8(grid.Planes{one[0][:], one[1][:], one[2][:], one[3][:]}, d[:channels], channels)
	for k := range x {
		x[k] = float64(one[k][0]) / 255
	}
	return x
}

// matches pairs each brand colour with what prints for it on the item, and counts
// how much of the print it takes; and does the same for the art's own main colours.
func (l *Laid) matches() (White, []Swatch, []MainColour, error) {
	fail := func(err error) (White, []Swatch, []MainColour, error) { return White{}, nil, nil, err }
	m, err := newMatcher(l.Job)
	if err != nil {
		return fail(err)
	}
	found, err := m.swatches()
	if err != nil {
		return fail(err)
	}
	relative, err := l.Colours.Relative()
	if err != nil {
		return fail(err)
	}
	lab := func(d artwork.Device) colour.Lab { return relative(d.Fractions()) }
	counted := palette.Count(l.Art)
	total := float64(l.Art.Width) * float64(l.Art.Height)
	percent := func(pixels float64) *float64 {
		v := to(pixels/total*100, 4)
		return &v
	}
	wanted := make([]colour.Lab, len(found)) // as relative looks, by what the list says
	for i, s := range l.Job.Swatches {
		wanted[i] = s.Lab
		if s.CMYK != nil {
			wanted[i] = m.model.Lab(*s.CMYK)
		}
	}
	if len(found) > 0 {
		for i, n := range palette.Shares(counted, lab, wanted, l.Job.Shop.Match.CountsAs) {
			found[i].AreaPercent = percent(n)
		}
	}
	own, err := l.mainColours(m, palette.Main(counted, lab), found, wanted, percent)
	return m.printWhite(), found, own, err
}

// mainColours are the art's own, through the very table that made the plates, each
// with the brand colour that it is closest to.
func (l *Laid) mainColours(m *matcher, main []palette.MainColour, brand []Swatch, brandLab []colour.Lab, percent func(float64) *float64) ([]MainColour, error) {
	design, err := l.Colours.Design()
	if err != nil {
		return nil, err
	}
	var wanted []wish
	for _, c := range main {
		wanted = append(wanted, wish{name: colour.Plain(c.Lab) + " " + c.Lab.Hex(), onPaper: design(c.Device.Fractions()),
			tones: separated(l.sep, c.Device, l.Art.Space.Channels()), recipe: l.Colours.Source == nil})
	}
	found, err := m.match(wanted)
	if err != nil {
		return nil, err
	}
	out := []MainColour{}
	for i, c := range main {
		v := MainColour{Swatch: found[i], Hex: c.Lab.Hex(), Flat: c.Flat}
		v.Sentence, v.Told = "The "+ofDesign.Replace(v.Sentence), "The "+ofDesign.Replace(v.Told)
		v.AreaPercent = percent(c.Pixels)
		for k, s := range brand {
			if d := colour.DeltaE00(c.Lab, brandLab[k]); v.ClosestSwatch == "" || d < v.ClosestDeltaE {
				v.ClosestSwatch, v.ClosestDeltaE = s.Name, d
			}
		}
		v.ClosestDeltaE = to(v.ClosestDeltaE, 2)
		out = append(out, v)
	}
	return out, nil
}

// ofDesign turns what is said of a brand's colour into what is said of the art's own.
var ofDesign = strings.NewReplacer("will match your colour", "will print as designed", "very near your colour", "very near the design", "than your colour", "than designed")

// MatchSwatches says what becomes of each of the order's swatches, without artwork:
// as art in sRGB is separated, and at best. ArtPath is not looked at.
func MatchSwatches(o order.Order) (*SwatchFacts, error) {
	j, err := o.Resolve()
	if err != nil {
		return nil, err
	}
	if j, _, err = settle(j, nil); err != nil {
		return nil, err
	}
	m, err := newMatcher(j)
	if err != nil {
		return nil, err
	}
	found, err := m.swatches()
	if err != nil {
		return nil, err
	}
	misfits, err := flaw.Fits(withoutArt(j))
	if err != nil {
		return nil, err
	}
	return &SwatchFacts{Process: processFacts(j), Item: itemFacts(j), White: m.printWhite(), Swatches: found, SwatchesSkipped: j.SwatchesSkipped, Head: headOf(j, misfits)}, nil
}

// withoutArt is the subject of an order without art, which has no size.
func withoutArt(j *order.Job) flaw.Subject {
	s := subjectOf(j)
	s.Art = &artwork.Art{}
	return s
}

// swatches matches the order's swatches. One that the list gives as CMYK is a recipe
// already: its numbers are kept, in the condition of the order's press. A screen's
// colour is meant as one of art is: its white is paper, its black the press's. A
// measurement is absolute, unless it says that it is relative to its paper.
func (m *matcher) swatches() ([]Swatch, error) {
	j := m.job
	if len(j.Swatches) == 0 {
		return []Swatch{}, nil
	}
	screen := j.Screen()
	design, err := screen.Design()
	if err != nil {
		return nil, err
	}
	sep, err := j.Press.Separate(screen.Source, j.Options)
	if err != nil {
		return nil, err
	}
	paper := m.model.Lab([4]float64{})
	var wanted []wish
	for _, s := range j.Swatches {
		w := wish{name: s.Name, onPaper: s.Lab}
		shown := s.Lab // beside white, as a screen would show it
		switch {
		case s.CMYK != nil:
			w.onPaper, w.tones, w.recipe = m.model.Lab(*s.CMYK), *s.CMYK, true
		case s.Screen:
		case s.Relative:
			w.onPaper = s.Lab.XYZ(colour.D50).Scale(paper.XYZ(colour.D50), colour.D50).Lab(colour.D50)
		default:
			shown = m.eye.Wanted(s.Lab)
		}
		if !w.recipe {
			c := shown.SRGB()
			d := artwork.Device{c.R, c.G, c.B}
			w.tones = separated(sep, d, 3)
			if s.Screen {
				w.onPaper = design(d.Fractions())
			}
		}
		wanted = append(wanted, w)
	}
	out, err := m.match(wanted)
	for i, s := range j.Swatches {
		if err == nil {
			out[i].OwnRecipe, out[i].Measurement, out[i].MeasuredAlso = s.CMYK != nil, s.Measurement, s.Also
		}
	}
	return out, err
}

// sentence says a match in a customer's words.
func sentence(s Swatch, g colour.Grade) string {
	out := sentenceOf(s, g)
	if s.Best != nil && s.Best.Grade != s.Grade {
		out += fmt.Sprintf(" With %s in the file it comes as near as ΔE00 %.1f.", s.Best.Plates.CMYK(), s.Best.DeltaE00)
	}
	if o := s.OverLimit; o != nil {
		out += fmt.Sprintf(" Its toners add up to %.0f %%, over the limit of %.0f %%: too much cracks and offsets in the fuser. Within the limit, %s comes as near as ΔE00 %.1f.",
			o.TotalPercent, o.LimitPercent, o.Within.Plates.CMYK(), o.Within.DeltaE00)
	}
	return out
}

func sentenceOf(s Swatch, g colour.Grade) string {
	switch g {
	case colour.Close:
		return fmt.Sprintf("%s will match your colour.", s.Name)
	case colour.Near:
		return fmt.Sprintf("%s will print very near your colour; side by side a trained eye sees a difference.", s.Name)
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
