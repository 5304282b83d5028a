package crosscheck

import (
	"errors"
	"os"
	"path/filepath"
	"sync"
	"testing"

	"tidemark/bench/reference"
	"tidemark/internal/conform"
)

// section is where the rows stand on the page.
const section = "Reference libraries"

// missing ends a test whose reference is not there: it is skipped, or fails
// where references are asked for.
func missing(t *testing.T, err error) {
	t.Helper()
	if !errors.Is(err, reference.ErrMissing) || os.Getenv("TIDEMARK_NEED_REFERENCES") == "1" {
		t.Fatal(err)
	}
	t.Skip(err)
}

// find is an installed program.
func find(t *testing.T, name string) reference.Program {
	t.Helper()
	p, err := reference.Find(name)
	if err != nil {
		missing(t, err)
	}
	return p
}

var compiled = sync.OnceValues(func() (reference.Ebur128, error) {
	dir, err := os.MkdirTemp("", "tidemark-reference-")
	if err != nil {
		return reference.Ebur128{}, err
	}
	compiledIn = dir
	return reference.CompileEbur128(dir)
})

var compiledIn string

func TestMain(m *testing.M) {
	status := m.Run()
	if compiledIn != "" {
		os.RemoveAll(compiledIn)
	}
	for _, dir := range made.dirs {
		os.RemoveAll(dir)
	}
	os.Exit(status)
}

// ebur128 is the C program over libebur128.
func ebur128(t *testing.T) reference.Ebur128 {
	t.Helper()
	e, err := compiled()
	if err != nil {
		missing(t, err)
	}
	return e
}

// row makes and checks a row whose tolerance is the same on both sides.
func row(t *testing.T, source, what, unit string, expected, measured, tolerance float64, digits int) {
	t.Helper()
	conform.Check(t, conform.Row{Section: section, Case: what, Source: source, Unit: unit,
		Expected: expected, Under: tolerance, Over: tolerance, Digits: digits, Measured: measured})
}

func testdata(name string) string { return filepath.Join("testdata", name) }
