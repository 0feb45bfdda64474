package svg

import (
	"bytes"
	"encoding/xml"
	"io"
	"regexp"
	"slices"
	"strings"
)

// Texts is what a drawing's texts ask of fonts.
type Texts struct {
	Families   [][]string // lists of families as the file writes them, each list once, in order
	Characters []rune     // that are set, each once, in order
}

var (
	familyRule = regexp.MustCompile(`(?i)font-family\s*:\s*([^;{}]+)`)
	fontRule   = regexp.MustCompile(`(?i)(?:^|[;{\s])font\s*:\s*([^;{}]+)`)
	// afterSize splits a font shorthand behind its size: what follows are families.
	afterSize = regexp.MustCompile(`(?i)(?:\d*\.?\d+(?:px|pt|pc|mm|cm|in|em|rem|ex|%)|medium|small|large|larger|smaller|x-small|x-large|xx-small|xx-large)(?:\s*/\s*\S+)?\s+(.+)$`)
)

// Texts reads what the drawing sets in type. A drawing without texts asks for nothing.
func (f *File) Texts() (t Texts) {
	if !bytes.Contains(f.text, []byte("text")) {
		return t
	}
	add := func(list string) {
		var names []string
		for _, n := range strings.Split(strings.TrimSuffix(strings.TrimSpace(list), "!important"), ",") {
			if n = strings.Trim(strings.TrimSpace(n), `"'`); n != "" && !strings.EqualFold(n, "inherit") {
				names = append(names, n)
			}
		}
		if len(names) > 0 && !slices.ContainsFunc(t.Families, func(have []string) bool { return slices.Equal(have, names) }) {
			t.Families = append(t.Families, names)
		}
	}
	rules := func(css string) {
		for _, m := range familyRule.FindAllStringSubmatch(css, -1) {
			add(m[1])
		}
		for _, m := range fontRule.FindAllStringSubmatch(css, -1) {
			if m := afterSize.FindStringSubmatch(strings.TrimSpace(m[1])); m != nil {
				add(m[1])
			}
		}
	}
	d := f.decoder()
	var open []string
	found := false
	for {
		token, err := d.RawToken()
		if err != nil {
			break
		}
		switch v := token.(type) {
		case xml.StartElement:
			open = append(open, v.Name.Local)
			for _, a := range v.Attr {
				switch a.Name.Local {
				case "font-family":
					add(a.Value)
				case "style":
					rules(a.Value)
				}
			}
		case xml.EndElement:
			open = open[:max(0, len(open)-1)]
		case xml.CharData:
			switch {
			case len(open) > 0 && open[len(open)-1] == "style":
				rules(string(v))
			case slices.Contains(open, "text"):
				for _, r := range string(v) {
					if r > ' ' {
						found = true
						t.Characters = append(t.Characters, r)
					}
				}
			}
		}
	}
	if !found {
		return Texts{}
	}
	slices.SortFunc(t.Families, slices.Compare)
	slices.Sort(t.Characters)
	t.Characters = slices.Compact(t.Characters)
	return t
}

// Linked are the addresses of pictures that the drawing shows and does not hold, each once.
func (f *File) Linked() []string {
	linked, _ := f.pictures()
	return linked
}

// HoldsPictures reports whether pictures made of pixels are in the drawing.
func (f *File) HoldsPictures() bool {
	_, held := f.pictures()
	return held
}

func (f *File) pictures() (linked []string, held bool) {
	if !bytes.Contains(f.text, []byte("mage")) { // image, feImage
		return nil, false
	}
	d := f.decoder()
	for {
		token, err := d.RawToken()
		if err != nil {
			return linked, held
		}
		e, ok := token.(xml.StartElement)
		if !ok || e.Name.Local != "image" && e.Name.Local != "feImage" {
			continue
		}
		for _, a := range e.Attr {
			to := strings.TrimSpace(a.Value)
			switch {
			case a.Name.Local != "href" || to == "" || to[0] == '#':
			case strings.HasPrefix(to, "data:"):
				held = true
			case !slices.Contains(linked, to):
				linked = append(linked, to)
			}
		}
	}
}

// decoder reads the file's XML as it comes: tags need not match.
func (f *File) decoder() *xml.Decoder {
	d := xml.NewDecoder(bytes.NewReader(f.text))
	d.Strict = false
	d.CharsetReader = func(_ string, r io.Reader) (io.Reader, error) { return r, nil } // it is UTF-8 by now
	return d
}
