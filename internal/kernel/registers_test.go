package kernel

import (
	"os"
	"path/filepath"
	"regexp"
	"testing"
)

// The generator may hand out registers 16 to 31, which only AVX-512 has: a
// processor without it would stop at the first of them.
func TestAssemblyKeepsToTheRegistersOfAVX2(t *testing.T) {
	files, err := filepath.Glob("*_amd64.s")
	if err != nil || len(files) < 5 {
		t.Fatalf("%d assembly files found (%v), expected one a family", len(files), err)
	}
	beyond := regexp.MustCompile(`\b([XY](1[6-9]|2[0-9]|3[01])|Z[0-9]+|K[0-7])\b`)
	for _, name := range files {
		text, err := os.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		if at := beyond.FindString(string(text)); at != "" {
			t.Errorf("%s uses %s, which is not AVX2's", name, at)
		}
	}
}
