package proof

import (
	"errors"
	"fmt"

	"github.com/shopspring/decimal"

	"laydown/coverage/artwork"
	"laydown/coverage/name"
	"laydown/coverage/order"
	"laydown/coverage/plate"
	"laydown/coverage/price"
	"laydown/coverage/sheet"
)

// GangSpace is what of the shop's layout a gang does not take; nil for what it does.
type GangSpace struct {
	MarginMM *float64 // what a cutter needs comes on top
	GapMM    *float64
}

// Ganged is pieces on shared sheets, what those cost and what part of that each order bears.
// Its JSON form is a contract that scripts rely on.
type Ganged struct {
	sheet.Gang
	Media    string  `json:"media"`
	MarginMM float64 `json:"margin_mm"` // with what a cutter needs, and a bleed
	GapMM    float64 `json:"gap_mm"`    // likewise with bleed on either side
	CornerMM float64 `json:"cutter_corner_mm"`
	// Cost is nil where Unpriced says why there is none.
	Cost     *GangCost `json:"cost,omitempty"`
	Unpriced string    `json:"unpriced,omitempty"`
	*Head

	Corners []sheet.Place `json:"-"` // that stay free
}

// GangCost is what the sheets of a gang cost: media, and the toner of pieces whose art is known.
// Amounts are decimal text with the currency's places; those of the orders add up to the
// totals exactly.
type GangCost struct {
	Currency string `json:"currency"`
	Media    string `json:"media"`
	Toner    string `json:"toner"`
	Total    string `json:"total"`
	// TonerOf is of how many pieces the toner is known, and Pieces how many there are.
	TonerOf int         `json:"toner_of"`
	Pieces  int         `json:"pieces"`
	Orders  []GangOrder `json:"orders"` // in the list's order
}

// GangOrder is the part of one order: of the media by the area of what it asks for, of the
// toner by what that lays down. Copies beyond what is asked for, and what of a sheet stays
// empty, are borne by all in the same proportion.
type GangOrder struct {
	Order       string  `json:"order"` // or the piece's name, of a piece without one
	Copies      int     `json:"copies"`
	AreaMM2     float64 `json:"area_mm2"`
	AreaPercent float64 `json:"area_percent"`
	Media       string  `json:"media"`
	Toner       string  `json:"toner"`
	Total       string  `json:"total"`
}

// errNoPieceSize says what to do about art that states no size.
var errNoPieceSize = errors.New("does not say how large it prints: give its width or height")

// MakeGang sets pieces on shared sheets of an order's media, with the shop's margins, gaps, bleed
// and what a cutter needs, or another margin and gap; on a single layout if that is asked
// for. It prices the sheets. Pieces that are art files take their size from it, where the ask
// leaves a side open, and their toner is in the price. The order's process is the shop's default if it
// names none; its art and size are not used. step is told what is worked on. The error names
// the piece or the line it stands in, and says what to do.
func MakeGang(o order.Order, asks []sheet.Ask, space GangSpace, oneLayout bool, step func(what string)) (*Ganged, error) {
	o.ArtPath, o.Wish = "", artwork.Wish{}
	unnamed := o.ProcessName == ""
	j, err := o.Resolve()
	if err != nil {
		return nil, err
	}
	room := RoomOf(j)
	if space.MarginMM != nil {
		room.MarginMM += *space.MarginMM - j.Shop.Layout.Margin.MM()
	}
	if space.GapMM != nil {
		room.GapMM = *space.GapMM
	}
	bleed := j.Shop.Layout.Bleed.MM() // is bare: every piece is that much further from all else
	room.MarginMM, room.GapMM = room.MarginMM+bleed, room.GapMM+2*bleed

	g := &Ganged{Media: j.Medium.Name, MarginMM: to(room.MarginMM, 2), GapMM: to(room.GapMM, 2), CornerMM: to(room.CornerMM, 2), Head: HeadOf(j.Shop), Corners: room.Corners()}
	if unnamed {
		g.Assumed = append(g.Assumed, order.Assumption{Field: "process", Value: j.Process.Name, Because: "it is the shop's default"})
	}
	known := false // the art of any
	pieces, arts := make([]sheet.Piece, len(asks)), make([]*ganged, len(asks))
	for i, a := range asks {
		if a.Art != "" {
			step("looking at " + a.Art)
			if arts[i], err = openGanged(o, a); err != nil {
				if a.Line > 0 {
					err = fmt.Errorf("line %d: %w", a.Line, err)
				}
				return nil, err
			}
			a.WidthMM, a.HeightMM = arts[i].size.WidthMM, arts[i].size.HeightMM
			known = true
		}
		pieces[i] = a.Piece
	}
	if known { // what it is printed on may change what it lays down
		g.Assumed = append(g.Assumed, j.Assumed...)
	}
	step(fmt.Sprintf("setting %d pieces on sheets", len(pieces)))
	set := room.Share
	if oneLayout {
		set = room.OneLayout
	}
	if g.Gang, err = set(pieces); err != nil {
		return nil, err
	}
	switch {
	case j.Unbought:
		var sheets []string
		for _, v := range j.Medium.SheetsBought() {
			sheets = append(sheets, v.String())
		}
		g.Unpriced = fmt.Sprintf("%s is not bought in %s; choose %s, or add a [[media.size]] with that sheet and its price to the shop file", j.Medium.Name, room.Sheet, name.Or(sheets))
	case !j.Shop.Prices(j.Medium):
		g.Unpriced = "the shop file has no price of " + j.Medium.Name
	default:
		g.Cost, err = g.cost(j, asks, arts, step)
	}
	return g, err
}

// ganged is the art of a piece whose header has been read.
type ganged struct {
	opened *order.Opened
	job    *order.Job
	size   artwork.Size
}

func openGanged(o order.Order, a sheet.Ask) (*ganged, error) {
	o.ArtPath, o.Wish = a.Art, artwork.Wish{WidthMM: a.WidthMM, HeightMM: a.HeightMM}
	j, err := o.Resolve()
	if err != nil {
		return nil, err
	}
	opened, err := j.Open()
	if err != nil {
		return nil, err
	}
	size, err := opened.File.PrintSize(j.Wish)
	if err != nil && j.Wish == (artwork.Wish{}) {
		err = fmt.Errorf("%s: %w", opened.File.File, errNoPieceSize)
	}
	return &ganged{opened, j, size}, err
}

// laid is what one print of the art lays down.
func (a *ganged) laid() (laid [plate.Count]price.Laid, err error) {
	sep, err := a.job.Press.Separate(a.opened.Colours.Source, a.job.Options)
	if err != nil {
		return laid, fmt.Errorf("%s: %w", a.opened.File.File, err)
	}
	art, plates, err := a.opened.DecodeBeside(sep)
	if err != nil {
		return laid, err
	}
	l, err := plan{job: a.job, size: a.size, sep: sep}.lay(art, plates)
	if err != nil {
		return laid, err
	}
	return l.toner(), nil
}

// cost prices the sheets and splits that among the orders.
func (g *Ganged) cost(j *order.Job, asks []sheet.Ask, arts []*ganged, step func(string)) (*GangCost, error) {
	places := j.Shop.Places()
	printed := make([]int, len(asks))
	for _, l := range g.Layouts {
		for _, p := range l.Places {
			printed[p.Piece] += l.Prints
		}
	}
	c := &GangCost{Currency: j.Shop.Currency, Pieces: len(asks)}
	at := map[string]int{}
	var area, toner []price.Exact // by order
	whole, all := decimal.Zero, 0.0
	for i, a := range asks {
		k, ok := at[a.For()]
		if !ok {
			k = len(c.Orders)
			at[a.For()] = k
			c.Orders, area, toner = append(c.Orders, GangOrder{Order: a.For()}), append(area, price.Exact{}), append(toner, price.Exact{})
		}
		q := g.Pieces[i]
		mm2 := q.WidthMM * q.HeightMM
		c.Orders[k].Copies += q.Quantity
		c.Orders[k].AreaMM2 += mm2 * float64(q.Quantity)
		all += mm2 * float64(q.Quantity)
		area[k] = area[k].Plus(price.Of(decimal.NewFromFloat(mm2)).Times(price.Whole(int64(q.Quantity))))
		if arts[i] == nil {
			continue
		}
		step("what " + a.Art + " lays down")
		laid, err := arts[i].laid()
		if err != nil {
			return nil, err
		}
		c.TonerOf++
		lays := func(copies int) (decimal.Decimal, error) {
			t, err := price.TonerCost(j.Printer.Cartridges(), laid, copies)
			return t.Total, err
		}
		asked, err := lays(q.Quantity)
		if err != nil {
			return nil, err
		}
		made, err := lays(printed[i])
		if err != nil {
			return nil, err
		}
		toner[k], whole = toner[k].Plus(price.Of(asked)), whole.Add(made)
	}
	media := j.Medium.TransferPrice().Times(price.Whole(int64(g.Sheets))).Round(places)
	whole = whole.Round(places)
	amount := func(v decimal.Decimal) string { return v.StringFixed(places) }
	c.Media, c.Toner, c.Total = amount(media), amount(whole), amount(media.Add(whole))
	ofMedia, ofToner := price.Shares(media, area, places), price.Shares(whole, toner, places)
	for k := range c.Orders {
		v := &c.Orders[k]
		v.AreaPercent, v.AreaMM2 = to(v.AreaMM2/all*100, 2), to(v.AreaMM2, 2)
		v.Media, v.Toner, v.Total = amount(ofMedia[k]), amount(ofToner[k]), amount(ofMedia[k].Add(ofToner[k]))
	}
	return c, nil
}
