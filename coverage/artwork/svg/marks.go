package svg

import (
	"bytes"
	"cmp"
	"encoding/base64"
	"encoding/hex"
	"encoding/xml"
	"fmt"
	"image"
	_ "image/gif"  // sizes of pictures inside
	_ "image/jpeg" // the same
	_ "image/png"  // the same
	"io"
	"math"
	"regexp"
	"slices"
	"strconv"
	"strings"

	_ "golang.org/x/image/webp" // the same

	"laydown/coverage/artwork/mark"
)

// MaxPlain bounds a drawing in plain words that marks are read from, bytes.
const MaxPlain = 64 << 20

// ownID begins the names that texts without one are given.
const ownID = "laydown-text-"

var textTag = regexp.MustCompile(`<text(\s[^<>]*)?>`)

// HasMarks reports whether the drawing may hold strokes, texts or pictures.
func (f *File) HasMarks() bool {
	return bytes.Contains(f.text, []byte("stroke")) || bytes.Contains(f.text, []byte("mage")) || bytes.Contains(f.text, []byte("<text"))
}

// WithNames gives every text of a drawing a name, so that it is found again when it has
// become outlines.
func WithNames(text []byte) []byte {
	n := 0
	return textTag.ReplaceAllFunc(text, func(tag []byte) []byte {
		n++
		if slices.ContainsFunc(attribute.FindAllSubmatch(tag, -1), func(m [][]byte) bool { return string(m[1]) == "id" }) {
			return tag
		}
		return fmt.Appendf(nil, `<text id="%s%d"%s`, ownID, n, tag[len("<text"):])
	})
}

// set is what a text asks for, as far as its own tags and simple rules say.
type set struct {
	font string  // "" if parts of it ask for others
	size float64 // of the em, in units of the text's own; 0 if parts of it ask for others
	in   string  // name of the text that it is part of
}

// named are the texts of a drawing by their names.
func named(text []byte) map[string]set {
	d := xml.NewDecoder(bytes.NewReader(text))
	d.Strict = false
	d.CharsetReader = func(_ string, r io.Reader) (io.Reader, error) { return r, nil }
	rules, out, open := map[string]string{}, map[string]set{}, []set{{size: 16}}
	for _, m := range classRule.FindAllSubmatch(text, -1) {
		for _, s := range strings.Split(string(m[1]), ",") {
			rules[strings.TrimPrefix(strings.TrimSpace(s), ".")] += ";" + string(m[2])
		}
	}
	for {
		token, err := d.RawToken()
		if err != nil {
			return out
		}
		switch v := token.(type) {
		case xml.StartElement:
			now, id, style := open[len(open)-1], "", ""
			for _, a := range v.Attr {
				switch a.Name.Local {
				case "id":
					id = a.Value
				case "font-family", "font-size":
					now.take(a.Name.Local, a.Value)
				case "class":
					for _, c := range strings.Fields(a.Value) {
						style += rules[c]
					}
				}
			}
			for _, a := range v.Attr {
				if a.Name.Local == "style" {
					style += ";" + a.Value
				}
			}
			for _, rule := range strings.Split(style, ";") {
				if k, val, ok := strings.Cut(rule, ":"); ok {
					now.take(strings.ToLower(strings.TrimSpace(k)), strings.TrimSpace(val))
				}
			}
			if v.Name.Local == "text" && id != "" {
				now.in = id
				out[id] = now
			} else if whole, is := out[now.in]; is && (whole.font != now.font || whole.size != now.size) {
				out[now.in] = set{}
			}
			if open = append(open, now); len(open) > 10000 {
				return out
			}
		case xml.EndElement:
			open = open[:max(1, len(open)-1)]
		}
	}
}

var classRule = regexp.MustCompile(`((?:\.[\w-]+\s*,?\s*)+)\{([^{}]*)\}`)

func (s *set) take(name, value string) {
	switch name {
	case "font-family":
		first, _, _ := strings.Cut(value, ",")
		s.font = strings.Trim(strings.TrimSpace(first), `"'`)
	case "font-size":
		if px, _, ok := length(value); ok {
			s.size = px
		}
	}
}

func transform(s string) (m mark.Matrix, ok bool) {
	inside, found := strings.CutPrefix(strings.TrimSpace(s), "matrix(")
	v := strings.Fields(strings.ReplaceAll(strings.TrimSuffix(inside, ")"), ",", " "))
	if !found || len(v) != 6 {
		return m, false
	}
	for i := range m {
		x, err := strconv.ParseFloat(v[i], 64)
		if err != nil {
			return m, false
		}
		m[i] = x
	}
	return m, true
}

// deepestPlain is how many groups lie within each other at most.
const deepestPlain = 10_000

// Marks reads the marks of a drawing in plain words, paths and pictures alone, as the
// renderer writes it; text is the same drawing with its texts named ([WithNames]).
func Marks(plain string, text []byte) *mark.Set {
	out := &mark.Set{}
	if len(plain) > MaxPlain {
		out.Partly = true
		return out
	}
	type group struct {
		m    mark.Matrix
		text string // name of the text it was
	}
	d := xml.NewDecoder(strings.NewReader(plain))
	d.Strict = false
	var texts map[string]set
	open, width, points := []group{{m: mark.Matrix{1, 0, 0, 1, 0, 0}}}, 0.0, 0
	for {
		token, err := d.RawToken()
		if err != nil {
			return out
		}
		switch v := token.(type) {
		case xml.EndElement:
			open = open[:max(1, len(open)-1)]
		case xml.StartElement:
			now := open[len(open)-1]
			a := attributes(v)
			if m, ok := transform(a["transform"]); ok {
				now.m = m.Then(now.m)
			}
			if a["opacity"] == "0" { // nothing of it is seen
				if !skip(d) {
					return out
				}
				continue
			}
			switch v.Name.Local {
			case "svg":
				if b := strings.Fields(a["viewBox"]); len(b) == 4 && width == 0 {
					left, _ := strconv.ParseFloat(b[0], 64)
					top, _ := strconv.ParseFloat(b[1], 64)
					if width, _ = strconv.ParseFloat(b[2], 64); !(width > 0) {
						return out
					}
					now.m = mark.Matrix{1 / width, 0, 0, 1 / width, -left / width, -top / width}
				}
			case "defs":
				if !skip(d) {
					return out
				}
				continue
			case "g":
				if texts == nil && a["id"] != "" {
					texts = named(text)
				}
				if _, is := texts[a["id"]]; is && a["id"] != "" {
					now.text = a["id"]
				}
			case "path":
				if width == 0 {
					return out
				}
				if stroke := a["stroke"]; now.text == "" && stroke != "" && stroke != "none" && a["stroke-opacity"] != "0" {
					wide, err := strconv.ParseFloat(cmp.Or(a["stroke-width"], "1"), 64)
					if by, even := now.m.Scale(); err == nil && even {
						for _, p := range subpaths(a["d"]) {
							points += len(p)
							if points > mark.MostPoints || len(out.Strokes) >= mark.Most {
								out.Partly = true
								break
							}
							for i := range p {
								p[i] = now.m.At(p[i].X, p[i].Y)
							}
							line := mark.Stroke{Path: p, Width: wide * by, Solid: a["stroke-dasharray"] == "" || a["stroke-dasharray"] == "none"}
							if c, err := hex.DecodeString(strings.TrimPrefix(stroke, "#")); err == nil && len(c) == 3 {
								line.Ink, line.Inked = [3]uint8(c), true
							}
							out.Strokes = append(out.Strokes, line)
						}
					}
				}
				if now.text != "" && a["fill"] != "none" && len(out.Texts) < mark.Most {
					out.Texts = append(out.Texts, lines(subpaths(a["d"]), now.m, texts[now.text])...)
				}
			case "image":
				if p, ok := picture(a, now.m); ok && len(out.Pictures) < mark.Most {
					out.Pictures = append(out.Pictures, p)
				}
			}
			if open = append(open, now); len(open) > deepestPlain {
				out.Partly = true
				return out
			}
		}
	}
}

// skip steps over what is inside of the element that was opened; false at the end.
func skip(d *xml.Decoder) bool {
	for open := 1; open > 0; {
		token, err := d.RawToken()
		if err != nil {
			return false
		}
		switch token.(type) {
		case xml.StartElement:
			open++
		case xml.EndElement:
			open--
		}
	}
	return true
}

func attributes(e xml.StartElement) map[string]string {
	m := make(map[string]string, len(e.Attr))
	for _, a := range e.Attr {
		m[a.Name.Local] = a.Value
	}
	return m
}

// subpaths are the outlines of a path of M, L, Q, C and Z, bends as eight lines.
func subpaths(d string) (out [][]mark.Point) {
	v := strings.Fields(d)
	at := 0
	number := func() float64 {
		if at >= len(v) {
			return 0
		}
		x, _ := strconv.ParseFloat(v[at], 64)
		at++
		return x
	}
	point := func() mark.Point { x := number(); return mark.Point{X: x, Y: number()} }
	for at < len(v) {
		word := v[at]
		at++
		if word == "M" {
			out = append(out, []mark.Point{point()})
			continue
		}
		if len(out) == 0 {
			continue
		}
		p := &out[len(out)-1]
		from := (*p)[len(*p)-1]
		bend := func(f func(t, u float64) mark.Point) {
			for i := 1; i <= 8; i++ {
				t := float64(i) / 8
				*p = append(*p, f(t, 1-t))
			}
		}
		switch word {
		case "L":
			*p = append(*p, point())
		case "Q":
			a, b := point(), point()
			bend(func(t, u float64) mark.Point {
				return mark.Point{X: u*u*from.X + 2*u*t*a.X + t*t*b.X, Y: u*u*from.Y + 2*u*t*a.Y + t*t*b.Y}
			})
		case "C":
			a, b, c := point(), point(), point()
			bend(func(t, u float64) mark.Point {
				return mark.Point{X: u*u*u*from.X + 3*u*u*t*a.X + 3*u*t*t*b.X + t*t*t*c.X, Y: u*u*u*from.Y + 3*u*u*t*a.Y + 3*u*t*t*b.Y + t*t*t*c.Y}
			})
		case "Z":
			first := (*p)[0]
			*p = append(*p, first)
		}
	}
	return slices.DeleteFunc(out, func(p []mark.Point) bool { return len(p) < 2 })
}

// lines are the rows of letters that outlines of one size make, from left to right.
func lines(outlines [][]mark.Point, m mark.Matrix, s set) (out []mark.Text) {
	scale, _ := m.Scale()
	var glyphs []mark.Box
	for _, p := range outlines {
		b := mark.Around(p...)
		if n := len(glyphs); n > 0 { // a hole, or a dot over a letter
			last := &glyphs[n-1]
			if over := min(last.X+last.Width, b.X+b.Width) - max(last.X, b.X); over > 0.5*min(last.Width, b.Width) && max(last.Y, b.Y)-min(last.Y+last.Height, b.Y+b.Height) < max(last.Height, b.Height) {
				x, y := min(last.X, b.X), min(last.Y, b.Y)
				*last = mark.Box{X: x, Y: y, Width: max(last.X+last.Width, b.X+b.Width) - x, Height: max(last.Y+last.Height, b.Y+b.Height) - y}
				continue
			}
		}
		glyphs = append(glyphs, b)
	}
	for len(glyphs) > 0 {
		row := 1
		tall := glyphs[0].Height
		for row < len(glyphs) && glyphs[row].X > glyphs[row-1].X && math.Abs(glyphs[row].Y+glyphs[row].Height-glyphs[0].Y-glyphs[0].Height) < max(tall, glyphs[row].Height) {
			tall = max(tall, glyphs[row].Height)
			row++
		}
		var heights []float64
		var corners []mark.Point
		for _, g := range glyphs[:row] {
			if g.Height > 0.4*tall { // no stops and dashes
				heights = append(heights, g.Height)
			}
			for _, p := range []mark.Point{{X: g.X, Y: g.Y}, {X: g.X + g.Width, Y: g.Y}, {X: g.X, Y: g.Y + g.Height}, {X: g.X + g.Width, Y: g.Y + g.Height}} {
				corners = append(corners, m.At(p.X, p.Y))
			}
		}
		slices.Sort(heights)
		if len(heights) > 0 {
			out = append(out, mark.Text{Box: mark.Around(corners...), Font: s.font, Size: s.size * scale, XHeight: heights[len(heights)*3/10] * scale})
		}
		glyphs = glyphs[row:]
	}
	return out
}

// picture is an image element that holds its pixels.
func picture(a map[string]string, m mark.Matrix) (p mark.Picture, ok bool) {
	head, data, ok := strings.Cut(a["href"], ",")
	if !ok || !strings.HasPrefix(head, "data:image/") || strings.Contains(head, "svg") || !strings.HasSuffix(head, ";base64") {
		return p, false
	}
	c, _, err := image.DecodeConfig(base64.NewDecoder(base64.StdEncoding, strings.NewReader(strings.TrimSpace(data))))
	if err != nil || c.Width < 1 || c.Height < 1 {
		return p, false
	}
	value := func(name string) float64 { v, _ := strconv.ParseFloat(a[name], 64); return v }
	x, y, wide, high := value("x"), value("y"), value("width"), value("height")
	if !(wide > 0 && high > 0) {
		return p, false
	}
	if how := a["preserveAspectRatio"]; !strings.HasPrefix(how, "none") {
		kx, ky := wide/float64(c.Width), high/float64(c.Height)
		k := min(kx, ky)
		if strings.HasSuffix(how, "slice") {
			k = max(kx, ky)
		}
		w, h := k*float64(c.Width), k*float64(c.Height)
		x, y, wide, high = x+(wide-w)/2, y+(high-h)/2, w, h // about where it is aligned
	}
	return mark.Picture{Box: mark.Around(m.At(x, y), m.At(x+wide, y), m.At(x, y+high), m.At(x+wide, y+high)),
		WidthPX: c.Width, HeightPX: c.Height, Wide: wide * math.Hypot(m[0], m[1]), High: high * math.Hypot(m[2], m[3])}, true
}
