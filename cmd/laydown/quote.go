package main

import (
	"errors"
	"fmt"

	"github.com/urfave/cli/v2"

	"laydown/coverage/batch"
	"laydown/coverage/proof"
	"laydown/coverage/show"
)

func quoteCommand() *cli.Command {
	return &cli.Command{
		Name: "quote", Usage: "what quantities cost, where every cent comes from, and what to ask",
		ArgsUsage: "ART...", Flags: orderFlags([]cli.Flag{
			quantityFlag(),
			&cli.StringFlag{Name: "orders", Usage: "a CSV `FILE` of many orders: columns art, quantity, item, process, width, height, dpi; an option counts where a row has no such entry"},
			fileFlag("csv", "with --orders: write the results as CSV to `FILE`"),
			&cli.StringFlag{Name: "resume", Usage: "with --orders: keep results in `FILE` as they come, and go on where an earlier run stopped"},
		}),
		Action: func(c *cli.Context) error {
			if file := c.String("orders"); file != "" {
				return quoteList(c, file)
			}
			if err := without(c, "is for a list: name one with --orders FILE", "csv", "resume"); err != nil {
				return err
			}
			found, err := proofs(c, shown(c, proof.Quotation))
			if err != nil {
				return err
			}
			return printAll(c, found, show.Quote, func(p *proof.Proof) any { return p.Quotation() }, "")
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
	if err := writable(c, []string{"csv", "resume"}); err != nil {
		return err
	}
	o, err := readOrder(c)
	if err != nil {
		return err
	}
	list, err := batch.Open(file, o.Shop.Limits)
	if err != nil {
		return err
	}
	if err := writable(c, []string{"csv", "resume"}, list.Arts()...); err != nil {
		return err
	}
	results, unkept := list.Quote(o, version(worldOf(c).build), c.String("resume"), func(rows int) (step, stop func()) { return counting(c, rows) })
	if results == nil {
		return unkept
	}
	if to := c.String("csv"); to != "" {
		b, err := show.BatchCSV(results)
		if err != nil {
			return err
		}
		if err := writeOne(c, to, b); err != nil {
			return err
		}
	}
	if c.Bool("json") {
		out, err := show.BatchJSON(results)
		if err == nil {
			_, err = c.App.Writer.Write(out)
		}
		if err != nil {
			return err
		}
	} else if err := say(c, show.Batch(results, style(c))); err != nil {
		return err
	}
	if unkept != nil {
		return unkept
	}
	if n := batch.Failed(results); n > 0 {
		return fmt.Errorf("%d of %d rows of %s could not be quoted", n, len(results), file)
	}
	return nil
}

// counting is the progress of a list of so many rows.
func counting(c *cli.Context, rows int) (step, stop func()) {
	say, end := progress(c)
	done := 0
	say(fmt.Sprintf("quoting, 0 of %d done", rows))
	return func() {
		done++
		say(fmt.Sprintf("quoting, %d of %d done", done, rows))
	}, end
}
