// Command conformance writes CONFORMANCE.md from what the tests measure.
//
//	go run ./tools/conformance             runs the tests and writes the page
//	go run ./tools/conformance -rows DIR -check
//	                                       compares the page with rows that a test run left in DIR
//
// Rows against reference programs are kept only where those are installed:
// -check lets the page have more of them than the run, and says so.
package main

import (
	"flag"
	"fmt"
	"os"
	"os/exec"
	"strings"

	"tidemark/internal/conform"
)

const page = "CONFORMANCE.md"

func main() {
	folder := flag.String("rows", "", "folder that a test run left its rows in")
	check := flag.Bool("check", false, "only compare the page, and fail where it differs")
	flag.Parse()
	if err := run(*folder, *check); err != nil {
		fmt.Fprintln(os.Stderr, "conformance:", err)
		os.Exit(1)
	}
}

func run(folder string, check bool) error {
	if folder == "" {
		tmp, err := os.MkdirTemp("", "conformance-")
		if err != nil {
			return err
		}
		defer os.RemoveAll(tmp)
		folder = tmp
		test := exec.Command("go", "test", "-count=1", "./internal/...")
		test.Env = append(os.Environ(), conform.Folder+"="+folder)
		test.Stdout, test.Stderr = os.Stderr, os.Stderr
		if err := test.Run(); err != nil {
			return fmt.Errorf("go test: %w", err)
		}
	}
	rows, err := conform.Rows(folder)
	if err != nil {
		return err
	}
	if len(rows) == 0 {
		return fmt.Errorf("the tests left no row in %s: was %s set, and no result cached", folder, conform.Folder)
	}
	now := conform.Page(rows)
	if !check {
		return os.WriteFile(page, []byte(now), 0o644)
	}
	kept, err := os.ReadFile(page)
	if err != nil {
		return err
	}
	missing, changed := compare(string(kept), now)
	for _, l := range changed {
		fmt.Fprintln(os.Stderr, l)
	}
	if len(changed) > 0 {
		return fmt.Errorf("%s differs from what the tests measure in %d lines: go run ./tools/conformance writes it anew", page, len(changed))
	}
	fmt.Printf("%s agrees with %d measured values", page, len(rows))
	if missing > 0 {
		fmt.Printf("; %d rows against reference programs not run here", missing)
	}
	fmt.Println()
	return nil
}

// compare counts rows against reference programs that only the page holds, and
// lists every other row that is on one side only.
func compare(kept, now string) (missing int, changed []string) {
	a, b := tableRows(kept), tableRows(now)
	for l, reference := range a {
		if _, ok := b[l]; !ok {
			if reference {
				missing++
			} else {
				changed = append(changed, "- "+l)
			}
		}
	}
	for l, reference := range b {
		if _, ok := a[l]; !ok && !reference {
			changed = append(changed, "+ "+l)
		}
	}
	return missing, changed
}

// tableRows are the rows of the page's tables, each with whether it stands
// under the reference programs, whose versions may print other last digits.
func tableRows(s string) map[string]bool {
	rows := map[string]bool{}
	reference := false
	for line := range strings.Lines(s) {
		line = strings.TrimSuffix(line, "\n")
		if h, ok := strings.CutPrefix(line, "## "); ok {
			reference = h == "Reference libraries"
		}
		if strings.HasPrefix(line, "| ") && strings.Count(line, " | ") >= 6 {
			rows[line] = reference
		}
	}
	return rows
}
