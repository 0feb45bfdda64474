package main

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"github.com/urfave/cli/v2"

	"laydown/coverage/bundle"
	"laydown/coverage/file"
	"laydown/coverage/table"
)

// Everything here is found before any work is done: a mistake in how the program is called
// must not cost the time that the answer takes.

// set are those of some options that are given, as they are typed.
func set(c *cli.Context, names ...string) (given []string) {
	for _, n := range names {
		if c.IsSet(n) {
			given = append(given, option(n))
		}
	}
	return given
}

// without refuses options that mean nothing in a call, and says why not.
func without(c *cli.Context, why string, names ...string) error {
	given := set(c, names...)
	if len(given) == 0 {
		return nil
	}
	return usageError{fmt.Errorf("%s: %s", strings.Join(given, ", "), why)}
}

// artOptions are those that are about an art file.
var artOptions = []string{"page", "width", "height", "dpi", "sheet", "drop-background", "drop-holes", "ignore-profile", "keep-pure"}

// writable looks whether the files that a call writes can be written: that their folders
// are there, that they are no folders themselves, and that none is an input or another of
// them. names are options whose values are files; more are files that
// are read and that the call itself does not name, such as the art of a list.
func writable(c *cli.Context, names []string, more ...string) error {
	read := append(inputs(c), more...)
	seen := map[string]string{}
	for _, n := range names {
		to := c.String(n)
		if to == "" {
			if c.IsSet(n) {
				return usageError{fmt.Errorf("%s: name a file", option(n))}
			}
			continue
		}
		dir := filepath.Dir(to)
		st, err := os.Stat(dir)
		switch {
		case err != nil:
			return fmt.Errorf("%s %s: there is no folder %s: make it first, or choose another", option(n), to, dir)
		case !st.IsDir():
			return fmt.Errorf("%s %s: %s is no folder", option(n), to, dir)
		}
		if st, err := os.Stat(to); err == nil && st.IsDir() {
			return fmt.Errorf("%s %s: is a folder: name a file in it", option(n), to)
		}
		if n == "ledger" { // which may be one that is only read
			if slices.ContainsFunc(read, func(in string) bool { return in != "" && file.Same(to, in) }) {
				return named(to, file.ErrInput)
			}
		} else if err := file.Check([]string{to}, read); err != nil {
			return err
		}
		path, err := file.Target(to)
		if err == nil {
			path, err = filepath.Abs(path)
		}
		if err != nil {
			return named(to, err)
		}
		if other := seen[path]; other != "" {
			return usageError{fmt.Errorf("%s and %s are the same file: name two", other, option(n))}
		}
		seen[path] = option(n)
	}
	return nil
}

// inputs are the files that a call names to be read, and a shop file that is read without
// being named. Where several options write, what one writes is none.
func inputs(c *cli.Context) (read []string) {
	for _, a := range c.Args().Slice() {
		read = append(append(read, a), bundle.Files(a)...)
	}
	for _, n := range []string{"shop", "swatches", "press", "art", "orders"} {
		read = append(read, c.String(n))
	}
	found, _ := lookForShop(worldOf(c))
	return append(read, found)
}

// unknown finds a command or an option that there is not, and the nearest that there is.
// Options are read up to "--"; a value is none.
func unknown(app *cli.App, args []string) error {
	if len(args) < 2 {
		return nil
	}
	if first := args[1]; strings.HasPrefix(first, "-") && first != "-" {
		return unknownOption(app, "laydown", app.Flags, args[1:])
	}
	cmd := app.Command(args[1])
	if cmd == nil {
		return unknownCommand(args[1], "laydown", app.Commands)
	}
	if cmd.SkipFlagParsing {
		return nil
	}
	path, rest := "laydown "+cmd.Name, args[2:]
	if len(cmd.Subcommands) > 0 {
		if len(rest) == 0 {
			return nil // the command says so itself
		}
		if strings.HasPrefix(rest[0], "-") {
			return unknownOption(app, path, cmd.Flags, rest)
		}
		sub := cmd.Command(rest[0])
		if sub == nil {
			return unknownCommand(rest[0], path, cmd.Subcommands)
		}
		cmd, path, rest = sub, path+" "+sub.Name, rest[1:]
	}
	return unknownOption(app, path, cmd.Flags, rest)
}

func unknownCommand(word, path string, commands []*cli.Command) error {
	var names []string
	for _, c := range commands {
		if !c.Hidden {
			names = append(names, c.Names()...)
		}
	}
	text := fmt.Sprintf("there is no command %q", word)
	if st, err := os.Stat(word); err == nil && !st.IsDir() && path == "laydown" {
		return usageError{fmt.Errorf("%s; it is a file: put a command before it, such as laydown proof %s", text, word)}
	}
	if strings.EqualFold(word, "version") {
		return usageError{fmt.Errorf("%s; is laydown --version meant?", text)}
	}
	if near := table.Nearest(strings.ToLower(word), names); near != "" {
		text += fmt.Sprintf("; is %s %s meant?", path, near)
	}
	return usageError{errors.New(text)}
}

func unknownOption(app *cli.App, path string, flags []cli.Flag, args []string) error {
	names, takes := []string{"help", "h"}, map[string]bool{}
	for _, f := range flags {
		for _, n := range f.Names() {
			names = append(names, n)
			takes[n] = !isSwitch(f)
		}
	}
	for i := 0; i < len(args); i++ {
		a := args[i]
		if a == "--" {
			return nil
		}
		if len(a) < 2 || a[0] != '-' {
			continue
		}
		name, _, assigned := strings.Cut(strings.TrimPrefix(strings.TrimPrefix(a, "-"), "-"), "=")
		if slices.Contains(names, name) {
			if takes[name] && !assigned {
				if i++; i == len(args) {
					return usageError{fmt.Errorf("%s needs a value behind it", dashed(name))}
				}
			}
			continue
		}
		typed, _, _ := strings.Cut(a, "=")
		text := fmt.Sprintf("%s has no option %s", path, typed)
		if hint := optionHint(app, path, name, a, names, takes); hint != "" {
			text += "; " + hint
		}
		return usageError{errors.New(text)}
	}
	return nil
}

// otherWords are options as people call them, and the options that are meant, of which a
// command has one.
var otherWords = map[string][]string{
	"quantity": {"qty"}, "quantities": {"qty"}, "pieces": {"qty"}, "copies": {"qty"}, "amount": {"qty"},
	"colour": {"item-colour"}, "color": {"item-colour"}, "on": {"item"}, "output": {"out", "html", "csv", "mark", "picture"}, "out": {"html", "csv", "mark", "picture"},
	"size": {"width"}, "paper": {"sheet"}, "profile": {"press"}, "icc": {"press"},
}

// optionHint says what may be meant by an option that there is not; typed is it as it stands
// there. "" for nothing.
func optionHint(app *cli.App, path, name, typed string, names []string, takes map[string]bool) string {
	lower := strings.ToLower(name)
	for _, meant := range otherWords[lower] {
		if slices.Contains(names, meant) {
			return fmt.Sprintf("is %s meant?", dashed(meant))
		}
	}
	// A short option with its value right behind it, such as -w40mm.
	if letter := name[:1]; !strings.HasPrefix(typed, "--") && len(name) > 1 && takes[letter] {
		return fmt.Sprintf("write a space: -%s %s", letter, name[1:])
	}
	if slices.Contains(names, lower) {
		return fmt.Sprintf("is %s meant?", dashed(lower))
	}
	var have []string
	for _, c := range app.Commands {
		if !c.Hidden && slices.ContainsFunc(c.Flags, func(f cli.Flag) bool { return slices.Contains(f.Names(), lower) }) {
			have = append(have, c.Name)
		}
	}
	switch {
	case len(have) > 0 && path == "laydown":
		return "put it behind the command"
	case len(have) > 0:
		verb := "have it"
		if len(have) == 1 {
			verb = "has it"
		}
		if len(have) > 3 {
			have, verb = have[:3], "and others have it"
		}
		return strings.Join(have, ", ") + " " + verb
	}
	if near := table.Nearest(lower, names); near != "" && len([]rune(name)) > 1 {
		return fmt.Sprintf("is %s meant?", dashed(near))
	}
	return ""
}
