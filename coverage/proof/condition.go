package proof

import (
	"laydown/colour"
	"laydown/colour/press"
	"laydown/coverage/artwork"
	"laydown/coverage/order"
	"laydown/coverage/palette"
)

// Condition is what a press's profile or data set says, as the profile command
// prints it.
type Condition struct {
	Name              string             `json:"name"`
	Origin            string             `json:"origin,omitempty"`
	Kind              string             `json:"kind"`
	StandIn           bool               `json:"stand_in"`
	Patches           int                `json:"patches,omitempty"`
	YuleNielsenN      float64            `json:"yule_nielsen_n"`
	HeldOut           *press.HeldOut     `json:"held_out,omitempty"`
	Noise             *ConditionNoise    `json:"noise,omitempty"`
	Outliers          []ConditionOutlier `json:"outliers,omitempty"`
	PaperLab          [3]float64         `json:"paper_lab"`
	DarkestNeutralLab [3]float64         `json:"darkest_neutral_lab"`
	TACPercent        float64            `json:"tac_percent"`
	GamutVolume       float64            `json:"gamut_volume"`
	Neutral           []ConditionGrey    `json:"neutral_axis"`
	*Head

	job     *order.Job
	gamut   *press.Gamut
	options press.Options // under TACPercent
}

// ConditionNoise is how far one measurement strays, as the standard deviation of
// each of L, a and b; there if the model is smoothed for it.
type ConditionNoise struct {
	Lab        float64 `json:"lab"`
	Repeated   int     `json:"repeated_patches,omitempty"`
	RepeatsLab float64 `json:"repeats_lab,omitempty"` // by the patches measured more than once
}

// ConditionOutlier is a measurement that does not fit the others and was left out.
type ConditionOutlier struct {
	Patch       string     `json:"patch,omitempty"` // its place, name or number in the file
	Plates      Tones      `json:"plates"`
	MeasuredLab [3]float64 `json:"measured_lab"`
	ExpectedLab [3]float64 `json:"expected_lab"`
	DeltaE00    float64    `json:"delta_e00"`
}

// ConditionGrey is one grey and how it prints.
type ConditionGrey struct {
	SRGB       int        `json:"srgb"`
	Plates     Tones      `json:"plates"`
	PrintedLab [3]float64 `json:"printed_lab"`
}

// Describe works out what there is to say about the order's press. ArtPath is
// only looked at by [Condition.Gamut].
func Describe(o order.Order) (*Condition, error) {
	j, err := o.Resolve()
	if err != nil {
		return nil, err
	}
	plain := j.Options
	plain.PureBlack = false // the axis itself is asked about
	d, err := o.Press.Describe(plain)
	if err != nil {
		return nil, err
	}
	c := &Condition{Name: d.Name, Origin: d.Origin, Kind: d.Kind, StandIn: o.Press.StandIn, Patches: d.Patches, YuleNielsenN: d.N,
		PaperLab: lab3(d.Paper), DarkestNeutralLab: lab3(d.Dark), TACPercent: to(d.TACPercent, 1), GamutVolume: to(d.Gamut.Volume(), -3),
		Head: HeadOf(j.Shop), job: j, gamut: d.Gamut, options: j.Options}
	if o.ProcessName == "" { // no item is asked about, so none can be the best for it
		c.Assumed = []order.Assumption{{Field: "process", Value: j.Process.Name, Because: "it is the shop's default; its printer and media set the toner limit"}}
	}
	c.options.TAC = d.TACPercent / 100
	if h := d.HeldOut; h != (press.HeldOut{}) {
		c.HeldOut = &press.HeldOut{Patches: h.Patches, Median: to(h.Median, 3), P95: to(h.P95, 3), Worst: to(h.Worst, 3)}
	}
	if n := d.Noise; n != nil {
		c.Noise = &ConditionNoise{Lab: to(n.Lab, 2), Repeated: n.Repeated, RepeatsLab: to(n.RepeatsLab, 2)}
	}
	for _, w := range d.Outliers {
		c.Outliers = append(c.Outliers, ConditionOutlier{w.Name, percents(w.CMYK), lab3(w.Measured), lab3(w.Expected), to(w.DeltaE00, 2)})
	}
	for _, n := range d.Neutral {
		g := ConditionGrey{SRGB: n.SRGB, Plates: percents(n.CMYK), PrintedLab: lab3(n.Printed)}
		c.Neutral = append(c.Neutral, g)
	}
	return c, nil
}

func percents(cmyk [4]float64) (t Tones) {
	for k, v := range cmyk {
		*t.At(k) = to(v*100, 1)
	}
	return t
}

// Gamut is what a press prints on its own paper, and the colours of an art beside it.
type Gamut struct {
	Press           string
	TACPercent      float64
	Outline         []colour.Lab // seen along the L axis, absolute under D50
	Inside, Outside []colour.Lab // the art's colours as they are meant to look in print
	WithArt         bool         // an art was named
}

// Gamut works out the outline of what the press prints and, if the order names an
// art, which of its colours lie within.
func (c *Condition) Gamut() (*Gamut, error) {
	g := &Gamut{Press: c.job.Press.Name, TACPercent: c.options.TAC * 100, WithArt: c.job.ArtPath != ""}
	var err error
	if g.Outline, err = c.job.Press.Outline(c.options); err != nil || !g.WithArt {
		return g, err
	}
	opened, err := c.job.Open()
	if err != nil {
		return nil, err
	}
	art, err := opened.Decode()
	if err != nil {
		return nil, err
	}
	design, err := art.Colours.Design()
	if err != nil {
		return nil, err
	}
	for _, lab := range frequent(art.Picture, design) {
		if c.gamut.Contains(lab) {
			g.Inside = append(g.Inside, lab)
		} else {
			g.Outside = append(g.Outside, lab)
		}
	}
	return g, nil
}

// mostFrequent is the most colours of the art that are set beside a gamut.
const mostFrequent = 1500

// frequent are the art's most frequent colours, one of each bucket of 8 codes.
func frequent(art *artwork.Art, design order.ToLab) []colour.Lab {
	seen := map[artwork.Device]bool{}
	var out []colour.Lab
	for _, c := range palette.Count(art) {
		key := palette.Bucket(c.Device)
		if seen[key] {
			continue
		}
		seen[key] = true
		if out = append(out, design(c.Device.Fractions())); len(out) == mostFrequent {
			break
		}
	}
	return out
}
