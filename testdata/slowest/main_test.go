package main

import (
	"strings"
	"testing"
)

// TestSummarise gives events of packages that pass, fail, hold no tests and do not
// build, of a test in parts and of one that is broken off.
func TestSummarise(t *testing.T) {
	in := `go: a word that is no event
{"Action":"start","Package":"a"}
{"Action":"output","Package":"a","Test":"TestOne","Output":"=== RUN   TestOne\n"}
{"Action":"pass","Package":"a","Test":"TestOne/part","Elapsed":9}
{"Action":"pass","Package":"a","Test":"TestOne","Elapsed":2.5}
{"Action":"output","Package":"a","Output":"PASS\n"}
{"Action":"output","Package":"a","Output":"ok  \ta\t2.6s\n"}
{"Action":"pass","Package":"a","Elapsed":2.6}
{"Action":"output","Package":"b","Test":"TestTwo","Output":"    two_test.go:3: not two\n"}
{"Action":"fail","Package":"b","Test":"TestTwo","Elapsed":0.1}
{"Action":"skip","Package":"b","Test":"TestThree","Elapsed":0}
{"Action":"output","Package":"b","Test":"TestFour","Output":"panic: test timed out\n"}
{"Action":"output","Package":"b","Output":"FAIL\tb\t0.2s\n"}
{"Action":"fail","Package":"b","Elapsed":0.2}
{"Action":"output","Package":"c","Output":"?   \tc\t[no test files]\n"}
{"Action":"skip","Package":"c","Elapsed":0}
{"ImportPath":"d","Action":"build-output","Output":"d.go:1: no\n"}
{"ImportPath":"d","Action":"build-fail"}
`
	want := `go: a word that is no event
    two_test.go:3: not two
panic: test timed out
FAIL	b	0.2s
d.go:1: no
2 tests and parts of tests passed, 1 failed, 1 skipped. The slowest:
    2.50 s  a TestOne
    0.10 s  b TestTwo
    0.00 s  b TestThree
ok  	a	2.6s
?   	c	[no test files]
`
	var got strings.Builder
	if err := summarise(strings.NewReader(in), &got); err != nil {
		t.Fatal(err)
	}
	if got.String() != want {
		t.Errorf("%s\nwant\n%s", got.String(), want)
	}
}
