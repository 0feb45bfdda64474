package show

import (
	"fmt"
	"strings"

	"laydown/coverage/proof"
)

// Condition sets what a press says for a terminal.
func Condition(c *proof.Condition, s Style) string {
	var b strings.Builder
	head := c.Name + ": " + c.Kind
	if c.Origin != "" {
		head += ", by " + c.Origin
	}
	b.WriteString(s.para(head, ""))
	const margin = 17
	say := func(name, format string, v ...any) {
		rest := strings.Repeat(" ", margin)
		b.WriteString(fmt.Sprintf("  %-*s", margin-2, name) + strings.TrimPrefix(wrap(fmt.Sprintf(format, v...), rest, rest, s.width()), rest))
	}
	if c.StandIn {
		say("beware", "a stand-in, not your printer; give your own with %s", s.field("press"))
	}
	lab := func(v [3]float64) string { return fmt.Sprintf("L %.1f a %.1f b %.1f", v[0], v[1], v[2]) }
	say("paper", "%s", lab(c.PaperLab))
	say("darkest grey", "%s", lab(c.DarkestNeutralLab))
	whose := "the limit asked about; a data set has none of its own"
	if c.Patches == 0 {
		whose = "the most of its own separation, or the limit given with " + s.field("tac")
	}
	say("total toner", "%.0f %% at most (%s)", c.TACPercent, whose)
	say("gamut", "%.0f cubic ΔE within that limit", c.GamutVolume)
	if h := c.HeldOut; h != nil {
		say("model", "n = %g; %d patches left out in turn are met within ΔE00 %.2f (median), the worst 5 %% exceed %.2f, the largest is %.2f", c.YuleNielsenN, h.Patches, h.Median, h.P95, h.Worst)
	}
	if n := c.Noise; n != nil {
		twice := ""
		if n.Repeated > 0 {
			twice = fmt.Sprintf(" (%.1f by %s measured more than once)", n.RepeatsLab, plural(n.Repeated, "patch", "patches"))
		}
		say("noise", "measurements stray by about %.1f in each of L, a and b%s; the model is smoothed", n.Lab, twice)
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
		say("left out", "%s that the others contradict, the worst%s (C %s M %s Y %s K %s) by ΔE00 %.1f: measure again",
			plural(n, "measurement", "measurements"), name, f1(o.Plates.Cyan), f1(o.Plates.Magenta), f1(o.Plates.Yellow), f1(o.Plates.Black), o.DeltaE00)
	}
	t := &folds{head: []string{"grey (sRGB)", "C", "M", "Y", "K", "sum", "printed Lab"}}
	for _, n := range c.Neutral {
		p := n.Plates
		t.add(fmt.Sprint(n.SRGB), f1(p.Cyan), f1(p.Magenta), f1(p.Yellow), f1(p.Black), f1(p.Cyan+p.Magenta+p.Yellow+p.Black), labText(n.PrintedLab))
	}
	return b.String() + "\n" + t.render(s.width())
}
