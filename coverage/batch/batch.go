// Package batch works out a list of orders, one a row, on all cores.
//
// A bad row is reported and stops no other. What is done is kept in a journal, a
// line a result, so that a run that was broken off goes on where it stopped: a result
// is taken over only if the art and every figure that it follows from are the same.
package batch

import (
	"cmp"
	"crypto/sha256"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"runtime"
	"sync"

	"laydown/coverage/artwork"
	"laydown/coverage/file"
	"laydown/coverage/limit"
	"laydown/coverage/order"
	"laydown/coverage/price"
	"laydown/coverage/proof"
)

// Result is what came of one row. Amounts are decimal text.
type Result struct {
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
	// ItemSaid is the item as [proof.Item.Said] says it, "" for a row that failed.
	ItemSaid string `json:"item_said,omitempty"`
	// SoldBy is what the quantity counts of loose goods, as in [proof.QuoteFacts].
	SoldBy string `json:"sold_by,omitempty"`
	// CheckFirst are findings to decide on before printing; those that stop it are in Head.
	CheckFirst []proof.Stop `json:"check_first,omitempty"`

	*proof.Head // nil for a row that failed
}

// List is a list of orders that has been read.
type List struct{ rows []row }

// Open reads a list of orders, a CSV file with the columns art and quantity, and as wanted
// item, process, size, width, height and dpi. Art is named relative to the file. An error says
// why the list as a whole cannot be read.
func Open(path string, l limit.Limits) (*List, error) {
	l = l.Filled()
	data, err := file.Read(path, int64(l.ListMB)*limit.MB)
	if err != nil {
		return nil, named(path, err)
	}
	rows, err := readRows(data, filepath.Dir(path), l.Rows)
	if err != nil {
		return nil, named(path, err)
	}
	return &List{rows}, nil
}

// Arts are the art files of all rows, which are read and must not be written.
func (l *List) Arts() (arts []string) {
	for _, r := range l.rows {
		if r.Art != "" {
			arts = append(arts, r.Art)
		}
	}
	return arts
}

// Quote works out a list of orders. o carries what is the same for all, and what a row leaves
// empty; version is that of the program.
//
// Results are in the order of the rows. A bad row has its error and stops no other. What
// is done is kept in the journal, a file made if it is not there, and taken over from it;
// "" keeps nothing. What another version worked out is worked out anew. begin is told how many rows there are; step is called after each of
// them, from one goroutine at a time, and stop after the last.
//
// An error says that the order names what the shop file does not have, or that the journal is
// none or cannot be read. One about a journal that cannot be written comes with all results:
// they are right, and only the next run will not know them.
func (l *List) Quote(o order.Order, version, journalPath string, begin func(rows int) (step, stop func())) ([]Result, error) {
	if _, err := o.Resolve(); err != nil {
		return nil, err
	}
	var kept *journal
	var err error
	if journalPath != "" {
		if kept, err = openJournal(journalPath, int64(o.Shop.Limits.Filled().ListMB)*limit.MB); err != nil {
			return nil, named(journalPath, err)
		}
		defer kept.close()
	}
	step, stop := begin(len(l.rows))
	results, err := run(o, version, l.rows, kept, step)
	stop()
	if err != nil {
		err = fmt.Errorf("%w: the results are right, and a next run will work out anew what is not in it", named(journalPath, err))
	}
	return results, err
}

// named puts the file's name before an error, once.
func named(file string, err error) error {
	var p *os.PathError
	if errors.As(err, &p) {
		err = p.Err
	}
	return fmt.Errorf("%s: %w", file, err)
}

// run works out all rows on all cores. A result that the journal has is taken over; every
// new one is written to it as soon as it is there, but for failures, which are tried
// again next time. The journal may be nil. An error says that it could not be written.
func run(o order.Order, version string, rows []row, journal *journal, progress func()) ([]Result, error) {
	print, err := o.Fingerprint()
	if err != nil {
		return nil, err
	}
	same := sha256.Sum256(fmt.Appendf(nil, "%q %x", version, print))
	results := make([]Result, len(rows))
	var one sync.Mutex
	var failed error
	next := make(chan int)
	var wg sync.WaitGroup
	for range runtime.GOMAXPROCS(0) {
		wg.Go(func() {
			for i := range next {
				r, old := rows[i].result(o, same, journal)
				results[i] = r
				one.Lock()
				if !old && r.Error == "" && failed == nil {
					failed = journal.keep(r)
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
	return results, failed
}

// result works out one row, or takes it from an earlier run.
func (r row) result(o order.Order, same [32]byte, journal *journal) (out Result, old bool) {
	item, process := cmp.Or(r.Item, o.ItemName), cmp.Or(r.Process, o.ProcessName)
	out = Result{Line: r.Line, Item: item, Process: process, Quantity: r.Quantity}
	if r.Art != "" {
		out.Art = filepath.Base(r.Art)
	}
	fail := func(err error) (Result, bool) {
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
	data, err := file.Read(r.Art, int64(o.Shop.Limits.Filled().ArtMB)*limit.MB)
	if err != nil {
		return fail(named(r.Art, err))
	}
	out.Key = fmt.Sprintf("%x", sha256.Sum256(fmt.Appendf(nil, "3|%x|%x|%s|%s|%+v|%d", same, sha256.Sum256(data), r.Item, r.Process, r.Wish, r.Quantity)))
	if was, ok := journal.done(out.Key); ok {
		was.Line, was.Art = r.Line, out.Art // another file may have the same bytes
		if was.Head != nil {
			was.Of(o.Shop)
		}
		return was, true
	}
	o.ArtPath, o.ItemName, o.ProcessName, o.Quantities = r.Art, item, process, []int{r.Quantity}
	if r.Wish != (artwork.Wish{}) {
		o.Wish = r.Wish
	}
	p, err := proof.Make(o, proof.Quotation)
	if err != nil {
		return fail(err)
	}
	q := p.Quoted.Quantities[0]
	out.Head, out.ItemSaid, out.SoldBy, out.CheckFirst = p.Head, p.Item.Said(), p.Quoted.SoldBy, p.ChecksFirst()
	out.Item, out.Process, out.Currency = p.Item.Name, p.Process.Name, p.Quoted.Currency
	out.Sheets, out.CostEach, out.CostTotal = q.Sheets, q.CostEach.Total.StringFixed(price.Places), q.CostTotal.Total.StringFixed(price.Places)
	out.PriceEach, out.PriceTotal, out.Margin = q.EachAsked, q.PriceTotal, q.Margin
	return out, false
}

// Failed counts the rows that failed.
func Failed(results []Result) (n int) {
	for _, r := range results {
		if r.Error != "" {
			n++
		}
	}
	return n
}
