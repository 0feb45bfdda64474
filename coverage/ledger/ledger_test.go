package ledger

import (
	"bufio"
	"database/sql"
	"errors"
	"fmt"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"laydown/coverage/fault"
	"laydown/coverage/plate"
	"laydown/coverage/shop"
)

// made opens a ledger for a test, and makes it if need be.
func made(t testing.TB, path string) *Ledger {
	t.Helper()
	l, err := OpenOrMake(path)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { l.Close() })
	return l
}

// now is when every test runs.
var now = time.Date(2026, 11, 27, 9, 0, 0, 0, time.UTC)

// demoBooks are those of the demo shop, with changes to its file and a second printer "other".
func demoBooks(t testing.TB, changes ...string) Books {
	t.Helper()
	text := string(shop.Demo())
	text = strings.Replace(text, "[[printer]]", `[[printer]]
name = "other"
toner.cyan = {price = 1, yield_pages = 9}
toner.magenta = {price = 1, yield_pages = 9}
toner.yellow = {price = 1, yield_pages = 9}
toner.black = {price = 1, yield_pages = 9}
[[printer]]`, 1)
	text = strings.NewReplacer(changes...).Replace(text)
	s, err := shop.Load([]byte(text), "shop.toml")
	if err != nil {
		t.Fatal(err)
	}
	return BooksOf(s, now, time.UTC)
}

// bench is the demo's printer, and cyanMM2 what a cyan cartridge of it states: 6000 pages of
// A4 at 5 %.
const (
	bench   = "bench printer"
	cyanMM2 = 6000 * 210 * 297 * 0.05
)

func day(n int) time.Time { return time.Date(2026, 3, 1, 12, 0, 0, 0, time.UTC).AddDate(0, 0, n) }

func run(at time.Time, cyan float64) Run {
	r := Run{At: at, Job: "j", Printer: bench, Sheets: 1}
	r.AreaMM2[plate.Cyan] = cyan
	return r
}

func enter(t testing.TB, l *Ledger, b Books, of any) int64 {
	t.Helper()
	var n int64
	var err error
	switch v := of.(type) {
	case Run:
		n, err = l.AddRun(b, v)
	case Change:
		n, err = l.AddChange(b, v)
	}
	if err != nil {
		t.Fatal(err)
	}
	return n
}

func counted(t testing.TB, l *Ledger) Counts {
	t.Helper()
	list, err := l.List("")
	if err != nil {
		t.Fatal(err)
	}
	return CountsOf(list, "")
}

// says holds an error to what it says, and to its file.
func says(t *testing.T, l *Ledger, err error, want string) {
	t.Helper()
	if err == nil || !strings.Contains(err.Error(), want) || !strings.HasPrefix(err.Error(), l.path+": ") {
		t.Errorf("%v, want %q", err, want)
	}
}

// aboutField holds an error to the field that it is about.
func aboutField(t *testing.T, what string, err error, field string) {
	t.Helper()
	var f *fault.Fault
	if !errors.As(err, &f) || f.Field != field {
		t.Errorf("%s: %v, want a fault about %s", what, err, field)
	}
}

// TestEntries enters runs and changes out of order, and reads them in that of time; entries
// of the same second stand as they were entered.
func TestEntries(t *testing.T) {
	b := demoBooks(t)
	l := made(t, filepath.Join(t.TempDir(), "a ledger ü.db"))
	for _, v := range []any{run(day(6), 1), run(day(3), 2), Change{At: day(6), Printer: bench}, run(day(6), 3), Change{At: day(1), Printer: "BENCH", LeftPercent: 40, PutInPercent: 70, During: "NEXT"}} {
		enter(t, l, b, v)
	}
	list, err := l.List("")
	if err != nil {
		t.Fatal(err)
	}
	var order []int64
	for _, e := range list {
		order = append(order, e.Number)
	}
	if fmt.Sprint(order) != "[5 2 1 3 4]" {
		t.Errorf("order %v", order)
	}
	if c := list[0].Change; c == nil || *c != (Change{At: day(1), Printer: bench, Toner: plate.Cyan, LeftPercent: 40, PutInPercent: 70, During: NextRun}) {
		t.Errorf("change %+v", c)
	}
	r := list[1].Run
	if r == nil || r.Kind != Print || r.Job != "j" || r.AreaMM2[plate.Cyan] != 2 || r.Then[plate.Cyan].CartridgeMM2 != cyanMM2 || r.Currency != "EUR" {
		t.Errorf("run %+v", r)
	}
	if n := CountsOf(list, ""); n != (Counts{Runs: 3, Sheets: 3, Changes: 2}) {
		t.Errorf("counts %+v", n)
	}
}

// TestPrinters keeps printers apart, and refuses one that the shop does not have; entries of
// a printer that has left the shop file are told.
func TestPrinters(t *testing.T) {
	b := demoBooks(t)
	l := made(t, filepath.Join(t.TempDir(), "l.db"))
	for i := range 4 {
		enter(t, l, b, Change{At: day(10 * i), Printer: bench, During: NoRun})
		enter(t, l, b, Change{At: day(10 * i), Printer: "other"})
		enter(t, l, b, run(day(10*i+1), cyanMM2/2))
		other := run(day(10*i+2), 40_000)
		other.Printer, other.Kind, other.Sheets = "other", Jam, 3
		enter(t, l, b, other)
	}
	before, err := l.Report(b, bench, 0)
	if err != nil {
		t.Fatal(err)
	}
	if before.Counts != (Counts{Runs: 4, Sheets: 4, Changes: 4}) {
		t.Errorf("%+v", before.Counts)
	}
	if c := before.Toners[plate.Cyan]; c.Cartridges != 3 || math.Abs(c.Correction-2) > 0.1 {
		t.Errorf("%+v", c)
	}
	enter(t, l, b, func() Run { r := run(day(15), 90_000); r.Printer = "other"; return r }())
	enter(t, l, b, Change{At: day(16), Printer: "other"})
	if after, err := l.Report(b, bench, 0); err != nil || fmt.Sprint(after) != fmt.Sprint(before) {
		t.Errorf("entries of another printer change %+v to %+v, %v", before, after, err)
	}
	_, err = l.AddRun(b, Run{At: day(1), Job: "j", Printer: "press hall", Sheets: 1})
	aboutField(t, "unknown printer", err, "printer")
	_, err = l.AddChange(b, Change{At: day(1), Printer: "press hall"})
	aboutField(t, "unknown printer", err, "printer")
	_, err = l.AddChange(b, Change{At: day(1), Printer: "other", Toner: plate.White})
	aboutField(t, "toner that it lacks", err, "cartridge")
	_, err = l.Report(b, "press hall", 0)
	aboutField(t, "unknown printer", err, "printer")

	alone := demoBooks(t, `name = "other"`, `name = "newer"`)
	f, err := l.Listing(alone, "")
	if err != nil || len(f.Unknown) != 1 || f.Unknown[0] != "other" || len(f.Entries) != 18 {
		t.Errorf("%+v, %v", f, err)
	}
	if f, err := l.Listing(alone, "other"); err != nil || len(f.Entries) != 10 || f.Counts != (Counts{Runs: 1, Sheets: 1, Jams: 12, Changes: 5}) {
		t.Errorf("%+v, %v", f, err)
	}
	if r, err := l.Report(alone, bench, 0); err != nil || len(r.Unknown) != 1 {
		t.Errorf("%+v, %v", r, err)
	}
}

// TestKinds enters a jam and test pages as runs of their own: their toner counts, their
// sheets are told apart from what is sold.
func TestKinds(t *testing.T) {
	b := demoBooks(t)
	l := made(t, filepath.Join(t.TempDir(), "l.db"))
	jam := run(day(1), 10)
	jam.Kind, jam.Sheets, jam.Pieces = "JAM", 2, 3
	enter(t, l, b, jam)
	page, err := b.TestPage("", 4, day(2))
	if err != nil {
		t.Fatal(err)
	}
	enter(t, l, b, page)
	enter(t, l, b, run(day(3), 5))
	if n := counted(t, l); n != (Counts{Runs: 1, Sheets: 1, Jams: 2, TestSheets: 4}) {
		t.Errorf("%+v", n)
	}
	list, _ := l.List(bench)
	area := 0.05 * 210 * 297 * 4 // four sides of A4 at 5 %
	if r := list[1].Run; r.Kind != Test || math.Abs(r.AreaMM2[plate.Black]-area) > 1e-6 || r.AreaMM2[plate.White] != 0 {
		t.Errorf("%+v, want %g", r, area)
	}
	if e := events(list, plate.Cyan, 1); len(e) != 3 || math.Abs(e[1].Laid-4.0/6000) > 1e-12 {
		t.Errorf("cyan was laid down as %+v", e)
	}
	wrong := run(day(1), 1)
	wrong.Kind = "proof"
	_, err = l.AddRun(b, wrong)
	aboutField(t, "another kind", err, "kind")
	_, err = b.TestPage("nowhere", 1, day(1))
	aboutField(t, "another printer", err, "printer")
}

// TestHistory changes the shop file's yields and prices: what was entered before is reckoned
// as it was.
func TestHistory(t *testing.T) {
	l := made(t, filepath.Join(t.TempDir(), "l.db"))
	b := demoBooks(t)
	later := demoBooks(t, "yield_pages = 6000", "yield_pages = 3000", `price = "118.00"`, `price = "59.00"`, `currency = "EUR"`, `currency = "CHF"`)
	// Half of what a cartridge states, entered before and after its yield is stated anew.
	first := enter(t, l, b, run(day(1), cyanMM2/2))
	second := enter(t, l, later, run(day(2), cyanMM2/4))
	f, err := l.Listing(later, "")
	if err != nil {
		t.Fatal(err)
	}
	for i, want := range []string{"EUR 59.0000", "CHF 29.5000"} { // half of 118.00, half of 59.00
		if e := f.Entries[i]; e.Currency+" "+e.Cost != want {
			t.Errorf("entry %d cost %s %s, want %s", e.Number, e.Currency, e.Cost, want)
		}
	}
	list, _ := l.List("")
	for _, e := range events(list, plate.Cyan, 1) {
		if math.Abs(e.Laid-0.5) > 1e-12 {
			t.Errorf("a run of half a cartridge counts as %g", e.Laid)
		}
	}
	// A correction of the first keeps it, too; one that is entered anew does not.
	e, err := l.Correct(later, first, func(e *Entry) error { e.Run.AreaMM2[plate.Cyan] /= 2; return nil })
	if cost, ok := e.Run.Cost(); err != nil || !ok || cost.String() != "29.5" || e.Run.Currency != "EUR" || e.Run.Then[plate.Cyan].CartridgeMM2 != cyanMM2 {
		t.Errorf("%+v, %v", e.Run, err)
	}
	_ = second
}

// TestUndoAndCorrect takes entries back and puts them right; nothing is lost by it.
func TestUndoAndCorrect(t *testing.T) {
	b := demoBooks(t)
	l := made(t, filepath.Join(t.TempDir(), "l.db"))
	_, err := l.Undo(0)
	says(t, l, err, "no entry is left")
	r := run(day(1), 600)
	r.Sheets, r.Pieces, r.Copies = 12, 70, 6
	enter(t, l, b, r)
	enter(t, l, b, Change{At: day(1), Printer: bench})
	enter(t, l, b, run(day(2), 9))

	e, err := l.Correct(b, 1, func(e *Entry) error { return e.Run.Scale(0, 35) })
	if err != nil || e.Number != 4 || e.Corrects != 1 || e.Run.Sheets != 6 || e.Run.Pieces != 35 || e.Run.AreaMM2[plate.Cyan] != 300 {
		t.Fatalf("%+v, %v", e, err)
	}
	// It stands where the first one stood: before the change of the same second.
	list, _ := l.List("")
	if list[0].Number != 1 || !list[0].Struck || list[1].Number != 4 || list[2].Change == nil {
		t.Errorf("%+v", list)
	}
	if n := counted(t, l); n.Runs != 2 || n.Pieces != 35 {
		t.Errorf("%+v", n)
	}
	_, err = l.Correct(b, 1, func(*Entry) error { return nil })
	says(t, l, err, "entry 1 was taken back or corrected before")
	_, err = l.Correct(b, 77, func(*Entry) error { return nil })
	says(t, l, err, "there is no entry 77")
	_, err = l.Correct(b, 4, func(e *Entry) error { e.Run.Sheets = 0; return nil })
	aboutField(t, "no sheets", err, "sheets")
	_, err = l.Correct(b, 4, func(e *Entry) error { return e.Run.Scale(2, 13) })
	aboutField(t, "more than fit", err, "pieces")
	_, err = l.Correct(b, 3, func(e *Entry) error { return e.Run.Scale(0, 5) })
	aboutField(t, "nobody counted pieces", err, "pieces")
	if e, err := l.Correct(b, 2, func(e *Entry) error { e.Change.Toner = plate.Black; return nil }); err != nil || e.Change.Toner != plate.Black || e.Number != 5 {
		t.Errorf("%+v, %v", e, err)
	}

	// Back again, the last first: the black cartridge, then the correction of the run.
	if e, err := l.Undo(0); err != nil || e.Number != 5 {
		t.Errorf("%+v, %v", e, err)
	}
	if e, err := l.Undo(4); err != nil || e.Corrects != 1 {
		t.Errorf("%+v, %v", e, err)
	}
	list, _ = l.List("")
	if n := CountsOf(list, ""); n.Pieces != 70 || n.Changes != 1 || len(list) != 5 {
		t.Errorf("%+v in %+v", n, list)
	}
	_, err = l.Undo(4)
	says(t, l, err, "entry 4 was taken back or corrected before")
}

// TestScale holds corrections of a run's count to what becomes of its toner.
func TestScale(t *testing.T) {
	for _, c := range []struct {
		was            Run
		sheets, pieces int
		want           Run
		area           float64
	}{
		{Run{Sheets: 2, Pieces: 12, Copies: 6}, 3, 0, Run{Sheets: 3, Pieces: 18, Copies: 6}, 150}, // full sheets stay full
		{Run{Sheets: 2, Pieces: 10, Copies: 6}, 3, 0, Run{Sheets: 3, Pieces: 10, Copies: 6}, 100},
		{Run{Sheets: 2, Pieces: 10, Copies: 6}, 0, 15, Run{Sheets: 3, Pieces: 15, Copies: 6}, 150},
		{Run{Sheets: 2, Pieces: 10, Copies: 6}, 4, 5, Run{Sheets: 4, Pieces: 5, Copies: 6}, 50},
		{Run{Sheets: 9, Pieces: 10, Copies: 6}, 0, 15, Run{Sheets: 9, Pieces: 15, Copies: 6}, 150}, // as many as it was
		{Run{Sheets: 2}, 4, 0, Run{Sheets: 4}, 200},
	} {
		c.was.AreaMM2[0], c.want.AreaMM2[0] = 100, c.area
		if err := c.was.Scale(c.sheets, c.pieces); err != nil || c.was.Sheets != c.want.Sheets || c.was.Pieces != c.want.Pieces || math.Abs(c.was.AreaMM2[0]-c.area) > 1e-9 {
			t.Errorf("%+v, %v, want %+v", c.was, err, c.want)
		}
	}
}

// TestPutBack takes a cartridge out that is partly used, and puts it back later: what was
// used of it counts, and what cannot be is refused.
func TestPutBack(t *testing.T) {
	b := demoBooks(t)
	l := made(t, filepath.Join(t.TempDir(), "l.db"))
	add := func(n int, left, in float64) int64 {
		return enter(t, l, b, Change{At: day(n), Printer: bench, LeftPercent: left, PutInPercent: in, During: NoRun})
	}
	// Every percent lays down a hundredth of the area that is stated.
	add(0, 0, 0)
	enter(t, l, b, run(day(1), 0.6*cyanMM2))
	add(2, 40, 0) // another, new
	enter(t, l, b, run(day(3), 0.3*cyanMM2))
	add(4, 70, 40) // the first one again
	enter(t, l, b, run(day(5), 0.4*cyanMM2))
	add(6, 0, 70) // and the second
	enter(t, l, b, run(day(7), 0.7*cyanMM2))
	last := add(8, 0, 0)
	r, err := l.Report(b, bench, 0)
	if c := r.Toners[plate.Cyan]; err != nil || c.Cartridges != 2 || math.Abs(c.Correction-1) > 0.01 || !(c.Low < 1 && c.High > 1) {
		t.Errorf("%+v, %v", c, err)
	}
	_, err = l.AddChange(b, Change{At: day(9), Printer: bench, LeftPercent: 40, PutInPercent: 101})
	aboutField(t, "more than a cartridge", err, "put-in")
	// A cartridge of 70 % cannot come out with 80 %, whether it is entered, corrected or left
	// over by what is taken back; and nothing of it stays.
	_, err = l.AddChange(b, Change{At: day(7), Printer: bench, LeftPercent: 80})
	aboutField(t, "more than was put in", err, "left")
	if !strings.Contains(err.Error(), l.path) {
		t.Errorf("%v does not name the file", err)
	}
	_, err = l.Correct(b, last, func(e *Entry) error { e.Change.LeftPercent = 80; return nil })
	aboutField(t, "more than was put in", err, "left")
	enter(t, l, b, Change{At: day(10), Printer: bench, LeftPercent: 90})
	if _, err = l.Undo(last); err == nil {
		t.Error("an undo leaves a contradiction")
	}
	if n := counted(t, l); n.Changes != 6 {
		t.Errorf("%d changes", n.Changes)
	}
}

// TestDates reads and tells dates in the shop's zone, with the time, and refuses those that
// cannot be.
func TestDates(t *testing.T) {
	vienna := demoBooks(t, `# time_zone =`, `time_zone =`)
	if vienna.Zone.String() != "Europe/Vienna" {
		t.Fatal(vienna.Zone)
	}
	// Central European Time is an hour ahead of UTC, two in summer; the clock goes forward on
	// the last Sunday of March at 01:00 UTC (Directive 2000/84/EC).
	for text, want := range map[string]string{
		"2026-01-14": "2026-01-13T23:00:00Z", "2026-07-14T15:30": "2026-07-14T13:30:00Z", "2026-07-14 15:30": "2026-07-14T13:30:00Z",
		"2026-03-29T03:10": "2026-03-29T01:10:00Z", "2026-07-14T15:30:05+09:00": "2026-07-14T06:30:05Z",
	} {
		got, err := vienna.Parse(text)
		if err != nil || got.UTC().Format(time.RFC3339) != want {
			t.Errorf("%s: %v, %v, want %s", text, got, err, want)
		}
	}
	for _, text := range []string{"", "someday", "2026-02-30", "2026-03-29T02:30", "14.3.2026"} {
		_, err := vienna.Parse(text)
		aboutField(t, text, err, "date")
	}
	l := made(t, filepath.Join(t.TempDir(), "l.db"))
	at, _ := vienna.Parse("2026-07-14T15:30")
	enter(t, l, vienna, run(at, 1))
	f, err := l.Listing(vienna, "")
	if err != nil || f.Zone != "Europe/Vienna" || f.Entries[0].At != "2026-07-14T15:30:00+02:00" || f.Entries[0].When != "2026-07-14 15:30" {
		t.Errorf("%+v, %v", f, err)
	}
	for _, at := range []time.Time{time.Date(1, 1, 1, 0, 0, 0, 0, time.UTC), time.Date(1999, 12, 31, 0, 0, 0, 0, time.UTC), now.Add(time.Minute), {}} {
		_, err := l.AddRun(vienna, run(at, 1))
		aboutField(t, at.String(), err, "date")
		_, err = l.AddChange(vienna, Change{At: at, Printer: bench})
		aboutField(t, at.String(), err, "date")
	}
}

// TestRefused holds entries to what can be.
func TestRefused(t *testing.T) {
	b := demoBooks(t)
	l := made(t, filepath.Join(t.TempDir(), "l.db"))
	for field, f := range map[string][]func(*Run){
		"job":     {func(r *Run) { r.Job = " " }, func(r *Run) { r.Job = "a\nb" }, func(r *Run) { r.Job = strings.Repeat("a", 201) }},
		"printer": {func(r *Run) { r.Printer = "" }},
		"sheets":  {func(r *Run) { r.Sheets = 0 }, func(r *Run) { r.Sheets = -1 }, func(r *Run) { r.Sheets = 100_001 }},
		"pieces":  {func(r *Run) { r.Pieces = -1 }, func(r *Run) { r.Pieces = 10_000_001 }, func(r *Run) { r.Copies, r.Pieces = 6, 7 }},
	} {
		for _, f := range f {
			r := run(day(1), 1)
			f(&r)
			_, err := l.AddRun(b, r)
			aboutField(t, fmt.Sprintf("%+v", r), err, field)
		}
	}
	for _, area := range []float64{-1, math.NaN(), math.Inf(1)} {
		if _, err := l.AddRun(b, run(day(1), area)); err == nil {
			t.Errorf("%g mm² was entered", area)
		}
	}
	for field, c := range map[string][]Change{
		"left":      {{LeftPercent: -1}, {LeftPercent: 100}, {LeftPercent: math.NaN()}},
		"put-in":    {{PutInPercent: -1}, {PutInPercent: math.NaN()}},
		"cartridge": {{Toner: -1}, {Toner: plate.Count}},
		"during":    {{During: "yesterday"}},
	} {
		for _, c := range c {
			c.At = day(1)
			_, err := l.AddChange(b, c)
			aboutField(t, fmt.Sprintf("%+v", c), err, field)
		}
	}
	if n := counted(t, l); n != (Counts{}) {
		t.Errorf("what was refused was entered: %+v", n)
	}
	for _, percent := range []float64{-1, 51, math.NaN()} {
		_, err := l.Report(b, "", percent)
		aboutField(t, "forgotten", err, "forgotten")
	}
}

// TestOpenRefuses opens what is no ledger: it is named, and left as it is.
func TestOpenRefuses(t *testing.T) {
	dir := t.TempDir()
	file := func(name string) string { return filepath.Join(dir, name) }
	if err := os.WriteFile(file("words.db"), []byte(strings.Repeat("dear ledger ", 200)), 0o600); err != nil {
		t.Fatal(err)
	}
	for name, statements := range map[string]string{
		"bees.db":  "CREATE TABLE bees (id INTEGER)",
		"runs.db":  "CREATE TABLE run (id INTEGER, miles REAL); CREATE TABLE change (id INTEGER)", // of a runner
		"first.db": "CREATE TABLE run (id INTEGER, miles REAL); CREATE TABLE change (id INTEGER); PRAGMA user_version = 1",
		"mark.db":  "PRAGMA user_version = 7",
		"other.db": "CREATE TABLE entry (number INTEGER); PRAGMA application_id = 77; PRAGMA user_version = 2",
		"newer.db": "CREATE TABLE things (id INTEGER); PRAGMA application_id = 1818523502; PRAGMA user_version = 3",
	} {
		db, err := sql.Open("sqlite", file(name))
		if err != nil {
			t.Fatal(err)
		}
		if _, err := db.Exec(statements); err != nil {
			t.Fatal(name, err)
		}
		db.Close()
	}
	for path, want := range map[string]string{
		dir: "is a folder", file("words.db"): "is no ledger", file("bees.db"): "something else", file("runs.db"): "something else", file("first.db"): "something else",
		file("mark.db"): "something else", file("other.db"): "something else", file("newer.db"): "newer laydown (layout 3)",
		filepath.Join(dir, "no", "l.db"): "folder is not there", ":memory:": "would keep nothing", "file::memory:?cache=shared": "would keep nothing",
	} {
		before, _ := os.ReadFile(path)
		for name, open := range map[string]func(string) (*Ledger, error){"Open": Open, "OpenOrMake": OpenOrMake} {
			if name == "Open" && strings.Contains(path, "no") && strings.HasSuffix(path, "l.db") {
				want = "there is no such ledger"
			}
			l, err := open(path)
			if err == nil || !strings.Contains(err.Error(), want) || !strings.HasPrefix(err.Error(), path+": ") {
				t.Errorf("%s of %s: %v, want %q", name, path, err, want)
			}
			if l != nil {
				l.Close()
			}
			if name == "Open" && want == "there is no such ledger" {
				want = "folder is not there"
			}
		}
		if after, _ := os.ReadFile(path); string(after) != string(before) {
			t.Errorf("%s was changed", path)
		}
	}
	if _, err := Open(file("typo.db")); err == nil || !strings.Contains(err.Error(), "there is no such ledger") {
		t.Errorf("a ledger that is not there: %v", err)
	}
	if _, err := os.Stat(file("typo.db")); !errors.Is(err, os.ErrNotExist) {
		t.Error("looking for a ledger made one")
	}
	if _, err := os.Stat(":memory:"); err == nil {
		t.Error("a file :memory: was made")
	}
}

// TestLocked meets a ledger that another program holds: it is waited for, and then said.
func TestLocked(t *testing.T) {
	path := filepath.Join(t.TempDir(), "l.db")
	b := demoBooks(t)
	l := made(t, path)
	enter(t, l, b, run(day(1), 1))
	holder, err := sql.Open("sqlite", path)
	if err != nil {
		t.Fatal(err)
	}
	defer holder.Close()
	holder.SetMaxOpenConns(1)
	if _, err := holder.Exec("BEGIN EXCLUSIVE"); err != nil {
		t.Fatal(err)
	}
	if l, err := open(path, false, time.Millisecond); err == nil || !strings.Contains(err.Error(), "another program") || !strings.HasPrefix(err.Error(), path+": ") {
		t.Errorf("%v, %v", l, err)
	}
	if _, err := holder.Exec("COMMIT; BEGIN IMMEDIATE"); err != nil {
		t.Fatal(err)
	}
	second, err := open(path, false, time.Millisecond)
	if err != nil {
		t.Fatal(err) // it may be read
	}
	defer second.Close()
	if n := counted(t, second); n.Runs != 1 {
		t.Errorf("%+v", n)
	}
	for _, err := range []error{
		func() error { _, err := second.AddRun(b, run(day(2), 1)); return err }(),
		func() error { _, err := second.Undo(1); return err }(),
		func() error { _, err := second.Correct(b, 1, func(*Entry) error { return nil }); return err }(),
	} {
		if err == nil || !strings.Contains(err.Error(), "another program") || !strings.HasPrefix(err.Error(), path+": ") {
			t.Errorf("%v", err)
		}
	}
	if _, err := holder.Exec("COMMIT"); err != nil {
		t.Fatal(err)
	}
	if _, err := second.AddRun(b, run(day(2), 1)); err != nil {
		t.Error(err)
	}
}

// firstLayout is how ledgers were first laid out.
const firstLayout = `
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

// TestFirstLayout carries a ledger of the first layout over, by several programs at once:
// nothing is lost, nothing twice, and it may be written on.
func TestFirstLayout(t *testing.T) {
	path := filepath.Join(t.TempDir(), "l.db")
	db, err := sql.Open("sqlite", path)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := db.Exec(firstLayout); err != nil {
		t.Fatal(err)
	}
	for i := range 40 { // entered backwards, so that numbers and times differ
		at := day(40 - i).Unix()
		if _, err := db.Exec("INSERT INTO run (at, job, printer, sheets, cyan_mm2, magenta_mm2, yellow_mm2, black_mm2, white_mm2) VALUES (?,?,?,?,?,?,?,?,?)",
			at, fmt.Sprintf("job %d", 40-i), bench, 40-i, float64(40-i), 0, 0.5, 0, 7); err != nil {
			t.Fatal(err)
		}
		if i%10 == 0 {
			if _, err := db.Exec("INSERT INTO change (at, printer, toner, left_percent) VALUES (?,?,?,?)", at, "gone printer", "white", i); err != nil {
				t.Fatal(err)
			}
		}
	}
	db.Close()
	var wg sync.WaitGroup
	for range 3 {
		wg.Go(func() {
			l, err := Open(path)
			if err != nil {
				t.Error(err)
				return
			}
			l.Close()
		})
	}
	wg.Wait()
	l := made(t, path)
	list, err := l.List("")
	if err != nil || len(list) != 44 {
		t.Fatalf("%d entries, %v", len(list), err)
	}
	n := 0
	for i, e := range list {
		if e.Number != int64(i+1) {
			t.Errorf("entry %d is the %dth", e.Number, i+1)
		}
		if c := e.Change; c != nil {
			// Behind the run of its second, as it was taken then.
			if c.Printer != "gone printer" || c.Toner != plate.White || c.LeftPercent != float64(40-n) || !c.At.Equal(day(n)) || c.PutInPercent != 0 || c.During != "" {
				t.Errorf("%+v", c)
			}
			continue
		}
		n++
		want := Run{At: day(n), Kind: Print, Job: fmt.Sprintf("job %d", n), Printer: bench, Sheets: n, AreaMM2: [plate.Count]float64{plate.Cyan: float64(n), plate.Yellow: 0.5, plate.White: 7}}
		if fmt.Sprint(*e.Run) != fmt.Sprint(want) {
			t.Errorf("%+v, want %+v", *e.Run, want)
		}
		if _, ok := e.Run.Cost(); ok {
			t.Error("a cost that nobody knows")
		}
	}
	b := demoBooks(t)
	if e := events(list, plate.Cyan, 10); math.Abs(e[0].Laid-0.1) > 1e-12 {
		t.Errorf("without a yield of its time a run counts by the present one: %+v", e[0])
	}
	if number := enter(t, l, b, run(day(50), 1)); number != 45 {
		t.Errorf("the next entry is %d", number)
	}
	if _, err := l.Correct(b, 1, func(e *Entry) error { return e.Run.Scale(2, 0) }); err != nil {
		t.Error(err)
	}
	if r, err := l.Report(b, bench, 0); err != nil || r.Runs != 41 || r.Changes != 0 || len(r.Unknown) != 1 {
		t.Errorf("%+v, %v", r, err)
	}
}

// TestManyWriters lets goroutines with ledgers of their own, and other processes,
// write at once: nothing is lost.
func TestManyWriters(t *testing.T) {
	path, b := filepath.Join(t.TempDir(), "l.db"), demoBooks(t)
	if os.Getenv("LEDGER_CHILD") != "" {
		l := made(t, os.Getenv("LEDGER_CHILD"))
		for i := range 25 {
			if _, err := l.AddRun(b, run(day(i), 1)); err != nil {
				t.Fatal(err)
			}
		}
		return
	}
	var wg sync.WaitGroup
	for range 4 {
		wg.Go(func() {
			l, err := OpenOrMake(path)
			if err != nil {
				t.Error(err)
				return
			}
			defer l.Close()
			for i := range 25 {
				if _, err := l.AddRun(b, run(day(i), 1)); err != nil {
					t.Error(err)
				}
			}
		})
	}
	for range 3 {
		wg.Go(func() {
			c := exec.Command(os.Args[0], "-test.run=^TestManyWriters$")
			c.Env = append(os.Environ(), "LEDGER_CHILD="+path)
			if out, err := c.CombinedOutput(); err != nil {
				t.Errorf("%v: %s", err, out)
			}
		})
	}
	wg.Wait()
	if n := counted(t, made(t, path)); n.Runs != 7*25 {
		t.Errorf("%d runs, want %d", n.Runs, 7*25)
	}
}

// TestKilled kills a process that writes without end, once it has said so many runs
// are done: what it said is there, and the file is sound.
func TestKilled(t *testing.T) {
	b := demoBooks(t)
	if path := os.Getenv("LEDGER_KILL"); path != "" {
		l := made(t, path)
		for i := 0; ; i++ {
			if _, err := l.AddRun(b, run(day(i), 1)); err != nil {
				t.Fatal(err)
			}
			fmt.Println("done", i+1)
		}
	}
	for _, enough := range []int{1, 40, 150} {
		path := filepath.Join(t.TempDir(), "l.db")
		c := exec.Command(os.Args[0], "-test.run=^TestKilled$", "-test.v")
		c.Env = append(os.Environ(), "LEDGER_KILL="+path)
		out, err := c.StdoutPipe()
		if err != nil {
			t.Fatal(err)
		}
		if err := c.Start(); err != nil {
			t.Fatal(err)
		}
		said := 0
		for lines := bufio.NewScanner(out); lines.Scan(); {
			if !strings.HasPrefix(lines.Text(), "done ") {
				continue
			}
			if said++; said == enough { // and what it says until it is dead counts too
				if err := c.Process.Kill(); err != nil {
					t.Fatal(err)
				}
			}
		}
		c.Wait()
		if said < enough {
			t.Fatalf("the writer ended by itself after %d runs", said)
		}
		l := made(t, path)
		if runs := counted(t, l).Runs; runs < said || runs > said+1 {
			t.Errorf("%d runs are there; %d were said to be done", runs, said)
		}
		var check string
		if err := l.db.QueryRow("PRAGMA integrity_check").Scan(&check); err != nil || check != "ok" {
			t.Errorf("after a kill the file is %q, %v", check, err)
		}
		if _, err := l.AddRun(b, run(day(1), 1)); err != nil {
			t.Error(err)
		}
	}
}

func ExampleLedger_Report() {
	dir, _ := os.MkdirTemp("", "ledger")
	defer os.RemoveAll(dir)
	l, err := OpenOrMake(filepath.Join(dir, "shop.db"))
	if err != nil {
		fmt.Println(err)
		return
	}
	defer l.Close()
	s, _ := shop.Load(shop.Demo(), "demo")
	b := BooksOf(s, time.Date(2026, 4, 1, 9, 0, 0, 0, time.UTC), time.UTC)
	// Two whole black cartridges of 7,000 pages of A4 at 5 %, in ten runs each.
	day := time.Date(2026, 3, 1, 0, 0, 0, 0, time.UTC)
	solid := 7000 * 0.05 * 210 * 297
	l.AddChange(b, Change{At: day, Toner: plate.Black})
	for i, used := range []float64{0.9, 0.95} {
		for k := range 10 {
			l.AddRun(b, Run{At: day.AddDate(0, 0, 11*i+k), Job: "job", Printer: "bench printer", Sheets: 1, AreaMM2: [plate.Count]float64{plate.Black: used / 10 * solid}})
		}
		l.AddChange(b, Change{At: day.AddDate(0, 0, 11*i+10), Toner: plate.Black, During: NoRun})
	}
	r, err := l.Report(b, "", 0)
	if err != nil {
		fmt.Println(err)
		return
	}
	black := r.Toners[plate.Black]
	fmt.Printf("%s: %g cartridges, correction %.2f in place of %s\n", black.Toner, black.Cartridges, black.Correction, black.Now)
	// Output: black: 2 cartridges, correction 1.08 in place of 1
}
