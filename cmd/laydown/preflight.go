package main

import (
	"errors"

	"github.com/urfave/cli/v2"

	"laydown/coverage/fault"
	"laydown/coverage/proof"
	"laydown/coverage/show"
)

func preflightCommand() *cli.Command {
	return &cli.Command{
		Name: "preflight", Usage: "what will print badly, where, and what to do about it",
		ArgsUsage: "ART...", Flags: orderFlags([]cli.Flag{fileFlag("mark", "draw the findings on the art and write it to `FILE`.png"), strictFlag()}),
		Action: func(c *cli.Context) error {
			to := c.String("mark")
			if to != "" && c.Args().Len() > 1 {
				return usageError{errors.New("--mark is one picture of one art file: name one")}
			}
			if to != "" && show.Format(to) != "png" {
				return usageError{fault.In("mark", errors.New("name a file that ends in .png"))}
			}
			if err := writable(c, []string{"mark"}); err != nil {
				return err
			}
			found, err := proofs(c, shown(c, proof.Findings))
			if err != nil {
				return err
			}
			if to != "" {
				step, stop := progress(c)
				defer stop()
				step("drawing " + to)
				b, err := show.Marked(found.all[0])
				stop()
				if err != nil {
					return err
				}
				if err := writeOne(c, to, b); err != nil {
					return err
				}
			}
			if err := printAll(c, found, show.Findings, func(p *proof.Proof) any { return p.Preflight() }, ""); err != nil {
				return err
			}
			return strict(c, found)
		},
	}
}
