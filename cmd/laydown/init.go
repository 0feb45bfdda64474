package main

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"

	"github.com/urfave/cli/v2"

	"laydown/coverage/commission"
	"laydown/coverage/shop"
)

func initCommand() *cli.Command {
	return &cli.Command{
		Name: "init", Usage: "write a commented shop file, or an order, to start from, to FILE or to the terminal",
		ArgsUsage: "[FILE]", Flags: []cli.Flag{&cli.BoolFlag{Name: "order", Usage: "an order of several designs, for laydown order, in place of a shop file"}},
		Action: func(c *cli.Context) error {
			if c.Args().Len() > 1 {
				return usageError{errors.New("name one file to write")}
			}
			what := shop.Demo()
			if c.Bool("order") {
				what = commission.Example()
			}
			if !c.Args().Present() {
				_, err := c.App.Writer.Write(what)
				return err
			}
			to := c.Args().First()
			if _, err := os.Lstat(to); err == nil {
				return fmt.Errorf("%s: is there already and may hold your figures: choose another name", to)
			}
			if err := writeOne(c, to, what); err != nil {
				return err
			}
			if c.Bool("order") {
				_, err := fmt.Fprintf(c.App.Writer, "%s is written: put the order in; laydown order %s works it out.\n", to, to)
				return err
			}
			how := "name it with --shop " + to
			if filepath.Clean(to) == shopFile {
				how = "it is found in this folder without being named"
			}
			_, err := fmt.Fprintf(c.App.Writer, "%s is written: put your own figures in; %s.\n", to, how)
			return err
		},
	}
}
