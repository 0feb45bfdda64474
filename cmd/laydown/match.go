package main

import (
	"errors"

	"github.com/urfave/cli/v2"

	"laydown/coverage/proof"
	"laydown/coverage/show"
)

func matchCommand() *cli.Command {
	return &cli.Command{
		Name: "match", Usage: "which colours, the brand's and the art's own, can be matched on this item, in numbers",
		ArgsUsage: "[ART...]", Flags: orderFlags(append(swatchFlags(), fullFlag())),
		Action: func(c *cli.Context) error {
			if !c.Args().Present() {
				if c.String("swatches") == "" && len(c.StringSlice("colour")) == 0 {
					return usageError{errors.New("give the brand's colours with --swatches FILE or --colour, or an art file to look at its own")}
				}
				if err := without(c, "is about an art file: name one", artOptions...); err != nil {
					return err
				}
				o, err := readOrder(c)
				if err != nil {
					return err
				}
				step, stop := progress(c)
				defer stop()
				step("matching colours")
				found, err := proof.MatchSwatches(o)
				stop()
				if err != nil {
					return err
				}
				return printOne(c, found.Head, found, show.Stops(found.Head, style(c))+show.Swatches(found, style(c)))
			}
			found, err := proofs(c, shown(c, proof.Matches))
			if err != nil {
				return err
			}
			return printAll(c, found, show.Matches, func(p *proof.Proof) any { return p.Matches() }, "")
		},
	}
}
