// Command laydown tells a decorator, before anything is printed, what a print
// will lay down, cost, spoil and miss. README.md has the story.
package main

import (
	"errors"
	"fmt"
	"os"
	"slices"
	"strings"

	"github.com/urfave/cli/v2"

	"laydown/coverage/fault"
	"laydown/coverage/show"
)

// Exit codes; scripts rely on them.
const (
	exitFailed = 1
	exitUsage  = 2
	exitStrict = 3
)

// usageError is a mistake in how the command was called.
type usageError struct{ error }

func (e usageError) Unwrap() error { return e.error }

// errStrict says that --strict met a finding that stops the print.
var errStrict = errors.New("at least one finding stops this print")

func main() { os.Exit(run(os.Args, theWorld())) }

func run(args []string, w world) int {
	app := newApp(w)
	if len(args) == 3 && args[1] == "help" && (args[2] == "--help" || args[2] == "-h") {
		args = []string{args[0], "help", "help"} // the parser takes a command of this name for its own
	}
	err := unknown(app, args)
	cmd, _ := called(app, args) // running adds commands of the parser's own
	if err == nil {
		err = app.Run(flagsFirst(app, args))
	}
	switch {
	case err == nil:
		return 0
	case errors.Is(err, errStrict):
		return exitStrict
	case wrongUsage(cmd, err):
		complain(w, fmt.Sprintf("laydown: %s\nTry %s.\n", words(err), tryHelp(app, args)))
		return exitUsage
	}
	complain(w, fmt.Sprintf("laydown: %s\n", words(err)))
	return exitFailed
}

// complain writes an error; where a person sees it at once, in lines that fit. What reads it
// from a pipe finds each mistake on one line.
func complain(w world, text string) {
	text = show.Style{}.Safe(text)
	if w.terminal(w.stderr) {
		text = narrowed(text, lineWidth(w.stderr))
	}
	fmt.Fprint(w.stderr, text)
}

// tryHelp is the call that explains the command that was called.
func tryHelp(app *cli.App, args []string) string {
	if cmd, named := called(app, args); cmd != nil {
		return strings.Join(append([]string{"laydown"}, args[1:named]...), " ") + " --help"
	}
	return "laydown help"
}

// wrongUsage reports whether an error is about how the command was called: also where a
// room below found that, it is then about one of the command's options. cmd may be nil.
func wrongUsage(cmd *cli.Command, err error) bool {
	var usage usageError
	if errors.As(err, &usage) {
		return true
	}
	var f *fault.Fault
	if !errors.As(err, &f) || f.Field == "" {
		return false
	}
	return cmd != nil && slices.ContainsFunc(cmd.Flags, func(o cli.Flag) bool { return slices.Contains(o.Names(), f.Field) })
}

// words says an error with its fields as options.
func words(err error) string { return fault.Words(err, option) }

// option names a field as the command line does.
func option(field string) string { return "--" + field }

func newApp(w world) *cli.App {
	asUsage := func(_ *cli.Context, err error, _ bool) error { return usageError{err} }
	app := &cli.App{
		Name:           "laydown",
		Usage:          "what a transfer print lays down, costs, spoils and misses, before it is printed",
		Writer:         w.stdout,
		ErrWriter:      w.stderr,
		Metadata:       map[string]any{worldKey: w},
		OnUsageError:   asUsage,
		ExitErrHandler: func(*cli.Context, error) {},
		HideVersion:    true,
		// Help is the program's own, and so is its list of commands.
		HideHelpCommand: true,
		Flags: []cli.Flag{&cli.BoolFlag{Name: "help", Aliases: []string{"h"}, Usage: "show help; behind a command, of that command"},
			&cli.BoolFlag{Name: "version", Aliases: []string{"v"}, Usage: "say which laydown this is"}},
		// A colour may hold commas.
		DisableSliceFlagSeparator: true,
		Commands: []*cli.Command{proofCommand(), coverageCommand(), preflightCommand(), matchCommand(), underbaseCommand(), quoteCommand(), orderCommand(), ticketCommand(),
			gangCommand(), separateCommand(), profileCommand(), ledgerCommand(), listCommand(), initCommand(), completionCommand(), completeCommand(), manCommand(), helpCommand()},
		Action: func(c *cli.Context) error {
			text := welcome(c.App)
			switch {
			case c.Bool("help"):
				text = appHelp(c.App)
			case c.Bool("version"): // for programs too: one line
				_, err := fmt.Fprintln(c.App.Writer, version(worldOf(c).build))
				return err
			}
			_, err := fmt.Fprint(c.App.Writer, narrowed(text, lineWidth(c.App.Writer)))
			return err
		},
	}
	app.CustomAppHelpTemplate = literal(narrowed(appHelp(app), lineWidth(w.stdout)))
	for _, c := range app.Commands {
		c.OnUsageError, c.HideHelpCommand = asUsage, true
		c.CustomHelpTemplate = literal(narrowed(commandHelp(c.Name, c), lineWidth(w.stdout)))
		for _, sub := range c.Subcommands {
			sub.OnUsageError, sub.HideHelpCommand = asUsage, true
			sub.CustomHelpTemplate = literal(narrowed(commandHelp(c.Name+" "+sub.Name, sub), lineWidth(w.stdout)))
		}
	}
	return app
}

// called is the command that is called, and how many arguments name it; nil if none is.
func called(app *cli.App, args []string) (cmd *cli.Command, named int) {
	if len(args) < 2 {
		return nil, 0
	}
	cmd, named = app.Command(args[1]), 2
	if cmd == nil || len(cmd.Subcommands) == 0 {
		return cmd, named
	}
	if len(args) < 3 {
		return nil, 0
	}
	return cmd.Command(args[2]), 3
}

// flagsFirst lets options stand behind file names, which people write and the
// flag parser does not read.
func flagsFirst(app *cli.App, args []string) []string {
	cmd, named := called(app, args)
	if cmd == nil || cmd.SkipFlagParsing {
		return args
	}
	takesValue := map[string]bool{}
	for _, f := range cmd.Flags {
		for _, n := range f.Names() {
			takesValue["-"+n], takesValue["--"+n] = !isSwitch(f), !isSwitch(f)
		}
	}
	flags, files := append([]string(nil), args[:named]...), []string(nil)
	rest := args[named:]
	for i := 0; i < len(rest); i++ {
		a := rest[i]
		switch {
		case a == "--":
			files = append(files, rest[i+1:]...)
			i = len(rest)
		case len(a) > 1 && a[0] == '-':
			flags = append(flags, a)
			if takesValue[a] && i+1 < len(rest) {
				i++
				flags = append(flags, rest[i])
			}
		default:
			files = append(files, a)
		}
	}
	return append(append(flags, "--"), files...)
}
