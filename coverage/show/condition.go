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
	t := newTable("grey (sRGB)", "C", "M", "Y", "K", "sum", "printed L a b")
	rightFrom(t, 1, 7)
	for _, n := range c.Neutral {
		p := n.Plates
		t.AppendRow(table.Row{n.SRGB, f1(p.Cyan), f1(p.Magenta), f1(p.Yellow), f1(p.Black), f1(p.Cyan + p.Magenta + p.Yellow + p.Black),
			labText(n.PrintedLab)})
	}
	return b.String() + "\n" + t.Render() + "\n"
}
