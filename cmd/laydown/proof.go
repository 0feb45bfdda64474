package main

import (
	"errors"
	"fmt"

	"github.com/urfave/cli/v2"

	"laydown/coverage/proof"
	"laydown/coverage/show"
)

func proofCommand() *cli.Command {
	return &cli.Command{
		Name: "proof", Usage: "the whole order: coverage, cost, findings, brand colours; as text, JSON and an HTML page",
		ArgsUsage: "ART...", Flags: orderFlags(append([]cli.Flag{
			fileFlag("html", "write one self-contained page to `FILE`"),
			&cli.BoolFlag{Name: "customer", Usage: "leave money and the heat press out of the page"},
			quantityFlag(), strictFlag(), fullFlag(),
		}, swatchFlags()...)),
		Action: func(c *cli.Context) error {
			to := c.String("html")
			if to != "" && c.Args().Len() > 1 {
				return usageError{errors.New("--html is one page for one art file: name one")}
			}
			if to == "" && c.Bool("customer") {
				return usageError{errors.New("--customer is about the page: name one with --html FILE")}
			}
			if err := writable(c, []string{"html"}); err != nil {
				return err
			}
			all, err := proofs(c, proof.Everything)
			if err != nil {
				return err
			}
			if to != "" {
				step, stop := progress(c)
				defer stop()
				step("drawing " + to)
				b, err := show.Page(all[0], c.Bool("customer"))
				stop()
				if err != nil {
					return err
				}
				if err := writeOne(c, to, b); err != nil {
					return err
				}
			}
			note := ""
			if to != "" {
				note = fmt.Sprintf("The page is in %s.\n", to)
			}
			if err := printAll(c, all, show.Proof, func(p *proof.Proof) any { return p }, note); err != nil {
				return err
			}
			return strict(c, all)
		},
	}
}
