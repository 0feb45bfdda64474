package proof

import (
	"bytes"
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

const list = `art,quantity,item,process,width
heron-badge.png,12,black tee,dark garment,80mm
none.png,3,,,
heron-badge.png,some,,,
regatta-banner.tif,5,white tee,light garment,150mm
heron-badge.png,7,pink tee,,
`

// TestBatch works a list out in which rows are bad in several ways, then again from
// its journal with the last result cut short.
func TestBatch(t *testing.T) {
	rows, err := ParseBatch([]byte(list), "../../testdata/demo")
	if err != nil {
		t.Fatal(err)
	}
	o := order(t, "")
	steps := 0
	var journal bytes.Buffer
	got, err := Batch(o, rows, "c", nil, &journal, func() { steps++ })
	if err != nil {
		t.Fatal(err)
	}
	if steps != 5 || BatchFailed(got) != 3 || strings.Count(journal.String(), "\n") != 2 {
		t.Errorf("%d steps, %d failed, journal %q", steps, BatchFailed(got), journal.String())
	}
	for i, want := range []string{"", "no such file", `quantity "some"`, "", `no item is called "pink tee"`} {
		if (got[i].Error == "") != (want == "") || !strings.Contains(got[i].Error, want) {
			t.Errorf("row %d: %q, want %q", i, got[i].Error, want)
		}
	}
	// A row says what the order by itself says.
	o1 := order(t, "../../testdata/demo/heron-badge.png")
	o1.Item, o1.Process, o1.Wish.WidthMM, o1.Quantities = "black tee", "dark garment", 80, []int{12}
	p, err := Make(o1, Quotation)
	if err != nil {
		t.Fatal(err)
	}
	if q := p.Quoted.Quantities[0]; got[0].PriceTotal != q.PriceTotal || got[0].CostEach != q.CostEach.Total || got[0].Sheets != q.Sheets {
		t.Errorf("row %+v, order %+v", got[0], q)
	}

	cut := journal.String()
	cut = cut[:len(cut)-20]
	done := ReadJournal([]byte(cut))
	if len(done) != 1 {
		t.Fatalf("%d results in a journal cut short, want 1", len(done))
	}
	var more bytes.Buffer
	again, err := Batch(o, rows, "c", done, &more, func() {})
	if err != nil || strings.Count(more.String(), "\n") != 1 {
		t.Errorf("went on with %q, %v; want one row anew", more.String(), err)
	}
	for i := range got {
		if again[i] != got[i] {
			t.Errorf("row %d is %+v, was %+v", i, again[i], got[i])
		}
	}
	// Other figures are worked out anew.
	var other bytes.Buffer
	if _, err := Batch(o, rows, "another shop", ReadJournal(journal.Bytes()), &other, func() {}); err != nil || strings.Count(other.String(), "\n") != 2 {
		t.Errorf("another shop took over results: %q, %v", other.String(), err)
	}
}

type full struct{}

func (full) Write([]byte) (int, error) { return 0, errors.New("disk full") }

func TestBatchSaysWhenTheJournalFails(t *testing.T) {
	rows, err := ParseBatch([]byte("art,quantity\nheron-badge.png,1\n"), "../../testdata/demo")
	if err != nil {
		t.Fatal(err)
	}
	if _, err := Batch(order(t, ""), rows, "", nil, full{}, func() {}); err == nil {
		t.Error("a full disk was passed over")
	}
}

func TestParseBatchRefuses(t *testing.T) {
	for data, want := range map[string]string{
		"":                         "empty",
		"art\n":                    `"quantity" is missing`,
		"art,quantity\n":           "no orders",
		"art,quantity,widht\n":     "is width meant?",
		"art,quantity\n\"a,1\nb,2": "extraneous or missing",
	} {
		if _, err := ParseBatch([]byte(data), ""); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%q: %v, want %q", data, err, want)
		}
	}
	// Columns of the shop's own are passed over, and size is read either way.
	rows, err := ParseBatch([]byte("art,quantity,customer,size\na.png,1,Lund,80mm\na.png,1,Lund,80x60mm\na.png,1,Lund,big\n"), "")
	if err != nil || rows[0].Wish.WidthMM != 80 || rows[1].Wish.HeightMM != 60 || rows[2].Fault == nil {
		t.Errorf("%+v, %v", rows, err)
	}
	// A picture that no decoder reads is a row's fault.
	dir := t.TempDir()
	if err := os.WriteFile(filepath.Join(dir, "a.png"), []byte("\x89PNG\r\n\x1a\nrubbish"), 0o600); err != nil {
		t.Fatal(err)
	}
	rows, err = ParseBatch([]byte("quantity,art,width\n1,a.png,80mm\n1,a.png,wide\n1,,\n"), dir)
	if err != nil {
		t.Fatal(err)
	}
	got, err := Batch(order(t, ""), rows, "", nil, nil, func() {})
	if err != nil || BatchFailed(got) != 3 || !strings.Contains(got[0].Error, "damaged") || !strings.Contains(got[1].Error, "width") {
		t.Errorf("%+v, %v", got, err)
	}
}

func FuzzParseBatch(f *testing.F) {
	f.Add([]byte(list))
	f.Fuzz(func(t *testing.T, b []byte) {
		if rows, err := ParseBatch(b, "x"); err == nil && len(rows) == 0 {
			t.Error("no rows and no error")
		}
	})
}

func FuzzReadJournal(f *testing.F) {
	f.Add([]byte(`{"line":2,"key":"a","price_each":"1.00"}`))
	f.Fuzz(func(t *testing.T, b []byte) { ReadJournal(b) })
}
