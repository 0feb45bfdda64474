package artwork

import (
	"laydown/colour/cores"
)

// Draft is art that comes from no file while it is made, pixel by pixel. Different
// pixels may be set from several goroutines at once.
type Draft struct{ art *Art }

// NewDraft begins art of which info says all but the pixels. All channels are 0, and
// with HasAlpha all is clear. Depth is 8 unless it is 16.
func NewDraft(info Info) *Draft {
	if info.Depth != 16 {
		info.Depth = 8
	}
	a := &Art{Info: info, step: info.Space.Channels(), alphaAt: -1}
	if info.HasAlpha {
		a.alphaAt = a.step
		a.step++
	}
	a.pix = make([]byte, info.Width*info.Height*a.step*info.Depth/8)
	return &Draft{a}
}

// Set sets pixel i to a colour and an alpha, 0 clear to 255 solid, which art without
// alpha does not keep.
func (d *Draft) Set(i int, c Device, alpha uint8) {
	for k := range d.art.Space.Channels() {
		d.put(i, k, c[k])
	}
	d.setAlpha(i, alpha)
}

// Copy sets pixel i to the colour of another art's pixel j in all its depth, and to
// an alpha. The other art must be of the same space and depth.
func (d *Draft) Copy(i int, from *Art, j int, alpha uint8) {
	bytes := d.art.Depth / 8
	n := d.art.Space.Channels() * bytes
	copy(d.art.pix[i*d.art.step*bytes:][:n], from.pix[j*from.step*bytes:][:n])
	d.setAlpha(i, alpha)
}

func (d *Draft) setAlpha(i int, alpha uint8) {
	if d.art.alphaAt >= 0 {
		d.put(i, d.art.alphaAt, alpha)
	}
}

// put sets the k-th sample of a pixel; 16 bits repeat the 8.
func (d *Draft) put(i, k int, v uint8) {
	bytes := d.art.Depth / 8
	at := (i*d.art.step + k) * bytes
	for b := range bytes {
		d.art.pix[at+b] = v
	}
}

// Art ends the draft, which must not be used any more, and returns what was made.
// As with art from a file, HasAlpha is false if every pixel is solid.
func (d *Draft) Art() *Art {
	a := d.art
	d.art = nil
	a.settleAlpha()
	return a
}

// Reduced is the art with every k × k pixels made one: the mean of their colours by
// their alpha, in 8 bits and with no alpha of its own; all channels are 0 where all is
// clear. What is left over at the right and the bottom is let go.
func (a *Art) Reduced(k int) *Art {
	info := a.Info
	info.Width, info.Height, info.Depth, info.HasAlpha = a.Width/k, a.Height/k, 8, false
	out := NewDraft(info)
	bytes, n := a.Depth/8, a.Space.Channels()
	size := a.step * bytes
	cores.Share(info.Height, func(lo, hi int) {
		for i := lo * info.Width; i < hi*info.Width; i++ {
			x, y := i%info.Width*k, i/info.Width*k
			var sum [4]int
			weight := 0
			for v := y; v < y+k; v++ {
				for at := (v*a.Width + x) * size; at < (v*a.Width+x+k)*size; at += size {
					alpha := 255
					if a.alphaAt >= 0 {
						if alpha = int(a.pix[at+a.alphaAt*bytes]); alpha == 0 {
							continue
						}
					}
					weight += alpha
					for c := range n {
						sum[c] += alpha * int(a.pix[at+c*bytes])
					}
				}
			}
			if weight > 0 {
				for c := range n {
					out.put(i, c, uint8((sum[c]+weight/2)/weight))
				}
			}
		}
	})
	return out.Art()
}
