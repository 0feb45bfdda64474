package content

import (
	"bytes"
	"fmt"
	"math"
	"slices"

	"github.com/pdfcpu/pdfcpu/pkg/pdfcpu/types"

	"laydown/coverage/artwork/mark"
)

// Frame is what of a page is drawn, in points of its own, before it is turned.
type Frame struct {
	Left, Bottom, Width, Height float64
	Rotate                      int // clockwise, by quarters: 0, 90, 180, 270
}

// onto is the matrix from a page's points to parts of the drawing's width.
func (r Frame) onto() mark.Matrix {
	m := mark.Matrix{1, 0, 0, -1, -r.Left, r.Bottom + r.Height} // from the top left corner
	w := r.Width
	switch ((r.Rotate % 360) + 360) % 360 {
	case 90:
		m, w = m.Then(mark.Matrix{0, 1, -1, 0, r.Height, 0}), r.Height
	case 180:
		m = m.Then(mark.Matrix{-1, 0, 0, -1, r.Width, r.Height})
	case 270:
		m, w = m.Then(mark.Matrix{0, -1, 1, 0, 0, r.Width}), r.Height
	}
	return m.Then(mark.Matrix{1 / w, 0, 0, 1 / w, 0, 0})
}

// Place is where a point of the page lies in the drawing.
func (r Frame) Place(x, y float64) mark.Point { return r.onto().At(x, y) }

// Facts are what a page says of itself.
type Facts struct {
	mark.Set
	// Inks says that the page is painted with CMYK, grey and what stands for them alone, and
	// with some CMYK, so that [File.Separated] can keep its numbers.
	Inks bool
	// Profile is of the CMYK, nil if none is stated.
	Profile []byte
}

// state is the graphics state, as far as it matters.
type state struct {
	ctm          mark.Matrix
	width        float64
	dashed       bool
	fill, stroke space
	overFill     bool // overprint
	overStroke   bool
	render       int // of text
	strokeAlpha  float64
}

type walk struct {
	f         *File
	set       *mark.Set
	used      map[class]bool
	why       string // what keeps the inks from being kept; "" for nothing
	profiles  [][]byte
	device    bool // CMYK without a profile is used
	operators int
	forms     int
	bytes     int // of forms, unpacked
	points    int
	patterns  map[types.IndirectRef]bool
}

// Facts reads a page, the first one 0, of which frame is drawn.
func (f *File) Facts(number int, frame Frame) (out Facts, err error) {
	defer func() {
		if r := recover(); r != nil {
			out, err = Facts{}, fmt.Errorf("the page cannot be read: %v", r)
		}
	}()
	page, resources, _, _, err := f.page(number)
	if err != nil {
		return out, err
	}
	if !(frame.Width > 0 && frame.Height > 0) {
		return out, fmt.Errorf("the page has no size")
	}
	w := &walk{f: f, set: &out.Set, used: map[class]bool{}, patterns: map[types.IndirectRef]bool{}}
	w.stream(f.contents(page["Contents"]), resources, state{ctm: frame.onto(), width: 1, strokeAlpha: 1, fill: space{class: grey}, stroke: space{class: grey}}, 0)
	for _, a := range f.array(page["Annots"]) {
		w.annotation(f.dict(a), frame.onto())
	}
	slices.Sort(out.Spots)
	out.Spots = slices.Compact(out.Spots)
	intent := f.intent()
	if w.device {
		w.profiles = append(w.profiles, intent)
	}
	if w.why == "" && len(w.profiles) > 1 && slices.ContainsFunc(w.profiles[1:], func(p []byte) bool { return !bytes.Equal(p, w.profiles[0]) }) {
		w.why = "the page mixes CMYK of several presses"
	}
	if w.why == "" && w.used[light] {
		w.why = "the page mixes CMYK with screen colours"
	}
	if w.why == "" && out.Partly {
		w.why = "the page is too involved"
	}
	if w.used[cmyk] || w.used[spot] {
		out.Inks = w.why == ""
		out.LostInks = w.why
		if len(w.profiles) > 0 {
			out.Profile = w.profiles[0]
		}
	}
	return out, nil
}

// intent is the profile of the CMYK that the whole file is meant for (ISO 32000-1,
// 14.11.5), nil if it states none.
func (f *File) intent() []byte {
	root, err := f.x.Catalog()
	if err != nil {
		return nil
	}
	for _, o := range f.array(root["OutputIntents"]) {
		d, data, ok := f.stream(f.dict(o)["DestOutputProfile"])
		if ok && f.float(d["N"], 0) == 4 {
			return data
		}
	}
	return nil
}

func (w *walk) annotation(a types.Dict, onto mark.Matrix) {
	const hidden, noView = 2, 32
	if a == nil || int(w.f.float(a["F"], 0))&(hidden|noView) != 0 {
		return
	}
	look := w.f.dict(a["AP"])["N"]
	if w.f.raw(look) == nil { // one for each state
		look = w.f.dict(look)[w.f.name(a["AS"])]
	}
	if w.f.raw(look) != nil {
		// Where it lies is not worked out: nothing of it is a mark.
		kept := *w.set
		w.form(look, nil, state{ctm: onto, width: 1, fill: space{class: grey}, stroke: space{class: grey}, strokeAlpha: 1}, 1)
		w.set.Strokes, w.set.Pictures = kept.Strokes, kept.Pictures
	}
}

// form walks through a form XObject.
func (w *walk) form(o types.Object, around types.Dict, s state, depth int) {
	if w.forms++; depth > deepestForm || w.forms > mostForms {
		w.set.Partly = true
		return
	}
	d, data, ok := w.f.stream(o)
	if w.bytes += len(data); !ok || w.bytes > mostBytes {
		w.set.Partly = w.set.Partly || ok
		return
	}
	if m := w.f.floats(d["Matrix"]); len(m) == 6 {
		s.ctm = mark.Matrix(m).Then(s.ctm)
	}
	resources := w.f.dict(d["Resources"])
	if resources == nil {
		resources = around
	}
	w.stream(data, resources, s, depth)
}

// paint notes that something is painted in a colour.
func (w *walk) paint(s space, over bool) {
	w.used[s.class] = true
	w.set.Spots = append(w.set.Spots, s.spots()...)
	if len(w.set.Spots) > 1000 {
		slices.Sort(w.set.Spots)
		w.set.Spots = slices.Compact(w.set.Spots)
		w.set.Spots = w.set.Spots[:min(500, len(w.set.Spots))]
	}
	if over && s.class != light {
		w.set.Overprint = true
	}
	if s.class == cmyk || s.class == spot {
		switch {
		case s.profile == nil:
			w.device = true
		case !slices.ContainsFunc(w.profiles, func(p []byte) bool { return bytes.Equal(p, s.profile) }):
			w.profiles = append(w.profiles, s.profile)
		}
	}
}

// stream walks through a content stream.
func (w *walk) stream(data []byte, resources types.Dict, s state, depth int) {
	var saved []state
	var path [][]mark.Point // subpaths
	var at mark.Point       // in the stream's own units
	first := at
	add := func(x, y float64) {
		at = mark.Point{X: x, Y: y}
		if n := len(path); n > 0 && w.points < mark.MostPoints {
			path[n-1] = append(path[n-1], s.ctm.At(x, y))
			w.points++
		}
	}
	move := func(x, y float64) {
		path, first = append(path, nil), mark.Point{X: x, Y: y}
		add(x, y)
	}
	bend := func(c [6]float64) {
		from := at
		const steps = 8
		for i := 1; i <= steps; i++ {
			t := float64(i) / steps
			u := 1 - t
			add(u*u*u*from.X+3*u*u*t*c[0]+3*u*t*t*c[2]+t*t*t*c[4], u*u*u*from.Y+3*u*u*t*c[1]+3*u*t*t*c[3]+t*t*t*c[5])
		}
	}
	end := func(fills, strokes bool) {
		if fills && len(path) > 0 {
			w.paint(s.fill, s.overFill)
		}
		if strokes && len(path) > 0 {
			w.paint(s.stroke, s.overStroke)
			if s.strokeAlpha > 0 {
				w.strokes(path, s)
			}
		}
		path = nil
	}
	l := &lexer{text: data}
	for {
		o, ok := l.next()
		if !ok {
			return
		}
		if w.operators++; w.operators > mostOperators {
			w.set.Partly = true
			return
		}
		n := o.numbers()
		has := func(count int) bool { return len(n) >= count }
		switch o.name {
		case "q":
			if len(saved) < 10000 {
				saved = append(saved, s)
			}
		case "Q":
			if k := len(saved); k > 0 {
				s, saved = saved[k-1], saved[:k-1]
			}
		case "cm":
			if has(6) {
				s.ctm = mark.Matrix(n[:6]).Then(s.ctm)
			}
		case "w":
			if has(1) {
				s.width = math.Abs(n[0])
			}
		case "d":
			s.dashed = len(o.args) > 0 && len(o.args[0].list) > 0
		case "gs":
			w.extended(w.f.dict(w.f.dict(resources["ExtGState"])[o.word()]), &s)
		case "m":
			if has(2) {
				move(n[0], n[1])
			}
		case "l":
			if has(2) {
				add(n[0], n[1])
			}
		case "c":
			if has(6) {
				bend([6]float64(n[:6]))
			}
		case "v":
			if has(4) {
				bend([6]float64{at.X, at.Y, n[0], n[1], n[2], n[3]})
			}
		case "y":
			if has(4) {
				bend([6]float64{n[0], n[1], n[2], n[3], n[2], n[3]})
			}
		case "h":
			add(first.X, first.Y)
		case "re":
			if has(4) {
				x, y, wide, high := n[0], n[1], n[2], n[3]
				move(x, y)
				add(x+wide, y)
				add(x+wide, y+high)
				add(x, y+high)
				add(x, y)
			}
		case "n":
			path = nil
		case "f", "F", "f*":
			end(true, false)
		case "B", "B*":
			end(true, true)
		case "b", "b*":
			add(first.X, first.Y)
			end(true, true)
		case "S":
			end(false, true)
		case "s":
			add(first.X, first.Y)
			end(false, true)
		case "g":
			s.fill = space{class: grey}
		case "G":
			s.stroke = space{class: grey}
		case "k":
			s.fill = space{class: cmyk}
		case "K":
			s.stroke = space{class: cmyk}
		case "rg":
			s.fill = space{class: light}
		case "RG":
			s.stroke = space{class: light}
		case "cs":
			s.fill = w.f.space(types.Name(o.word()), resources, 0)
		case "CS":
			s.stroke = w.f.space(types.Name(o.word()), resources, 0)
		case "scn", "SCN":
			if p := o.word(); p != "" {
				to := &s.fill
				if o.name == "SCN" {
					to = &s.stroke
				}
				*to = w.pattern(w.f.dict(resources["Pattern"])[p], *to, resources, depth)
			}
		case "Tr":
			if has(1) {
				s.render = int(n[0])
			}
		case "Tj", "TJ", "'", "\"":
			if r := s.render & 3; s.render <= 6 && r != 3 {
				if r != 1 {
					w.paint(s.fill, s.overFill)
				}
				if r == 1 || r == 2 {
					w.paint(s.stroke, s.overStroke)
				}
			}
		case "sh":
			d := w.f.dict(w.f.dict(resources["Shading"])[o.word()])
			if d != nil {
				w.paint(w.f.space(d["ColorSpace"], resources, 0), false)
			}
		case "BI":
			w.inline(o, resources, s)
		case "Do":
			x := w.f.dict(resources["XObject"])[o.word()]
			d := w.f.dict(x)
			switch {
			case d == nil:
			case w.hidden(d["OC"]):
			case w.f.name(d["Subtype"]) == "Form":
				w.form(x, resources, s, depth+1)
			case w.f.name(d["Subtype"]) == "Image":
				w.image(d, resources, s)
			}
		case "Tf": // glyphs of a Type 3 font are drawings of their own
			if len(o.args) > 0 {
				w.glyphs(w.f.dict(w.f.dict(resources["Font"])[o.args[0].text]), resources, depth)
			}
		}
	}
}

// hidden reports whether optional content is off from the start (ISO 32000-1, 8.11).
func (w *walk) hidden(o types.Object) bool {
	r, is := o.(types.IndirectRef)
	root, err := w.f.x.Catalog()
	if !is || err != nil {
		return false
	}
	off := w.f.array(w.f.dict(w.f.dict(root["OCProperties"])["D"])["OFF"])
	return slices.ContainsFunc(off, func(o types.Object) bool { return o == types.Object(r) })
}

// extended takes over what a dictionary of graphics state says.
func (w *walk) extended(d types.Dict, s *state) {
	if v, ok := d["LW"]; ok {
		s.width = math.Abs(w.f.float(v, s.width))
	}
	if v, ok := d["D"]; ok {
		a := w.f.array(v)
		s.dashed = len(a) > 0 && len(w.f.array(a[0])) > 0
	}
	if v, ok := d["OP"]; ok {
		s.overStroke = w.f.truth(v)
		s.overFill = s.overStroke
	}
	if v, ok := d["op"]; ok {
		s.overFill = w.f.truth(v)
	}
	s.strokeAlpha = w.f.float(d["CA"], s.strokeAlpha)
	if v, ok := d["BM"]; ok {
		mode := w.f.name(v)
		if a := w.f.array(v); len(a) > 0 {
			mode = w.f.name(a[0])
		}
		// The others work on each ink by itself, and alike on its complement (ISO 32000-1,
		// 11.3.5).
		if slices.Contains([]string{"Hue", "Saturation", "Color", "Luminosity"}, mode) {
			w.why = "the page blends by hue or lightness, which screens do alone"
		}
	}
}

// pattern is the colour of what is painted with a pattern.
func (w *walk) pattern(o types.Object, under space, resources types.Dict, depth int) space {
	d := w.f.dict(o)
	if d == nil {
		return under
	}
	if w.f.float(d["PatternType"], 1) == 2 {
		return w.f.space(w.f.dict(d["Shading"])["ColorSpace"], resources, 0)
	}
	if w.f.float(d["PaintType"], 1) == 2 { // in the colour under it
		return under
	}
	if r, is := o.(types.IndirectRef); is {
		if w.patterns[r] {
			return space{class: grey}
		}
		w.patterns[r] = true
	}
	w.within(o, resources, depth)
	return space{class: grey}
}

// within walks through a stream of a pattern or glyph for its colours alone: its strokes
// and pictures lie in many places, or in none.
func (w *walk) within(o types.Object, resources types.Dict, depth int) {
	kept := *w.set
	w.form(o, resources, state{ctm: mark.Matrix{1, 0, 0, 1, 0, 0}, width: 1, fill: space{class: grey}, stroke: space{class: grey}, strokeAlpha: 1}, depth+1)
	w.set.Strokes, w.set.Pictures = kept.Strokes, kept.Pictures
}

// glyphs walks through the glyphs of a Type 3 font, once.
func (w *walk) glyphs(font types.Dict, resources types.Dict, depth int) {
	if w.f.name(font["Subtype"]) != "Type3" {
		return
	}
	own := w.f.dict(font["Resources"])
	if own == nil {
		own = resources
	}
	procs := w.f.dict(font["CharProcs"])
	for _, name := range sorted(procs) {
		if r, is := procs[name].(types.IndirectRef); is && !w.patterns[r] {
			w.patterns[r] = true
			w.within(r, own, depth)
		}
	}
}

// image notes an image XObject.
func (w *walk) image(d types.Dict, resources types.Dict, s state) {
	wide, high := w.f.float(d["Width"], 0), w.f.float(d["Height"], 0)
	if w.f.truth(d["ImageMask"]) {
		w.paint(s.fill, s.overFill)
	} else {
		o, stated := d["ColorSpace"]
		if stated {
			c := w.f.space(o, resources, 0)
			w.paint(c, false)
		} else {
			w.used[light] = true // JPEG 2000 says itself what it is
		}
	}
	w.picture(wide, high, s)
}

func (w *walk) inline(o operation, resources types.Dict, s state) {
	var wide, high float64
	mask, seen := false, false
	for i := 0; i+1 < len(o.args); i += 2 {
		v := o.args[i+1]
		switch o.args[i].text {
		case "W", "Width":
			wide = v.number
		case "H", "Height":
			high = v.number
		case "IM", "ImageMask":
			mask = v.text == "true"
		case "CS", "ColorSpace":
			seen = true
			if v.kind == isName {
				w.paint(w.f.space(types.Name(v.text), resources, 0), false)
			} else {
				w.used[light] = true // a colour map within the stream is not taken apart
			}
		}
	}
	if mask || !seen {
		w.paint(s.fill, s.overFill)
	}
	w.picture(wide, high, s)
}

// picture notes a picture of so many pixels that fills the unit square.
func (w *walk) picture(wide, high float64, s state) {
	if !(wide >= 1 && high >= 1 && wide < 1<<24 && high < 1<<24) {
		return
	}
	if len(w.set.Pictures) >= mark.Most {
		w.set.Partly = true
		return
	}
	m := s.ctm
	w.set.Pictures = append(w.set.Pictures, mark.Picture{Box: m.OfSquare(),
		WidthPX: int(wide), HeightPX: int(high), Wide: math.Hypot(m[0], m[1]), High: math.Hypot(m[2], m[3])})
}

// strokes notes the lines of a path.
func (w *walk) strokes(path [][]mark.Point, s state) {
	by, even := s.ctm.Scale()
	if !even {
		return
	}
	for _, p := range path {
		if len(p) < 2 {
			continue
		}
		if len(w.set.Strokes) >= mark.Most {
			w.set.Partly = true
			return
		}
		w.set.Strokes = append(w.set.Strokes, mark.Stroke{Path: p, Width: s.width * by, Solid: !s.dashed})
	}
}
