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
		ArgsUsage: "ART...", Flags: orderFlags(swatchFlags(
			&cli.StringFlag{Name: "html", Usage: "write one self-contained page to `FILE`"},
			&cli.BoolFlag{Name: "customer", Usage: "leave money and the heat press out of the page"},
			&cli.BoolFlag{Name: "strict", Usage: "exit with 3 if a finding stops the print"})...),
		Action: func(c *cli.Context) error {
			to := c.String("html")
			if to != "" && c.Args().Len() > 1 {
				return usageError{errors.New("--html is one page for one art file: name one")}
			}
			if to == "" && c.Bool("customer") {
				return usageError{errors.New("--customer is about the page: name one with --html FILE")}
			}
			all, err := proofs(c, proof.Everything)
			if err != nil {
				return err
			}
			if to != "" {
				b, err := show.Page(all[0], c.Bool("customer"))
				if err != nil {
					return err
				}
				if err := writeBeside(c, to, b); err != nil {
					return err
				}
			}
			if err := printAll(c, all, show.Proof, func(p *proof.Proof) any { return p }); err != nil {
				return err
			}
			if to != "" && !c.Bool("json") {
				fmt.Fprintf(c.App.Writer, "The page is in %s.\n", to)
			}
			return strict(c, all)
		},
	}
}
