package main

import (
	"bytes"
	"flag"
	"image/png"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"github.com/mattn/go-runewidth"
	"github.com/rogpeppe/go-internal/testscript"
)

var update = flag.Bool("update", false, "rewrite the expected output in testdata/script")

func TestMain(m *testing.M) {
	testscript.Main(m, map[string]func(){"laydown": main})
}

// TestExitCodes holds what README.md says of exit codes to calls of every sort.
func TestExitCodes(t *testing.T) {
	const art = "../../testdata/demo/heron-badge.png"
	dir := t.TempDir()
	for _, c := range []struct {
		args string
		want int
	}{
		{"init", 0},
		{"gang nothing.csv", exitFailed},
		{"coverage missing.png", exitFailed},
		{"coverage " + art + " --width 900mm", exitFailed},
		{"coverage " + art + " --shop missing.toml", exitFailed},
		{"frobnicate", exitUsage},
		{"ledger", exitUsage},
		{"coverage", exitUsage},
		{"coverage --frobnicate", exitUsage},
		{"coverage " + art + " --dpi many", exitUsage},
		{"coverage " + art + " --item foo", exitUsage},
		{"coverage " + art + " --process foo", exitUsage},
		{"coverage " + art + " --black foo", exitUsage},
		{"coverage " + art + " --tac 500", exitUsage},
		{"coverage " + art + " --width wide", exitUsage},
		{"coverage missing.png --width 5 --dpi 300", exitUsage},
		{"underbase " + art + " --item foo", exitUsage},
		{"match --colour red --item foo", exitUsage},
		{"quote --orders missing.csv --item foo", exitUsage},
		{"quote --orders missing.csv", exitFailed},
		{"profile --picture out.gif", exitUsage},
		{"ledger add --cartridge gold --ledger " + dir + "/l", exitUsage},
		{"ledger add --cartridge white --left 100 --ledger " + dir + "/l", exitUsage},
		{"ledger add --cartridge white --printer foo --ledger " + dir + "/l", exitUsage},
		{"ledger add " + art + " --sheets -1 --ledger " + dir + "/l", exitUsage},
		{"ledger fit --printer foo --ledger " + dir + "/l", exitUsage},
		{"ledger fit --ledger " + dir, exitFailed},
	} {
		var out, err bytes.Buffer
		args := append([]string{"laydown"}, strings.Fields(c.args)...)
		if args[1] == "coverage" || args[1] == "underbase" {
			args = append(args, "--cache", dir)
		}
		if got := run(args, &out, &err); got != c.want || (c.want == 0) != (err.Len() == 0) {
			t.Errorf("%s: exit code %d, want %d: %s", c.args, got, c.want, err.String())
		}
	}
}

// TestScripts runs the program as a user does. The scripts find the demo order
// in $DEMO; tables are cached once for all of them.
func TestScripts(t *testing.T) {
	demo, err := filepath.Abs("../../testdata/demo")
	if err != nil {
		t.Fatal(err)
	}
	cache := t.TempDir()
	testscript.Run(t, testscript.Params{
		Dir:           "testdata/script",
		UpdateScripts: *update,
		Cmds:          map[string]func(*testscript.TestScript, bool, []string){"fits": fits, "lines": lines},
		Setup: func(e *testscript.Env) error {
			e.Setenv("DEMO", demo)
			e.Setenv("XDG_CACHE_HOME", cache)
			return os.MkdirAll(filepath.Join(e.WorkDir, "out"), 0o755)
		},
	})
}

// fits, in a script, holds every line of the last output to a number of columns, by
// go-runewidth.
func fits(ts *testscript.TestScript, neg bool, args []string) {
	most, err := strconv.Atoi(args[0])
	ts.Check(err)
	eyes := runewidth.Condition{}
	for line := range strings.Lines(ts.ReadFile("stdout")) {
		if w := eyes.StringWidth(strings.TrimSuffix(line, "\n")); w > most != neg {
			ts.Fatalf("%d columns: %q", w, line)
		}
	}
}

// lines, in a script, holds the last output to a number of lines.
func lines(ts *testscript.TestScript, neg bool, args []string) {
	most, err := strconv.Atoi(args[0])
	ts.Check(err)
	if n := strings.Count(ts.ReadFile("stdout"), "\n"); n > most != neg {
		ts.Fatalf("%d lines", n)
	}
}

// TestReadmeShowsWhatIsPrinted holds README.md's sample to the first twenty lines of the demo's
// proof; -update writes it anew. The picture beside it is drawn by testdata/readme/draw.
func TestReadmeShowsWhatIsPrinted(t *testing.T) {
	const readme, open, end = "../../README.md", "```text\n", "```\n"
	t.Setenv("COLUMNS", "")
	var out, errs bytes.Buffer
	demo := "../../testdata/demo/"
	if code := run([]string{"laydown", "proof", demo + "heron-badge.png", "--swatches", demo + "club-colours.csv"}, &out, &errs); code != 0 {
		t.Fatal(errs.String())
	}
	want := strings.Join(strings.SplitAfter(out.String(), "\n")[:20], "")
	b, err := os.ReadFile(readme)
	if err != nil {
		t.Fatal(err)
	}
	before, rest, ok := strings.Cut(string(b), open)
	shown, after, closed := strings.Cut(rest, end)
	if !ok || !closed || !strings.Contains(after, "](testdata/readme/proof.png)") {
		t.Fatal("README.md has no sample, or no picture after it")
	}
	if *update {
		if err := os.WriteFile(readme, []byte(before+open+want+end+after), 0o644); err != nil {
			t.Fatal(err)
		}
		return
	}
	if shown != want {
		t.Errorf("README.md shows\n%swhere laydown prints\n%s", shown, want)
	}
	f, err := os.Open("../../testdata/readme/proof.png")
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	if c, err := png.DecodeConfig(f); err != nil || c.Width != 820 {
		t.Errorf("the picture is %d pixels wide, %v", c.Width, err)
	}
}
