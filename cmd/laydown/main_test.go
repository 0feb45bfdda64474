package main

import (
	"flag"
	"os"
	"path/filepath"
	"testing"

	"github.com/rogpeppe/go-internal/testscript"
)

var update = flag.Bool("update", false, "rewrite the expected output in testdata/script")

func TestMain(m *testing.M) {
	testscript.Main(m, map[string]func(){"laydown": main})
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
		Setup: func(e *testscript.Env) error {
			e.Setenv("DEMO", demo)
			e.Setenv("XDG_CACHE_HOME", cache)
			return os.MkdirAll(filepath.Join(e.WorkDir, "out"), 0o755)
		},
	})
}
