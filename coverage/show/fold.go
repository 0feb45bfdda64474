package show

import (
	"strings"

	"github.com/jedib0t/go-pretty/v6/table"
	"github.com/jedib0t/go-pretty/v6/text"
)

// usualWidth is how many columns a line has unless a terminal says otherwise, and
// MostWidth the most that are used of one: longer lines are hard to follow.
const (
	usualWidth = 80
	MostWidth  = 120
	leastWidth = 40
)

// width is how many columns a line may take.
func (s Style) width() int {
	if s.Width == 0 {
		return usualWidth
	}
	return max(leastWidth, min(s.Width, MostWidth))
}

// columns is how many columns of a terminal a line takes, colours aside.
func columns(v string) int { return text.StringWidthWithoutEscSequences(v) }

// wrap sets words in lines of at most so many columns; the first begins with one margin, the
// others with another. A word that is longer than a line is broken.
func wrap(words, first, rest string, width int) string {
	var b strings.Builder
	line, empty := first, true
	flush := func() {
		b.WriteString(strings.TrimRight(line, " ") + "\n")
		line, empty = rest, true
	}
	for _, w := range strings.Fields(words) {
		if !empty && columns(line)+1+columns(w) > width {
			flush()
		}
		for columns(line)+columns(w) > width && empty {
			part := text.Trim(w, max(1, width-columns(line)))
			line += part
			w = strings.TrimPrefix(w, part)
			flush()
		}
		if w == "" {
			continue
		}
		if !empty {
			line += " "
		}
		line, empty = line+w, false
	}
	if !empty || b.Len() == 0 {
		flush()
	}
	return b.String()
}

// para sets words under one margin.
func (s Style) para(words, margin string) string { return wrap(words, margin, margin, s.width()) }

// folds is a table whose first column names its rows. Where it is wider than a line, its
// other columns fold: those that do not fit follow below, under the same names.
type folds struct {
	head  []string
	left  map[int]bool // columns of words; the others, but the first, are figures
	most  map[int]int  // what a column of words takes at most: it is set in several lines
	rows  [][]string
	under int // rows from here on stand under a line; 0 for none
}

func (g *folds) add(cells ...string) { g.rows = append(g.rows, cells) }

// render sets the table in lines of at most so many columns.
func (g *folds) render(width int) string {
	wide := make([]int, len(g.head))
	for c := range wide {
		wide[c] = columns(g.head[c])
		for _, r := range g.rows {
			wide[c] = max(wide[c], columns(r[c]))
		}
	}
	for c, n := range g.most {
		wide[c] = min(wide[c], n)
	}
	wide[0] = min(wide[0], width/2-2)
	var parts []string
	for from := 1; from < len(g.head) || len(parts) == 0; {
		to, sum := from, wide[0]+2
		for to < len(g.head) && (to == from || sum+wide[to]+2 <= width) {
			wide[to] = min(wide[to], width-wide[0]-4)
			sum += wide[to] + 2
			to++
		}
		parts = append(parts, g.part(from, to, wide))
		from = to
	}
	return strings.Join(parts, "\n")
}

// part sets the first column and some others.
func (g *folds) part(from, to int, wide []int) string {
	t := table.NewWriter()
	t.SetStyle(table.StyleLight)
	o := t.Style()
	o.Options.DrawBorder, o.Options.SeparateColumns = false, false
	o.Format.Header, o.Format.Footer = text.FormatDefault, text.FormatDefault
	pick := func(cells []string) table.Row {
		row := table.Row{cells[0]}
		for _, c := range cells[from:to] {
			row = append(row, c)
		}
		return row
	}
	config := []table.ColumnConfig{{Number: 1, WidthMax: wide[0], WidthMaxEnforcer: text.WrapSoft}}
	for c := from; c < to; c++ {
		k := table.ColumnConfig{Number: c - from + 2, WidthMax: wide[c], WidthMaxEnforcer: text.WrapSoft, Align: text.AlignRight, AlignHeader: text.AlignRight}
		if g.most[c] > 0 {
			k.WidthMaxEnforcer = text.WrapSoft
		}
		if g.left[c] {
			k.Align, k.AlignHeader = text.AlignLeft, text.AlignLeft
		}
		config = append(config, k)
	}
	t.SetColumnConfigs(config)
	t.AppendHeader(pick(g.head))
	for i, r := range g.rows {
		if g.under > 0 && i == g.under {
			t.AppendSeparator()
		}
		t.AppendRow(pick(r))
	}
	var b strings.Builder
	for line := range strings.Lines(t.Render() + "\n") {
		b.WriteString(strings.TrimRight(strings.TrimSuffix(line, "\n"), " ") + "\n")
	}
	return b.String()
}
