package proof

import (
	"fmt"
	"strings"

	"github.com/jedib0t/go-pretty/v6/table"
	"github.com/shopspring/decimal"

	"laydown/coverage/plate"
	"laydown/coverage/price"
)

// QuoteFacts is what an order costs and sells for at several quantities. Amounts are
// decimal text.
type QuoteFacts struct {
	Currency   string          `json:"currency"`
	Artwork    string          `json:"artwork"`
	Process    string          `json:"process"`
	Item       string          `json:"item"`
	SheetName  string          `json:"sheet"`
	Copies     int             `json:"copies_on_sheet"`
	Quantities []QuoteQuantity `json:"quantities"`
}

// QuoteQuantity is one quantity.
type QuoteQuantity struct {
	Quantity    int        `json:"quantity"`
	Sheets      int        `json:"sheets"`
	SparePlaces int        `json:"spare_places"`
	TonerEach   TonerLines `json:"toner_each"`
	CostEach    CostLines  `json:"cost_each"`
	CostTotal   CostLines  `json:"cost_total"`
	PriceEach   string     `json:"price_each"`
	PriceTotal  string     `json:"price_total"`
	Margin      string     `json:"margin_percent"`
	Tax         string     `json:"tax"`
	WithTax     string     `json:"price_with_tax"`
	// BreakEven is the least quantity that does not lose money at PriceEach; 0 if
	// none up to Quantity does.
	BreakEven int `json:"break_even_quantity"`
	// FlatPriceEach is what the same pricing asks if every plate is taken for 5 %
	// coverage, and FlatShort how much less that is over the whole quantity than
	// the price; below nothing, flat pricing asks more.
	FlatPriceEach string `json:"flat_price_each"`
	FlatShort     string `json:"flat_short"`

	loses bool
}

// CostLines are the lines of cost; Total is their sum.
type CostLines struct {
	Toner    string `json:"toner"`
	Media    string `json:"media"`
	Wear     string `json:"wear"`
	Cover    string `json:"cover"`
	Blank    string `json:"blank"`
	Labour   string `json:"labour"`
	Machine  string `json:"machine"`
	Setup    string `json:"setup"`
	Spoilage string `json:"spoilage"`
	Overhead string `json:"overhead"`
	Total    string `json:"total"`
}

func (c CostLines) at(l price.Line) string {
	return [...]string{c.Toner, c.Media, c.Wear, c.Cover, c.Blank, c.Labour, c.Machine, c.Setup, c.Spoilage, c.Overhead}[l]
}

func costLines(line [price.Lines]decimal.Decimal, total decimal.Decimal) CostLines {
	f := func(l price.Line) string { return line[l].StringFixed(price.Places) }
	return CostLines{f(price.TonerLine), f(price.MediaLine), f(price.WearLine), f(price.CoverLine), f(price.BlankLine), f(price.LabourLine),
		f(price.MachineLine), f(price.SetupLine), f(price.SpoilageLine), f(price.OverheadLine), total.StringFixed(price.Places)}
}

// flatPercent is what a shop assumes that does not look at the art.
const flatPercent = 5

var (
	sixty  = decimal.NewFromInt(60)
	anHour = decimal.NewFromInt(3600)
)

// inputs are the order's for package price.
func (p *Proof) inputs() price.Inputs {
	j := p.job
	lab := j.Shop.Labour
	in := price.Inputs{Cartridges: j.printer.Cartridges(), Laid: p.laid(), Copies: p.layout.Copies(),
		MediaSheet: j.medium.TransferPrice(), BlankPiece: j.item.Price,
		LabourHour: lab.RateHour, SheetSeconds: lab.PrintSeconds,
		PieceSeconds:    lab.WeedSeconds.Add(lab.PackSeconds),
		SetupSeconds:    lab.FileCheckMinutes.Add(lab.SetupMinutes).Mul(sixty),
		SpoilagePercent: j.Shop.Costs.SpoilagePercent, OverheadPercent: j.Shop.Costs.OverheadPercent}
	passes := decimal.NewFromInt(int64(j.medium.PerTransfer))
	// Of a pair, one sheet goes through the printer.
	in.WearSheet = j.printer.WearSheet(p.layout.Sheet)
	if j.medium.PagesPerMinute.IsPositive() {
		in.MachineSheet = j.printer.MachineHour.DivRound(j.medium.PagesPerMinute.Mul(sixty), 16)
	}
	in.SheetSeconds = in.SheetSeconds.Mul(passes)
	if seconds := j.process.HeatPressSeconds(); seconds > 0 {
		pressing := decimal.NewFromFloat(seconds)
		in.PieceSeconds = in.PieceSeconds.Add(pressing).Add(lab.HeatPressSeconds)
		in.MachinePiece = j.Shop.Costs.HeatPressHour.Mul(pressing).DivRound(anHour, 16)
	}
	if j.process.Cover != "" {
		if c, err := j.Shop.Cover(j.process.Cover); err == nil { // the shop file was checked
			in.CoverPiece = price.PerUse(c.Price, c.Uses).Mul(decimal.NewFromInt(int64(j.process.CoveredPresses())))
		}
	}
	return in
}

// laid is what one print lays down.
func (p *Proof) laid() (laid [plate.Count]price.Laid) {
	for k := range laid {
		laid[k] = price.Laid{Sum: p.plates.Sum(k), Pixels: uint64(p.art.Width) * uint64(p.art.Height), AreaMM2: p.size.WidthMM * p.size.HeightMM}
	}
	return laid
}

// mostBreakEven bounds the quantities that are tried.
const mostBreakEven = 5000

// Quote works out what quantities of the order cost and sell for; without any, those
// of the shop file.
func (p *Proof) Quote(quantities []int) (*QuoteFacts, error) {
	if len(quantities) == 0 {
		quantities = p.job.Shop.Pricing.Quantities
	}
	pricing, err := p.job.Shop.Pricing.Price()
	if err != nil {
		return nil, err
	}
	in := p.inputs()
	uses := [plate.Count]bool{true, true, true, true, p.job.process.White != plate.NoWhite}
	f := &QuoteFacts{Currency: p.job.Shop.Currency, Artwork: p.Artwork.File, Process: p.Process.Name, Item: p.Item.Name, SheetName: p.Sheet.Name, Copies: in.Copies}
	for _, q := range quantities {
		c, err := in.Cost(q)
		if err != nil {
			return nil, err
		}
		flatCost, err := in.Flat(flatPercent, uses).Cost(q)
		if err != nil {
			return nil, err
		}
		asked, flat := pricing.Price(c), pricing.Price(flatCost)
		even, err := in.BreakEven(asked.Each, min(q, mostBreakEven))
		if err != nil {
			return nil, err
		}
		toner, line, total := c.Each()
		f.Quantities = append(f.Quantities, QuoteQuantity{Quantity: q, Sheets: c.Sheets, SparePlaces: c.Spare, TonerEach: tonerLines(toner),
			CostEach: costLines(line, total), CostTotal: costLines(c.Line, c.Total),
			PriceEach: asked.Each.StringFixed(price.Cents), PriceTotal: asked.Total.StringFixed(price.Cents), Margin: asked.MarginPercent.StringFixed(price.Cents),
			Tax: asked.Tax.StringFixed(price.Cents), WithTax: asked.WithTax.StringFixed(price.Cents), BreakEven: even,
			FlatPriceEach: flat.Each.StringFixed(price.Cents), FlatShort: asked.Total.Sub(flat.Total).StringFixed(price.Cents),
			loses: asked.Total.LessThan(c.Total)})
	}
	return f, nil
}

// quoteRow is a row of the quote's table: a name, and a cell a quantity.
type quoteRow struct {
	Name  string
	Cells []string
	Sum   bool // of what stands above it, or what is asked for it
}

// rows are the quote's table, cost first.
func (f *QuoteFacts) rows() (rows []quoteRow) {
	add := func(name string, sum bool, get func(QuoteQuantity) string) {
		r := quoteRow{Name: name, Sum: sum}
		for _, q := range f.Quantities {
			r.Cells = append(r.Cells, get(q))
		}
		rows = append(rows, r)
	}
	add("sheets", false, func(q QuoteQuantity) string {
		if q.SparePlaces > 0 {
			return fmt.Sprintf("%d (%d free)", q.Sheets, q.SparePlaces)
		}
		return fmt.Sprint(q.Sheets)
	})
	for l, name := range price.LineNames {
		add(name, false, func(q QuoteQuantity) string { return q.CostTotal.at(price.Line(l)) })
	}
	add("cost", true, func(q QuoteQuantity) string { return q.CostTotal.Total })
	add("cost each", false, func(q QuoteQuantity) string { return q.CostEach.Total })
	add("price each", true, func(q QuoteQuantity) string { return q.PriceEach })
	add("price", true, func(q QuoteQuantity) string { return q.PriceTotal })
	add("with tax", false, func(q QuoteQuantity) string { return q.WithTax })
	add("margin", false, func(q QuoteQuantity) string { return q.Margin + " %" })
	add("breaks even from", false, func(q QuoteQuantity) string {
		if q.BreakEven == 0 {
			return "never"
		}
		return fmt.Sprint(q.BreakEven)
	})
	add(fmt.Sprintf("at flat %d %% each", flatPercent), false, func(q QuoteQuantity) string { return q.FlatPriceEach })
	add("flat asks too little by", false, func(q QuoteQuantity) string { return q.FlatShort })
	return rows
}

// Text sets the quote for a terminal: what a quantity costs in all, line by line,
// and what it sells for.
func (f *QuoteFacts) Text() string {
	head := []any{"in " + f.Currency + ", the whole quantity"}
	for _, q := range f.Quantities {
		head = append(head, fmt.Sprintf("%d", q.Quantity))
	}
	t := newTable(head...)
	rightFrom(t, 2, len(head))
	for _, r := range f.rows() {
		row := table.Row{r.Name}
		for _, c := range r.Cells {
			row = append(row, c)
		}
		t.AppendRow(row)
		if r.Name == "cost" {
			t.AppendSeparator()
		}
	}
	var warn []string
	for _, q := range f.Quantities {
		if q.loses {
			warn = append(warn, fmt.Sprintf("%d pieces at %s %s lose money.", q.Quantity, f.Currency, q.PriceEach))
		}
	}
	s := fmt.Sprintf("%s on %s, process %s; %d on a sheet of %s:\n\n%s\n", f.Artwork, f.Item, f.Process, f.Copies, f.SheetName, t.Render())
	if len(warn) > 0 {
		s += "\n" + strings.Join(warn, "\n") + "\n"
	}
	return s
}
