package show

import (
	"fmt"
	"laydown/coverage/proof"
)

// Choices sets a choice of process for a terminal: whether white is needed, what is
// recommended, which is picked, and the others beside it.
func Choices(c *proof.Choices, picked *proof.Proof, s Style) string {
	out := s.block(picked, s.opening(c.Head, nil, c.Answer))
	return out + "\n" + choicesTable(c, s, true) + s.para("Recommended: "+c.Reason, "")
}

// choices is the same as a part of a proof.
func choices(c *proof.Choices, s Style, full bool) string {
	out := s.para(c.Answer, "") + choicesTable(c, s, full)
	if full {
		return out + s.para("Recommended: "+c.Reason, "")
	}
	return out
}

func choicesTable(c *proof.Choices, s Style, full bool) string {
	head := []string{c.Currency + " a print", "white", "average difference", "worst 5 % above", "white toner", "toner", "media", "cutting", "total"}
	if !full {
		head = []string{c.Currency + " a print", "white", "average difference", "toner", "media", "cutting", "total"}
	}
	if s.Full {
		head = append(head, "off, absolute", "white Lab, absolute")
	}
	t := &folds{head: head, left: map[int]bool{1: true}}
	advice := ""
	for _, v := range c.Choices {
		name := v.Process
		if v.Process == c.Pick && v.WhiteRule == c.PickRule {
			name += " *"
		}
		white := v.WhiteRule
		if v.OwnWhite() {
			white = "film"
		}
		row := []string{name, white, f1(v.MeanDeltaE), f1(v.P95DeltaE), pct(v.WhitePercent), v.TonerEach, v.MediaEach, v.CuttingEach, v.CostEach}
		if !full {
			row = []string{name, white, f1(v.MeanDeltaE), v.TonerEach, v.MediaEach, v.CuttingEach, v.CostEach}
		}
		if s.Full {
			row = append(row, f1(v.MeanAbsolute), labText(v.PrintWhite.Lab))
		}
		t.add(row...)
		advice += wrap(fmt.Sprintf("%s: %s", v.Process, v.Advice), "  ", "    ", s.width())
	}
	out := t.render(s.width())
	const marked = "* recommended; differences are those of the look from the design (ΔE00)"
	if !full {
		return out + s.para(marked, "  ")
	}
	if s.Full || len(c.Choices) <= 4 {
		out += advice
	}
	if note := c.MeanNote(); note != "" {
		out += s.para(note, "  ")
	}
	return out + s.para(marked, "  ")
}
