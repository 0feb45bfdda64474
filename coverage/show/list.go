package show

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"github.com/jedib0t/go-pretty/v6/table"

	"laydown/coverage/shop"
)

// Lists are the parts of a listing, by the names that [List] knows.
var Lists = []string{"items", "processes", "media", "sheets", "printers"}

// List sets parts of a shop's listing for a terminal; none named means all. currency is the
// shop's.
func List(l shop.Listing, currency string, parts ...string) string {
	set := map[string]func() string{
		"items": func() string {
			t := newTable("item", "short", "colour", "material", "price")
			for _, v := range l.Items {
				price := currency + " " + v.Price
				if v.SoldBy != "" {
					price = "loose, by the " + v.SoldBy
				}
				t.AppendRow(table.Row{v.Name, v.Short, v.Colour, v.Material, price})
			}
			t.AppendRow(table.Row{shop.None, shop.None, "", "", "loose, for any process"})
			return t.Render()
		},
		"processes": func() string {
			t := newTable("process", "short", "media", "white", "for")
			for _, v := range l.Processes {
				t.AppendRow(table.Row{v.Name, v.Short, v.Media, v.White, cmp.Or(strings.Join(v.Materials, ", "), "everything")})
			}
			return t.Render()
		},
		"media": func() string {
			t := newTable("media", "short", "sheet", "a transfer")
			for _, v := range l.Media {
				t.AppendRow(table.Row{v.Name, v.Short, v.Sheet, currency + " " + v.PriceEach})
			}
			return t.Render()
		},
		"sheets": func() string {
			t := newTable("sheet", "short", "mm")
			for _, v := range l.Sheets {
				t.AppendRow(table.Row{v.Name, v.Short, fmt.Sprintf("%g × %g", v.WidthMM, v.HeightMM)})
			}
			return t.Render()
		},
		"printers": func() string {
			t := newTable("printer", "short")
			for _, v := range l.Printers {
				t.AppendRow(table.Row{v.Name, v.Short})
			}
			return t.Render()
		},
	}
	var out []string
	for _, p := range Lists {
		if len(parts) == 0 || slices.Contains(parts, p) {
			out = append(out, set[p]()+"\n")
		}
	}
	return strings.Join(out, "\n") + "\nNames may be typed in any case, and as short as the column short says.\n"
}
