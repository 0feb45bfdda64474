package show

import (
	"fmt"
	"strings"

	"github.com/jedib0t/go-pretty/v6/table"

	"laydown/coverage/proof"
)

// Condition sets what a press says for a terminal.
func Condition(c *proof.Condition, s Style) string {
	var b strings.Builder
	fmt.Fprintf(&b, "%s: %s", c.Name, c.Kind)
	if c.Origin != "" {
		fmt.Fprintf(&b, ", by %s", c.Origin)
	}
	b.WriteString("\n")
	if c.StandIn {
		fmt.Fprintf(&b, "  a stand-in, not your printer; give your own with %s\n", s.field("press"))
	}
	lab := func(v [3]float64) string { return fmt.Sprintf("L %.1f a %.1f b %.1f", v[0], v[1], v[2]) }
	fmt.Fprintf(&b, "  paper          %s\n  darkest grey   %s\n", lab(c.PaperLab), lab(c.DarkestNeutralLab))
	whose := "the limit asked about; a data set has none of its own"
	if c.Patches == 0 {
		whose = "the most of its own separation, or the limit given with " + s.field("tac")
	}
	fmt.Fprintf(&b, "  total toner    %.0f %% (%s)\n  gamut          %.0f cubic ΔE under that\n", c.TACPercent, whose, c.GamutVolume)
	if h := c.HeldOut; h != nil {
		fmt.Fprintf(&b, "  model          n = %g; of %d patches left out in turn, ΔE00 median %.2f, 95 %% up to %.2f, largest %.2f\n",
			c.YuleNielsenN, h.Patches, h.Median, h.P95, h.Worst)
	}
	if n := c.Noise; n != nil {
		fmt.Fprintf(&b, "  noise          measurements stray by about %.1f in each of L, a and b", n.Lab)
		if n.Repeated > 0 {
			fmt.Fprintf(&b, " (%.1f by %s measured more than once)", n.RepeatsLab, plural(n.Repeated, "patch", "patches"))
		}
		b.WriteString("; the model is smoothed\n")
	}
	if n := len(c.Outliers); n > 0 {
		o := c.Outliers[0]
		for _, p := range c.Outliers {
			if p.DeltaE00 > o.DeltaE00 {
				o = p
			}
		}
		name := ""
		if o.Patch != "" {
			name = " " + o.Patch
		}
		fmt.Fprintf(&b, "  left out       %s that the others contradict, the worst%s (C %s M %s Y %s K %s) by ΔE00 %.1f: measure again\n",
			plural(n, "measurement", "measurements"), name, f1(o.Plates.Cyan), f1(o.Plates.Magenta), f1(o.Plates.Yellow), f1(o.Plates.Black), o.DeltaE00)
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
