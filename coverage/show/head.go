package show

import (
	"fmt"
	"strings"

	"github.com/jedib0t/go-pretty/v6/text"

	"laydown/coverage/flaw"
	"laydown/coverage/proof"
	"laydown/coverage/shop"
)

// demoNote ends the first line of an answer whose figures are the demo shop's.
const demoNote = "Demo prices, all invented."

// opening is the first line of an answer, its verdict, and whose prices these are if they are
// invented. h may be nil.
func (s Style) opening(h *proof.Head, c text.Colors, verdict string) string {
	switch {
	case h != nil && h.DemoShop:
		verdict += " " + demoNote
	case h != nil && h.DemoFigures > 0:
		verdict += fmt.Sprintf(" %d of %d shop figures are invented.", h.DemoFigures, h.DemoFigures+h.OwnFigures)
	}
	return s.painted(c, verdict)
}

// Assumed says at length, a line each, what was taken where the order says nothing; "" if
// nothing was.
func Assumed(h *proof.Head, s Style) string {
	out := ""
	for _, a := range h.Assumed {
		out += s.para(a.Words(), "")
	}
	return out
}

// Stops says in one line what stops the print; "" if nothing does.
func Stops(h *proof.Head, s Style) string {
	if len(h.Stops) == 0 {
		return ""
	}
	return s.paint(stopColour, strings.TrimSuffix(s.para("Do not print: "+stopWords(h.Stops)+".", ""), "\n")) + "\n"
}

// takenWords are in short what was taken where the order says nothing, with the reason of the
// first, which is the process where that was not named.
func takenWords(h *proof.Head) string {
	var parts []string
	for _, a := range h.Assumed {
		if len(parts) > 0 {
			parts = append(parts, strings.ReplaceAll(a.Field, "-", " ")+": "+a.Value)
			continue
		}
		parts = append(parts, a.Short())
	}
	return strings.Join(parts, "; ")
}

// Below is what stands under an answer that opens with a verdict: what was taken and why, at
// length, and whose prices these are.
func Below(h *proof.Head, s Style) string {
	return Assumed(h, s) + Foot(h, s)
}

// Foot says whose prices these are under an answer that opens with a verdict.
func Foot(h *proof.Head, s Style) string {
	if words := invented(h); words != "" {
		return s.para(words, "")
	}
	return ""
}

// invented says whose prices these are; "" where there is nothing to say.
func invented(h *proof.Head) string {
	found := ""
	if h.ShopFound != "" {
		found = ", found " + h.ShopFound
	}
	switch {
	case h.DemoShop && h.ShopFile == shop.BuiltIn:
		return "All prices and limits above are invented: they are the demo shop's."
	case h.DemoShop:
		return fmt.Sprintf("%s%s: it is the demo shop as it came, and all prices and limits above are invented.", h.ShopFile, found)
	case h.DemoFigures > 0:
		own := plural(h.OwnFigures, "figure is", "figures are")
		return fmt.Sprintf("%s%s: %s yours; the other %d are still the demo shop's, which are invented.", h.ShopFile, found, own, h.DemoFigures)
	case found != "":
		return "shop file not named: " + h.ShopFile + found
	}
	return ""
}

// stopWords names the findings that stop a print; those that are about the whole order with
// the first words of their advice.
func stopWords(stops []proof.Stop) string {
	var parts []string
	for _, v := range stops {
		part := string(v.Kind)
		if v.Kind == flaw.WrongItem || v.Kind == flaw.TooLarge {
			advice, _, _ := strings.Cut(v.Advice, ":")
			part += " (" + strings.ToLower(advice[:1]) + advice[1:] + ")"
		}
		parts = append(parts, part)
	}
	return strings.Join(parts, ", ")
}

// Invented says whose prices these are under an answer that does not open with a verdict, and
// in its first line as well where they are the demo shop's; "" where there is nothing to say.
func Invented(h *proof.Head, s Style) (first, last string) {
	last = Foot(h, s)
	switch {
	case h.DemoShop && h.ShopFile == shop.BuiltIn:
		first = s.para("Demo shop, no shop file is named or found: all prices and limits are invented.", "")
	case h.DemoShop, h.DemoFigures > 0:
		first = last
	default:
		first, last = last, ""
	}
	return first, last
}
