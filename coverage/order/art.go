package order

import (
	"math"
	"runtime"

	"laydown/colour/press"
	"laydown/coverage/artwork"
	"laydown/coverage/background"
	"laydown/coverage/plate"
)

// Art is an order's art, opened and decoded once for all who need it.
type Art struct {
	File *artwork.File
	// Picture is the art as it will be printed, without its background if that was
	// asked for; nil until it is decoded.
	Picture *artwork.Art
	// DroppedPercent of the picture was background; nil if nobody asked.
	DroppedPercent *float64
	Colours        *Colours
}

// Open reads the header of the order's art. The error names the file and says what
// to do.
func (j *Job) Open() (*Art, error) {
	file, err := artwork.Open(j.ArtPath, artwork.Options{IgnoreProfile: j.IgnoreProfile})
	if err != nil {
		return nil, err
	}
	return &Art{File: file, Colours: j.colours(file.Info)}, nil
}

// For is an art that is decoded under another job: its pixels are shared, its colours
// may mean something else.
func (a *Art) For(j *Job) *Art {
	b := *a
	b.Colours = j.colours(a.File.Info)
	return &b
}

// Decode decodes the art if that was not done yet, and takes its background away if
// the order asks for that.
func (a *Art) Decode() error {
	if a.Picture != nil {
		return nil
	}
	picture, err := a.File.Decode()
	if err != nil {
		return err
	}
	a.Picture = picture
	return a.drop()
}

// DecodeBeside is Decode, which keeps one core busy for a while; beside it the table
// is got ready and empty plates of the picture's size are made.
func (a *Art) DecodeBeside(sep *press.Separator) (*plate.Plates, error) {
	w, h := a.File.Width, a.File.Height
	if a.Picture != nil {
		return plate.New(w, h), nil
	}
	// Pixels of 16 bits and the file that holds them are large: there the plates
	// wait until the file's bytes can be had back.
	wide := a.File.Depth == 16
	ready := make(chan *plate.Plates, 1)
	go func() {
		sep.Table()
		var p *plate.Plates
		if !wide {
			p = plate.New(w, h)
		}
		ready <- p
	}()
	err := a.Decode()
	plates := <-ready
	if err != nil {
		return nil, err
	}
	if wide {
		runtime.GC()
		plates = plate.New(w, h)
	}
	return plates, nil
}

// drop takes the flat ground out of the picture, if it has one and the order asks.
func (a *Art) drop() error {
	j := a.Colours.job
	if !j.DropBackground {
		return nil
	}
	design, err := a.Colours.Design()
	if err != nil {
		return err
	}
	share := 0.0
	if g := background.Find(a.Picture, design); g != nil {
		gone := g.Pixels
		if j.DropHoles {
			gone += g.HolePixels
		}
		share = math.Round(float64(gone)/float64(len(g.Where))*100*1e4) / 1e4
		a.Picture = g.Drop(a.Picture, j.DropHoles)
	}
	a.DroppedPercent = &share
	return nil
}
