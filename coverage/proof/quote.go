package proof

import (
	"errors"
	"fmt"
	"strings"

	"github.com/shopspring/decimal"

	"laydown/coverage/fault"
	"laydown/coverage/order"
	"laydown/coverage/plate"
	"laydown/coverage/price"
	"laydown/coverage/shop"
)

// QuoteFacts is what an order costs and sells for at several quantities. Amounts are
// decimal text.
type QuoteFacts struct {
	Currency  string `json:"currency"`
	Places    int32  `json:"-"` // of the currency
	Artwork   string `json:"artwork"`
	Process   string `json:"process"`
	Item      string `json:"item"`
	ItemSaid  string `json:"item_said"` // as [Item.Said] says it
	Placed    string `json:"-"`         // as [Item.Placed] says it
	SheetName string `json:"sheet"`
	Copies    int    `json:"copies_on_sheet"`
	SoldBy    string `json:"sold_by,omitempty"` // what a quantity of loose goods counts: piece or sheet
	Prices    string `json:"prices"`            // net, without tax, or gross, with it
	// CutMM is the outline that is cut along by hand for one print; absent on media that
	// weed themselves.
	CutMM      float64         `json:"cut_mm,omitempty"`
	Quantities []QuoteQuantity `json:"quantities"`

	*Head // nil within a proof, which has its own
}

// QuoteQuantity is one quantity.
type QuoteQuantity struct {
	Quantity    int             `json:"quantity"`
	Spares      int             `json:"spares"` // printed beyond Quantity, for those that will be lost
	Sheets      int             `json:"sheets"` // that both are on
	SparePlaces int             `json:"spare_places"`
	TonerEach   price.Toner     `json:"toner_each"`
	CostEach    price.Breakdown `json:"cost_each"`
	CostTotal   price.Breakdown `json:"cost_total"`
	PriceEach   string          `json:"price_each"`
	// Lift is in PriceTotal beside PriceEach × Quantity, where the shop sells no quantity
	// for less than a smaller one.
	Lift string `json:"lift"`
	// EachAsked is what a piece comes to of PriceTotal, to the currency's places: PriceEach
	// unless there is a Lift.
	EachAsked  string `json:"each_asked"`
	PriceTotal string `json:"price_total"`
	Margin     string `json:"margin_percent"`
	Net        string `json:"price_without_tax"`
	Tax        string `json:"tax"`
	WithTax    string `json:"price_with_tax"`
	// BreakEven is the least quantity from which on none up to BreakEvenBound loses money
	// at PriceEach; 0 if the bound itself does.
	BreakEven      int `json:"break_even_quantity"`
	BreakEvenBound int `json:"break_even_bound"`
	// FlatPriceEach is what the same pricing asks if every plate is taken for 5 %
	// coverage, and FlatShort how much less that is over the whole quantity than
	// the price; below nothing, flat pricing asks more.
	FlatPriceEach string `json:"flat_price_each"`
	FlatShort     string `json:"flat_short"`

	// MoreForLess is the larger quantity that costs least in all, if that is less; DearerEach
	// the first larger one that costs more each; NextStep the next of the rate card, or the
	// quantity that fills the sheets, if it costs less each. They are looked for up to about
	// twice the quantity.
	MoreForLess *QuoteStep `json:"more_for_less,omitempty"`
	DearerEach  *QuoteStep `json:"dearer_each,omitempty"`
	NextStep    *QuoteStep `json:"next_step,omitempty"`

	Loses bool `json:"-"` // PriceTotal is below its cost
}

// QuoteStep is another quantity, and how much more it costs in all.
type QuoteStep struct {
	Quantity   int    `json:"quantity"`
	PriceEach  string `json:"price_each"`
	PriceTotal string `json:"price_total"`
	More       string `json:"more"` // below 0 if it costs less
}

// FlatPercent is what a shop assumes that does not look at the art.
const FlatPercent = 5

var (
	sixty = decimal.NewFromInt(60)
)

// inputs are the order's for package price.
func (l *Laid) inputs() price.Inputs {
	in, lab := l.printing(), l.Job.Shop.Labour
	in.BlankPiece = l.Job.Item.Price
	in.Seconds.Piece = in.Seconds.Piece.Plus(price.Of(lab.PackSeconds))
	in.SetupSeconds = lab.FileCheckMinutes.Add(lab.SetupMinutes).Mul(sixty)
	return in
}

// printing are the inputs of the print alone, without what a piece takes however many prints
// are on it, and without set-up.
func (l *Laid) printing() price.Inputs {
	j := l.Job
	lab, work := j.Shop.Labour, j.Process.Work(j.Item)
	in := price.Inputs{Cartridges: j.Printer.Cartridges(), Laid: l.toner(), Copies: l.Layout.Copies(),
		MediaSheet:      j.Medium.TransferPrice(),
		Supply:          j.Shop.Supplied(j.Process, j.Item),
		LabourHour:      lab.RateHour,
		Seconds:         work.Waiting.Plus(price.Per{Sheet: price.Of(lab.PrintSeconds), Piece: price.Of(lab.WeedSeconds)}),
		CutSeconds:      l.cutSeconds(),
		SpoilagePercent: j.Shop.Costs.SpoilagePercent, OverheadPercent: j.Shop.Costs.OverheadPercent}
	// Of a pair, one sheet goes through the printer.
	in.WearSheet = j.Printer.WearSheet(l.Layout.Sheet)
	if j.Medium.PagesPerMinute.IsPositive() {
		in.Machine.Sheet = price.Of(j.Printer.MachineHour).Over(price.Of(j.Medium.PagesPerMinute.Mul(sixty)))
	}
	if work.Presses {
		in.Seconds.Piece = in.Seconds.Piece.Plus(price.Of(lab.HeatPressSeconds))
		in.Machine = in.Machine.Plus(work.Pressed.Times(price.PerHour(j.Shop.Costs.HeatPressHour, price.Whole(1))))
	}
	if j.Process.Cover != "" {
		if c, err := j.Shop.Cover(j.Process.Cover); err == nil { // the shop file was checked
			in.Cover = work.Covered.Times(price.PerUse(c.Price, c.Uses))
		}
	}
	if l.soldBySheet() { // the piece is a sheet, with all that lies on it
		for k := range in.Laid {
			in.Laid[k].AreaMM2 *= float64(in.Copies)
		}
		in.Seconds.Piece, in.Copies = in.Seconds.Piece.Plus(price.Of(lab.WeedSeconds.Neg())), 1
	}
	return in
}

// soldBySheet reports whether a quantity counts full sheets.
func (l *Laid) soldBySheet() bool { return l.Job.Item.Loose && l.Job.Item.SoldBy == shop.BySheet }

// cutSeconds is how long a person cuts along the outline of one print.
func (l *Laid) cutSeconds() price.Exact {
	if l.CutMM == 0 {
		return price.Exact{}
	}
	return price.Of(decimal.NewFromFloat(to(l.CutMM, 1))).Over(price.Of(l.Job.Shop.Labour.CutMMSecond))
}

// mostBreakEven is the quantity up to which a break-even is looked for, or the quantity
// that is asked for, if it is more.
const mostBreakEven = 2000

// Unpriced is an error: the shop file does not have all figures that a quote needs.
type Unpriced struct{ Lacks error } // as [shop.Shop.Unpriced] words them

// Error names what is missing, a line each.
func (e *Unpriced) Error() string {
	return fmt.Sprintf("a quote needs figures that the shop file does not have; write 0 for what costs nothing:\n%v", e.Lacks)
}

// priced says what figures of the shop file a quote needs and does not have.
func priced(j *order.Job) error {
	if err := j.Shop.Unpriced(j.Process, j.Item); err != nil {
		return &Unpriced{err}
	}
	return nil
}

// lack notes figures that a shop file lacks, if that is the error.
func (p *Proof) lack(err error) error {
	var of *Unpriced
	if !errors.As(err, &of) {
		return err
	}
	p.QuoteLacks = strings.Split(of.Lacks.Error(), "\n")
	return nil
}

// Quote works out what quantities of the order cost and sell for; without any, those
// of the shop file.
func (p *Proof) Quote(quantities []int) (*QuoteFacts, error) {
	j := p.Laid.Job
	if len(quantities) == 0 {
		quantities = j.Shop.Pricing.Quantities
	}
	if err := priced(j); err != nil {
		return nil, err
	}
	pricing, err := j.Shop.Pricing.Price(j.Shop.Places())
	if err != nil {
		return nil, err
	}
	pricing.TaxPercent = j.Shop.TaxPercent(j.Item)
	in := p.Laid.inputs()
	uses := [plate.Count]bool{true, true, true, true, j.Process.White != plate.NoWhite}
	f := &QuoteFacts{Currency: j.Shop.Currency, Places: j.Shop.Places(), Artwork: p.Artwork.File, Process: p.Process.Name, Item: p.Item.Name, ItemSaid: p.Item.Said(), Placed: p.Item.Placed(), SheetName: p.Sheet.Name,
		Copies: p.Laid.Layout.Copies(), SoldBy: j.Item.SoldBy, Prices: j.Shop.Pricing.Prices, CutMM: to(p.Laid.CutMM, 1)}
	seller, err := in.Seller(pricing)
	if err != nil {
		return nil, err
	}
	flat, err := in.Flat(FlatPercent, uses).Seller(pricing)
	if err != nil {
		return nil, err
	}
	amount := func(v decimal.Decimal) string { return v.StringFixed(pricing.Round.Places) }
	piece := func(a price.Price, q int) string { // of what is asked for in all
		if a.Lift.IsZero() {
			return amount(a.Each)
		}
		return a.Total.DivRound(decimal.NewFromInt(int64(q)), pricing.Round.Places).StringFixed(pricing.Round.Places)
	}
	for _, q := range quantities {
		if q <= 0 {
			return nil, fault.In("qty", fmt.Errorf("a quantity must be above 0, not %d", q))
		}
		c, asked := seller.Sell(q)
		_, flatAsked := flat.Sell(q)
		bound := max(q, mostBreakEven)
		even, err := in.BreakEven(pricing.NetEach(asked.Each), bound)
		if err != nil {
			return nil, err
		}
		step := func(of price.Step) *QuoteStep {
			if of.Quantity == 0 {
				return nil
			}
			return &QuoteStep{of.Quantity, piece(of.Price, of.Quantity), amount(of.Price.Total), amount(of.Price.Total.Sub(asked.Total))}
		}
		less, dearer, next := seller.Steps(q)
		toner, each := c.Each()
		f.Quantities = append(f.Quantities, QuoteQuantity{Quantity: q, Spares: c.Spares, Sheets: c.Sheets, SparePlaces: c.Spare, TonerEach: toner,
			CostEach: each, CostTotal: c.All(),
			PriceEach: amount(asked.Each), Lift: amount(asked.Lift), EachAsked: piece(asked, q), PriceTotal: amount(asked.Total), Margin: asked.MarginPercent.StringFixed(price.PercentPlaces),
			Net: amount(asked.Net), Tax: amount(asked.Tax), WithTax: amount(asked.WithTax), BreakEven: even, BreakEvenBound: bound,
			FlatPriceEach: amount(flatAsked.Each), FlatShort: amount(asked.Total.Sub(flatAsked.Total)),
			MoreForLess: step(less), DearerEach: step(dearer), NextStep: step(next),
			Loses: asked.Net.LessThan(c.Total)})
	}
	return f, nil
}
