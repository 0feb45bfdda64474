package artwork

import (
	"context"
	"errors"
	"fmt"
	"image"

	"laydown/colour/icc"
	"laydown/coverage/artwork/photo"
	"laydown/coverage/fault"
)

func photoHeader(f *File) (meta, error) {
	h, err := photo.Read(f.data)
	if err != nil {
		return meta{}, err
	}
	f.photo, f.Format = h, h.Kind
	f.Width, f.Height, f.Depth, f.HasAlpha = h.Width, h.Height, h.Depth, h.Alpha
	f.Space = icc.RGB
	if h.Grey {
		f.Space = icc.Gray
	}
	m := meta{profile: h.ICC}
	if h.Exif != nil {
		m.exif(h.Exif)
		m.orientation = 0 // the container's own has been heeded
	}
	switch {
	case h.Packed:
		m.profileErr = errPacked
	case h.ICC == nil && h.Code != nil:
		s, srgb, err := photoColours(h)
		if s != nil || srgb || err != nil { // what EXIF says counts where the container says nothing
			m.stated, m.srgb, m.profileErr = s, srgb, err
		}
	}
	if h.Sequence {
		f.Chosen = firstOf(f.studio().photo.Frames(context.Background(), f.data, h))
	}
	return m, nil
}

// errPacked says that a profile is there that no part of this program unpacks.
var errPacked = &fault.Fault{Err: errors.New("is a JPEG XL with a colour profile packed inside its picture, which is not read"),
	Hint: "ask for it as PNG or TIFF, or use {ignore-profile} to print it as if it had none"}

// photoColours reads code points; those that say nothing are sRGB's.
func photoColours(h *photo.Header) (s *stated, srgb bool, err error) {
	p, t, havePrimaries, haveTone := primariesCodes[1], toneCodes[13], true, true
	if c := h.Code.Primaries; c != 2 && c < 256 {
		p, havePrimaries = primariesCodes[byte(c)]
	}
	switch c := h.Code.Transfer; {
	case h.Gamma > 0:
		t = toneCode{fmt.Sprintf("gamma %.3g", h.Gamma), icc.Gamma(h.Gamma)}
		if h.Primaries == nil && h.White == nil && h.Code.Primaries == 1 && h.Gamma > 2.19 && h.Gamma < 2.21 && h.Kind == photo.JXL {
			t = toneCodes[13]
		}
	case c == 16 || c == 18:
		return nil, false, errHDR
	case c != 2 && c < 256:
		t, haveTone = toneCodes[byte(c)]
	}
	if h.White != nil {
		p.white, p.name = *h.White, "own"
	}
	if h.Primaries != nil {
		p.primaries, p.name, havePrimaries = *h.Primaries, "own", true
		if h.White == nil {
			p.white = d65
		}
	}
	switch {
	case !havePrimaries:
		return nil, false, fmt.Errorf("it names primaries %d, which are not read", h.Code.Primaries)
	case !haveTone:
		return nil, false, fmt.Errorf("it names transfer %d, which is not read", h.Code.Transfer)
	case h.Code.Primaries == 2 && h.Code.Transfer == 2 && h.Primaries == nil && h.Gamma == 0:
		return nil, false, nil // it says nothing
	}
	words := p.name + " primaries, " + t.name
	switch {
	case p.name == primariesCodes[1].name && t.name == toneCodes[13].name:
		return nil, true, nil
	case p.name == primariesCodes[12].name && t.name == toneCodes[13].name:
		words = "Display P3"
	}
	return &stated{words, p.primaries, p.white, t.tone}, false, nil
}

func decodePhoto(f *File) (image.Image, error) {
	return f.studio().photo.Decode(context.Background(), f.data, f.photo)
}
