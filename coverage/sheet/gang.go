package sheet

import (
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"sort"

	"laydown/coverage/fault"
	"laydown/coverage/unit"
)

// Piece is a print of which so many are wanted.
type Piece struct {
	Name     string  `json:"name"`
	WidthMM  float64 `json:"width_mm"`
	HeightMM float64 `json:"height_mm"`
	Quantity int     `json:"quantity"`
}

// Gang is sheets that several pieces share: each layout is printed so many times. Its
// JSON form is a contract that scripts rely on.
type Gang struct {
	Sheet   Holding      `json:"sheet"` // Copies counts the places of all layouts
	Layouts []GangLayout `json:"layouts"`
	Sheets  int          `json:"sheets"`       // the sum of all prints
	Extra   int          `json:"extra_copies"` // beyond what is wanted
	Pieces  []Piece      `json:"-"`            // as asked for
}

// GangLayout is one layout.
type GangLayout struct {
	Prints int `json:"prints"`
	// FillPercent is how much of the free area, 0–100, lies under pieces, to two places.
	// Gaps count as not filled.
	FillPercent float64     `json:"fill_percent"`
	Places      []GangPlace `json:"places"`
}

// GangPlace is where one piece lies, from the sheet's top left corner, to a hundredth of
// a millimetre.
type GangPlace struct {
	Name string `json:"name"`
	Place
	Piece int `json:"-"` // index into the pieces
}

// Room is a sheet with its margins, the gap between pieces, and squares in the corners
// inside the margins that stay free, as for the marks that a cutter finds its way by.
type Room struct {
	Sheet           unit.Sheet
	MarginMM, GapMM float64
	CornerMM        float64 // side of each square; 0 for none
}

// Corners are the squares in the corners that stay free; none if there are none.
func (r Room) Corners() (out []Place) {
	if c := r.CornerMM; c > 0 {
		for _, y := range []float64{r.MarginMM, r.Sheet.HeightMM - r.MarginMM - c} {
			for _, x := range []float64{r.MarginMM, r.Sheet.WidthMM - r.MarginMM - c} {
				out = append(out, Place{hundredths(x), hundredths(y), hundredths(c), hundredths(c), false})
			}
		}
	}
	return out
}

// step is the packer's unit of length in millimetres.
const step = 0.01

func steps(mm float64) int { return int(math.Round(mm / step)) }

// packer makes a packer for the room. A gap is part of every piece, and the sheet
// is larger by one.
func (r Room) packer(pieces []Piece, seed uint64) *packer {
	p := &packer{w: steps(r.Sheet.WidthMM - 2*r.MarginMM + r.GapMM), h: steps(r.Sheet.HeightMM - 2*r.MarginMM + r.GapMM),
		corner: steps(r.CornerMM), rng: rand.New(rand.NewPCG(seed, 19))}
	for _, q := range pieces {
		p.types = append(p.types, kind{steps(q.WidthMM + r.GapMM), steps(q.HeightMM + r.GapMM), q.Quantity})
	}
	return p
}

// What is beyond these is a mistake, or too much to search.
const (
	mostMM      = 10_000
	mostCopies  = 10_000_000 // of one piece
	mostPieces  = 2000
	mostOnSheet = 5000
)

// check says what cannot be set on any sheet, and what is too much.
func (r Room) check(pieces []Piece) error {
	if len(pieces) == 0 {
		return errors.New("there are no pieces to set on a sheet")
	}
	if len(pieces) > mostPieces {
		return fmt.Errorf("there are %d pieces, and at most %d are set together: split the list", len(pieces), mostPieces)
	}
	p := r.packer(pieces, 0)
	if p.corner > 0 && 2*p.corner >= min(p.w, p.h) {
		return &fault.Fault{Err: fmt.Errorf("corners of %g mm for a cutter leave nothing of %s with margins of %g mm", r.CornerMM, r.Sheet, r.MarginMM), Hint: "take a larger {sheet}"}
	}
	for i, t := range p.types {
		q := pieces[i]
		switch {
		case !(q.WidthMM > 0) || !(q.HeightMM > 0) || q.Quantity <= 0:
			return fmt.Errorf("piece %q: width, height and quantity must be above 0", q.Name)
		case q.Quantity > mostCopies:
			return fmt.Errorf("piece %q: %d are wanted, and at most %d are set: split the order", q.Name, q.Quantity, mostCopies)
		case !p.takes(t.w, t.h) && !p.takes(t.h, t.w):
			with := fmt.Sprintf("margins of %g mm", r.MarginMM)
			if p.corner > 0 {
				with += fmt.Sprintf(" and corners of %g mm for a cutter", r.CornerMM)
			}
			return &fault.Fault{Err: fmt.Errorf("piece %q of %g × %g mm does not fit %s with %s", q.Name, q.WidthMM, q.HeightMM, r.Sheet, with),
				Hint: "make it smaller or take a larger {sheet}"}
		}
	}
	if p.mayHold() > mostOnSheet {
		return &fault.Fault{Err: fmt.Errorf("more than %d of these pieces may go on one sheet of %s, and at most %d are set", mostOnSheet, r.Sheet, mostOnSheet),
			Hint: "give many small ones as one piece, or take a smaller {sheet}"}
	}
	return nil
}

// layout turns what a packer set into places.
func (r Room) layout(puts []put, pieces []Piece, prints int) GangLayout {
	l := GangLayout{Prints: prints}
	area := 0.0
	for _, q := range puts {
		v := pieces[q.kind]
		w, h := v.WidthMM, v.HeightMM
		if q.turned {
			w, h = h, w
		}
		area += w * h
		l.Places = append(l.Places, GangPlace{v.Name, Place{hundredths(r.MarginMM + float64(q.x)*step), hundredths(r.MarginMM + float64(q.y)*step), hundredths(w), hundredths(h), q.turned}, q.kind})
	}
	l.FillPercent = r.filled(area)
	return l
}

// filled is how much of the free area an area is, as [GangLayout.FillPercent].
func (r Room) filled(areaMM2 float64) float64 {
	return hundredths(areaMM2 / ((r.Sheet.WidthMM - 2*r.MarginMM) * (r.Sheet.HeightMM - 2*r.MarginMM)) * 100)
}

// Means of the searches: enough for the last per cent on sheets of a few dozen
// pieces, in well under two seconds, of hundreds of kinds in a few.
const (
	oneTries   = 3000
	oneSteps   = 400_000
	shareTries = 600
	mostLooks  = 60_000_000 // at ways to set a piece, of all layouts together
)

// fewer is the part of the area from which on another single layout is tried where the means
// are used up.
const fewer = 0.97

// fewExtra is the part of its copies, one in so many, up to which a single layout may lay
// down what nobody wants: beyond, its toner costs more than a second layout's trouble.
const fewExtra = 8

const severalLayouts = "leave out {one-layout}, or take a larger {sheet}"

// OneLayout finds a single layout that holds every piece at least once, printed as
// often as its worst-served piece needs: of the layouts it finds, one that needs
// the fewest prints. Pieces may be turned by a quarter. The error is a [fault.Fault]
// that says what does not fit, and what of {sheet} and {one-layout} to change.
func (r Room) OneLayout(pieces []Piece) (Gang, error) {
	if err := r.check(pieces); err != nil {
		return Gang{}, err
	}
	free := r.packer(pieces, 1)
	area := func(counts []int) (a float64) {
		for i, t := range free.types {
			a += float64(t.w) * float64(t.h) * float64(counts[i])
		}
		return a
	}
	most, ones := 0, make([]int, len(pieces))
	for i, q := range pieces {
		most, ones[i] = max(most, q.Quantity), 1
	}
	if area(ones) > float64(free.room()) {
		return Gang{}, &fault.Fault{Err: fmt.Errorf("the %d pieces do not all fit on one layout of %s", len(pieces), r.Sheet), Hint: severalLayouts}
	}
	counts := make([]int, len(pieces))
	// on is what each layout holds of every piece if it is printed so often, and at how many
	// prints that falls next.
	on := func(prints int) (next int) {
		next = math.MaxInt
		for i, q := range pieces {
			counts[i] = (q.Quantity + prints - 1) / prints
			if counts[i] > 1 {
				next = min(next, (q.Quantity+counts[i]-2)/(counts[i]-1))
			}
		}
		return next
	}
	var alone []put
	if len(pieces) == 1 {
		if alone = r.alone(pieces[0]); alone != nil {
			most = (most + len(alone) - 1) / len(alone) // which is sure
		}
	}
	fewest := 1 + sort.Search(most-1, func(n int) bool { on(n + 1); return area(counts) <= float64(free.room()) })
	// The fewest prints that the area allows, then more until a layout is found.
	for looks, prints := mostLooks, fewest; prints <= most; {
		next := on(prints)
		held := area(counts)
		if held <= float64(free.room()) {
			p := r.packer(pieces, uint64(prints))
			p.looks = looks
			for i := range p.types {
				p.types[i].count = counts[i]
			}
			var puts []put
			if alone != nil && counts[0] <= len(alone) {
				puts = alone[:counts[0]]
			} else {
				puts = p.all(oneTries, oneSteps)
			}
			if puts != nil {
				return r.finish([]GangLayout{r.layout(puts, pieces, prints)}, pieces), nil
			}
			looks = p.looks
		}
		if looks <= 0 { // then only what is a good deal less is worth a try
			for next < most && area(counts) > held*fewer {
				prints = next
				next = on(prints)
			}
			if area(counts) < held {
				continue
			}
		}
		if prints < most {
			next = min(next, most)
		}
		prints = next
	}
	return Gang{}, &fault.Fault{Err: fmt.Errorf("no single layout of %s was found for all %d pieces", r.Sheet, len(pieces)), Hint: severalLayouts}
}

// Share sets the pieces on as few sheets as it finds, on as many layouts as that
// takes: each in turn as full as can be with what is still wanted, printed while
// all of it is. Where a single layout needs fewer sheets, or as many and hardly lays down
// copies that nobody wants, it is taken. The error
// is that of [Room.OneLayout], or says what is too much: more than 2000 pieces, ten million of
// one, or five thousand on a sheet.
func (r Room) Share(pieces []Piece) (Gang, error) {
	if err := r.check(pieces); err != nil {
		return Gang{}, err
	}
	out, _ := r.share(pieces, mostLooks)
	if len(out.Layouts) > 1 {
		one, err := r.OneLayout(pieces)
		if err == nil && (one.Sheets < out.Sheets || one.Sheets == out.Sheets && one.beyond()*fewExtra <= one.Sheet.Copies*one.Sheets) {
			return one, nil
		}
	}
	return out, nil
}

// share is Share on several layouts, with so many looks for all of them, and those it took.
func (r Room) share(pieces []Piece, means int) (g Gang, took int) {
	left := append([]Piece(nil), pieces...)
	var layouts []GangLayout
	looks := means
	for round := uint64(2); ; round++ {
		var some []Piece // of which some are still wanted,
		var of []int     // and which pieces they are
		for i, q := range left {
			if q.Quantity > 0 {
				some, of = append(some, q), append(of, i)
			}
		}
		if len(some) == 0 {
			break
		}
		p := r.packer(some, round)
		// Each layout finishes one piece or so, unless so few are left that all go on few sheets.
		rounds := min(len(some), 1+p.wanted()/p.room())
		allowed := looks / rounds
		p.looks = allowed
		puts := p.all(shareTries, oneSteps)
		if puts == nil {
			puts, _ = p.most(shareTries)
		}
		looks -= allowed - p.looks
		if len(some) == 1 {
			if alone := r.alone(some[0]); len(alone) > len(puts) {
				puts = alone
			}
		}
		for i := range puts {
			puts[i].kind = of[puts[i].kind]
		}
		on := make([]int, len(left))
		for _, q := range puts {
			on[q.kind]++
		}
		prints := math.MaxInt
		for i, n := range on {
			if n > 0 {
				prints = min(prints, left[i].Quantity/n)
			}
		}
		for i, n := range on {
			left[i].Quantity -= n * prints
		}
		layouts = append(layouts, r.layout(puts, pieces, prints))
	}
	return r.finish(layouts, pieces), means - looks
}

// alone sets copies of one piece as [Room.Fit] does, where more of it are wanted than a sheet
// holds.
func (r Room) alone(q Piece) (puts []put) {
	l, err := r.Fit(q.WidthMM, q.HeightMM)
	if err != nil || l.Copies() > q.Quantity {
		return nil
	}
	for _, v := range l.Places {
		puts = append(puts, put{0, steps(v.XMM - r.MarginMM), steps(v.YMM - r.MarginMM), steps(v.WidthMM), steps(v.HeightMM), v.Turned})
	}
	return puts
}

func (r Room) finish(layouts []GangLayout, pieces []Piece) Gang {
	g := Gang{Sheet: holding(r.Sheet, 0), Layouts: layouts, Pieces: pieces}
	for _, l := range layouts {
		g.Sheet.Copies += len(l.Places)
		g.Sheets += l.Prints
		g.Extra += l.Prints * len(l.Places)
	}
	for _, q := range pieces {
		g.Extra -= q.Quantity
	}
	return g
}

// Beyond is how many copies of each piece the layouts that several share lay down beyond what
// is wanted. On a layout that one piece has to itself, the last sheet need not be full.
func (g *Gang) Beyond() []int {
	out := make([]int, len(g.Pieces))
	for _, l := range g.Layouts {
		for _, p := range l.Places {
			if p.Piece != l.Places[0].Piece {
				for _, p := range l.Places {
					out[p.Piece] += l.Prints
				}
				break
			}
		}
	}
	for i := range out {
		out[i] = max(0, out[i]-g.Pieces[i].Quantity)
	}
	return out
}

// beyond is Beyond of all pieces.
func (g *Gang) beyond() (n int) {
	for _, v := range g.Beyond() {
		n += v
	}
	return n
}
