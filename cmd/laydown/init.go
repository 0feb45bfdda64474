package main

import (
	"fmt"
	"os"
	"path/filepath"

	"github.com/urfave/cli/v2"

	"laydown/coverage/shop"
	"laydown/coverage/show"
)

func initCommand() *cli.Command {
	return &cli.Command{
		Name: "init", Usage: "write a commented shop file to start from, to FILE or to the terminal",
		ArgsUsage: "[FILE]",
		Action: func(c *cli.Context) error {
			if !c.Args().Present() {
				_, err := c.App.Writer.Write(shop.Demo())
				return err
			}
			to := c.Args().First()
			if _, err := os.Lstat(to); err == nil {
				return fmt.Errorf("%s: is there already and may hold your figures: choose another name", to)
			}
			return writeFiles(filepath.Dir(to), []show.File{{Name: filepath.Base(to), Data: shop.Demo()}}, nil)
		},
	}
}
