package main

import (
	"fmt"
	"strings"
	"testing"

	"laydown/coverage/limit"
)

// TestLimitsAreTold holds help, the manual page and the shop file to every limit.
func TestLimitsAreTold(t *testing.T) {
	w, out, errs := testWorld()
	told := map[string]string{}
	for _, call := range []string{"--help", "man", "init"} {
		out.Reset()
		if code := run([]string{"laydown", call}, w); code != 0 {
			t.Fatalf("%s: %d, %s", call, code, errs)
		}
		told[call] = out.String()
	}
	l := limit.Usual()
	for _, v := range l.Each() {
		for call, text := range told {
			if !strings.Contains(strings.ReplaceAll(text, `\`, ""), fmt.Sprintf("%s = %d", v.Key, *v.Value)) {
				t.Errorf("laydown %s does not tell of %s", call, v.Key)
			}
		}
	}
}

// TestNothingActsOnATerminal runs calls with names that hold its sequences.
func TestNothingActsOnATerminal(t *testing.T) {
	const evil = "\x1b[31mname\u009b"
	w, out, errs := testWorld()
	for _, args := range [][]string{
		{"match", "--colour", evil + "=#ff0000"},
		{"match", "--colour", evil + "=#ff0000", "--json"},
		{"coverage", evil + ".png"},
		{evil},
		{"list", "--shop", evil},
	} {
		out.Reset()
		errs.Reset()
		run(append([]string{"laydown"}, args...), w)
		all := out.String() + errs.String()
		if strings.ContainsAny(all, "\x1b\u009b") || !strings.Contains(all, "[31mname") {
			t.Errorf("%q: %q", args, all)
		}
	}
}
