package artwork

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
