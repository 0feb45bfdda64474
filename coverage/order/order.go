// Package order is what a person asks about one print: the art, and by name the
// process, the item, the sheet and the printing condition.
//
// It looks the names up in the shop file, opens the art once for all who need it,
// and knows what the art's colours mean on this press and item. It works out no
// figure of the print and renders nothing.
package order

import (
	"crypto/sha256"
	"encoding/json"
	"fmt"

	"laydown/colour"
	"laydown/colour/icc"
	"laydown/colour/press"
	"laydown/colour/swatch"
	"laydown/coverage/artwork"
	"laydown/coverage/fault"
	"laydown/coverage/shop"
	"laydown/coverage/unit"
)

// Order is what a person asks about. Zero fields are left to the shop file.
type Order struct {
	ArtPath       string
	ArtData       []byte          // of art that is no file, which ArtPath then names; else nil
	IgnoreProfile bool            // take the art as if it said nothing of its colours
	Page          int             // of art with several pages, the first one 1; 0 if none is named
	Studio        *artwork.Studio // that draws drawings; nil for one with the fonts that are built in

	Shop        *shop.Shop
	ProcessName string      // "" for the best for the item, which package proof finds
	ItemName    string      // "" for the shop's default, "none" for no item
	ItemColour  *colour.Lab // in place of the item's own
	// ItemColourName is the word that it is given by; "" if it is given in numbers.
	ItemColourName string
	Wish           artwork.Wish
	Sheet          *unit.Sheet // nil for the media's own

	Press      *press.Press
	Intent     icc.Intent
	NoBPC      bool
	TACPercent float64 // 0 for the shop's
	Black      string  // "" for the printer's
	// DropBackground works everything out as if the flat ground that the art stands
	// on were gone, and DropHoles takes that colour out of holes in the art too.
	DropBackground, DropHoles bool
	PureBlack                 bool // black and neutral greys on the black plate alone, whatever the process says
	// KeepPure is what stays on its own toner of CMYK art that was made for another
	// press: none, black or all; "" for black, unless black generation is none.
	KeepPure string

	Swatches        []swatch.Swatch
	SwatchesSkipped []swatch.Skipped // of the list that Swatches are from
	Quantities      []int            // to quote; none for the shop's
	EveryRule       bool             // compare every white rule for processes that print white
}

// Job is an order with its names looked up.
type Job struct {
	Order
	Process *shop.Process
	Printer *shop.Printer
	Medium  *shop.Medium
	Item    *shop.Item
	// Colour is that of the item, absolute under D50: of mixed colours their mean, of a clear
	// item what lies behind, of metal the mean of what it shows before light and dark.
	Colour  colour.Lab
	Limit   float64       // on C+M+Y+K, percent
	Options press.Options // how colours become tone values
	// Unbought says that the medium is not bought in the sheet that is asked for.
	Unbought bool
	// Assumed is what was taken where the order says nothing and an answer depends on it.
	Assumed []Assumption
}

// Resolve looks the order's names up. A process that is not named is the shop's default
// until a better one is known: see [Job.Named]. An error is about one field, process,
// item, tac, black or keep-pure, and says what it may be.
func (o Order) Resolve() (*Job, error) {
	j := &Job{Order: o}
	var err error
	if j.Process, err = o.Shop.Process(orElse(o.ProcessName, o.Shop.DefaultProcess)); err != nil {
		return nil, fault.In("process", err)
	}
	if j.Printer, err = o.Shop.Printer(j.Process.Printer); err != nil {
		return nil, err
	}
	if j.Medium, err = o.Shop.Medium(j.Process.Media); err != nil {
		return nil, err
	}
	if o.Sheet != nil {
		var bought bool
		j.Medium, bought = j.Medium.Bought(*o.Sheet)
		j.Unbought = !bought
	}
	if j.Item, err = o.Shop.Item(orElse(o.ItemName, o.Shop.DefaultItem)); err != nil {
		return nil, fault.In("item", err)
	}
	j.Colour = j.Facing(facesBoth)
	j.assumeItem()
	j.Limit = orElse(o.TACPercent, j.Printer.TACPercent(j.Medium))
	if !(j.Limit > 0 && j.Limit <= 400) {
		return nil, fault.In("tac", fmt.Errorf("a limit of %g %% makes no sense: it is above 0 and at most 400", j.Limit))
	}
	// A profile separates by its own table unless the person asks otherwise.
	j.Options = press.Options{Intent: o.Intent, BPC: !o.NoBPC, TAC: j.Limit / 100,
		Own: o.TACPercent != 0 || o.Black != "", PureBlack: j.Process.PureBlack || o.PureBlack}
	if j.Options.Black, err = press.ParseBlack(orElse(o.Black, j.Printer.Black)); err != nil {
		return nil, fault.In("black", err)
	}
	keep := press.KeepBlack
	if own := o.Press == nil || o.Press.Profile == nil || j.Options.Own; own && j.Options.Black == press.BlackNone {
		keep = press.KeepNone // who wants no black toner wants none for text
	}
	if j.Options.Keep, err = press.ParseKeep(orElse(o.KeepPure, keep.String())); err != nil {
		return nil, fault.In("keep-pure", err)
	}
	return j, nil
}

// With is the job with another process of the shop, printing white by a rule that
// may not be the process's own. The job itself is not changed.
func (j *Job) With(p shop.Process) (*Job, error) {
	o := j.Order
	o.ProcessName = p.Name
	other, err := o.Resolve()
	if err == nil {
		other.Process = &p
	}
	return other, err
}

// Compensates reports whether black points are compensated: never by the absolute
// intent.
func (j *Job) Compensates() bool { return j.Options.BPC && j.Intent != icc.Absolute }

// SheetOrOwn is the sheet that is asked for, or the media's own.
func (j *Job) SheetOrOwn() unit.Sheet {
	if j.Sheet != nil {
		return *j.Sheet
	}
	return j.Medium.Sheet
}

// Fingerprint names all that an answer follows from but the art itself: two orders
// with the same one get the same answer for the same art. Where the shop file lies,
// and what the art is called, is not in it.
func (o Order) Fingerprint() ([32]byte, error) {
	figures, err := json.Marshal(o.Shop)
	if err != nil {
		return [32]byte{}, err
	}
	rest := o
	rest.ArtData = nil
	rest.ArtPath, rest.Shop, rest.Press, rest.Studio, rest.ItemColour, rest.Sheet, rest.Swatches = "", nil, nil, nil, nil, nil, nil
	text := fmt.Appendf(figures, "|%x|%+v", o.Press.Sum(), rest)
	if o.ItemColour != nil {
		text = fmt.Appendf(text, "|on %v", *o.ItemColour)
	}
	if o.Sheet != nil {
		text = fmt.Appendf(text, "|sheet %v", *o.Sheet)
	}
	for _, s := range o.Swatches {
		text = fmt.Appendf(text, "|%q %v", s.Name, s.Lab)
		if s.CMYK != nil {
			text = fmt.Appendf(text, " %v", *s.CMYK)
		}
	}
	return sha256.Sum256(text), nil
}

// orElse is v, or another where v says nothing.
func orElse[T comparable](v, otherwise T) T {
	var none T
	if v == none {
		return otherwise
	}
	return v
}
