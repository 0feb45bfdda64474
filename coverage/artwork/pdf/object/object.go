// Package object puts numbered objects together as a PDF file (ISO 32000-1, 7.3 and 7.5): one
// section, a table of where each object is, and a trailer. What is in the objects is the
// caller's; nothing is packed, and nothing is read.
package object

import (
	"bytes"
	"fmt"
)

// File is a PDF file of a version such as 1.7. Objects are numbered from 1 on, and the first is
// the catalogue. The same objects have the same bytes.
func File(version string, objects ...[]byte) []byte {
	var b bytes.Buffer
	b.WriteString("%PDF-" + version + "\n%\xe2\xe3\xcf\xd3\n") // the second line says that it is binary, 7.5.2
	at := make([]int, len(objects))
	for i, o := range objects {
		at[i] = b.Len()
		fmt.Fprintf(&b, "%d 0 obj\n", i+1)
		b.Write(o)
		b.WriteString("\nendobj\n")
	}
	start := b.Len()
	fmt.Fprintf(&b, "xref\n0 %d\n0000000000 65535 f \n", len(at)+1)
	for _, v := range at {
		fmt.Fprintf(&b, "%010d 00000 n \n", v)
	}
	fmt.Fprintf(&b, "trailer\n<< /Size %d /Root 1 0 R >>\nstartxref\n%d\n%%%%EOF\n", len(at)+1, start)
	return b.Bytes()
}

// Stream is an object that is a stream with entries beside its length, such as "/Type /XObject".
func Stream(entries string, data []byte) []byte {
	out := fmt.Appendf(make([]byte, 0, len(data)+len(entries)+64), "<< %s /Length %d >>\nstream\n", entries, len(data))
	return append(append(out, data...), "\nendstream"...)
}
