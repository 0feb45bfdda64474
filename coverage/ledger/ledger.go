// Package ledger keeps what a shop really printed, and learns from it what toner
// really costs.
//
// A ledger is one SQLite file. It holds runs, with the solid area that each toner
// laid down, and changes of cartridges. From one change of a cartridge to the next, one
// cartridge's toner went onto a known area; least squares over all such spans gives the
// shop's own correction to the stated yield, with an interval that says how sure it is.
//
// Every entry is one transaction, written through to the disk before it counts as
// done. Several processes may write at once: they wait for each other.
package ledger

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"math"
	"net/url"
	"os"
	"path/filepath"
	"slices"
	"time"

	"gonum.org/v1/gonum/stat/distuv"
	_ "modernc.org/sqlite" // the driver "sqlite"

	"laydown/coverage/fault"
	"laydown/coverage/plate"
)

// Ledger is an open ledger file. It is safe for concurrent use.
type Ledger struct{ db *sql.DB }

// wait is how long a writer waits for others.
const wait = 30 * time.Second

const schema = `
CREATE TABLE IF NOT EXISTS run (
	id INTEGER PRIMARY KEY,
	at INTEGER NOT NULL,
	job TEXT NOT NULL,
	printer TEXT NOT NULL,
	sheets INTEGER NOT NULL CHECK (sheets > 0),
	cyan_mm2 REAL NOT NULL, magenta_mm2 REAL NOT NULL, yellow_mm2 REAL NOT NULL, black_mm2 REAL NOT NULL, white_mm2 REAL NOT NULL
);
CREATE TABLE IF NOT EXISTS change (
	id INTEGER PRIMARY KEY,
	at INTEGER NOT NULL,
	printer TEXT NOT NULL,
	toner TEXT NOT NULL,
	left_percent REAL NOT NULL CHECK (left_percent >= 0 AND left_percent < 100)
);
PRAGMA user_version = 1;
`

// version is the layout of the file.
const version = 1

// Open opens a ledger, and makes it if it is not there. The error says what is wrong
// with the file and what to do.
func Open(path string) (*Ledger, error) {
	fail := func(err error) (*Ledger, error) {
		return nil, fmt.Errorf("%s: %w", path, err)
	}
	if st, err := os.Stat(path); err == nil && st.IsDir() {
		return fail(errors.New("is a folder: name a file in it"))
	}
	if st, err := os.Stat(filepath.Dir(path)); err != nil || !st.IsDir() {
		return fail(errors.New("its folder is not there: make it first"))
	}
	// Every connection waits for others and writes through to the disk.
	u := url.URL{Scheme: "file", Opaque: (&url.URL{Path: path}).EscapedPath(),
		RawQuery: fmt.Sprintf("_pragma=busy_timeout(%d)&_pragma=synchronous(FULL)&_txlock=immediate", wait.Milliseconds())}
	db, err := sql.Open("sqlite", u.String())
	if err != nil {
		return fail(err)
	}
	db.SetMaxOpenConns(1)
	l := &Ledger{db}
	if err := l.prepare(); err != nil {
		db.Close()
		return fail(err)
	}
	return l, nil
}

func (l *Ledger) prepare() error {
	var v int
	if err := l.db.QueryRow("PRAGMA user_version").Scan(&v); err != nil {
		return fmt.Errorf("is no ledger (%w): name another file", err)
	}
	switch v {
	case version:
		return nil
	case 0:
		return l.write(func(tx *sql.Tx) error {
			var tables int
			if err := tx.QueryRow("SELECT count(*) FROM sqlite_master WHERE name NOT IN ('run', 'change')").Scan(&tables); err != nil {
				return err
			}
			if tables > 0 {
				return errors.New("is a database of something else: name another file")
			}
			_, err := tx.Exec(schema)
			return err
		})
	}
	return fmt.Errorf("was written by a newer version (%d): use that one", v)
}

// write runs f as one transaction.
func (l *Ledger) write(f func(*sql.Tx) error) error {
	tx, err := l.db.BeginTx(context.Background(), nil)
	if err != nil {
		return err
	}
	if err := f(tx); err != nil {
		tx.Rollback()
		return err
	}
	return tx.Commit()
}

// Close closes the file.
func (l *Ledger) Close() error { return l.db.Close() }

// Run is one printing run.
type Run struct {
	At      time.Time
	Job     string
	Printer string
	Sheets  int
	AreaMM2 [plate.Count]float64 // solid area that each toner laid down, on all sheets
}

// AddRun enters a run. Where a figure makes no sense, the error is a [fault.Fault] about
// job, printer or sheets.
func (l *Ledger) AddRun(r Run) error {
	switch {
	case r.Job == "":
		return fault.In("job", errors.New("a run needs one"))
	case r.Printer == "":
		return fault.In("printer", errors.New("a run needs one"))
	case r.Sheets <= 0:
		return fault.In("sheets", errors.New("must be above 0"))
	}
	for k, a := range r.AreaMM2 {
		if !(a >= 0) || math.IsInf(a, 0) {
			return fmt.Errorf("a run cannot lay down %g mm² of %s", a, plate.Names[k])
		}
	}
	a := r.AreaMM2
	return l.write(func(tx *sql.Tx) error {
		_, err := tx.Exec("INSERT INTO run (at, job, printer, sheets, cyan_mm2, magenta_mm2, yellow_mm2, black_mm2, white_mm2) VALUES (?,?,?,?,?,?,?,?,?)",
			r.At.Unix(), r.Job, r.Printer, r.Sheets, a[plate.Cyan], a[plate.Magenta], a[plate.Yellow], a[plate.Black], a[plate.White])
		return err
	})
}

// Change is a cartridge that was changed.
type Change struct {
	At          time.Time
	Printer     string
	Toner       int     // as in package plate
	LeftPercent float64 // that was still in the old one, 0–100; 0 for empty
}

// check returns a fault that says which figure makes no sense.
func (c Change) check() error {
	switch {
	case c.Printer == "":
		return fault.In("printer", errors.New("a change needs one"))
	case c.Toner < 0 || c.Toner >= plate.Count:
		return fault.In("cartridge", errors.New("a change needs a toner"))
	case !(c.LeftPercent >= 0 && c.LeftPercent < 100):
		return fault.In("left", fmt.Errorf("%g %% cannot have been left in the cartridge: from 0 to under 100", c.LeftPercent))
	}
	return nil
}

// AddChange enters a change. Where a figure makes no sense, the error is a [fault.Fault]
// about printer, cartridge or left.
func (l *Ledger) AddChange(c Change) error {
	if err := c.check(); err != nil {
		return err
	}
	return l.write(func(tx *sql.Tx) error {
		_, err := tx.Exec("INSERT INTO change (at, printer, toner, left_percent) VALUES (?,?,?,?)", c.At.Unix(), c.Printer, plate.Names[c.Toner], c.LeftPercent)
		return err
	})
}

// Counts are how many entries of each kind there are.
func (l *Ledger) counts() (runs, changes int, err error) {
	err = l.db.QueryRow("SELECT (SELECT count(*) FROM run), (SELECT count(*) FROM change)").Scan(&runs, &changes)
	return runs, changes, err
}

// span is the life of one cartridge: from its change to the next.
type span struct {
	AreaMM2 float64 // solid area that it laid down
	Used    float64 // part of the cartridge, 0–1
}

// Spans are the whole lives of a printer's cartridges of one toner, oldest first. What
// was printed before the first change, or after the last, belongs to none. A run at
// the second of a change was still printed with the old cartridge.
func (l *Ledger) spans(printer string, toner int) (out []span, err error) {
	if toner < 0 || toner >= plate.Count {
		return nil, errors.New("there is no such toner")
	}
	rows, err := l.db.Query("SELECT at, left_percent FROM change WHERE printer = ? AND toner = ? ORDER BY at, id", printer, plate.Names[toner])
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	var at []int64
	var left []float64
	for rows.Next() {
		var t int64
		var p float64
		if err := rows.Scan(&t, &p); err != nil {
			return nil, err
		}
		at, left = append(at, t), append(left, p)
	}
	if err := rows.Err(); err != nil {
		return nil, err
	}
	for i := 1; i < len(at); i++ {
		s := span{Used: 1 - left[i]/100}
		err := l.db.QueryRow("SELECT coalesce(sum("+plate.Names[toner]+"_mm2), 0) FROM run WHERE printer = ? AND at > ? AND at <= ?", printer, at[i-1], at[i]).Scan(&s.AreaMM2)
		if err != nil {
			return nil, err
		}
		out = append(out, s)
	}
	return out, nil
}

// estimate is a toner's correction: measured use over the stated one.
type estimate struct {
	Spans      int
	Correction float64
	// Low and High hold the true correction at 95 %; without a second span there is
	// no such interval, and both are 0.
	Low, High float64
}

// errTooFew says that no cartridge was used up yet.
var errTooFew = errors.New("no whole cartridge yet: enter two changes of it with runs between them")

// fitSpans estimates the correction c in used = c × area ÷ capacity by least squares
// through the origin, weighted alike; capacity is the solid area that one cartridge
// states, yield × page × coverage, in mm². The interval is that of a regression through
// the origin: c ± t · s ÷ √Σx², with Student's t for one degree less than there are
// spans (Draper and Smith, Applied Regression Analysis; from memory).
func fitSpans(spans []span, capacityMM2 float64) (estimate, error) {
	if !(capacityMM2 > 0) {
		return estimate{}, errors.New("a cartridge must state a yield")
	}
	spans = slices.DeleteFunc(slices.Clone(spans), func(s span) bool { return s.AreaMM2 <= 0 })
	f := estimate{Spans: len(spans)}
	if f.Spans == 0 {
		return f, errTooFew
	}
	xx, xy := 0.0, 0.0
	for _, s := range spans {
		x := s.AreaMM2 / capacityMM2
		xx, xy = xx+x*x, xy+x*s.Used
	}
	f.Correction = xy / xx
	if f.Spans == 1 {
		return f, nil
	}
	rest := 0.0
	for _, s := range spans {
		e := s.Used - f.Correction*s.AreaMM2/capacityMM2
		rest += e * e
	}
	free := float64(f.Spans - 1)
	t := distuv.StudentsT{Mu: 0, Sigma: 1, Nu: free}.Quantile(0.975)
	half := t * math.Sqrt(rest/free/xx)
	f.Low, f.High = f.Correction-half, f.Correction+half
	return f, nil
}
