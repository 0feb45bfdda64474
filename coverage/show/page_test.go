package show

import (
	"bytes"
	"fmt"
	"image"
	"image/color"
	"math"
	"math/rand/v2"
	"regexp"
	"slices"
	"strings"
	"testing"

	"golang.org/x/net/html"

	"laydown/colour/reference"
	"laydown/coverage/artwork"
	"laydown/coverage/flaw"
	"laydown/coverage/order/ordertest"
	"laydown/coverage/proof"
)

// element is a start tag of a page.
type element struct {
	name  string
	attrs map[string]string
	text  string // what it holds, of raw text
	in    []string
}

// elements reads a page strictly: every element that is not void is closed in order, no attribute
// is there twice, no id is. The void elements are those of the HTML standard (13.1.2).
func elements(t *testing.T, page []byte) (all []element) {
	t.Helper()
	void := []string{"area", "base", "br", "col", "embed", "hr", "img", "input", "link", "meta", "source", "track", "wbr"}
	z := html.NewTokenizer(bytes.NewReader(page))
	var open []string
	ids := map[string]bool{}
	for {
		switch kind := z.Next(); kind {
		case html.ErrorToken:
			if len(open) > 0 {
				t.Errorf("left open: %v", open)
			}
			return all
		case html.TextToken:
			if n := len(all); n > 0 && slices.Contains([]string{"style", "script", "title", "h1"}, all[n-1].name) && all[n-1].text == "" {
				all[n-1].text = string(z.Raw())
			}
		case html.StartTagToken, html.SelfClosingTagToken:
			e := element{attrs: map[string]string{}, in: slices.Clone(open)}
			name, more := z.TagName()
			e.name = string(name)
			for more {
				var k, v []byte
				k, v, more = z.TagAttr()
				if _, twice := e.attrs[string(k)]; twice {
					t.Errorf("<%s> has %s twice", e.name, k)
				}
				e.attrs[string(k)] = string(v)
			}
			if id, ok := e.attrs["id"]; ok {
				if ids[id] || id == "" || strings.ContainsAny(id, " \t") {
					t.Errorf("id %q is there twice, or none", id)
				}
				ids[id] = true
			}
			all = append(all, e)
			if kind == html.StartTagToken && !slices.Contains(void, e.name) {
				open = append(open, e.name)
			}
		case html.EndTagToken:
			name, _ := z.TagName()
			if last := len(open) - 1; last < 0 || open[last] != string(name) {
				t.Fatalf("</%s> closes %v", name, open)
			}
			open = open[:len(open)-1]
		}
	}
}

// sound holds a page to what a reader without eyes, mouse, script or network needs.
func sound(t *testing.T, page []byte) []element {
	t.Helper()
	all := elements(t, page)
	count, ids, labelled := map[string]int{}, map[string]bool{}, map[string]bool{}
	for _, e := range all {
		count[e.name]++
		ids[e.attrs["id"]] = true
		if e.name == "label" {
			labelled[e.attrs["for"]] = true
		}
	}
	level := 0
	for _, e := range all {
		for k, v := range e.attrs {
			switch {
			case k == "style" || strings.HasPrefix(k, "on"):
				t.Errorf("<%s> has an attribute %s, which the page's policy forbids", e.name, k)
			case k == "href" && !strings.HasPrefix(v, "#") && !strings.HasPrefix(v, "data:image/"), k == "src" && !strings.HasPrefix(v, "data:image/"):
				t.Errorf("<%s> fetches %.60s", e.name, v)
			case k == "href" && v[0] == '#' && !ids[v[1:]], (k == "for" || k == "aria-labelledby") && !ids[v]:
				t.Errorf("<%s %s=%q> leads nowhere", e.name, k, v)
			}
		}
		switch e.name {
		case "h1", "h2", "h3", "h4":
			n := int(e.name[1] - '0')
			if n > level+1 {
				t.Errorf("<%s> follows a heading of level %d", e.name, level)
			}
			level = n
		case "img":
			if e.attrs["alt"] == "" {
				t.Error("an <img> without words")
			}
		case "svg":
			if e.attrs["aria-hidden"] != "true" && (e.attrs["role"] == "" || e.attrs["aria-label"] == "") {
				t.Errorf("an <svg> without words: %v", e.attrs)
			}
		case "section":
			if e.attrs["aria-labelledby"] == "" {
				t.Errorf("section %q has no name", e.attrs["id"])
			}
		case "input":
			if !labelled[e.attrs["id"]] && !slices.Contains(e.in, "label") {
				t.Errorf("input %q has no label", e.attrs["id"])
			}
		case "th":
			if e.attrs["scope"] == "" {
				t.Error("a <th> without scope")
			}
		}
	}
	for _, name := range []string{"h1", "header", "nav", "main", "footer", "script", "style"} {
		if count[name] != 1 {
			t.Errorf("%d of <%s>", count[name], name)
		}
	}
	return all
}

// TestPageIsSound reads the page of a badge with flaws, and one with nothing to say.
func TestPageIsSound(t *testing.T) {
	p := badgeApproval(t)
	b, err := Page(p)
	if err != nil {
		t.Fatal(err)
	}
	all := sound(t, b)
	policy, tags, tables := "", 0, 0
	for _, e := range all {
		switch {
		case e.attrs["http-equiv"] != "":
			policy = e.attrs["content"]
		case e.name == "style", e.name == "script":
			if want := e.name + "-src '" + policyHash(e.text) + "'"; !strings.Contains(policy, want) {
				t.Errorf("the policy %q has no %q", policy, want)
			}
		case e.name == "h1" && e.text != "Do not print":
			t.Errorf("the page begins with %q", e.text)
		case e.name == "table":
			tables++
		case e.name == "a" && e.attrs["data-at"] != "":
			tags++
			var x, y, w, h float64
			if _, err := fmt.Sscan(e.attrs["data-at"], &x, &y, &w, &h); err != nil || x < 0 || y < 0 || w <= 0 || h <= 0 || x+w > 1.001 || y+h > 1.001 {
				t.Errorf("%s is at %q, %v", e.attrs["data-tag"], e.attrs["data-at"], err)
			}
		}
	}
	if tags < len(p.Findings) || tables < 3 {
		t.Errorf("%d places to go to for %d findings, %d tables", tags, len(p.Findings), tables)
	}
	if again, err := Page(p); err != nil || !bytes.Equal(b, again) {
		t.Errorf("the same proof makes other bytes, %v", err)
	}
	p.Findings, p.Swatches, p.Main, p.Quoted, p.Underbase = nil, nil, nil, nil, nil
	if b, err = Page(p); err != nil {
		t.Fatal(err)
	}
	sound(t, b)
	if !bytes.Contains(b, []byte("<h1>Print</h1>")) || !bytes.Contains(b, []byte(`<header class="verdict go">`)) {
		t.Error("nothing was found, and it does not say to print")
	}
}

// TestVerdictShows: each verdict has its own word, class and shape.
func TestVerdictShows(t *testing.T) {
	seen := map[string]bool{}
	for _, c := range []struct {
		found       []flaw.Finding
		swatches    []proof.Swatch
		state, says string
	}{
		{[]flaw.Finding{{Severity: flaw.Stop}, {Severity: flaw.Look}}, nil, "stop", "Do not print: 1 stop."},
		{[]flaw.Finding{{Severity: flaw.Look}}, nil, "look", "Check first: 1 finding to decide on."},
		{[]flaw.Finding{{Severity: flaw.Note}}, []proof.Swatch{{Grade: "off"}}, "look", "Check first: 1 brand colour does not match."},
		{[]flaw.Finding{{Severity: flaw.Note}}, nil, "go", "Print: Nothing was found that speaks against it."},
	} {
		var d pageData
		d.say(&proof.Proof{Findings: c.found, Swatches: c.swatches})
		if got := d.Say + ": " + d.Because; d.State != c.state || got != c.says {
			t.Errorf("%s, %q, want %s, %q", d.State, got, c.state, c.says)
		}
		var icon bytes.Buffer
		if err := page.ExecuteTemplate(&icon, "icon", d.State); err != nil {
			t.Fatal(err)
		}
		seen[icon.String()] = true
	}
	if len(seen) != 3 {
		t.Errorf("%d shapes for three verdicts", len(seen))
	}
}

// TestPageContrast holds text to 4.5 to 1 on its grounds, light and dark, and numbers on the
// colours of the marks (WCAG 2.2, 1.4.3 AA).
func TestPageContrast(t *testing.T) {
	contrasts(t, pageStyle, []string{"ink", "soft", "stop", "look", "go", "link"}, []string{"page", "card", "tint"})
	for s, m := range marks {
		if ratio := contrast(hex(m.colour)[1:], hex(casing)[1:]); ratio < 4.5 {
			t.Errorf("numbers of %s are %.2f to 1", s, ratio)
		}
		// The page's marks have the colours of the marked picture.
		for _, of := range []string{"g.", "a.", ".badge."} {
			if _, rest, _ := strings.Cut(pageStyle, of+string(s)); !strings.Contains(rest[:max(0, strings.Index(rest, "}"))], hex(m.colour)) {
				t.Errorf("%s%s is not %s", of, s, hex(m.colour))
			}
		}
	}
}

// TestPageBytes: whatever the pictures, the page is below a megabyte and a half.
func TestPageBytes(t *testing.T) {
	if n := (2*artMost+(2+5)*plateMost+mostCloseUps*nearMost)*4/3 + 150_000; n > 1_500_000 {
		t.Errorf("the page may have %d bytes", n)
	}
	r := rand.New(rand.NewPCG(3, 4))
	grain := image.NewNRGBA(image.Rect(0, 0, 500, 500))
	for i := range grain.Pix {
		grain.Pix[i] = uint8(r.IntN(256)) | uint8(i%4/3*255)
	}
	for _, bound := range [][2]int{{artPNG, artMost}, {platePNG, plateMost}, {nearPNG, nearMost}} {
		p, err := packed(grain, bound[0], bound[1])
		if err != nil || !p.JPEG || len(p.Data) > bound[1] {
			t.Errorf("noise is packed as %d bytes, JPEG %t, %v", len(p.Data), p.JPEG, err)
		}
	}
}

// TestPageDrawsWhatIsThere: empty plates are not drawn, and the sheet has as many copies of the
// art as it holds, each within its place and mirrored if it is printed so.
func TestPageDrawsWhatIsThere(t *testing.T) {
	img := image.NewNRGBA(image.Rect(0, 0, 80, 30))
	for i := range 80 * 30 {
		img.SetNRGBA(i%80, i/80, color.NRGBA{20, 120, 250, 255})
	}
	for process, white := range map[string]bool{"light": false, "dark": true} {
		o := ordertest.Draw(t, img)
		o.ProcessName, o.ItemName, o.Wish = process, "white tee", artwork.Wish{WidthMM: 60}
		if white {
			o.ItemName = "black tee"
		}
		p, err := proof.Make(o, 0)
		if err != nil {
			t.Fatal(err)
		}
		b, err := Page(p)
		if err != nil {
			t.Fatal(err)
		}
		text := string(b)
		if strings.Contains(text, `id="plate-white"`) != white || regexp.MustCompile(`Not used: [a-z, ]*white\.`).MatchString(text) == white || strings.Contains(text, ">White</th>") != white {
			t.Errorf("%s: the white plate is there or not, which it must not be", process)
		}
		copies := strings.Count(text, `<use href="#copy"`)
		if copies != p.Sheet.Copies || strings.Count(text, " scale(-1 1)") != map[bool]int{true: copies}[p.Process.Mirrored] {
			t.Errorf("%s: %d copies, mirrored %t", process, copies, p.Process.Mirrored)
		}
		d := pageData{Proof: p}
		d.sheet(image.NewNRGBA(image.Rect(0, 0, 80, 30)))
		for _, c := range d.Places { // where a print's corners come to lie
			var x, y, turn float64
			if c.Turned {
				_, err = fmt.Sscanf(c.Transform, "translate(%f %f) rotate(%f)", &x, &y, &turn)
			} else {
				_, err = fmt.Sscanf(c.Transform, "translate(%f %f)", &x, &y)
			}
			w, h := p.Print.WidthMM, p.Print.HeightMM
			if turn == 90 {
				x, w, h = x-h, h, w
			}
			if err != nil || math.Abs(x+w/2-c.XMM-c.WidthMM/2) > 0.02 || math.Abs(y+h/2-c.YMM-c.HeightMM/2) > 0.02 || w > c.WidthMM+0.02 || h > c.HeightMM+0.02 {
				t.Errorf("%s: %s in %+v, %v", process, c.Transform, c.Place, err)
			}
		}
	}
}

// TestPagePrints prints the demo's page, with all there is to say, by Chromium: on two to four
// sheets.
func TestPagePrints(t *testing.T) {
	reference.Long(t)
	browser := reference.Tool(t, "chromium")
	p, err := proof.Make(ordertest.Badge(t), proof.Everything)
	if err != nil {
		t.Fatal(err)
	}
	b, err := Page(p)
	if err != nil {
		t.Fatal(err)
	}
	if n := pagesOf(printed(t, browser, b)); n < 2 || n > 4 || len(b) > 1_500_000 {
		t.Errorf("%d bytes print on %d sheets", len(b), n)
	}
}
