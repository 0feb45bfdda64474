package show

import (
	"bytes"
	_ "embed"
	"fmt"
	"html/template"
	"math"
	"slices"
	"strings"
	"unicode/utf8"

	"laydown/coverage/proof"
	"laydown/coverage/shop"
)

// ticketFacts are a ticket's head, a line each.
func ticketFacts(t *proof.Ticket) (out [][2]string) {
	add := func(name, format string, v ...any) { out = append(out, [2]string{name, fmt.Sprintf(format, v...)}) }
	if t.Order != "" || t.For != "" {
		order := []string{t.Order, t.For}
		add("Order", "%s", strings.Join(slices.DeleteFunc(order, func(v string) bool { return v == "" }), ", for "))
	}
	if t.Due != "" {
		add("Due", "%s", t.Due)
	}
	item := t.ItemSaid
	if len(t.Sizes) > 0 {
		item += ": " + strings.Join(t.Sizes, ", ")
	}
	if t.OwnBlanks {
		item += "; the customer's own pieces"
	}
	add("Item", "%s", item)
	if t.Place != "" {
		add("Place", "%s", t.Place)
	}
	add("Process", "%s on %s, %s", t.Process, t.Media, t.WhiteSaid)
	switch {
	case len(t.Texts) > 1:
		add("Print", "%s", plural(len(t.Texts), "text", "different texts"))
	case t.Shared:
		add("Print", "%.1f × %.1f mm", t.SizeMM[0], t.SizeMM[1])
	default:
		add("Print", "%.1f × %.1f mm, %d on a sheet", t.SizeMM[0], t.SizeMM[1], t.Copies)
	}
	if t.Quantity > 0 {
		sheets := plural(t.Sheets, "sheet", "sheets")
		if t.Pair {
			sheets = plural(t.Sheets, "pair of sheets", "pairs of sheets")
		}
		if t.Shared {
			sheets += " that it shares with other prints"
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
	switch {
	case t.Load != "" && t.Tray != "":
		add("Load", "%s, in %s", t.Load, t.Tray)
	case t.Load != "":
		add("Load", "%s", t.Load)
	case t.Tray != "":
		add("Load", "%s", t.Tray)
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
	b.WriteString(wrap("Bench ticket: "+t.Artwork, "", "  ", s.width()))
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

//go:embed tickets.html
var ticketsSource string

//go:embed ticketbody.html
var ticketBody string

var (
	ticketFuncs = template.FuncMap{"inc": func(i int) int { return i + 1 }}
	ticketPage  = template.Must(template.Must(template.New("one").Funcs(ticketFuncs).Parse(ticketBody)).New("page").Parse(ticketSource))
	ticketPages = template.Must(template.Must(template.New("all").Funcs(ticketFuncs).Parse(ticketBody)).New("page").Parse(ticketsSource))
)

// ticketRooms are the ways in which steps are set, from the largest type on: how many letters
// are on a line, about, and how many lines the page has room for.
var ticketRooms = []struct {
	class        string
	wide, lines  int
	betweenSteps float64 // in lines
	columns      int
}{{"", 82, 18, 0.45, 1}, {"small", 92, 21, 0.25, 1}, {"two", 40, 42, 0.25, 2}, {"two least", 50, 70, 0.2, 2}, {"two least tiny", 44, 190, 0.1, 3}}

// usualFacts is how many lines a ticket's head has that is of no order.
const usualFacts = 6

// ticketRoom is the largest type in which all steps are on one page, by about; the smallest
// if none is.
func ticketRoom(t *proof.Ticket) string {
	head := float64(len(ticketFacts(t))-usualFacts) + float64(len(t.Texts))/3
	for _, more := range []bool{len(t.Stops) > 0, len(t.CheckFirst) > 0, len(t.Customer) > 0, len(t.Assumed) > 0, t.DemoShop} {
		if more {
			head += 2
		}
	}
	for _, room := range ticketRooms {
		lines := 0.0
		for _, s := range slices.Concat(t.Steps, t.Customer) {
			lines += math.Ceil(float64(utf8.RuneCountInString(s.Words))/float64(room.wide)) + room.betweenSteps
		}
		// Where steps are in columns, a line of the head takes one of each.
		if lines <= float64(room.lines)-head*float64(room.columns) {
			return room.class
		}
	}
	return ticketRooms[len(ticketRooms)-1].class
}

// ticketView is what a ticket's page sees.
type ticketView struct {
	*proof.Ticket
	Heading               string
	Facts                 [][2]string
	StopWords, CheckWords string
	PictureURL            template.URL
	Room                  string // how steps are set
}

func newTicketView(t *proof.Ticket) ticketView {
	v := ticketView{Ticket: t, Heading: t.Artwork, Facts: ticketFacts(t), StopWords: stopWords(t.Stops), CheckWords: stopWords(t.CheckFirst), Room: ticketRoom(t)}
	if len(t.Texts) > 1 {
		v.Heading = plural(len(t.Texts), "text", "texts")
	}
	if len(t.Picture) > 0 {
		v.PictureURL = pngURL(t.Picture)
	}
	return v
}

// TicketPage renders a ticket as one page that prints on one sheet.
func TicketPage(t *proof.Ticket) ([]byte, error) {
	var b bytes.Buffer
	err := ticketPage.Execute(&b, newTicketView(t))
	return b.Bytes(), err
}

// TicketPages are the tickets of an order, a page each.
func TicketPages(w *proof.Whole) ([]byte, error) {
	var pages []ticketView
	for _, t := range w.Tickets {
		pages = append(pages, newTicketView(t))
	}
	var b bytes.Buffer
	err := ticketPages.Execute(&b, struct {
		*proof.Whole
		Pages []ticketView
	}{w, pages})
	return b.Bytes(), err
}
