// Package conform is how a test holds a measured value to a published one, and
// how the page CONFORMANCE.md comes about: Check fails the test when the value
// lies outside its tolerance and, where the variable TIDEMARK_CONFORMANCE names
// a folder, leaves the row there. The command tools/conformance runs the tests
// and prints the rows; nothing else writes the page.
package conform

import (
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
)

// Folder is the environment variable that names where rows are left.
const Folder = "TIDEMARK_CONFORMANCE"

// mostDigits are what a float64 of about 1 carries.
const mostDigits = 15

// Row is one published value and what was measured.
type Row struct {
	// Section is the heading the row stands under: "True peak". See Sections.
	Section string
	// Case says what was measured, and on what: "Tech 3341 case 15, fs/4 sine at 0°, 48 kHz".
	Case string
	// Source is the document, edition and place of the expected value; for one that
	// follows by arithmetic "derived: " and how, for one recalled "from memory: ".
	Source string
	// Unit of the numbers: "LUFS", "dB", "Hz", "samples"; "" for plain numbers.
	Unit string
	// Expected is the published value.
	Expected float64
	// Under and Over are how far below and above it a value may lie, both ≥ 0.
	Under, Over float64
	// Digits after the point to print, 0 to 15. Choose so few that processors which
	// differ in a last bit print the same.
	Digits int
	// Measured is what the program said.
	Measured float64
}

// Sections are the headings of the page, in its order. A row under another
// heading is a wrong call.
var Sections = []string{
	"Loudness",
	"Loudness range",
	"True peak",
	"Levels",
	"Band filters",
	"Frequency weightings",
	"Hum",
	"Pitch",
	"Delay and polarity",
	"Null test",
	"Statistics",
	"Air and combs",
	"Reference libraries",
}

// Passes tells whether the measured value lies within the tolerance.
func (r Row) Passes() bool {
	return r.Measured >= r.Expected-r.Under && r.Measured <= r.Expected+r.Over
}

// Tolerance is how the page prints it: "±0.1", "+0.2/−0.4", "exact".
func (r Row) Tolerance() string {
	switch {
	case r.Under == 0 && r.Over == 0:
		return "exact"
	case r.Under == r.Over:
		return fmt.Sprintf("±%.6g", r.Over) // %g alone prints 0.052 as 0.052000000000000005, where it is a sum
	default:
		return fmt.Sprintf("+%.6g/−%.6g", r.Over, r.Under)
	}
}

// Number prints a value as the row prints all of its values.
func (r Row) Number(v float64) string {
	s := fmt.Sprintf("%.*f", r.Digits, v)
	if strings.Trim(s, "-0.") == "" {
		s = strings.TrimPrefix(s, "-")
	}
	return strings.Replace(s, "-", "−", 1)
}

// Check holds the row's value to its tolerance and keeps the row. It panics on
// a row that no page could print: an unknown section, or no case or source.
func Check(t testing.TB, r Row) {
	t.Helper()
	if r.Case == "" || r.Source == "" || r.Digits < 0 || r.Digits > mostDigits || r.Under < 0 || r.Over < 0 || section(r.Section) < 0 {
		panic(fmt.Sprintf("conform: incomplete row %+v", r))
	}
	if !r.Passes() {
		t.Errorf("%s: %v %s, expected %v (%s; %s)", r.Case, r.Measured, r.Unit, r.Expected, r.Tolerance(), r.Source)
	}
	if folder := os.Getenv(Folder); folder != "" {
		if err := keep(folder, r); err != nil {
			t.Errorf("keeping the row for the conformance page: %v", err)
		}
	}
}

func section(name string) int {
	for i, s := range Sections {
		if s == name {
			return i
		}
	}
	return -1
}

var one sync.Mutex

// keep adds the row to the file of this process: each package's tests run in
// one of their own, and append to a file that no other one writes.
func keep(folder string, r Row) error {
	one.Lock()
	defer one.Unlock()
	line, err := json.Marshal(r)
	if err != nil {
		return err
	}
	f, err := os.OpenFile(filepath.Join(folder, fmt.Sprintf("%d.rows", os.Getpid())), os.O_APPEND|os.O_CREATE|os.O_WRONLY, 0o644)
	if err != nil {
		return err
	}
	if _, err := f.Write(append(line, '\n')); err != nil {
		f.Close()
		return err
	}
	return f.Close()
}
