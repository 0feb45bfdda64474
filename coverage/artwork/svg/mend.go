package svg

import (
	"bytes"
	"fmt"
	"regexp"
	"strconv"
	"strings"
)

// What the renderer does not know and can be said in words that it knows is rewritten
// here: transform-origin (CSS Transforms 1, section 5) becomes part of the transform, a
// background colour of the root a rectangle below all else, and a generic font the family
// that stands for it.

var (
	tagWithOrigin  = regexp.MustCompile(`<[A-Za-z][^<>]*?\stransform-origin\s*=[^<>]*>`)
	transformNames = []string{"transform", "patternTransform", "gradientTransform"}
	background     = regexp.MustCompile(`(?i)(?:^|;)\s*background(?:-color)?\s*:\s*([^;]+)`)
)

// families is a list of families as an attribute, or a font or a list in a style.
var families = regexp.MustCompile(`(?i)\b(font-family\s*=\s*)("[^"]*"|'[^']*')|([;{"'\s])(font(?:-family)?\s*:)([^;}<>"]*)`)

// withFamilies writes families by their names in Families, and font shorthands as the
// properties they stand for (CSS Fonts 3, section 3.7).
func (f *File) withFamilies(text []byte) []byte {
	if len(f.Families) == 0 {
		return text
	}
	return families.ReplaceAllFunc(text, func(found []byte) []byte {
		m := families.FindStringSubmatch(string(found))
		if m[1] != "" {
			quote, inner := m[2][:1], `'`
			if quote == inner {
				inner = `"`
			}
			return []byte(m[1] + quote + f.renamed(m[2][1:len(m[2])-1], inner) + quote)
		}
		if strings.Contains(strings.ToLower(m[4]), "family") {
			return []byte(m[3] + m[4] + f.renamed(m[5], "'"))
		}
		at := afterSize.FindStringSubmatchIndex(m[5])
		if at == nil {
			return found
		}
		before, list := m[5][:at[2]], m[5][at[2]:]
		out := m[3] + "font-family:" + f.renamed(list, "'")
		for i, w := range strings.Fields(strings.ReplaceAll(before, "/", " / ")) {
			switch word := strings.ToLower(w); {
			case word == "/":
				return []byte(out)
			case word == "italic" || word == "oblique":
				out += ";font-style:" + word
			case word == "small-caps":
				out += ";font-variant:" + word
			case word == "bold" || word == "bolder" || word == "lighter" || len(word) == 3 && strings.Trim(word, "0123456789") == "":
				out += ";font-weight:" + word
			case word == "normal" && i < 3:
			default:
				out += ";font-size:" + word
			}
		}
		return []byte(out)
	})
}

// renamed is a list of families with the names that stand for them.
func (f *File) renamed(list, quote string) string {
	items := strings.Split(list, ",")
	for i, item := range items {
		if name, ok := f.Families[strings.ToLower(strings.Trim(strings.TrimSpace(item), `"'`))]; ok {
			items[i] = quote + name + quote
		}
	}
	return strings.Join(items, ",")
}

// mend rewrites the drawing inside of the root's start tag, which ends before from.
func (f *File) mend() []byte {
	rest := f.withFamilies(f.text[f.end:])
	if bytes.Contains(rest, []byte("transform-origin")) {
		rest = tagWithOrigin.ReplaceAllFunc(rest, func(tag []byte) []byte { return []byte(f.withOrigin(string(tag))) })
	}
	style, _ := f.get("style")
	if m := background.FindStringSubmatch(style); m != nil && !bytes.HasSuffix(f.text[f.start:f.end], []byte("/>")) {
		ground := fmt.Sprintf(`<rect x="%g" y="%g" width="%g" height="%g" style="fill:%s;stroke:none"/>`, f.box[0], f.box[1], f.box[2], f.box[3], strings.TrimSpace(m[1]))
		return append([]byte(ground), rest...)
	}
	return rest
}

// withOrigin moves the origin of a tag's transform into the transform.
func (f *File) withOrigin(tag string) string {
	var origin, name string
	var at []int
	for _, m := range attribute.FindAllStringSubmatchIndex(tag, -1) {
		switch n, v := tag[m[2]:m[3]], tag[m[4]+1:m[5]-1]; {
		case n == "transform-origin":
			origin = v
		case n == transformNames[0], n == transformNames[1], n == transformNames[2]:
			name, at = n, m
		}
	}
	x, y, ok := f.origin(origin)
	if name == "" || !ok {
		return tag
	}
	value := tag[at[4]+1 : at[5]-1]
	return fmt.Sprintf(`%s %s="translate(%g %g) %s translate(%g %g)"%s`, tag[:at[0]], name, x, y, value, -x, -y, tag[at[1]:])
}

// origin is a transform-origin in the units of the view box, which percentages and
// keywords are about.
func (f *File) origin(s string) (x, y float64, ok bool) {
	words := strings.Fields(s)
	if len(words) == 0 {
		return 0, 0, false
	}
	if len(words) == 1 {
		words = append(words, "center")
	}
	if upright(words[0]) || words[1] == "left" || words[1] == "right" {
		words[0], words[1] = words[1], words[0]
	}
	x, okX := along(words[0], f.box[2])
	y, okY := along(words[1], f.box[3])
	return x, y, okX && okY
}

func upright(word string) bool { return word == "top" || word == "bottom" }

func along(word string, side float64) (float64, bool) {
	switch word {
	case "left", "top":
		return 0, true
	case "center":
		return side / 2, true
	case "right", "bottom":
		return side, true
	}
	if part, is := strings.CutSuffix(word, "%"); is {
		v, err := strconv.ParseFloat(part, 64)
		return v / 100 * side, err == nil
	}
	n := number.FindString(word)
	v, err := strconv.ParseFloat(n, 64)
	if err != nil {
		return 0, false
	}
	if mm, is := mmPer[strings.ToLower(word[len(n):])]; is {
		return v * mm / 25.4 * cssDPI, true
	}
	return v, word[len(n):] == "" || word[len(n):] == "px"
}
