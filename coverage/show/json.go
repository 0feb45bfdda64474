package show

import (
	"bytes"
	"encoding/json"
)

// JSON writes values as one indented JSON document, without escaping what is
// safe in JSON but not in HTML.
func JSON(v any) ([]byte, error) {
	var b bytes.Buffer
	e := json.NewEncoder(&b)
	e.SetEscapeHTML(false)
	e.SetIndent("", "  ")
	err := e.Encode(v)
	return jsonSafe(b.Bytes()), err
}
