package main

import (
	"errors"

	"github.com/urfave/cli/v2"

	"laydown/coverage/proof"
	"laydown/coverage/show"
)

func underbaseCommand() *cli.Command {
	return &cli.Command{
		Name: "underbase", Usage: "which of the shop's processes suits this art on this item: no white, white toner, or a white film",
		ArgsUsage: "ART", Flags: orderFlags([]cli.Flag{&cli.BoolFlag{Name: "rules", Usage: "try every white rule for processes that print white"}, fullFlag()}, "process"),
		Action: func(c *cli.Context) error {
			if c.Args().Len() != 1 {
				return usageError{errors.New("name one art file")}
			}
			o, err := readOrder(c)
			if err != nil {
				return err
			}
			s, err := findArt(c, o)
			if err != nil {
				return err
			}
			defer s.Close()
			if err := oneArt(c, s); err != nil {
				return err
			}
			if err := of(&o, s.Art[0]); err != nil {
				return err
			}
			o.EveryRule = c.Bool("rules")
			step, stop := progress(c)
			defer stop()
			step("comparing processes for " + o.ArtPath)
			d, err := proof.Compare(o)
			if err != nil {
				return fully(s.Art[0], err)
			}
			if c.Bool("json") {
				stop()
				return printJSON(c, d)
			}
			picked, err := d.Picked()
			if err != nil {
				return err
			}
			stop()
			return printUnder(c, d.Head, d, show.Choices(d, picked, style(c)))
		},
	}
}
