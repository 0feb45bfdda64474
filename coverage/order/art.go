package order

import (
	"fmt"
	"math"
	"runtime"

	"laydown/colour/press"
	"laydown/coverage/artwork"
	"laydown/coverage/background"
	"laydown/coverage/plate"
)

// Opened is an order's art whose header has been read, and no pixel yet.
type Opened struct {
	File    *artwork.File
	Colours *Colours
}

// Art is an order's art, decoded once for all who need it.
type Art struct {
	// Picture is the art as it will be printed, without its background if that was
	// asked for.
	Picture *artwork.Art
	// Sent is the art as it came, if its background was taken away; else nil.
	Sent *artwork.Art
	// DroppedPercent of the picture was background; nil if nobody asked.
	DroppedPercent *float64
	Colours        *Colours
}

// Open reads the header of the order's art. The error names the file and says what
// to do.
func (j *Job) Open() (*Opened, error) {
	how := artwork.Options{IgnoreProfile: j.IgnoreProfile, Limits: j.Shop.Limits, Canvas: artwork.Canvas{Wish: j.Wish, PPI: j.Medium.GoodPPI, Page: j.Page, Studio: j.Studio}}
	var file *artwork.File
	var err error
	if j.ArtData == nil {
		file, err = artwork.Open(j.ArtPath, how)
	} else if file, err = artwork.Read(j.ArtData, j.ArtPath, how); err != nil {
		err = fmt.Errorf("%s: %w", j.ArtPath, err)
	}
	if err != nil {
		return nil, err
	}
	return &Opened{File: file, Colours: j.colours(file.Info)}, nil
}

// For is the art under another job: its pixels are shared, its colours may mean
// something else.
func (a *Art) For(j *Job) *Art {
	return &Art{Picture: a.Picture, Sent: a.Sent, DroppedPercent: a.DroppedPercent, Colours: j.colours(a.Picture.Info)}
}

// Decode decodes the art, and takes its background away if the order asks for that.
func (o *Opened) Decode() (*Art, error) {
	picture, err := o.File.Decode()
	if err != nil {
		return nil, err
	}
	return o.drop(picture)
}

// DecodeBeside is Decode, which keeps one core busy for a while; beside it the table
// is got ready and empty plates of the picture's size are made.
func (o *Opened) DecodeBeside(sep *press.Separator) (*Art, *plate.Plates, error) {
	w, h := o.File.Width, o.File.Height
	// Pixels of 16 bits and the file that holds them are large: there the plates
	// wait until the file's bytes can be had back.
	wide := o.File.Depth == 16
	ready := make(chan *plate.Plates, 1)
	go func() {
		sep.Table()
		var p *plate.Plates
		if !wide {
			p = plate.New(w, h)
		}
		ready <- p
	}()
	art, err := o.Decode()
	plates := <-ready
	if err != nil {
		return nil, nil, err
	}
	if wide {
		runtime.GC()
		plates = plate.New(w, h)
	}
	return art, plates, nil
}

// drop takes the flat ground out of the picture, if it has one and the order asks.
func (o *Opened) drop(picture *artwork.Art) (*Art, error) {
	art, j := &Art{Picture: picture, Colours: o.Colours}, o.Colours.job
	if !j.DropBackground {
		return art, nil
	}
	design, err := o.Colours.Design()
	if err != nil {
		return nil, err
	}
	share := 0.0
	if g := background.Find(picture, design); g != nil {
		gone := g.Pixels
		if j.DropHoles {
			gone += g.HolePixels
		}
		share = math.Round(float64(gone)/float64(len(g.Where))*100*1e4) / 1e4
		art.Picture, art.Sent = g.Drop(picture, j.DropHoles), picture
	}
	art.DroppedPercent = &share
	return art, nil
}
