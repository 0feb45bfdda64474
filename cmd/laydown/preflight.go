package main

import (
	"errors"

	"github.com/urfave/cli/v2"

	"laydown/coverage/proof"
	"laydown/coverage/show"
)

func preflightCommand() *cli.Command {
	return &cli.Command{
		Name: "preflight", Usage: "what will print badly, where, and what to do about it",
		ArgsUsage: "ART...", Flags: orderFlags(
			&cli.StringFlag{Name: "mark", Usage: "draw the findings on the art and write it to `FILE`.png"},
			&cli.BoolFlag{Name: "strict", Usage: "exit with 3 if a finding stops the print"}),
		Action: func(c *cli.Context) error {
			to := c.String("mark")
			if to != "" && c.Args().Len() > 1 {
				return usageError{errors.New("--mark is one picture of one art file: name one")}
			}
			all, err := proofs(c, shown(c, proof.Findings))
			if err != nil {
				return err
			}
			if to != "" {
				b, err := show.Marked(all[0])
				if err != nil {
					return err
				}
				if err := writeBeside(c, to, b); err != nil {
					return err
				}
			}
			if err := printAll(c, all, show.Findings, func(p *proof.Proof) any { return p.Preflight() }); err != nil {
				return err
			}
			return strict(c, all)
		},
	}
}
