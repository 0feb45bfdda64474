// Package show renders the numbers of an order: as text for a terminal, as HTML
// pages, as pictures in SVG and PNG, as JSON.
//
// It works nothing out that a proof does not say, and knows no options: what a
// person may do about it is said in the words of the trade.
package show

import (
	"cmp"
	"fmt"
	"math"
	"strings"

	"github.com/jedib0t/go-pretty/v6/text"
	"github.com/shopspring/decimal"

	"laydown/colour"
	"laydown/colour/swatch"
	"laydown/coverage/flaw"
	"laydown/coverage/plate"
	"laydown/coverage/price"
	"laydown/coverage/proof"
	"laydown/coverage/shop"
)

// Style is how text is set for a terminal.
type Style struct {
	Colour bool
	// Width is how many columns a line may take, from 40 to [MostWidth]; 0 for 80.
	Width int
	// Full shows everything: every line of a whole answer, and the absolute figures beside
	// those that an eye sees.
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

// The colours of text. Of the 16 that terminals share only bright red and bright blue are
// readable on white and on black alike (see the tests); what stops is set in reverse, so that
// it is no mere check, and the words themselves tell apart what is in the same one.
var (
	stopColour = text.Colors{text.FgHiRed, text.Bold, text.ReverseVideo}
	lookColour = text.Colors{text.FgHiRed}
	fineColour = text.Colors{text.FgHiBlue}
	goodColour = text.Colors{text.FgHiBlue, text.Bold}
)

func (s Style) paint(c text.Colors, v string) string {
	if !s.Colour {
		return v
	}
	// The library asks the surroundings whether colours are wanted; the style has decided.
	return text.Escape(v, c.EscapeSeq())
}

// painted sets words as lines in one colour, each by itself: a pager shows lines.
func (s Style) painted(c text.Colors, words string) string {
	out := ""
	for line := range strings.Lines(s.para(words, "")) {
		out += s.paint(c, strings.TrimSuffix(line, "\n")) + "\n"
	}
	return out
}

// severityWords are what severities are called.
var severityWords = map[flaw.Severity]string{flaw.Stop: "stop", flaw.Look: "check", flaw.Note: "note"}

func (s Style) severity(v flaw.Severity) string {
	return s.paint(map[flaw.Severity]text.Colors{flaw.Stop: stopColour, flaw.Look: lookColour, flaw.Note: fineColour}[v], severityWords[v])
}

// gradeWords are what grades of match are called.
var gradeWords = map[string]string{string(colour.Close): "match", string(colour.Near): "near match", string(colour.Visible): "differs", string(colour.Off): "no match"}

func gradeWord(grade string) string {
	if w, ok := gradeWords[grade]; ok {
		return w
	}
	return grade
}

// nameWide is how wide the names of a block's lines are.
const nameWide = 8

// line is one line of a block: a name and words, which fold.
func (s Style) line(name, words string) string {
	margin := strings.Repeat(" ", nameWide)
	return fmt.Sprintf("  %-*s", nameWide-2, name) + strings.TrimPrefix(wrap(words, margin, margin, s.width()), margin)
}

// blockLines is how many lines a block takes at most, but on narrow terminals and with names
// and lists that are longer than a line.
const blockLines = 8

// Block is what every answer about an art opens with, in eight lines at most: print, check
// first or do not print, why, the art, on what, how many a sheet, cost and price.
func Block(p *proof.Proof, s Style) string { return s.block(p, "") }

// block is the same under a first line that says something else, which the verdict then
// follows; "" for none. Where it would take too many lines it says less, but names all that
// stops the print.
func (s Style) block(p *proof.Proof, first string) string {
	c := goodColour
	switch {
	case flaw.Any(p.Findings, flaw.Stop):
		c = stopColour
	case flaw.Any(p.Findings, flaw.Look) || missed(p.Swatches) > 0:
		c = lookColour
	}
	head := s.opening(p.Head, c, verdict(p))
	if first != "" {
		head = first + s.painted(c, verdict(p))
	}
	ground := ""
	if d := p.Artwork.DroppedPercent; d != nil && *d > 0 {
		ground = fmt.Sprintf("; background dropped: %.1f %%", *d)
	} else if d != nil {
		ground = "; no background to drop"
	}
	art := fmt.Sprintf("%s, %.1f × %.1f mm, %.0f px/in%s", p.Artwork.File, p.Print.WidthMM, p.Print.HeightMM, p.Print.DPI, ground)
	way := "printed as it reads"
	if p.Process.Mirrored {
		way = "printed mirrored"
	}
	tail := s.line("on", fmt.Sprintf("%s, by %s: %s, %s", p.Item.Said(), p.Process.Name, whiteOf(p), way))
	if taken := takenWords(p.Head); taken != "" {
		tail += wrap(taken, "  ", strings.Repeat(" ", nameWide), s.width())
	}
	both := s.line("art", art) + s.line("sheet", sheetWords(p))
	one := s.line("art", fmt.Sprintf("%s; %s on one %s", art, plural(p.Sheet.Copies, "print", "prints"), p.Sheet.Name))
	tail += s.money(p)
	out := ""
	for brief := range briefest + 1 {
		for _, middle := range []string{both, one} {
			out = head + s.line("why", reasons(p, brief)) + middle + tail
			if strings.Count(out, "\n") <= blockLines {
				return out
			}
		}
	}
	return out
}

// sheetWords say how many prints are on a sheet, and how many sheets quantities take.
func sheetWords(p *proof.Proof) string {
	out := fmt.Sprintf("%s on one %s", plural(p.Sheet.Copies, "print", "prints"), p.Sheet.Name)
	if p.Quoted == nil {
		return out
	}
	goods := cmp.Or(p.Quoted.SoldBy, shop.ByPiece)
	for i, q := range p.Quoted.Quantities {
		if i == 0 {
			out += fmt.Sprintf("; %s for %s", plural(q.Sheets, "sheet", "sheets"), plural(q.Quantity, goods, goods+"s"))
			continue
		}
		out += fmt.Sprintf(", %d for %d", q.Sheets, q.Quantity)
	}
	return out
}

// whiteOf says where a print's white comes from.
func whiteOf(p *proof.Proof) string {
	if p.Laid != nil && p.Laid.Job.Medium.OwnWhite {
		return "the film is white"
	}
	return proof.RuleSaid(p.Process.WhiteRule)
}

// money is what the quantities cost and sell for, a line each; without a quote what the
// toner costs.
func (s Style) money(p *proof.Proof) string {
	if p.Quoted == nil {
		toner := fmt.Sprintf("toner %s %s a print", p.Toner.Currency, money(p.Toner.Print.Total))
		if n := len(p.QuoteLacks); n > 0 {
			toner += fmt.Sprintf("; no price: the shop file lacks %s, which laydown quote lists", plural(n, "figure", "figures"))
		}
		return s.line("cost", toner)
	}
	list := func(name string, get func(proof.QuoteQuantity) string) string {
		each, goods := "each", ""
		if p.Quoted.SoldBy == shop.BySheet {
			each, goods = "a sheet", " sheets"
		}
		out := p.Quoted.Currency + " "
		for i, q := range p.Quoted.Quantities {
			if i > 0 {
				out += ", "
			}
			if q.Quantity == 1 {
				out += get(q) + " for " + strings.TrimSuffix("1"+goods, "s")
				continue
			}
			out += fmt.Sprintf("%s %s for %d%s", get(q), each, q.Quantity, goods)
		}
		return s.line(name, out)
	}
	return list("cost", func(q proof.QuoteQuantity) string { return q.CostEach.Total.StringFixed(p.Quoted.Places) }) +
		list("price", func(q proof.QuoteQuantity) string { return q.EachAsked })
}

// How brief reasons are: from all with their measures to what stops the print alone, and how
// much else there is.
const (
	inFull = iota
	checksByName
	stopsByName
	stopsAlone
	briefest = stopsAlone
)

// reasons are why, worst first: what stops the print, then what is to be decided on.
func reasons(p *proof.Proof, brief int) string {
	var stops, checks []string
	for _, f := range p.Findings {
		named := f.Kind == flaw.WrongItem || f.Kind == flaw.TooLarge
		switch f.Severity {
		case flaw.Stop:
			part := string(f.Kind)
			if named {
				part = stopWords([]proof.Stop{proof.StopOf(f)})
			} else if brief < stopsByName {
				part += " " + amount(f)
			}
			stops = append(stops, part)
		case flaw.Look:
			part := string(f.Kind)
			if named {
				part = stopWords([]proof.Stop{proof.StopOf(f)})
			} else if brief < checksByName {
				part += " " + amount(f)
			}
			checks = append(checks, part)
		}
	}
	var miss []string
	for _, w := range p.Swatches {
		if !w.Misses() {
			continue
		}
		part := w.Name + " " + gradeWord(w.Grade)
		if brief < checksByName {
			part += fmt.Sprintf(" (difference %.1f)", w.DeltaE00)
		}
		miss = append(miss, part)
	}
	if brief >= stopsAlone && len(stops) > 0 && len(checks)+len(miss) > 0 {
		return "stop: " + strings.Join(stops, "; ") + fmt.Sprintf("; and %d to check", len(checks)+len(miss))
	}
	if brief >= stopsAlone && len(miss) > 1 {
		miss = []string{fmt.Sprintf("%d brand colours", len(miss))}
	}
	var parts []string
	if len(stops) > 0 {
		parts = append(parts, "stop: "+strings.Join(stops, "; "))
	}
	if checks = append(checks, miss...); len(checks) > 0 {
		parts = append(parts, "check: "+strings.Join(checks, "; "))
	}
	if len(parts) == 0 {
		return "nothing was found that would print badly"
	}
	return strings.Join(parts, "; ")
}

// missed is how many colours do not match.
func missed(swatches []proof.Swatch) (n int) {
	for _, w := range swatches {
		if w.Misses() {
			n++
		}
	}
	return n
}

// verdict is the order in one line: whether to print it.
func verdict(p *proof.Proof) string {
	count := map[flaw.Severity]int{}
	for _, f := range p.Findings {
		count[f.Severity]++
	}
	miss := missed(p.Swatches)
	said := plural(miss, "brand colour does not match", "brand colours do not match")
	switch {
	case count[flaw.Stop] > 0 && miss > 0:
		return fmt.Sprintf("Do not print: %s; %s.", plural(count[flaw.Stop], "stop", "stops"), said)
	case count[flaw.Stop] > 0:
		return fmt.Sprintf("Do not print: %s.", plural(count[flaw.Stop], "stop", "stops"))
	case count[flaw.Look] > 0 && miss > 0:
		return fmt.Sprintf("Check first: %s; %s.", plural(count[flaw.Look], "finding", "findings"), said)
	case count[flaw.Look] > 0:
		return fmt.Sprintf("Check first: %s to decide on.", plural(count[flaw.Look], "finding", "findings"))
	case miss > 0:
		return fmt.Sprintf("Check first: %s.", said)
	}
	return "Print."
}

// conditions are what the figures were made with.
func conditions(p *proof.Proof, s Style) string {
	return s.para(fmt.Sprintf("Colours of the art: %s; printer profile: %s.", p.Artwork.SourceProfile, pressName(p, s)), "")
}

func pressName(p *proof.Proof, s Style) string {
	if p.Press.StandIn {
		return fmt.Sprintf("%s (a stand-in; give your own with %s)", p.Press.Name, s.field("press"))
	}
	return p.Press.Name
}

// Coverage is the coverage and toner cost as a table, under the block.
func Coverage(p *proof.Proof, s Style) string {
	return Block(p, s) + "\n" + coverage(p, s) + "\n" + conditions(p, s) + Assumed(p.Head, s)
}

func coverage(p *proof.Proof, s Style) string {
	c := p.Toner.Currency
	t := &folds{head: []string{"plate", "of the print", "of the sheet", c + ", one print", c + ", one sheet"}}
	for k, name := range plate.Names {
		v := p.Plates.At(k)
		t.add(name, pct(v.PrintPercent), pct(v.SheetPercent), money(p.Toner.Print.Plate[k]), money(p.Toner.Sheet.Plate[k]))
	}
	t.under = len(t.rows)
	t.add("all toner", "", "", money(p.Toner.Print.Total), money(p.Toner.Sheet.Total))
	return t.render(s.width()) + "\n" + totalToner(p, s)
}

// totalToner is the sum of C, M, Y and K in a sentence.
func totalToner(p *proof.Proof, s Style) string {
	return s.para("Total toner (C+M+Y+K): "+totalTonerWords(p)+".", "")
}

// totalTonerWords are the sum's figures in whole percent, which is what a plate's levels tell:
// a sum of four that were each rounded is up to a percent off.
func totalTonerWords(p *proof.Proof) string {
	over := "nowhere over it"
	if p.TAC.OverLimitAreaPercent > 0 {
		over = fmt.Sprintf("over it on %s of the print", pct(p.TAC.OverLimitAreaPercent))
	}
	most := ""
	if math.Round(p.TAC.P99Percent) < math.Round(p.TAC.MaxPercent) {
		most = fmt.Sprintf("; 99 %% of the print is at %.0f %% or below", p.TAC.P99Percent)
	}
	return fmt.Sprintf("average %.0f %%, highest %.0f %%, limit %.0f %%, %s%s", p.TAC.MeanPercent, p.TAC.MaxPercent, p.TAC.LimitPercent, over, most)
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
	case "drawings":
		return "in the file"
	case "fonts", "pictures", "inks":
		if f.Measured == 1 {
			return "1 " + strings.TrimSuffix(f.Unit, "s")
		}
		return fmt.Sprintf("%.0f %s", f.Measured, f.Unit)
	case "px/in":
		return fmt.Sprintf("%.0f %s (limit %.0f)", f.Measured, f.Unit, f.Limit)
	}
	digits := 1
	if f.Unit == "mm" && f.Limit < 10 {
		digits = 2
	}
	if f.Limit == 0 {
		return fmt.Sprintf("%.*f %s", digits, f.Measured, f.Unit)
	}
	return fmt.Sprintf("%.*f %s (limit %.*f)", digits, f.Measured, f.Unit, digits, f.Limit)
}

// Findings lists what will print badly, worst first, under the block.
func Findings(p *proof.Proof, s Style) string {
	return Block(p, s) + "\n" + findings(p, s, true) + "\n" + conditions(p, s) + Assumed(p.Head, s)
}

// findings lists what will print badly; in brief notes are named and not explained.
func findings(p *proof.Proof, s Style, full bool) string {
	var b strings.Builder
	if len(p.Findings) == 0 {
		b.WriteString("Nothing was found that would print badly.\n")
	}
	for i, f := range p.Findings {
		head := fmt.Sprintf("%d. %s: %s, %s", i+1, severityWords[f.Severity], f.Kind, amount(f))
		if n := len(f.Boxes); n > 0 && !full {
			if f.Places > 1 {
				head += fmt.Sprintf(", %d places, the first", f.Places)
			}
			head += fmt.Sprintf(" at %.0f, %.0f mm", f.Boxes[0].XMM, f.Boxes[0].YMM)
		}
		word := severityWords[f.Severity]
		b.WriteString(strings.Replace(wrap(head, "", "   ", s.width()), word, s.severity(f.Severity), 1))
		if !full && f.Severity == flaw.Note {
			continue
		}
		b.WriteString(s.para(f.Advice, "   "))
		if n := len(f.Boxes); n > 0 && full {
			var at []string
			for _, x := range f.Boxes[:min(n, 3)] {
				at = append(at, fmt.Sprintf("%.1f × %.1f mm at %.1f, %.1f", x.WidthMM, x.HeightMM, x.XMM, x.YMM))
			}
			more := ""
			if f.Places > 3 {
				more = fmt.Sprintf(" and %d more", f.Places-3)
			}
			b.WriteString(s.para(fmt.Sprintf("where (from top left): %s%s", strings.Join(at, "; "), more), "   "))
		}
	}
	return b.String()
}

// Swatches sets matches without artwork for a terminal.
func Swatches(f *proof.SwatchFacts, s Style) string {
	miss, over := []string{}, []string{}
	for _, w := range f.Swatches {
		if w.OverLimit != nil {
			over = append(over, w.Name)
		}
		if w.Misses() {
			miss = append(miss, w.Name)
		}
	}
	say, c, why := "All of these colours match, or nearly.", goodColour, ""
	if len(over) > 0 {
		say, c = plural(len(over), "of these recipes takes", "of these recipes take")+" more toner than this printer lays down.", stopColour
		why = s.line("which", strings.Join(over, ", "))
	}
	if len(miss) > 0 {
		say, c = fmt.Sprintf("%d of %s do not match.", len(miss), plural(len(f.Swatches), "colour", "colours")), stopColour
		why = s.line("which", strings.Join(miss, ", "))
	}
	return s.paint(c, say) + "\n" + why + s.line("on", fmt.Sprintf("%s, by %s: %s", f.Item.SaidInFull(), f.Process.Name, proof.RuleSaid(f.Process.WhiteRule))) + "\n" + matchTables(f, s, true)
}

// Matches sets a proof's matches for a terminal, under the block.
func Matches(p *proof.Proof, s Style) string {
	return Block(p, s) + "\n" + matches(p, s, true) + "\n" + conditions(p, s) + Assumed(p.Head, s)
}

// noColours is said where an art has no colours to match.
const noColours = "The art has no colour that can be seen: all of it is clear, or of no more than 5 % alpha."

func matches(p *proof.Proof, s Style, full bool) string {
	out := matchTables(p.Matches(), s, full)
	if len(p.Main) == 0 {
		if out != "" {
			out += "\n"
		}
		out += s.para(noColours, "")
	}
	return out
}

// matchTables are the brand's colours, then the art's own; in brief only those that are no
// brand colour.
func matchTables(f *proof.SwatchFacts, s Style, full bool) string {
	var parts, say []string
	left := map[int]bool{3: true}
	notes := ""
	if len(f.Swatches) > 0 {
		withArea := f.Swatches[0].AreaPercent != nil
		head := []string{"brand colour", "wanted Lab", "printed Lab", "result", "ΔE00"}
		if withArea {
			head = append(head, "of print")
		}
		if full {
			head = append(head, "at best", "CMYK")
		}
		t := &folds{head: withAbsolute(head, s), left: left}
		for _, w := range f.Swatches {
			row := swatchRow(w, w.AreaPercent, full, s)
			t.add(absoluteCells(row, w, s)...)
			if w.Misses() {
				say = append(say, w.Sentence)
			}
		}
		if full {
			notes = bestNotes(f.Swatches, s)
		}
		parts = append(parts, t.shown().render(s.width())+notes+swatchNotes(f.Swatches, s)+skippedNotes(f.SwatchesSkipped, s))
	}
	var own []proof.Swatch
	head := []string{"colour of the art", "designed Lab", "printed Lab", "result", "ΔE00", "of print"}
	if full {
		head = append(head, "at best", "CMYK")
	}
	if len(f.Swatches) > 0 {
		head = append(head, "closest brand colour")
	}
	t := &folds{head: withAbsolute(head, s), left: left}
	for _, w := range f.Main {
		if !full && w.ClosestSwatch != "" && w.ClosestDeltaE <= sameColour {
			continue
		}
		row := swatchRow(w.Swatch, w.AreaPercent, full, s)
		if len(f.Swatches) > 0 {
			row = append(row, fmt.Sprintf("%s, ΔE00 %.1f", w.ClosestSwatch, w.ClosestDeltaE))
		}
		t.add(absoluteCells(row, w.Swatch, s)...)
		if w.Misses() && len(f.Swatches) == 0 {
			say = append(say, w.Sentence)
		}
		own = append(own, w.Swatch)
	}
	if len(own) > 0 {
		if notes = ""; full {
			notes = bestNotes(own, s)
		}
		parts = append(parts, t.shown().render(s.width())+notes)
	}
	if len(parts) == 0 {
		return ""
	}
	out := s.para(f.White.Sentence, "")
	if full {
		out += "\n"
	}
	out += strings.Join(parts, "\n")
	switch {
	case len(say) > 0 && full:
		out += "\nTell the customer:\n"
		for _, v := range say {
			out += s.para(v, "  ")
		}
	case len(say) > 0:
		out += s.para("Tell the customer: "+strings.Join(say, " "), "")
	}
	return out
}

// sameColour is the ΔE00 up to which a colour of the art is called the brand colour that it is
// closest to.
const sameColour = 2

// withAbsolute are a table's heads with those of the absolute figures, if they are shown.
func withAbsolute(head []string, s Style) []string {
	if s.Full {
		head = append(head, "wanted, absolute", "printed, absolute", "ΔE00, absolute")
	}
	return head
}

func absoluteCells(row []string, w proof.Swatch, s Style) []string {
	if s.Full {
		row = append(row, labText(w.TargetLab), labText(w.PrintedLab), f1(w.DeltaAbsolute))
	}
	return row
}

// shown is the table without columns that are empty in every row.
func (g *folds) shown() *folds {
	out := &folds{left: map[int]bool{}, rows: make([][]string, len(g.rows)), under: g.under}
	for c, name := range g.head {
		empty := c > 0
		for _, r := range g.rows {
			empty = empty && r[c] == ""
		}
		if empty {
			continue
		}
		out.left[len(out.head)] = g.left[c]
		out.head = append(out.head, name)
		for i, r := range g.rows {
			out.rows[i] = append(out.rows[i], r[c])
		}
	}
	return out
}

// bestNotes say with which plates colours would print nearer than as separated.
func bestNotes(list []proof.Swatch, s Style) string {
	var b strings.Builder
	for _, w := range list {
		if w.Best != nil {
			b.WriteString(s.para(fmt.Sprintf("%s at best, if the file asks for it in CMYK: %s, ΔE00 %.1f.", w.Name, w.Best.Plates.CMYK(), w.Best.DeltaE00), "  "))
		}
	}
	return b.String()
}

// swatchNotes say of brand colours what the table does not: those whose plates are the
// list's own, those of too much toner, and which measurement was taken where the list
// has several, or one that is not usual alone.
func swatchNotes(list []proof.Swatch, s Style) string {
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
		b.WriteString(s.para(n+": "+strings.Join(who[n], ", ")+".", "  "))
	}
	return b.String()
}

// skippedNotes name colours that are not in the table.
func skippedNotes(list []swatch.Skipped, s Style) string {
	var b strings.Builder
	for _, v := range list {
		b.WriteString(s.para(fmt.Sprintf("Left out: %s %s.", v.Name, v.Why), "  "))
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
func f2(v float64) string { return fmt.Sprintf("%.2f", v) }

// swatchRow is a swatch's cells: with the area that it takes, if that is known, and in full
// with its plates.
func swatchRow(w proof.Swatch, area *float64, full bool, s Style) []string {
	grade := gradeWord(w.Grade)
	if w.Misses() {
		grade = s.paint(stopColour, grade)
	}
	best := ""
	if w.Best != nil {
		best = f1(w.Best.DeltaE00)
	}
	var tones [4]string
	for k := range tones {
		tones[k] = fmt.Sprintf("%.0f", *w.Plates.At(k))
	}
	row := []string{w.Name, labText(w.SeenTargetLab), labText(w.SeenPrintedLab), grade, f1(w.DeltaE00)}
	if area != nil {
		row = append(row, pct(*area))
	}
	if full {
		row = append(row, best, strings.Join(tones[:], "/"))
	}
	return row
}

func plural(n int, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return fmt.Sprintf("%d %s", n, many)
}

// Proof is a whole proof for a terminal: the block, then what one decides by, in that order.
// Unless all of it is wanted, it is kept short.
func Proof(p *proof.Proof, s Style) string {
	parts := []string{Block(p, s), findings(p, s, s.Full), matches(p, s, s.Full)}
	if p.Underbase != nil {
		parts = append(parts, choices(p.Underbase, s, s.Full))
	}
	if s.Full {
		if p.Quoted != nil {
			parts = append(parts, quote(p.Quoted, s))
		}
		parts = append(parts, coverage(p, s))
	} else {
		parts = append(parts, laid(p, s))
	}
	care := "Take care:\n"
	for _, c := range p.Cautions {
		care += wrap(c, "- ", "  ", s.width())
	}
	end := conditions(p, s)
	if !s.Full {
		end = strings.TrimSuffix(end, "\n") + " All figures and reasons: " + s.field("full") + ".\n"
		end = s.para(end, "")
	}
	if s.Full || p.Underbase == nil { // in brief the choice of process has its table
		end += Assumed(p.Head, s)
	}
	return strings.Join(append(parts, care+end), "\n")
}

// laid is what a print lays down, in brief.
func laid(p *proof.Proof, s Style) string {
	var parts []string
	for k, name := range plate.Names {
		parts = append(parts, fmt.Sprintf("%s %.1f", name, p.Plates.At(k).PrintPercent))
	}
	return s.para(fmt.Sprintf("Coverage of the print: %s %%; toner %s %s a print.", strings.Join(parts, ", "), p.Toner.Currency, money(p.Toner.Print.Total)), "") + totalToner(p, s)
}
