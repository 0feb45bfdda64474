package proof

import (
	"crypto/sha256"
	"errors"
	"fmt"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"github.com/shopspring/decimal"

	"laydown/colour"
	"laydown/coverage/artwork"
	"laydown/coverage/artwork/font"
	"laydown/coverage/commission"
	"laydown/coverage/lettering"
	"laydown/coverage/order"
	"laydown/coverage/price"
	"laydown/coverage/sheet"
	"laydown/coverage/shop"
)

// Whole is the numbers about an order of several designs: what it costs, what the customer
// is asked for, and how its prints share sheets. Amounts are decimal text, and, but for
// costs, with the tax where Prices says gross.
type Whole struct {
	Number     string       `json:"number,omitempty"`
	Customer   string       `json:"customer,omitempty"`
	Date       string       `json:"date"`
	ValidUntil string       `json:"valid_until"`
	Due        string       `json:"due,omitempty"`
	Currency   string       `json:"currency"`
	Prices     string       `json:"prices"` // net, without tax, or gross, with it
	Goods      []WholeGoods `json:"goods"`
	Sheets     []Shared     `json:"sheets"`
	// Cost is that of all goods; nothing else is known to cost anything.
	Cost          price.Breakdown `json:"cost"`
	GoodsTotal    string          `json:"goods_total"`
	Lift          string          `json:"lift"` // to the shop's minimum
	Discount      string          `json:"discount"`
	Rush          string          `json:"rush"`
	Charges       []WholeCharge   `json:"charges"`
	Total         string          `json:"total"`
	Taxes         []WholeTax      `json:"taxes"`
	WithoutTax    string          `json:"total_without_tax"`
	WithTax       string          `json:"total_with_tax"`
	Deposit       string          `json:"deposit"`
	MarginPercent string          `json:"margin_percent"` // of the goods, after discount and rush, without tax

	*Head

	// Tickets are for the bench, one a print, in the order in which prints go on.
	Tickets []*Ticket `json:"-"`
	// Letter is what the customer's quote says beside that.
	Letter Letter `json:"-"`
	Loses  bool   `json:"-"` // the goods cost more than they bring
}

// Letter is who writes to whom, and on what terms.
type Letter struct {
	Shop, TaxName, TaxNumber               string
	From, To, Words                        []string
	Paper                                  string // A4 or Letter
	Note                                   string
	DiscountPercent, RushPercent, DepositP string // percents; "" for none
}

// WholeGoods are pieces of one item with the same prints on each.
type WholeGoods struct {
	Name      string       `json:"name,omitempty"`
	Item      string       `json:"item"`
	ItemSaid  string       `json:"item_said"` // as [Item.Said] says it
	Quantity  int          `json:"quantity"`
	OwnBlanks bool         `json:"own_blanks,omitempty"` // the customer brings the pieces
	SoldBy    string       `json:"sold_by,omitempty"`
	Sizes     []WholeSize  `json:"sizes"` // one without a name where none are told apart
	Prints    []WholePrint `json:"prints"`
	// Cost is that of the goods, with their part of shared sheets and set-up.
	Cost       price.Breakdown `json:"cost"`
	CostEach   string          `json:"cost_each"`
	PriceTotal string          `json:"price_total"`
}

// WholeSize is so many pieces of a size.
type WholeSize struct {
	Size      string `json:"size,omitempty"`
	Quantity  int    `json:"quantity"`
	PriceEach string `json:"price_each"`
	Total     string `json:"price_total"`
}

// WholePrint is one print on every piece of some goods.
type WholePrint struct {
	Art      string       `json:"art,omitempty"`
	Text     string       `json:"text,omitempty"` // with {name} and {number}
	Place    string       `json:"place,omitempty"`
	Process  string       `json:"process"`
	Media    string       `json:"media"`
	Quantity int          `json:"quantity"`
	Spares   int          `json:"spares"`
	Designs  []Design     `json:"designs"`
	Sheets   float64      `json:"sheets"` // its part of them
	Stops    []Stop       `json:"stops"`
	Check    []Stop       `json:"check_first"` // findings to look at
	Assumed  []Assumption `json:"assumed,omitempty"`
}

// Assumption is what was taken where the order says nothing.
type Assumption = order.Assumption

// Design is a picture that is printed.
type Design struct {
	Text     string     `json:"text,omitempty"` // of lettering
	SizeMM   [2]float64 `json:"print_mm"`
	Quantity int        `json:"quantity"` // without spares
	// For is what else a list says of each piece that a text is for: its name, number and
	// size. Absent where nothing is said.
	For []string `json:"for,omitempty"`
	// Of lettering, how wide its letters are beside the font's own and how high beside what
	// was asked for; absent where nothing was changed.
	Squeezed float64 `json:"squeezed,omitempty"`
	Smaller  float64 `json:"smaller,omitempty"`
}

// line is a text as the bench reads it: how often, for which pieces, and what was done to
// make it fit.
func (d Design) line() string {
	out := fmt.Sprintf("%d × %s", d.Quantity, d.Text)
	if len(d.For) > 0 {
		out += " (" + strings.Join(d.For, "; ") + ")"
	}
	if d.Squeezed > 0 {
		out += fmt.Sprintf(", letters %.0f %% as wide", d.Squeezed*100)
	}
	if d.Smaller > 0 {
		out += fmt.Sprintf(", %.0f %% as high", d.Smaller*100)
	}
	return out
}

// WholeCharge is an amount beside the goods.
type WholeCharge struct {
	Name   string `json:"name"`
	Amount string `json:"amount"`
}

// WholeTax is what one rate of tax comes to.
type WholeTax struct {
	Percent string `json:"percent"`
	On      string `json:"on"` // without the tax
	Amount  string `json:"amount"`
}

// Shared is sheets of one media that prints of the order share.
type Shared struct {
	Media  string      `json:"media"`
	Pair   bool        `json:"pair,omitempty"` // two sheets make one transfer
	Gang   sheet.Gang  `json:"gang"`
	Shares []SheetPart `json:"shares"`

	Corners []sheet.Place `json:"-"` // that a cutter needs
}

// SheetPart is a print's part of shared sheets, by area.
type SheetPart struct {
	Goods   int     `json:"goods"` // from 0
	Print   int     `json:"print"` // of these, from 0
	Percent float64 `json:"percent"`
}

// design is one picture of a print, worked out.
type design struct {
	goods, print int
	quantity     int
	spares       int
	extra        int // copies that a shared layout has beyond both
	proof        *made
	said         Design
}

// made is a proof without its pixels, which of many designs do not all stay, and what was
// wanted of them.
type made struct {
	*Proof
	inputs  price.Inputs
	picture []byte
}

// maker works out proofs and keeps them: an order may have the same print on many pieces.
type maker struct {
	done    map[[32]byte]*made
	picture func(*Proof) ([]byte, error)
}

func (m *maker) make(o order.Order) (*made, error) {
	text := fmt.Appendf(nil, "%q %x %d %q %q %+v", o.ArtPath, sha256.Sum256(o.ArtData), o.Page, o.ItemName, o.ProcessName, o.Wish)
	if o.ItemColour != nil {
		text = fmt.Appendf(text, " %v", *o.ItemColour)
	}
	key := sha256.Sum256(text)
	if p := m.done[key]; p != nil {
		return p, nil
	}
	p, err := Make(o, Findings)
	if err != nil {
		return nil, err
	}
	if err := priced(p.Laid.Job); err != nil {
		return nil, err
	}
	of := &made{Proof: p, inputs: p.Laid.printing()}
	if of.picture, err = m.picture(p); err != nil {
		return nil, err
	}
	p.Laid.Art, p.Laid.Sent, p.Laid.Plates = nil, nil, nil
	m.done[key] = of
	return of, nil
}

// MakeWhole works out an order of several designs. o carries what is the same for all of it
// and what it leaves open; fonts are what its texts are drawn with; today is the day of a
// quote without a date. step is told what is worked out next, and picture draws what a
// ticket shows of a print. Every error says where and what to do.
func MakeWhole(o order.Order, c *commission.Commission, fonts *font.Library, today time.Time, step func(what string), picture func(*Proof) ([]byte, error)) (*Whole, error) {
	further := slices.ContainsFunc(c.Goods, func(g commission.Goods) bool { return len(g.Prints) > 1 })
	if err := o.Shop.Unagreed(c.Rush, further); err != nil {
		return nil, &Unpriced{err}
	}
	w := &Whole{Number: c.Number, Customer: c.Customer, Due: c.Due.String(), Currency: o.Shop.Currency, Prices: o.Shop.Pricing.Prices, Charges: []WholeCharge{}, Head: HeadOf(o.Shop)}
	date := c.Date
	if date.IsZero() {
		date.Time = today
	}
	w.Date, w.ValidUntil = date.String(), commission.Date{Time: date.AddDate(0, 0, o.Shop.Terms.ValidDays)}.String()
	w.letter(o.Shop, c)

	kept := &maker{map[[32]byte]*made{}, picture}
	var designs []*design
	for i := range c.Goods {
		of, err := w.goods(o, c, i, fonts, kept, step)
		if err != nil {
			name := c.Goods[i].Name
			if name == "" {
				name = fmt.Sprint(i + 1)
			}
			return nil, fmt.Errorf("goods %s: %w", name, err)
		}
		designs = append(designs, of...)
	}
	step("setting prints on sheets")
	sheets, err := w.share(designs)
	if err != nil {
		return nil, err
	}
	sales, err := w.costs(o.Shop, c, designs, sheets)
	if err != nil {
		return nil, err
	}
	if err := w.bill(o.Shop, c, sales); err != nil {
		return nil, err
	}
	w.tickets(c, designs)
	return w, nil
}

func (w *Whole) letter(s *shop.Shop, c *commission.Commission) {
	percent := func(v decimal.Decimal) string {
		if v.IsZero() {
			return ""
		}
		return v.String()
	}
	w.Letter = Letter{Shop: s.Name, TaxName: s.Terms.TaxName, TaxNumber: s.Terms.TaxNumber, From: s.Terms.Address, To: c.Address, Words: s.Terms.Words, Paper: s.Terms.Paper, Note: c.Note,
		DiscountPercent: percent(c.DiscountPercent), RushPercent: percent(s.Terms.RushPercent), DepositP: percent(s.Terms.DepositPercent)}
}

// goods works out the prints of some goods.
func (w *Whole) goods(o order.Order, c *commission.Commission, i int, fonts *font.Library, kept *maker, step func(string)) (out []*design, err error) {
	g := &c.Goods[i]
	if g.Item != "" {
		o.ItemName, o.ItemColour, o.ItemColourName = g.Item, nil, ""
	}
	if g.Colour != nil {
		o.ItemColour, o.ItemColourName = g.Colour, colour.Name(g.ItemColour)
	}
	said := WholeGoods{Name: g.Name, Quantity: g.Quantity, OwnBlanks: g.OwnBlanks, Sizes: []WholeSize{}, Prints: []WholePrint{}}
	for k := range g.Prints {
		p := &g.Prints[k]
		print := WholePrint{Text: p.Text, Place: p.Place, Designs: []Design{}, Stops: []Stop{}, Check: []Stop{}}
		if p.Art != "" {
			print.Art = filepath.Base(p.Art)
		}
		at := o
		if p.Process != "" {
			at.ProcessName = p.Process
		}
		pictures, err := drawn(at, g, p, fonts)
		if err != nil {
			return nil, fmt.Errorf("print %d: %w", k+1, err)
		}
		for n, d := range pictures {
			what := print.Art
			if d.said.Text != "" {
				what = fmt.Sprintf("%q", d.said.Text)
			}
			step(fmt.Sprintf("working out %s, %d of %d", what, n+1, len(pictures)))
			ask := d.ask
			if n > 0 { // texts of one print are all made alike
				ask.ProcessName = print.Process
			}
			p, err := kept.make(ask)
			if err != nil {
				return nil, fmt.Errorf("print %d, %s: %w", k+1, what, err)
			}
			d.goods, d.print, d.proof = i, k, p
			d.said.SizeMM = [2]float64{p.Print.WidthMM, p.Print.HeightMM}
			d.said.Quantity = d.quantity
			d.spares = price.Spares(d.quantity, o.Shop.Costs.SpoilagePercent)
			print.Process, print.Media = p.Process.Name, p.Process.Media
			print.Quantity, print.Spares, print.Designs = print.Quantity+d.quantity, print.Spares+d.spares, append(print.Designs, d.said)
			print.Stops, print.Check = withKinds(print.Stops, p.Stops), withKinds(print.Check, p.ChecksFirst())
			if n == 0 {
				print.Assumed = p.Assumed
				said.Item, said.ItemSaid, said.SoldBy = p.Item.Name, p.Item.Said(), p.Laid.Job.Item.SoldBy
			}
			out = append(out, &d.design)
		}
		for _, s := range print.Stops {
			if !slices.ContainsFunc(w.Stops, func(v Stop) bool { return v.Kind == s.Kind && v.Advice == s.Advice }) {
				w.Stops = append(w.Stops, s)
			}
		}
		for _, a := range print.Assumed {
			if !slices.Contains(w.Assumed, a) {
				w.Assumed = append(w.Assumed, a)
			}
		}
		said.Prints = append(said.Prints, print)
	}
	if item := out[0].proof.Laid.Job.Item; item.Loose && len(g.Prints) > 1 {
		return nil, fmt.Errorf("%s is sold as it is printed, and has one print: write each as goods of its own", said.Item)
	}
	w.Goods = append(w.Goods, said)
	return out, nil
}

// withKinds adds findings of kinds that are not among some yet.
func withKinds(some, more []Stop) []Stop {
	for _, v := range more {
		if !slices.ContainsFunc(some, func(s Stop) bool { return s.Kind == v.Kind }) {
			some = append(some, v)
		}
	}
	return some
}

// asked is a design and the order that works it out.
type asked struct {
	design
	ask order.Order
}

// drawn are the pictures of a print: one, or as many as there are different texts.
func drawn(o order.Order, g *commission.Goods, p *commission.Print, fonts *font.Library) ([]*asked, error) {
	if p.Text == "" {
		o.ArtPath, o.Page = p.Art, p.Page
		if wish := (artwork.Wish{WidthMM: p.Width.MM(), HeightMM: p.Height.MM(), DPI: p.DPI}); wish != (artwork.Wish{}) {
			o.Wish = wish
		}
		return []*asked{{design{quantity: g.Quantity}, o}}, nil
	}
	style := lettering.Style{Family: p.Font, Bold: p.Bold, Italic: p.Italic, HeightMM: p.Letters.MM(), MostMM: p.Width.MM(), Colour: p.Colour, OutlineMM: p.Outline.MM(), Outline: p.OutlineColour}
	if style.MostMM == 0 {
		if item, err := o.Shop.Item(o.ItemName); o.ItemName != "" && err == nil {
			style.MostMM = item.Printable.WidthMM
		}
	}
	count, pieces := map[string]int{}, map[string][]string{}
	var texts []string
	add := func(text string, n int) {
		if text == "" {
			return // a piece without a name has none
		}
		if count[text] == 0 {
			texts = append(texts, text)
		}
		count[text] += n
	}
	if p.Own() {
		for _, piece := range g.List {
			text := p.Said(piece)
			add(text, 1)
			var rest []string
			for _, v := range []string{piece.Name, piece.Number, piece.Size} {
				if v != "" && v != text {
					rest = append(rest, v)
				}
			}
			if len(rest) > 0 {
				pieces[text] = append(pieces[text], strings.Join(rest, ", "))
			}
		}
	} else {
		add(p.Text, g.Quantity)
	}
	if len(texts) == 0 {
		return nil, errors.New("the list of names has nothing for this text")
	}
	var out []*asked
	for _, text := range texts {
		drawing, err := style.Draw(text, fonts)
		if err != nil {
			return nil, err
		}
		d := &asked{design{quantity: count[text], said: Design{Text: text, For: pieces[text]}}, o}
		if drawing.Squeezed < 1 {
			d.said.Squeezed = to(drawing.Squeezed, 3)
		}
		if drawing.Smaller < 1 {
			d.said.Smaller = to(drawing.Smaller, 3)
		}
		d.ask.ArtPath, d.ask.ArtData, d.ask.Wish = text, drawing.SVG, artwork.Wish{}
		out = append(out, d)
	}
	return out, nil
}

// share sets the prints of each media on sheets, and returns how many sheets each design
// takes.
func (w *Whole) share(designs []*design) ([]price.Exact, error) {
	type group struct {
		media, printer string
		sheet          string
		alone          *design // sold as whole sheets
	}
	at := map[group][]int{}
	var groups []group
	for i, d := range designs {
		j := d.proof.Laid.Job
		g := group{media: j.Medium.Name, printer: j.Printer.Name, sheet: j.SheetOrOwn().String()}
		if d.proof.Laid.soldBySheet() {
			g.alone = d
		}
		if len(at[g]) == 0 {
			groups = append(groups, g)
		}
		at[g] = append(at[g], i)
	}
	sheets := make([]price.Exact, len(designs))
	for _, g := range groups {
		var pieces []sheet.Piece
		for _, i := range at[g] {
			l := designs[i].proof.Laid
			bleed := 2 * l.Job.Shop.Layout.Bleed.MM()
			pieces = append(pieces, sheet.Piece{Name: w.designName(designs[i]), WidthMM: l.Size.WidthMM + bleed, HeightMM: l.Size.HeightMM + bleed, Quantity: designs[i].quantity + designs[i].spares})
		}
		gang, err := together(designs, at[g], pieces)
		if err != nil {
			return nil, err
		}
		first := designs[at[g][0]].proof.Laid.Job
		shared := Shared{Media: first.Medium.Name, Pair: first.Medium.PerTransfer == 2, Gang: gang, Corners: RoomOf(first).Corners()}
		gap := RoomOf(first).GapMM
		var sum price.Exact
		areas := make([]price.Exact, len(pieces))
		for k, p := range pieces {
			areas[k] = price.Of(decimal.NewFromFloat((p.WidthMM + gap) * (p.HeightMM + gap))).Times(price.Whole(int64(p.Quantity)))
			sum = sum.Plus(areas[k])
		}
		extra := gang.Beyond()
		for k, i := range at[g] {
			designs[i].extra = extra[k]
			part := areas[k].Over(sum)
			sheets[i] = part.Times(price.Whole(int64(gang.Sheets)))
			d := designs[i]
			last := len(shared.Shares) - 1
			percent := part.Times(price.Whole(100)).Round(8).InexactFloat64()
			if last < 0 || shared.Shares[last].Goods != d.goods || shared.Shares[last].Print != d.print {
				shared.Shares = append(shared.Shares, SheetPart{Goods: d.goods, Print: d.print})
				last++
			}
			shared.Shares[last].Percent = to(shared.Shares[last].Percent+percent, 4)
			n := sheets[i].Round(8).InexactFloat64()
			print := &w.Goods[d.goods].Prints[d.print]
			print.Sheets = to(print.Sheets+n, 4)
		}
		w.Sheets = append(w.Sheets, shared)
	}
	return sheets, nil
}

// designName is what a design is called on the sheet.
func (w *Whole) designName(d *design) string {
	p := w.Goods[d.goods].Prints[d.print]
	if d.said.Text != "" {
		return d.said.Text
	}
	return p.Art
}

// together sets designs on the fewest sheets: each on its own, or ganged, if that takes
// fewer.
func together(designs []*design, which []int, pieces []sheet.Piece) (sheet.Gang, error) {
	first := designs[which[0]].proof.Laid
	room := RoomOf(first.Job)
	var layouts []sheet.Layout
	var prints []int
	for k, i := range which {
		l := designs[i].proof.Laid
		n := pieces[k].Quantity
		if !l.soldBySheet() {
			n = l.Layout.Sheets(n)
		}
		layouts, prints = append(layouts, l.Layout), append(prints, n)
	}
	apart := room.Apart(pieces, layouts, prints)
	if len(which) == 1 {
		return apart, nil
	}
	gang, err := room.Share(pieces)
	if err != nil || gang.Sheets < apart.Sheets {
		return gang, err
	}
	return apart, nil
}

// costs works out what goods cost, and what their price follows from.
func (w *Whole) costs(s *shop.Shop, c *commission.Commission, designs []*design, sheets []price.Exact) ([]price.Sale, error) {
	// What is done once is split by the prints that it is done for.
	type machine struct{ printer, media, process string }
	checks, runs := map[string]int{}, map[machine]int{}
	check := func(d *design) string {
		p := c.Goods[d.goods].Prints[d.print]
		if p.Text != "" {
			return fmt.Sprintf("text %d %d", d.goods, d.print)
		}
		return fmt.Sprintf("art %s %d", p.Art, p.Page)
	}
	run := func(d *design) machine {
		j := d.proof.Laid.Job
		return machine{j.Printer.Name, j.Medium.Name, j.Process.Name}
	}
	for _, d := range designs {
		checks[check(d)] += d.quantity
		runs[run(d)] += d.quantity
	}
	minutes := func(v decimal.Decimal) price.Exact { return price.Of(v.Mul(sixty)) }
	var sales []price.Sale
	for i := range w.Goods {
		g, of := &w.Goods[i], c.Goods[i]
		real := price.Goods{Quantity: g.Quantity, PackSeconds: price.Of(s.Labour.PackSeconds)}
		together := 0
		var job *order.Job
		for k, d := range designs {
			if d.goods != i {
				continue
			}
			n := price.Whole(int64(d.quantity))
			share := n.Over(price.Whole(int64(runs[run(d)])))
			p := price.Printing{Inputs: d.proof.inputs, Quantity: d.quantity, Spares: d.spares, Extra: d.extra, Sheets: sheets[k], Share: share,
				SetUp: minutes(s.Labour.FileCheckMinutes).Times(n.Over(price.Whole(int64(checks[check(d)])))).Plus(minutes(s.Labour.SetupMinutes).Times(share))}
			real.Prints = append(real.Prints, p)
			if job == nil {
				job = d.proof.Laid.Job
				for o := range w.Goods {
					if first := slices.IndexFunc(designs, func(d *design) bool { return d.goods == o && d.print == 0 }); run(designs[first]) == run(d) {
						together += w.Goods[o].Quantity
					}
				}
			}
		}
		sale := price.Sale{Together: together, Prints: len(g.Prints), TaxPercent: s.TaxPercent(job.Item)}
		sizes := of.SizeOrder
		if len(sizes) == 0 {
			sizes = []string{""}
		}
		for _, z := range sizes {
			n := g.Quantity
			size := shop.ItemSize{Price: job.Item.Price}
			if z != "" {
				var err error
				if size, err = job.Item.Size(z); err != nil {
					return nil, fmt.Errorf("goods %s: %w", goodsName(*g, i), err)
				}
				n = of.Sizes[z]
			}
			if !of.OwnBlanks {
				real.Blanks = real.Blanks.Plus(price.Of(size.Price).Times(price.Whole(int64(n))))
			}
			g.Sizes = append(g.Sizes, WholeSize{Size: size.Name, Quantity: n})
			sized := price.Sized{Quantity: n}
			if !of.OwnBlanks { // what it is for is a dearer blank
				sized.Upcharge = size.Upcharge
			}
			sale.Sizes = append(sale.Sizes, sized)
		}
		cost, err := real.Cost()
		if err != nil {
			return nil, err
		}
		plain := real
		if !of.OwnBlanks {
			plain.Blanks = price.Of(job.Item.Price).Times(price.Whole(int64(g.Quantity)))
		}
		if sale.Cost, err = plain.Cost(); err != nil {
			return nil, err
		}
		g.Cost = cost.All()
		_, each := cost.Each()
		g.CostEach = each.Total.StringFixed(price.Places)
		for l, v := range g.Cost.Line {
			w.Cost.Line[l] = w.Cost.Line[l].Add(v)
		}
		w.Cost.Total = w.Cost.Total.Add(g.Cost.Total)
		sales = append(sales, sale)
	}
	return sales, nil
}

// goodsName is what goods are called, in an order.
func goodsName(g WholeGoods, i int) string {
	if g.Name != "" {
		return g.Name
	}
	return fmt.Sprintf("%d, %s", i+1, g.ItemSaid)
}

// bill works out what the customer is asked for.
func (w *Whole) bill(s *shop.Shop, c *commission.Commission, sales []price.Sale) error {
	pricing, err := s.Pricing.Price(s.Places())
	if err != nil {
		return err
	}
	extras := price.Extras{DiscountPercent: c.DiscountPercent, DepositPercent: s.Terms.DepositPercent}
	if c.Rush {
		extras.RushPercent = s.Terms.RushPercent
	}
	for _, v := range c.Charges {
		if !price.Payable(v.Amount, s.Places()) {
			return fmt.Errorf("charge %s: %s has more than the %d decimal places of %s", v.Name, v.Amount, s.Places(), s.Currency)
		}
		extras.Charges = append(extras.Charges, price.Charge(v))
	}
	b, err := pricing.Bill(sales, extras, w.Cost.Total)
	if err != nil {
		return err
	}
	amount := func(v decimal.Decimal) string { return v.StringFixed(pricing.Round.Places) }
	for i := range w.Goods {
		g := &w.Goods[i]
		g.PriceTotal = amount(b.Goods[i])
		for k := range g.Sizes {
			z := &g.Sizes[k]
			z.PriceEach, z.Total = amount(b.Each[i][k]), amount(b.Each[i][k].Mul(decimal.NewFromInt(int64(z.Quantity))))
		}
	}
	for _, v := range b.Charges {
		w.Charges = append(w.Charges, WholeCharge{v.Name, amount(v.Amount)})
	}
	for _, v := range b.Taxes {
		w.Taxes = append(w.Taxes, WholeTax{v.Percent.String(), amount(v.On), amount(v.Amount)})
	}
	w.GoodsTotal, w.Lift, w.Discount, w.Rush, w.Total = amount(b.Sum), amount(b.Lift), amount(b.Discount), amount(b.Rush), amount(b.Total)
	w.WithoutTax, w.WithTax, w.Deposit = amount(b.Net), amount(b.WithTax), amount(b.Deposit)
	w.MarginPercent, w.Loses = b.MarginPercent.StringFixed(price.PercentPlaces), b.MarginPercent.IsNegative()
	return nil
}

// tickets are the bench's, one for each print.
func (w *Whole) tickets(c *commission.Commission, designs []*design) {
	for i := range w.Goods {
		for k := range w.Goods[i].Prints {
			print := &w.Goods[i].Prints[k]
			var of []*design
			for _, d := range designs {
				if d.goods == i && d.print == k {
					of = append(of, d)
				}
			}
			t := of[0].proof.Ticket(print.Quantity)
			t.Order, t.For, t.Due, t.Place = w.Number, w.Customer, w.Due, print.Place
			t.Picture, t.CheckFirst = of[0].proof.picture, print.Check
			head := *t.Head // which other tickets share
			head.Stops = print.Stops
			t.Head = &head
			t.Spares = print.Spares
			t.OfGoods = goodsName(w.Goods[i], i)
			t.OwnBlanks = w.Goods[i].OwnBlanks
			if len(w.Goods[i].Prints) > 1 {
				t.PrintOf = fmt.Sprintf("print %d of %d on the piece", k+1, len(w.Goods[i].Prints))
			}
			for _, z := range w.Goods[i].Sizes {
				if z.Size != "" {
					t.Sizes = append(t.Sizes, fmt.Sprintf("%d × %s", z.Quantity, z.Size))
				}
			}
			for _, d := range of {
				if d.said.Text != "" {
					t.Texts = append(t.Texts, d.said.line())
				}
			}
			for _, s := range w.Sheets {
				if slices.ContainsFunc(s.Shares, func(p SheetPart) bool { return p.Goods == i && p.Print == k }) {
					t.Sheets = s.Gang.Sheets
					t.Shared = len(s.Shares) > 1
				}
			}
			w.Tickets = append(w.Tickets, t)
		}
	}
}
