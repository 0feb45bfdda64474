package show

import (
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

// Plates are the five plates as grey PNG files, named after the art.
func Plates(l *proof.Laid) ([]File, error) {
	base := strings.TrimSuffix(l.Art.File, filepath.Ext(l.Art.File))
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
