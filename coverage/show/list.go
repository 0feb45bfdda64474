package show

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"laydown/coverage/shop"
)

// Lists are the parts of a listing, by the names that [List] knows.
var Lists = []string{"items", "processes", "media", "sheets", "printers"}

// List sets parts of a shop's listing for a terminal; none named means all. currency is the
// shop's.
func List(l shop.Listing, currency string, s Style, parts ...string) string {
	set := map[string]func() string{
		"items": func() string {
			t := &folds{head: []string{"item", "short", "colour", "material", "price"}, left: map[int]bool{1: true, 2: true, 3: true}}
			for _, v := range l.Items {
				price := priceOf(currency, v.Price)
				if v.SoldBy != "" {
					price = "loose, by the " + v.SoldBy
				}
				t.add(v.Name, v.Short, v.Colour, v.Material, price)
			}
			t.add(shop.None, shop.None, "", "", "loose, for any process")
			return t.render(s.width())
		},
		"processes": func() string {
			t := &folds{head: []string{"process", "short", "media", "white", "for"}, left: map[int]bool{1: true, 2: true, 3: true, 4: true}}
			for _, v := range l.Processes {
				t.add(v.Name, v.Short, v.Media, v.White, cmp.Or(strings.Join(v.Materials, ", "), "everything"))
			}
			return t.render(s.width())
		},
		"media": func() string {
			t := &folds{head: []string{"media", "short", "sheet", "a transfer"}, left: map[int]bool{1: true, 2: true}}
			for _, v := range l.Media {
				t.add(v.Name, v.Short, v.Sheet, priceOf(currency, v.PriceEach))
			}
			return t.render(s.width())
		},
		"sheets": func() string {
			t := &folds{head: []string{"sheet", "short", "mm"}, left: map[int]bool{1: true, 2: true}}
			for _, v := range l.Sheets {
				t.add(v.Name, v.Short, fmt.Sprintf("%g × %g", v.WidthMM, v.HeightMM))
			}
			return t.render(s.width())
		},
		"printers": func() string {
			t := &folds{head: []string{"printer", "short"}, left: map[int]bool{1: true}}
			for _, v := range l.Printers {
				t.add(v.Name, v.Short)
			}
			return t.render(s.width())
		},
	}
	var out []string
	for _, p := range Lists {
		if len(parts) == 0 || slices.Contains(parts, p) {
			out = append(out, set[p]())
		}
	}
	return strings.Join(out, "\n") + "\n" + s.para("Names may be typed in any case, and as short as the column short says.", "")
}

// priceOf words a price that a shop file may lack.
func priceOf(currency, amount string) string {
	if amount == "" {
		return "no price"
	}
	return currency + " " + amount
}
