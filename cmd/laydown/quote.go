package main

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"time"

	"github.com/jedib0t/go-pretty/v6/progress"
	"github.com/urfave/cli/v2"

	"laydown/coverage/batch"
	"laydown/coverage/proof"
	"laydown/coverage/show"
)

func quoteCommand() *cli.Command {
	return &cli.Command{
		Name: "quote", Usage: "what quantities cost, where every cent comes from, and what to ask",
		ArgsUsage: "ART...", Flags: orderFlags(
			&cli.StringFlag{Name: "orders", Usage: "a CSV `FILE` of many orders: columns art, quantity, item, process, width, height, dpi"},
			&cli.StringFlag{Name: "csv", Usage: "with --orders: write the results as CSV to `FILE`"},
			&cli.StringFlag{Name: "resume", Usage: "with --orders: keep results in `FILE` as they come, and go on where an earlier run stopped"}),
		Action: func(c *cli.Context) error {
			if file := c.String("orders"); file != "" {
				return quoteList(c, file)
			}
			if c.String("csv") != "" || c.String("resume") != "" {
				return usageError{errors.New("--csv and --resume are for a list: name one with --orders FILE")}
			}
			all, err := proofs(c, shown(c, proof.Quotation))
			if err != nil {
				return err
			}
			return printAll(c, all, show.Quote, func(p *proof.Proof) any { return p.Quoted })
		},
	}
}

// quoteList quotes a CSV list of orders.
func quoteList(c *cli.Context, file string) error {
	if c.Args().Present() {
		return usageError{errors.New("--orders names the art itself: leave art files out")}
	}
	if c.String("qty") != "" {
		return usageError{errors.New("--qty: quantities are in the list")}
	}
	o, err := readOrder(c)
	if err != nil {
		return err
	}
	journal := c.String("resume")
	for _, k := range []string{file, c.String("shop"), c.String("press")} {
		if journal != "" && sameFile(journal, k) {
			return named(journal, errInput)
		}
	}
	results, err := batch.Quote(o, file, journal, func(rows int) (step, stop func()) { return progressBar(c, rows) })
	if err != nil {
		return err
	}
	if to := c.String("csv"); to != "" {
		b, err := show.BatchCSV(results)
		if err != nil {
			return err
		}
		if err := writeFiles(filepath.Dir(to), []show.File{{Name: filepath.Base(to), Data: b}}, []string{file, c.String("shop"), c.String("press"), journal}); err != nil {
			return err
		}
	}
	out := []byte(show.Batch(results, style(c)))
	if c.Bool("json") {
		if out, err = show.BatchJSON(results); err != nil {
			return err
		}
	}
	if _, err := c.App.Writer.Write(out); err != nil {
		return err
	}
	if n := batch.Failed(results); n > 0 {
		return fmt.Errorf("%d of %d rows of %s could not be quoted", n, len(results), file)
	}
	return nil
}

// progressBar shows how far a list is, on a terminal that is not the place of the
// results.
func progressBar(c *cli.Context, rows int) (step, stop func()) {
	f, ok := c.App.ErrWriter.(*os.File)
	if !ok {
		return func() {}, func() {}
	}
	if st, err := f.Stat(); err != nil || st.Mode()&os.ModeCharDevice == 0 {
		return func() {}, func() {}
	}
	w := progress.NewWriter()
	w.SetOutputWriter(f)
	w.SetUpdateFrequency(200 * time.Millisecond)
	w.SetAutoStop(false)
	w.Style().Visibility.Speed = false
	t := &progress.Tracker{Message: "quoting", Total: int64(rows)}
	w.AppendTracker(t)
	go w.Render()
	return func() { t.Increment(1) }, func() {
		t.MarkAsDone()
		for w.IsRenderInProgress() && w.LengthActive() > 0 {
			time.Sleep(20 * time.Millisecond)
		}
		w.Stop()
	}
}
