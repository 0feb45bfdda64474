// Package reference is for tests only: it finds the outside tools and
// published profiles that the project's own results are held to, and says how much
// of the long sweeps runs.
//
// A machine without the tools skips their tests and says so, and of a long sweep
// it runs a stated part: every check on something, in a minute or two. With the
// environment variable LAYDOWN_REFERENCE=require, as in CI, a missing tool is a
// failure and every case runs.
package reference

import (
	"bytes"
	"fmt"
	"os"
	"os/exec"
	"strconv"
	"strings"
	"testing"
)

// Profiles maps a short name to where Debian installs a published profile.
var Profiles = map[string]string{
	"cmyk":        "/usr/share/color/icc/ghostscript/default_cmyk.icc", // libgs-common: v2, lut16/lut8, Lab
	"cmyk-xyz":    "/usr/share/color/icc/ghostscript/ps_cmyk.icc",      // libgs-common: v4, lut16, XYZ
	"srgb":        "/usr/share/color/icc/ghostscript/srgb.icc",         // libgs-common: v2, tables
	"srgb-v4":     "/usr/share/color/icc/colord/sRGB.icc",              // colord-data: v4, parametric
	"adobe-rgb":   "/usr/share/color/icc/colord/AdobeRGB1998.icc",      // colord-data
	"prophoto":    "/usr/share/color/icc/colord/ProPhotoRGB.icc",       // colord-data
	"rec709":      "/usr/share/color/icc/colord/Rec709.icc",            // colord-data
	"lstar-rgb":   "/usr/share/color/icc/LStar-RGB.icc",                // icc-profiles-free
	"display-p3":  "/usr/share/color/argyll/ref/DisplayP3.icm",         // argyll-ref
	"dci-p3":      "/usr/share/color/argyll/ref/SMPTE431_P3.icm",       // argyll-ref
	"rec2020":     "/usr/share/color/argyll/ref/Rec2020.icm",           // argyll-ref
	"grey":        "/usr/share/color/icc/ghostscript/sgray.icc",        // libgs-common
	"grey-v4":     "/usr/share/color/icc/ghostscript/ps_gray.icc",      // libgs-common
	"lab":         "/usr/share/color/icc/ghostscript/lab.icc",          // libgs-common: lut8
	"lab-display": "/usr/share/color/icc/LCMSLABI.ICM",                 // icc-profiles-free: lut16
}

// All reports whether every case must run and every tool be there.
func All() bool { return os.Getenv("LAYDOWN_REFERENCE") == "require" }

// Sweep returns the cases to run: all of them if [All], else those that keep
// picks, of which there must be one.
func Sweep[T any](t testing.TB, cases []T, keep func(T) bool) []T {
	t.Helper()
	if All() {
		return cases
	}
	var part []T
	for _, c := range cases {
		if keep(c) {
			part = append(part, c)
		}
	}
	if len(part) == 0 {
		t.Fatalf("none of %d cases is left to run", len(cases))
	}
	t.Logf("%d of %d cases; LAYDOWN_REFERENCE=require runs them all", len(part), len(cases))
	return part
}

// Long skips a test that takes long, and says so, unless all of it is to run. What it
// claims must not hang on it alone: another test tries the same in small.
func Long(t testing.TB) {
	t.Helper()
	if !All() {
		t.Skip("this takes long; LAYDOWN_REFERENCE=require runs it")
	}
}

// Samples returns how many random samples to draw: all of them if [All], else a
// tenth.
func Samples(t testing.TB, all int) int {
	t.Helper()
	if All() {
		return all
	}
	t.Logf("%d of %d samples; LAYDOWN_REFERENCE=require draws them all", all/10, all)
	return all / 10
}

// missing ends the test: a skip, or in CI a failure.
func missing(t testing.TB, what string) {
	t.Helper()
	msg := fmt.Sprintf("%s is not on this machine; .ci/run lists the packages that bring it", what)
	if All() {
		t.Fatal(msg)
	}
	t.Skip(msg)
}

// Tool returns the path of a program or ends the test.
func Tool(t testing.TB, name string) string {
	t.Helper()
	path, err := exec.LookPath(name)
	if err != nil {
		missing(t, name)
	}
	return path
}

// File returns the content of an installed file or ends the test.
func File(t testing.TB, path string) []byte {
	t.Helper()
	b, err := os.ReadFile(path)
	if err != nil {
		missing(t, path)
	}
	return b
}

// Profile returns the path of one of [Profiles] or ends the test.
func Profile(t testing.TB, name string) string {
	t.Helper()
	path, ok := Profiles[name]
	if !ok {
		t.Fatalf("no profile is called %q", name)
	}
	File(t, path)
	return path
}

// Transicc pushes rows of colours through LittleCMS's transicc without
// precalculation and returns as many rows. RGB and grey count 0–255, CMYK
// 0–100, Lab as it is.
func Transicc(t testing.TB, rows [][]float64, args ...string) [][]float64 {
	t.Helper()
	var in bytes.Buffer
	for _, r := range rows {
		for _, v := range r {
			fmt.Fprintf(&in, "%.6f ", v)
		}
		in.WriteByte('\n')
	}
	cmd := exec.Command(Tool(t, "transicc"), append([]string{"-n", "-c0"}, args...)...)
	cmd.Stdin = &in
	out, err := cmd.Output()
	if err != nil {
		t.Fatalf("transicc %v: %v", args, err)
	}
	var got [][]float64
	for _, line := range strings.Split(string(out), "\n") {
		f := strings.Fields(line)
		if len(f) == 0 {
			continue
		}
		row := make([]float64, len(f))
		for i, s := range f {
			if row[i], err = strconv.ParseFloat(s, 64); err != nil {
				t.Fatalf("transicc printed %q", line)
			}
		}
		got = append(got, row)
	}
	if len(got) != len(rows) {
		t.Fatalf("transicc %v returned %d rows for %d", args, len(got), len(rows))
	}
	return got
}
