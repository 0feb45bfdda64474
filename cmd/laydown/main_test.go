package main

import (
	"bytes"
	"flag"
	"os"
	"path/filepath"
	"strings"
	"testing"

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
	// The renderer of drawings is that of all tests; see arttest.Studio.
	shared := filepath.Join(os.TempDir(), "laydown-tests", "drawing")
	if err := os.MkdirAll(shared, 0o700); err != nil {
		t.Fatal(err)
	}
	if err := os.Mkdir(filepath.Join(cache, "laydown"), 0o700); err != nil {
		t.Fatal(err)
	}
	if err := os.Symlink(shared, filepath.Join(cache, "laydown", "drawing")); err != nil {
		t.Log("drawings take longer here: ", err)
	}
	testscript.Run(t, testscript.Params{
		Dir:           "testdata/script",
		UpdateScripts: *update,
		Setup: func(e *testscript.Env) error {
			e.Setenv("DEMO", demo)
			e.Setenv("XDG_CACHE_HOME", cache)
			return os.MkdirAll(filepath.Join(e.WorkDir, "out"), 0o755)
		},
	})
}
