package proof

import (
	"github.com/shopspring/decimal"

	"laydown/coverage/plate"
	"laydown/coverage/price"
	"laydown/coverage/shop"
)

// QuoteFacts is what an order costs and sells for at several quantities. Amounts are
// decimal text.
type QuoteFacts struct {
	Currency  string `json:"currency"`
	Artwork   string `json:"artwork"`
	Process   string `json:"process"`
	Item      string `json:"item"`
	ItemSaid  string `json:"item_said"` // as [Item.Said] says it
	Placed    string `json:"-"`         // as [Item.Placed] says it
	SheetName string `json:"sheet"`
	Copies    int    `json:"copies_on_sheet"`
	SoldBy    string `json:"sold_by,omitempty"` // what a quantity of loose goods counts: piece or sheet
	// CutMM is the outline that is cut along by hand for one print; absent on media that
	// weed themselves.
	CutMM      float64         `json:"cut_mm,omitempty"`
	Quantities []QuoteQuantity `json:"quantities"`

	*Head // nil within a proof, which has its own
}

// QuoteQuantity is one quantity.
type QuoteQuantity struct {
	Quantity    int             `json:"quantity"`
	Sheets      int             `json:"sheets"`
	SparePlaces int             `json:"spare_places"`
	TonerEach   price.Toner     `json:"toner_each"`
	CostEach    price.Breakdown `json:"cost_each"`
	CostTotal   price.Breakdown `json:"cost_total"`
	PriceEach   string          `json:"price_each"`
	PriceTotal  string          `json:"price_total"`
	Margin      string          `json:"margin_percent"`
	Tax         string          `json:"tax"`
	WithTax     string          `json:"price_with_tax"`
	// BreakEven is the least quantity that does not lose money at PriceEach; 0 if
	// none up to Quantity does.
	BreakEven int `json:"break_even_quantity"`
	// FlatPriceEach is what the same pricing asks if every plate is taken for 5 %
	// coverage, and FlatShort how much less that is over the whole quantity than
	// the price; below nothing, flat pricing asks more.
	FlatPriceEach string `json:"flat_price_each"`
	FlatShort     string `json:"flat_short"`

	Loses bool `json:"-"` // PriceTotal is below its cost
}

// FlatPercent is what a shop assumes that does not look at the art.
const FlatPercent = 5

var (
	sixty  = decimal.NewFromInt(60)
	anHour = decimal.NewFromInt(3600)
)

// inputs are the order's for package price.
func (l *Laid) inputs() price.Inputs {
	j := l.Job
	lab := j.Shop.Labour
	in := price.Inputs{Cartridges: j.Printer.Cartridges(), Laid: l.toner(), Copies: l.Layout.Copies(),
		MediaSheet: j.Medium.TransferPrice(), BlankPiece: j.Item.Price,
		LabourHour: lab.RateHour, SheetSeconds: lab.PrintSeconds,
		PieceSeconds:    lab.WeedSeconds.Add(lab.PackSeconds),
		SetupSeconds:    lab.FileCheckMinutes.Add(lab.SetupMinutes).Mul(sixty),
		SpoilagePercent: j.Shop.Costs.SpoilagePercent, OverheadPercent: j.Shop.Costs.OverheadPercent}
	passes := decimal.NewFromInt(int64(j.Medium.PerTransfer))
	// Of a pair, one sheet goes through the printer.
	in.WearSheet = j.Printer.WearSheet(l.Layout.Sheet)
	if j.Medium.PagesPerMinute.IsPositive() {
		in.MachineSheet = j.Printer.MachineHour.DivRound(j.Medium.PagesPerMinute.Mul(sixty), 16)
	}
	in.CutSeconds = l.cutSeconds()
	in.SheetSeconds = in.SheetSeconds.Mul(passes)
	if seconds := j.Process.HeatPressSeconds(j.Item); seconds > 0 {
		pressing := decimal.NewFromFloat(seconds)
		in.PieceSeconds = in.PieceSeconds.Add(pressing).Add(lab.HeatPressSeconds)
		in.MachinePiece = j.Shop.Costs.HeatPressHour.Mul(pressing).DivRound(anHour, 16)
	}
	if j.Process.Cover != "" {
		if c, err := j.Shop.Cover(j.Process.Cover); err == nil { // the shop file was checked
			in.CoverPiece = price.PerUse(c.Price, c.Uses).Mul(decimal.NewFromInt(int64(j.Process.CoveredPresses(j.Item))))
		}
	}
	if l.soldBySheet() { // the piece is a sheet, with all that lies on it
		for k := range in.Laid {
			in.Laid[k].AreaMM2 *= float64(in.Copies)
		}
		in.PieceSeconds, in.Copies = in.PieceSeconds.Sub(lab.WeedSeconds), 1
	}
	return in
}

// soldBySheet reports whether a quantity counts full sheets.
func (l *Laid) soldBySheet() bool { return l.Job.Item.Loose && l.Job.Item.SoldBy == shop.BySheet }

// cutSeconds is how long a person cuts along the outline of one print.
func (l *Laid) cutSeconds() decimal.Decimal {
	if l.CutMM == 0 {
		return decimal.Zero
	}
	return decimal.NewFromFloat(to(l.CutMM, 1)).DivRound(l.Job.Shop.Labour.CutMMSecond, 16)
}

// mostBreakEven bounds the quantities that are tried.
const mostBreakEven = 5000

// Quote works out what quantities of the order cost and sell for; without any, those
// of the shop file.
func (p *Proof) Quote(quantities []int) (*QuoteFacts, error) {
	j := p.Laid.Job
	if len(quantities) == 0 {
		quantities = j.Shop.Pricing.Quantities
	}
	pricing, err := j.Shop.Pricing.Price()
	if err != nil {
		return nil, err
	}
	in := p.Laid.inputs()
	uses := [plate.Count]bool{true, true, true, true, j.Process.White != plate.NoWhite}
	f := &QuoteFacts{Currency: j.Shop.Currency, Artwork: p.Artwork.File, Process: p.Process.Name, Item: p.Item.Name, ItemSaid: p.Item.Said(), Placed: p.Item.Placed(), SheetName: p.Sheet.Name,
		Copies: p.Laid.Layout.Copies(), SoldBy: j.Item.SoldBy, CutMM: to(p.Laid.CutMM, 1)}
	for _, q := range quantities {
		c, err := in.Cost(q)
		if err != nil {
			return nil, err
		}
		flatCost, err := in.Flat(FlatPercent, uses).Cost(q)
		if err != nil {
			return nil, err
		}
		asked, flat := pricing.Price(c), pricing.Price(flatCost)
		even, err := in.BreakEven(asked.Each, min(q, mostBreakEven))
		if err != nil {
			return nil, err
		}
		toner, each := c.Each()
		f.Quantities = append(f.Quantities, QuoteQuantity{Quantity: q, Sheets: c.Sheets, SparePlaces: c.Spare, TonerEach: toner,
			CostEach: each, CostTotal: c.All(),
			PriceEach: asked.Each.StringFixed(price.Cents), PriceTotal: asked.Total.StringFixed(price.Cents), Margin: asked.MarginPercent.StringFixed(price.Cents),
			Tax: asked.Tax.StringFixed(price.Cents), WithTax: asked.WithTax.StringFixed(price.Cents), BreakEven: even,
			FlatPriceEach: flat.Each.StringFixed(price.Cents), FlatShort: asked.Total.Sub(flat.Total).StringFixed(price.Cents),
			Loses: asked.Total.LessThan(c.Total)})
	}
	return f, nil
}
