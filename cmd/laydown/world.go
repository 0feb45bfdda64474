package main

import (
	"io"
	"os"
	"runtime/debug"
	"time"

	"github.com/urfave/cli/v2"
	"golang.org/x/term"

	"laydown/colour/press"
)

// world is what the program meets outside of its arguments and files: a test passes
// another.
type world struct {
	stdin          io.Reader
	stdout, stderr io.Writer
	now            func() time.Time
	zone           *time.Location // of the machine
	// ticks sends after every so long, until stop is called.
	ticks     func(every time.Duration) (ticks <-chan time.Time, stop func())
	getenv    func(name string) string
	configDir func() (string, error) // of the user
	// terminal reports whether a person sees what is written there at once.
	terminal func(io.Writer) bool
	build    *debug.BuildInfo // nil if it is not known
	// standIn is the printing condition where no press is named.
	standIn func(press.Cache) *press.Press
}

// theWorld is the one around the process.
func theWorld() world {
	build, _ := debug.ReadBuildInfo()
	return world{stdin: os.Stdin, stdout: os.Stdout, stderr: os.Stderr, now: time.Now, zone: time.Local, getenv: os.Getenv, configDir: os.UserConfigDir, build: build, standIn: press.StandIn,
		ticks: func(every time.Duration) (<-chan time.Time, func()) {
			t := time.NewTicker(every)
			return t.C, t.Stop
		},
		terminal: func(w io.Writer) bool {
			f, ok := w.(*os.File)
			return ok && term.IsTerminal(int(f.Fd()))
		}}
}

// worldKey is where an app keeps its world.
const worldKey = "world"

func worldOf(c *cli.Context) world { return c.App.Metadata[worldKey].(world) }
