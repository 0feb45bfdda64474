package proof

import (
	"fmt"
	"strings"
	"unicode/utf8"

	"github.com/jedib0t/go-pretty/v6/table"
	"github.com/jedib0t/go-pretty/v6/text"

	"laydown/coverage/flaw"
	"laydown/coverage/plate"
)

// Style is how text is set for a terminal.
type Style struct{ Colour bool }

func (s Style) paint(c text.Color, v string) string {
	if !s.Colour {
		return v
	}
	return c.Sprint(v)
}

func (s Style) severity(v flaw.Severity) string {
	return s.paint(map[flaw.Severity]text.Color{flaw.Stop: text.FgHiRed, flaw.Look: text.FgHiYellow, flaw.Note: text.FgHiBlue}[v], string(v))
}

func newTable(head ...any) table.Writer {
	t := table.NewWriter()
	t.SetStyle(table.StyleLight)
	t.Style().Options.DrawBorder = false
	t.Style().Options.SeparateColumns = false
	t.Style().Format.Header = text.FormatDefault
	t.Style().Format.Footer = text.FormatDefault
	t.AppendHeader(head)
	return t
}

func rightFrom(t table.Writer, first, last int) {
	var c []table.ColumnConfig
	for n := first; n <= last; n++ {
		c = append(c, table.ColumnConfig{Number: n, Align: text.AlignRight, AlignHeader: text.AlignRight, AlignFooter: text.AlignRight})
	}
	t.SetColumnConfigs(c)
}

// heading is the lines that say what was looked at.
func (p *Proof) heading() string {
	var b strings.Builder
	fmt.Fprintf(&b, "%s: %.1f × %.1f mm, %d × %d pixels (%.0f px/in)\n", p.Artwork.File, p.Print.WidthMM, p.Print.HeightMM,
		p.Artwork.WidthPX, p.Artwork.HeightPX, p.Print.DPI)
	way := "printed as it reads"
	if p.Process.Mirrored {
		way = "printed mirrored"
	}
	fmt.Fprintf(&b, "  process %s on %s, white %s, %s; %d on a sheet of %s\n", p.Process.Name, p.Item.Name, p.Process.WhiteRule, way, p.Sheet.Copies, p.Sheet.Name)
	if d := p.Artwork.DroppedPercent; d != nil && *d > 0 {
		fmt.Fprintf(&b, "  background dropped: %.1f %% of the picture\n", *d)
	} else if d != nil {
		b.WriteString("  no flat background was found: nothing is dropped\n")
	}
	fmt.Fprintf(&b, "  art's colours: %s; press: %s\n", p.Artwork.SourceProfile, p.pressName())
	return b.String()
}

func (p *Proof) pressName() string {
	if p.Press.StandIn {
		return p.Press.Name + " (a stand-in; give your own profile with --press)"
	}
	return p.Press.Name
}

// CoverageText is the coverage and toner cost as a table.
func (p *Proof) CoverageText(s Style) string {
	t := newTable("plate", "of the print", "of the sheet", "toner, one print", "one sheet")
	rightFrom(t, 2, 5)
	c := p.Toner.Currency
	for k, name := range plate.Names {
		v := p.Plates.at(k)
		t.AppendRow(table.Row{name, pct(v.PrintPercent), pct(v.SheetPercent), c + " " + p.Toner.Print.at(k), c + " " + p.Toner.Sheet.at(k)})
	}
	t.AppendFooter(table.Row{"toner in all", "", "", c + " " + p.Toner.Print.Total, c + " " + p.Toner.Sheet.Total})
	over := "nowhere over it"
	if p.TAC.OverLimitAreaPercent > 0 {
		over = s.paint(text.FgHiRed, fmt.Sprintf("over it on %s of the print", pct(p.TAC.OverLimitAreaPercent)))
	}
	return fmt.Sprintf("%s\n%s\n\nC+M+Y+K: mean %.0f %%, 99 %% of the print up to %.0f %%, most %.0f %%; limit %.0f %%, %s\n",
		p.heading(), t.Render(), p.TAC.MeanPercent, p.TAC.P99Percent, p.TAC.MaxPercent, p.TAC.LimitPercent, over)
}

// pct writes a percent so that a small one does not look like none.
func pct(v float64) string {
	if v > 0 && v < 0.005 {
		return "< 0.01 %"
	}
	return fmt.Sprintf("%.2f %%", v)
}

// measure writes a finding's value and limit with their unit.
func measure(f flaw.Finding) string {
	switch f.Unit {
	case "profiles":
		return "the file has none"
	case "items":
		return "not for this process"
	case "px/in":
		return fmt.Sprintf("%.0f %s, limit %.0f %s", f.Measured, f.Unit, f.Limit, f.Unit)
	}
	digits := 1
	if f.Unit == "mm" && f.Limit < 10 {
		digits = 2
	}
	if f.Limit == 0 {
		return fmt.Sprintf("%.*f %s", digits, f.Measured, f.Unit)
	}
	return fmt.Sprintf("%.*f %s, limit %.*f %s", digits, f.Measured, f.Unit, digits, f.Limit, f.Unit)
}

// FindingsText lists what will print badly, worst first.
func (p *Proof) FindingsText(s Style) string {
	var b strings.Builder
	b.WriteString(p.heading() + "\n")
	if len(p.Findings) == 0 {
		b.WriteString("Nothing was found that would print badly.\n")
	}
	for i, f := range p.Findings {
		fmt.Fprintf(&b, "%d. %s: %s (%s)\n", i+1, s.severity(f.Severity), f.Kind, measure(f))
		b.WriteString(indent(f.Advice, "   "))
		if n := len(f.Boxes); n > 0 {
			var at []string
			for _, x := range f.Boxes[:min(n, 3)] {
				at = append(at, fmt.Sprintf("%.1f × %.1f mm at %.1f, %.1f", x.WidthMM, x.HeightMM, x.XMM, x.YMM))
			}
			more := ""
			if f.Places > 3 {
				more = fmt.Sprintf(" and %d more", f.Places-3)
			}
			fmt.Fprintf(&b, "   where (from top left): %s%s\n", strings.Join(at, "; "), more)
		}
	}
	return b.String()
}

// Text sets the matches for a terminal.
func (f *SwatchFacts) Text(s Style) string {
	return fmt.Sprintf("On %s (%s), process %s, white %s:\n\n", f.Item.Name, f.Item.Colour, f.Process.Name, f.Process.WhiteRule) + f.tables(s)
}

// tables are the brand's colours, then the art's own.
func (f *SwatchFacts) tables(s Style) string {
	var parts []string
	var say []string
	if len(f.Swatches) > 0 {
		withArea := f.Swatches[0].AreaPercent != nil
		head := []any{"brand colour", "wanted L a b", "printed L a b", "ΔE00", "grade", "C", "M", "Y", "K"}
		if withArea {
			head = append(head, "of the print")
		}
		t := newTable(head...)
		rightFrom(t, 2, 4)
		for _, w := range f.Swatches {
			row := w.row(s)
			if withArea {
				row = append(row, pct(*w.AreaPercent))
			}
			t.AppendRow(row)
			if w.misses() {
				say = append(say, w.Sentence)
			}
		}
		parts = append(parts, t.Render()+"\n")
	}
	if len(f.Main) > 0 {
		head := []any{"colour of the art", "designed L a b", "printed L a b", "ΔE00", "grade", "C", "M", "Y", "K", "of the print"}
		if len(f.Swatches) > 0 {
			head = append(head, "closest brand colour")
		}
		t := newTable(head...)
		rightFrom(t, 2, 4)
		for _, w := range f.Main {
			row := append(w.row(s), pct(*w.AreaPercent))
			if w.ClosestSwatch != "" {
				row = append(row, fmt.Sprintf("%s, ΔE00 %.1f", w.ClosestSwatch, w.ClosestDeltaE))
			}
			t.AppendRow(row)
			if w.misses() && len(f.Swatches) == 0 {
				say = append(say, w.Sentence)
			}
		}
		parts = append(parts, t.Render()+"\n")
	}
	out := strings.Join(parts, "\n")
	if len(say) > 0 {
		out += "\nTell the customer:\n"
		for _, v := range say {
			out += indent(v, "  ")
		}
	}
	return out
}

// labText writes Lab to one place, nothing as 0.0 and never -0.0.
func labText(v [3]float64) string {
	return fmt.Sprintf("%.1f %.1f %.1f", to(v[0], 1)+0, to(v[1], 1)+0, to(v[2], 1)+0)
}

// row is a swatch's cells that every table has.
func (w Swatch) row(s Style) table.Row {
	grade := w.Grade
	if w.misses() {
		grade = s.paint(text.FgHiRed, grade)
	}
	row := table.Row{w.Name, labText(w.TargetLab), labText(w.PrintedLab), fmt.Sprintf("%.1f", w.DeltaE00), grade}
	for k := range 4 {
		row = append(row, fmt.Sprintf("%.0f", *w.Plates.at(k)))
	}
	return row
}

// Verdict is the order in one line: what stops it, what to look at, which
// colours miss, what the toner costs.
func (p *Proof) Verdict() string {
	count := map[flaw.Severity]int{}
	for _, f := range p.Findings {
		count[f.Severity]++
	}
	var parts []string
	switch {
	case count[flaw.Stop] > 0:
		parts = append(parts, fmt.Sprintf("Do not print yet: %s", plural(count[flaw.Stop], "finding that will spoil it", "findings that will spoil it")))
	case count[flaw.Look] > 0:
		parts = append(parts, fmt.Sprintf("Look first: %s", plural(count[flaw.Look], "finding to decide on", "findings to decide on")))
	default:
		parts = append(parts, "Good to print")
	}
	miss := 0
	for _, s := range p.Swatches {
		if s.misses() {
			miss++
		}
	}
	if miss > 0 {
		parts = append(parts, plural(miss, "brand colour will not match", "brand colours will not match"))
	}
	parts = append(parts, fmt.Sprintf("toner %s %s a print", p.Toner.Currency, p.Toner.Print.Total))
	return strings.Join(parts, "; ") + "."
}

func plural(n int, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return fmt.Sprintf("%d %s", n, many)
}

// Text is the whole proof for a terminal.
func (p *Proof) Text(s Style) string {
	var b strings.Builder
	b.WriteString(p.CoverageText(s))
	b.WriteString("\n")
	_, findings, _ := strings.Cut(p.FindingsText(s), "\n\n")
	b.WriteString(findings)
	b.WriteString("\n" + p.Matches().tables(s))
	if p.Underbase != nil {
		b.WriteString("\n" + p.Underbase.Text())
	}
	if p.Quoted != nil {
		b.WriteString("\n" + p.Quoted.Text())
	}
	b.WriteString("\nTake care:\n")
	for _, c := range p.Cautions {
		b.WriteString(indent(c, "  "))
	}
	c := text.FgHiGreen
	if flaw.Any(p.Findings, flaw.Stop) {
		c = text.FgHiRed
	} else if flaw.Any(p.Findings, flaw.Look) {
		c = text.FgHiYellow
	}
	b.WriteString("\n" + s.paint(c, p.Verdict()) + "\n")
	return b.String()
}

// indent sets words in lines of up to 96 letters.
func indent(words, margin string) string {
	var b strings.Builder
	line := margin
	for _, w := range strings.Fields(words) {
		if line != margin && utf8.RuneCountInString(line)+1+utf8.RuneCountInString(w) > 96 {
			b.WriteString(line + "\n")
			line = margin
		}
		if line != margin {
			line += " "
		}
		line += w
	}
	return b.String() + line + "\n"
}

// MatchText is the tables of colours under the art's heading.
func (p *Proof) MatchText(s Style) string { return p.heading() + "\n" + p.Matches().tables(s) }
