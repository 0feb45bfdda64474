package object

import (
	"bytes"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"testing"

	"laydown/colour/reference"
)

func ExampleFile() {
	fmt.Printf("%q", File("1.4", []byte("<< /Type /Catalog >>"))[15:])
	// Output: "1 0 obj\n<< /Type /Catalog >>\nendobj\nxref\n0 2\n0000000000 65535 f \n0000000015 00000 n \ntrailer\n<< /Size 2 /Root 1 0 R >>\nstartxref\n51\n%%EOF\n"
}

// TestFile has qpdf look at a page, which finds what is not where the table says.
func TestFile(t *testing.T) {
	tool := reference.Tool(t, "qpdf")
	data := File("1.7", []byte("<< /Type /Catalog /Pages 2 0 R >>"), []byte("<< /Type /Pages /Kids [3 0 R] /Count 1 >>"),
		[]byte("<< /Type /Page /Parent 2 0 R /MediaBox [0 0 9 9] /Contents 4 0 R >>"), Stream("", []byte("0 g 1 1 5 5 re f")))
	path := filepath.Join(t.TempDir(), "page.pdf")
	check := func(data []byte) error {
		if err := os.WriteFile(path, data, 0o600); err != nil {
			t.Fatal(err)
		}
		return exec.Command(tool, "--check", path).Run()
	}
	if err := check(data); err != nil {
		t.Errorf("qpdf: %v", err)
	}
	if err := check(bytes.Replace(data, []byte("0000000015 "), []byte("0000000016 "), 1)); err == nil {
		t.Error("qpdf sees no object that is not at its place")
	}
}
