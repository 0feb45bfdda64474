package artwork

import (
	"bytes"
	"encoding/binary"
	"errors"
	"fmt"
	"image"
	"image/color"

	"golang.org/x/image/webp"

	"laydown/colour/icc"
)

// webpChunks walks the chunks of a RIFF file's content until see is satisfied. It stops at
// the first that is cut short.
func webpChunks(b []byte, see func(kind string, data []byte) bool) {
	for len(b) >= 8 {
		n := uint64(binary.LittleEndian.Uint32(b[4:]))
		if n > uint64(len(b)-8) || see(string(b[:4]), b[8:8+n]) {
			return
		}
		b = b[min(8+n+n&1, uint64(len(b))):]
	}
}

func u24(b []byte) int { return int(b[0]) | int(b[1])<<8 | int(b[2])<<16 }

// webpFrame is the first frame of an animation: where it lies on the picture, and itself as
// a file of its own.
type webpFrame struct {
	at   image.Point
	w, h int
	file []byte
}

// webpFirst finds the first frame of an animation, and how many there are; nil for a still picture.
func webpFirst(b []byte) (first *webpFrame, count int) {
	webpChunks(b[min(12, len(b)):], func(kind string, data []byte) bool {
		if kind != "ANMF" || len(data) < 16 {
			return false
		}
		if count++; count > 1 {
			return false
		}
		f := &webpFrame{at: image.Pt(2*u24(data), 2*u24(data[3:])), w: u24(data[6:]) + 1, h: u24(data[9:]) + 1}
		body := data[16:]
		f.file = []byte("RIFF\x00\x00\x00\x00WEBP")
		if has(body, 0, "ALPH") {
			f.file = append(f.file, "VP8X\x0a\x00\x00\x00\x10\x00\x00\x00"...)
			f.file = append(f.file, data[6:12]...)
		}
		webpChunks(body, func(kind string, chunk []byte) bool {
			if kind == "ALPH" || kind == "VP8 " || kind == "VP8L" {
				f.file = append(f.file, kind...)
				f.file = binary.LittleEndian.AppendUint32(f.file, uint32(len(chunk)))
				f.file = append(f.file, chunk...)
				if len(chunk)%2 == 1 {
					f.file = append(f.file, 0)
				}
			}
			return false
		})
		binary.LittleEndian.PutUint32(f.file[4:], uint32(len(f.file)-8))
		first = f
		return false
	})
	return first, count
}

func webpHeader(f *File) (meta, error) {
	c, err := webp.DecodeConfig(bytes.NewReader(f.data))
	if err != nil {
		return meta{}, err
	}
	f.describe(c)
	if _, n := webpFirst(f.data); n > 0 {
		f.HasAlpha = true
		f.Chosen = firstOf(n)
	}
	return webpMeta(f.data), nil
}

// decodeWebP decodes the picture, or the first frame of an animation on a clear ground.
func decodeWebP(f *File, a *Art) error {
	frame, _ := webpFirst(f.data)
	data := f.data
	if frame != nil {
		data = frame.file
	}
	img, err := webp.Decode(bytes.NewReader(data))
	if err != nil {
		return err
	}
	if frame == nil {
		return a.lay(img, f)
	}
	if img.Bounds().Size() != image.Pt(frame.w, frame.h) {
		return errors.New("its first frame does not fit its picture")
	}
	part := &Art{Info: Info{Width: frame.w, Height: frame.h, Space: icc.RGB, Format: f.Format}, alphaAt: -1}
	if err := part.lay(img, &File{Info: part.Info, orientation: 1}); err != nil {
		return err
	}
	w, h := f.Width, f.Height
	if f.orientation >= 5 {
		w, h = h, w
	}
	if frame.at.X+frame.w > w || frame.at.Y+frame.h > h {
		return fmt.Errorf("its first frame lies outside its %d × %d pixels", w, h)
	}
	whole := image.NewNRGBA(image.Rect(0, 0, w, h))
	for y := range frame.h {
		for x := range frame.w {
			i := y*frame.w + x
			d := part.Device(i)
			whole.SetNRGBA(frame.at.X+x, frame.at.Y+y, color.NRGBA{d[0], d[1], d[2], part.AlphaAt(i)})
		}
	}
	return a.lay(whole, f)
}
