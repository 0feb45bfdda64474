package main

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"

	"github.com/urfave/cli/v2"

	"laydown/coverage/file"
	"laydown/coverage/limit"
	"laydown/coverage/shop"
)

// shopFile is the name of a shop file that is found without being named.
const shopFile = "shop.toml"

// shopVariable names a shop file.
const shopVariable = "LAYDOWN_SHOP"

// byVariable says that a shop file was found by it.
const byVariable = "by $" + shopVariable

// readShop reads the shop file that is named, else the first that is there of shop.toml in
// this folder, $LAYDOWN_SHOP, and laydown/shop.toml in the user's config folder; else the demo shop.
// One that is there and cannot be read is an error: another would answer in its place.
func readShop(c *cli.Context) (*shop.Shop, error) { return findShop(worldOf(c), c.String("shop")) }

func findShop(w world, path string) (*shop.Shop, error) {
	found := ""
	if path == "" {
		path, found = lookForShop(w)
	}
	if path == "" {
		return shop.Load(shop.Demo(), shop.BuiltIn)
	}
	b, err := file.Read(path, limit.ShopMB*limit.MB)
	if err != nil {
		if found == byVariable && errors.Is(err, file.ErrGone) {
			return nil, fmt.Errorf("%s, which $%s names: there is no such file: name another there, or take the variable away", path, shopVariable)
		}
		if found != "" {
			path = found + ": " + path
		}
		return nil, named(path, err)
	}
	s, err := shop.Load(b, path)
	if err == nil {
		s.Found = found
	}
	return s, err
}

// lookForShop returns a shop file that nobody named, and in words where it was found; "" if
// there is none.
func lookForShop(w world) (file, found string) {
	there := func(f string) bool {
		_, err := os.Stat(f)
		return !errors.Is(err, fs.ErrNotExist)
	}
	if there(shopFile) {
		return shopFile, "in this folder"
	}
	if f := w.getenv(shopVariable); f != "" {
		return f, byVariable
	}
	if dir, err := w.configDir(); err == nil {
		if f := filepath.Join(dir, "laydown", shopFile); there(f) {
			return f, "in your config folder"
		}
	}
	return "", ""
}
