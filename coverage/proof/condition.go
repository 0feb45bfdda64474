package proof

import (
	"fmt"
	"strings"

	"github.com/jedib0t/go-pretty/v6/table"

	"laydown/colour/press"
)

// Condition is what a press's profile or data set says, as the profile command
// prints it.
type Condition struct {
	Name              string          `json:"name"`
	Origin            string          `json:"origin,omitempty"`
	Kind              string          `json:"kind"`
	StandIn           bool            `json:"stand_in"`
	Patches           int             `json:"patches,omitempty"`
	YuleNielsenN      float64         `json:"yule_nielsen_n"`
	HeldOut           *HeldOut        `json:"held_out,omitempty"`
	PaperLab          [3]float64      `json:"paper_lab"`
	DarkestNeutralLab [3]float64      `json:"darkest_neutral_lab"`
	TACPercent        float64         `json:"tac_percent"`
	GamutVolume       float64         `json:"gamut_volume"`
	Neutral           []ConditionGrey `json:"neutral_axis"`

	job   *job
	gamut *press.Gamut
	tac   float64 // as in press.Options
}

// HeldOut is how well the model predicts patches left out of its fit.
type HeldOut struct {
	Patches       int     `json:"patches"`
	MedianDeltaE  float64 `json:"median_delta_e00"`
	P95DeltaE     float64 `json:"p95_delta_e00"`
	LargestDeltaE float64 `json:"largest_delta_e00"`
}

// ConditionGrey is one grey and how it prints.
type ConditionGrey struct {
	SRGB       int        `json:"srgb"`
	Plates     Tones      `json:"plates"`
	PrintedLab [3]float64 `json:"printed_lab"`
}

// Describe works out what there is to say about the order's press. ArtPath is
// only looked at by [Condition.GamutPlot].
func Describe(o Order) (*Condition, error) {
	j, err := o.resolve()
	if err != nil {
		return nil, err
	}
	plain := j.options
	plain.PureBlack = false // the axis itself is asked about
	d, err := o.Press.Describe(plain)
	if err != nil {
		return nil, err
	}
	c := &Condition{Name: d.Name, Origin: d.Origin, Kind: d.Kind, StandIn: o.Press.StandIn, Patches: d.Patches, YuleNielsenN: d.N,
		PaperLab: lab3(d.Paper), DarkestNeutralLab: lab3(d.Dark), TACPercent: to(d.TACPercent, 1), GamutVolume: to(d.Gamut.Volume(), -3),
		job: j, gamut: d.Gamut, tac: d.TACPercent / 100}
	if h := d.HeldOut; h != (press.HeldOut{}) {
		c.HeldOut = &HeldOut{h.Patches, to(h.Median, 3), to(h.P95, 3), to(h.Worst, 3)}
	}
	for _, n := range d.Neutral {
		g := ConditionGrey{SRGB: n.SRGB, PrintedLab: lab3(n.Printed)}
		for k, v := range n.CMYK {
			*g.Plates.at(k) = to(v*100, 1)
		}
		c.Neutral = append(c.Neutral, g)
	}
	return c, nil
}

// Text sets the condition for a terminal.
func (c *Condition) Text() string {
	var b strings.Builder
	fmt.Fprintf(&b, "%s: %s", c.Name, c.Kind)
	if c.Origin != "" {
		fmt.Fprintf(&b, ", by %s", c.Origin)
	}
	b.WriteString("\n")
	if c.StandIn {
		b.WriteString("  a stand-in, not your printer; give your own with laydown profile FILE\n")
	}
	lab := func(v [3]float64) string { return fmt.Sprintf("L %.1f a %.1f b %.1f", v[0], v[1], v[2]) }
	fmt.Fprintf(&b, "  paper          %s\n  darkest grey   %s\n", lab(c.PaperLab), lab(c.DarkestNeutralLab))
	whose := "the limit asked about; a data set has none of its own"
	if c.Patches == 0 {
		whose = "the most of its own separation, or the limit given with --tac"
	}
	fmt.Fprintf(&b, "  total toner    %.0f %% (%s)\n  gamut          %.0f cubic ΔE under that\n", c.TACPercent, whose, c.GamutVolume)
	if h := c.HeldOut; h != nil {
		fmt.Fprintf(&b, "  model          n = %g; of %d patches left out in turn, ΔE00 median %.2f, 95 %% up to %.2f, largest %.2f\n",
			c.YuleNielsenN, h.Patches, h.MedianDeltaE, h.P95DeltaE, h.LargestDeltaE)
	}
	t := newTable("grey (sRGB)", "C", "M", "Y", "K", "sum", "printed L a b")
	rightFrom(t, 1, 7)
	for _, n := range c.Neutral {
		p := n.Plates
		t.AppendRow(table.Row{n.SRGB, f1(p.Cyan), f1(p.Magenta), f1(p.Yellow), f1(p.Black), f1(p.Cyan + p.Magenta + p.Yellow + p.Black),
			labText(n.PrintedLab)})
	}
	return b.String() + "\n" + t.Render() + "\n"
}

func f1(v float64) string { return fmt.Sprintf("%.1f", v) }
