package proof

import (
	"cmp"
	"errors"
	"fmt"
	"math"
	"slices"
	"unicode"
	"unicode/utf8"

	"github.com/shopspring/decimal"

	"laydown/colour"
	"laydown/colour/cores"
	"laydown/coverage/artwork"
	"laydown/coverage/fault"
	"laydown/coverage/order"
	"laydown/coverage/palette"
	"laydown/coverage/plate"
	"laydown/coverage/price"
)

// Choices compares every process of the shop for one art on one item, and picks
// one.
type Choices struct {
	Currency string   `json:"currency"`
	Item     Item     `json:"item"`
	Choices  []Choice `json:"choices"`
	// White says in a word whether this art needs white on this item: needed, not needed
	// or white film; Answer says it in a sentence, with the reason.
	White    string `json:"white"`
	Answer   string `json:"answer"`
	Pick     string `json:"pick"`
	PickRule string `json:"pick_white_rule"`
	Reason   string `json:"reason"`

	*Head // nil within a proof, which has its own

	again func() (*Proof, error) // see Picked
}

// Picked works out the picked process's print: what would spoil it and what it costs.
func (c *Choices) Picked() (*Proof, error) { return c.again() }

// OwnWhite reports whether the choice's film is white itself.
func (v Choice) OwnWhite() bool { return v.ownWhite }

// Choice is one process: how far the art will look from its design on the item, beside
// the print's own white, and what toner and media cost for one print.
type Choice struct {
	Process      string  `json:"process"`
	WhiteRule    string  `json:"white_rule"`
	MeanDeltaE   float64 `json:"mean_delta_e00"`
	P95DeltaE    float64 `json:"p95_delta_e00"`
	MeanAbsolute float64 `json:"mean_delta_e00_absolute"` // beside the press's paper, without regard to the eye
	PrintWhite   White   `json:"print_white"`
	WhitePercent float64 `json:"white_print_percent"`
	TonerEach    string  `json:"toner_each"`
	MediaEach    string  `json:"media_each"`
	// CutMM is the outline that is cut along by hand on media that do not weed themselves,
	// and CuttingEach the labour of that.
	CutMM       float64 `json:"cut_mm"`
	CuttingEach string  `json:"cutting_each"`
	CostEach    string  `json:"cost_each"` // toner, media and cutting
	Advice      string  `json:"advice"`

	cost       decimal.Decimal // and cutting, of it
	cutting    decimal.Decimal
	cutSeconds float64
	ownWhite   bool    // the film is white
	light, own float64 // of the art: see [look]
	laid       *Laid   // without its plates, which are large
}

// What [Choices.White] says.
const (
	WhiteNeeded    = "needed"
	WhiteNotNeeded = "not needed"
	WhiteFilm      = "white film"
)

// asGood is how much worse in mean ΔE00 than the best a cheaper process may look and still
// be picked, asLight by how much L* its white may be darker, and asLong the seconds of
// cutting by hand a print for which a person takes what looks a little worse. Our own figures.
const (
	asGood  = 1.0
	asLight = 8.0
	asLong  = 60.0
)

// Compare works out the choices for an order; its ProcessName is not looked at.
// Processes for other materials are left out, and those whose sheet cannot hold
// the print, unless none is left, which is an error; so is an order for no item. So are
// those that lay foil, which is chosen for its shine.
func Compare(o order.Order) (*Choices, error) {
	j, err := o.Resolve()
	if err != nil {
		return nil, err
	}
	if j.Item.Unknown {
		return nil, fault.In("item", errors.New("processes are compared for an item: name it, or one of the shop file's loose goods"))
	}
	opened, err := j.Open()
	if err != nil {
		return nil, err
	}
	art, err := opened.Decode()
	if err != nil {
		return nil, err
	}
	c, refused, err := compare(j, art, nil)
	if err == nil && c == nil {
		err = refused
	}
	if err != nil {
		return nil, err
	}
	c.Head = headAbout(j, art.Picture.Info, nil)
	return c, nil
}

// picked is the picked process's print again, with what would spoil it and what it costs.
func (c *Choices) picked(j *order.Job, art *order.Art) (*Proof, error) {
	process, err := j.Shop.Process(c.Pick)
	if err != nil {
		return nil, err
	}
	as := *process
	as.White = plate.Rule(c.PickRule)
	other, err := j.With(as)
	if err != nil {
		return nil, err
	}
	p, err := beginAs(other, art)
	if err != nil {
		return nil, err
	}
	if p.Findings, err = p.Laid.flaws(); err != nil {
		return nil, err
	}
	if p.Quoted, err = p.Quote(j.Quantities); err != nil {
		err = p.lack(err)
	}
	return p, err
}

// compare works out the choices for an art; one may be known. Where there are none, it
// returns why the first was refused.
func compare(j *order.Job, art *order.Art, known *Proof) (out *Choices, refused, err error) {
	out = &Choices{Currency: j.Shop.Currency, Item: itemFacts(j)}
	refused = unsuited(j)
	tried := false
	for _, process := range j.Shop.Processes {
		if process.Foil || !j.Shop.Suits(&process, j.Item) {
			continue
		}
		rules := []plate.Rule{process.White}
		if j.EveryRule && process.White != plate.NoWhite {
			rules = plate.Rules
		}
		for _, rule := range rules {
			p := known
			if p == nil || process.Name != p.Process.Name || rule != process.White {
				as := process
				as.White = rule
				other, err := j.With(as)
				if err != nil {
					return nil, nil, err
				}
				if p, err = beginAs(other, art); err != nil {
					if !tried {
						refused, tried = err, true
					}
					continue
				}
			}
			c, err := p.choice()
			if err != nil {
				if errors.Is(err, errNothingSolid) {
					return nil, err, nil
				}
				return nil, nil, err
			}
			out.Choices = append(out.Choices, c)
		}
	}
	if len(out.Choices) == 0 {
		return nil, refused, nil
	}
	out.pick(j.Shop.Match.Near)
	out.again = func() (*Proof, error) { return out.picked(j, art) }
	if err := out.answer(j, art); err != nil {
		return nil, nil, err
	}
	return out, nil, nil
}

// beginAs begins a proof of an art under another job.
func beginAs(j *order.Job, art *order.Art) (*Proof, error) {
	as := art.For(j)
	pl, err := newPlan(j, as.Picture.Info, as.Colours)
	if err != nil {
		return nil, err
	}
	return begin(pl, as, plate.New(as.Picture.Width, as.Picture.Height))
}

// pick takes the best of all by [best]. If that is cut out by hand, it gives way to the best
// of those that look as designed, on a white that an eye takes for white, and spare asLong
// seconds of cutting or more. near is the mean ΔE00 up to which art looks as designed.
func (c *Choices) pick(near float64) {
	all := make([]int, len(c.Choices))
	for i := range all {
		all[i] = i
	}
	at := c.best(all)
	quick := slices.DeleteFunc(all, func(i int) bool {
		v := c.Choices[i]
		return v.MeanDeltaE > near || v.PrintWhite.Adapts < 1 || v.cutSeconds+asLong > c.Choices[at].cutSeconds
	})
	if len(quick) > 0 {
		at = c.best(quick)
	}
	won := c.Choices[at]
	c.Pick, c.PickRule = won.Process, won.WhiteRule
	lightest := 0.0
	for _, v := range c.Choices {
		if v.MeanDeltaE <= near {
			lightest = math.Max(lightest, v.PrintWhite.Lab[0])
		}
	}
	darker := -1 // what is cheaper and looks as good, but for its white
	for i, v := range c.Choices {
		if v.MeanDeltaE <= math.Min(won.MeanDeltaE+asGood, near) && v.cost.LessThan(won.cost) && v.PrintWhite.Lab[0] < math.Min(won.PrintWhite.Lab[0], lightest-asLight) && (darker < 0 || v.cost.LessThan(c.Choices[darker].cost)) {
			darker = i
		}
	}
	rank := "the cheapest that looks right"
	switch {
	case won.MeanDeltaE > near:
		rank = "the nearest to the design that the shop has"
	case darker >= 0:
		rank = "the cheapest with so light a white"
	}
	c.Reason = fmt.Sprintf("%s (%s): %s on %s: %s %s a print for toner, media and cutting (average difference %.1f from the design; its white measures L* %.0f).",
		title(won.Process), whiteSaid(won), rank, c.Item.Said(), c.Currency, won.CostEach, won.MeanDeltaE, told(won.PrintWhite.Lab[0]))
	if darker >= 0 {
		v := c.Choices[darker]
		c.Reason += fmt.Sprintf(" %s costs %s %s less a print, but its white measures L* %.0f.", title(v.Process), c.Currency, won.cost.Sub(v.cost).StringFixed(price.Places), told(v.PrintWhite.Lab[0]))
	}
	for _, v := range c.Choices { // what the knife stood against
		if v.Process != won.Process && v.MeanDeltaE <= won.MeanDeltaE+asGood && v.cutSeconds > won.cutSeconds && v.cost.Sub(v.cutting).LessThan(won.cost.Sub(won.cutting)) {
			c.Reason += fmt.Sprintf(" %s takes less toner and media, but is cut out by hand: %.0f mm of outline and %.0f s a print, %s %s.", title(v.Process), v.CutMM, v.cutSeconds, c.Currency, v.CuttingEach)
			break
		}
	}
}

// best is, of some choices, the cheapest in toner, media and cutting of those that look as
// good as the best of them on a white about as light as the lightest of those.
func (c *Choices) best(of []int) int {
	least, lightest, at := math.Inf(1), 0.0, -1
	for _, i := range of {
		least = math.Min(least, c.Choices[i].MeanDeltaE)
	}
	good := func(v Choice) bool { return v.MeanDeltaE <= least+asGood }
	for _, i := range of {
		if v := c.Choices[i]; good(v) {
			lightest = math.Max(lightest, v.PrintWhite.Lab[0])
		}
	}
	if !c.lightArt() {
		lightest = 0 // no white of the art shows how light the print's is
	}
	for _, i := range of {
		if v := c.Choices[i]; good(v) && v.PrintWhite.Lab[0] >= lightest-asLight && (at < 0 || v.cost.LessThan(c.Choices[at].cost)) {
			at = i
		}
	}
	return at
}

// lightArt reports whether the art has whites that show how light a print's white is.
func (c *Choices) lightArt() bool { return c.Choices[0].light >= someLight }

// someLight is the part of the art from which on its whites count: our own figure. ownArt is
// the part that has the item's colour from which on there is nothing else to see.
const (
	someLight = 0.01
	ownArt    = 0.98
)

func title(s string) string {
	r, n := utf8.DecodeRuneInString(s)
	return string(unicode.ToUpper(r)) + s[n:]
}

// whiteSaid says where the white of a choice comes from.
func whiteSaid(v Choice) string {
	if v.ownWhite {
		return "the film is white"
	}
	return RuleSaid(v.WhiteRule)
}

// rulesSaid are the white rules in words.
var rulesSaid = map[string]string{string(plate.NoWhite): "no white", string(plate.Under): "white under the art", string(plate.Knockout): "white left out where the art has the item's colour",
	string(plate.Tonal): "white by tone", string(plate.All): "white over the whole print"}

// RuleSaid says a white rule in words.
func RuleSaid(rule string) string {
	if w, ok := rulesSaid[rule]; ok {
		return w
	}
	return "white " + rule
}

// answer says whether white is needed, and what happens without.
func (c *Choices) answer(j *order.Job, art *order.Art) error {
	var won *Choice
	for i := range c.Choices {
		if v := &c.Choices[i]; v.Process == c.Pick && v.WhiteRule == c.PickRule {
			won = v
		}
	}
	near := j.Shop.Match.Near
	if won.own >= ownArt {
		c.White = WhiteNotNeeded
		c.Answer = fmt.Sprintf("White does not help: the art has the very colour of %s.", c.Item.Said())
		return nil
	}
	if !won.ownWhite && won.WhiteRule == string(plate.NoWhite) {
		c.White = WhiteNotNeeded
		white := slices.ContainsFunc(c.Choices, func(v Choice) bool { return v.ownWhite || v.WhiteRule != string(plate.NoWhite) })
		switch {
		case won.MeanDeltaE <= near:
			c.Answer = "White not needed: the art looks right without it."
		case white:
			c.Answer = fmt.Sprintf("White not needed: no white of the shop's looks better: average difference %.1f.", won.MeanDeltaE)
		default:
			c.White = WhiteNeeded
			c.Answer = fmt.Sprintf("White needed, but no process of the shop's prints it on %s.", cmp.Or(j.Item.Material, c.Item.Said()))
		}
		return nil
	}
	c.White, c.Answer = WhiteNeeded, "White needed"
	if won.ownWhite {
		c.White, c.Answer = WhiteFilm, "A white film"
	}
	bare, err := c.bare(j, art)
	if err != nil || bare == nil {
		c.Answer += "."
		return err
	}
	if bare.MeanDeltaE <= near { // colours hold
		if !c.lightArt() {
			c.White = WhiteNotNeeded
			c.Answer = fmt.Sprintf("White not needed (difference %.1f without), but the cheapest process prints it.", bare.MeanDeltaE)
			return nil
		}
		c.Answer += fmt.Sprintf(": without it what is white measures L* %.0f in place of %.0f.", told(bare.PrintWhite.Lab[0]), told(won.PrintWhite.Lab[0]))
		return nil
	}
	m, err := newMatcher(bare.laid.Job)
	if err != nil {
		return err
	}
	turned, err := bare.laid.turned(m)
	if err != nil {
		return err
	}
	if turned == "" {
		turned = "colours shift"
	}
	c.Answer += fmt.Sprintf(": without white %s: average difference %.0f.", turned, bare.MeanDeltaE)
	return nil
}

// bare is the print without any white: a choice without it, or the picked process with its
// white left out. A shop that has white films alone has none.
func (c *Choices) bare(j *order.Job, art *order.Art) (*Choice, error) {
	var best *Choice
	for i := range c.Choices {
		if v := &c.Choices[i]; !v.ownWhite && v.WhiteRule == string(plate.NoWhite) && (best == nil || v.MeanDeltaE < best.MeanDeltaE) {
			best = v
		}
	}
	if best != nil {
		return best, nil
	}
	for _, v := range c.Choices {
		if v.ownWhite {
			continue
		}
		process, err := j.Shop.Process(v.Process)
		if err != nil {
			return nil, err
		}
		as := *process
		as.White = plate.NoWhite
		other, err := j.With(as)
		if err != nil {
			return nil, err
		}
		p, err := beginAs(other, art)
		if err != nil {
			return nil, err
		}
		out, err := p.choice()
		return &out, err
	}
	return nil, nil
}

// turned says what becomes of the art's main colour that changes most, by its area and by
// how far it is off: "the cream turns brown"; "" if none is off enough to be seen.
func (l *Laid) turned(m *matcher) (string, error) {
	relative, err := l.Colours.Relative()
	if err != nil {
		return "", err
	}
	design, err := l.Colours.Design()
	if err != nil {
		return "", err
	}
	lab := func(d artwork.Device) colour.Lab { return relative(d.Fractions()) }
	most, said := 0.0, ""
	for _, v := range palette.Main(palette.Count(l.Art), lab) {
		onPaper := design(v.Device.Fractions())
		want := m.eye.Wanted(onPaper)
		got := m.eye.Seen(m.stack.Look(m.model.Lab(separated(l.sep, v.Device, l.Art.Space.Channels())), m.white(onPaper)))
		d := colour.DeltaE00(want, got)
		if d <= l.Job.Shop.Match.Visible || d*v.Pixels <= most {
			continue
		}
		most = d * v.Pixels
		if from, to := colour.Plain(lab(v.Device)), colour.Plain(got); from != to {
			said = "the " + from + " turns " + to
		} else {
			said = "the " + from + " prints " + drift(want, got)
		}
	}
	return said, nil
}

// MeanNote explains a mean that is above what the worst 5 % exceed; "" if none is.
func (c *Choices) MeanNote() string {
	note := ""
	for _, v := range c.Choices {
		if v.MeanDeltaE <= v.P95DeltaE {
			continue
		}
		note = "Where the average is above the figure that the worst 5 % exceed, a small part of the art is far off"
		if v.WhitePercent > 0 {
			return note + ": most often the rim, where white is pulled back at the edges."
		}
	}
	if note != "" {
		note += "."
	}
	return note
}

// choice measures the look of the proof's own process.
func (p *Proof) choice() (Choice, error) {
	m, look, err := p.Laid.looks()
	if err != nil {
		return Choice{}, err
	}
	mean, p95 := look.mean, look.p95
	toner, j := p.Toner.Print.Total, p.Laid.Job
	supplied := j.Shop.Supplied(j.Process, j.Item)
	media := j.Medium.TransferPrice().Plus(supplied.Sheet).Over(price.Whole(int64(p.Laid.Layout.Copies()))).Plus(supplied.Piece).Round(price.Places)
	bare := *p.Laid
	bare.Plates = nil
	c := Choice{Process: p.Process.Name, WhiteRule: p.Process.WhiteRule, MeanDeltaE: to(mean, 2), P95DeltaE: to(p95, 2), MeanAbsolute: to(look.absolute, 2), PrintWhite: m.printWhite(),
		WhitePercent: p.Plates.White.PrintPercent, TonerEach: toner.StringFixed(price.Places), MediaEach: media.StringFixed(price.Places),
		CutMM: to(p.Laid.CutMM, 1), ownWhite: j.Medium.OwnWhite, laid: &bare, light: look.light, own: look.own}
	c.cutSeconds, _ = p.Laid.cutSeconds().Round(price.Places).Float64()
	c.cutting = price.PerHour(j.Shop.Labour.RateHour, p.Laid.cutSeconds()).Round(price.Places)
	c.CuttingEach, c.cost = c.cutting.StringFixed(price.Places), toner.Add(media).Add(c.cutting)
	c.CostEach = c.cost.StringFixed(price.Places)
	limits := j.Shop.Match
	switch {
	case mean <= limits.Near && p95 <= limits.Visible:
		c.Advice = "Looks as designed."
	case mean <= limits.Near:
		c.Advice = "Looks as designed, but for its most vivid colours."
	case mean <= spoils(j):
		c.Advice = "Colours shift visibly: show the customer a sample."
	default:
		c.Advice = "The item shows through and spoils the colours: not for this item."
	}
	if !j.Shop.Prices(j.Medium) {
		c.Advice += fmt.Sprintf(" The shop file has no price for %s, so its cost is too low here.", j.Medium.Name)
	}
	return c, nil
}

var errNothingSolid = errors.New("all of the art is clear, or so nearly that it cannot be seen: there is nothing to compare. Give art with more than 5 % alpha")

// offSamples is about how many pixels of the art are compared.
const offSamples = 60000

// look is how far a design is from how it looks, in ΔE00: mean and 95th percentile as an eye
// sees them, the design beside its paper and the look beside its own white, and the mean of
// the absolute colours. Of the design, light is the part that is white or nearly, and own the
// part that has the item's own colour, 0–1.
type look struct{ mean, p95, absolute, light, own float64 }

// seen is what [Laid.looks] found.
type seen struct {
	matcher *matcher
	look    look
	err     error
}

// looks is how far the print looks from its design, and what its colours are seen by. It is
// worked out once, as its verdict and the comparison of processes both ask.
func (l *Laid) looks() (*matcher, look, error) {
	if l.seen == nil {
		l.seen = &seen{}
		if l.seen.matcher, l.seen.err = newMatcher(l.Job); l.seen.err == nil {
			l.seen.look, l.seen.err = l.off(l.seen.matcher)
		}
	}
	return l.seen.matcher, l.seen.look, l.seen.err
}

// off looks at an even grid of the art's pixels, each by how much it counts.
func (l *Laid) off(m *matcher) (v look, err error) {
	design, err := l.Colours.Design()
	if err != nil {
		return v, err
	}
	w, h := l.Art.Width, l.Art.Height
	step := max(1, int(math.Sqrt(float64(w)*float64(h)/offSamples)))
	rows := (h + step - 1) / step
	weights := palette.NewWeights(l.Art)
	found, bare, light, own := make([][]weighed, rows), make([]float64, rows), make([]float64, rows), make([]float64, rows)
	item := l.Job.Colour
	cores.Share(rows, func(lo, hi int) {
		alpha, weight := make([]uint8, w), make([]uint8, w)
		for r := lo; r < hi; r++ {
			y := r * step
			l.Art.Alpha(y, alpha)
			weights.Row(y, weight)
			for x := 0; x < w; x += step {
				if weight[x] == 0 {
					continue
				}
				var tones [4]float64
				for k := range tones { // plates are scaled by alpha
					tones[k] = math.Min(1, float64(l.Plates.Plane[k][y*w+x])/float64(alpha[x]))
				}
				// And so is white; a film's own is everywhere.
				white := math.Min(1, float64(l.Plates.Plane[plate.White][y*w+x])/float64(alpha[x]))
				if l.Job.Medium.OwnWhite {
					white = 1
				}
				want, got := design(l.Art.Fractions(y*w+x)), m.stack.Look(m.model.Lab(tones), white)
				wanted := m.eye.Wanted(want)
				found[r] = append(found[r], weighed{colour.DeltaE00(wanted, m.eye.Seen(got)), int(weight[x])})
				if wanted.L >= lightL && math.Hypot(wanted.A, wanted.B) <= lightC {
					light[r] += float64(weight[x])
				}
				if colour.DeltaE00(want, item) <= l.Job.Shop.Match.Visible {
					own[r] += float64(weight[x])
				}
				bare[r] += colour.DeltaE00(want, got) * float64(weight[x])
			}
		}
	})
	d := slices.Concat(found...)
	if len(d) == 0 {
		return v, fmt.Errorf("%s: %w", l.Art.File, errNothingSolid)
	}
	slices.SortFunc(d, func(a, b weighed) int { return cmp.Compare(a.d, b.d) })
	total, below := 0, 0
	for _, v := range d {
		total += v.weight
	}
	for _, of := range d {
		v.mean += of.d * float64(of.weight) / float64(total)
		if 100*below <= 95*total {
			v.p95 = of.d
		}
		below += of.weight
	}
	for r := range bare {
		v.absolute += bare[r] / float64(total)
		v.light += light[r] / float64(total)
		v.own += own[r] / float64(total)
	}
	return v, nil
}

// lightL and lightC are from which lightness, and up to which chroma, art counts as white.
// Our own figures.
const (
	lightL = 92.0
	lightC = 6.0
)

// weighed is a difference and how much it counts.
type weighed struct {
	d      float64
	weight int
}
