package show

import (
	"bytes"
	_ "embed"
	"fmt"
	"html/template"
	"strings"

	"laydown/coverage/proof"
	"laydown/coverage/shop"
)

// ticketFacts are a ticket's head, a line each.
func ticketFacts(t *proof.Ticket) (out [][2]string) {
	add := func(name, format string, v ...any) { out = append(out, [2]string{name, fmt.Sprintf(format, v...)}) }
	add("Item", "%s", t.ItemSaid)
	add("Process", "%s on %s, %s", t.Process, t.Media, t.WhiteSaid)
	add("Print", "%.1f × %.1f mm, %d on a sheet", t.SizeMM[0], t.SizeMM[1], t.Copies)
	if t.Quantity > 0 {
		sheets := plural(t.Sheets, "sheet", "sheets")
		if t.Pair {
			sheets = plural(t.Sheets, "pair of sheets", "pairs of sheets")
		}
		pieces := plural(t.Quantity, "piece", "pieces") + " on " + sheets
		if t.SoldBy == shop.BySheet {
			pieces = sheets + ", sold whole"
		}
		switch {
		case t.Spares > 0:
			pieces = fmt.Sprintf("%d and %s for what is spoilt, on %s", t.Quantity, plural(t.Spares, "spare", "spares"), sheets)
			if t.SoldBy == shop.BySheet {
				pieces += ", sold whole"
			}
		default:
			pieces += ", no spares"
		}
		add("Make", "%s", pieces)
	}
	if t.Load != "" {
		add("Load", "%s", t.Load)
	}
	reading := "print as it reads, not mirrored"
	if t.Mirrored {
		reading = "print MIRRORED"
	}
	switch t.WhiteAt {
	case "first":
		reading += ", white first, under the colours on the sheet"
	case "last":
		reading += ", white last, over the colours on the sheet"
	}
	add("Reading", "%s", reading)
	return out
}

// Ticket sets a ticket for a terminal.
func Ticket(t *proof.Ticket, s Style) string {
	var b strings.Builder
	b.WriteString(clip("Heat press ticket: "+t.Artwork, s.width()) + "\n")
	for _, f := range ticketFacts(t) {
		rest := strings.Repeat(" ", 11)
		b.WriteString(fmt.Sprintf("  %-9s", f[0]) + strings.TrimPrefix(wrap(f[1], rest, rest, s.width()), rest))
	}
	b.WriteString("\n")
	switch {
	case len(t.Steps) == 0 && len(t.Customer) > 0:
		b.WriteString(s.para("Nothing is done to the sheets here: they are sold as they are printed.", ""))
	case len(t.Steps) == 0:
		b.WriteString(s.para("The shop file has no steps for this process: work by the media maker's sheet.", ""))
	}
	for i, step := range t.Steps {
		b.WriteString(wrap(fmt.Sprintf("%d. %s", i+1, step.Words), "  ", "     ", s.width()))
	}
	if len(t.Customer) > 0 {
		b.WriteString("\nFor whoever puts it on:\n")
		for i, step := range t.Customer {
			b.WriteString(wrap(fmt.Sprintf("%d. %s", i+1, step.Words), "  ", "     ", s.width()))
		}
	}
	b.WriteString("\nTake care:\n")
	for _, c := range t.Cautions {
		b.WriteString(wrap(c, "- ", "  ", s.width()))
	}
	return b.String()
}

//go:embed ticket.html
var ticketSource string

var ticketPage = template.Must(template.New("ticket").Funcs(template.FuncMap{"inc": func(i int) int { return i + 1 }}).Parse(ticketSource))

// TicketPage renders a ticket as one page that prints on one sheet.
func TicketPage(t *proof.Ticket) ([]byte, error) {
	var b bytes.Buffer
	err := ticketPage.Execute(&b, struct {
		*proof.Ticket
		Facts     [][2]string
		StopWords string
	}{t, ticketFacts(t), stopWords(t.Stops)})
	return b.Bytes(), err
}
