package main

import (
	"flag"
	"fmt"
	"io"
	"os"
	"testing"

	"github.com/urfave/cli/v2"
	"golang.org/x/sys/unix"
)

// terminal opens a pseudo-terminal of a number of columns: what is written to it comes out
// at the end that stays open for as long as the test (pty(7)).
func terminal(t *testing.T, columns int) (writer *os.File) {
	t.Helper()
	reader, err := os.OpenFile("/dev/ptmx", os.O_RDWR, 0)
	if err != nil {
		t.Skip("no pseudo-terminals on this machine: ", err)
	}
	t.Cleanup(func() { reader.Close() })
	fd := int(reader.Fd())
	n, err := unix.IoctlGetInt(fd, unix.TIOCGPTN)
	if err == nil {
		err = unix.IoctlSetPointerInt(fd, unix.TIOCSPTLCK, 0)
	}
	if err == nil {
		err = unix.IoctlSetWinsize(fd, unix.TIOCSWINSZ, &unix.Winsize{Row: 50, Col: uint16(columns)})
	}
	if err == nil {
		writer, err = os.OpenFile(fmt.Sprintf("/dev/pts/%d", n), os.O_RDWR|unix.O_NOCTTY, 0)
	}
	if err != nil {
		t.Skip("no pseudo-terminals on this machine: ", err)
	}
	return writer
}

// TestTerminal finds the style of terminals of several widths and sorts, and of what is none.
// That lines keep to it is held in package show.
func TestTerminal(t *testing.T) {
	for name, c := range map[string]struct {
		columns                  int
		term, noColor, byCOLUMNS string
		width                    int
		colour                   bool
	}{
		"narrow":   {60, "xterm", "", "", 60, true},
		"usual":    {100, "xterm-256color", "", "", 100, true},
		"resized":  {100, "xterm", "", "80", 100, true},
		"unknown":  {0, "xterm", "", "72", 72, true},
		"dumb":     {100, "dumb", "", "", 100, false},
		"NO_COLOR": {100, "xterm", "1", "", 100, false},
		"a pipe":   {-1, "xterm", "", "", 0, false},
	} {
		t.Setenv("TERM", c.term)
		t.Setenv("NO_COLOR", c.noColor)
		t.Setenv("COLUMNS", c.byCOLUMNS)
		var to io.Writer = io.Discard
		if c.columns >= 0 {
			writer := terminal(t, c.columns)
			defer writer.Close()
			to = writer
		}
		s := style(cli.NewContext(newApp(world{stdout: to, stderr: io.Discard}), flag.NewFlagSet("test", flag.ContinueOnError), nil))
		if s.Width != c.width || s.Colour != c.colour {
			t.Errorf("%s: %d columns, colour %v; want %d, %v", name, s.Width, s.Colour, c.width, c.colour)
		}
	}
}
