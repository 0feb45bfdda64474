package main

import (
	"bytes"
	"crypto/sha256"
	"encoding/binary"
	"fmt"
	"hash/crc32"
	"image"
	"image/color"
	"image/png"
	"io/fs"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/urfave/cli/v2"

	"laydown/colour/press"
	"laydown/colour/reference"
	"laydown/coverage/artwork/arttest"
)

// smallSet is a data set in the form of CGATS.17, with figures of our own.
const smallSet = `CGATS.17
NUMBER_OF_FIELDS 7
BEGIN_DATA_FORMAT
CMYK_C CMYK_M CMYK_Y CMYK_K LAB_L LAB_A LAB_B
END_DATA_FORMAT
NUMBER_OF_SETS 9
BEGIN_DATA
0 0 0 0 95 0 0
100 0 0 0 55 -37 -50
0 100 0 0 48 74 -3
0 0 100 0 89 -5 93
0 0 0 100 16 0 0
100 100 100 0 22 0 0
0 100 100 0 47 68 48
100 0 100 0 50 -65 27
100 100 0 0 24 22 -46
END_DATA
`

// smallArt has a flat ground, a ring with its hole, a ramp of vivid colours, a neutral grey
// and black; it says that its numbers are linear, or that they are sRGB.
func smallArt(t *testing.T, linear bool) []byte {
	img := image.NewNRGBA(image.Rect(0, 0, 64, 64))
	for i := range 64 * 64 {
		x, y := i%64, i/64
		c := color.NRGBA{250, 250, 250, 255}
		switch r := (x-24)*(x-24) + (y-24)*(y-24); {
		case r < 60:
		case r < 300:
			c = color.NRGBA{20, 40, 250, 255}
		case x > 44 && x < 60 && y > 4 && y < 60:
			c = color.NRGBA{uint8(y * 4), 255, 0, 255}
		case y > 48 && x < 20 && x > 4 && y < 60:
			c = color.NRGBA{A: 255}
		case y > 48 && x > 24 && x < 40 && y < 60:
			c = color.NRGBA{90, 90, 90, 255}
		}
		img.SetNRGBA(x, y, c)
	}
	var b bytes.Buffer
	if err := png.Encode(&b, img); err != nil {
		t.Fatal(err)
	}
	// Chunks behind the header of 33 bytes (PNG, 3rd edition, 11.3.2 and 11.3.4.3): 2000 pixels
	// a metre, and gAMA of 1/1.0 or sRGB with perceptual intent.
	chunk := func(kind string, data ...byte) []byte {
		b := append([]byte(kind), data...)
		out := binary.BigEndian.AppendUint32(nil, uint32(len(data)))
		return binary.BigEndian.AppendUint32(append(out, b...), crc32.ChecksumIEEE(b))
	}
	colours := chunk("sRGB", 0)
	if linear {
		colours = chunk("gAMA", 0, 1, 0x86, 0xa0)
	}
	return slices.Concat(b.Bytes()[:33], colours, chunk("pHYs", 0, 0, 7, 208, 0, 0, 7, 208, 1), b.Bytes()[33:])
}

// changed is another value of every option, and what must stand beside it for that.
var changed = map[string]string{
	"width": "31mm", "height": "31mm", "dpi": "101", "page": "2", "sheet": "25x25mm", "drop-background": "", "drop-holes": "", "ignore-profile": "",
	"item": "white tee", "item-colour": "white", "process": "light", "shop": "other.toml", "press": "press.txt", "intent": "perceptual", "no-bpc": "",
	"tac": "170", "black": "full", "pure-black": "", "keep-pure": "none", "json": "", "cache": "none",
	"qty": "7", "full": "", "strict": "", "html": "out/a.html", "customer": "", "mark": "out/a.png", "swatches": "colours.csv", "measurement": "m1", "colour": "navy", "rules": "",
	"orders": "orders.csv", "csv": "out/a.csv", "resume": "out/a.jsonl", "out": "out/plates", "picture": "out/a.svg", "art": "small.png",
	"ledger": "out/other.db", "sheets": "3", "job": "spring", "cartridge": "white", "left": "5", "date": "2026-01-02", "printer": "second",
	"pieces": "3", "kind": "jam", "put-in": "50", "during": "none", "forgotten": "10", "all": "",
	"margin": "30mm", "gap": "20mm", "one-layout": "",
	"pdf": "out/a.pdf", "order-number": "118", "for": "Lund", "valid-days": "9", "format": "tiff", "soft-proof": "", "place": "back", "prices": "",
}

// TestNoOptionIsIgnored changes every option of every command: each changes what is said or
// written, or is refused.
func TestNoOptionIsIgnored(t *testing.T) {
	reference.Long(t)
	atBench(t)
	write := func(file string, b []byte) {
		t.Helper()
		if err := os.WriteFile(file, b, 0o600); err != nil {
			t.Fatal(err)
		}
	}
	write("linear.png", smallArt(t, true))
	write("press.txt", []byte(smallSet))
	_, demo, _ := call("init")
	second := strings.Replace(demo.String(), "[[printer]]", "[[printer]]\nname = \"second\"\ntac_percent = 200\n"+
		"toner.cyan = {price = 1, yield_pages = 9}\ntoner.magenta = {price = 1, yield_pages = 9}\ntoner.yellow = {price = 1, yield_pages = 9}\ntoner.black = {price = 1, yield_pages = 9}\n[[printer]]", 1)
	write("own.toml", []byte(second))
	other := strings.NewReplacer(`"118.00"`, `"91.00"`, `"50`, `"60`, "seconds = 55", "seconds = 66", `gap = "4 mm"`, `gap = "9 mm"`, `price = "3.20"`, `price = "9.20"`,
		`name = "black tee"`, `name = "dark tee"`, `default_item = "black tee"`, `default_item = "dark tee"`, "yield_pages = 6000", "yield_pages = 5000").Replace(second)
	write("other.toml", []byte(other))

	// A call of each command with as much named as the options need that it is changed by.
	calls := map[string]string{
		"coverage": `small.png -w 30mm`, "preflight": `small.png -w 30mm`, "match": `small.png -w 30mm`, "underbase": `small.png -w 30mm`,
		"proof": `small.png -w 30mm`, "separate": `small.png -w 30mm -o out/first`, "quote": `small.png -w 30mm`, "ticket": `small.png -w 30mm`,
		"profile": ``, "gang": `pieces.csv small.png=3000,30mm`, "ledger add": `small.png -w 30mm --sheets 2 --ledger out/l.db`, "ledger fit": `--ledger out/l.db`,
		"ledger list": `--ledger out/l.db`, "ledger undo": `1 --ledger out/l.db`, "ledger correct": `1 --sheets 3 --ledger out/l.db`,
		"list": ``, "man": ``,
	}
	// Where an option needs others beside it to be changed, or another way to be given.
	beside := map[string]string{"proof customer": "--html out/b.html", "proof pdf": "--customer --html out/b.html", "proof order-number": "--customer --html out/b.html", "proof for": "--customer --html out/b.html",
		"proof date": "--customer --html out/b.html", "proof valid-days": "--customer --html out/b.html", "proof place": "--customer --html out/b.html", "proof prices": "--customer --html out/b.html -q 3", "profile art": "--picture out/b.svg", "profile drop-background": "--picture out/b.svg --art banner.tif",
		"profile no-bpc": "--picture out/b.svg --art small.png", "profile pure-black": "--picture out/b.svg --art small.png",
		"profile drop-holes": "--picture out/b.svg --art small.png", "profile ignore-profile": "--picture out/b.svg --art linear.png",
		"quote csv": "--orders orders.csv", "quote resume": "--orders orders.csv"}
	// The process is named unless the option is about what takes it.
	unnamed := []string{"item", "item-colour", "process", "shop", "rules"}

	answer := func(name, line string, more ...string) string {
		t.Helper()
		if err := os.RemoveAll("out"); err != nil {
			t.Fatal(err)
		}
		if err := os.Mkdir("out", 0o755); err != nil {
			t.Fatal(err)
		}
		switch name {
		case "ledger fit", "ledger list":
			call("ledger", "add", "--ledger", "out/l.db", "--cartridge", "white", "--shop", "own.toml")
			if name == "ledger list" {
				call("ledger", "undo", "--ledger", "out/l.db")
				call("ledger", "add", "--ledger", "out/l.db", "--cartridge", "white", "--shop", "own.toml")
			}
		case "ledger undo", "ledger correct":
			call("ledger", "add", "--ledger", "out/l.db", "--kind", "test", "--sheets", "2", "--shop", "own.toml")
		}
		cache := ""
		w, out, errs := testWorld()
		w.standIn = func(keep press.Cache) *press.Press {
			cache = fmt.Sprintf("%+v", keep)
			return sharedStandIn()
		}
		args := append([]string{"laydown"}, parts(name+" "+line)...)
		code := run(append(args, more...), w)
		sum := fmt.Sprintf("%d\n%s\n%s\n%s", code, out, errs, cache)
		err := filepath.WalkDir("out", func(path string, d fs.DirEntry, err error) error {
			if err != nil || d.IsDir() {
				return err
			}
			b, err := os.ReadFile(path)
			sum += fmt.Sprintf("%s %x\n", path, sha256.Sum256(b))
			return err
		})
		if err != nil {
			t.Fatal(err)
		}
		return sum
	}
	// What a call answers with no more options is the same for all options.
	plain := map[string]string{}
	asItIs := func(name, line string) string {
		if _, ok := plain[name+line]; !ok {
			plain[name+line] = answer(name, line)
		}
		return plain[name+line]
	}
	check := func(name, line, option string, f cli.Flag) {
		t.Helper()
		value, ok := changed[option]
		if !ok {
			t.Fatalf("the test does not know another value for --%s of %s", option, name)
		}
		line += " " + beside[name+" "+option]
		has := func(o string) bool {
			_, flags := commandFlags(name)
			return slices.ContainsFunc(flags, func(f cli.Flag) bool { return f.Names()[0] == o })
		}
		if has("process") && !slices.Contains(unnamed, option) {
			line += ` -p "dark garment"`
		}
		if has("shop") && option != "shop" {
			line += " --shop own.toml"
		} else if has("shop") {
			line = strings.ReplaceAll(line, "--shop own.toml", "")
		}
		more := []string{"--" + option}
		if !isSwitch(f) {
			more = append(more, value)
		}
		if option == "press" {
			line += " --cache kept"
		}
		if option == "dpi" || option == "height" {
			line = strings.Replace(line, "-w 30mm", "", 1)
		}
		if option == "width" {
			line = strings.Replace(line, "-w 30mm", "--width 30mm", 1)
			if strings.Contains(line, "--width 30mm") {
				more = nil
				if answer(name, line) == answer(name, strings.Replace(line, "--width 30mm", "--width 31mm", 1)) {
					t.Errorf("laydown %s: another --width changes nothing", name)
				}
				return
			}
		}
		for _, o := range []string{"ledger", "sheets", "out"} {
			if o == option {
				line = strings.NewReplacer("--ledger out/l.db", "", "--sheets 2", "", "-o out/first", "").Replace(line)
				more = parts(map[string]string{"ledger": "--sheets 2 --ledger out/other.db", "sheets": "--sheets 3 --ledger out/l.db", "out": "-o out/plates"}[o])
				if strings.HasPrefix(name, "ledger ") && name != "ledger add" {
					more = parts(map[string]string{"ledger": "--ledger out/other.db", "sheets": "--sheets 4 --ledger out/l.db"}[o])
				}
			}
		}
		if name == "quote" && line != "" && strings.Contains(line+option, "orders") {
			line = strings.Replace(line, "small.png -w 30mm", "", 1)
		}
		if asItIs(name, line) == answer(name, line, more...) {
			t.Errorf("laydown %s %s: %s changes nothing", name, line, strings.Join(more, " "))
		}
	}
	// One option of all commands after the other: they share what a separation takes.
	taken := map[string]map[string]cli.Flag{} // by option and command
	for name := range calls {
		_, flags := commandFlags(name)
		for _, f := range flags {
			option := f.Names()[0]
			if taken[option] == nil {
				taken[option] = map[string]cli.Flag{}
			}
			taken[option][name] = f
		}
	}
	img := image.NewCMYK(image.Rect(0, 0, 64, 64)) // strokes of black on bare ground, and too much toner
	for i := range 64 * 64 {
		switch x, y := i%64, i/64; {
		case y < 40 && x%8 < 2:
			img.SetCMYK(x, y, color.CMYK{K: 255})
		case y > 50:
			img.SetCMYK(x, y, color.CMYK{C: 200, M: 200, Y: 200})
		}
	}
	write("own.tif", arttest.TIFF(img, nil))
	// Options that ask for a separation of their own take seconds each.
	slow := []string{"press", "black", "no-bpc", "intent", "pure-black", "keep-pure", "ignore-profile"}
	options := reference.Sweep(t, slices.Sorted(maps.Keys(taken)), func(option string) bool { return !slices.Contains(slow, option) })
	for _, option := range options {
		by := taken[option]
		if option == "keep-pure" {
			continue
		}
		// Of commands that take an option in the same way, one in twenty.
		at := -1
		names := reference.Sweep(t, slices.Sorted(maps.Keys(by)), func(string) bool { at++; return at%20 == 0 })
		for _, name := range names {
			f := by[name]
			line := calls[name]
			if name == "ticket" && option == "tac" { // a separation heeds the limit: only the press's own numbers exceed it
				line = strings.Replace(line, "small.png", "own.tif", 1)
			}
			if option == "ignore-profile" {
				line = strings.Replace(line, "small.png", "linear.png", 1)
			}
			check(name, line, option, f)
		}
	}
	if !slices.Contains(options, "keep-pure") {
		return
	}
	t.Run("keep-pure", func(t *testing.T) {
		write("small.tif", arttest.TIFF(img, reference.File(t, reference.Profile(t, "cmyk"))))
		for name, f := range taken["keep-pure"] {
			check(name, strings.Replace(calls[name], "small.png", "small.tif", 1), "keep-pure", f)
		}
	})
}

// commandFlags finds a command by its full name, and its options.
func commandFlags(name string) (*cli.Command, []cli.Flag) {
	w, _, _ := testWorld()
	words := strings.Fields(name)
	cmd := newApp(w).Command(words[0])
	if len(words) > 1 {
		cmd = cmd.Command(words[1])
	}
	return cmd, cmd.Flags
}
