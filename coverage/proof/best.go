package proof

import (
	"cmp"
	"errors"
	"fmt"
	"math"
	"strings"

	"laydown/colour"
	"laydown/coverage/artwork"
	"laydown/coverage/fault"
	"laydown/coverage/name"
	"laydown/coverage/order"
	"laydown/coverage/price"
)

// settle returns the job with a process: the one that its order names, or the best for its
// item, with the reason. art may be nil where there is none. Where the processes were
// compared for the art, it returns the choices too. The error says that none suits the item,
// that no sheet holds the print, or that a process must be named: for an order without an
// item nobody can tell.
func settle(j *order.Job, art *order.Art) (*order.Job, *Choices, error) {
	if j.ProcessName != "" {
		return j, nil, nil
	}
	suited := j.Shop.SuitedTo(j.Item)
	switch {
	case j.Item.Unknown:
		return nil, nil, fault.In("process", fmt.Errorf("without an item it must be said how it is printed: choose %s", name.Or(suited)))
	case len(suited) == 0:
		return nil, nil, unsuited(j)
	case len(suited) == 1:
		p, err := j.Shop.Process(suited[0])
		if err != nil {
			return nil, nil, err
		}
		j, err = j.Named(p, "it is the only one for "+cmp.Or(j.Item.Material, j.Item.Name), "")
		return j, nil, err
	}
	c, forArt, err := choicesFor(j, art)
	if err != nil {
		return nil, nil, err
	}
	p, err := j.Shop.Process(c.Pick)
	if err != nil {
		return nil, nil, err
	}
	if j, err = j.Named(p, c.because(), c.close()); err != nil || !forArt {
		c = nil
	}
	return j, c, err
}

// unsuited says that the shop has no process for the job's item.
func unsuited(j *order.Job) error {
	return fmt.Errorf("no process of the shop file is for %s, the material of %s: add it to a process's materials", j.Item.Material, j.Item.Name)
}

// choicesFor compares the processes for a job by their own white rules: for its art, or by
// solid colours where there is no art or none that can be seen.
func choicesFor(j *order.Job, art *order.Art) (c *Choices, forArt bool, err error) {
	plain := *j
	plain.EveryRule = false
	if art != nil {
		c, refused, err := compare(&plain, art, nil)
		if err != nil || c != nil {
			return c, true, err
		}
		if !errors.Is(refused, errNothingSolid) {
			return nil, false, refused
		}
	}
	c, err = compareSolids(&plain)
	return c, false, err
}

// because is the pick's reason without names and figures, which the comparison has.
func (c *Choices) because() string {
	_, why, ok := strings.Cut(c.Reason, ": ")
	if !ok {
		why = c.Reason
	}
	why, _, _ = strings.Cut(why, ": ")
	why, _, _ = strings.Cut(why, " on "+c.Item.Said())
	return "it is " + strings.TrimSuffix(why, ".")
}

// closeCost is how much more than the pick another process may cost, toner and media, and
// still be told as about as good: our own figure. Of the price of a piece, it is little.
const closeCost = 1.25

// close is the cheapest process beside the pick that looks as good and costs about as much;
// "" if there is none.
func (c *Choices) close() string {
	var won, next *Choice
	for i, v := range c.Choices {
		if v.Process == c.Pick && v.WhiteRule == c.PickRule {
			won = &c.Choices[i]
		}
	}
	if won == nil {
		return ""
	}
	most := won.cost.InexactFloat64() * closeCost
	for i, v := range c.Choices {
		if v.Process != c.Pick && v.MeanDeltaE <= won.MeanDeltaE+asGood && v.cost.InexactFloat64() <= most &&
			v.PrintWhite.Lab[0] >= won.PrintWhite.Lab[0]-asLight && (next == nil || v.cost.LessThan(next.cost)) {
			next = &c.Choices[i]
		}
	}
	if next == nil {
		return ""
	}
	return next.Process
}

// compareSolids compares the processes that suit a job's item by how far its solid colours
// and their overprints, and bare white, look from what they are on paper; cost is that of a
// transfer's media.
func compareSolids(j *order.Job) (*Choices, error) {
	out := &Choices{Currency: j.Shop.Currency, Item: itemFacts(j)}
	for _, of := range j.Shop.SuitedTo(j.Item) {
		p, err := j.Shop.Process(of)
		if err != nil {
			return nil, err
		}
		as, err := j.With(*p)
		if err != nil {
			return nil, err
		}
		m, err := newMatcher(as)
		if err != nil {
			return nil, err
		}
		sum, worst := 0.0, 0.0
		for mix := range 8 { // of cyan, magenta and yellow
			tones := [4]float64{float64(mix & 1), float64(mix >> 1 & 1), float64(mix >> 2 & 1)}
			if over := (tones[0] + tones[1] + tones[2]) * 100 / as.Limit; over > 1 {
				for k := range tones {
					tones[k] /= over
				}
			}
			onPaper := m.model.Lab(tones)
			d := colour.DeltaE00(m.eye.Wanted(onPaper), m.eye.Seen(m.stack.Look(onPaper, m.white(onPaper))))
			sum, worst = sum+d, math.Max(worst, d)
		}
		c := Choice{Process: p.Name, WhiteRule: string(p.White), MeanDeltaE: to(sum/8, 2), P95DeltaE: to(worst, 2), PrintWhite: m.printWhite(), light: 1, cost: as.Medium.TransferPrice().Round(price.Places)}
		c.MediaEach = c.cost.StringFixed(price.Places)
		c.CostEach = c.MediaEach
		out.Choices = append(out.Choices, c)
	}
	if len(out.Choices) == 0 {
		return nil, unsuited(j)
	}
	out.pick(j.Shop.Match.Near)
	return out, nil
}

// fits looks, before the art is decoded, whether the job can be done at all: by its process,
// or where none is named by any that suits the item.
func fits(j *order.Job, art artwork.Info, colours *order.Colours) error {
	var first error
	for _, of := range j.Shop.SuitedTo(j.Item) {
		p, err := j.Shop.Process(of)
		if err != nil {
			return err
		}
		as, err := j.With(*p)
		if err != nil {
			return err
		}
		if _, err = newPlan(as, art, colours); err == nil {
			return nil
		}
		if first == nil {
			first = err
		}
	}
	if first == nil {
		first = unsuited(j)
	}
	return first
}
