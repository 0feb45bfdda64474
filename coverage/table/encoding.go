package table

import (
	"bytes"
	"unicode/utf8"

	"golang.org/x/text/encoding/charmap"
	"golang.org/x/text/encoding/unicode"
)

// toUTF8 decodes UTF-8 and UTF-16 by their byte order marks, UTF-8 without one, and
// takes all else as Windows-1252, which spreadsheets in the West write still.
func toUTF8(data []byte) (string, error) {
	switch {
	case bytes.HasPrefix(data, []byte("\xff\xfe")), bytes.HasPrefix(data, []byte("\xfe\xff")):
		out, err := unicode.UTF16(unicode.LittleEndian, unicode.ExpectBOM).NewDecoder().Bytes(data)
		return string(out), err
	case utf8.Valid(data):
		return string(bytes.TrimPrefix(data, []byte("\ufeff"))), nil
	}
	out, err := charmap.Windows1252.NewDecoder().Bytes(data)
	return string(out), err
}
