package show

import (
	"fmt"

	"github.com/jedib0t/go-pretty/v6/table"

	"laydown/coverage/proof"
)

// Choices sets a choice of process for a terminal.
func Choices(c *proof.Choices, s Style) string {
	head := []any{"process", "white", "mean ΔE00", "95 % up to", "white toner", "toner each", "media each", "together", ""}
	if s.Full {
		head = append(head, "mean ΔE00, absolute", "white L a b, absolute")
	}
	t := newTable(head...)
	rightFrom(t, 3, 8)
	for _, v := range c.Choices {
		mark := v.Advice
		if v.Process == c.Pick && v.WhiteRule == c.PickRule {
			mark = "pick. " + mark
		}
		row := table.Row{v.Process, v.WhiteRule, f1(v.MeanDeltaE), f1(v.P95DeltaE), pct(v.WhitePercent), v.TonerEach, v.MediaEach, v.CostEach, mark}
		if s.Full {
			row = append(row, f1(v.MeanAbsolute), labText(v.PrintWhite.Lab))
		}
		t.AppendRow(row)
	}
	note := c.MeanNote()
	if note != "" {
		note = indent(note, "  ")
	}
	return fmt.Sprintf("On %s, in %s:\n\n%s\n%s\nPick %s\n", c.Item.SaidInFull(), c.Currency, t.Render(), note, c.Reason)
}
