package main

import (
	"bytes"
	"encoding/binary"
	"hash/crc32"
	"image/png"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"testing"

	"github.com/disintegration/imaging"
)

// atBench puts the demo order into an empty folder and goes there: badge.png, banner.tif,
// colours.csv, a list of orders and one of pieces, and beside it small.png.
func atBench(t *testing.T) {
	t.Helper()
	demo, err := filepath.Abs("../../testdata/demo")
	if err != nil {
		t.Fatal(err)
	}
	dir := t.TempDir()
	for to, from := range map[string]string{"badge.png": "heron-badge.png", "banner.tif": "regatta-banner.tif", "colours.csv": "club-colours.csv"} {
		b, err := os.ReadFile(filepath.Join(demo, from))
		if err == nil && to == "badge.png" {
			b, err = third(b)
		}
		if err == nil {
			err = os.WriteFile(filepath.Join(dir, to), b, 0o600)
		}
		if err != nil {
			t.Fatal(err)
		}
	}
	if err := os.WriteFile(filepath.Join(dir, "small.png"), smallArt(t, false), 0o600); err != nil {
		t.Fatal(err)
	}
	for file, text := range map[string]string{
		"orders.csv": "art,quantity,item,process,width\nbadge.png,24,white tee,,60mm\nbadge.png,24,enamel mug,temporary tattoo,60mm\n",
		"pieces.csv": "name,width,height,quantity\nbadge,80mm,80mm,3\nlabel,60mm,25mm,300\n",
		"order.toml": "[[goods]]\nitem = \"white tee\"\nquantity = 3\n[[goods.print]]\nart = \"badge.png\"\nwidth = \"40 mm\"\nprocess = \"light garment\"\n",
	} {
		if err := os.WriteFile(filepath.Join(dir, file), []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	t.Chdir(dir)
}

// third is a PNG of 300 pixels per inch at a third of them.
func third(b []byte) ([]byte, error) {
	img, err := png.Decode(bytes.NewReader(b))
	if err != nil {
		return nil, err
	}
	var out bytes.Buffer
	err = png.Encode(&out, imaging.Resize(img, img.Bounds().Dx()/3, 0, imaging.Box))
	size := []byte("pHYs\x00\x00\x0f\x61\x00\x00\x0f\x61\x01") // 3937 a metre, behind the header
	size = binary.BigEndian.AppendUint32(size, crc32.ChecksumIEEE(size))
	return slices.Insert(out.Bytes(), 33, append([]byte("\x00\x00\x00\x09"), size...)...), err
}

// call runs a command and returns its exit code and what it wrote to stdout and stderr.
func call(args ...string) (code int, stdout, stderr *bytes.Buffer) {
	w, stdout, stderr := testWorld()
	return run(append([]string{"laydown"}, args...), w), stdout, stderr
}

// parts parts a line into words as a shell does; whole words may be in double quotes.
func parts(line string) (out []string) {
	for _, m := range regexp.MustCompile(`"([^"]*)"|(\S+)`).FindAllStringSubmatch(line, -1) {
		out = append(out, m[1]+m[2])
	}
	return out
}

// TestSaid has every command say what it takes for what is not named, and what stops the
// print, in text and in JSON.
func TestSaid(t *testing.T) {
	atBench(t)
	for _, c := range []struct {
		line string
		want []string // patterns, on stdout but for those that begin with !
	}{
		{`coverage small.png -i "enamel mug" -w 60mm`, []string{`^(Print|Check first|Do not print).* Demo prices, all invented\.\n`, `(?m)^  process not named: decal on white, the only one for enamelled steel`, `(?m)^process not named: decal on white, because it is the only one for enamelled\s+steel$`, `invented: they are the demo shop's\.\n$`}},
		{`coverage small.png banner.tif -i "enamel mug" -w 60mm --json`, []string{`^\[`, `"field": "process"`, `"demo_shop": true`}},
		{`preflight small.png -i "white tee"`, []string{`(?m)^process not named: light garment`}},
		{`preflight small.png -i "white tee" -j`, []string{`"value": "light garment"`}},
		{`proof small.png -i "white tee" -j`, []string{`"value": "light garment"`}},
		{`match --colour navy -i "white tee"`, []string{`(?m)^process not named: light garment`}},
		{`match small.png`, []string{`(?m)^item not named: black tee, because it is the shop's default$`}},
		{`profile`, []string{`(?m)^process not named: dark garment, because it is the shop's default`}},
		{`profile -j`, []string{`"value": "dark garment"`}},
		{`underbase small.png`, []string{`(?m)^item not named: black tee`, `!process not named`}},
		{`separate small.png -i "enamel mug" -w 60mm -o plates`, []string{`!named`, `^plates`}},
		{`ledger add small.png -i "enamel mug" -w 60mm --sheets 2 --ledger l.db`, []string{`(?m)^process not named: decal on white`}},
		{`ledger add small.png -i "enamel mug" -w 60mm --sheets 2 --ledger l.db --json`, []string{`"entered"`, `"value": "decal on white"`}},
		{`ledger fit --ledger l.db --json`, []string{`"demo_shop": true`}},
		{`ledger list --ledger l.db --json`, []string{`"demo_shop": true`, `"at": "2026-03-14T15:00:00Z"`, `"time_zone": "UTC"`}},
		{`ledger list --ledger l.db`, []string{`^Demo shop`, `2026-03-14 15:00`}},

		{`coverage small.png -i mug -p tattoo`, nil}, // refused: neither begins so
		{`coverage small.png -i enamel -p temp -w 60mm`, []string{`(?m)^Do not print: `, `why +stop: wrong-item \(this process is not for enamelled steel\)`}},
		{`coverage small.png -i enamel -p temp -w 60mm -j`, []string{`"kind": "wrong-item"`}},
		{`match --colour navy -i enamel -p temp`, []string{`(?m)^Do not print: wrong-item`}},
		{`match small.png -i enamel -p temp -w 60mm -j`, []string{`"kind": "wrong-item"`}},
		{`ledger add small.png -i enamel -p temp -w 60mm --sheets 2 --ledger l.db`, []string{`(?m)^Do not print: wrong-item`}},
		{`preflight small.png -i enamel -p temp -w 60mm`, []string{`stop: wrong-item`}},
		{`proof small.png -i enamel -p temp -w 60mm -j`, []string{`"kind": "wrong-item"`}},
		{`ticket badge.png -i enamel -p temp -w 60mm`, []string{`(?m)^Do not print: [2-9] stops`, `why +stop: wrong-item \(this process is not for enamelled\s+steel\);\s`}},
		{`ticket small.png -i enamel -p temp -w 60mm -j`, []string{`"kind": "wrong-item"`}},
		{`quote small.png -i enamel -w 120mm -s A3`, []string{`(?m)^Do not print: `, `why +stop: too-large \(the print is 120 × 120 mm and the item takes 200 × 85\s+mm\)`}},
		{`quote small.png -i enamel -w 120mm -s A3 -j`, []string{`"kind": "too-large"`}},
		{`quote --orders orders.csv -j`, []string{`"assumed":\[\{"field":"process","value":"light garment"`, `"stops":\[\{"kind":"wrong-item"`}},

		{`quote small.png -i "loose tattoo" -q 100 -j`, []string{`"sold_by": "piece"`}},
		{`quote small.png -i "transfer sheet" -p dark -q 5`, []string{`in EUR, for this many full sheets? +5`, `(?m)^ sheets +5`, `(?m)^ blank items +0.0000`}},
		{`ticket small.png -i none -p temp -q 12`, []string{`(?m)^For whoever puts it on:$`}},
		{`quote small.png -i none`, nil},

		{`quote small.png -i "black tee" --item-colour #c19a6b -p "white film"`, []string{`on +tee in #c19a6b, by white film`, `!black`}},
		{`coverage small.png --item-color tan -p "white film"`, []string{`(?m)^item not named: cotton in tan, because`, `!black tee`}},
		{`match --color navy -c tan -p "white film"`, []string{`on +tee in tan`, `!black tee`}},
	} {
		code, out, errs := call(parts(c.line)...)
		if (c.want == nil) != (code != 0) {
			t.Errorf("%s: exit code %d: %s", c.line, code, errs)
		}
		for _, p := range c.want {
			not := p[0] == '!'
			if not {
				p = p[1:]
			}
			if regexp.MustCompile(p).Match(out.Bytes()) == not {
				t.Errorf("%s: %q, not wanted: %t, in:\n%s", c.line, p, not, out)
			}
		}
		if c.line == `separate small.png -i "enamel mug" -w 60mm -o plates` && !bytes.Contains(errs.Bytes(), []byte("process not named: decal on white")) {
			t.Errorf("%s: stderr %s", c.line, errs)
		}
	}
}
