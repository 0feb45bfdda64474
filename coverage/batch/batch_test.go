package batch

import (
	"bytes"
	"errors"
	"image"
	"image/png"
	"os"
	"path/filepath"
	"reflect"
	"slices"
	"strings"
	"testing"

	"github.com/shopspring/decimal"

	"laydown/coverage/artwork"
	"laydown/coverage/limit"
	"laydown/coverage/order/ordertest"
	"laydown/coverage/price"
	"laydown/coverage/proof"
)

const orders = `art,quantity,item,process,width
heron-badge.png,12,black tee,dark garment,80mm
none.png,3,,,
heron-badge.png,some,,,
regatta-banner.tif,5,white tee,light garment,150mm
heron-badge.png,7,pink tee,,
`

// TestRun works a list out in which rows are bad in several ways, then again from
// its journal with the last result cut short.
func TestRun(t *testing.T) {
	rows, err := readRows([]byte(orders), "../../testdata/demo", 0)
	if err != nil {
		t.Fatal(err)
	}
	o := ordertest.New(t, "")
	steps := 0
	var kept bytes.Buffer
	got, err := run(o, "1", rows, &journal{to: &kept}, func() { steps++ })
	if err != nil {
		t.Fatal(err)
	}
	if steps != 5 || Failed(got) != 3 || strings.Count(kept.String(), "\n") != 2 {
		t.Errorf("%d steps, %d failed, journal %q", steps, Failed(got), kept.String())
	}
	for i, want := range []string{"", "no such file", `quantity "some"`, "", `no item is called "pink tee"`} {
		if (got[i].Error == "") != (want == "") || !strings.Contains(got[i].Error, want) {
			t.Errorf("row %d: %q, want %q", i, got[i].Error, want)
		}
	}
	// A row says what the order by itself says.
	o1 := ordertest.Badge(t)
	o1.ItemName, o1.ProcessName, o1.Wish.WidthMM, o1.Quantities = "black tee", "dark garment", 80, []int{12}
	p, err := proof.Make(o1, proof.Quotation)
	if err != nil {
		t.Fatal(err)
	}
	if q := p.Quoted.Quantities[0]; got[0].PriceTotal != q.PriceTotal || got[0].CostEach != q.CostEach.Total.StringFixed(price.Places) || got[0].Sheets != q.Sheets {
		t.Errorf("row %+v, order %+v", got[0], q)
	}

	cut := kept.String()
	cut = cut[:len(cut)-20]
	done := readJournal([]byte(cut))
	if len(done) != 1 {
		t.Fatalf("%d results in a journal cut short, want 1", len(done))
	}
	var more bytes.Buffer
	again, err := run(o, "1", rows, &journal{known: done, to: &more}, func() {})
	if err != nil || strings.Count(more.String(), "\n") != 1 {
		t.Errorf("went on with %q, %v; want one row anew", more.String(), err)
	}
	for i := range got {
		if !reflect.DeepEqual(again[i], got[i]) {
			t.Errorf("row %d is %+v, was %+v", i, again[i], got[i])
		}
	}
	// Other figures are worked out anew.
	var other bytes.Buffer
	o.Shop.Labour.RateHour = o.Shop.Labour.RateHour.Mul(decimal.NewFromInt(2))
	if _, err := run(o, "1", rows, &journal{known: readJournal(kept.Bytes()), to: &other}, func() {}); err != nil || strings.Count(other.String(), "\n") != 2 {
		t.Errorf("another shop took over results: %q, %v", other.String(), err)
	}
}

// TestSameBytes takes over what is known of a file for another with the same bytes, under the
// other's own name, and nothing of another version of the program.
func TestSameBytes(t *testing.T) {
	dir := t.TempDir()
	var art bytes.Buffer
	if err := png.Encode(&art, image.NewGray(image.Rect(0, 0, 60, 60))); err != nil {
		t.Fatal(err)
	}
	for _, name := range []string{"a.png", "b.png"} {
		if err := os.WriteFile(filepath.Join(dir, name), art.Bytes(), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	first, err := readRows([]byte("art,quantity,width\na.png,3,20\n"), dir, 0)
	if err != nil {
		t.Fatal(err)
	}
	both, err := readRows([]byte("art,quantity,width\nb.png,3,20\na.png,3,20\n"), dir, 0)
	if err != nil {
		t.Fatal(err)
	}
	o := ordertest.New(t, "")
	var kept, more, later bytes.Buffer
	if _, err := run(o, "1", first, &journal{to: &kept}, func() {}); err != nil {
		t.Fatal(err)
	}
	got, err := run(o, "1", both, &journal{known: readJournal(kept.Bytes()), to: &more}, func() {})
	if err != nil || more.Len() > 0 || got[0].Art != "b.png" || got[1].Art != "a.png" || got[0].Line != 2 || got[1].Line != 3 {
		t.Errorf("%+v, %v", got, err)
	}
	if _, err := run(o, "2", first, &journal{known: readJournal(kept.Bytes()), to: &later}, func() {}); err != nil || later.Len() == 0 {
		t.Errorf("another version took over results: %q, %v", later.String(), err)
	}
}

// TestOpenJournal goes on with a journal that broke off within a line.
func TestOpenJournal(t *testing.T) {
	path := filepath.Join(t.TempDir(), "done.jsonl")
	if err := os.WriteFile(path, []byte(`{"line":2,"key":"a","price_each":"1.00"}`+"\n"+`{"line":3,"ke`), 0o600); err != nil {
		t.Fatal(err)
	}
	j, err := openJournal(path, 1<<20)
	if err != nil {
		t.Fatal(err)
	}
	if r, ok := j.done("a"); !ok || r.PriceEach != "1.00" {
		t.Errorf("the first result is lost: %+v", j.known)
	}
	if err := j.keep(Result{Line: 4, Key: "b"}); err != nil {
		t.Fatal(err)
	}
	if err := j.close(); err != nil {
		t.Fatal(err)
	}
	b, err := os.ReadFile(path)
	if err != nil || len(readJournal(b)) != 2 {
		t.Errorf("%q, %v", b, err)
	}
	if _, err := openJournal(t.TempDir(), 1<<20); err == nil {
		t.Error("a folder passed for a journal")
	}
}

type full struct{}

func (full) Write([]byte) (int, error) { return 0, errors.New("disk full") }

func TestRunSaysWhenTheJournalFails(t *testing.T) {
	rows, err := readRows([]byte("art,quantity\nheron-badge.png,1\n"), "../../testdata/demo", 0)
	if err != nil {
		t.Fatal(err)
	}
	got, err := run(ordertest.New(t, ""), "1", rows, &journal{to: full{}}, func() {})
	if err == nil {
		t.Error("a full disk was passed over")
	}
	if len(got) != 1 || got[0].PriceTotal == "" {
		t.Errorf("the results went with the journal: %+v", got)
	}
}

func TestReadRefuses(t *testing.T) {
	for data, want := range map[string]string{
		"":                         "empty",
		"art\n":                    `"quantity" is missing`,
		"art,quantity\n":           "no orders",
		"art,quantity,widht\n":     "is width meant?",
		"art,quantity\n\"a,1\nb,2": "line 2: a quote (\") is not closed",
	} {
		if _, err := readRows([]byte(data), "", 0); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%q: %v, want %q", data, err, want)
		}
	}
	// Columns of the shop's own are passed over, and size is read either way.
	rows, err := readRows([]byte("art,quantity,customer,size\na.png,1,Lund,80mm\na.png,1,Lund,80x60mm\na.png,1,Lund,big\n"), "", 0)
	if err != nil || rows[0].Wish.WidthMM != 80 || rows[1].Wish.HeightMM != 60 || rows[2].Fault == nil {
		t.Errorf("%+v, %v", rows, err)
	}
	// A picture that no decoder reads is a row's fault.
	dir := t.TempDir()
	if err := os.WriteFile(filepath.Join(dir, "a.png"), []byte("\x89PNG\r\n\x1a\nrubbish"), 0o600); err != nil {
		t.Fatal(err)
	}
	rows, err = readRows([]byte("quantity,art,width\n1,a.png,80mm\n1,a.png,wide\n1,,\n"), dir, 0)
	if err != nil {
		t.Fatal(err)
	}
	got, err := run(ordertest.New(t, ""), "1", rows, nil, func() {})
	if err != nil || Failed(got) != 3 || !strings.Contains(got[0].Error, "damaged") || !strings.Contains(got[1].Error, "width") ||
		got[2].Error != "art is empty: write the name of an art file" || got[2].Art != "" {
		t.Errorf("%+v, %v", got, err)
	}
}

func FuzzRead(f *testing.F) {
	f.Add([]byte(orders))
	f.Fuzz(func(t *testing.T, b []byte) {
		if rows, err := readRows(b, "x", 0); err == nil && len(rows) == 0 {
			t.Error("no rows and no error")
		}
	})
}

func FuzzReadJournal(f *testing.F) {
	f.Add([]byte(`{"line":2,"key":"a","price_each":"1.00"}`))
	f.Fuzz(func(t *testing.T, b []byte) { readJournal(b) })
}

// TestReadInEveryDialect reads the same orders as different programs write them.
func TestReadInEveryDialect(t *testing.T) {
	want := []row{{Line: 2, Art: "a.png", Quantity: 12, Item: "Größe M", Wish: artwork.Wish{WidthMM: 85}}, {Line: 3, Art: "b.png", Quantity: 3, Wish: artwork.Wish{WidthMM: 76.2}}}
	for name, data := range map[string]string{
		"comma":        "art,quantity,item,width\na.png,12,Größe M,8.5 cm\nb.png,3,,3in\n",
		"semicolon":    "Art;Qty;Item;Width\r\na.png;12;Größe M;8,5 cm\r\nb.png;3;;3in\r\n",
		"tab":          "ART\tQUANTITY\tITEM\tWIDTH (mm)\na.png\t12\tGröße M\t85\nb.png\t3\t\t76,2\n",
		"windows-1252": "art;qty;item;width\na.png;12;Gr\xf6\xdfe M;85\nb.png;3;;3 in\n",
		"quoted":       "\ufeff\"art\",\"quantity\",\"item\",\"width_cm\"\n\"a.png\",\"12\",\"Größe M\",\"8,5\"\n\"b.png\",\"3\",\"\",\"7.62\"\n",
	} {
		got, err := readRows([]byte(data), "", 0)
		if err != nil || !reflect.DeepEqual(got, want) {
			t.Errorf("%s: %+v, %v; want %+v", name, got, err, want)
		}
	}
}

// TestRowsFallBack leaves to the order what a row leaves empty.
func TestRowsFallBack(t *testing.T) {
	rows, err := readRows([]byte("art;quantity;item;process\nheron-badge.png;2;;\nheron-badge.png;2;white tee;white film\n"), "../../testdata/demo", 0)
	if err != nil {
		t.Fatal(err)
	}
	o := ordertest.New(t, "")
	o.ItemName, o.ProcessName = "black tee", "light garment"
	got, err := run(o, "1", rows, nil, func() {})
	if err != nil || Failed(got) > 0 {
		t.Fatalf("%+v, %v", got, err)
	}
	for i, want := range []string{"black tee, light garment", "white tee, white film"} {
		if is := got[i].Item + ", " + got[i].Process; is != want {
			t.Errorf("row %d: %s, want %s", i, is, want)
		}
	}
}

// TestQuote works out a list that is a file, beside its art, and goes on from its journal.
func TestQuote(t *testing.T) {
	dir := t.TempDir()
	art, err := os.ReadFile("../../testdata/demo/heron-badge.png")
	if err != nil {
		t.Fatal(err)
	}
	list, kept := filepath.Join(dir, "orders.csv"), filepath.Join(dir, "done.jsonl")
	for name, data := range map[string][]byte{filepath.Join(dir, "a.png"): art, list: []byte("art,quantity\na.png,3\nb.png,2\n"), filepath.Join(dir, "empty.csv"): nil} {
		if err := os.WriteFile(name, data, 0o600); err != nil {
			t.Fatal(err)
		}
	}
	o := ordertest.New(t, "")
	var steps, stops int
	begin := func(rows int) (step, stop func()) {
		if rows != 2 {
			t.Errorf("%d rows", rows)
		}
		return func() { steps++ }, func() { stops++ }
	}
	var before []Result
	for range 2 {
		l, err := Open(list, limit.Usual())
		if err != nil {
			t.Fatal(err)
		}
		if arts := l.Arts(); !slices.Equal(arts, []string{filepath.Join(dir, "a.png"), filepath.Join(dir, "b.png")}) {
			t.Errorf("the art is %v", arts)
		}
		got, err := l.Quote(o, "1", kept, begin)
		if err != nil || len(got) != 2 || Failed(got) != 1 || got[1].Error != filepath.Join(dir, "b.png")+": there is no such file: check the name and the folder" {
			t.Fatalf("%+v, %v", got, err)
		}
		if before != nil && !reflect.DeepEqual(got, before) {
			t.Errorf("%+v, then %+v", before, got)
		}
		before = got
	}
	if b, err := os.ReadFile(kept); err != nil || bytes.Count(b, []byte("\n")) != 1 {
		t.Errorf("the journal is %q, %v; want one line", b, err)
	}
	if steps != 4 || stops != 2 {
		t.Errorf("%d steps and %d stops of two rows, twice", steps, stops)
	}
	never := func(int) (step, stop func()) { t.Error("work began"); return nil, nil }
	for _, c := range []struct{ list, journal, item, want string }{
		{"none.csv", "", "", "none.csv: there is no such file"},
		{"empty.csv", "", "", "empty.csv: is empty"},
		{"orders.csv", dir, "", dir + ": is a folder"},
		{"orders.csv", filepath.Join(dir, "a.png"), "", "a.png: is no journal"},
		{"orders.csv", list, "", "orders.csv: is no journal"},
		{"orders.csv", os.DevNull, "", "is no regular file"},
		{"orders.csv", filepath.Join(dir, "new.jsonl"), "nonsense", `item: no item is called "nonsense"`},
	} {
		o.ItemName = c.item
		var got []Result
		l, err := Open(filepath.Join(dir, c.list), limit.Usual())
		if err == nil {
			got, err = l.Quote(o, "1", c.journal, never)
		}
		if got != nil || err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%+v: %v, %v", c, got, err)
		}
	}
	if _, err := os.Stat(filepath.Join(dir, "new.jsonl")); err == nil {
		t.Error("a journal was made for nothing")
	}
}
