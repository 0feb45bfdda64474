package main

import (
	"fmt"
	"strings"

	"github.com/urfave/cli/v2"

	"laydown/coverage/limit"
)

func manCommand() *cli.Command {
	return &cli.Command{
		Name: "man", Usage: "write the manual page, for the program man", Flags: []cli.Flag{fileFlag("out", "write it to `FILE`, such as laydown.1")},
		Action: func(c *cli.Context) error {
			if c.Args().Present() {
				return usageError{fmt.Errorf("there is one page for all commands: leave %s out", c.Args().First())}
			}
			if err := writable(c, []string{"out"}); err != nil {
				return err
			}
			page := []byte(manual(c.App))
			if to := c.String("out"); to != "" {
				return writeOne(c, to, page)
			}
			_, err := c.App.Writer.Write(page)
			return err
		},
	}
}

// manualDate is when the options last changed: the page of one program is always the same.
const manualDate = "2026-11-27"

// manual is the manual page in the man macros of roff.
func manual(app *cli.App) string {
	var b strings.Builder
	line := func(format string, v ...any) { fmt.Fprintf(&b, format+"\n", v...) }
	line(`.TH LAYDOWN 1 "%s" "laydown" "User Commands"`, manualDate)
	line(".SH NAME\nlaydown \\- %s", roff(app.Usage))
	line(".SH SYNOPSIS\n.B laydown\n.I command\n[options] [files]")
	line(".SH DESCRIPTION\n%s", roff("Garment and promo decorators print short runs on a colour laser printer with a fifth, white, toner. laydown takes the artwork and the shop's own figures and answers what a sheet will lay down and cost, what will print badly and where, which brand colours cannot be matched, and whether the item needs white."))
	line(".PP\n%s", roff("Options may stand before and behind files. Names of the shop file are found in any case, and by a beginning that no other name has; laydown list has them all."))
	line(".SH EXAMPLES")
	for _, q := range questions {
		line(".TP\n.B %s\n%s", roff(q.line), roff(q.tells))
	}
	line(".SH COMMANDS")
	for _, c := range app.Commands {
		if c.Hidden {
			continue
		}
		manCommandPart(line, c.Name, c)
		for _, sub := range c.Subcommands {
			manCommandPart(line, c.Name+" "+sub.Name, sub)
		}
	}
	line(".SH OPTIONS\nThese belong to many commands; the help of each says which it takes.")
	for _, f := range sharedFlags() {
		manFlag(line, f)
	}
	line(".SH LIMITS\nWhat one run takes on at most; the shop file sets each under [limits].")
	usual := limit.Usual()
	for _, l := range usual.Each() {
		line(".TP\n.B %s\n%s", roff(fmt.Sprintf("%s = %d", l.Key, *l.Value)), roff(l.Of))
	}
	line(".SH EXIT STATUS")
	for _, v := range [][2]string{{"0", "fine"}, {"1", "could not do it"}, {"2", "wrong usage"}, {"3", "--strict, and a finding stops the print"}} {
		line(".TP\n.B %s\n%s", v[0], roff(v[1]))
	}
	line(".SH ENVIRONMENT\n.TP\n.B %s\n%s", shopVariable, roff("names the shop file, where no option does and no shop.toml is in this folder"))
	line(".TP\n.B NO_COLOR\n%s", roff("if it is set to anything, text has no colours"))
	line(".SH FILES\n.TP\n.I shop.toml\n%s", roff("the shop file: in this folder, or in the folder laydown of the user's config folder"))
	line(".SH SEE ALSO\n%s", roff("laydown COMMAND --help"))
	return b.String()
}

func manCommandPart(line func(string, ...any), name string, c *cli.Command) {
	usage := "laydown " + name
	if len(c.Subcommands) > 0 {
		usage += " COMMAND"
	}
	if c.ArgsUsage != "" {
		usage += " " + c.ArgsUsage
	}
	line(".SS %s\n%s.", roff(usage), roff(c.Usage))
	if strings.Contains(c.ArgsUsage, "ART...") {
		line("%s", roff(artWords))
	}
	for _, f := range inGroup(c, "") {
		manFlag(line, f)
	}
	for _, e := range examples[name] {
		line(".PP\n%s:\n.RS\n.B %s\n.RE", roff(e.tells), roff(e.line))
	}
}

func manFlag(line func(string, ...any), f cli.Flag) {
	typed, does := flagWords(f)
	line(".TP\n.B %s\n%s", roff(typed), roff(does))
}

// roff writes words so that roff sets them as they are.
func roff(words string) string {
	words = strings.NewReplacer(`\`, `\e`, "-", `\-`, "'", `\(aq`, `"`, `\(dq`, "…", "...", "×", `\(mu`).Replace(words)
	if strings.HasPrefix(words, ".") {
		words = `\&` + words
	}
	return words
}
