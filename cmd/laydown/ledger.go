package main

import (
	"errors"
	"fmt"
	"time"

	"github.com/urfave/cli/v2"

	"laydown/coverage/ledger"
	"laydown/coverage/proof"
	"laydown/coverage/show"
)

func ledgerCommand() *cli.Command {
	file := &cli.StringFlag{Name: "ledger", Usage: "the ledger `FILE`, made if it is not there"}
	date := &cli.StringFlag{Name: "date", Usage: "`WHEN`, such as 2026-03-14 or 2026-03-14T15:30 (default: now)"}
	printer := &cli.StringFlag{Name: "printer", Usage: "printer `NAME` of the shop file (default: the default process's)"}
	return &cli.Command{
		Name: "ledger", Usage: "keep what was really printed, and learn what toner really costs",
		Subcommands: []*cli.Command{
			{
				Name: "add", Usage: "enter a run (ART and --sheets), or a changed cartridge (--cartridge)",
				ArgsUsage: "[ART]", Flags: orderFlags([]cli.Flag{
					file,
					&cli.IntFlag{Name: "sheets", Usage: "full sheets `N` that were printed, spoilt ones too"},
					&cli.StringFlag{Name: "job", Usage: "the job's `NAME` (default: the art's)"},
					&cli.StringFlag{Name: "cartridge", Usage: "the `TONER` that was changed: cyan, magenta, yellow, black or white"},
					&cli.Float64Flag{Name: "left", Usage: "`PERCENT` that was still in it"},
					date, printer,
				}),
				Action: ledgerAdd,
			},
			{
				Name: "fit", Usage: "each toner's true cost, how sure that is, and corrections for the shop file",
				Flags: append([]cli.Flag{file, printer}, shared("shop", "json")...),
				Action: func(c *cli.Context) error {
					if c.Args().Present() {
						return usageError{errors.New("ledger fit reads no art: leave files out")}
					}
					s, err := readShop(c)
					if err != nil {
						return err
					}
					return withLedger(c, func(l *ledger.Ledger) error {
						r, err := l.Report(s, c.String("printer"))
						if err != nil {
							return err
						}
						h := proof.HeadOf(s)
						return printOne(c, h, struct {
							*ledger.Report
							*proof.Head
						}{r, h}, show.Ledger(r, style(c)))
					})
				},
			},
		},
		Action: func(c *cli.Context) error {
			return usageError{errors.New("say ledger add or ledger fit")}
		},
	}
}

// withLedger opens the ledger that is named for as long as f takes.
func withLedger(c *cli.Context, f func(*ledger.Ledger) error) error {
	if err := ledgerThere(c); err != nil {
		return err
	}
	l, err := ledger.Open(c.String("ledger"))
	if err != nil {
		return err
	}
	defer l.Close()
	return f(l)
}

func ledgerAdd(c *cli.Context) error {
	at := worldOf(c).now()
	if s := c.String("date"); s != "" {
		var err error
		for _, form := range []string{"2006-01-02", "2006-01-02T15:04", "2006-01-02T15:04:05", time.RFC3339} {
			if at, err = time.ParseInLocation(form, s, time.UTC); err == nil {
				break
			}
		}
		if err != nil {
			return usageError{fmt.Errorf("--date %q: write 2026-03-14 or 2026-03-14T15:30", s)}
		}
	}
	if toner := c.String("cartridge"); toner != "" {
		if c.Args().Present() || c.IsSet("sheets") {
			return usageError{errors.New("a changed cartridge is an entry of its own: leave ART and --sheets out")}
		}
		if err := without(c, "is about a run: enter it by itself, with its ART and --sheets", append(runOptions, artOptions...)...); err != nil {
			return err
		}
		if err := ledgerThere(c); err != nil {
			return err
		}
		s, err := readShop(c)
		if err != nil {
			return err
		}
		change, err := ledger.ChangeOf(s, c.String("printer"), toner, c.Float64("left"), at)
		if err != nil {
			return err
		}
		if err := withLedger(c, func(l *ledger.Ledger) error { return l.AddChange(change) }); err != nil {
			return err
		}
		return said(c, proof.HeadOf(s), fmt.Sprintf("Entered: %s cartridge of %s changed.", toner, change.Printer))
	}
	if c.Args().Len() != 1 || c.Int("sheets") <= 0 {
		return usageError{errors.New("name one art file and how many --sheets were printed, or the --cartridge that was changed")}
	}
	if c.IsSet("left") {
		return usageError{errors.New("--left is about a changed cartridge: name it with --cartridge, as an entry of its own")}
	}
	if c.IsSet("printer") {
		return usageError{errors.New("--printer: a run is on the printer of its process: choose that with --process")}
	}
	if err := ledgerThere(c); err != nil {
		return err
	}
	all, err := proofs(c, 0)
	if err != nil {
		return err
	}
	run := all[0].Laid.Run(c.String("job"), c.Int("sheets"), at)
	if err := withLedger(c, func(l *ledger.Ledger) error { return l.AddRun(run) }); err != nil {
		return err
	}
	return said(c, all[0].Head, fmt.Sprintf("Entered: %s, %d sheets on %s.", run.Job, run.Sheets, run.Printer))
}

// runOptions are those of a run beside [artOptions], which a changed cartridge has not.
var runOptions = []string{"job", "item", "item-colour", "process", "press", "intent", "no-bpc", "tac", "black", "pure-black", "cache"}

// ledgerThere looks whether a ledger is named and can be there.
func ledgerThere(c *cli.Context) error {
	if c.String("ledger") == "" {
		return usageError{errors.New("name the ledger with --ledger FILE")}
	}
	return writable(c, []string{"ledger"})
}

// said confirms an entry, as an object if JSON was asked for.
func said(c *cli.Context, h *proof.Head, words string) error {
	return printOne(c, h, struct {
		Entered string `json:"entered"`
		*proof.Head
	}{words, h}, show.Stops(h, style(c))+words+"\n")
}
