package main

import (
	"embed"
	"fmt"
	"slices"
	"strings"

	"github.com/urfave/cli/v2"

	"laydown/colour/press"
	"laydown/coverage/drawing"
	"laydown/coverage/ledger"
	"laydown/coverage/plate"
	"laydown/coverage/shop"
	"laydown/coverage/show"
	"laydown/coverage/unit"
)

// shells are those whose completion there is, each with its script.
var shells = []string{"bash", "zsh", "fish", "powershell"}

//go:embed completion
var completionScripts embed.FS

func completionCommand() *cli.Command {
	return &cli.Command{
		Name: "completion", Usage: "write a script that lets a shell complete commands, options and the names of the shop file", ArgsUsage: "SHELL",
		Action: func(c *cli.Context) error {
			shell := inFull(c.Args().First(), shells)
			if c.Args().Len() != 1 || !slices.Contains(shells, shell) {
				return usageError{fmt.Errorf("name one shell: %s", strings.Join(shells, ", "))}
			}
			script, err := completionScripts.ReadFile("completion/" + shell)
			if err == nil {
				_, err = c.App.Writer.Write(script)
			}
			return err
		},
	}
}

// completeCommand is what the scripts call: it is given the shell and the words that are
// typed so far, the last of which is to be completed.
func completeCommand() *cli.Command {
	return &cli.Command{
		Name: "complete-words", Usage: "what the scripts of completion call", Hidden: true, SkipFlagParsing: true,
		Action: func(c *cli.Context) error {
			words := c.Args().Slice()
			if len(words) < 1 {
				return usageError{fmt.Errorf("laydown completion writes the scripts that call this")}
			}
			found, directive := complete(c.App, words[0], words[1:])
			var b strings.Builder
			for _, f := range found {
				b.WriteString(f.word)
				if f.tells != "" && words[0] != "bash" {
					b.WriteString("\t" + f.tells)
				}
				b.WriteString("\n")
			}
			b.WriteString(directive + "\n")
			_, err := c.App.Writer.Write([]byte(b.String()))
			return err
		},
	}
}

// What may stand where words are completed, beside those that are found: the last line.
const (
	nothingElse = ":none"
	filesToo    = ":files"
	foldersToo  = ":folders"
)

// candidate is a word that may stand, and what it means.
type candidate struct{ word, tells string }

// complete finds what the last word may become.
func complete(app *cli.App, shell string, words []string) (found []candidate, directive string) {
	before := "" // what of the last word stands before what is completed
	words = join(shell, words)
	if len(words) == 0 {
		words = []string{""}
	}
	last, words := words[len(words)-1], words[:len(words)-1]
	last = strings.TrimLeft(last, `"'`) // a quote that is open
	keep := func(list []candidate, directive string) ([]candidate, string) {
		var out []candidate
		for _, v := range list {
			if w := []rune(v.word); len([]rune(last)) <= len(w) && strings.EqualFold(string(w[:len([]rune(last))]), last) {
				v.word = before + v.word
				out = append(out, v)
			}
		}
		return out, directive
	}
	if len(words) == 0 {
		if strings.HasPrefix(last, "-") {
			return keep([]candidate{{"--help", "show help"}, {"--version", "say which laydown this is"}}, nothingElse)
		}
		return keep(commandsOf(app.Commands), nothingElse)
	}
	cmd, rest := app.Command(words[0]), words[1:]
	if cmd == nil {
		return nil, nothingElse
	}
	if cmd.Name == "help" {
		if len(rest) == 0 {
			return keep(commandsOf(app.Commands), nothingElse)
		}
		if of := app.Command(rest[0]); of != nil && len(rest) == 1 {
			return keep(commandsOf(of.Subcommands), nothingElse)
		}
		return nil, nothingElse
	}
	ofLedger := cmd.Name == "ledger"
	if len(cmd.Subcommands) > 0 {
		if len(rest) == 0 {
			return keep(commandsOf(cmd.Subcommands), nothingElse)
		}
		if cmd, rest = cmd.Command(rest[0]), rest[1:]; cmd == nil {
			return nil, nothingElse
		}
	}
	byName := map[string]cli.Flag{}
	for _, f := range cmd.Flags {
		for _, n := range f.Names() {
			byName[dashed(n)], byName["-"+n] = f, f
		}
	}
	shopNamed, waiting, files := "", cli.Flag(nil), false
	for _, w := range rest {
		if waiting != nil {
			if waiting.Names()[0] == "shop" {
				shopNamed = w
			}
			waiting = nil
			continue
		}
		if w == "--" {
			files = true
			continue
		}
		name, value, assigned := strings.Cut(w, "=")
		if f := byName[name]; f != nil && !files && !isSwitch(f) {
			if !assigned {
				waiting = f
			} else if f.Names()[0] == "shop" {
				shopNamed = value
			}
		}
	}
	world := app.Metadata[worldKey].(world)
	switch {
	case waiting != nil:
		return keep(valuesOf(cmd.Name, waiting.Names()[0], world, shopNamed))
	case strings.HasPrefix(last, "-") && !files:
		if name, value, assigned := strings.Cut(last, "="); assigned && byName[name] != nil {
			before, last = before+name+"=", strings.TrimLeft(value, `"'`)
			return keep(valuesOf(cmd.Name, byName[name].Names()[0], world, shopNamed))
		}
		var options []candidate
		for _, f := range cmd.Flags {
			_, does := flagWords(f)
			for _, n := range f.Names() {
				if len(n) > 1 {
					options = append(options, candidate{dashed(n), does})
				}
			}
		}
		return keep(append(options, candidate{"--help", "show help"}), nothingElse)
	}
	switch cmd.Name {
	case "completion":
		return keep(plainly(shells), nothingElse)
	case "list":
		if !ofLedger {
			return keep(plainly(show.Lists), nothingElse)
		}
		return nil, nothingElse
	case "man", "fit", "undo", "correct":
		return nil, nothingElse
	}
	return nil, filesToo
}

// join puts words as a shell passes them into the words that are typed: bash parts them at
// "=", and of PowerShell the last stands behind one.
func join(shell string, words []string) (joined []string) {
	if n := len(words); shell == "powershell" && n > 0 {
		return append(slices.Clone(words[:n-1]), strings.TrimPrefix(words[n-1], "="))
	}
	if shell != "bash" {
		return words
	}
	for i := 0; i < len(words); i++ {
		n := len(joined)
		if words[i] != "=" || n == 0 || !strings.HasPrefix(joined[n-1], "--") {
			joined = append(joined, words[i])
			continue
		}
		value := "" // bash completes the value alone
		if i+1 < len(words) {
			i++
			value = words[i]
		}
		joined = append(joined, value)
	}
	return joined
}

func commandsOf(list []*cli.Command) (out []candidate) {
	for _, c := range list {
		if !c.Hidden {
			out = append(out, candidate{c.Name, c.Usage})
		}
	}
	return out
}

func plainly(words []string) (out []candidate) {
	for _, w := range words {
		out = append(out, candidate{word: w})
	}
	return out
}

// valuesOf are what an option may be set to.
func valuesOf(command, option string, w world, shopNamed string) ([]candidate, string) {
	var out []candidate
	switch option {
	case "item", "process", "printer":
		s, err := findShop(w, shopNamed)
		if err != nil {
			return nil, nothingElse // the command itself will say why
		}
		l := s.List()
		switch option {
		case "item":
			for _, v := range l.Items {
				tells := v.Material
				if v.SoldBy != "" {
					tells += ", loose"
				}
				out = append(out, candidate{v.Name, strings.TrimPrefix(tells, ", ")})
			}
			out = append(out, candidate{shop.None, "no item, loose"})
		case "process":
			for _, v := range l.Processes {
				out = append(out, candidate{v.Name, v.Media})
			}
		case "printer":
			for _, v := range l.Printers {
				out = append(out, candidate{word: v.Name})
			}
		}
	case "sheet":
		for _, v := range unit.Sheets() {
			out = append(out, candidate{v.Name, fmt.Sprintf("%g x %g mm", v.WidthMM, v.HeightMM)})
		}
	case "place":
		out = plainly(append(drawing.Places(drawing.Tee), drawing.Front))
	case "intent":
		out = plainly([]string{"relative", "perceptual", "saturation", "absolute"})
	case "format":
		out = plainly(show.PlateFormats)
	case "black":
		out = plainly(press.Blacks())
	case "keep-pure":
		out = plainly(press.Keeps())
	case "measurement":
		out = plainly([]string{"m0", "m1", "m2", "m3"})
	case "kind":
		out = plainly(ledger.Kinds)
	case "during":
		out = plainly(ledger.Durings)
	case "cartridge":
		out = plainly(plate.Names[:])
	case "cache":
		return plainly([]string{"none"}), foldersToo
	case "out":
		if command == "separate" {
			return nil, foldersToo
		}
		return nil, filesToo
	case "shop", "press", "swatches", "art", "orders", "csv", "resume", "html", "pdf", "tickets", "mark", "picture", "ledger":
		return nil, filesToo
	}
	return out, nothingElse
}
