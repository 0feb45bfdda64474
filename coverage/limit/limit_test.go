package limit

import (
	"reflect"
	"strings"
	"testing"
)

// TestEach holds the list of limits to the fields, so that none is left out of help and checks.
func TestEach(t *testing.T) {
	var l Limits
	all, fields := l.Each(), reflect.ValueOf(&l).Elem()
	if len(all) != fields.NumField() {
		t.Fatalf("%d limits and %d fields", len(all), fields.NumField())
	}
	for i, v := range all {
		if key := fields.Type().Field(i).Tag.Get("toml"); v.Key != key || v.Value != fields.Field(i).Addr().Interface().(*int) {
			t.Errorf("limit %s is not field %s", v.Key, key)
		}
		if v.Least < 1 || v.Usual < v.Least || v.Usual > v.Most || strings.TrimSpace(v.Of) == "" {
			t.Errorf("%+v", v)
		}
	}
	some := Limits{Rows: 7}.Filled()
	if some.Rows != 7 || some.Patches != Usual().Patches || l != (Limits{}) {
		t.Errorf("%+v", some)
	}
}
