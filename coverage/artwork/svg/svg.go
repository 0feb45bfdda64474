// Package svg reads what an SVG file says of its own size, and writes it anew for a size
// in pixels. It knows the root element alone; what is drawn inside is the renderer's
// business.
//
// Files may be packed (SVGZ) and in any encoding that their first line names. The true
// size is what width and height say in units of length; numbers without a unit and px are
// pixels of a screen, whose size on paper nobody knows, as are percentages.
package svg

import (
	"bytes"
	"compress/gzip"
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"math"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"golang.org/x/text/encoding"
	"golang.org/x/text/encoding/htmlindex"
	"golang.org/x/text/encoding/unicode"
)

// MaxBytes bounds a file, unpacked.
const MaxBytes = 128 << 20

// cssDPI is how many CSS pixels go on an inch: CSS Values and Units 3, section 6.2.
const cssDPI = 96

// mmPer are the units of length in millimetres (CSS Values and Units 3, section 6.2).
var mmPer = map[string]float64{"mm": 1, "cm": 10, "q": 0.25, "in": 25.4, "pt": 25.4 / 72, "pc": 25.4 / 6}

// File is an SVG file.
type File struct {
	// WidthMM and HeightMM are the true size, 0 if the file does not state one.
	WidthMM, HeightMM float64
	// WidthPX and HeightPX are the size in CSS pixels, 96 to the inch, by width and height
	// or else the view box; 0 if the file states neither.
	WidthPX, HeightPX float64

	// Families are the names that fonts have for families that texts ask for, in lower
	// case, generic ones of CSS such as sans-serif among them.
	Families map[string]string

	text       []byte     // all of it, UTF-8
	start, end int        // of the root's start tag in it
	boxed      bool       // it has a view box
	box        [4]float64 // the view box, or what stands for it: left, top, width, height
}

// Is reports whether bytes begin an SVG file, packed or not.
func Is(b []byte) bool {
	head := b[:min(len(b), 64<<10)]
	if packed(head) {
		r, err := gzip.NewReader(bytes.NewReader(head))
		if err != nil {
			return false
		}
		head, _ = io.ReadAll(io.LimitReader(r, 64<<10)) // it ends too soon
	}
	text, err := toUTF8(head)
	if err != nil {
		return false
	}
	_, _, err = root(text)
	return err == nil
}

func packed(b []byte) bool { return len(b) > 2 && b[0] == 0x1f && b[1] == 0x8b }

// Read reads the root of a file. An error says what is wrong with it.
func Read(b []byte) (*File, error) {
	if packed(b) {
		r, err := gzip.NewReader(bytes.NewReader(b))
		if err != nil {
			return nil, err
		}
		if b, err = io.ReadAll(io.LimitReader(r, MaxBytes+1)); err != nil {
			return nil, err
		}
	}
	if len(b) > MaxBytes {
		return nil, fmt.Errorf("it is more than %d MB of text", MaxBytes>>20)
	}
	text, err := toUTF8(b)
	if err != nil {
		return nil, err
	}
	f := &File{text: text}
	if f.start, f.end, err = root(text); err != nil {
		return nil, err
	}
	f.measure()
	return f, nil
}

var declaration = regexp.MustCompile(`^\s*<\?xml[^>]*\?>`)

var declared = regexp.MustCompile(`^\s*<\?xml[^>]*?\sencoding\s*=\s*["']([A-Za-z0-9._:-]+)["']`)

// toUTF8 turns a text into UTF-8 by its byte order mark or its first line.
func toUTF8(b []byte) ([]byte, error) {
	var from encoding.Encoding
	switch {
	case bytes.HasPrefix(b, []byte("\xef\xbb\xbf")):
		return b[3:], nil
	case bytes.HasPrefix(b, []byte("\xfe\xff")), bytes.HasPrefix(b, []byte("\xff\xfe")):
		from = unicode.UTF16(unicode.LittleEndian, unicode.UseBOM)
	default:
		m := declared.FindSubmatch(b[:min(len(b), 1024)])
		if m == nil || strings.EqualFold(string(m[1]), "utf-8") {
			return b, nil
		}
		var err error
		if from, err = htmlindex.Get(string(m[1])); err != nil {
			return nil, fmt.Errorf("it is written in %q, an encoding I do not know", m[1])
		}
	}
	text, err := from.NewDecoder().Bytes(b)
	if m := declaration.Find(text[:min(len(text), 1024)]); m != nil {
		text = text[len(m):] // what it says is no longer so
	}
	return text, err
}

// root finds the start tag of the root element.
func root(text []byte) (start, end int, err error) {
	d := xml.NewDecoder(bytes.NewReader(text))
	d.Strict = false                                                                   // entities of the file's own stand in attributes
	d.CharsetReader = func(_ string, r io.Reader) (io.Reader, error) { return r, nil } // it is UTF-8 by now
	for {
		at := int(d.InputOffset())
		t, err := d.RawToken()
		if err != nil {
			return 0, 0, errors.New("no drawing begins in it")
		}
		if e, ok := t.(xml.StartElement); ok {
			if e.Name.Local != "svg" {
				return 0, 0, fmt.Errorf("it is XML of the kind %q", e.Name.Local)
			}
			return at, int(d.InputOffset()), nil
		}
	}
}

// attribute matches one attribute of a start tag: name, and value with its quotes.
var attribute = regexp.MustCompile(`\s([A-Za-z_:][-A-Za-z0-9._:]*)\s*=\s*("[^"]*"|'[^']*')`)

// get is an attribute of the root.
func (f *File) get(name string) (string, bool) {
	for _, m := range attribute.FindAllSubmatch(f.text[f.start:f.end], -1) {
		if string(m[1]) == name {
			return strings.TrimSpace(string(m[2][1 : len(m[2])-1])), true
		}
	}
	return "", false
}

var number = regexp.MustCompile(`^[-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?`)

// length parses a length: CSS pixels, and whether it has a true size; ok is false for
// percentages and what is none.
func length(s string) (px float64, real, ok bool) {
	n := number.FindString(s)
	v, err := strconv.ParseFloat(n, 64)
	if n == "" || err != nil || v <= 0 || math.IsInf(v, 0) {
		return 0, false, false
	}
	unit := strings.ToLower(strings.TrimSpace(s[len(n):]))
	if mm, is := mmPer[unit]; is {
		return v * mm / 25.4 * cssDPI, true, true
	}
	return v, false, unit == "" || unit == "px"
}

// measure finds the sizes. Where one side is not stated, the view box gives the proportion.
func (f *File) measure() {
	w, _ := f.get("width")
	h, _ := f.get("height")
	wide, realW, okW := length(w)
	high, realH, okH := length(h)
	if s, ok := f.get("viewBox"); ok {
		v := strings.FieldsFunc(s, func(r rune) bool { return r == ',' || r == ' ' || r == '\t' || r == '\n' || r == '\r' })
		if len(v) == 4 {
			good := true
			for i := range v {
				var err error
				f.box[i], err = strconv.ParseFloat(v[i], 64)
				good = good && err == nil && !math.IsInf(f.box[i], 0)
			}
			f.boxed = good && f.box[2] > 0 && f.box[3] > 0
		}
	}
	switch {
	case okW && okH:
	case !f.boxed:
		return
	case okW:
		high, realH = wide*f.box[3]/f.box[2], realW
	case okH:
		wide, realW = high*f.box[2]/f.box[3], realH
	default:
		wide, high = f.box[2], f.box[3]
	}
	if f.WidthPX, f.HeightPX = wide, high; realW && realH {
		f.WidthMM, f.HeightMM = wide/cssDPI*25.4, high/cssDPI*25.4
	}
}

// At is the file with a size in pixels: what fills width and height now fills them then.
func (f *File) At(width, height int) []byte {
	if !f.boxed {
		f.box = [4]float64{0, 0, f.WidthPX, f.HeightPX}
	}
	inside := f.mend()
	size := fmt.Sprintf(` width="%d" height="%d"`, width, height)
	gone := []string{"width", "height"}
	if !f.boxed {
		size += fmt.Sprintf(` viewBox="0 0 %g %g" preserveAspectRatio="none"`, f.WidthPX, f.HeightPX)
		gone = append(gone, "viewBox", "preserveAspectRatio")
	}
	return f.with(size, gone, inside)
}

// Band is the part of At from row top on, as many rows high: the same drawing behind a
// window.
func (f *File) Band(width, height, top, rows int) []byte {
	all := f.At(width, height)
	begin, end, err := root(all)
	if err != nil || end == len(all) {
		return all
	}
	out := make([]byte, 0, len(all)+200)
	out = append(out, all[:begin]...)
	out = fmt.Appendf(out, `<svg xmlns="http://www.w3.org/2000/svg" width="%d" height="%d" viewBox="0 %d %d %d">`, width, rows, top, width, rows)
	out = append(out, all[begin:]...)
	return append(out, "</svg>"...)
}

// Unsized is the file without any statement of its size, which is then that of what is
// drawn in it.
func (f *File) Unsized() []byte {
	return f.with("", []string{"width", "height"}, f.withFamilies(f.text[f.end:]))
}

// with is the file with attributes of the root added and others gone, and with what
// stands behind its start tag.
func (f *File) with(added string, gone []string, inside []byte) []byte {
	tag := string(f.withFamilies(f.text[f.start:f.end]))
	var b strings.Builder
	last := strings.IndexFunc(tag[1:], func(r rune) bool { return r == '>' || r == '/' || r <= ' ' }) + 1
	b.WriteString(tag[:last] + added)
	for _, m := range attribute.FindAllStringSubmatchIndex(tag, -1) {
		if slices.Contains(gone, tag[m[2]:m[3]]) {
			b.WriteString(tag[last:m[0]])
			last = m[1]
		}
	}
	b.WriteString(tag[last:])
	out := make([]byte, 0, f.start+b.Len()+len(inside))
	out = append(out, f.text[:f.start]...)
	out = append(out, b.String()...)
	return append(out, inside...)
}
