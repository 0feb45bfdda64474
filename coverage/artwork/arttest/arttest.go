// Package arttest is for tests only: art that is drawn instead of opened.
package arttest

import (
	"bytes"
	"encoding/binary"
	"image"
	"image/png"
	"os"
	"path/filepath"

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

// TIFF is a CMYK picture as an uncompressed TIFF file of 300 dpi, with a profile
// unless that is nil (TIFF 6.0; ICC.1:2010, B.3).
func TIFF(img *image.CMYK, profile []byte) []byte {
	const entries = 14
	order := binary.LittleEndian
	w, h := img.Rect.Dx(), img.Rect.Dy()
	at := 8 + 2 + 12*entries + 4
	bits, density := at, at+8
	pix := density + 8
	icc := pix + 4*w*h
	b := order.AppendUint32([]byte("II*\x00"), 8)
	entry := func(tag, kind uint16, n, v int) {
		b = order.AppendUint16(order.AppendUint16(b, tag), kind)
		b = order.AppendUint32(order.AppendUint32(b, uint32(n)), uint32(v))
	}
	b = order.AppendUint16(b, entries)
	entry(256, 4, 1, w)
	entry(257, 4, 1, h)
	entry(258, 3, 4, bits)
	entry(259, 3, 1, 1)
	entry(262, 3, 1, 5) // separated
	entry(273, 4, 1, pix)
	entry(277, 3, 1, 4)
	entry(278, 4, 1, h)
	entry(279, 4, 1, 4*w*h)
	entry(282, 5, 1, density)
	entry(283, 5, 1, density)
	entry(284, 3, 1, 1)
	entry(296, 3, 1, 2)
	if profile != nil {
		entry(34675, 7, len(profile), icc)
	} else {
		entry(332, 3, 1, 1) // the inks are CMYK
	}
	b = order.AppendUint32(b, 0)
	b = append(b, 8, 0, 8, 0, 8, 0, 8, 0)
	b = order.AppendUint32(order.AppendUint32(b, 300), 1)
	for y := range h {
		for x := range w {
			c := img.CMYKAt(img.Rect.Min.X+x, img.Rect.Min.Y+y)
			b = append(b, c.C, c.M, c.Y, c.K)
		}
	}
	return append(b, profile...)
}

// Studio draws drawings with the fonts that are built in. Its renderer is compiled once for
// the tests of all packages, and kept among the machine's temporary files.
func Studio() *artwork.Studio {
	return artwork.NewStudio(filepath.Join(os.TempDir(), "laydown-tests"))
}
