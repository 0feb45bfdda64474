package proof

import (
	"path/filepath"
	"strings"

	"laydown/coverage/plate"
)

// File is a file to be written.
type File struct {
	Name string
	Data []byte
}

// PlateFiles are the five plates as grey PNG files, named after the art.
func (p *Proof) PlateFiles() ([]File, error) {
	base := strings.TrimSuffix(p.Artwork.File, filepath.Ext(p.Artwork.File))
	var out []File
	for k, name := range plate.Names {
		b, err := p.plates.PNG(k, p.pixelMM)
		if err != nil {
			return nil, err
		}
		out = append(out, File{base + "-" + name + ".png", b})
	}
	return out, nil
}
