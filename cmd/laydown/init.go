package main

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"

	"github.com/urfave/cli/v2"

	"laydown/coverage/shop"
)

func initCommand() *cli.Command {
	return &cli.Command{
		Name: "init", Usage: "write a commented shop file to start from, to FILE or to the terminal",
		ArgsUsage: "[FILE]",
		Action: func(c *cli.Context) error {
			if c.Args().Len() > 1 {
				return usageError{errors.New("name one file to write")}
			}
			if !c.Args().Present() {
				_, err := c.App.Writer.Write(shop.Demo())
				return err
			}
			to := c.Args().First()
			if _, err := os.Lstat(to); err == nil {
				return fmt.Errorf("%s: is there already and may hold your figures: choose another name", to)
			}
			if err := writeOne(to, shop.Demo()); err != nil {
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
