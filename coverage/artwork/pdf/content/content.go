// Package content reads what a page of a PDF file is painted with, which its pixels do not
// tell: the numbers of CMYK, spot colours, overprint, widths of strokes, pictures with their
// own pixels. It also writes a page anew with its inks apart, so that a renderer that knows
// of screen colours alone can draw them.
//
// The objects of a file come from pdfcpu; the operators of content streams (ISO 32000-1,
// annex A) are read here. Work is bounded: so many operators, so many forms within each
// other, so many bytes of a stream. Of fonts nothing is read.
package content

import (
	"bytes"
	"errors"
	"fmt"

	"github.com/pdfcpu/pdfcpu/pkg/pdfcpu"
	"github.com/pdfcpu/pdfcpu/pkg/pdfcpu/model"
	"github.com/pdfcpu/pdfcpu/pkg/pdfcpu/types"
)

// MaxStreamBytes bounds a stream, unpacked.
const MaxStreamBytes = 256 << 20

const (
	mostOperators = 4_000_000 // of a page
	mostForms     = 20_000    // that a page shows, one within another among them
	deepestForm   = 12
	mostBytes     = 1 << 30 // of forms, unpacked as often as they are shown
	mostObjects   = 2_000_000
)

// File is an opened file. It is used from one goroutine.
type File struct{ x *model.XRefTable }

// Open opens a file. An error means that nothing of it can be read here, not that it is
// broken: others may mend more.
func Open(data []byte) (f *File, err error) {
	defer func() {
		if r := recover(); r != nil { // a reader we do not own met what it did not foresee
			f, err = nil, fmt.Errorf("its objects cannot be read: %v", r)
		}
	}()
	// Made here, so that no configuration is looked for on the machine.
	conf := &model.Configuration{Reader15: true, ValidationMode: model.ValidationRelaxed, Offline: true, Cmd: model.LISTINFO, Limits: model.ResourceLimits{
		MaxStreamBytes: MaxStreamBytes, MaxDecodeBytes: MaxStreamBytes, MaxImagePixels: 1 << 28, MaxImageBytes: MaxStreamBytes,
		MaxObjectCount: mostObjects, MaxObjectStreamCount: mostObjects, MaxObjectStreamFirst: 16 << 20, MaxXRefEntries: mostObjects, MaxRecursionDepth: 64}}
	ctx, err := pdfcpu.Read(bytes.NewReader(data), conf)
	if err != nil {
		return nil, err
	}
	if err := ctx.EnsurePageCount(); err != nil {
		return nil, err
	}
	return &File{ctx.XRefTable}, nil
}

// page is the dictionary of a page, the first one 0, with what it inherits.
func (f *File) page(number int) (page types.Dict, resources types.Dict, media *types.Rectangle, rotate int, err error) {
	d, _, inherited, err := f.x.PageDict(number+1, false)
	if err != nil {
		return nil, nil, nil, 0, err
	}
	if d == nil {
		return nil, nil, nil, 0, errors.New("there is no such page")
	}
	if own := f.dict(d["Resources"]); own != nil {
		resources = own
	} else if inherited.Resources != nil {
		resources = inherited.Resources
	} else {
		resources = types.Dict{}
	}
	return d, resources, inherited.MediaBox, inherited.Rotate, nil
}

// Frame is the whole of what a page shows, the first one 0: its crop box within its media
// box.
func (f *File) Frame(number int) (r Frame, err error) {
	defer func() {
		if p := recover(); p != nil {
			r, err = Frame{}, fmt.Errorf("the page cannot be read: %v", p)
		}
	}()
	page, _, media, rotate, err := f.page(number)
	if err != nil {
		return r, err
	}
	b := f.floats(page["MediaBox"])
	if len(b) != 4 {
		if media == nil {
			return r, errors.New("the page has no size")
		}
		b = []float64{media.LL.X, media.LL.Y, media.UR.X, media.UR.Y}
	}
	order := func(b []float64) (x0, y0, x1, y1 float64) {
		return min(b[0], b[2]), min(b[1], b[3]), max(b[0], b[2]), max(b[1], b[3])
	}
	x0, y0, x1, y1 := order(b)
	if c := f.floats(page["CropBox"]); len(c) == 4 {
		cx0, cy0, cx1, cy1 := order(c)
		if cx0, cy0, cx1, cy1 = max(x0, cx0), max(y0, cy0), min(x1, cx1), min(y1, cy1); cx1 > cx0 && cy1 > cy0 {
			x0, y0, x1, y1 = cx0, cy0, cx1, cy1
		}
	}
	return Frame{x0, y0, x1 - x0, y1 - y0, int(f.float(page["Rotate"], float64(rotate)))}, nil
}

// deref is what an object refers to; nil if that is not there.
func (f *File) deref(o types.Object) types.Object {
	for range 16 {
		r, is := o.(types.IndirectRef)
		if !is {
			return o
		}
		v, err := f.x.Dereference(r)
		if err != nil {
			return nil
		}
		o = v
	}
	return nil
}

// dict is an object as a dictionary, of a stream its own; nil if it is none.
func (f *File) dict(o types.Object) types.Dict {
	switch v := f.deref(o).(type) {
	case types.Dict:
		return v
	case types.StreamDict:
		return v.Dict
	case *types.StreamDict:
		return v.Dict
	}
	return nil
}

func (f *File) array(o types.Object) types.Array {
	a, _ := f.deref(o).(types.Array)
	return a
}

func (f *File) name(o types.Object) string {
	n, _ := f.deref(o).(types.Name)
	return string(n)
}

func (f *File) float(o types.Object, otherwise float64) float64 {
	switch v := f.deref(o).(type) {
	case types.Integer:
		return float64(v)
	case types.Float:
		return float64(v)
	}
	return otherwise
}

func (f *File) floats(o types.Object) (out []float64) {
	for _, v := range f.array(o) {
		out = append(out, f.float(v, 0))
	}
	return out
}

func (f *File) truth(o types.Object) bool {
	b, _ := f.deref(o).(types.Boolean)
	return bool(b)
}

// stream is a stream and its bytes, unpacked; ok is false if o is none or cannot be
// unpacked.
func (f *File) stream(o types.Object) (d types.Dict, data []byte, ok bool) {
	s := f.raw(o)
	if s == nil {
		return nil, nil, false
	}
	if len(s.FilterPipeline) == 0 {
		return s.Dict, s.Raw, true
	}
	c := *s // so that what is unpacked is not kept
	data, err := c.DecodeLengthWithLimit(-1, MaxStreamBytes)
	if err != nil && len(data) == 0 {
		return s.Dict, nil, false
	}
	return s.Dict, data, true
}

func (f *File) raw(o types.Object) *types.StreamDict {
	switch v := f.deref(o).(type) {
	case types.StreamDict:
		return &v
	case *types.StreamDict:
		return v
	}
	return nil
}

// contents are the bytes of a page's content streams, one behind the other (ISO 32000-1,
// 7.8.2).
func (f *File) contents(o types.Object) []byte {
	if a := f.array(o); a != nil {
		var all []byte
		for _, v := range a {
			if _, b, ok := f.stream(v); ok && len(all)+len(b) <= MaxStreamBytes {
				all = append(append(all, b...), '\n')
			}
		}
		return all
	}
	_, b, _ := f.stream(o)
	return b
}
