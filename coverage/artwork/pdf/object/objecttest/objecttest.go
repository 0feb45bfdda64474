// Package objecttest makes PDF files for tests.
package objecttest

import (
	"strings"

	"laydown/coverage/artwork/pdf/object"
)

// Page is a PDF of one page with entries, such as "/MediaBox [0 0 20 20]", beside those that it
// inherits, with text as its content stream and objects of its own from 5 on. A stream among
// them is its dictionary with the bytes behind a zero byte.
func Page(inherited, entries, text string, objects ...string) []byte {
	all := [][]byte{[]byte("<< /Type /Catalog /Pages 2 0 R >>"), []byte("<< /Type /Pages /Kids [3 0 R] /Count 1 " + inherited + " >>"),
		[]byte("<< /Type /Page /Parent 2 0 R /Contents 4 0 R " + entries + " >>"), object.Stream("", []byte(text))}
	for _, o := range objects {
		if dict, data, stream := strings.Cut(o, "\x00"); stream {
			all = append(all, object.Stream(strings.TrimSuffix(strings.TrimPrefix(dict, "<<"), ">>"), []byte(data)))
		} else {
			all = append(all, []byte(o))
		}
	}
	return object.File("1.7", all...)
}
