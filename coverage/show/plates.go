package show

import (
	"bytes"
	"fmt"
	"image/png"
	"path/filepath"
	"strings"

	"laydown/coverage/plate"
	"laydown/coverage/proof"
)

// File is a file to be written.
type File struct {
	Name string // without a folder
	Data []byte
}

// Stem is what the names of an art's plates begin with.
func Stem(art string) string {
	return strings.TrimSuffix(filepath.Base(art), filepath.Ext(art))
}

// How plates are written: five grey PNG files, or all in one TIFF or one page of PDF.
const (
	PlatesPNG  = "png"
	PlatesTIFF = "tiff"
	PlatesPDF  = "pdf"
)

// PlateFormats are all of them, the usual one first.
var PlateFormats = []string{PlatesPNG, PlatesTIFF, PlatesPDF}

// Plates are the five plates in a format of [PlateFormats], named after the art, and its page
// from 1 on if several are separated; 0 for one alone. profile is the ICC profile of the
// printing condition, which a TIFF carries; nil for none.
func Plates(l *proof.Laid, page int, format string, profile []byte) ([]File, error) {
	base := plateBase(l, page)
	switch format {
	case PlatesTIFF:
		b, err := l.Plates.TIFF(l.PixelMM, profile)
		return []File{{base + "-plates.tif", b}}, err
	case PlatesPDF:
		b, err := l.Plates.PDF(l.PixelMM)
		return []File{{base + "-plates.pdf", b}}, err
	}
	var out []File
	for k, name := range plate.Names {
		b, err := l.Plates.PNG(k, l.PixelMM)
		if err != nil {
			return nil, err
		}
		out = append(out, File{base + "-" + name + ".png", b})
	}
	return out, nil
}

// plateBase is what the names of a print's files begin with.
func plateBase(l *proof.Laid, page int) string {
	if page > 0 {
		return fmt.Sprintf("%s-page%d", Stem(l.Art.File), page)
	}
	return Stem(l.Art.File)
}

// SoftProof is the print as it looks on the item, seen as the proof's picture is, as a PNG file
// in sRGB with the plates' own pixels and resolution. Clear parts show the item.
func SoftProof(l *proof.Laid, page int) (File, error) {
	img, err := itemPicture(l, max(l.Plates.Width, l.Plates.Height))
	if err != nil {
		return File{}, err
	}
	var b bytes.Buffer
	if err := png.Encode(&b, img); err != nil {
		return File{}, err
	}
	return File{plateBase(l, page) + "-soft-proof.png", plate.Resolved(b.Bytes(), l.PixelMM)}, nil
}
