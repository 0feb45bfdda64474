package proof

import (
	"errors"
	"fmt"
	"math"
	"slices"

	"github.com/jedib0t/go-pretty/v6/table"
	"github.com/shopspring/decimal"

	"laydown/colour"
	"laydown/colour/cores"
	"laydown/coverage/plate"
	"laydown/coverage/price"
)

// Choices compares every process of the shop for one art on one item, and picks
// one.
type Choices struct {
	Currency string   `json:"currency"`
	Item     Item     `json:"item"`
	Choices  []Choice `json:"choices"`
	Pick     string   `json:"pick"`
	PickRule string   `json:"pick_white_rule"`
	Reason   string   `json:"reason"`
}

// Choice is one process: how far the art will look from its design on the item,
// and what toner and media cost for one print.
type Choice struct {
	Process      string  `json:"process"`
	WhiteRule    string  `json:"white_rule"`
	MeanDeltaE   float64 `json:"mean_delta_e00"`
	P95DeltaE    float64 `json:"p95_delta_e00"`
	WhitePercent float64 `json:"white_print_percent"`
	TonerEach    string  `json:"toner_each"`
	MediaEach    string  `json:"media_each"`
	CostEach     string  `json:"cost_each"` // toner and media
	Advice       string  `json:"advice"`

	cost decimal.Decimal
}

// asGood is how much worse in mean ΔE00 than the best a cheaper process may
// look and still be picked.
const asGood = 1.0

// Compare works out the choices for an order; its Process is not looked at.
// Processes for other materials are left out, and those whose sheet cannot hold
// the print, unless none is left, which is an error.
func Compare(o Order) (*Choices, error) {
	j, err := o.resolve()
	if err != nil {
		return nil, err
	}
	pic, err := o.open()
	if err != nil {
		return nil, err
	}
	c, refused, err := j.compare(pic, nil)
	if err != nil {
		return nil, err
	}
	if c == nil {
		return nil, refused
	}
	return c, nil
}

// compared is the proof's own order compared over the shop's processes, or nil
// if none suits.
func (p *Proof) compared(pic *picture) (*Choices, error) {
	c, _, err := p.job.compare(pic, p)
	return c, err
}

// compare works out the choices, of which one may be known. Where there are
// none, it returns why the first was refused.
func (j *job) compare(pic *picture, known *Proof) (out *Choices, refused, err error) {
	out = &Choices{Currency: j.Shop.Currency, Item: j.itemFacts()}
	refused = fmt.Errorf("no process of the shop file is for %s, the material of %s: add it to a process's materials", j.item.Material, j.item.Name)
	tried := false
	for _, process := range j.Shop.Processes {
		if !j.Shop.Suits(&process, j.item.Material) {
			continue
		}
		rules := []plate.Rule{process.White}
		if j.EveryRule && process.White != plate.NoWhite {
			rules = plate.Rules
		}
		for _, rule := range rules {
			p := known
			if p == nil || process.Name != p.Process.Name || rule != process.White {
				o := j.Order
				o.Process = process.Name
				own, err := o.resolve()
				if err != nil {
					return nil, nil, err
				}
				as := *own.process
				as.White, own.process = rule, &as
				if p, err = own.make(pic); err != nil {
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
	out.pick()
	return out, nil, nil
}

func (c *Choices) pick() {
	best := math.Inf(1)
	for _, v := range c.Choices {
		best = math.Min(best, v.MeanDeltaE)
	}
	at := -1
	for i, v := range c.Choices {
		if v.MeanDeltaE <= best+asGood && (at < 0 || v.cost.LessThan(c.Choices[at].cost)) {
			at = i
		}
	}
	won := c.Choices[at]
	c.Pick, c.PickRule = won.Process, won.WhiteRule
	c.Reason = fmt.Sprintf("%s, white %s: at %s %s the cheapest within ΔE00 %.0f of the best look on %s (mean ΔE00 %.1f from the design).",
		won.Process, won.WhiteRule, c.Currency, won.CostEach, asGood, c.Item.Name, won.MeanDeltaE)
}

// choice measures the look of the proof's own process.
func (p *Proof) choice() (Choice, error) {
	mean, p95, err := p.look()
	if err != nil {
		return Choice{}, err
	}
	toner := decimal.RequireFromString(p.Toner.Print.Total)
	media := p.job.medium.TransferPrice().DivRound(decimal.NewFromInt(int64(p.layout.Copies())), price.Places)
	c := Choice{Process: p.Process.Name, WhiteRule: p.Process.WhiteRule, MeanDeltaE: to(mean, 2), P95DeltaE: to(p95, 2),
		WhitePercent: p.Plates.White.PrintPercent, TonerEach: toner.StringFixed(price.Places), MediaEach: media.StringFixed(price.Places),
		cost: toner.Add(media)}
	c.CostEach = c.cost.StringFixed(price.Places)
	limits := p.job.Shop.Match
	switch {
	case mean <= limits.Near && p95 <= limits.Visible:
		c.Advice = "Looks as designed."
	case mean <= limits.Near:
		c.Advice = "Looks as designed, but for its most vivid colours."
	case mean <= 2*limits.Visible:
		c.Advice = "Colours shift visibly: show the customer a sample."
	default:
		c.Advice = "The item shows through and spoils the colours: not for this item."
	}
	return c, nil
}

var errNothingSolid = errors.New("no part of the art is solid: there is nothing to compare")

// lookSamples is about how many pixels of the art are compared.
const lookSamples = 60000

// look compares the design with its look on the item, over an even grid of the
// pixels that are at least half solid. The design is media-relative: its white
// is the press's paper.
func (p *Proof) look() (mean, p95 float64, err error) {
	model, err := p.job.Press.Model()
	if err != nil {
		return 0, 0, err
	}
	stack, _, err := p.job.stack()
	if err != nil {
		return 0, 0, err
	}
	design, err := p.design()
	if err != nil {
		return 0, 0, err
	}
	w, h := p.art.Width, p.art.Height
	step := max(1, int(math.Sqrt(float64(w)*float64(h)/lookSamples)))
	rows := (h + step - 1) / step
	found := make([][]float64, rows)
	cores.Share(rows, func(lo, hi int) {
		alpha := make([]uint8, w)
		for r := lo; r < hi; r++ {
			y := r * step
			p.art.Alpha(y, alpha)
			for x := 0; x < w; x += step {
				if alpha[x] < 128 {
					continue
				}
				var tones [4]float64
				for k := range tones { // plates are scaled by alpha
					tones[k] = math.Min(1, float64(p.plates.Plane[k][y*w+x])/float64(alpha[x]))
				}
				white := float64(p.plates.Plane[plate.White][y*w+x]) / 255
				if p.job.medium.OwnWhite {
					white = 1
				}
				want, got := design(p.art.Fractions(y*w+x)), stack.Look(model.Lab(tones), white)
				found[r] = append(found[r], colour.DeltaE00(want, got))
			}
		}
	})
	d := slices.Concat(found...)
	if len(d) == 0 {
		return 0, 0, fmt.Errorf("%s: %w", p.art.File, errNothingSolid)
	}
	slices.Sort(d)
	for _, v := range d {
		mean += v / float64(len(d))
	}
	return mean, d[len(d)*95/100], nil
}

// Text sets the choices for a terminal.
func (c *Choices) Text() string {
	t := newTable("process", "white", "mean ΔE00", "95 % up to", "white toner", "toner each", "media each", "together", "")
	rightFrom(t, 3, 8)
	for _, v := range c.Choices {
		mark := v.Advice
		if v.Process == c.Pick && v.WhiteRule == c.PickRule {
			mark = "pick. " + mark
		}
		t.AppendRow(table.Row{v.Process, v.WhiteRule, f1(v.MeanDeltaE), f1(v.P95DeltaE), pct(v.WhitePercent), v.TonerEach, v.MediaEach, v.CostEach, mark})
	}
	return fmt.Sprintf("On %s (%s), in %s:\n\n%s\n\nPick %s\n", c.Item.Name, c.Item.Colour, c.Currency, t.Render(), c.Reason)
}
