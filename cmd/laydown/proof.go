package main

import (
	"errors"
	"fmt"
	"strings"

	"github.com/urfave/cli/v2"

	"laydown/coverage/commission"
	"laydown/coverage/fault"
	"laydown/coverage/order"
	"laydown/coverage/proof"
	"laydown/coverage/shop"
	"laydown/coverage/show"
)

// ofApproval are the options that are about the customer's page alone.
var ofApproval = []string{"pdf", "order-number", "for", "date", "valid-days", "place", "prices"}

func proofCommand() *cli.Command {
	return &cli.Command{
		Name: "proof", Usage: "the whole order: coverage, cost, findings, brand colours; as text, JSON and an HTML page; or the customer's page to approve",
		ArgsUsage: "ART...", Flags: orderFlags(append([]cli.Flag{
			fileFlag("html", "write one self-contained page to `FILE`"),
			&cli.BoolFlag{Name: "customer", Usage: "make it the page that the customer approves and signs, without anything of the shop's own"},
			&cli.StringFlag{Name: "pdf", Usage: "write the customer's page as PDF to `FILE`"},
			&cli.StringFlag{Name: "order-number", Usage: "on the customer's page, the order's `NUMBER`"},
			&cli.StringFlag{Name: "for", Usage: "on the customer's page, the customer's `NAME`"},
			&cli.StringFlag{Name: "date", Usage: "on the customer's page, its `DATE`, such as 2026-03-14 (default: today)"},
			&cli.IntFlag{Name: "valid-days", Usage: "on the customer's page, for how many `DAYS` it is valid (default: the shop's)"},
			&cli.StringFlag{Name: "place", Usage: "on the customer's page, the `PLACE` of the print on the item, such as \"left chest\" (default: the shop file's)"},
			&cli.BoolFlag{Name: "prices", Usage: "on the customer's page, the prices of the quantities of --qty as well"},
			quantityFlag(), strictFlag(), fullFlag(),
		}, swatchFlags()...)),
		Action: func(c *cli.Context) error {
			if err := refuseApproval(c); err != nil {
				return err
			}
			if err := writable(c, []string{"html", "pdf"}); err != nil {
				return err
			}
			if err := anyArt(c); err != nil {
				return err
			}
			o, err := readOrder(c)
			if err != nil {
				return err
			}
			of, err := readApproval(c, o)
			if err != nil {
				return err
			}
			s, err := findArt(c, o)
			if err != nil {
				return err
			}
			defer s.Close()
			found, err := proofsOf(c, o, s, proof.Everything, nil)
			if err != nil {
				return err
			}
			all := found.all
			if c.Bool("prices") && all[0].Quoted == nil {
				return usageError{fmt.Errorf("--prices: the shop file lacks figures that they need:\n%s", strings.Join(all[0].QuoteLacks, "\n"))}
			}
			page := func(p *proof.Proof) ([]byte, error) { return show.Page(p) }
			if c.Bool("customer") {
				page = func(p *proof.Proof) ([]byte, error) { return show.ApprovalPage(p, of) }
			}
			note := ""
			for _, out := range []struct {
				option string
				make   func(*proof.Proof) ([]byte, error)
			}{{"html", page}, {"pdf", func(p *proof.Proof) ([]byte, error) { return show.ApprovalPDF(p, of) }}} {
				to := c.String(out.option)
				if to == "" {
					continue
				}
				step, stop := progress(c)
				step("drawing " + to)
				b, err := out.make(all[0])
				stop()
				if err != nil {
					return err
				}
				if err := writeOne(c, to, b); err != nil {
					return err
				}
				note += fmt.Sprintf("The page is in %s.\n", to)
			}
			if err := printAll(c, found, show.Proof, func(p *proof.Proof) any { return p }, note); err != nil {
				return err
			}
			return strict(c, found)
		},
	}
}

// refuseApproval refuses what of the customer's page does not go together.
func refuseApproval(c *cli.Context) error {
	files := set(c, "html", "pdf")
	switch {
	case len(files) > 0 && c.Args().Len() > 1:
		return usageError{fmt.Errorf("%s is one page for one art file: name one", files[0])}
	case !c.Bool("customer"):
		return without(c, "only the page that a customer approves has that: write --customer as well", ofApproval...)
	case len(files) == 0:
		return usageError{errors.New("--customer is about the page: name one with --html FILE or --pdf FILE")}
	case c.Bool("prices") && !c.IsSet("qty"):
		return usageError{errors.New("--prices: say of how many pieces, with --qty")}
	}
	return nil
}

// readApproval reads what the options say of the customer's page, and whether the item has the
// place.
func readApproval(c *cli.Context, o order.Order) (of show.Approval, err error) {
	of = show.Approval{Number: c.String("order-number"), For: c.String("for"), Place: c.String("place"), Quantity: c.IsSet("qty"), Prices: c.Bool("prices"), Date: worldOf(c).now()}
	if text := c.String("date"); text != "" {
		var d commission.Date
		if err := d.UnmarshalText([]byte(text)); err != nil {
			return of, usageError{fault.In("date", err)}
		}
		of.Date = d.Time
	}
	j, err := o.Resolve()
	if err != nil {
		return of, err
	}
	if _, err := j.Item.Drawing(of.Place, 1, 1); err != nil {
		return of, usageError{fault.In("place", err)}
	}
	of.ValidDays = j.Shop.Terms.ValidDays
	if c.IsSet("valid-days") {
		of.ValidDays = c.Int("valid-days")
	}
	if of.ValidDays < 0 || of.ValidDays > shop.MostValidDays {
		return of, usageError{fault.In("valid-days", fmt.Errorf("must be from 0 to %d", shop.MostValidDays))}
	}
	return of, nil
}
