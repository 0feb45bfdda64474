package proof

import (
	"cmp"
	"errors"
	"fmt"
	"math"
	"slices"

	"github.com/shopspring/decimal"

	"laydown/colour"
	"laydown/colour/cores"
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
	Pick     string   `json:"pick"`
	PickRule string   `json:"pick_white_rule"`
	Reason   string   `json:"reason"`

	*Head // nil within a proof, which has its own
}

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
	CostEach     string  `json:"cost_each"` // toner and media
	Advice       string  `json:"advice"`

	cost decimal.Decimal
}

// asGood is how much worse in mean ΔE00 than the best a cheaper process may
// look and still be picked, and asLight by how much L* its white may be darker.
const (
	asGood  = 1.0
	asLight = 8.0
)

// Compare works out the choices for an order; its ProcessName is not looked at.
// Processes for other materials are left out, and those whose sheet cannot hold
// the print, unless none is left, which is an error; so is an order for no item.
func Compare(o order.Order) (*Choices, error) {
	j, err := o.Resolve()
	if err != nil {
		return nil, err
	}
	if j.Item.Unknown {
		return nil, fault.In("item", errors.New("nobody can say which process suits no item: name the item, or one of the shop file's loose goods"))
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
	if err == nil {
		c.Head = headOf(j, nil)
	}
	return c, err
}

// compare works out the choices for an art; one may be known. Where there are none, it
// returns why the first was refused.
func compare(j *order.Job, art *order.Art, known *Proof) (out *Choices, refused, err error) {
	out = &Choices{Currency: j.Shop.Currency, Item: itemFacts(j)}
	refused = unsuited(j)
	tried := false
	for _, process := range j.Shop.Processes {
		if !j.Shop.Suits(&process, j.Item) {
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
	out.pick()
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

// pick takes, of the processes that look as good as the best, and of those the ones
// whose white is about as light as the lightest, the cheapest.
func (c *Choices) pick() {
	best, lightest := math.Inf(1), 0.0
	for _, v := range c.Choices {
		best = math.Min(best, v.MeanDeltaE)
	}
	good := func(v Choice) bool { return v.MeanDeltaE <= best+asGood }
	for _, v := range c.Choices {
		if good(v) {
			lightest = math.Max(lightest, v.PrintWhite.Lab[0])
		}
	}
	at := -1
	for i, v := range c.Choices {
		if good(v) && v.PrintWhite.Lab[0] >= lightest-asLight && (at < 0 || v.cost.LessThan(c.Choices[at].cost)) {
			at = i
		}
	}
	won := c.Choices[at]
	c.Pick, c.PickRule = won.Process, won.WhiteRule
	c.Reason = fmt.Sprintf("%s, white %s: at %s %s the cheapest within ΔE00 %.0f of the best look on %s (mean ΔE00 %.1f from the design, beside a white of L* %.0f).",
		won.Process, won.WhiteRule, c.Currency, won.CostEach, asGood, c.Item.Said(), won.MeanDeltaE, told(won.PrintWhite.Lab[0]))
}

// MeanNote explains a mean that is above what 95 % of the art is up to; "" if none is.
func (c *Choices) MeanNote() string {
	note := ""
	for _, v := range c.Choices {
		if v.MeanDeltaE <= v.P95DeltaE {
			continue
		}
		note = `Where the mean is above "95 % up to", less than 5 % of the art is far off and counts into the mean`
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
	m, err := newMatcher(p.Laid.Job)
	if err != nil {
		return Choice{}, err
	}
	mean, p95, absolute, err := p.Laid.off(m)
	if err != nil {
		return Choice{}, err
	}
	toner, j := p.Toner.Print.Total, p.Laid.Job
	media := j.Medium.TransferPrice().DivRound(decimal.NewFromInt(int64(p.Laid.Layout.Copies())), price.Places)
	c := Choice{Process: p.Process.Name, WhiteRule: p.Process.WhiteRule, MeanDeltaE: to(mean, 2), P95DeltaE: to(p95, 2), MeanAbsolute: to(absolute, 2), PrintWhite: m.printWhite(),
		WhitePercent: p.Plates.White.PrintPercent, TonerEach: toner.StringFixed(price.Places), MediaEach: media.StringFixed(price.Places),
		cost: toner.Add(media)}
	c.CostEach = c.cost.StringFixed(price.Places)
	limits := j.Shop.Match
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

var errNothingSolid = errors.New("all of the art is clear, or so nearly that it cannot be seen: there is nothing to compare. Give art with more than 5 % alpha")

// offSamples is about how many pixels of the art are compared.
const offSamples = 60000

// off says how far the design is from its look on the item, in ΔE00, over an even grid of
// the pixels, each by how much it counts: mean and 95th percentile as an eye sees them,
// the design beside its paper and the look beside its own white, and the mean of the
// absolute colours.
func (l *Laid) off(m *matcher) (mean, p95, absolute float64, err error) {
	design, err := l.Colours.Design()
	if err != nil {
		return 0, 0, 0, err
	}
	w, h := l.Art.Width, l.Art.Height
	step := max(1, int(math.Sqrt(float64(w)*float64(h)/offSamples)))
	rows := (h + step - 1) / step
	weights := palette.NewWeights(l.Art)
	found, bare := make([][]weighed, rows), make([]float64, rows)
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
				found[r] = append(found[r], weighed{colour.DeltaE00(m.eye.Wanted(want), m.eye.Seen(got)), int(weight[x])})
				bare[r] += colour.DeltaE00(want, got) * float64(weight[x])
			}
		}
	})
	d := slices.Concat(found...)
	if len(d) == 0 {
		return 0, 0, 0, fmt.Errorf("%s: %w", l.Art.File, errNothingSolid)
	}
	slices.SortFunc(d, func(a, b weighed) int { return cmp.Compare(a.d, b.d) })
	total, below := 0, 0
	for _, v := range d {
		total += v.weight
	}
	for _, v := range d {
		mean += v.d * float64(v.weight) / float64(total)
		if 100*below <= 95*total {
			p95 = v.d
		}
		below += v.weight
	}
	for _, v := range bare {
		absolute += v / float64(total)
	}
	return mean, p95, absolute, nil
}

// weighed is a difference and how much it counts.
type weighed struct {
	d      float64
	weight int
}
