package show

import (
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
	if h != nil && h.DemoShop {
		verdict += " " + demoNote
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

// Below is what stands under an answer that opens with a verdict: what was taken and why, at
// length, and whose prices these are.
func Below(h *proof.Head, s Style) string {
	out := Assumed(h, s)
	first, last := Invented(h, s)
	if !h.DemoShop {
		out += first
	}
	return out + last
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

// Invented says whose prices these are: in the first line of an answer that does not open
// with a verdict where nobody named the shop file, or where the figures are the demo shop's;
// and then in the last line too; "" where there is nothing to say.
func Invented(h *proof.Head, s Style) (first, last string) {
	below := s.para("All prices and limits above are invented: they are the demo shop's.", "")
	found := ""
	if h.ShopFound != "" {
		found = ", found " + h.ShopFound
	}
	switch {
	case h.DemoShop && h.ShopFile == shop.BuiltIn:
		return s.para("Demo shop, no shop file is named or found: all prices and limits are invented.", ""), below
	case h.DemoShop:
		return s.para(h.ShopFile+found+": it is the demo shop as it came, and all prices and limits are invented.", ""), below
	case found != "":
		return s.para("shop file not named: "+h.ShopFile+found, ""), ""
	}
	return "", ""
}
