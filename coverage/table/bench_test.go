package table

import (
	"strings"
	"testing"
)

func BenchmarkRead(b *testing.B) {
	l := orders()
	l.Most = 0
	data := []byte("art;quantity;width;item\n" + strings.Repeat("heron-badge.png;12;8,5 cm;Größe M\n", mostRows))
	b.SetBytes(int64(len(data)))
	for b.Loop() {
		if rows, err := read(l, data); err != nil || rows[len(rows)-1].Err != "" {
			b.Fatal(err)
		}
	}
}
