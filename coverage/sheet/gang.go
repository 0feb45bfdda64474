package sheet

import (
	"errors"
	"fmt"
	"math"
	"math/rand/v2"

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

// Room is a sheet with its margins, and the gap between pieces.
type Room struct {
	Sheet           unit.Sheet
	MarginMM, GapMM float64
}

// step is the packer's unit of length in millimetres.
const step = 0.01

func steps(mm float64) int { return int(math.Round(mm / step)) }

// packer makes a packer for the room. A gap is part of every piece, and the sheet
// is larger by one.
func (r Room) packer(pieces []Piece, seed uint64) *packer {
	p := &packer{w: steps(r.Sheet.WidthMM - 2*r.MarginMM + r.GapMM), h: steps(r.Sheet.HeightMM - 2*r.MarginMM + r.GapMM),
		rng: rand.New(rand.NewPCG(seed, 19))}
	for _, q := range pieces {
		p.types = append(p.types, kind{steps(q.WidthMM + r.GapMM), steps(q.HeightMM + r.GapMM), q.Quantity})
	}
	return p
}

// check says what cannot be set on any sheet.
func (r Room) check(pieces []Piece) error {
	if len(pieces) == 0 {
		return errors.New("there are no pieces to set on a sheet")
	}
	p := r.packer(pieces, 0)
	for i, t := range p.types {
		q := pieces[i]
		switch {
		case !(q.WidthMM > 0) || !(q.HeightMM > 0) || q.Quantity <= 0:
			return fmt.Errorf("piece %q: width, height and quantity must be above 0", q.Name)
		case !(t.w <= p.w && t.h <= p.h) && !(t.h <= p.w && t.w <= p.h):
			return &fault.Fault{Err: fmt.Errorf("piece %q of %g × %g mm does not fit %s with margins of %g mm", q.Name, q.WidthMM, q.HeightMM, r.Sheet, r.MarginMM),
				Hint: "make it smaller or take a larger {sheet}"}
		}
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
	l.FillPercent = hundredths(area / ((r.Sheet.WidthMM - 2*r.MarginMM) * (r.Sheet.HeightMM - 2*r.MarginMM)) * 100)
	return l
}

// Means of the searches: enough for the last per cent on sheets of a few dozen
// pieces, in well under two seconds.
const (
	oneTries   = 3000
	oneSteps   = 400_000
	shareTries = 600
)

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
	if area(ones) > float64(free.w)*float64(free.h) {
		return Gang{}, &fault.Fault{Err: fmt.Errorf("the %d pieces do not all fit on one layout of %s", len(pieces), r.Sheet), Hint: severalLayouts}
	}
	counts := make([]int, len(pieces))
	// The fewest prints that the area allows, then more until a layout is found.
	for prints := 1; prints <= most; {
		next := math.MaxInt // prints at which a count falls
		for i, q := range pieces {
			counts[i] = (q.Quantity + prints - 1) / prints
			if counts[i] > 1 {
				next = min(next, (q.Quantity+counts[i]-2)/(counts[i]-1))
			}
		}
		if area(counts) <= float64(free.w)*float64(free.h) {
			p := r.packer(pieces, uint64(prints))
			for i := range p.types {
				p.types[i].count = counts[i]
			}
			if puts := p.all(oneTries, oneSteps); puts != nil {
				return r.finish([]GangLayout{r.layout(puts, pieces, prints)}, pieces), nil
			}
		}
		if next == math.MaxInt {
			break
		}
		prints = next
	}
	return Gang{}, &fault.Fault{Err: fmt.Errorf("no single layout of %s was found for all %d pieces", r.Sheet, len(pieces)), Hint: severalLayouts}
}

// Share sets the pieces on as few sheets as it finds, on as many layouts as that
// takes: each in turn as full as can be with what is still wanted, printed while
// all of it is. Where a single layout needs no more sheets, it is taken. The error
// is that of [Room.OneLayout].
func (r Room) Share(pieces []Piece) (Gang, error) {
	if err := r.check(pieces); err != nil {
		return Gang{}, err
	}
	left := append([]Piece(nil), pieces...)
	var layouts []GangLayout
	for round := uint64(2); ; round++ {
		any := 0
		for _, q := range left {
			any += q.Quantity
		}
		if any == 0 {
			break
		}
		p := r.packer(left, round)
		puts := p.all(shareTries, oneSteps)
		if puts == nil {
			puts, _ = p.most(shareTries)
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
	out := r.finish(layouts, pieces)
	if len(layouts) > 1 {
		if one, err := r.OneLayout(pieces); err == nil && one.Sheets <= out.Sheets {
			return one, nil
		}
	}
	return out, nil
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
