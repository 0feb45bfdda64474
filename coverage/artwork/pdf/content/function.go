package content

import (
	"bytes"
	"fmt"
	"slices"
	"strings"

	"github.com/pdfcpu/pdfcpu/pkg/pdfcpu/types"
)

// Half is one of the two pages that a page of CMYK is parted into: its cyan, magenta and
// yellow drawn as the red, green and blue that they leave, or its black as a grey.
type Half int

// The halves.
const (
	Colours Half = iota
	Black
)

// deepestFunction is how many stitched functions lie within each other at most.
const deepestFunction = 4

// foldable reports whether a function that leads to CMYK or grey can be led to either half.
func (f *File) foldable(o types.Object, depth int) bool {
	d := f.dict(o)
	if d == nil || depth > deepestFunction || len(f.array(d["Domain"])) < 2 {
		return false
	}
	switch f.float(d["FunctionType"], -1) {
	case 0:
		if bits := f.float(d["BitsPerSample"], 0); bits != 8 && bits != 16 {
			return false
		}
		r := f.floats(d["Range"])
		if e, stated := d["Decode"]; stated && !slices.Equal(f.floats(e), r) {
			return false
		}
		for i, v := range r {
			if v != float64(i%2) {
				return false
			}
		}
		return len(r) > 0
	case 2:
		return true
	case 3:
		parts := f.array(d["Functions"])
		return len(parts) > 0 && len(parts) < 1000 && !slices.ContainsFunc(parts, func(p types.Object) bool { return !f.foldable(p, depth+1) })
	case 4:
		_, text, ok := f.stream(o)
		text = bytes.TrimSpace(text)
		return ok && bytes.HasPrefix(text, []byte("{")) && bytes.HasSuffix(text, []byte("}"))
	}
	return false
}

// toHalf is what a function of PostScript does to four inks on its stack (ISO 32000-1,
// 7.10.5.2).
var toHalf = [2]string{
	Colours: "pop 1 exch sub 3 1 roll 1 exch sub 3 1 roll 1 exch sub 3 1 roll",
	Black:   "4 1 roll pop pop pop 1 exch sub",
}

var rangeOf = [2]string{Colours: "[0 1 0 1 0 1]", Black: "[0 1]"}

// fold writes a function that leads to a base, CMYK or grey, so that it leads to a half.
func (w *writer) fold(o types.Object, base class, depth int) string {
	f := w.f
	d := f.dict(o)
	if base == grey {
		if w.half == Black {
			return w.object(o, plain, 0)
		}
		n := len(f.array(d["Domain"])) / 2
		return w.calculator(numbers(f.floats(d["Domain"])), strings.Repeat("pop ", n)+"1 1 1")
	}
	domain := numbers(f.floats(d["Domain"]))
	switch f.float(d["FunctionType"], -1) {
	case 0:
		return w.samples(o, domain)
	case 2:
		ends := func(key string, otherwise float64) string {
			v := f.floats(d[key])
			for len(v) < 4 {
				v = append(v, otherwise)
			}
			if w.half == Black {
				return numbers([]float64{1 - v[3]})
			}
			return numbers([]float64{1 - v[0], 1 - v[1], 1 - v[2]})
		}
		return fmt.Sprintf("<< /FunctionType 2 /Domain %s /N %s /C0 %s /C1 %s >>", domain, float(f.float(d["N"], 1)), ends("C0", 0), ends("C1", 1))
	case 3:
		var parts []string
		for _, p := range f.array(d["Functions"]) {
			parts = append(parts, w.fold(p, base, depth+1))
		}
		return fmt.Sprintf("<< /FunctionType 3 /Domain %s /Functions [%s] /Bounds %s /Encode %s >>", domain, strings.Join(parts, " "), numbers(f.floats(d["Bounds"])), numbers(f.floats(d["Encode"])))
	}
	_, text, _ := f.stream(o)
	text = bytes.TrimSpace(text)
	if len(text) < 2 {
		return "null"
	}
	return w.calculator(domain, string(text[1:len(text)-1])+" "+toHalf[w.half])
}

// calculator writes a function of PostScript.
func (w *writer) calculator(domain, body string) string {
	return w.add(fmt.Sprintf("/FunctionType 4 /Domain %s /Range %s", domain, rangeOf[w.half]), []byte("{ "+body+" }"))
}

// samples writes a table of CMYK as one of a half.
func (w *writer) samples(o types.Object, domain string) string {
	d, data, _ := w.f.stream(o)
	size := int(w.f.float(d["BitsPerSample"], 8)) / 8
	from, to := 0, 3
	if w.half == Black {
		from, to = 3, 4
	}
	out := make([]byte, 0, len(data)/4*(to-from))
	for len(data) >= 4*size {
		for _, b := range data[from*size : to*size] {
			out = append(out, ^b)
		}
		data = data[4*size:]
	}
	encode := ""
	if e := w.f.floats(d["Encode"]); len(e) > 0 {
		encode = " /Encode " + numbers(e)
	}
	return w.add(fmt.Sprintf("/FunctionType 0 /Domain %s /Range %s /Size %s /BitsPerSample %d%s", domain, rangeOf[w.half], numbers(w.f.floats(d["Size"])), 8*size, encode), out)
}
