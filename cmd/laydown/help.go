package main

import (
	"fmt"
	"slices"
	"strings"
	"unicode/utf8"

	"github.com/urfave/cli/v2"

	"laydown/coverage/limit"
)

// example is a call that a person may copy, and what it tells. A test runs them all.
type example struct{ line, tells string }

// examples are two calls of every command, by its name.
var examples = map[string][2]example{
	"coverage": {
		{`laydown coverage badge.png --width 80mm`, "what one print of 80 mm and a full sheet lay down"},
		{`laydown coverage badge.png banner.tif -w 60mm --json`, "two pieces of art, for another program"},
	},
	"preflight": {
		{`laydown preflight badge.png --width 90mm --mark marked.png`, "what will print badly, and where on the art"},
		{`laydown preflight banner.tif -w 45mm -i "white tee" --drop-background`, "the same as if the ground behind the art were gone"},
	},
	"match": {
		{`laydown match badge.png --swatches colours.csv --item "black tee"`, "the brand's colours and the art's own on a black tee"},
		{`laydown match --colour "Dawn=#ff6a13" --item "white tee"`, "one colour, without art"},
	},
	"underbase": {
		{`laydown underbase badge.png --item "black tee"`, "no white, white toner or a white film on a black tee"},
		{`laydown underbase badge.png --item-colour navy --rules`, "on navy, by every rule for white"},
	},
	"proof": {
		{`laydown proof badge.png --swatches colours.csv --html proof.html`, "the whole order as text, and as a page with pictures"},
		{`laydown proof badge.png -i "white tee" -w 90mm --customer --pdf approval.pdf`, "the page that the customer approves and signs"},
	},
	"separate": {
		{`laydown separate badge.png --out plates`, "five plates as grey PNG files in the folder plates"},
		{`laydown separate banner.tif -w 45mm --format tiff --soft-proof -o plates`, "of CMYK art as one TIFF, and how it looks on the item"},
	},
	"profile": {
		{`laydown profile`, "what the built-in printing condition says"},
		{`laydown profile --picture gamut.svg --art badge.png`, "its gamut as a picture, with the art's colours in it"},
	},
	"quote": {
		{`laydown quote badge.png --qty 24 --item "white tee"`, "what 24 white tees with the print cost and sell for"},
		{`laydown quote --orders orders.csv --csv quotes.csv`, "every row of a list, for a spreadsheet too"},
	},
	"order": {
		{`laydown order order.toml --html quote.html --tickets tickets.html`, "a costing, the customer's quote, and a ticket for each print"},
		{`laydown order art --qty 12 --item "white tee"`, "all art of a folder, twelve tees of each"},
	},
	"ticket": {
		{`laydown ticket badge.png --qty 24 --item "white tee"`, "the recipe for 24 tees, step by step"},
		{`laydown ticket badge.png -i "black tee" --html ticket.html`, "the same as one page to print"},
	},
	"gang": {
		{`laydown gang pieces.csv --one-layout --picture layout.svg`, "pieces of several sizes on one layout, drawn"},
		{`laydown gang badge.png=12,80mm badge.png=30,3in`, "art files, how many of each and how wide"},
	},
	"ledger": {
		{`laydown ledger add badge.png --pieces 24 --ledger ours.db`, "enter a run of 24 prints"},
		{`laydown ledger fit --ledger ours.db`, "what toner really costs"},
	},
	"ledger add": {
		{`laydown ledger add badge.png --pieces 24 --ledger ours.db`, "enter a run of 24 prints, and what its toner costs"},
		{`laydown ledger add --cartridge white --left 5 --ledger ours.db`, "enter a cartridge that was changed with 5 % left in it"},
	},
	"ledger list": {
		{`laydown ledger list --ledger ours.db`, "all entries with their numbers, and what their toner cost then"},
		{`laydown ledger list --ledger ours.db --printer "bench printer" --json`, "of one printer, for another program"},
	},
	"ledger undo": {
		{`laydown ledger undo --ledger ours.db`, "take the last entry back"},
		{`laydown ledger undo 1 --ledger ours.db`, "take entry 1 back"},
	},
	"ledger correct": {
		{`laydown ledger correct 1 --pieces 22 --ledger ours.db`, "entry 1 was of 22 prints"},
		{`laydown ledger correct 1 --date 2026-03-14T09:30 --ledger ours.db`, "and earlier that day"},
	},
	"ledger fit": {
		{`laydown ledger fit --ledger ours.db`, "each toner's true cost, and how sure that is"},
		{`laydown ledger fit --ledger ours.db --printer "bench printer" --json`, "of one printer, for another program"},
	},
	"list": {
		{`laydown list`, "all names of the shop file, and how short each may be typed"},
		{`laydown list items`, "the items alone"},
	},
	"init": {
		{`laydown init shop.toml`, "a shop file to put your own figures in"},
		{`laydown init`, "the same on the terminal, to read"},
	},
	"completion": {
		{`laydown completion bash`, "the script for bash"},
		{`laydown completion fish`, "the script for fish"},
	},
	"man": {
		{`laydown man`, "the manual page, as text for man"},
		{`laydown man -o laydown.1`, "the same in a file: read it with man ./laydown.1"},
	},
	"help": {
		{`laydown help`, "all commands"},
		{`laydown help ledger add`, "one of them"},
	},
}

// questions are what people come with, each with a call that answers it.
var questions = [5]example{
	{`laydown quote badge.png --qty 24 --item "white tee"`, "What does it cost, and what do I ask for it?"},
	{`laydown preflight badge.png --width 90mm --mark marked.png`, "Will it print well, and if not, where?"},
	{`laydown match badge.png --swatches colours.csv`, "Will the brand's colours come out right?"},
	{`laydown underbase badge.png --item "black tee"`, "Does it need white under it?"},
	{`laydown proof badge.png --html proof.html`, "What is all of that, on one page with pictures?"},
}

// artWords says what may stand for art.
const artWords = "ART is a file, a folder, a pattern such as \"*.png\", a .zip, or - for standard input. One that is bad stops no other."

// helpWidth is how wide help is set.
const helpWidth = 80

// welcome is what the program says when it is called alone.
func welcome(app *cli.App) string {
	var b strings.Builder
	b.WriteString(wrapped("laydown: "+app.Usage+".", "") + "\n")
	for _, q := range questions {
		fmt.Fprintf(&b, "%s\n    %s\n", q.tells, q.line)
	}
	b.WriteString("\nYour own prices:           laydown init shop.toml\n" +
		"Names that can be typed:   laydown list\n" +
		"All commands:              laydown help\n" +
		"One command:               laydown COMMAND --help\n")
	return b.String()
}

// appHelp lists the commands.
func appHelp(app *cli.App) string {
	var b strings.Builder
	fmt.Fprintf(&b, "Examples:\n%s\n", exampleLines([]example{questions[0], questions[4]}))
	b.WriteString("Usage: laydown COMMAND [options] [files]\n\nCommands:\n")
	for _, c := range app.Commands {
		if !c.Hidden {
			b.WriteString(entry(c.Name, c.Usage, 14))
		}
	}
	b.WriteString("\n" + entry("-h, --help", "show help; behind a command, of that command", 14))
	b.WriteString(entry("-v, --version", "say which laydown this is", 14))
	b.WriteString("\n" + limits())
	b.WriteString("\nExit codes: 0 fine, 1 could not do it, 2 wrong usage, 3 --strict and a finding\nthat stops the print.\n")
	return b.String()
}

// limits lists what one run takes on at most.
func limits() string {
	var b strings.Builder
	b.WriteString("Limits, which the shop file sets under [limits]:\n")
	usual := limit.Usual()
	for _, l := range usual.Each() {
		b.WriteString(entry(fmt.Sprintf("%s = %d", l.Key, *l.Value), l.Of, 23))
	}
	return b.String()
}

// commandHelp explains a command by its full name, such as "ledger add".
func commandHelp(name string, c *cli.Command) string {
	var b strings.Builder
	of := examples[name]
	fmt.Fprintf(&b, "Examples:\n%s\n", exampleLines(of[:]))
	b.WriteString(wrapped(fmt.Sprintf("laydown %s: %s.", name, c.Usage), ""))
	usage := "laydown " + name
	if len(c.Subcommands) > 0 {
		usage += " COMMAND"
	}
	if len(c.Subcommands) > 0 || slices.ContainsFunc(c.Flags, func(f cli.Flag) bool { return f.Names()[0] != "help" }) {
		usage += " [options]"
	}
	if c.ArgsUsage != "" {
		usage += " " + c.ArgsUsage
	}
	fmt.Fprintf(&b, "\nUsage: %s\n", usage)
	if strings.Contains(c.ArgsUsage, "ART...") {
		b.WriteString(wrapped(artWords, "  "))
	}
	for _, sub := range c.Subcommands {
		b.WriteString(entry(sub.Name, sub.Usage, 14))
	}
	for _, g := range append([]string{""}, groups...) {
		flags := inGroup(c, g)
		if len(flags) == 0 {
			continue
		}
		if g == "" {
			g = "Options of " + name
		}
		fmt.Fprintf(&b, "\n%s:\n", g)
		for _, f := range flags {
			left, right := flagWords(f)
			b.WriteString(entry(left, right, 25))
		}
	}
	return b.String()
}

// inGroup are a command's options of a group; "" are its own.
func inGroup(c *cli.Command, group string) []cli.Flag {
	return slices.DeleteFunc(slices.Clone(c.Flags), func(f cli.Flag) bool {
		of := ""
		if g, ok := f.(cli.CategorizableFlag); ok {
			of = g.GetCategory()
		}
		return of != group || slices.Contains(f.Names(), "help")
	})
}

func exampleLines(of []example) string {
	var b strings.Builder
	for _, e := range of {
		fmt.Fprintf(&b, "  %s\n      %s\n", e.line, e.tells)
	}
	return b.String()
}

// flagWords are how an option is typed, short form first, and what it does.
func flagWords(f cli.Flag) (typed, does string) {
	doc := f.(cli.DocGenerationFlag)
	does = doc.GetUsage()
	value := ""
	if before, rest, ok := strings.Cut(does, "`"); ok {
		word, after, _ := strings.Cut(rest, "`")
		value, does = " "+word, before+word+after
	}
	var short, long []string
	for _, n := range f.Names() {
		if len(n) == 1 {
			short = append(short, dashed(n))
		} else {
			long = append(long, dashed(n))
		}
	}
	typed = strings.Join(append(short, long...), ", ") + value
	if v := strings.Trim(doc.GetValue(), `"`); v != "" && !isSwitch(f) && v != "0" && !strings.Contains(does, "default:") && !strings.HasPrefix(v, "[") {
		does += " (default: " + v + ")"
	}
	return typed, does
}

// entry sets what is typed, and beside it or where that is long below it what it does.
func entry(typed, does string, indent int) string {
	margin := strings.Repeat(" ", indent)
	first := "  " + typed
	if n := utf8.RuneCountInString(first); n < indent {
		first += strings.Repeat(" ", indent-n)
	} else {
		first += "\n" + margin
	}
	return first + strings.TrimPrefix(wrapped(does, margin), margin)
}

// wrapped sets words in lines of up to [helpWidth] letters behind a margin.
func wrapped(words, margin string) string { return folded(words, margin, margin, helpWidth) }

// folded sets words in lines of up to so many letters, the first behind one margin and the
// others behind another. A word that is longer than a line stands alone.
func folded(words, first, rest string, width int) string {
	var b strings.Builder
	line, empty := first, true
	for _, w := range strings.Fields(words) {
		if !empty && utf8.RuneCountInString(line)+1+utf8.RuneCountInString(w) > width {
			b.WriteString(line + "\n")
			line, empty = rest, true
		}
		if !empty {
			line += " "
		}
		line, empty = line+w, false
	}
	return b.String() + line + "\n"
}

// leastWidth is the narrowest that text is set for.
const leastWidth = 40

// narrowed folds the lines of a text that are wider than a terminal, words whole, each behind
// its own margin or a small one where that leaves little; 0 is a width that nobody says, and
// folds at [helpWidth].
func narrowed(text string, width int) string {
	if width == 0 {
		width = helpWidth
	}
	width = max(width, leastWidth)
	var b strings.Builder
	for line := range strings.Lines(text) {
		if utf8.RuneCountInString(strings.TrimSuffix(line, "\n")) <= width {
			b.WriteString(line)
			continue
		}
		margin := len(line) - len(strings.TrimLeft(line, " "))
		b.WriteString(folded(line, strings.Repeat(" ", min(margin, width/4)), strings.Repeat(" ", min(margin+2, width/4)), width))
	}
	return b.String()
}

func helpCommand() *cli.Command {
	return &cli.Command{
		Name: "help", Aliases: []string{"h"}, Usage: "list the commands, or explain one", ArgsUsage: "[COMMAND]",
		Action: func(c *cli.Context) error {
			text, err := helpFor(c.App, c.Args().Slice())
			if err == nil {
				_, err = fmt.Fprint(c.App.Writer, narrowed(text, lineWidth(c.App.Writer)))
			}
			return err
		},
	}
}

// helpFor is the help of a command that is named by its words; of none, of the program.
func helpFor(app *cli.App, words []string) (string, error) {
	if len(words) == 0 {
		return appHelp(app), nil
	}
	cmd := app.Command(words[0])
	if cmd == nil || cmd.Hidden {
		return "", unknownCommand(words[0], "laydown", app.Commands)
	}
	name := cmd.Name
	if len(words) > 1 {
		sub := cmd.Command(words[1])
		if sub == nil {
			return "", unknownCommand(words[1], "laydown "+name, cmd.Subcommands)
		}
		cmd, name = sub, name+" "+sub.Name
	}
	return commandHelp(name, cmd), nil
}

// literal is text as a template that says it.
func literal(text string) string { return strings.ReplaceAll(text, "{{", `{{"{{"}}`) }
