// Package artwork turns a picture file into pixels the way a printer needs
// them: the channels and depth that the file has, its transparency, its
// colour profile and its physical size.
//
// Read are PNG, JPEG (also CMYK), TIFF (also CMYK), the flattened picture of layered files
// (package psd), WebP, GIF and BMP, and HEIC, AVIF and JPEG XL (package photo). Of an
// animation the first frame is read and of a TIFF the first page, or the one that is named;
// [Info.Chosen] says so. Pixels are never converted from one colour space to another
// here, only laid out alike; turned pictures are turned upright.
//
// Drawings in SVG and pages of PDF are read too, and drawn at the resolution that is asked for ([Canvas]).
//
// What a file says of its colours without a profile, in PNG's chunks or in EXIF, is
// made into one. Not heeded are primaries and curves in the tags of TIFF and EXIF
// itself, and gamma in BMP.
//
// How the samples lie in memory is known here alone: an [Art] answers for a pixel
// ([Art.Device], [Art.Fractions], [Art.AlphaAt]) or a row ([Art.Through],
// [Art.Nearest], [Art.Channel], [Art.Alpha]). Art that comes from no file is made
// with a [Draft].
package artwork

import (
	"errors"
	"fmt"
	"path/filepath"

	"laydown/colour/icc"
	"laydown/coverage/artwork/mark"
	"laydown/coverage/artwork/pdf"
	"laydown/coverage/artwork/photo"
	"laydown/coverage/artwork/psd"
	"laydown/coverage/fault"
	"laydown/coverage/file"
	"laydown/coverage/limit"
	"laydown/coverage/unit"
)

// Info is what a file says about itself before its pixels are decoded.
type Info struct {
	File          string       // base name
	Format        string       // PNG, JPEG, TIFF, PSD, WebP, HEIC, AVIF, JPEG XL, GIF, BMP, SVG or PDF
	Width, Height int          // pixels, upright; of vector art those that it is drawn with
	Space         icc.Space    // of the pixels
	Depth         int          // bits of a sample: 8 or 16
	HasAlpha      bool         // before decoding: the file can hold transparency; after: some pixel is not solid
	Profile       *icc.Profile // embedded, or made of what the file says of its colours otherwise; nil if there is none
	StatesSRGB    bool         // no profile, but the file says that it is sRGB
	DPIX, DPIY    float64      // pixels per inch, 0 if the file does not say
	Quality       int          // of a JPEG, 1 to 100, by its luminance table; 0 for other formats, or if a JPEG does not say

	Vector bool       // the art is no picture but a drawing
	True   Size       // of a drawing, as its file states it; zero if it does not
	Screen [2]float64 // width and height of a drawing on a screen, CSS pixels
	// Substitutes are fonts that a drawing asks for and that are not there, and Linked the
	// addresses of pictures that it shows and does not hold; both are known after decoding.
	Substitutes []Substitute
	Linked      []string
	// Marks is what a drawing's file says of itself that its pixels hide, nil for a picture;
	// of texts, and of a drawing in SVG, it is known after decoding.
	Marks *mark.Set
	Pages int // of a file that may have several; 0 for other formats
	// Chosen is what is read of several pages or frames where nobody named one.
	Chosen Choice
}

// File is an opened picture: its header read, its pixels not yet decoded.
type File struct {
	Info
	data        []byte
	orientation int
	invertCMYK  bool
	drawing     *drawing // of vector art; data is then let go
	tiff        *tiffLayout
	psd         *psd.File
	photo       *photo.Header
	bitmap      *bitmap
	options     Options
	format      *format
}

// Options say how to read.
type Options struct {
	IgnoreProfile bool // treat the file as if it said nothing of its colours
	Canvas        Canvas
	Limits        limit.Limits // on the file's bytes and pixels, and on its profile
}

// Open reads a file's header, profile and size. Every error names the file,
// what is wrong with it and what to do; fields of the order that would help are
// named as a [fault.Fault] does.
func Open(path string, o Options) (*File, error) {
	fail := func(err error) (*File, error) {
		return nil, fmt.Errorf("%s: %w", path, err)
	}
	data, err := file.Read(path, int64(o.Limits.Filled().ArtMB)*limit.MB)
	if err != nil {
		return fail(err)
	}
	f, err := Read(data, filepath.Base(path), o)
	if err != nil {
		return fail(err)
	}
	return f, nil
}

// Read is Open for a file already in memory.
func Read(data []byte, name string, o Options) (*File, error) {
	if len(data) == 0 {
		return nil, errors.New("is empty (0 bytes): export the artwork again")
	}
	format := sniff(data)
	if format == nil {
		if s := recognise(data); s != nil {
			return nil, fmt.Errorf("is %s, which is not read: %s", s.kind, s.do)
		}
		return nil, errors.New("is not a picture I read: save it as PDF, SVG, PNG, JPEG, TIFF, PSD, WebP, HEIC, AVIF, JPEG XL, GIF or BMP")
	}
	o.Limits = o.Limits.Filled()
	f := &File{data: data, orientation: 1, options: o, format: format}
	f.File, f.Format = name, format.name
	m, err := format.header(f)
	var many *ManyPages
	switch {
	case errors.Is(err, pdf.ErrLocked):
		return nil, errors.New("is locked with a password: ask for it without one")
	case errors.As(err, &many):
		return nil, &fault.Fault{Err: err, Hint: "give {page}"}
	case errors.As(err, new(*fault.Fault)):
		return nil, err
	case err != nil:
		return nil, fmt.Errorf("is a damaged or cut-short %s file (%w): export it again", f.Format, err)
	}
	if page := o.Canvas.Page; page > 1 && f.Pages == 0 {
		return nil, fault.In("page", fmt.Errorf("there is no page %d: it is one picture", page))
	}
	switch {
	case f.Width <= 0 || f.Height <= 0:
		return nil, fmt.Errorf("has no pixels (%d × %d): export it again", f.Width, f.Height)
	case f.Width == 1 || f.Height == 1:
		return nil, fmt.Errorf("has only %d × %d pixels, which is no artwork: export it at full size", f.Width, f.Height)
	case f.Width > f.mostPixels()/f.Height:
		return nil, fmt.Errorf("has %d × %d pixels, more than the %d million that are read: resize it for the print size at 300 to 600 dpi",
			f.Width, f.Height, o.Limits.Megapixels)
	}
	if format.check != nil {
		if err := format.check(f); err != nil {
			return nil, err
		}
	}
	f.StatesSRGB = m.srgb && f.Space != icc.CMYK
	f.DPIX, f.DPIY, f.Quality = m.dpiX, m.dpiY, m.quality
	if m.orientation >= 1 && m.orientation <= 8 {
		f.orientation = m.orientation
	}
	if f.orientation >= 5 {
		f.Width, f.Height, f.DPIX, f.DPIY = f.Height, f.Width, f.DPIY, f.DPIX
	}
	if !o.IgnoreProfile {
		switch err := f.readProfile(m); {
		case err == errHDR, err == error(errPacked):
			return nil, err
		case err != nil:
			return nil, &fault.Fault{Err: fmt.Errorf("has a colour profile that cannot be used (%w)", err),
				Hint: "export it with a sound profile, or use {ignore-profile} to print it as if it had none"}
		}
	}
	if o.IgnoreProfile || f.Profile != nil {
		f.StatesSRGB = false
	}
	return f, nil
}

// mostPixels bounds what is decoded.
func (f *File) mostPixels() int { return f.options.Limits.Megapixels * 1_000_000 }

func (f *File) readProfile(m meta) error {
	if m.profileErr != nil {
		return m.profileErr
	}
	if most := f.options.Limits.PressMB; len(m.profile) > most*limit.MB {
		return fmt.Errorf("it is larger than %d MB", most)
	}
	if m.profile == nil {
		return f.takeStated(m.stated)
	}
	p, err := icc.Parse(m.profile)
	if err != nil {
		return err
	}
	if p.Space != f.Space && !(f.Space == icc.Gray && p.Space == icc.RGB) {
		return fmt.Errorf("the profile is for %s and the pixels are %s", p.Space, f.Space)
	}
	if _, err := p.ToPCS(icc.Perceptual); err != nil {
		return err
	}
	f.Profile = p
	return nil
}

// takeStated makes a profile of what the file says of its colours, if that is about
// pixels of its space.
func (f *File) takeStated(s *stated) (err error) {
	if s != nil && f.Space != icc.CMYK {
		f.Profile, err = s.profile(f.Space)
	}
	return err
}

func has(b []byte, at int, magic string) bool {
	return len(b) >= at+len(magic) && string(b[at:at+len(magic)]) == magic
}

// Size is a print's size.
type Size struct{ WidthMM, HeightMM float64 }

// DPI is the pixels per inch of a's width at that size.
func (s Size) DPI(a Info) float64 { return float64(a.Width) / s.WidthMM * unit.MMPerInch }

// Wish is the print size that a person asked for; zero fields are left open.
type Wish struct{ WidthMM, HeightMM, DPI float64 }

// giveSize says what to do where the size is not known.
const giveSize = "give {width}, {height} or {dpi}"

// errNoSize says that neither the file nor the person gave a size. It is a
// [fault.Fault] that names the fields to fill in.
var errNoSize = fault.New("does not say how large it prints", giveSize)

// PrintSize works out the size of the print. Proportions are kept: of a width
// and a height, only one may be given unless they agree within 1 %. Of a drawing that
// states its true size a wish for pixels per inch is about how it is drawn; of another it
// says how many of its screen pixels go on an inch. A file
// that gives no size, or one with pixels that are not square, needs a wish. An
// error names the file; where a field of the wish is to be given or left out it
// is a [fault.Fault] that says which.
func (a Info) PrintSize(w Wish) (Size, error) {
	ratio := float64(a.Height) / float64(a.Width)
	if a.Vector {
		ratio = a.Screen[1] / a.Screen[0]
	}
	fail := func(err error) (Size, error) { return Size{}, fmt.Errorf("%s: %w", a.File, err) }
	switch {
	case w.DPI > 0 && (w.WidthMM > 0 || w.HeightMM > 0):
		return fail(fault.New("is given two sizes", "give either {dpi} or a size, not both"))
	case w.WidthMM > 0 && w.HeightMM > 0:
		if d := w.WidthMM * ratio / w.HeightMM; d < 0.99 || d > 1.01 {
			return fail(fmt.Errorf("%g × %g mm would stretch the art: for a width of %g mm its height is %.1f mm; give one of the two",
				w.WidthMM, w.HeightMM, w.WidthMM, w.WidthMM*ratio))
		}
		return Size{w.WidthMM, w.WidthMM * ratio}, nil
	case w.WidthMM > 0:
		return Size{w.WidthMM, w.WidthMM * ratio}, nil
	case w.HeightMM > 0:
		return Size{w.HeightMM / ratio, w.HeightMM}, nil
	case a.Vector && a.True.WidthMM > 0: // dpi is then what it is drawn with
		return a.True, nil
	case a.Vector && w.DPI > 0:
		return Size{a.Screen[0] / w.DPI * unit.MMPerInch, a.Screen[1] / w.DPI * unit.MMPerInch}, nil
	case a.Vector:
		return fail(errNoSize)
	case w.DPI > 0:
		return Size{float64(a.Width) / w.DPI * unit.MMPerInch, float64(a.Height) / w.DPI * unit.MMPerInch}, nil
	case a.DPIX <= 0 || a.DPIY <= 0:
		return fail(errNoSize)
	}
	if d := a.DPIX / a.DPIY; d < 0.99 || d > 1.01 {
		return fail(fault.New(fmt.Sprintf("pixels are not square (%.0f × %.0f dpi)", a.DPIX, a.DPIY), giveSize))
	}
	return Size{float64(a.Width) / a.DPIX * unit.MMPerInch, float64(a.Height) / a.DPIX * unit.MMPerInch}, nil
}
