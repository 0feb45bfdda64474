package main

import (
	"runtime/debug"
	"strings"
)

// version says which laydown this is: its module's version, and the commit it was built
// from where the build knows that.
func version(b *debug.BuildInfo) string {
	if b == nil {
		return "laydown, of unknown version"
	}
	set := map[string]string{}
	for _, s := range b.Settings {
		set[s.Key] = s.Value
	}
	v := b.Main.Version
	if v == "" || v == "(devel)" {
		v = "development version"
	}
	parts := []string{"laydown " + v}
	if r := set["vcs.revision"]; r != "" {
		commit := "commit " + r[:min(12, len(r))]
		if at := set["vcs.time"]; at != "" {
			commit += " of " + at
		}
		if set["vcs.modified"] == "true" {
			commit += ", changed since"
		}
		parts = append(parts, commit)
	}
	return strings.Join(append(parts, "built with "+b.GoVersion), ", ")
}
