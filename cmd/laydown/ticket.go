package main

import (
	"errors"
	"slices"

	"github.com/urfave/cli/v2"

	"laydown/coverage/proof"
	"laydown/coverage/show"
)

func ticketCommand() *cli.Command {
	return &cli.Command{
		Name: "ticket", Usage: "the recipe of an order, step by step, for the person at the heat press",
		ArgsUsage: "ART", Flags: orderFlags([]cli.Flag{quantityFlag(), fileFlag("html", "write one page that prints on one sheet to `FILE`")},
			"ignore-profile", "intent", "no-bpc", "black", "pure-black", "keep-pure"), // a recipe has no colours
		Action: func(c *cli.Context) error {
			if c.Args().Len() != 1 {
				return usageError{errors.New("name one art file")}
			}
			quantities, err := readQuantities(c)
			if err != nil {
				return err
			}
			if len(quantities) > 1 {
				return usageError{errors.New("--qty: a ticket is for one quantity")}
			}
			if err := writable(c, []string{"html"}); err != nil {
				return err
			}
			found, err := proofs(c, shown(c, proof.Findings))
			if err != nil {
				return err
			}
			all := found.all
			t := all[0].Ticket(slices.Max(append(quantities, 0)))
			t.CheckFirst = all[0].ChecksFirst()
			if to := c.String("html"); to != "" {
				if t.Picture, err = show.TicketPicture(all[0]); err != nil {
					return err
				}
				b, err := show.TicketPage(t)
				if err != nil {
					return err
				}
				if err := writeOne(c, to, b); err != nil {
					return err
				}
			}
			return printUnder(c, t.Head, t, show.Block(all[0], style(c))+"\n"+show.Ticket(t, style(c)))
		},
	}
}
