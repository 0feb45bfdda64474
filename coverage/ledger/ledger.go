// Package ledger keeps what a shop really printed, and learns from it what toner
// really costs.
//
// A ledger is one SQLite file of numbered entries: runs, with the solid area that each
// toner laid down and what the shop file then said of its cartridges; and changes of
// cartridges. Nothing is overwritten: what is taken back is struck, and a correction is a
// new entry that strikes the old one. Every step is one transaction, written through to
// the disk before it counts as done. Several processes may write at once: they wait for
// each other.
//
// # What is learned, and what is taken for granted
//
// From one change of a cartridge to the next, a known part of a cartridge went onto a known
// area. A toner's correction is the cartridges used up between its first change and its
// last, over those that the area would have taken by the stated yields. Printers and
// toners are kept apart. What was printed before the first change belongs to a cartridge
// whose beginning nobody knows, and what came after the last to one that is not used up:
// both are left out.
//
// A cartridge seldom ends between two runs. One that was empty is taken to have ended in
// the run before its change, anywhere in it and everywhere as likely; one that was taken
// out with toner left, between two runs; whoever knows better says so, above all who enters
// a change before the run that it was made in: unsaid, it makes the use seem higher. Where a cartridge
// ended is uncertain by a known amount, then, and the run is not counted to one side: what
// is too much for one cartridge is too little for the next.
//
// Cartridges are not filled alike. By how much they differ is not known beforehand, and is
// learned from the ledger together with the correction: scatters are tried between
// 0.5 and 30 %, each fits the spans by generalised least squares under both errors, and
// each counts as much as it makes the spans likely (its restricted likelihood) and as it is
// likely beforehand. Beforehand a scatter of 5.8 % is taken as usual, a factor of 1.7 from
// it as nothing special (Student's t of three degrees on a logarithmic scale): our own
// figures, no source. Without them, the interval would be Student's t for one degree less
// than there are cartridges, which for two cartridges is wider than anybody can use. The
// interval is that of the mixture, with the two largest uniform errors taken as such. For
// shops whose cartridges differ by 3 to 10 % it holds the truth as often as it says, for
// one where all differ by 10 % in about 90 % of ledgers, by 3 % in nearly all: TestInterval
// and TestScatters measure it.
//
// A gauge is taken to be read to a tenth of a cartridge. Runs that nobody entered cannot
// be told from a higher use: who reckons with them says how many, in percent, and then
// those that were entered stand for all, with the error that this has.
package ledger

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"io/fs"
	"math"
	"net/url"
	"os"
	"path/filepath"
	"strings"
	"time"

	"github.com/shopspring/decimal"
	"modernc.org/sqlite"
	sqlite3 "modernc.org/sqlite/lib"

	"laydown/coverage/fault"
	"laydown/coverage/file"
	"laydown/coverage/plate"
)

// Ledger is an open ledger file. It is safe for concurrent use.
type Ledger struct {
	db   *sql.DB
	path string
}

// patience is how long a writer waits for others.
const patience = 30 * time.Second

const schema = `
CREATE TABLE entry (
	number INTEGER PRIMARY KEY AUTOINCREMENT,
	place INTEGER NOT NULL,   -- order of entries of the same second
	at INTEGER NOT NULL,      -- seconds of Unix time
	kind TEXT NOT NULL CHECK (kind IN ('print', 'jam', 'test', 'change')),
	printer TEXT NOT NULL,
	struck INTEGER NOT NULL DEFAULT 0,
	corrects INTEGER,         -- the entry that this one replaced
	job TEXT, sheets INTEGER CHECK (sheets > 0), pieces INTEGER, copies INTEGER, currency TEXT,
	toner TEXT, left_percent REAL CHECK (left_percent >= 0 AND left_percent <= 100), put_in_percent REAL CHECK (put_in_percent > 0 AND put_in_percent <= 100), during TEXT
);
CREATE TABLE laid (
	entry INTEGER NOT NULL REFERENCES entry (number),
	toner TEXT NOT NULL,
	area_mm2 REAL NOT NULL,
	cartridge_mm2 REAL,       -- solid area that a cartridge stated when the run was entered; NULL if nobody knows
	price TEXT, correction TEXT,
	PRIMARY KEY (entry, toner)
);
`

// version is the layout of the file, and application marks it as a ledger ("ldwn").
const (
	version     = 2
	application = 0x6c64776e
)

// Open opens a ledger that is there; one of the first layout is carried over into the
// present one. The error says what is wrong with the file and what to do.
func Open(path string) (*Ledger, error) { return open(path, false, patience) }

// OpenOrMake opens a ledger, and makes it if it is not there.
func OpenOrMake(path string) (*Ledger, error) { return open(path, true, patience) }

func open(path string, make bool, wait time.Duration) (*Ledger, error) {
	l := &Ledger{path: path}
	if strings.Contains(path, ":memory:") {
		return nil, l.fail(errors.New("is no file and would keep nothing: name a file"))
	}
	st, err := os.Stat(path)
	switch {
	case err == nil && st.IsDir():
		return nil, l.fail(file.ErrFolder)
	case err == nil && !st.Mode().IsRegular():
		return nil, l.fail(file.ErrKind)
	case errors.Is(err, fs.ErrNotExist) && !make:
		return nil, l.fail(errors.New("there is no such ledger: look at the name, or begin one with laydown ledger add"))
	case err != nil && !errors.Is(err, fs.ErrNotExist):
		return nil, l.fail(file.Bare(err))
	}
	if st, err := os.Stat(filepath.Dir(path)); err != nil || !st.IsDir() {
		return nil, l.fail(errors.New("its folder is not there: make it first"))
	}
	// Every connection waits for others and writes through to the disk.
	u := url.URL{Scheme: "file", Opaque: (&url.URL{Path: path}).EscapedPath(),
		RawQuery: fmt.Sprintf("_pragma=busy_timeout(%d)&_pragma=synchronous(FULL)&_txlock=immediate", wait.Milliseconds())}
	if l.db, err = sql.Open("sqlite", u.String()); err != nil {
		return nil, l.fail(err)
	}
	l.db.SetMaxOpenConns(1)
	if err := l.prepare(); err != nil {
		l.db.Close()
		return nil, l.fail(err)
	}
	return l, nil
}

// fail puts the file's name before an error, and says what SQLite's mean.
func (l *Ledger) fail(err error) error {
	if err == nil {
		return nil
	}
	var s *sqlite.Error
	if errors.As(err, &s) {
		switch s.Code() & 0xff { // the rest is detail
		case sqlite3.SQLITE_BUSY, sqlite3.SQLITE_LOCKED:
			err = errors.New("another program is writing to it and did not let go: try again when that is done")
		case sqlite3.SQLITE_NOTADB:
			err = errors.New("is no ledger: name another file")
		case sqlite3.SQLITE_READONLY:
			err = errors.New("must not be written to: change its permissions, or those of its folder")
		case sqlite3.SQLITE_CANTOPEN, sqlite3.SQLITE_PERM, sqlite3.SQLITE_AUTH:
			err = errors.New("cannot be opened: change its permissions, or those of its folder")
		case sqlite3.SQLITE_FULL:
			err = errors.New("the disk is full: make room, and enter it again")
		case sqlite3.SQLITE_CORRUPT:
			err = errors.New("is damaged: take the last copy that you kept of it")
		}
	}
	return fmt.Errorf("%s: %w", l.path, err)
}

// layout is what a file says that it is.
type layout struct {
	application, version int
	objects              string // tables and all else in it, by name
	columns              string // of the tables of the first layout
}

func layoutOf(tx *sql.Tx) (v layout, err error) {
	for _, q := range []struct {
		query string
		to    any
	}{
		{"PRAGMA application_id", &v.application}, {"PRAGMA user_version", &v.version},
		{"SELECT coalesce(group_concat(name), '') FROM (SELECT name FROM sqlite_master WHERE name NOT LIKE 'sqlite_%' ORDER BY name)", &v.objects},
		{"SELECT coalesce(group_concat(name), '') FROM (SELECT name FROM pragma_table_info('change') UNION ALL SELECT name FROM pragma_table_info('run'))", &v.columns},
	} {
		if err := tx.QueryRow(q.query).Scan(q.to); err != nil {
			return v, err
		}
	}
	return v, nil
}

// What a file of the first layout holds: it had no mark of its own.
const (
	firstObjects = "change,run"
	firstColumns = "id,at,printer,toner,left_percent,id,at,job,printer,sheets,cyan_mm2,magenta_mm2,yellow_mm2,black_mm2,white_mm2"
)

// prepare makes a ledger of an empty file, and carries one of the first layout over.
func (l *Ledger) prepare() error {
	// Most files need nothing: they are looked at without keeping writers out.
	var mark, layoutVersion int
	if err := l.db.QueryRow("PRAGMA application_id").Scan(&mark); err != nil {
		return err
	}
	if err := l.db.QueryRow("PRAGMA user_version").Scan(&layoutVersion); err != nil {
		return err
	}
	if mark == application && layoutVersion == version {
		return nil
	}
	return l.write(func(tx *sql.Tx) error {
		v, err := layoutOf(tx)
		if err != nil {
			return err
		}
		first := v.application == 0 && v.version == 1 && v.objects == firstObjects && v.columns == firstColumns
		switch {
		case v.application == application && v.version == version:
			return nil // another process was quicker
		case v.application == application:
			return fmt.Errorf("was written by a newer laydown (layout %d): use that one", v.version)
		case !first && v != layout{}:
			return errors.New("is a database of something else: name another file")
		}
		if _, err := tx.Exec(schema); err != nil {
			return err
		}
		if first {
			if err := carryOver(tx); err != nil {
				return err
			}
		}
		_, err = tx.Exec(fmt.Sprintf("PRAGMA application_id = %d; PRAGMA user_version = %d", application, version))
		return err
	})
}

// carryOver brings entries of the first layout into the present one, numbered in the order
// of time. There a run at the second of a change counted as before it.
func carryOver(tx *sql.Tx) error {
	// What such a run's cartridges stated then, and how many pieces it was, nobody wrote down.
	list := `
INSERT INTO entry (place, at, kind, printer, job, sheets, toner, left_percent, put_in_percent)
SELECT 0, at, kind, printer, job, sheets, toner, left_percent, put_in_percent FROM (
	SELECT at, 0 AS later, id, 'print' AS kind, printer, job, sheets, NULL AS toner, NULL AS left_percent, NULL AS put_in_percent FROM run
	UNION ALL SELECT at, 1, id, 'change', printer, NULL, NULL, toner, left_percent, 100 FROM change
	ORDER BY at, later, id);
UPDATE entry SET place = number;`
	for _, name := range plate.Names {
		// The run that was the nth of the order is the nth entry of runs.
		list += fmt.Sprintf(`
INSERT INTO laid (entry, toner, area_mm2)
SELECT e.number, '%s', r.%[1]s_mm2 FROM
	(SELECT %[1]s_mm2, row_number() OVER (ORDER BY at, id) AS nth FROM run) r JOIN
	(SELECT number, row_number() OVER (ORDER BY number) AS nth FROM entry WHERE kind = 'print') e ON r.nth = e.nth
	WHERE r.%[1]s_mm2 > 0;`, name)
	}
	_, err := tx.Exec(list + "DROP TABLE run; DROP TABLE change;")
	return err
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

// Kinds of runs. A jam and a test page lay toner down that nobody buys.
const (
	Print = "print"
	Jam   = "jam"
	Test  = "test"

	change = "change"
)

// Kinds are the kinds of runs.
var Kinds = []string{Print, Jam, Test}

// Run is one printing run.
type Run struct {
	At      time.Time
	Kind    string // "" is Print
	Job     string
	Printer string
	Sheets  int                  // that went through the printer, 1–100,000
	Pieces  int                  // prints that were laid down on them; 0 if nobody counted
	Copies  int                  // prints that a full sheet holds; 0 if nobody knows
	AreaMM2 [plate.Count]float64 // solid area that each toner laid down, in all
	Then    [plate.Count]Stated  // what was reckoned with when the run was entered
	// Currency is that of the prices in Then.
	Currency string
}

// Stated is what a shop file says of a toner's cartridge.
type Stated struct {
	CartridgeMM2 float64 // solid area that it states; 0 if nobody knows
	Price        decimal.Decimal
	Correction   decimal.Decimal
}

// costPlaces are the decimal places that costs of runs are rounded to.
const costPlaces = 4

// Cost is what the run's toner cost as it was reckoned then; ok is false if a toner was
// laid down whose price then is not known.
func (r Run) Cost() (cost decimal.Decimal, ok bool) {
	for k, area := range r.AreaMM2 {
		if area == 0 {
			continue
		}
		t := r.Then[k]
		if !(t.CartridgeMM2 > 0) {
			return decimal.Decimal{}, false
		}
		cost = cost.Add(t.Price.Mul(t.Correction).Mul(decimal.NewFromFloat(area)).DivRound(decimal.NewFromFloat(t.CartridgeMM2), costPlaces))
	}
	return cost, true
}

// The runs that a cartridge may have ended in.
const (
	LastRun = "last" // the run before the change
	NextRun = "next" // the one that was entered behind it
	NoRun   = "none" // it was changed between two runs
)

// Durings are all of them.
var Durings = []string{LastRun, NextRun, NoRun}

// Change is a cartridge that was changed.
type Change struct {
	At          time.Time
	Printer     string
	Toner       int     // as in package plate
	LeftPercent float64 // that was still in the old one, 0–100; 0 for empty
	// PutInPercent is what was in the one that was put in, above 0 to 100; 0 for a new one.
	PutInPercent float64
	// During is the run that the old one ended in; "" is LastRun if it was empty, else NoRun.
	During string
}

func (c Change) during() string {
	switch {
	case c.During != "":
		return c.During
	case c.LeftPercent > 0:
		return NoRun
	}
	return LastRun
}

// in is the part of a cartridge that was put in, 0–1.
func (c Change) in() float64 {
	if c.PutInPercent == 0 {
		return 1
	}
	return c.PutInPercent / 100
}

// Entry is a run or a change as the ledger has it; the other is nil.
type Entry struct {
	Number   int64
	Run      *Run
	Change   *Change
	Struck   bool  // taken back, or corrected by another
	Corrects int64 // the number of the entry that this one replaced; 0 for none

	place int64
}

func (e Entry) at() time.Time {
	if e.Run != nil {
		return e.Run.At
	}
	return e.Change.At
}

func (e Entry) printer() string {
	if e.Run != nil {
		return e.Run.Printer
	}
	return e.Change.Printer
}

// AddRun enters a run on a printer of the shop, with what the shop file says of its toners
// now, and returns its number. Where a figure makes no sense, the error is that of
// [Books.CheckRun].
func (l *Ledger) AddRun(b Books, r Run) (number int64, err error) {
	if r, err = b.CheckRun(r); err != nil {
		return 0, err
	}
	err = l.write(func(tx *sql.Tx) (err error) {
		number, err = insert(tx, Entry{Run: &r})
		return err
	})
	return number, l.fail(err)
}

// AddChange enters a change on a printer of the shop, and returns its number. Where a
// figure makes no sense, the error is that of [Books.CheckChange]; where it contradicts
// another change, it is a [fault.Fault] about left.
func (l *Ledger) AddChange(b Books, c Change) (number int64, err error) {
	if c, err = b.CheckChange(c); err != nil {
		return 0, err
	}
	err = l.write(func(tx *sql.Tx) (err error) {
		if number, err = insert(tx, Entry{Change: &c}); err != nil {
			return err
		}
		return agree(tx, c.Printer, c.Toner)
	})
	return number, l.fail(err)
}

// insert writes an entry; without a place it comes behind all of its second.
func insert(tx *sql.Tx, e Entry) (int64, error) {
	null := func(v any, isNull bool) any {
		if isNull {
			return nil
		}
		return v
	}
	var res sql.Result
	var err error
	corrects := null(e.Corrects, e.Corrects == 0)
	if c := e.Change; c != nil {
		res, err = tx.Exec("INSERT INTO entry (place, at, kind, printer, corrects, toner, left_percent, put_in_percent, during) VALUES (?,?,?,?,?,?,?,?,?)",
			e.place, c.At.Unix(), change, c.Printer, corrects, plate.Names[c.Toner], c.LeftPercent, 100*c.in(), null(c.During, c.During == ""))
	} else {
		r := e.Run
		res, err = tx.Exec("INSERT INTO entry (place, at, kind, printer, corrects, job, sheets, pieces, copies, currency) VALUES (?,?,?,?,?,?,?,?,?,?)",
			e.place, r.At.Unix(), r.Kind, r.Printer, corrects, r.Job, r.Sheets, null(r.Pieces, r.Pieces == 0), null(r.Copies, r.Copies == 0), null(r.Currency, r.Currency == ""))
	}
	if err != nil {
		return 0, err
	}
	n, err := res.LastInsertId()
	if err == nil && e.place == 0 {
		_, err = tx.Exec("UPDATE entry SET place = number WHERE number = ?", n)
	}
	if err != nil || e.Run == nil {
		return n, err
	}
	for k, area := range e.Run.AreaMM2 {
		if area == 0 {
			continue
		}
		t := e.Run.Then[k]
		unknown := t.CartridgeMM2 == 0
		if _, err := tx.Exec("INSERT INTO laid (entry, toner, area_mm2, cartridge_mm2, price, correction) VALUES (?,?,?,?,?,?)",
			n, plate.Names[k], area, null(t.CartridgeMM2, unknown), null(t.Price.String(), unknown), null(t.Correction.String(), unknown)); err != nil {
			return 0, err
		}
	}
	return n, nil
}

// query is what entries are read with.
type query interface {
	Query(string, ...any) (*sql.Rows, error)
}

// entries reads entries in the order of time; where is a condition on them.
func entries(from query, where string, args ...any) (out []Entry, err error) {
	rows, err := from.Query(`SELECT number, place, at, kind, printer, struck, coalesce(corrects, 0), coalesce(job, ''), coalesce(sheets, 0), coalesce(pieces, 0), coalesce(copies, 0),
		coalesce(currency, ''), coalesce(toner, ''), coalesce(left_percent, 0), coalesce(put_in_percent, 100), coalesce(during, '')
		FROM entry WHERE `+where+` ORDER BY at, place, number`, args...)
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	byNumber := map[int64]*Run{}
	for rows.Next() {
		var e Entry
		var r Run
		var c Change
		var at int64
		var toner string
		if err := rows.Scan(&e.Number, &e.place, &at, &r.Kind, &r.Printer, &e.Struck, &e.Corrects, &r.Job, &r.Sheets, &r.Pieces, &r.Copies, &r.Currency,
			&toner, &c.LeftPercent, &c.PutInPercent, &c.During); err != nil {
			return nil, err
		}
		when := time.Unix(at, 0).UTC()
		if r.Kind == change {
			c.At, c.Printer = when, r.Printer
			if c.Toner = tonerCalled(toner); c.Toner < 0 {
				return nil, fmt.Errorf("entry %d is about a toner that there is not, %q", e.Number, toner)
			}
			if c.PutInPercent == 100 {
				c.PutInPercent = 0
			}
			e.Change = &c
		} else {
			r.At, e.Run = when, &r
			byNumber[e.Number] = &r
		}
		out = append(out, e)
	}
	if err := rows.Err(); err != nil {
		return nil, err
	}
	rows.Close()
	rows, err = from.Query(`SELECT entry, toner, area_mm2, coalesce(cartridge_mm2, 0), coalesce(price, '0'), coalesce(correction, '0') FROM laid
		WHERE entry IN (SELECT number FROM entry WHERE `+where+`)`, args...)
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	for rows.Next() {
		var n int64
		var toner string
		var area float64
		var t Stated
		if err := rows.Scan(&n, &toner, &area, &t.CartridgeMM2, &t.Price, &t.Correction); err != nil {
			return nil, err
		}
		k := tonerCalled(toner)
		if r := byNumber[n]; r != nil && k >= 0 {
			r.AreaMM2[k], r.Then[k] = area, t
		}
	}
	return out, rows.Err()
}

func tonerCalled(name string) int {
	for k, n := range plate.Names {
		if n == name {
			return k
		}
	}
	return -1
}

// agree looks whether the changes of one toner can all be true: none took out more than was
// put in before.
func agree(tx *sql.Tx, printer string, toner int) error {
	list, err := entries(tx, "struck = 0 AND kind = 'change' AND printer = ? AND toner = ?", printer, plate.Names[toner])
	if err != nil {
		return err
	}
	for i := 1; i < len(list); i++ {
		before, c := list[i-1], list[i].Change
		if in := 100 * before.Change.in(); c.LeftPercent > in {
			return fault.In("left", fmt.Errorf("%s cartridge of %s: entry %d put in one with %g %% and entry %d takes it out with %g %%: one of them is wrong",
				plate.Names[toner], printer, before.Number, in, list[i].Number, c.LeftPercent))
		}
	}
	return nil
}

// List reads all entries of a printer in the order of time, those that were struck too;
// "" is every printer.
func (l *Ledger) List(printer string) ([]Entry, error) {
	list, err := entries(l.db, "? IN ('', printer)", printer)
	return list, l.fail(err)
}

// Undo takes an entry back, 0 the last that was entered, and returns it. If it corrected
// another, that one stands again. There is an error if there is none to take back, and a
// [fault.Fault] about left if changes would then contradict each other.
func (l *Ledger) Undo(number int64) (e Entry, err error) {
	err = l.write(func(tx *sql.Tx) (err error) {
		if e, err = standing(tx, number); err != nil {
			return err
		}
		if _, err := tx.Exec("UPDATE entry SET struck = 1 WHERE number = ?", e.Number); err != nil {
			return err
		}
		e.Struck = true
		agreeing := []Entry{e}
		if e.Corrects != 0 {
			if _, err := tx.Exec("UPDATE entry SET struck = 0 WHERE number = ?", e.Corrects); err != nil {
				return err
			}
			old, err := entries(tx, "number = ?", e.Corrects)
			if err != nil {
				return err
			}
			agreeing = append(agreeing, old...)
		}
		return agreeAll(tx, agreeing)
	})
	return e, l.fail(err)
}

// agreeAll holds the toners of changes to [agree].
func agreeAll(tx *sql.Tx, list []Entry) error {
	for _, e := range list {
		if e.Change != nil {
			if err := agree(tx, e.Change.Printer, e.Change.Toner); err != nil {
				return err
			}
		}
	}
	return nil
}

// standing finds an entry that was not struck; 0 is the last that was entered.
func standing(tx *sql.Tx, number int64) (Entry, error) {
	list, err := entries(tx, "number = ?", number)
	if number == 0 {
		list, err = entries(tx, "number = (SELECT max(number) FROM entry WHERE struck = 0)")
	}
	switch {
	case err != nil:
		return Entry{}, err
	case len(list) == 0 && number == 0:
		return Entry{}, errors.New("no entry is left")
	case len(list) == 0:
		return Entry{}, fmt.Errorf("there is no entry %d: laydown ledger list has them all", number)
	case list[0].Struck:
		return Entry{}, fmt.Errorf("entry %d was taken back or corrected before", number)
	}
	return list[0], nil
}

// Correct replaces an entry by what f makes of it, in the same place of the order, and
// returns the new one. f gets copies that it may change; its error, and those of
// [Ledger.AddRun] and [Ledger.AddChange], leave the old entry standing. What was reckoned
// with when a run was entered stays.
func (l *Ledger) Correct(b Books, number int64, f func(*Entry) error) (e Entry, err error) {
	err = l.write(func(tx *sql.Tx) error {
		old, err := standing(tx, number)
		if err != nil {
			return err
		}
		e = old
		if old.Run != nil {
			r := *old.Run
			e.Run = &r
		} else {
			c := *old.Change
			e.Change = &c
		}
		if err := f(&e); err != nil {
			return err
		}
		if e.Run != nil {
			then, currency := old.Run.Then, old.Run.Currency
			if *e.Run, err = b.CheckRun(*e.Run); err != nil {
				return err
			}
			e.Run.Then, e.Run.Currency = then, currency
		} else if *e.Change, err = b.CheckChange(*e.Change); err != nil {
			return err
		}
		if _, err := tx.Exec("UPDATE entry SET struck = 1 WHERE number = ?", old.Number); err != nil {
			return err
		}
		e.Corrects = old.Number
		if e.Number, err = insert(tx, e); err != nil {
			return err
		}
		return agreeAll(tx, []Entry{old, e})
	})
	return e, l.fail(err)
}

// Scale makes a run one of so many sheets and pieces, 0 to leave what it is, and its toner
// with them. Of a run of full sheets, other sheets are full as well; of one on no more sheets
// than it takes, other pieces are on as many as they take. The error is a
// [fault.Fault] about sheets or pieces.
func (r *Run) Scale(sheets, pieces int) error {
	by := 1.0
	switch {
	case pieces > 0 && r.Pieces == 0:
		return fault.In("pieces", errors.New("this run was entered in sheets alone: correct its sheets, or take it back and enter it anew"))
	case pieces > 0:
		by = float64(pieces) / float64(r.Pieces)
	case sheets > 0 && r.Pieces == 0:
		by = float64(sheets) / float64(r.Sheets)
	case sheets > 0 && r.Copies > 0 && r.Pieces == r.Sheets*r.Copies:
		pieces = sheets * r.Copies
		by = float64(sheets) / float64(r.Sheets)
	}
	if sheets == 0 && pieces > 0 && r.Copies > 0 {
		takes := func(pieces int) int { return (pieces + r.Copies - 1) / r.Copies }
		if r.Sheets == takes(r.Pieces) || r.Sheets < takes(pieces) {
			sheets = takes(pieces)
		}
	}
	if sheets > 0 {
		r.Sheets = sheets
	}
	if pieces > 0 {
		r.Pieces = pieces
	}
	for k := range r.AreaMM2 {
		r.AreaMM2[k] *= by
	}
	return nil
}

// Counts are how many entries of a printer stand.
type Counts struct {
	Runs       int `json:"runs"`    // of prints that are sold
	Pieces     int `json:"pieces"`  // in those, as far as they were counted
	Sheets     int `json:"sheets"`  // in those
	Jams       int `json:"jams"`    // sheets
	TestSheets int `json:"tests"`   // sheets
	Changes    int `json:"changes"` // of cartridges
}

// CountsOf counts the entries of a printer, "" for all.
func CountsOf(list []Entry, printer string) (n Counts) {
	for _, e := range list {
		if e.Struck || printer != "" && e.printer() != printer {
			continue
		}
		switch {
		case e.Change != nil:
			n.Changes++
		case e.Run.Kind == Jam:
			n.Jams += e.Run.Sheets
		case e.Run.Kind == Test:
			n.TestSheets += e.Run.Sheets
		default:
			n.Runs++
			n.Pieces += e.Run.Pieces
			n.Sheets += e.Run.Sheets
		}
	}
	return n
}

// events are a toner's runs and changes in the order of time. A run counts by what a
// cartridge stated when it was entered, and where nobody knows that, by what it states now.
func events(list []Entry, toner int, nowMM2 float64) (out []event) {
	for _, e := range list {
		switch {
		case e.Struck:
		case e.Change != nil:
			if e.Change.Toner == toner {
				out = append(out, event{Change: e.Change})
			}
		case e.Run.AreaMM2[toner] > 0:
			stated := e.Run.Then[toner].CartridgeMM2
			if !(stated > 0) {
				stated = nowMM2
			}
			out = append(out, event{Laid: e.Run.AreaMM2[toner] / stated})
		}
	}
	return out
}

func finite(v float64) bool { return !math.IsNaN(v) && !math.IsInf(v, 0) }
