package main

import (
	"github.com/urfave/cli/v2"

	"laydown/coverage/proof"
	"laydown/coverage/show"
)

func coverageCommand() *cli.Command {
	return &cli.Command{
		Name: "coverage", Usage: "what one print and one sheet lay down, plate by plate, and what the toner costs",
		ArgsUsage: "ART...", Flags: orderFlags(nil),
		Action: func(c *cli.Context) error {
			found, err := proofs(c, shown(c, 0))
			if err != nil {
				return err
			}
			return printAll(c, found, show.Coverage, func(p *proof.Proof) any { return p.Coverage() }, "")
		},
	}
}
