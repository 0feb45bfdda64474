package plate

import (
	"bytes"
	"encoding/binary"
	"hash/crc32"
	"image"
	"image/png"
	"math"
)

// PNG encodes one plate as a grey PNG, 0 for no toner and 255 for solid, that
// says its resolution. pixelMM is the size of a pixel on the print.
func (p *Plates) PNG(plate int, pixelMM float64) ([]byte, error) {
	var b bytes.Buffer
	img := &image.Gray{Pix: p.Plane[plate], Stride: p.Width, Rect: image.Rect(0, 0, p.Width, p.Height)}
	if err := png.Encode(&b, img); err != nil {
		return nil, err
	}
	return Resolved(b.Bytes(), pixelMM), nil
}

// Resolved is a PNG file that Go's encoder wrote, with its resolution in it: pixelMM is the
// size of a pixel on the print, square and above 0.
func Resolved(file []byte, pixelMM float64) []byte {
	// Go's encoder writes no pHYs chunk; its place is anywhere between the
	// header, which ends at byte 33, and the pixels (PNG 11.3.5.3).
	perMetre := uint32(math.Round(1000 / pixelMM))
	c := append([]byte{0, 0, 0, 9}, "pHYs"...)
	c = binary.BigEndian.AppendUint32(c, perMetre)
	c = binary.BigEndian.AppendUint32(c, perMetre)
	c = append(c, 1)
	c = binary.BigEndian.AppendUint32(c, crc32.ChecksumIEEE(c[4:]))
	const header = 33
	out := make([]byte, 0, len(file)+len(c))
	out = append(out, file[:header]...)
	out = append(out, c...)
	return append(out, file[header:]...)
}
