package shop

import (
	"laydown/coverage/form"
	"laydown/coverage/name"
	"laydown/coverage/price"
	"laydown/coverage/unit"
)

// Listing is what the shop file has to be named by, and how short each name may be typed.
type Listing struct {
	Items     []ListedItem    `json:"items"`
	Processes []ListedProcess `json:"processes"`
	Media     []ListedMedium  `json:"media"`
	Sheets    []ListedSheet   `json:"sheets"`
	Printers  []Listed        `json:"printers"`
}

// Listed is a name and its shortest beginning that means no other of its kind.
type Listed struct {
	Name  string `json:"name"`
	Short string `json:"short"`
}

// ListedItem is an item; Price is that of the blank, decimal text, "" if the file has none.
type ListedItem struct {
	Listed
	Colour   string   `json:"colour"` // #rrggbb, of mixed colours their mean
	Material string   `json:"material,omitempty"`
	Price    string   `json:"price"`
	SoldBy   string   `json:"sold_by,omitempty"` // of loose goods
	Suited   []string `json:"processes"`         // that suit it
}

// ListedProcess is a process.
type ListedProcess struct {
	Listed
	Media     string   `json:"media"`
	White     string   `json:"white_rule"`
	Materials []string `json:"materials"` // it suits; none means all
}

// ListedMedium is one of the media in one of the sheets that it is bought in; PriceEach is
// that of a transfer's sheets, decimal text, "" if the file has none.
type ListedMedium struct {
	Listed
	Sheet     string `json:"sheet"`
	PriceEach string `json:"price_each"`
}

// ListedSheet is a sheet size that has a name.
type ListedSheet struct {
	Listed
	WidthMM  float64 `json:"width_mm"`
	HeightMM float64 `json:"height_mm"`
}

// List lists what the shop file has, in its order, and the sheet sizes that have names.
func (s *Shop) List() Listing {
	l := Listing{Items: []ListedItem{}, Processes: []ListedProcess{}, Media: []ListedMedium{}, Sheets: []ListedSheet{}, Printers: []Listed{}}
	for i := range s.Items {
		v := &s.Items[i]
		of := ListedItem{listed(v.Name, s.ItemNames()), v.Colour.Lab.Hex(), v.Material, "", v.SoldBy, s.SuitedTo(v)}
		if v.Loose || !v.Price.IsZero() || s.writes(form.Path{"item", i, "price"}) {
			of.Price = v.Price.StringFixed(s.Places())
		}
		l.Items = append(l.Items, of)
	}
	for _, p := range s.Processes {
		l.Processes = append(l.Processes, ListedProcess{listed(p.Name, s.ProcessNames()), p.Media, string(p.White), append([]string{}, p.Materials...)})
	}
	for i := range s.Media {
		for _, sheet := range s.Media[i].SheetsBought() {
			m, _ := s.Media[i].Bought(sheet)
			v := ListedMedium{Listed: listed(m.Name, s.MediaNames()), Sheet: m.Sheet.String()}
			if s.Prices(m) {
				v.PriceEach = m.TransferPrice().Round(price.Places).StringFixed(price.Places)
			}
			l.Media = append(l.Media, v)
		}
	}
	var sizes []string
	for _, v := range unit.Sheets() {
		sizes = append(sizes, v.Name)
	}
	for _, v := range unit.Sheets() {
		l.Sheets = append(l.Sheets, ListedSheet{listed(v.Name, sizes), v.WidthMM, v.HeightMM})
	}
	for _, p := range s.Printers {
		l.Printers = append(l.Printers, listed(p.Name, s.PrinterNames()))
	}
	return l
}

func listed(of string, names []string) Listed { return Listed{of, name.Short(of, names)} }
