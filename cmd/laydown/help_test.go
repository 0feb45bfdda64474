package main

import (
	"bytes"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"runtime/debug"
	"slices"
	"strings"
	"testing"
	"testing/synctest"
	"time"
	"unicode/utf8"

	"github.com/urfave/cli/v2"

	"laydown/colour/reference"
)

// allCommands are the commands that people call, by their full names.
func allCommands(app *cli.App) map[string]*cli.Command {
	all := map[string]*cli.Command{}
	for _, c := range app.Commands {
		if c.Hidden {
			continue
		}
		all[c.Name] = c
		for _, sub := range c.Subcommands {
			all[c.Name+" "+sub.Name] = sub
		}
	}
	return all
}

// TestEveryExampleRuns runs every example of help, and the five that the program shows when
// it is called alone, on the demo order.
func TestEveryExampleRuns(t *testing.T) {
	reference.Long(t)
	w, _, _ := testWorld()
	all := allCommands(newApp(w))
	lines := map[string]bool{}
	for name := range all {
		of, ok := examples[name]
		if !ok {
			t.Errorf("laydown %s has no examples", name)
		}
		for _, e := range of {
			if !strings.HasPrefix(e.line, "laydown "+name) || e.tells == "" {
				t.Errorf("laydown %s: example %q", name, e.line)
			}
			lines[e.line] = true
		}
	}
	for name := range examples {
		if all[name] == nil {
			t.Errorf("examples of %q, which is no command", name)
		}
	}
	for _, q := range questions {
		lines[q.line] = true
	}
	atBench(t)
	badge, err := os.ReadFile("badge.png")
	if err == nil {
		err = os.Mkdir("art", 0o700)
	}
	if err == nil {
		err = os.WriteFile("art/badge.png", badge, 0o600)
	}
	if err != nil {
		t.Fatal(err)
	}
	for line := range lines {
		if strings.HasPrefix(line, "laydown ledger") { // each finds a ledger of its own
			os.Remove("ours.db")
			if code, _, errs := call(parts("ledger add badge.png -p dark --sheets 12 --ledger ours.db")...); code != 0 {
				t.Fatal(errs)
			}
		}
		if line == "laydown init shop.toml" {
			os.Remove(shopFile)
		}
		code, out, errs := call(parts(line)[1:]...)
		if code != 0 || errs.Len() > 0 && !strings.HasPrefix(line, "laydown separate") {
			t.Errorf("%s: exit code %d: %s", line, code, errs)
		}
		if strings.HasPrefix(line, "laydown init shop.toml") {
			os.Remove(shopFile) // or the others would find it
		} else if out.Len() == 0 && !strings.Contains(line, " -o ") {
			t.Errorf("%s says nothing", line)
		}
	}
}

// TestHelp looks at the help of every command: examples first, then its own options, then
// the shared ones in their groups, in 80 columns; by --help, -h and laydown help alike.
func TestHelp(t *testing.T) {
	w, _, _ := testWorld()
	for name, cmd := range allCommands(newApp(w)) {
		code, out, errs := call(append(strings.Fields(name), "--help")...)
		if code != 0 || errs.Len() > 0 {
			t.Errorf("%s --help: %d, %s", name, code, errs)
		}
		text := out.String()
		for _, other := range [][]string{append(strings.Fields(name), "-h"), append([]string{"help"}, strings.Fields(name)...)} {
			if _, again, _ := call(other...); again.String() != text {
				t.Errorf("%v says another thing than --help:\n%s", other, again)
			}
		}
		wide(t, name, text)
		at := strings.Index(text, "Examples:\n  laydown ")
		if at != 0 {
			t.Errorf("%s --help does not start with examples:\n%s", name, text)
		}
		for _, head := range []string{examples[name][0].line, examples[name][1].line, "\nUsage: laydown " + name, "\nOptions of " + name + ":", "\n" + groupPrint + ":", "\n" + groupOn + ":", "\n" + groupColour + ":", "\n" + groupAnswer + ":"} {
			k := strings.Index(text, head)
			group := strings.HasPrefix(head, "\nOptions") || slices.Contains(groups, strings.Trim(head, "\n:"))
			if k < 0 && group {
				continue // the command has none of them
			}
			if k < at {
				t.Errorf("%s --help: %q is at %d, what is before it at %d", name, head, k, at)
			}
			at = k
		}
		for _, f := range cmd.Flags {
			for _, n := range f.Names() {
				if n != "help" && n != "h" && !strings.Contains(text, dashed(n)) {
					t.Errorf("%s --help does not tell of %s", name, dashed(n))
				}
			}
		}
	}
	_, alone, _ := call()
	for _, q := range questions {
		if !strings.Contains(alone.String(), q.tells+"\n    "+q.line+"\n") {
			t.Errorf("laydown alone does not ask %q:\n%s", q.tells, alone)
		}
	}
	_, all, _ := call("help")
	_, same, _ := call("--help")
	if all.String() != same.String() || all.Len() == 0 {
		t.Error("laydown --help is not laydown help")
	}
	for name := range allCommands(newApp(w)) {
		if !strings.Contains(name, " ") && !strings.Contains(all.String(), "\n  "+name+" ") {
			t.Errorf("laydown help does not list %s", name)
		}
	}
	wide(t, "laydown", alone.String())
	wide(t, "help", all.String())
}

// wide finds lines of help that are wider than it is set.
func wide(t *testing.T, what, text string) {
	t.Helper()
	for _, line := range strings.Split(text, "\n") {
		if n := utf8.RuneCountInString(line); n > helpWidth {
			t.Errorf("%s: %d columns: %s", what, n, line)
		}
	}
}

// TestSpellings takes both spellings of colour, the short forms, and words in any case or by
// their beginning, for the same.
func TestSpellings(t *testing.T) {
	reference.Long(t)
	for _, c := range [][2]string{
		{`match --colour navy --item-colour tan -p dark`, `match --color navy --item-color tan --process dark`},
		{`match --colour navy -i white -p light`, `match --color navy --item WHITE --process "light garment"`},
		{`coverage ../../testdata/demo/heron-badge.png -w 60mm -s A3 -c tan -p light -j`, `coverage --json ../../testdata/demo/heron-badge.png --width 60mm --sheet a3 --item-color tan --process light`},
		{`coverage ../../testdata/demo/heron-badge.png -p light --intent perceptual --black heavy --keep-pure all -j`, `coverage ../../testdata/demo/heron-badge.png -p light --intent PERC --black Hea --keep-pure All -j`},
		{`completion bash`, `completion BASH`},
		{`completion powershell`, `completion Power`},
	} {
		code, a, errs := call(parts(c[0])...)
		_, b, _ := call(parts(c[1])...)
		if code != 0 || a.String() != b.String() {
			t.Errorf("%s: %d %s, and\n%s:\n%s\n%s", c[0], code, errs, c[1], a, b)
		}
	}
}

func TestVersion(t *testing.T) {
	build := &debug.BuildInfo{GoVersion: "go1.26.8", Settings: []debug.BuildSetting{{Key: "vcs.revision", Value: "0123456789abcdef0123"}, {Key: "vcs.time", Value: "2026-03-14T15:00:00Z"}, {Key: "vcs.modified", Value: "true"}}}
	build.Main.Version = "v1.2.3"
	devel := *build
	devel.Main.Version, devel.Settings = "(devel)", nil
	for want, b := range map[string]*debug.BuildInfo{
		"laydown v1.2.3, commit 0123456789ab of 2026-03-14T15:00:00Z, changed since, built with go1.26.8": build,
		"laydown development version, built with go1.26.8":                                                &devel,
		"laydown, of unknown version":                                                                     nil,
	} {
		w, out, _ := testWorld()
		w.build = b
		for _, option := range []string{"--version", "-v"} {
			out.Reset()
			if code := run([]string{"laydown", option}, w); code != 0 || out.String() != want+"\n" {
				t.Errorf("%s: %d, %q, want %q", option, code, out, want)
			}
		}
	}
}

// TestProgress passes a clock and ticks: nothing is said in the first second, then one line
// that is renewed and taken away, and nothing at all where no terminal is. What is looked at
// waits until the line has been written.
func TestProgress(t *testing.T) {
	for _, terminal := range []bool{true, false} {
		synctest.Test(t, func(t *testing.T) {
			w, _, errs := testWorld()
			begun := w.now()
			clock := begun
			ticks := make(chan time.Time)
			w.now = func() time.Time { return clock }
			w.ticks = func(every time.Duration) (<-chan time.Time, func()) {
				if every != time.Second {
					t.Errorf("ticks every %v", every)
				}
				return ticks, func() {}
			}
			w.terminal = func(io.Writer) bool { return terminal }
			c := cli.NewContext(newApp(w), nil, nil)
			step, stop := progress(c)
			step("looking")
			if terminal {
				clock = begun.Add(time.Second)
				ticks <- clock
				synctest.Wait()
				step("reckoning")
				clock = begun.Add(2 * time.Second)
				ticks <- clock
				synctest.Wait()
			}
			stop()
			stop() // once more does nothing
			want := ""
			if terminal {
				want = "\r\x1b[Klooking … 1 s\r\x1b[Kreckoning … 2 s\r\x1b[K"
			}
			if got := errs.String(); got != want {
				t.Errorf("terminal %t: %q, want %q", terminal, got, want)
			}
		})
	}
	// Dumb terminals and NO_COLOR get no sequences: what a longer line leaves is overwritten.
	for name, value := range map[string]string{"TERM": "dumb", "NO_COLOR": "1"} {
		synctest.Test(t, func(t *testing.T) {
			w, _, errs := testWorld()
			begun, ticks := w.now(), make(chan time.Time)
			w.now = func() time.Time { return begun }
			w.ticks = func(time.Duration) (<-chan time.Time, func()) { return ticks, func() {} }
			w.terminal = func(io.Writer) bool { return true }
			w.getenv = func(of string) string { return map[string]string{name: value}[of] }
			step, stop := progress(cli.NewContext(newApp(w), nil, nil))
			for _, what := range []string{"reckoning", "looking"} {
				step(what)
				ticks <- begun
				synctest.Wait()
			}
			stop()
			if want := "\rreckoning … 0 s\rlooking … 0 s  \r" + strings.Repeat(" ", 13) + "\r"; errs.String() != want {
				t.Errorf("%s=%s: %q, want %q", name, value, errs, want)
			}
		})
	}
	// A list counts its rows.
	synctest.Test(t, func(t *testing.T) {
		w, _, errs := testWorld()
		begun, ticks := w.now(), make(chan time.Time)
		w.now = func() time.Time { defer func() { begun = begun.Add(3 * time.Second) }(); return begun }
		w.ticks = func(time.Duration) (<-chan time.Time, func()) { return ticks, func() {} }
		w.terminal = func(io.Writer) bool { return true }
		step, stop := counting(cli.NewContext(newApp(w), nil, nil), 12)
		step()
		step()
		ticks <- begun
		synctest.Wait()
		stop()
		if want := "\r\x1b[Kquoting, 2 of 12 done … 3 s\r\x1b[K"; errs.String() != want {
			t.Errorf("a list: %q, want %q", errs, want)
		}
	})

	// What is quick says nothing, also on a terminal.
	w, out, errs := testWorld()
	w.terminal = func(io.Writer) bool { return true }
	if code := run([]string{"laydown", "coverage", "../../testdata/demo/heron-badge.png", "-p", "dark"}, w); code != 0 || out.Len() == 0 || errs.Len() > 0 {
		t.Errorf("%d, %q", code, errs)
	}
}

var regexpBackspace = regexp.MustCompile(".\x08")

// TestManual holds the manual page to the checks of groff and of mandoc, and to what help
// says.
func TestManual(t *testing.T) {
	_, page, _ := call("man")
	path := filepath.Join(t.TempDir(), "laydown.1")
	if err := os.WriteFile(path, page.Bytes(), 0o600); err != nil {
		t.Fatal(err)
	}
	w, _, _ := testWorld()
	for name, cmd := range allCommands(newApp(w)) {
		if !bytes.Contains(page.Bytes(), []byte(".SS "+roff("laydown "+name))) {
			t.Errorf("the page has no %s", name)
		}
		for _, f := range cmd.Flags {
			typed, _ := flagWords(f)
			if !slices.Contains(f.Names(), "help") && !bytes.Contains(page.Bytes(), []byte(".B "+roff(typed)+"\n")) {
				t.Errorf("the page has no %s of %s", typed, name)
			}
		}
	}
	for tool, args := range map[string][]string{
		"groff":  {"-man", "-ww", "-z", "-Tutf8", "-b"},    // groff: every warning
		"mandoc": {"-Tlint", "-Wwarning", "-man", "-Ios="}, // mandoc: warnings and errors of its linter
	} {
		t.Run(tool, func(t *testing.T) {
			out, err := exec.Command(reference.Tool(t, tool), append(args, path)...).CombinedOutput()
			if err != nil || len(out) > 0 {
				t.Errorf("%v:\n%s", err, out)
			}
		})
	}
	t.Run("text", func(t *testing.T) {
		out, err := exec.Command(reference.Tool(t, "mandoc"), "-Tutf8", "-man", path).Output()
		if err != nil {
			t.Fatal(err)
		}
		plain := regexpBackspace.ReplaceAll(out, nil) // bold is struck over
		for _, want := range []string{`laydown quote badge.png --qty 24 --item "white tee"`, "-c, --item-colour, --item-color COLOUR", "LAYDOWN_SHOP"} {
			if !bytes.Contains(plain, []byte(want)) {
				t.Errorf("man does not show %q", want)
			}
		}
	})
}
