package form

import (
	"bytes"
	"fmt"
	"maps"
	"os"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/pelletier/go-toml/v2"
	"github.com/pelletier/go-toml/v2/unstable"
)

// lines lists every value of a file by its path.
func lines(n *Node, p Path, to map[string]int) map[string]int {
	if len(p) > 0 {
		to[p.String()] = n.line
	}
	for _, c := range n.order {
		lines(c, p.To(c.key), to)
	}
	for i, c := range n.items {
		lines(c, p.To(i), to)
	}
	return to
}

// The comment at the end of a line names the paths that stand there.
const placed = `#
name = "x" #= name
"currency" = ''' #= currency
a = 1
'''
layout.margin = "1 mm" #= layout layout.margin
layout . "gap" = "1 mm" #= layout.gap

[[printer]] #= printer printer[0]
name = "a" #= printer[0].name
toner.cyan.price = 1 #= printer[0].toner printer[0].toner.cyan printer[0].toner.cyan.price
[printer.toner.black] #= printer[0].toner.black
yield_pages = 5 #= printer[0].toner.black.yield_pages
[[printer.wear]] #= printer[0].wear printer[0].wear[0]
[[printer.wear]] #= printer[0].wear[1]
page = "A4" #= printer[0].wear[1].page
[[ printer ]] # again #= printer[1]
name = "a" #= printer[1].name
	[ printer . toner . 'black' ] #= printer[1].toner printer[1].toner.black
	yield_pages = 5 #= printer[1].toner.black.yield_pages
[[printer.wear]] #= printer[1].wear printer[1].wear[0]
page = "A4" #= printer[1].wear[0].page
[costs.deep.er] #= costs costs.deep.er
[costs.deep] # its own header #= costs.deep
at = 1 #= costs.deep.at
[pricing] #= pricing
quantities = [ 1, #= pricing.quantities pricing.quantities[0]
	12, 13, #= pricing.quantities[1] pricing.quantities[2]

	48] #= pricing.quantities[3]
rate = [ { from = 1, each = "5" }, #= pricing.rate pricing.rate[0] pricing.rate[0].from pricing.rate[0].each
	{ from = 2, #= pricing.rate[1] pricing.rate[1].from
	  each.x = "4" } ] #= pricing.rate[1].each pricing.rate[1].each.x
nested = [[1], [ #= pricing.nested pricing.nested[0] pricing.nested[0][0] pricing.nested[1]
	2]] #= pricing.nested[1][0]
[[process]] #= process process[0]
[[process.step]] #= process[0].step process[0].step[0]
[[process.step]] #= process[0].step[1]
[[process.step]] #= process[0].step[2]
seconds = 5 #= process[0].step[2].seconds
"odd key" = 1 #= process[0].step[2]."odd\u0020key"`

// TestLines reads a file that is written in every way that TOML has.
func TestLines(t *testing.T) {
	want := map[string]int{}
	for i, l := range strings.Split(placed, "\n") {
		_, paths, _ := strings.Cut(l, "#= ")
		for _, p := range strings.Fields(paths) {
			want[strings.ReplaceAll(p, `\u0020`, " ")] = i + 1
		}
	}
	for name, v := range map[string]string{
		"as it is": placed, "CRLF": strings.ReplaceAll(placed, "\n", "\r\n"), "BOM": "\ufeff" + placed, "tabs": strings.ReplaceAll(placed, " = ", "\t=\t"), "end of line": placed + "\n",
	} {
		root, found := Read([]byte(v))
		if len(found) > 0 {
			t.Fatalf("%s: %v", name, found)
		}
		got := lines(root, nil, map[string]int{})
		for _, p := range slices.Sorted(maps.Keys(want)) {
			if got[p] != want[p] {
				t.Errorf("%s: %s on line %d, want %d", name, p, got[p], want[p])
			}
			delete(got, p)
		}
		for _, p := range slices.Sorted(maps.Keys(got)) {
			t.Errorf("%s: %s on line %d, and expected nowhere", name, p, got[p])
		}
	}
}

func TestFind(t *testing.T) {
	root, _ := Read([]byte("\n[[printer]]\nname = \"a\"\n[costs]\n"))
	for _, c := range []struct {
		at   Path
		line int
		all  bool
	}{
		{nil, 1, true}, {Path{"printer", 0, "name"}, 3, true}, {Path{"printer", 0, "black"}, 2, false}, {Path{"printer", 1, "name"}, 2, false},
		{Path{"printer", 0, "toner", "black", "price"}, 2, false}, {Path{"costs"}, 4, true}, {Path{"costs", 0}, 4, true}, {Path{"costs", 1}, 4, false}, {Path{"labour", "rate_hour"}, 1, false},
	} {
		if n, all := root.Find(c.at); n.line != c.line || all != c.all {
			t.Errorf("%v: line %d, all %v; want %d, %v", c.at, n.line, all, c.line, c.all)
		}
	}
}

// load reads a form as the shop file is read.
func load(text string) error {
	root, found := Read([]byte(text))
	return All(found, "shop.toml", root)
}

// TestNotTOML has what cannot be read, or is given twice. #! marks the line of the
// mistake.
func TestNotTOML(t *testing.T) {
	for _, c := range []struct{ text, want string }{
		{"\n[layout #!\n", "the table's name is not closed"},
		{"\n[layout]\nmargin = \"5 mm\n#!", "margin"}, // the line ends within the text
		{"\n[[printer]]\nname = \"a\"\n[printer.toner.black]\nprice = 74,00 #!\n", `printer.toner.black "a": price: something stands behind the value`},
		{"[pricing]\nmargin_percent = 5\nquantities = [\n1,\n2;#!\n3]", "pricing: quantities: the list is not closed"},
		{"a = 1 # b = 2\n# c = 3\n\nd.\"e f\" = 01 #!", `d."e f": a number must not begin with 0`},
		{"[labour]\nrate_hour #!\n", "labour: rate_hour: there is no = behind the key"},
		{"name = \"a\"\nname = \"b\" #!\n", "key name is already defined"},
		{"[[item]]\nname = \"tee\"\nprice = 1\nprice = 2 #!\n", `item "tee": key price is already defined`},
		{"[pricing]\nrate = [\n{from = 1,\nfrom = 2}] #!\n", "pricing.rate: key from is already defined"},
		{"[layout]\n[match]\n[layout] #!\nmargin = 1", "layout: table layout already exists: put its keys under one header"},
		{"[media]\nname = \"a\"\n[[media]] #!\nname = \"b\"\n", ": [[media]] follows [media] in line 1: write [[media]] in both places"},
		{"[[media]]\nname = \"a\"\n[media] #!\nname = \"b\"\n", ": [media] follows [[media]] in line 1: write [[media]] in both places"},
		{"[[process]]\n[process.step]\n[[process.step]] #!\n", ": [[process.step]] follows [process.step] in line 2: write [[process.step]] in both places"},
		{"item = 5\n[[item]] #!\n", "item: item is given above already, in another way: leave one of them out"},
		{"[printer]\n[printer.toner]\nx.y = 5\n[printer.toner.x] #!", "printer.toner.x: x is given above already, in another way: leave one of them out"},
		{"a = 1\na.b = 2 #!\n", "a.b: key a is already defined"},
		{"[labour]\n[costs]\nx = {a = 1}\nx.b = 2 #!\n", "costs: x.b: key x is already defined"},
	} {
		line := strings.Count(c.text[:strings.Index(c.text, "#!")], "\n") + 1
		if strings.HasSuffix(c.text, "\n#!") {
			line--
		}
		for _, text := range []string{c.text, "\ufeff" + strings.ReplaceAll(c.text, "\n", "\r\n")} {
			err := load(text)
			if want := fmt.Sprintf("shop.toml:%d: ", line); err == nil || !strings.HasPrefix(err.Error(), want) || !strings.Contains(err.Error(), c.want) || strings.Contains(err.Error(), "\n") {
				t.Errorf("%q:\n%v, want\n%s%s", text, err, want, c.want)
			}
		}
	}
	for _, mark := range []string{"\xff\xfe", "\xfe\xff"} {
		err := load(mark + "\n\x00a\x00=\x001\x00")
		if want := "shop.toml:1: the file is in UTF-16: save it as UTF-8"; err == nil || err.Error() != want {
			t.Errorf("%v, want %s", err, want)
		}
	}
	err := load("a = 1\na = 2\na = 3\n")
	if want := "shop.toml:2: key a is already defined: leave one of them out\nshop.toml:3: key a is already defined: leave one of them out"; err == nil || err.Error() != want {
		t.Errorf("%v, want %s", err, want)
	}
}

var starts = regexp.MustCompile(`^fuzz:[0-9]+: `)

// FuzzRead reads anything: every line must be one of the file, and whatever the
// decoder takes must have the same keys and entries here.
func FuzzRead(f *testing.F) {
	if demo, err := os.ReadFile("../shop/demo.toml"); err != nil {
		f.Fatal(err)
	} else {
		f.Add(demo)
	}
	f.Add([]byte(placed))
	for _, s := range []string{"", "a", "a=", "[a", "[[a]]\n[a.b]\na=[{b=1}]", "a=1\n[a]\n[[a]]\na.b=2", "a=[1]\n[a.b]\nc=1", "a = \"\"\"\nx", "[a]\nb.c=[[],{}]\n[a.b]", "\ufeff[x]\r\ny=1\r\n", "a={b=1,\nb=2}"} {
		f.Add([]byte(s))
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		root, found := Read(data)
		last := bytes.Count(data, []byte("\n")) + 1
		for _, m := range found {
			if m.line < 1 || m.line > last {
				t.Errorf("line %d of %d: %s", m.line, last, m.what)
			}
		}
		var walk func(n *Node)
		walk = func(n *Node) {
			if n.line < 1 || n.line > last {
				t.Errorf("%q on line %d of %d", n.key, n.line, last)
			}
			for _, c := range n.order {
				walk(c)
			}
			for _, c := range n.items {
				walk(c)
			}
		}
		walk(root)
		if err := All(found, "fuzz", root); err != nil && !starts.MatchString(err.Error()) {
			t.Errorf("no line: %v", err)
		}
		var v map[string]any
		err := toml.Unmarshal(bytes.TrimPrefix(data, []byte("\ufeff")), &v)
		if err == nil && len(found) > 0 {
			t.Errorf("the decoder takes what has the mistake %s", found[0].what)
		}
		if err == nil {
			same(t, root, v)
		}
	})
}

func same(t *testing.T, n *Node, v any) {
	switch v := v.(type) {
	case map[string]any:
		if n.kind != unstable.Table || len(n.order) != len(v) || len(n.under) != len(v) {
			t.Fatalf("%q: %d keys as %v, want %d", n.key, len(n.order), n.kind, len(v))
		}
		for k, of := range v {
			if n.under[k] == nil {
				t.Fatalf("no key %q", k)
			}
			same(t, n.under[k], of)
		}
	case []any:
		if n.kind != unstable.Array || len(n.items) != len(v) {
			t.Fatalf("%q: %d entries as %v, want %d", n.key, len(n.items), n.kind, len(v))
		}
		for i, of := range v {
			same(t, n.items[i], of)
		}
	case string:
		if n.kind != unstable.String || n.text != v {
			t.Fatalf("%q: %q, want %q", n.key, n.text, v)
		}
	}
}
