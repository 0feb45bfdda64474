package main

import (
	"bytes"
	"errors"
	"flag"
	"fmt"
	"image/png"
	"io"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/mattn/go-runewidth"
	"github.com/rogpeppe/go-internal/testscript"

	"laydown/colour/reference"

	"laydown/colour/press"
)

var update = flag.Bool("update", false, "rewrite the expected output in testdata/script")

// cacheHome keeps the tables of all the tests that run the program.
var cacheHome string

// tests are all of them, with a cache around.
type tests struct{ *testing.M }

func (m tests) Run() int {
	var err error
	if cacheHome, err = os.MkdirTemp("", "laydown-test"); err != nil {
		fmt.Fprintln(os.Stderr, err)
		return 1
	}
	defer os.RemoveAll(cacheHome)
	// The renderers of drawings are those of all tests; see arttest.Studio.
	shared := filepath.Join(os.TempDir(), "laydown-tests", "drawing")
	if os.MkdirAll(shared, 0o700) == nil && os.MkdirAll(filepath.Join(cacheHome, "laydown"), 0o700) == nil {
		os.Symlink(shared, filepath.Join(cacheHome, "laydown", "drawing")) // without, they are compiled once more
	}
	return m.M.Run()
}

func TestMain(m *testing.M) {
	testscript.Main(tests{m}, map[string]func(){"laydown": main})
}

// sharedStandIn is one built-in press for all that runs in this process.
var sharedStandIn = sync.OnceValue(func() *press.Press { return press.StandIn(press.Cache{Dir: filepath.Join(cacheHome, "laydown")}) })

// testWorld is a world with nothing around: no terminal, no environment, no config folder,
// and a clock that stands.
func testWorld() (w world, stdout, stderr *bytes.Buffer) {
	stdout, stderr = new(bytes.Buffer), new(bytes.Buffer)
	return world{stdin: strings.NewReader(""), stdout: stdout, stderr: stderr, now: func() time.Time { return time.Date(2026, 3, 14, 15, 0, 0, 0, time.UTC) },
		zone:      time.UTC,
		ticks:     func(time.Duration) (<-chan time.Time, func()) { return nil, func() {} },
		getenv:    func(string) string { return "" },
		configDir: func() (string, error) { return "", errors.New("nobody's") },
		terminal:  func(io.Writer) bool { return false },
		standIn:   func(press.Cache) *press.Press { return sharedStandIn() },
	}, stdout, stderr
}

// TestExitCodes holds what README.md says of exit codes to calls of every sort.
func TestExitCodes(t *testing.T) {
	const art = "../../testdata/demo/heron-badge.png"
	dir := t.TempDir()
	w, out, err := testWorld()
	for _, c := range []struct {
		args string
		want int
	}{
		{"init", 0},
		{"", 0},
		{"--version", 0},
		{"--help", 0},
		{"help ledger fit", 0},
		{"list --json", 0},
		{"completion zsh", 0},
		{"man", 0},
		{"init a b", exitUsage},
		{"help frobnicate", exitUsage},
		{"completion", exitUsage},
		{"list frobnicates", exitUsage},
		{"--frobnicate", exitUsage},
		{"ledger frobnicate", exitUsage},
		{"proof " + art + " --html " + dir + "/gone/a.html", exitFailed},
		{"proof " + art + " --html " + art, exitFailed},
		{"quote " + art + " --item none", exitUsage},
		{"underbase " + art + " --item none", exitUsage},
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
		out.Reset()
		err.Reset()
		args := append([]string{"laydown"}, strings.Fields(c.args)...)
		if len(args) > 1 && (args[1] == "coverage" || args[1] == "underbase") {
			args = append(args, "--cache", dir)
		}
		if got := run(args, w); got != c.want || (c.want == 0) != (err.Len() == 0) {
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
	testscript.Run(t, testscript.Params{
		Dir:           "testdata/script",
		UpdateScripts: *update,
		Condition: func(name string) (bool, error) { // what CI alone runs
			return reference.All(), map[bool]error{false: fmt.Errorf("no condition is called %s", name)}[name == "all"]
		},
		Cmds: map[string]func(*testscript.TestScript, bool, []string){"fits": fits, "lines": lines},
		Setup: func(e *testscript.Env) error {
			e.Setenv("DEMO", demo)
			e.Setenv("XDG_CACHE_HOME", cacheHome)
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
// proof, as script proof.txtar has it of the program; -update rewrites it. The picture beside it
// is drawn by testdata/readme/draw.
func TestReadmeShowsWhatIsPrinted(t *testing.T) {
	const readme, open, end = "../../README.md", "```text\n", "```\n"
	script, err := os.ReadFile("testdata/script/proof.txtar")
	if err != nil {
		t.Fatal(err)
	}
	_, printed, _ := strings.Cut(string(script), "-- want.txt --\n")
	want := strings.Join(strings.SplitAfter(printed, "\n")[:20], "")
	// The whole answer, with the line about its page, fits 60 lines; and the README's command is
	// the one that printed it.
	answer, _, _ := strings.Cut(printed, "\n-- ")
	if n := strings.Count(strings.TrimSuffix(answer, "\n"), "\n") + 1; n > 60 {
		t.Errorf("the demo's answer takes %d lines", n)
	}
	command, _, _ := strings.Cut(string(script[strings.Index(string(script), "exec laydown "):]), "\n")
	command = strings.ReplaceAll(strings.TrimPrefix(command, "exec laydown "), "$DEMO", "testdata/demo")
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
	if !strings.Contains(before, "go run ./cmd/laydown "+command+"\n") {
		t.Errorf("README.md does not show the command %q", command)
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
