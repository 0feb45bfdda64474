// Package show renders the numbers of an order: as text for a terminal, as HTML
// pages, as pictures in SVG and PNG, as JSON.
//
// It works nothing out that a proof does not say, and knows no options: what a
// person may do about it is said in the words of the trade.
package show

import (
	"fmt"
	"math"
	"strings"
	"unicode/utf8"

	"github.com/jedib0t/go-pretty/v6/table"
	"github.com/jedib0t/go-pretty/v6/text"
	"github.com/shopspring/decimal"

	"laydown/colour/swatch"
	"laydown/coverage/flaw"
	"laydown/coverage/plate"
	"laydown/coverage/price"
	"laydown/coverage/proof"
)

// Style is how text is set for a terminal.
type Style struct {
	Colour bool
	// Full adds the absolute figures to those that an eye sees.
	Full bool
	// Field names a field that a person can fill in, such as "press", the way they
	// would; nil leaves the name as it is.
	Field func(name string) string
}

func (s Style) field(name string) string {
	if s.Field == nil {
		return name
	}
	return s.Field(name)
}

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
func heading(p *proof.Proof, s Style) string {
	var b strings.Builder
	fmt.Fprintf(&b, "%s: %.1f × %.1f mm, %d × %d pixels (%.0f px/in)\n", p.Artwork.File, p.Print.WidthMM, p.Print.HeightMM,
		p.Artwork.WidthPX, p.Artwork.HeightPX, p.Print.DPI)
	way := "printed as it reads"
	if p.Process.Mirrored {
		way = "printed mirrored"
	}
	fmt.Fprintf(&b, "  process %s %s, white %s, %s; %d on a sheet of %s\n", p.Process.Name, p.Item.Placed(), p.Process.WhiteRule, way, p.Sheet.Copies, p.Sheet.Name)
	if d := p.Artwork.DroppedPercent; d != nil && *d > 0 {
		fmt.Fprintf(&b, "  background dropped: %.1f %% of the picture\n", *d)
	} else if d != nil {
		b.WriteString("  no flat background was found: nothing is dropped\n")
	}
	fmt.Fprintf(&b, "  art's colours: %s; press: %s\n", p.Artwork.SourceProfile, pressName(p, s))
	return b.String()
}

func pressName(p *proof.Proof, s Style) string {
	if p.Press.StandIn {
		return fmt.Sprintf("%s (a stand-in; give your own profile with %s)", p.Press.Name, s.field("press"))
	}
	return p.Press.Name
}

// Coverage is the coverage and toner cost as a table.
func Coverage(p *proof.Proof, s Style) string {
	t := newTable("plate", "of the print", "of the sheet", "toner, one print", "one sheet")
	rightFrom(t, 2, 5)
	c := p.Toner.Currency
	for k, name := range plate.Names {
		v := p.Plates.At(k)
		t.AppendRow(table.Row{name, pct(v.PrintPercent), pct(v.SheetPercent), c + " " + money(p.Toner.Print.Plate[k]), c + " " + money(p.Toner.Sheet.Plate[k])})
	}
	t.AppendFooter(table.Row{"toner in all", "", "", c + " " + money(p.Toner.Print.Total), c + " " + money(p.Toner.Sheet.Total)})
	over := "nowhere over it"
	if p.TAC.OverLimitAreaPercent > 0 {
		over = s.paint(text.FgHiRed, fmt.Sprintf("over it on %s of the print", pct(p.TAC.OverLimitAreaPercent)))
	}
	return fmt.Sprintf("%s\n%s\n\nC+M+Y+K: mean %.0f %%, 99 %% of the print up to %.0f %%, most %.0f %%; limit %.0f %%, %s\n",
		heading(p, s), t.Render(), p.TAC.MeanPercent, p.TAC.P99Percent, p.TAC.MaxPercent, p.TAC.LimitPercent, over)
}

// pct writes a percent so that a small one does not look like none.
func pct(v float64) string {
	if v > 0 && v < 0.005 {
		return "< 0.01 %"
	}
	return fmt.Sprintf("%.2f %%", v)
}

// money writes a cost to the places that costs are shown with.
func money(v decimal.Decimal) string { return v.StringFixed(price.Places) }

// amount writes a finding's value and limit with their unit.
func amount(f flaw.Finding) string {
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

// Findings lists what will print badly, worst first, under the art's heading.
func Findings(p *proof.Proof, s Style) string { return heading(p, s) + "\n" + findings(p, s) }

func findings(p *proof.Proof, s Style) string {
	var b strings.Builder
	if len(p.Findings) == 0 {
		b.WriteString("Nothing was found that would print badly.\n")
	}
	for i, f := range p.Findings {
		fmt.Fprintf(&b, "%d. %s: %s (%s)\n", i+1, s.severity(f.Severity), f.Kind, amount(f))
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

// Swatches sets matches without artwork for a terminal.
func Swatches(f *proof.SwatchFacts, s Style) string {
	return fmt.Sprintf("On %s, process %s, white %s:\n\n", f.Item.SaidInFull(), f.Process.Name, f.Process.WhiteRule) + matchTables(f, s)
}

// Matches sets a proof's matches for a terminal, under the art's heading.
func Matches(p *proof.Proof, s Style) string {
	return heading(p, s) + "\n" + matches(p, s)
}

// noColours is said where an art has no colours to match.
const noColours = "The art has no colour that can be seen: all of it is clear, or of no more than 5 % alpha."

func matches(p *proof.Proof, s Style) string {
	out := matchTables(p.Matches(), s)
	if len(p.Main) == 0 {
		if out != "" {
			out += "\n"
		}
		out += indent(noColours, "")
	}
	return out
}

// matchTables are the brand's colours, then the art's own.
func matchTables(f *proof.SwatchFacts, s Style) string {
	var parts []string
	var say []string
	if len(f.Swatches) > 0 {
		withArea := f.Swatches[0].AreaPercent != nil
		head := []any{"brand colour", "wanted L a b", "printed L a b", "ΔE00", "at best", "grade", "C", "M", "Y", "K"}
		if withArea {
			head = append(head, "of the print")
		}
		t := newTable(withAbsolute(head, s)...)
		rightFrom(t, 2, 5)
		for _, w := range f.Swatches {
			row := swatchRow(w, s)
			if withArea {
				row = append(row, pct(*w.AreaPercent))
			}
			t.AppendRow(absoluteCells(row, w, s))
			if w.Misses() {
				say = append(say, w.Sentence)
			}
		}
		parts = append(parts, t.Render()+"\n"+bestNotes(f.Swatches)+swatchNotes(f.Swatches)+skippedNotes(f.SwatchesSkipped))
	}
	if len(f.Main) > 0 {
		head := []any{"colour of the art", "designed L a b", "printed L a b", "ΔE00", "at best", "grade", "C", "M", "Y", "K", "of the print"}
		if len(f.Swatches) > 0 {
			head = append(head, "closest brand colour")
		}
		t := newTable(withAbsolute(head, s)...)
		rightFrom(t, 2, 5)
		var own []proof.Swatch
		for _, w := range f.Main {
			row := append(swatchRow(w.Swatch, s), pct(*w.AreaPercent))
			if w.ClosestSwatch != "" {
				row = append(row, fmt.Sprintf("%s, ΔE00 %.1f", w.ClosestSwatch, w.ClosestDeltaE))
			}
			t.AppendRow(absoluteCells(row, w.Swatch, s))
			if w.Misses() && len(f.Swatches) == 0 {
				say = append(say, w.Sentence)
			}
			own = append(own, w.Swatch)
		}
		parts = append(parts, t.Render()+"\n"+bestNotes(own))
	}
	if len(parts) == 0 {
		return ""
	}
	out := indent(f.White.Sentence, "") + "\n" + strings.Join(parts, "\n")
	if len(say) > 0 {
		out += "\nTell the customer:\n"
		for _, v := range say {
			out += indent(v, "  ")
		}
	}
	return out
}

// withAbsolute are a table's heads with those of the absolute figures, if they are shown.
func withAbsolute(head []any, s Style) []any {
	if s.Full {
		head = append(head, "wanted, absolute", "printed, absolute", "ΔE00, absolute")
	}
	return head
}

func absoluteCells(row table.Row, w proof.Swatch, s Style) table.Row {
	if s.Full {
		row = append(row, labText(w.TargetLab), labText(w.PrintedLab), f1(w.DeltaAbsolute))
	}
	return row
}

// bestNotes say with which plates colours would print nearer than as separated.
func bestNotes(list []proof.Swatch) string {
	var b strings.Builder
	for _, w := range list {
		if w.Best != nil {
			b.WriteString(indent(fmt.Sprintf("%s at best, if the file asks for it in CMYK: %s, ΔE00 %.1f.", w.Name, w.Best.Plates.CMYK(), w.Best.DeltaE00), "  "))
		}
	}
	return b.String()
}

// swatchNotes say of brand colours what the table does not: those whose plates are the
// list's own, those of too much toner, and which measurement was taken where the list
// has several, or one that is not usual alone.
func swatchNotes(list []proof.Swatch) string {
	var notes []string
	who := map[string][]string{}
	add := func(note, name string) {
		if who[note] == nil {
			notes = append(notes, note)
		}
		who[note] = append(who[note], name)
	}
	for _, w := range list {
		if w.OwnRecipe {
			add("Plates are the list's own numbers", w.Name)
		}
		if o := w.OverLimit; o != nil {
			add(fmt.Sprintf("Toners add up to %.0f %%, over the limit of %.0f %%; within it %s comes as near as ΔE00 %.1f",
				o.TotalPercent, o.LimitPercent, o.Within.Plates.CMYK(), o.Within.DeltaE00), w.Name)
		}
		if len(w.MeasuredAlso) > 0 {
			word := func(m swatch.Measurement) string {
				if m == "" {
					return "not stated"
				}
				return string(m)
			}
			var also []string
			for _, m := range w.MeasuredAlso {
				also = append(also, word(m))
			}
			add(fmt.Sprintf("Measured under %s (the list also has %s)", word(w.Measurement), strings.Join(also, ", ")), w.Name)
		} else if w.Measurement == swatch.M2 || w.Measurement == swatch.M3 {
			add(fmt.Sprintf("Measured under %s (the list has neither M1 nor M0)", w.Measurement), w.Name)
		}
	}
	var b strings.Builder
	for _, n := range notes {
		b.WriteString(indent(n+": "+strings.Join(who[n], ", ")+".", "  "))
	}
	return b.String()
}

// skippedNotes name colours that are not in the table.
func skippedNotes(list []swatch.Skipped) string {
	var b strings.Builder
	for _, v := range list {
		b.WriteString(indent(fmt.Sprintf("Left out: %s %s.", v.Name, v.Why), "  "))
	}
	return b.String()
}

// labText writes Lab to one place, nothing as 0.0 and never -0.0.
func labText(v [3]float64) string {
	for i, x := range v {
		v[i] = math.Round(x*10)/10 + 0
	}
	return fmt.Sprintf("%.1f %.1f %.1f", v[0], v[1], v[2])
}

func f1(v float64) string { return fmt.Sprintf("%.1f", v) }

// swatchRow is a swatch's cells that every table has.
func swatchRow(w proof.Swatch, s Style) table.Row {
	grade := w.Grade
	if w.Misses() {
		grade = s.paint(text.FgHiRed, grade)
	}
	best := ""
	if w.Best != nil {
		best = f1(w.Best.DeltaE00)
	}
	row := table.Row{w.Name, labText(w.SeenTargetLab), labText(w.SeenPrintedLab), f1(w.DeltaE00), best, grade}
	for k := range 4 {
		row = append(row, fmt.Sprintf("%.0f", *w.Plates.At(k)))
	}
	return row
}

// Verdict is the order in one line: what stops it, what to look at, which
// colours miss, what the toner costs.
func Verdict(p *proof.Proof) string {
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
		if s.Misses() {
			miss++
		}
	}
	if miss > 0 {
		parts = append(parts, plural(miss, "brand colour will not match", "brand colours will not match"))
	}
	parts = append(parts, fmt.Sprintf("toner %s %s a print", p.Toner.Currency, money(p.Toner.Print.Total)))
	return strings.Join(parts, "; ") + "."
}

func plural(n int, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return fmt.Sprintf("%d %s", n, many)
}

// Proof is a whole proof for a terminal.
func Proof(p *proof.Proof, s Style) string {
	var b strings.Builder
	b.WriteString(Coverage(p, s) + "\n")
	b.WriteString(findings(p, s) + "\n")
	b.WriteString(matches(p, s))
	if p.Underbase != nil {
		b.WriteString("\n" + Choices(p.Underbase, s))
	}
	if p.Quoted != nil {
		b.WriteString("\n" + Quote(p.Quoted))
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
	b.WriteString("\n" + s.paint(c, Verdict(p)) + "\n")
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
