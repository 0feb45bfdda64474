package show

import (
	"strings"

	"github.com/jedib0t/go-pretty/v6/text"

	"laydown/coverage/flaw"
	"laydown/coverage/proof"
)

// Assumed says, a line each, what was taken where the order says nothing; "" if nothing was.
func Assumed(h *proof.Head) string {
	out := ""
	for _, a := range h.Assumed {
		out += indent(a.Words(), "")
	}
	return out
}

// Stops says in one line what stops the print; "" if nothing does.
func Stops(h *proof.Head, s Style) string {
	if len(h.Stops) == 0 {
		return ""
	}
	return s.paint(text.FgHiRed, strings.TrimSuffix(indent("Do not print: "+stopWords(h.Stops)+".", ""), "\n")) + "\n"
}

// stopWords names the findings that stop a print, each with its figure; those that are about
// the whole order with their advice.
func stopWords(stops []proof.Stop) string {
	var parts []string
	for _, v := range stops {
		part := string(v.Kind) + " (" + amount(flaw.Finding{Measured: v.Measured, Limit: v.Limit, Unit: v.Unit}) + ")"
		if v.Kind == flaw.WrongItem || v.Kind == flaw.TooLarge {
			advice, _, _ := strings.Cut(v.Advice, ":")
			part = string(v.Kind) + " (" + strings.ToLower(advice[:1]) + advice[1:] + ")"
		}
		parts = append(parts, part)
	}
	return strings.Join(parts, "; ")
}

// Invented says that the figures are the demo shop's, in the first and in the last line of
// an answer; "" if they are a shop's own.
func Invented(h *proof.Head) (first, last string) {
	if !h.DemoShop {
		return "", ""
	}
	return "These are the demo shop's prices and limits, all invented (" + h.ShopFile + ").\n",
		"All prices and limits above are invented: they are the demo shop's.\n"
}
