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
		ArgsUsage: "[ART...]", Flags: orderFlags(swatchFlags()...),
		Action: func(c *cli.Context) error {
			if !c.Args().Present() {
				if c.String("swatches") == "" && len(c.StringSlice("colour")) == 0 {
					return usageError{errors.New("give the brand's colours with --swatches FILE or --colour, or an art file to look at its own")}
				}
				o, err := readOrder(c)
				if err != nil {
					return err
				}
				found, err := proof.MatchSwatches(o)
				if err != nil {
					return err
				}
				return printOne(c, found, show.Swatches(found, style(c)))
			}
			all, err := proofs(c, shown(c, proof.Matches))
			if err != nil {
				return err
			}
			return printAll(c, all, show.Matches, func(p *proof.Proof) any { return p.Matches() })
		},
	}
}

func swatchFlags(more ...cli.Flag) []cli.Flag {
	return append([]cli.Flag{
		&cli.StringFlag{Name: "swatches", Usage: "brand colours: a CSV, GIMP palette, swatch exchange (.ase) or CxF `FILE`"},
		&cli.StringFlag{Name: "measurement", Usage: "`CONDITION` to take of CxF colours that were measured under several: m0, m1, m2 or m3 (default: m1, else m0)"},
		&cli.StringSliceFlag{Name: "colour", Usage: "a brand `COLOUR`, or NAME=COLOUR: #rrggbb, a name, L,a,b, or C/M/Y/K in percent; may be given again"},
		fullFlag(),
	}, more...)
}

func fullFlag() cli.Flag {
	return &cli.BoolFlag{Name: "full", Usage: "show everything: every line, and absolute figures, which no eye adapts to"}
}
