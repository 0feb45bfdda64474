package show

import (
	"fmt"
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

// Plates are the five plates as grey PNG files, named after the art, and its page from 1 on if
// several are separated; 0 for one alone.
func Plates(l *proof.Laid, page int) ([]File, error) {
	base := Stem(l.Art.File)
	if page > 0 {
		base += fmt.Sprintf("-page%d", page)
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
