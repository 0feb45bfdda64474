// Command slowest reads the events of go test -json and writes what plain go test would:
// the output of what failed at once, and at the end how many tests ran, the five
// slowest of them, and a line for every package.
//
//	go test -json ./... | go run ./testdata/slowest
package main

import (
	"bufio"
	"cmp"
	"encoding/json"
	"fmt"
	"io"
	"log"
	"maps"
	"os"
	"slices"
	"strings"
)

const listed = 5

// event is one line of go test -json; see go doc test2json.
type event struct {
	Action, Package, Test, Output string
	Elapsed                       float64
}

// timed is a test that ran. Its parts are not listed besides it.
type timed struct {
	seconds float64
	name    string
}

func main() {
	log.SetFlags(0)
	if err := summarise(os.Stdin, os.Stdout); err != nil {
		log.Fatal(err)
	}
}

func summarise(r io.Reader, w io.Writer) error {
	kept := map[string]map[string]string{} // output by package and test
	var tests []timed
	var packages []string
	ran := map[string]int{}
	lines := bufio.NewScanner(r)
	lines.Buffer(nil, 16<<20)
	for lines.Scan() {
		var e event
		if json.Unmarshal(lines.Bytes(), &e) != nil { // the go command's own word
			fmt.Fprintln(w, lines.Text())
			continue
		}
		output := kept[e.Package]
		if output == nil {
			output = map[string]string{}
			kept[e.Package] = output
		}
		switch e.Action {
		case "build-output":
			fmt.Fprint(w, e.Output)
		case "output":
			output[e.Test] += e.Output
		case "pass", "fail", "skip":
			said := output[e.Test]
			delete(output, e.Test)
			if e.Action == "fail" {
				if e.Test == "" { // tests that have not ended were broken off
					for _, test := range slices.Sorted(maps.Keys(output)) {
						fmt.Fprint(w, output[test])
					}
				}
				fmt.Fprint(w, said)
			}
			switch {
			case e.Test != "":
				ran[e.Action]++
				if !strings.Contains(e.Test, "/") {
					tests = append(tests, timed{e.Elapsed, e.Package + " " + e.Test})
				}
			case e.Action != "fail":
				said = strings.TrimRight(said, "\n")
				packages = append(packages, said[strings.LastIndexByte(said, '\n')+1:])
			}
		}
	}
	fmt.Fprintf(w, "%d tests and parts of tests passed, %d failed, %d skipped. The slowest:\n", ran["pass"], ran["fail"], ran["skip"])
	slices.SortStableFunc(tests, func(a, b timed) int { return cmp.Compare(b.seconds, a.seconds) })
	for _, t := range tests[:min(listed, len(tests))] {
		fmt.Fprintf(w, "%8.2f s  %s\n", t.seconds, t.name)
	}
	for _, p := range packages {
		fmt.Fprintln(w, p)
	}
	return lines.Err()
}
