package resvg

import (
	"context"
	"crypto/sha256"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
)

var engine = NewEngine(filepath.Join(os.TempDir(), "laydown-tests"))

// TestModule: the module is the one that fetch.sh names.
func TestModule(t *testing.T) {
	script, err := os.ReadFile("fetch.sh")
	if err != nil {
		t.Fatal(err)
	}
	if sum := fmt.Sprintf("%x", sha256.Sum256(module)); !strings.Contains(string(script), "sum="+sum+"\n") {
		t.Errorf("resvg.wasm has the sum %s", sum)
	}
}

// TestHostile opens what would take all time or memory, and what is none.
func TestHostile(t *testing.T) {
	const head = `<svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink" width="40" height="40">`
	uses := `<defs><rect id="a0" width="5" height="5"/>`
	entities := `<!DOCTYPE svg [<!ENTITY a0 "ha">`
	for i := 1; i < 9; i++ {
		uses += fmt.Sprintf(`<g id="a%d">%s</g>`, i, strings.Repeat(fmt.Sprintf(`<use xlink:href="#a%d"/>`, i-1), 10))
		entities += fmt.Sprintf(`<!ENTITY a%d "%s">`, i, strings.Repeat(fmt.Sprintf("&a%d;", i-1), 10))
	}
	for name, text := range map[string]string{
		"entities":   entities + "]>" + head + `<text>&a8;</text></svg>`,
		"uses":       head + uses + `</defs><use xlink:href="#a8"/></svg>`,
		"deep":       head + strings.Repeat("<g>", 100000) + strings.Repeat("</g>", 100000) + `</svg>`,
		"cut short":  head + `<g>`,
		"no XML":     "<svg",
		"bytes":      "\xff\xfe\x00",
		"nothing":    "",
		"no drawing": `<html xmlns="http://www.w3.org/1999/xhtml"/>`,
	} {
		d, err := engine.Open(context.Background(), []byte(text), Fonts{})
		if err == nil {
			_, err = d.Draw(context.Background())
			d.Close()
		}
		if err == nil || err.Error() == "" {
			t.Errorf("%s: drawn, %v", name, err)
		}
	}
	// Fine dashes, wide filters and things within themselves draw.
	for name, text := range map[string]string{
		"filter": head + `<filter id="f"><feGaussianBlur stdDeviation="5000"/></filter><rect filter="url(#f)" width="1e9" height="1e9"/></svg>`,
		"dashes": head + `<path fill="none" stroke="red" stroke-dasharray="0.00001" d="M0 0 L1000000 1000000"/></svg>`,
		"itself": head + `<use id="a" xlink:href="#a"/><pattern id="p" width="1" height="1" patternUnits="userSpaceOnUse"><rect fill="url(#p)" width="1" height="1"/></pattern><rect fill="url(#p)" width="50" height="50"/></svg>`,
	} {
		d, err := engine.Open(context.Background(), []byte(text), Fonts{})
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		if _, err := d.Draw(context.Background()); err != nil {
			t.Errorf("%s: %v", name, err)
		}
		d.Close()
	}
}

// TestAtOnce draws several drawings at once, each of its own colour.
func TestAtOnce(t *testing.T) {
	var all sync.WaitGroup
	for i := range 8 {
		all.Go(func() {
			d, err := engine.Open(context.Background(), fmt.Appendf(nil, `<svg xmlns="http://www.w3.org/2000/svg" width="60" height="%d"><rect width="60" height="60" fill="rgb(%d,0,0)"/></svg>`, 10+i, 10*i), Fonts{})
			if err != nil {
				t.Error(err)
				return
			}
			defer d.Close()
			for range 5 {
				img, err := d.Draw(context.Background())
				if err != nil || img.Rect.Dy() != 10+i || img.Pix[0] != uint8(10*i) {
					t.Errorf("drawing %d: %v, %v", i, img.Rect, err)
				}
			}
		})
	}
	all.Wait()
}

func Example() {
	e := NewEngine("")
	d, err := e.Open(context.Background(), []byte(`<svg xmlns="http://www.w3.org/2000/svg" width="30" height="20"><rect width="1in" height="5" fill="red"/></svg>`), Fonts{})
	if err != nil {
		panic(err)
	}
	defer d.Close()
	plain, _ := d.Plain(context.Background())
	fmt.Println(d.WidthPX, d.HeightPX, strings.Contains(plain, "#ff0000"))
}
