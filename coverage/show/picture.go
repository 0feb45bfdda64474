package show

import (
	"bytes"
	"encoding/base64"
	"html/template"
	"image"
	"image/color"
	"image/png"
	"math"

	"github.com/disintegration/imaging"

	"laydown/colour"
	"laydown/colour/cores"
	"laydown/colour/grid"
	"laydown/colour/layer"
	"laydown/coverage/plate"
	"laydown/coverage/proof"
)

// Widths of the page's pictures in pixels.
const (
	artPX   = 900
	platePX = 420
)

// shrink returns a part of a plane no wider or higher than px, packed.
func shrink(src *image.Gray, part image.Rectangle, px int) *image.Gray {
	if part == src.Rect && part.Dx() <= px && part.Dy() <= px {
		return src
	}
	small := imaging.Fit(src.SubImage(part), px, px, imaging.Box)
	out := image.NewGray(small.Rect)
	for i := range out.Pix {
		out.Pix[i] = small.Pix[4*i]
	}
	return out
}

// designed shows an art as designed: by its own profile where it is 8-bit RGB, else as
// its plates print on the press's paper. Clear parts stay clear.
type designed struct {
	laid  *proof.Laid
	rgb   *image.NRGBA // nil unless it is 8-bit RGB, seen through look
	look  func([4]float64) colour.Lab
	model func([4]float64) colour.Lab // of the plates
	alpha *image.Gray
}

func newDesigned(l *proof.Laid) (*designed, error) {
	d := &designed{laid: l}
	if src, ok := l.Art.NRGBA(); ok {
		look, err := l.Colours.Relative()
		d.rgb, d.look = src, look
		return d, err
	}
	m, err := l.Job.Press.Model()
	if err != nil {
		return nil, err
	}
	a := l.Art
	d.model, d.alpha = m.Lab, image.NewGray(image.Rect(0, 0, a.Width, a.Height))
	for y := range a.Height {
		a.Alpha(y, d.alpha.Pix[y*a.Width:(y+1)*a.Width])
	}
	return d, nil
}

// all is the whole art, no wider or higher than px.
func (d *designed) all(px int) *image.NRGBA {
	return d.part(image.Rect(0, 0, d.laid.Art.Width, d.laid.Art.Height), px)
}

// part is a part of the art, no wider or higher than px.
func (d *designed) part(r image.Rectangle, px int) *image.NRGBA {
	if d.rgb != nil {
		small := imaging.Fit(d.rgb.SubImage(r), px, px, imaging.Box)
		cores.Share(small.Rect.Dy(), func(lo, hi int) {
			row := small.Stride
			for i := lo * row; i < hi*row; i += 4 {
				q := small.Pix[i : i+4]
				c := d.look([4]float64{float64(q[0]) / 255, float64(q[1]) / 255, float64(q[2]) / 255}).SRGB()
				q[0], q[1], q[2] = c.R, c.G, c.B
			}
		})
		return small
	}
	w, h := d.laid.Plates.Width, d.laid.Plates.Height
	var planes [4]*image.Gray
	for k := range planes {
		planes[k] = shrink(&image.Gray{Pix: d.laid.Plates.Plane[k], Stride: w, Rect: image.Rect(0, 0, w, h)}, r, px)
	}
	mask := shrink(d.alpha, r, px)
	paper := d.model([4]float64{}).XYZ(colour.D50)
	out := image.NewNRGBA(planes[0].Rect)
	cores.Share(out.Rect.Dy(), func(lo, hi int) {
		w := out.Rect.Dx()
		for i := lo * w; i < hi*w; i++ {
			var x [4]float64
			al := math.Max(float64(mask.Pix[i]), 1)
			for k := range x {
				x[k] = math.Min(1, float64(planes[k].Pix[i])/al)
			}
			c := d.model(x).XYZ(colour.D50).Scale(colour.D50, paper).Lab(colour.D50).SRGB()
			copy(out.Pix[4*i:], []uint8{c.R, c.G, c.B, mask.Pix[i]})
		}
	})
	return out
}

// itemPicture shows the print on the item by the optical model of package layer, to the
// eye that a proof's colours are judged by: what it takes for white is the screen's, so
// that a colour is here what its card and the figures say. A reduced pixel is the mean of
// those it stands for.
func itemPicture(l *proof.Laid, px int) (image.Image, error) {
	view, err := viewOf(l)
	if err != nil {
		return nil, err
	}
	return seenPicture(l, view, px), nil
}

// seenPicture is itemPicture seen by an eye.
func seenPicture(l *proof.Laid, view *layer.View, px int) *image.NRGBA {
	w, h := l.Plates.Width, l.Plates.Height
	ow, oh := reduced(w, h, px)
	out := image.NewNRGBA(image.Rect(0, 0, ow, oh))
	cores.Share(oh, func(lo, hi int) {
		seen, film, sum := make([]uint8, 3*w), make([]uint8, w), make([]int, 3*ow)
		for oy := lo; oy < hi; oy++ {
			clear(sum)
			y0, y1 := span(oy, h, oh)
			for y := y0; y < y1; y++ {
				var rows grid.Planes
				for k := range rows {
					rows[k] = l.Plates.Plane[k][y*w : (y+1)*w]
				}
				white := l.Plates.Plane[plate.White][y*w : (y+1)*w]
				if l.Job.Medium.OwnWhite {
					l.Art.Alpha(y, film)
					white = film
				}
				view.Row(seen, 3, rows, white)
				for ox := range ow {
					x0, x1 := span(ox, w, ow)
					for i := 3 * x0; i < 3*x1; i += 3 {
						sum[3*ox] += int(seen[i])
						sum[3*ox+1] += int(seen[i+1])
						sum[3*ox+2] += int(seen[i+2])
					}
				}
			}
			for ox := range ow {
				x0, x1 := span(ox, w, ow)
				n := (x1 - x0) * (y1 - y0)
				mean := func(c int) uint8 { return uint8((sum[3*ox+c] + n/2) / n) }
				out.SetNRGBA(ox, oy, color.NRGBA{mean(0), mean(1), mean(2), 255})
			}
		}
	})
	return out
}

// viewOf is how the eye that a proof's colours are judged by sees this print's toners.
func viewOf(l *proof.Laid) (*layer.View, error) {
	m, err := l.Job.Press.Model()
	if err != nil {
		return nil, err
	}
	stack, _, err := l.Job.Stack()
	if err != nil {
		return nil, err
	}
	eye, err := l.Job.Eye()
	if err != nil {
		return nil, err
	}
	return stack.View(m.Lab, eye.White), nil
}

// reduced is the size of a picture of w × h no wider or higher than px.
func reduced(w, h, px int) (ow, oh int) {
	scale := math.Max(1, math.Max(float64(w), float64(h))/float64(px))
	return max(1, int(float64(w)/scale)), max(1, int(float64(h)/scale))
}

// span is the pixels from…to of n that the i-th of out reduced ones stands for.
func span(i, n, out int) (from, to int) {
	from = i * n / out
	return from, max((i+1)*n/out, from+1)
}

// platePicture shows a plate in its toner's colour: nothing is white paper, or
// black for the white plate, as both lie over each other on the page.
func platePicture(l *proof.Laid, k int) image.Image {
	inks := [plate.Count]color.NRGBA{{0, 150, 214, 255}, {214, 0, 122, 255}, {250, 224, 0, 255}, {20, 20, 20, 255}, {255, 255, 255, 255}}
	base := color.NRGBA{255, 255, 255, 255}
	if k == plate.White {
		base = color.NRGBA{0, 0, 0, 255}
	}
	box := image.Rect(0, 0, l.Plates.Width, l.Plates.Height)
	small := shrink(&image.Gray{Pix: l.Plates.Plane[k], Stride: l.Plates.Width, Rect: box}, box, platePX)
	pal := make(color.Palette, 256)
	for v := range pal {
		mix := func(a, b uint8) uint8 { return uint8((int(a)*(255-v) + int(b)*v + 127) / 255) }
		pal[v] = color.NRGBA{mix(base.R, inks[k].R), mix(base.G, inks[k].G), mix(base.B, inks[k].B), 255}
	}
	return &image.Paletted{Pix: small.Pix, Stride: small.Stride, Rect: small.Rect, Palette: pal}
}

// tacColour colours the map of total toner: light to dark blue up to the limit,
// orange above it, which the colour-blind tell apart as well.
func tacColour(sum int, limitPercent float64) color.NRGBA {
	if sum >= plate.OverLimit(limitPercent) {
		return color.NRGBA{217, 95, 2, 255}
	}
	t := math.Min(1, float64(sum)/2.55/limitPercent)
	mix := func(a, b float64) uint8 { return uint8(a + (b-a)*t + 0.5) }
	return color.NRGBA{mix(247, 8), mix(251, 48), mix(255, 107), 255}
}

// tacPicture maps the sum of C, M, Y and K. A reduced pixel shows the highest
// sum that it stands for, so that no small spot is lost.
func tacPicture(l *proof.Laid, px int) image.Image {
	w, h := l.Plates.Width, l.Plates.Height
	ow, oh := reduced(w, h, px)
	out := image.NewNRGBA(image.Rect(0, 0, ow, oh))
	c, m, y, k := l.Plates.Plane[plate.Cyan], l.Plates.Plane[plate.Magenta], l.Plates.Plane[plate.Yellow], l.Plates.Plane[plate.Black]
	cores.Share(oh, func(lo, hi int) {
		for oy := lo; oy < hi; oy++ {
			for ox := range ow {
				most := 0
				x0, x1 := span(ox, w, ow)
				y0, y1 := span(oy, h, oh)
				for sy := y0; sy < y1; sy++ {
					for sx := x0; sx < x1; sx++ {
						i := sy*w + sx
						most = max(most, int(c[i])+int(m[i])+int(y[i])+int(k[i]))
					}
				}
				out.SetNRGBA(ox, oy, tacColour(most, l.Job.Limit))
			}
		}
	})
	return out
}

func encodePNG(img image.Image, level png.CompressionLevel) ([]byte, error) {
	var b bytes.Buffer
	e := png.Encoder{CompressionLevel: level}
	err := e.Encode(&b, img)
	return b.Bytes(), err
}

func pngURL(b []byte) template.URL {
	return template.URL("data:image/png;base64," + base64.StdEncoding.EncodeToString(b))
}
