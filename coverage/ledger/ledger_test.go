package ledger

import (
	"bufio"
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
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

func open(t testing.TB, path string) *Ledger {
	t.Helper()
	l, err := Open(path)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { l.Close() })
	return l
}

func day(n int) time.Time { return time.Date(2026, 3, 1, 12, 0, 0, 0, time.UTC).AddDate(0, 0, n) }

func run(at time.Time, cyan float64) Run {
	r := Run{At: at, Job: "j", Printer: "p", Sheets: 1}
	r.AreaMM2[plate.Cyan] = cyan
	return r
}

// TestSpans enters runs around changes, out of order and on another printer.
func TestSpans(t *testing.T) {
	l := open(t, filepath.Join(t.TempDir(), "a ledger ü.db"))
	for _, r := range []Run{run(day(1), 100), run(day(5), 7), run(day(6), 9), run(day(3), 30), run(day(12), 50), {At: day(4), Job: "j", Printer: "other", Sheets: 2, AreaMM2: [5]float64{999}}} {
		if err := l.AddRun(r); err != nil {
			t.Fatal(err)
		}
	}
	for _, c := range []Change{{day(6), "p", plate.Cyan, 0}, {day(2), "p", plate.Cyan, 40}, {day(10), "p", plate.Cyan, 25}, {day(4), "p", plate.White, 0}} {
		if err := l.AddChange(c); err != nil {
			t.Fatal(err)
		}
	}
	got, err := l.spans("p", plate.Cyan)
	want := []span{{46, 1}, {0, 0.75}} // 30 + 7 + 9 by day 6, nothing to day 10
	if err != nil || len(got) != 2 || got[0] != want[0] || got[1] != want[1] {
		t.Errorf("spans %v, %v, want %v", got, err, want)
	}
	if got, _ := l.spans("p", plate.White); len(got) != 0 {
		t.Errorf("one change of white makes spans %v", got)
	}
	if runs, changes, err := l.counts(); err != nil || runs != 6 || changes != 4 {
		t.Errorf("%d runs, %d changes, %v", runs, changes, err)
	}
}

// TestFitByHand works out a fit by hand: areas of 80, 100 and 125 % of what the
// cartridge states, each of which used it up.
func TestFitByHand(t *testing.T) {
	f, err := fitSpans([]span{{800, 1}, {1000, 1}, {1250, 1}}, 1000)
	if err != nil {
		t.Fatal(err)
	}
	// Σxy ÷ Σx² = 3.05 ÷ 3.2025; rests 0.2381, 0.0476, −0.1905; s² = 0.0952 ÷ 2;
	// t of 2 degrees at 97.5 % is 4.3027 (any table of Student's t).
	want := 3.05 / 3.2025
	sum := 0.0
	for _, x := range []float64{0.8, 1, 1.25} {
		sum += (1 - want*x) * (1 - want*x)
	}
	half := 4.302653 * math.Sqrt(sum/2/3.2025)
	if math.Abs(f.Correction-want) > 1e-12 || math.Abs(f.High-want-half) > 1e-5 || math.Abs(want-f.Low-half) > 1e-5 {
		t.Errorf("%+v, by hand %.6f ± %.6f", f, want, half)
	}
	if f, err := fitSpans([]span{{500, 1}}, 1000); err != nil || f.Correction != 2 || f.Low != 0 || f.High != 0 {
		t.Errorf("one span: %+v, %v", f, err)
	}
	if _, err := fitSpans([]span{{0, 1}}, 1000); !errors.Is(err, errTooFew) {
		t.Errorf("nothing printed: %v", err)
	}
}

// TestInterval makes up ledgers with a known correction and noise, and counts how
// often the stated interval holds it: 95 % of the time, give or take.
func TestInterval(t *testing.T) {
	rng := rand.New(rand.NewPCG(9, 5))
	held := 0
	const ledgers = 4000
	for range ledgers {
		var spans []span
		for range 3 + rng.IntN(6) {
			x := 0.5 + rng.Float64()
			spans = append(spans, span{x * 1000, 1.3*x + 0.1*rng.NormFloat64()})
		}
		f, err := fitSpans(spans, 1000)
		if err != nil {
			t.Fatal(err)
		}
		if f.Low <= 1.3 && 1.3 <= f.High {
			held++
		}
	}
	if share := float64(held) / ledgers; share < 0.935 || share > 0.965 {
		t.Errorf("the interval holds the truth %.1f %% of the time", share*100)
	}
}

// TestManyWriters lets goroutines with ledgers of their own, and other processes,
// write at once: nothing is lost.
func TestManyWriters(t *testing.T) {
	path := filepath.Join(t.TempDir(), "l.db")
	if os.Getenv("LEDGER_CHILD") != "" {
		l := open(t, os.Getenv("LEDGER_CHILD"))
		for i := range 25 {
			if err := l.AddRun(run(day(i), 1)); err != nil {
				t.Fatal(err)
			}
		}
		return
	}
	var wg sync.WaitGroup
	for range 4 {
		wg.Go(func() {
			l, err := Open(path)
			if err != nil {
				t.Error(err)
				return
			}
			defer l.Close()
			for i := range 25 {
				if err := l.AddRun(run(day(i), 1)); err != nil {
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
	if runs, _, err := open(t, path).counts(); err != nil || runs != 7*25 {
		t.Errorf("%d runs, %v, want %d", runs, err, 7*25)
	}
}

// TestKilled kills a process that writes without end, once it has said so many runs
// are done: what it said is there, and the file is sound.
func TestKilled(t *testing.T) {
	if path := os.Getenv("LEDGER_KILL"); path != "" {
		l := open(t, path)
		for i := 0; ; i++ {
			if err := l.AddRun(run(day(i), 1)); err != nil {
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
		l := open(t, path)
		runs, _, err := l.counts()
		if err != nil || runs < said || runs > said+1 {
			t.Errorf("%d runs are there, %v; %d were said to be done", runs, err, said)
		}
		var check string
		if err := l.db.QueryRow("PRAGMA integrity_check").Scan(&check); err != nil || check != "ok" {
			t.Errorf("after a kill the file is %q, %v", check, err)
		}
		if err := l.AddRun(run(day(1), 1)); err != nil {
			t.Error(err)
		}
	}
}

func TestOpenRefuses(t *testing.T) {
	dir := t.TempDir()
	text := filepath.Join(dir, "words.db")
	if err := os.WriteFile(text, []byte(strings.Repeat("dear ledger ", 200)), 0o600); err != nil {
		t.Fatal(err)
	}
	other := filepath.Join(dir, "other.db")
	l := open(t, other)
	if _, err := l.db.Exec("CREATE TABLE bees (id INTEGER); PRAGMA user_version = 0"); err != nil {
		t.Fatal(err)
	}
	l.Close()
	for path, want := range map[string]string{dir: "is a folder", text: "is no ledger", other: "something else", filepath.Join(dir, "no", "l.db"): "folder is not there"} {
		if l, err := Open(path); err == nil || !strings.Contains(err.Error(), want) || !strings.Contains(err.Error(), path) {
			t.Errorf("%s: %v, want %q", path, err, want)
			if l != nil {
				l.Close()
			}
		}
	}
	if b, err := os.ReadFile(text); err != nil || !strings.HasPrefix(string(b), "dear ledger") {
		t.Error("a file that is no ledger was changed")
	}
	good := open(t, filepath.Join(dir, "good.db"))
	for name, err := range map[string]error{
		"no sheets": good.AddRun(Run{Job: "j", Printer: "p"}), "no job": good.AddRun(Run{Printer: "p", Sheets: 1}),
		"less than nothing": good.AddRun(Run{Job: "j", Printer: "p", Sheets: 1, AreaMM2: [5]float64{-1}}),
		"toner":             good.AddChange(Change{Printer: "p", Toner: 9}), "left": good.AddChange(Change{Printer: "p", LeftPercent: 100}),
	} {
		if err == nil {
			t.Errorf("%s: no error", name)
		}
	}
}

// TestFields holds errors to the fields that they are about.
func TestFields(t *testing.T) {
	s, err := shop.Load(shop.Demo(), "demo")
	if err != nil {
		t.Fatal(err)
	}
	l, err := Open(filepath.Join(t.TempDir(), "l.db"))
	if err != nil {
		t.Fatal(err)
	}
	defer l.Close()
	change := func(printer, toner string, left float64) error {
		_, err := ChangeOf(s, printer, toner, left, time.Unix(0, 0))
		return err
	}
	_, noReport := l.Report(s, "foo")
	for _, c := range []struct {
		err  error
		want string
	}{
		{change("foo", "white", 0), "printer"}, {change("", "gold", 0), "cartridge"}, {change("", "white", 100), "left"}, {change("", "white", math.NaN()), "left"},
		{l.AddChange(Change{}), "printer"}, {l.AddChange(Change{Printer: "p", Toner: -1}), "cartridge"}, {l.AddChange(Change{Printer: "p", LeftPercent: -1}), "left"},
		{l.AddRun(Run{Printer: "p", Sheets: 1}), "job"}, {l.AddRun(Run{Job: "j", Sheets: 1}), "printer"}, {l.AddRun(Run{Job: "j", Printer: "p"}), "sheets"},
		{noReport, "printer"},
	} {
		var f *fault.Fault
		if !errors.As(c.err, &f) || f.Field != c.want {
			t.Errorf("%v: about %+v, want %s", c.err, f, c.want)
		}
	}
	if err := change("", "white", 5); err != nil {
		t.Error(err)
	}
}

func ExampleLedger_Report() {
	dir, _ := os.MkdirTemp("", "ledger")
	defer os.RemoveAll(dir)
	l, err := Open(filepath.Join(dir, "shop.db"))
	if err != nil {
		fmt.Println(err)
		return
	}
	defer l.Close()
	s, _ := shop.Load(shop.Demo(), "demo")
	// Two whole black cartridges of 7,000 pages of A4 at 5 %.
	day := time.Date(2026, 3, 1, 0, 0, 0, 0, time.UTC)
	solid := 7000 * 0.05 * 210 * 297
	for i, used := range []float64{0.9, 0.95} {
		at := day.AddDate(0, 0, 10*i)
		l.AddChange(Change{At: at, Printer: "bench printer", Toner: plate.Black})
		l.AddRun(Run{At: at.AddDate(0, 0, 5), Job: "job", Printer: "bench printer", Sheets: 1, AreaMM2: [plate.Count]float64{plate.Black: used * solid}})
	}
	l.AddChange(Change{At: day.AddDate(0, 0, 20), Printer: "bench printer", Toner: plate.Black})
	r, err := l.Report(s, "")
	if err != nil {
		fmt.Println(err)
		return
	}
	black := r.Toners[plate.Black]
	fmt.Println(black.Toner, black.Cartridges, "cartridges, correction", black.Correction, "in place of", black.Now)
	// Output: black 2 cartridges, correction 1.0803 in place of 1
}
