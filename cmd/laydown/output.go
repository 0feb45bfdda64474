package main

import (
	"bytes"
	"io"
	"os"
	"strconv"

	"github.com/urfave/cli/v2"
	"golang.org/x/term"

	"laydown/coverage/file"
	"laydown/coverage/flaw"
	"laydown/coverage/proof"
	"laydown/coverage/show"
)

// style sets the width that is there, and colour only for a terminal that has it and whose
// user has not said no to it (the NO_COLOR convention).
func style(c *cli.Context) show.Style {
	s := show.Style{Field: option, Full: c.Bool("full")}
	s.Width = lineWidth(c.App.Writer)
	f, ok := c.App.Writer.(*os.File)
	if !ok || !term.IsTerminal(int(f.Fd())) {
		return s
	}
	s.Colour = os.Getenv("NO_COLOR") == "" && os.Getenv("TERM") != "dumb"
	return s
}

// lineWidth is how many columns a line has there; 0 if nobody says. COLUMNS is the shell's
// word for it (POSIX.1-2017, 8.3); a terminal's own goes before.
func lineWidth(to io.Writer) (width int) {
	if n, err := strconv.Atoi(os.Getenv("COLUMNS")); err == nil && n > 0 {
		width = n
	}
	if f, ok := to.(*os.File); ok && term.IsTerminal(int(f.Fd())) {
		if w, _, err := term.GetSize(int(f.Fd())); err == nil && w > 0 {
			width = w
		}
	}
	return width
}

// say prints an answer, in which nothing that came with a name or a profile does anything to a
// terminal.
func say(c *cli.Context, text string) error {
	_, err := io.WriteString(c.App.Writer, style(c).Safe(text))
	return err
}

// printAll prints each proof as text, and last whose prices these are, or all as JSON: one object
// for one file, an array where several are meant. note is said behind the text. The error is also
// what could not be worked out.
func printAll(c *cli.Context, found *answers, asText func(*proof.Proof, show.Style) string, facts func(*proof.Proof) any, note string) error {
	all := found.all
	if c.Bool("json") {
		var v any
		if !found.several {
			v = facts(all[0])
		} else {
			list := make([]any, len(all))
			for i, p := range all {
				list[i] = facts(p)
			}
			v = list
		}
		if err := printJSON(c, v); err != nil {
			return err
		}
		return found.failed
	}
	var b bytes.Buffer
	for i, p := range all {
		if i > 0 {
			b.WriteString("\n")
		}
		b.WriteString(asText(p, style(c)))
	}
	b.WriteString(note + show.Foot(all[0].Head, style(c))) // one shop for all
	if err := say(c, b.String()); err != nil {
		return err
	}
	return found.failed
}

// shown is the parts of a proof that a text answer needs beside its own: all open with
// whether to print it, and what it costs. JSON has the command's own parts alone.
func shown(c *cli.Context, parts proof.Part) proof.Part {
	if c.Bool("json") {
		return parts
	}
	return parts | proof.Findings | proof.Estimate
}

// printOne prints one answer under its head as JSON or as text.
func printOne(c *cli.Context, h *proof.Head, v any, text string) error {
	if c.Bool("json") {
		return printJSON(c, v)
	}
	first, last := "", ""
	if h != nil {
		first, last = show.Invented(h, style(c))
		first += show.Assumed(h, style(c))
	}
	return say(c, first+text+last)
}

// printUnder prints one answer that opens with a verdict as JSON, or as text over what its head
// says at length.
func printUnder(c *cli.Context, h *proof.Head, v any, text string) error {
	if c.Bool("json") {
		return printJSON(c, v)
	}
	return say(c, text+show.Below(h, style(c)))
}

func printJSON(c *cli.Context, v any) error {
	b, err := show.JSON(v)
	if err == nil {
		_, err = c.App.Writer.Write(b)
	}
	return err
}

// strict turns a finding that stops the print into an exit code, if asked to.
func strict(c *cli.Context, found *answers) error {
	if c.Bool("strict") {
		for _, p := range found.all {
			if flaw.Any(p.Findings, flaw.Stop) {
				return errStrict
			}
		}
	}
	return nil
}

// writeOne writes one file that [writable] has looked at. What is the program's own output
// goes there in the order of the answer.
func writeOne(c *cli.Context, to string, data []byte) error {
	if f, ok := c.App.Writer.(*os.File); ok {
		if there, err := os.Stat(to); err == nil {
			if own, err := f.Stat(); err == nil && os.SameFile(there, own) {
				_, err := f.Write(data)
				return err
			}
		}
	}
	return file.Write([]file.Out{{Path: to, Data: data}}, inputs(c))
}
