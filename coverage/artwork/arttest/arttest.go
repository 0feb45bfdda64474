// Package arttest is for tests only: art that is drawn instead of opened.
package arttest

import (
	"bytes"
	"image"
	"image/png"

	"laydown/colour/icc"
	"laydown/coverage/artwork"
)

// Of is a Go picture as art without a profile or a resolution: CMYK as such, all else
// as a PNG file of it would be read. What cannot be art panics.
func Of(img image.Image) *artwork.Art {
	if c, ok := img.(*image.CMYK); ok {
		return cmyk(c)
	}
	var b bytes.Buffer
	if err := png.Encode(&b, img); err != nil {
		panic(err)
	}
	f, err := artwork.Read(b.Bytes(), "drawn.png", artwork.Options{})
	if err != nil {
		panic(err)
	}
	art, err := f.Decode()
	if err != nil {
		panic(err)
	}
	return art
}

func cmyk(img *image.CMYK) *artwork.Art {
	w, h := img.Rect.Dx(), img.Rect.Dy()
	d := artwork.NewDraft(artwork.Info{File: "drawn", Width: w, Height: h, Space: icc.CMYK})
	for y := range h {
		for x := range w {
			c := img.CMYKAt(img.Rect.Min.X+x, img.Rect.Min.Y+y)
			d.Set(y*w+x, artwork.Device{c.C, c.M, c.Y, c.K}, 255)
		}
	}
	return d.Art()
}
