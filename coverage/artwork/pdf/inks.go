package pdf

import (
	"context"
	"errors"
	"fmt"
	"image"

	"laydown/colour/cores"
	"laydown/coverage/artwork/pdf/content"
)

// Inks is a page of CMYK, parted so that it can be drawn without becoming screen colours.
type Inks struct {
	engine *Engine
	page   Page
	halves [2][]byte
}

// Facts are what a page says of what it is painted with, but for its texts; p learns from it
// where [Document.Texts] lie. inks is not nil if it can be drawn in CMYK. An error means that the
// page may be drawn and that nothing is known of it.
func (d *Document) Facts(p *Page) (facts content.Facts, inks *Inks, err error) {
	f, err := content.Open(d.data)
	if err != nil {
		return facts, nil, err
	}
	frame, err := f.Frame(p.number)
	if err != nil {
		return facts, nil, err
	}
	if p.trim.sound() {
		frame.Left, frame.Bottom, frame.Width, frame.Height = p.trim.left, p.trim.bottom, p.trim.right-p.trim.left, p.trim.top-p.trim.bottom
	}
	if !(frame.Width > 0 && frame.Height > 0) {
		return facts, nil, errors.New("its pages cannot be read")
	}
	p.frame = frame
	if facts, err = f.Facts(p.number, frame); err != nil || !facts.Inks {
		return facts, nil, err
	}
	inks = &Inks{engine: d.engine, page: *p}
	inks.page.number = 0
	for half := range inks.halves {
		if inks.halves[half], err = f.Separated(p.number, content.Half(half)); err != nil {
			facts.Inks, facts.LostInks = false, err.Error()
			return facts, nil, nil
		}
	}
	return facts, inks, nil
}

// Draw draws the page with so many pixels, five bytes each: cyan, magenta, yellow, black and
// alpha, of which 255 is a solid ink and a solid pixel.
func (i *Inks) Draw(ctx context.Context, width, height int) ([]byte, error) {
	out := make([]byte, 5*width*height)
	var drawn [2]*image.NRGBA
	var errs [2]error
	cores.Each(2, func(half int) { drawn[half], errs[half] = i.half(ctx, i.halves[half], width, height) })
	if err := errors.Join(errs[:]...); err != nil {
		return nil, err
	}
	for half, img := range drawn {
		for at, px := 0, img.Pix; at < len(out); at, px = at+5, px[4:] {
			switch a := px[3]; {
			case a == 0:
			case content.Half(half) == content.Colours:
				out[at], out[at+1], out[at+2], out[at+4] = 255-px[0], 255-px[1], 255-px[2], a
			default:
				out[at+3] = 255 - px[0]
			}
		}
	}
	return out, nil
}

func (i *Inks) half(ctx context.Context, data []byte, width, height int) (*image.NRGBA, error) {
	d, err := i.engine.Open(ctx, data)
	if err != nil {
		return nil, fmt.Errorf("its inks cannot be drawn: %w", err)
	}
	defer d.Close()
	return d.Draw(i.page, width, height)
}
