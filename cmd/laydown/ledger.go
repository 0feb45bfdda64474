package main

import (
	"errors"
	"fmt"
	"strconv"
	"time"

	"github.com/urfave/cli/v2"

	"laydown/coverage/fault"
	"laydown/coverage/ledger"
	"laydown/coverage/proof"
	"laydown/coverage/show"
)

// The options of the ledger's commands.
func ledgerFlag() cli.Flag {
	return &cli.StringFlag{Name: "ledger", Usage: "the ledger `FILE`"}
}

func dateFlag(usually string) cli.Flag {
	return &cli.StringFlag{Name: "date", Usage: "`WHEN`, such as 2026-03-14 or 2026-03-14T15:30, in the shop's time zone (default: " + usually + ")"}
}

func changeFlags() []cli.Flag {
	return []cli.Flag{
		&cli.StringFlag{Name: "cartridge", Usage: "the `TONER` that was changed: cyan, magenta, yellow, black or white"},
		&cli.Float64Flag{Name: "left", Usage: "`PERCENT` that was still in it"},
		&cli.Float64Flag{Name: "put-in", Usage: "`PERCENT` that was in the one that was put in (default: a new one)"},
		&cli.StringFlag{Name: "during", Usage: "the `RUN` that it ended in: last, next, or none if it was changed between runs (default: last if it was empty, else none)"},
	}
}

func ledgerCommand() *cli.Command {
	printer := &cli.StringFlag{Name: "printer", Usage: "printer `NAME` of the shop file (default: the default process's)"}
	return &cli.Command{
		Name: "ledger", Usage: "keep what was really printed, and learn what toner really costs",
		Subcommands: []*cli.Command{
			{
				Name: "add", Usage: "enter a run (ART with --pieces or --sheets), test pages (--kind test) or a changed cartridge (--cartridge)",
				ArgsUsage: "[ART]", Flags: orderFlags(append(append([]cli.Flag{
					&cli.StringFlag{Name: "ledger", Usage: "the ledger `FILE`, made if it is not there"},
					&cli.IntFlag{Name: "pieces", Usage: "prints `N` that were really printed, spoilt ones too (default: all that the sheets hold)"},
					&cli.IntFlag{Name: "sheets", Usage: "sheets `N` that went through the printer (default: as many as the pieces take)"},
					&cli.StringFlag{Name: "kind", Usage: "`WHAT` it was: print, jam or test; a test without ART is the printer's own page (default: print)"},
					&cli.StringFlag{Name: "job", Usage: "the job's `NAME` (default: the art's)"},
				}, changeFlags()...), dateFlag("now"), printer)),
				Action: ledgerAdd,
			},
			{
				Name: "list", Usage: "the entries, with what their toner cost as it was reckoned then",
				Flags: append([]cli.Flag{ledgerFlag(), &cli.StringFlag{Name: "printer", Usage: "printer `NAME` (default: all)"},
					&cli.BoolFlag{Name: "all", Usage: "entries that were taken back or corrected too"}}, shared("shop", "json")...),
				Action: ledgerList,
			},
			{
				Name: "undo", Usage: "take an entry back, the last one or that of a number; one that it corrected stands again",
				ArgsUsage: "[NUMBER]", Flags: append([]cli.Flag{ledgerFlag()}, shared("shop", "json")...),
				Action: ledgerUndo,
			},
			{
				Name: "correct", Usage: "put an entry right; what its toner was reckoned with then stays",
				ArgsUsage: "NUMBER", Flags: append(append([]cli.Flag{
					ledgerFlag(),
					&cli.IntFlag{Name: "pieces", Usage: "of a run: prints `N` that were really printed"},
					&cli.IntFlag{Name: "sheets", Usage: "of a run: sheets `N` that went through the printer; a run of full sheets stays one"},
					&cli.StringFlag{Name: "kind", Usage: "of a run: `WHAT` it was, print, jam or test"},
					&cli.StringFlag{Name: "job", Usage: "of a run: the job's `NAME`"},
				}, changeFlags()...), append([]cli.Flag{dateFlag("as it was"), &cli.StringFlag{Name: "printer", Usage: "printer `NAME` of the shop file (default: as it was)"}}, shared("shop", "json")...)...),
				Action: ledgerCorrect,
			},
			{
				Name: "fit", Usage: "each toner's true cost, how sure that is, and corrections for the shop file",
				Flags: append([]cli.Flag{ledgerFlag(), printer,
					&cli.Float64Flag{Name: "forgotten", Usage: "`PERCENT` of the runs that, as you reckon, nobody entered, up to 50"}}, shared("shop", "json")...),
				Action: ledgerFit,
			},
		},
		Action: func(c *cli.Context) error {
			return usageError{errors.New("say ledger add, list, undo, correct or fit")}
		},
	}
}

// ledgerCall is what the ledger's commands but add begin with: the shop's books, what check
// refuses by them, then f with the ledger that is named, which must be there.
func ledgerCall(c *cli.Context, check func(ledger.Books) error, f func(*ledger.Ledger, ledger.Books, *proof.Head) error) error {
	b, h, err := booksOf(c)
	if err != nil {
		return err
	}
	if err := check(b); err != nil {
		return err
	}
	l, err := ledger.Open(c.String("ledger"))
	if err != nil {
		return err
	}
	defer l.Close()
	return f(l, b, h)
}

// nothingMore is for commands that check nothing by the books.
func nothingMore(ledger.Books) error { return nil }

// printerThere looks whether the shop has the printer that is named.
func printerThere(c *cli.Context) func(ledger.Books) error {
	return func(b ledger.Books) error {
		_, err := b.Printer(c.String("printer"))
		return err
	}
}

// booksOf are the shop's books. Before they are read, a ledger must be named that can be there.
func booksOf(c *cli.Context) (ledger.Books, *proof.Head, error) {
	if c.String("ledger") == "" {
		return ledger.Books{}, nil, usageError{errors.New("name the ledger with --ledger FILE")}
	}
	if err := writable(c, []string{"ledger"}); err != nil {
		return ledger.Books{}, nil, err
	}
	s, err := readShop(c)
	if err != nil {
		return ledger.Books{}, nil, err
	}
	w := worldOf(c)
	return ledger.BooksOf(s, w.now(), w.zone), proof.HeadOf(s), nil
}

// when is the date that is asked for, or else the usual one.
func when(c *cli.Context, b ledger.Books, usual time.Time) (time.Time, error) {
	if !c.IsSet("date") {
		return usual, nil
	}
	return b.Parse(c.String("date"))
}

// noFiles refuses arguments of a command that reads none.
func noFiles(c *cli.Context) error {
	if c.Args().Present() {
		return usageError{fmt.Errorf("ledger %s reads no art: leave files out", c.Command.Name)}
	}
	return nil
}

// entryNumber reads the number of an entry; 0 if there is none.
func entryNumber(c *cli.Context) (int64, error) {
	if c.Args().Len() == 0 {
		return 0, nil
	}
	n, err := strconv.ParseInt(c.Args().First(), 10, 64)
	if err != nil || n <= 0 || c.Args().Len() > 1 {
		return 0, usageError{errors.New("name one entry by its number, as ledger list tells it")}
	}
	return n, nil
}

func ledgerList(c *cli.Context) error {
	if err := noFiles(c); err != nil {
		return err
	}
	if c.Bool("all") && c.Bool("json") {
		return usageError{errors.New("--json lists everything: leave --all out")}
	}
	return ledgerCall(c, nothingMore, func(l *ledger.Ledger, b ledger.Books, h *proof.Head) error {
		f, err := l.Listing(b, c.String("printer"))
		if err != nil {
			return err
		}
		return printOne(c, h, struct {
			*ledger.Listing
			*proof.Head
		}{f, h}, show.LedgerList(f, c.Bool("all"), style(c)))
	})
}

func ledgerFit(c *cli.Context) error {
	if err := noFiles(c); err != nil {
		return err
	}
	return ledgerCall(c, printerThere(c), func(l *ledger.Ledger, b ledger.Books, h *proof.Head) error {
		r, err := l.Report(b, c.String("printer"), c.Float64("forgotten"))
		if err != nil {
			return err
		}
		return printOne(c, h, struct {
			*ledger.Report
			*proof.Head
		}{r, h}, show.Ledger(r, style(c)))
	})
}

func ledgerUndo(c *cli.Context) error {
	number, err := entryNumber(c)
	if err != nil {
		return err
	}
	return ledgerCall(c, nothingMore, func(l *ledger.Ledger, b ledger.Books, h *proof.Head) error {
		e, err := l.Undo(number)
		if err != nil {
			return err
		}
		words := fmt.Sprintf("Taken back: entry %d, %s.", e.Number, show.Entered(e, b))
		if e.Corrects != 0 {
			words += fmt.Sprintf(" Entry %d stands again.", e.Corrects)
		}
		return printOne(c, h, struct {
			Number int64  `json:"number"`
			Undone string `json:"undone"`
			*proof.Head
		}{e.Number, words, h}, words+"\n")
	})
}

// What of a correction is about runs alone, and about changes alone.
var (
	runCorrections    = []string{"pieces", "sheets", "kind", "job"}
	changeCorrections = []string{"cartridge", "left", "put-in", "during"}
)

func ledgerCorrect(c *cli.Context) error {
	number, err := entryNumber(c)
	if err != nil {
		return err
	}
	if number == 0 {
		return usageError{errors.New("name the entry by its number, as ledger list tells it")}
	}
	if len(set(c, append(append([]string{"date", "printer"}, runCorrections...), changeCorrections...)...)) == 0 {
		return usageError{errors.New("say what is to be put right, such as --pieces 24 or --date 2026-03-14T15:30")}
	}
	if err := aboveNothing(c, "pieces", "sheets", "put-in"); err != nil {
		return err
	}
	return ledgerCall(c, printerThere(c), func(l *ledger.Ledger, b ledger.Books, h *proof.Head) error {
		e, err := l.Correct(b, number, func(e *ledger.Entry) error {
			if e.Run != nil {
				return correctRun(c, b, e.Run)
			}
			return correctChange(c, b, e.Change)
		})
		if err != nil {
			return err
		}
		words := fmt.Sprintf("Entry %d in place of %d: %s.", e.Number, number, show.Entered(e, b))
		return printOne(c, h, struct {
			Number    int64  `json:"number"`
			Corrected string `json:"corrected"`
			*proof.Head
		}{e.Number, words, h}, words+"\n")
	})
}

func correctRun(c *cli.Context, b ledger.Books, r *ledger.Run) (err error) {
	if err := without(c, "is about a changed cartridge, and this entry is a run", changeCorrections...); err != nil {
		return err
	}
	if r.At, err = when(c, b, r.At); err != nil {
		return err
	}
	if c.IsSet("printer") {
		r.Printer = c.String("printer")
	}
	if c.IsSet("job") {
		r.Job = c.String("job")
	}
	if c.IsSet("kind") {
		r.Kind = c.String("kind")
	}
	return r.Scale(c.Int("sheets"), c.Int("pieces"))
}

func correctChange(c *cli.Context, b ledger.Books, v *ledger.Change) (err error) {
	if err := without(c, "is about a run, and this entry is a changed cartridge", runCorrections...); err != nil {
		return err
	}
	if v.At, err = when(c, b, v.At); err != nil {
		return err
	}
	if c.IsSet("printer") {
		v.Printer = c.String("printer")
	}
	if c.IsSet("cartridge") {
		if v.Toner, err = b.Toner(v.Printer, c.String("cartridge")); err != nil {
			return err
		}
	}
	if c.IsSet("left") {
		v.LeftPercent = c.Float64("left")
	}
	if c.IsSet("put-in") {
		v.PutInPercent = c.Float64("put-in")
	}
	if c.IsSet("during") {
		v.During = c.String("during")
	}
	return nil
}

// aboveNothing refuses numbers that are given and are not above 0.
func aboveNothing(c *cli.Context, names ...string) error {
	for _, n := range names {
		if c.IsSet(n) && !(c.Float64(n) > 0 || c.Int(n) > 0) {
			return usageError{fault.In(n, errors.New("must be above 0"))}
		}
	}
	return nil
}

func ledgerAdd(c *cli.Context) error {
	if err := aboveNothing(c, "pieces", "sheets", "put-in"); err != nil {
		return err
	}
	if c.String("cartridge") != "" {
		return ledgerAddChange(c)
	}
	pages := inFull(c.String("kind"), ledger.Kinds) == ledger.Test && !c.Args().Present() // the printer's own
	switch {
	case c.Args().Len() != 1 && !pages || !c.IsSet("pieces") && !c.IsSet("sheets"):
		return usageError{errors.New("name one art file and how many --pieces or --sheets were printed, or the --cartridge that was changed")}
	case c.IsSet("printer") && !pages:
		return usageError{errors.New("--printer: a run is on the printer of its process: choose that with --process")}
	}
	if err := without(c, "is about a changed cartridge: name it with --cartridge, as an entry of its own", "left", "put-in", "during"); err != nil {
		return err
	}
	if pages {
		if err := without(c, "is about art: name it", append(append([]string{"pieces"}, separationOptions...), artOptions...)...); err != nil {
			return err
		}
	}
	b, h, err := booksOf(c)
	if err != nil {
		return err
	}
	at, err := when(c, b, b.Now)
	if err != nil {
		return err
	}
	var run ledger.Run
	if pages {
		if run, err = b.TestPage(c.String("printer"), c.Int("sheets"), at); err != nil {
			return err
		}
		if c.IsSet("job") {
			run.Job = c.String("job")
		}
	} else {
		found, err := proofs(c, 0)
		if err != nil {
			return err
		}
		all := found.all
		switch {
		case found.failed != nil:
			return found.failed
		case len(all) > 1:
			return usageError{fmt.Errorf("%s has %d pages or files: name one, or say which page was printed with --page", c.Args().First(), len(all))}
		}
		h = all[0].Head
		if run, err = all[0].Laid.Run(c.String("job"), c.Int("pieces"), c.Int("sheets"), at); err != nil {
			return err
		}
		run.Kind = c.String("kind")
	}
	if run, err = b.CheckRun(run); err != nil { // before a file is made
		return err
	}
	return ledgerEnter(c, b, h, ledger.Entry{Run: &run}, func(l *ledger.Ledger) (int64, error) { return l.AddRun(b, run) })
}

func ledgerAddChange(c *cli.Context) error {
	if c.Args().Present() || c.IsSet("sheets") || c.IsSet("pieces") {
		return usageError{errors.New("a changed cartridge is an entry of its own: leave ART, --pieces and --sheets out")}
	}
	if err := without(c, "is about a run: enter it by itself, with its ART and --pieces", append(append([]string{"kind", "job"}, separationOptions...), artOptions...)...); err != nil {
		return err
	}
	b, h, err := booksOf(c)
	if err != nil {
		return err
	}
	v := ledger.Change{Printer: c.String("printer"), LeftPercent: c.Float64("left"), PutInPercent: c.Float64("put-in"), During: c.String("during")}
	if v.At, err = when(c, b, b.Now); err != nil {
		return err
	}
	if v.Toner, err = b.Toner(v.Printer, c.String("cartridge")); err != nil {
		return err
	}
	if v, err = b.CheckChange(v); err != nil { // before a file is made
		return err
	}
	return ledgerEnter(c, b, h, ledger.Entry{Change: &v}, func(l *ledger.Ledger) (int64, error) { return l.AddChange(b, v) })
}

// separationOptions are those of a run of art beside [artOptions].
var separationOptions = []string{"item", "item-colour", "process", "press", "intent", "no-bpc", "tac", "black", "pure-black", "cache"}

// ledgerEnter opens the ledger, or makes it, enters what was checked, and says so.
func ledgerEnter(c *cli.Context, b ledger.Books, h *proof.Head, e ledger.Entry, add func(*ledger.Ledger) (int64, error)) error {
	l, err := ledger.OpenOrMake(c.String("ledger"))
	if err != nil {
		return err
	}
	defer l.Close()
	number, err := add(l)
	if err != nil {
		return err
	}
	words := fmt.Sprintf("Entered as %d: %s.", number, show.Entered(e, b))
	return printOne(c, h, struct {
		Number  int64  `json:"number"`
		Entered string `json:"entered"`
		*proof.Head
	}{number, words, h}, show.Stops(h, style(c))+words+"\n")
}
