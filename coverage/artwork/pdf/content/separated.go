package content

import (
	"errors"
	"fmt"
	"maps"
	"slices"
	"strconv"
	"strings"

	"github.com/pdfcpu/pdfcpu/pkg/pdfcpu/types"

	"laydown/coverage/artwork/pdf/object"
)

// Names of the colour spaces that stand for DeviceCMYK and DeviceGray in a half.
const (
	ownCMYK = "LaydownCMYK"
	ownGrey = "LaydownGrey"
)

// way is how an object is copied.
type way uint8

const (
	plain   way = iota // as it is: what masks something, and what is no drawing
	painted            // colours led to a half
	begun              // and a stream that begins with a state of its own
	named              // of resources
)

type key struct {
	number int
	way    way
}

// writer writes a file of one page.
type writer struct {
	f       *File
	half    Half
	objects [][]byte // by number, the first one 1
	known   map[key]int
	space   map[class]string // what stands for device colour spaces
	failed  bool
}

// Separated is a page, the first one 0, written anew as a file of one page that shows one
// half of its inks: a full ink as black, none as white. The page's facts must say that it is
// of [Facts.Inks]. Blending by each channel, and what is half clear, come out as in the inks
// (ISO 32000-1, 11.3.5 and 11.6.6), for subtractive colours are blended by their
// complements. Overprint is not heeded.
func (f *File) Separated(number int, half Half) (out []byte, err error) {
	defer func() {
		if r := recover(); r != nil {
			out, err = nil, fmt.Errorf("the page cannot be parted into inks: %v", r)
		}
	}()
	page, resources, media, rotate, err := f.page(number)
	if err != nil {
		return nil, err
	}
	w := &writer{f: f, half: half, known: map[key]int{}, space: map[class]string{}}
	w.objects = make([][]byte, 3) // catalogue, pages, page
	to, ofBlack := "/DeviceGray", "/DeviceGray"
	if half == Colours {
		to = "/DeviceRGB"
		ofBlack = fmt.Sprintf("[/Separation /Black %s %s]", to, w.calculator("[0 1]", "pop 1 1 1"))
	}
	w.space[cmyk] = fmt.Sprintf("[/DeviceN [/Cyan /Magenta /Yellow /Black] %s %s]", to, w.calculator("[0 1 0 1 0 1 0 1]", toHalf[half]))
	w.space[grey] = ofBlack
	var b strings.Builder
	b.WriteString("<< /Type /Page /Parent 2 0 R")
	switch own := f.floats(page["MediaBox"]); {
	case len(own) == 4:
		b.WriteString(" /MediaBox " + numbers(own))
	case media != nil:
		b.WriteString(" /MediaBox " + numbers([]float64{media.LL.X, media.LL.Y, media.UR.X, media.UR.Y}))
	}
	for _, k := range []string{"CropBox", "TrimBox", "UserUnit"} {
		if o, ok := page[k]; ok {
			b.WriteString(" /" + k + " " + w.object(o, plain, 0))
		}
	}
	if r := int(f.float(page["Rotate"], float64(rotate))); r != 0 {
		fmt.Fprintf(&b, " /Rotate %d", r)
	}
	if g := f.dict(page["Group"]); g != nil {
		b.WriteString(" /Group " + w.object(g, painted, 0))
	}
	b.WriteString(" /Resources " + w.resources(resources, 0))
	b.WriteString(" /Contents " + w.add("", w.rewrite(f.contents(page["Contents"]), resources, true)))
	b.WriteString(w.annotations(page))
	w.objects[2] = []byte(b.String() + " >>")
	w.objects[1] = []byte("<< /Type /Pages /Kids [3 0 R] /Count 1 >>")
	w.objects[0] = []byte("<< /Type /Catalog /Pages 2 0 R" + w.layers() + " >>")
	if w.failed {
		return nil, errors.New("the page is too involved to be parted into inks")
	}
	return object.File("1.7", w.objects...), nil
}

// annotations writes those that have a look of their own.
func (w *writer) annotations(page types.Dict) string {
	var all []string
	for _, o := range w.f.array(page["Annots"]) {
		a := w.f.dict(o)
		if a == nil || a["AP"] == nil {
			continue
		}
		text := "<<"
		for _, k := range []string{"Type", "Subtype", "Rect", "F", "AS"} {
			if v, ok := a[k]; ok {
				text += " /" + k + " " + w.object(v, plain, 0)
			}
		}
		all = append(all, text+" /AP "+w.object(a["AP"], begun, 0)+" >>")
	}
	if len(all) == 0 {
		return ""
	}
	return " /Annots [" + strings.Join(all, " ") + "]"
}

// layers writes which optional content is on.
func (w *writer) layers() string {
	root, err := w.f.x.Catalog()
	if err != nil {
		return ""
	}
	d := w.f.dict(root["OCProperties"])
	if d == nil {
		return ""
	}
	return " /OCProperties << /OCGs " + w.object(d["OCGs"], plain, 0) + " /D " + w.object(d["D"], plain, 0) + " >>"
}

// add adds a stream with entries and returns the reference to it.
func (w *writer) add(entries string, data []byte) string {
	w.objects = append(w.objects, object.Stream(entries, data))
	return fmt.Sprintf("%d 0 R", len(w.objects))
}

const (
	deepestObject = 60
	mostWritten   = 300_000 // objects
)

// once writes an object that others refer to in one way, when it is first referred to: it may
// refer to itself.
func (w *writer) once(r types.IndirectRef, how way, text func() []byte) string {
	k := key{int(r.ObjectNumber), how}
	n, known := w.known[k]
	if !known {
		w.objects = append(w.objects, nil)
		n = len(w.objects)
		w.known[k] = n
		w.objects[n-1] = text()
	}
	return fmt.Sprintf("%d 0 R", n)
}

// left are entries that say nothing of how a page looks and lead far off.
var left = []string{"Parent", "Metadata", "PieceInfo", "OPI", "StructParent", "StructParents", "Length"}

// object writes an object within another.
func (w *writer) object(o types.Object, how way, depth int) string {
	if depth > deepestObject || len(w.objects) > mostWritten {
		w.failed = true
		return "null"
	}
	switch v := o.(type) {
	case nil:
		return "null"
	case types.IndirectRef:
		return w.once(v, how, func() []byte {
			if s := w.f.raw(v); s != nil {
				return w.stream(s, how, depth+1)
			}
			return []byte(w.object(w.f.deref(v), how, depth+1))
		})
	case types.Dict:
		return "<< " + w.entries(v, how, depth+1) + " >>"
	case types.Array:
		parts := make([]string, len(v))
		for i, e := range v {
			parts[i] = w.object(e, how, depth+1)
		}
		return "[" + strings.Join(parts, " ") + "]"
	case types.Float:
		return float(float64(v))
	case types.StreamDict, *types.StreamDict:
		w.objects = append(w.objects, nil)
		n := len(w.objects)
		w.objects[n-1] = w.stream(w.f.raw(v), how, depth+1)
		return fmt.Sprintf("%d 0 R", n)
	default:
		return v.PDFString()
	}
}

// entries writes what is in a dictionary.
func (w *writer) entries(d types.Dict, how way, depth int) string {
	var b strings.Builder
	_, shading := d["ShadingType"]
	image := w.f.name(d["Subtype"]) == "Image"
	group := w.f.name(d["S"]) == "Transparency"
	type3 := w.f.name(d["Subtype"]) == "Type3"
	for _, k := range sorted(d) {
		v := d[k]
		if slices.Contains(left, k) {
			continue
		}
		text := ""
		switch {
		case how == plain:
			text = w.object(v, plain, depth)
		case k == "SMask" || k == "Mask": // they tell how clear things are
			text = w.object(v, plain, depth)
		case k == "ColorSpace" && (shading || image):
			text = w.inked(v, depth)
		case k == "CS" && group:
			continue
		case k == "Resources":
			text = w.shared(v, depth)
		case k == "CharProcs" && type3:
			text = w.procs(d, depth)
		case strings.HasPrefix(k, "FontFile"), k == "ToUnicode", k == "Encoding", k == "Widths", k == "CIDSystemInfo", k == "Function" && shading:
			text = w.object(v, plain, depth)
		default:
			text = w.object(v, how, depth)
		}
		b.WriteString("/" + types.EncodeName(k) + " " + text + " ")
	}
	return b.String()
}

// procs writes the glyphs of a Type 3 font.
func (w *writer) procs(font types.Dict, depth int) string {
	resources := w.f.dict(font["Resources"])
	out := "<<"
	procs := w.f.dict(font["CharProcs"])
	for _, name := range sorted(procs) {
		_, data, ok := w.f.stream(procs[name])
		if ok {
			out += " /" + types.EncodeName(name) + " " + w.add("", w.rewrite(data, resources, false))
		}
	}
	return out + " >>"
}

// shared writes resources that several drawings may have, once.
func (w *writer) shared(o types.Object, depth int) string {
	r, is := o.(types.IndirectRef)
	if !is {
		return w.resources(w.f.dict(o), depth)
	}
	return w.once(r, named, func() []byte { return []byte(w.resources(w.f.dict(o), depth)) })
}

// resources writes resources, whose colour spaces are led to the half.
func (w *writer) resources(d types.Dict, depth int) string {
	var b strings.Builder
	b.WriteString("<< /ColorSpace <<")
	spaces := w.f.dict(d["ColorSpace"])
	for _, k := range sorted(spaces) {
		b.WriteString(" /" + types.EncodeName(k) + " " + w.inked(spaces[k], depth+1))
	}
	fmt.Fprintf(&b, " /%s %s /%s %s >>", ownCMYK, w.space[cmyk], ownGrey, w.space[grey])
	for _, k := range sorted(d) {
		if k != "ColorSpace" && !slices.Contains(left, k) {
			b.WriteString(" /" + types.EncodeName(k) + " " + w.kind(d[k], depth+1))
		}
	}
	return b.String() + " >>"
}

// kind writes one kind of resources, which may have any names.
func (w *writer) kind(o types.Object, depth int) string {
	d, is := w.f.deref(o).(types.Dict)
	if !is {
		return w.object(o, painted, depth)
	}
	out := "<<"
	for _, k := range sorted(d) {
		out += " /" + types.EncodeName(k) + " " + w.object(d[k], painted, depth+1)
	}
	return out + " >>"
}

// inked writes a colour space as that of the half which stands for it.
func (w *writer) inked(o types.Object, depth int) string {
	if depth > deepestObject {
		w.failed = true
		return "null"
	}
	s := w.f.space(o, nil, 0)
	if n, is := w.f.deref(o).(types.Name); is {
		switch {
		case n == "Pattern" || s.class == light:
			return w.object(n, plain, depth)
		}
		return w.space[s.class]
	}
	v := w.f.array(o)
	if len(v) == 0 || s.class == light {
		return w.object(o, plain, depth)
	}
	if len(v) == 1 {
		return w.inked(v[0], depth+1)
	}
	switch w.f.name(v[0]) {
	case "Indexed", "I":
		parts := []string{"/Indexed", w.inked(v[1], depth+1)}
		for _, e := range v[2:] {
			parts = append(parts, w.object(e, plain, depth+1))
		}
		return "[" + strings.Join(parts, " ") + "]"
	case "Pattern":
		return "[/Pattern " + w.inked(v[1], depth+1) + "]"
	case "Separation", "DeviceN":
		to := "/DeviceGray"
		if w.half == Colours {
			to = "/DeviceRGB"
		}
		kind := "/" + w.f.name(v[0])
		return fmt.Sprintf("[%s %s %s %s]", kind, w.object(v[1], plain, depth+1), to, w.fold(v[3], w.f.space(v[2], nil, 0).class, 0))
	}
	return w.space[s.class]
}

// stream writes a stream: what is a drawing anew, all else as it is.
func (w *writer) stream(s *types.StreamDict, how way, depth int) []byte {
	d := s.Dict
	form, tile := w.f.name(d["Subtype"]) == "Form", w.f.float(d["PatternType"], 0) == 1
	if how != plain && (form || tile) {
		_, data, ok := w.f.stream(*s)
		if !ok {
			data = nil
		}
		fresh := how == begun && form || tile && w.f.float(d["PaintType"], 1) == 1
		without := maps.Clone(d)
		delete(without, "Filter")
		delete(without, "DecodeParms")
		return object.Stream(w.entries(without, painted, depth), w.rewrite(data, w.f.dict(d["Resources"]), fresh))
	}
	if how == begun {
		how = painted
	}
	return object.Stream(w.entries(d, how, depth), s.Raw)
}

// rewrite writes a content stream so that its colours are those of the half. One that is
// fresh begins with a state of its own, in which black is the colour.
func (w *writer) rewrite(data []byte, resources types.Dict, fresh bool) []byte {
	out := make([]byte, 0, len(data)+len(data)/8+64)
	if fresh && w.half == Colours {
		out = append(out, "1 1 1 rg 1 1 1 RG\n"...)
	}
	l, done := &lexer{text: data}, 0
	instead := func(from, to int, text string) {
		out = append(append(append(out, data[done:from]...), text...), ' ')
		done = to
	}
	for {
		o, ok := l.next()
		if !ok {
			return append(out, data[done:]...)
		}
		n := o.numbers()
		switch o.name {
		case "k", "K":
			if len(n) < 4 {
				break
			}
			n = n[len(n)-4:]
			if w.half == Black {
				instead(o.at, o.end, float(1-n[3])+map[string]string{"k": " g", "K": " G"}[o.name])
			} else {
				instead(o.at, o.end, fmt.Sprintf("%s %s %s ", float(1-n[0]), float(1-n[1]), float(1-n[2]))+map[string]string{"k": "rg", "K": "RG"}[o.name])
			}
		case "g":
			if w.half == Colours {
				instead(o.at, o.end, "1 1 1 rg")
			}
		case "G":
			if w.half == Colours {
				instead(o.at, o.end, "1 1 1 RG")
			}
		case "cs", "CS":
			set := map[string]string{"cs": "scn", "CS": "SCN"}[o.name]
			switch name := o.word(); name {
			case "DeviceCMYK":
				instead(o.at, o.end, "/"+ownCMYK+" "+o.name+" 0 0 0 1 "+set)
			case "DeviceGray":
				instead(o.at, o.end, "/"+ownGrey+" "+o.name+" 0 "+set)
			case "", "Pattern":
			default:
				if s := w.f.space(types.Name(name), resources, 0); s.class == cmyk && !s.pattern {
					k := "1"
					if s.zero {
						k = "0"
					}
					instead(o.end, o.end, " 0 0 0 "+k+" "+set)
				}
			}
		case "BI":
			for i := 0; i+1 < len(o.args); i += 2 {
				v := o.args[i+1]
				if k := o.args[i].text; k != "CS" && k != "ColorSpace" || v.kind != isName {
					continue
				}
				switch v.text {
				case "CMYK", "DeviceCMYK":
					instead(v.at, v.end, "/"+ownCMYK)
				case "G", "DeviceGray":
					instead(v.at, v.end, "/"+ownGrey)
				}
			}
		}
	}
}

// sorted are a dictionary's keys in order.
func sorted(d types.Dict) []string { return slices.Sorted(maps.Keys(d)) }

func float(v float64) string { return strconv.FormatFloat(v, 'f', -1, 64) }

func numbers(v []float64) string {
	parts := make([]string, len(v))
	for i, n := range v {
		parts[i] = float(n)
	}
	return "[" + strings.Join(parts, " ") + "]"
}
