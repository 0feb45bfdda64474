package proof

import (
	"bufio"
	"bytes"
	"crypto/sha256"
	"encoding/csv"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"strconv"
	"strings"
	"sync"

	"github.com/jedib0t/go-pretty/v6/table"

	"laydown/coverage/artwork"
	lists "laydown/coverage/table"
	"laydown/coverage/unit"
)

// BatchRow is one order of a list.
type BatchRow struct {
	Line     int // of the file
	Art      string
	Item     string // "" for the shop's default
	Process  string // likewise
	Wish     artwork.Wish
	Quantity int
	Fault    error // what is wrong with the row; it is reported, and the others go on
}

// BatchResult is what came of one row. Amounts are decimal text.
type BatchResult struct {
	Line       int    `json:"line"`
	Art        string `json:"art"`
	Item       string `json:"item"`
	Process    string `json:"process"`
	Quantity   int    `json:"quantity"`
	Sheets     int    `json:"sheets"`
	Currency   string `json:"currency"`
	CostEach   string `json:"cost_each"`
	CostTotal  string `json:"cost_total"`
	PriceEach  string `json:"price_each"`
	PriceTotal string `json:"price_total"`
	Margin     string `json:"margin_percent"`
	Error      string `json:"error,omitempty"`
	// Key names everything that the result follows from.
	Key string `json:"key"`
}

// batchColumns are the columns that are read; size is a width, or width x height.
var batchColumns = []string{"art", "quantity", "item", "process", "size", "width", "height", "dpi"}

// mostRows bounds a list.
const mostRows = 100_000

// ParseBatch reads a CSV file of orders: columns art and quantity, and as wanted item,
// process, size, width, height and dpi; others are passed over. Art is named relative to folder. A bad row carries
// its fault; an error says that the file as a whole cannot be read.
func ParseBatch(data []byte, folder string) ([]BatchRow, error) {
	c := csv.NewReader(bytes.NewReader(data))
	c.TrimLeadingSpace = true
	c.FieldsPerRecord = -1
	at, err := header(c, "art", "quantity")
	if err != nil {
		return nil, err
	}
	for name := range at {
		if near := lists.Nearest(name, batchColumns); !slices.Contains(batchColumns, name) && near != "" {
			return nil, fmt.Errorf("no column is called %q; is %s meant? The columns are %s; others are passed over", name, near, strings.Join(batchColumns, ", "))
		}
	}
	var rows []BatchRow
	for {
		row, err := c.Read()
		if err == io.EOF {
			break
		}
		if err != nil { // a stray quote: what follows cannot be told apart
			return nil, err
		}
		line, _ := c.FieldPos(0)
		get := func(name string) string {
			if i, ok := at[name]; ok && i < len(row) {
				return strings.TrimSpace(row[i])
			}
			return ""
		}
		r := BatchRow{Line: line, Art: get("art"), Item: get("item"), Process: get("process")}
		r.Fault = r.read(get)
		if r.Art != "" && !filepath.IsAbs(r.Art) {
			r.Art = filepath.Join(folder, r.Art)
		}
		if rows = append(rows, r); len(rows) > mostRows {
			return nil, fmt.Errorf("there are more than %d rows: split the list", mostRows)
		}
	}
	if len(rows) == 0 {
		return nil, errors.New("there are no orders in it: write one a line below the first row")
	}
	return rows, nil
}

func (r *BatchRow) read(get func(string) string) error {
	if r.Art == "" {
		return errors.New("names no art")
	}
	n, err := strconv.Atoi(get("quantity"))
	if err != nil || n <= 0 || n > mostCopies {
		return fmt.Errorf("quantity %q: write a whole number above 0", get("quantity"))
	}
	r.Quantity = n
	if s := get("size"); s != "" {
		if l, err := unit.ParseLength(s); err == nil && l > 0 {
			r.Wish.WidthMM = l.MM()
		} else if v, err := unit.ParseSheet(s); err == nil {
			r.Wish.WidthMM, r.Wish.HeightMM = v.WidthMM, v.HeightMM
		} else {
			return fmt.Errorf("size %q: write a width such as 80mm, or 80x60mm", s)
		}
	}
	for name, to := range map[string]*float64{"width": &r.Wish.WidthMM, "height": &r.Wish.HeightMM} {
		if s := get(name); s != "" {
			l, err := unit.ParseLength(s)
			if err != nil || l <= 0 {
				return fmt.Errorf("%s %q: write a length such as 80mm", name, s)
			}
			*to = l.MM()
		}
	}
	if s := get("dpi"); s != "" {
		v, err := strconv.ParseFloat(s, 64)
		if err != nil || !(v > 0) {
			return fmt.Errorf("dpi %q: write a number above 0", s)
		}
		r.Wish.DPI = v
	}
	return nil
}

// ReadJournal reads the results of an earlier run by their keys. Lines that are cut
// short are passed over.
func ReadJournal(data []byte) map[string]BatchResult {
	done := map[string]BatchResult{}
	s := bufio.NewScanner(bytes.NewReader(data))
	s.Buffer(nil, 1<<20)
	for s.Scan() {
		var r BatchResult
		if json.Unmarshal(s.Bytes(), &r) == nil && r.Key != "" && r.Error == "" {
			done[r.Key] = r
		}
	}
	return done
}

// Batch works out all rows on all cores. o carries what is the same for all; what
// identifies it (shop file, press, options) is given as context, so that results of
// other figures are not taken over. done is what [ReadJournal] gave, and may be nil;
// journal, if it is not nil, gets a line for every new result as soon as it is there;
// failures are tried again next time. progress is called after every row. Results are in the order of the rows; an error
// says that the journal could not be written.
func Batch(o Order, rows []BatchRow, context string, done map[string]BatchResult, journal io.Writer, progress func()) ([]BatchResult, error) {
	results := make([]BatchResult, len(rows))
	var one sync.Mutex
	var fault error
	next := make(chan int)
	var wg sync.WaitGroup
	for range runtime.GOMAXPROCS(0) {
		wg.Go(func() {
			for i := range next {
				r, old := rows[i].result(o, context, done)
				results[i] = r
				one.Lock()
				if journal != nil && !old && r.Error == "" && fault == nil {
					line, err := json.Marshal(r)
					if err == nil {
						_, err = journal.Write(append(line, '\n'))
					}
					fault = err
				}
				progress()
				one.Unlock()
			}
		})
	}
	for i := range rows {
		next <- i
	}
	close(next)
	wg.Wait()
	return results, fault
}

// result works out one row, or takes it from an earlier run.
func (r BatchRow) result(o Order, context string, done map[string]BatchResult) (out BatchResult, old bool) {
	out = BatchResult{Line: r.Line, Art: filepath.Base(r.Art), Item: r.Item, Process: r.Process, Quantity: r.Quantity}
	fail := func(err error) (BatchResult, bool) {
		out.Error = err.Error()
		return out, false
	}
	defer func() { // a picture that breaks a decoder must not break the list
		if v := recover(); v != nil {
			out.Error = fmt.Sprintf("could not be worked out (%v): report this picture", v)
		}
	}()
	if r.Fault != nil {
		return fail(r.Fault)
	}
	data, err := os.ReadFile(r.Art)
	if err != nil {
		var p *os.PathError
		if errors.As(err, &p) {
			err = p.Err
		}
		return fail(fmt.Errorf("%s: %w", r.Art, err))
	}
	out.Key = fmt.Sprintf("%x", sha256.Sum256(fmt.Appendf(nil, "%s|%x|%s|%s|%+v|%d", context, sha256.Sum256(data), r.Item, r.Process, r.Wish, r.Quantity)))
	if was, ok := done[out.Key]; ok {
		was.Line = r.Line
		return was, true
	}
	o.ArtPath, o.Item, o.Process, o.Quantities = r.Art, r.Item, r.Process, []int{r.Quantity}
	if r.Wish != (artwork.Wish{}) {
		o.Wish = r.Wish
	}
	p, err := Make(o, Quotation)
	if err != nil {
		return fail(err)
	}
	q := p.Quoted.Quantities[0]
	out.Item, out.Process, out.Currency = p.Item.Name, p.Process.Name, p.Quoted.Currency
	out.Sheets, out.CostEach, out.CostTotal = q.Sheets, q.CostEach.Total, q.CostTotal.Total
	out.PriceEach, out.PriceTotal, out.Margin = q.PriceEach, q.PriceTotal, q.Margin
	return out, false
}

// BatchText sets results for a terminal.
func BatchText(results []BatchResult) string {
	t := newTable("line", "art", "item", "process", "quantity", "sheets", "cost each", "price each", "price", "margin")
	rightFrom(t, 5, 10)
	failed := ""
	for _, r := range results {
		if r.Error != "" {
			failed += fmt.Sprintf("line %d: %s\n", r.Line, r.Error)
			t.AppendRow(table.Row{r.Line, r.Art, r.Item, r.Process, r.Quantity, "", "", "", "failed", ""})
			continue
		}
		t.AppendRow(table.Row{r.Line, r.Art, r.Item, r.Process, r.Quantity, r.Sheets, r.CostEach, r.PriceEach, r.Currency + " " + r.PriceTotal, r.Margin + " %"})
	}
	out := t.Render() + "\n"
	if failed != "" {
		out += "\n" + failed
	}
	return out
}

// BatchCSV writes results as CSV with a header row.
func BatchCSV(results []BatchResult) ([]byte, error) {
	var b bytes.Buffer
	w := csv.NewWriter(&b)
	rows := [][]string{{"line", "art", "item", "process", "quantity", "sheets", "currency", "cost_each", "cost_total", "price_each", "price_total", "margin_percent", "error"}}
	for _, r := range results {
		rows = append(rows, []string{strconv.Itoa(r.Line), r.Art, r.Item, r.Process, strconv.Itoa(r.Quantity), strconv.Itoa(r.Sheets), r.Currency,
			r.CostEach, r.CostTotal, r.PriceEach, r.PriceTotal, r.Margin, r.Error})
	}
	err := w.WriteAll(rows)
	return b.Bytes(), err
}

// BatchJSON writes results as JSON, one a line.
func BatchJSON(results []BatchResult) ([]byte, error) {
	var b bytes.Buffer
	e := json.NewEncoder(&b)
	e.SetEscapeHTML(false)
	for _, r := range results {
		if err := e.Encode(r); err != nil {
			return nil, err
		}
	}
	return b.Bytes(), nil
}

// BatchFailed counts the rows that failed.
func BatchFailed(results []BatchResult) (n int) {
	for _, r := range results {
		if r.Error != "" {
			n++
		}
	}
	return n
}
