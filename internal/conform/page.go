package conform

import (
	"bytes"
	"cmp"
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
)

// Rows reads what tests left in the folder, in the page's order: by section,
// then by case, numbers within a case by their size.
func Rows(folder string) ([]Row, error) {
	files, err := filepath.Glob(filepath.Join(folder, "*.rows"))
	if err != nil {
		return nil, err
	}
	var all []Row
	for _, name := range files {
		b, err := os.ReadFile(name)
		if err != nil {
			return nil, err
		}
		for d := json.NewDecoder(bytes.NewReader(b)); d.More(); {
			var r Row
			if err := d.Decode(&r); err != nil {
				return nil, fmt.Errorf("%s: %w", name, err)
			}
			all = append(all, r)
		}
	}
	slices.SortStableFunc(all, func(a, b Row) int {
		return cmp.Or(cmp.Compare(section(a.Section), section(b.Section)), natural(a.Case, b.Case), cmp.Compare(a.Source, b.Source))
	})
	for i := 1; i < len(all); i++ {
		if all[i].Section == all[i-1].Section && all[i].Case == all[i-1].Case && all[i].Source == all[i-1].Source {
			return nil, fmt.Errorf("two rows under %q are called %q: a case must be told from every other", all[i].Section, all[i].Case)
		}
	}
	return all, nil
}

// natural compares texts with the numbers in them by size: "case 9" before "case 10".
func natural(a, b string) int {
	for a != "" && b != "" {
		da, db := digits(a), digits(b)
		if da != "" && db != "" {
			x, y := strings.TrimLeft(da, "0"), strings.TrimLeft(db, "0")
			if c := cmp.Or(cmp.Compare(len(x), len(y)), strings.Compare(x, y)); c != 0 {
				return c
			}
			a, b = a[len(da):], b[len(db):]
			continue
		}
		if a[0] != b[0] {
			return cmp.Compare(a[0], b[0])
		}
		a, b = a[1:], b[1:]
	}
	return cmp.Compare(len(a), len(b))
}

func digits(s string) string {
	n := 0
	for n < len(s) && s[n] >= '0' && s[n] <= '9' {
		n++
	}
	return s[:n]
}

const head = `# Conformance

What the engine measures, held to published values. Written by the tests themselves
(` + "`go run ./tools/conformance`; `./test`" + ` refuses a page that differs from what they measure).

*Source* says where the expected value stands. *derived* follows from the source by arithmetic, or from how the sound of
the test was made; *from memory* was written down without the text at hand. A tolerance is the source's, or the last
printed digit's, where the source does not say another; *exact* leaves none. Where a case is a yes or no, 1 and 0 stand
for them. Under *Reference libraries* the expected value is what the other program says of the same file.

`

// Page is CONFORMANCE.md.
func Page(rows []Row) string {
	var b strings.Builder
	b.WriteString(head)
	passed := 0
	count := map[string][2]int{}
	for _, r := range rows {
		c := count[r.Section]
		c[0]++
		if r.Passes() {
			c[1]++
			passed++
		}
		count[r.Section] = c
	}
	fmt.Fprintf(&b, "%d of %d values lie within their tolerance.\n\n| section | values | within |\n|---|---|---|\n", passed, len(rows))
	for _, s := range Sections {
		if c := count[s]; c[0] > 0 {
			fmt.Fprintf(&b, "| %s | %d | %d |\n", s, c[0], c[1])
		}
	}
	now := ""
	for _, r := range rows {
		if r.Section != now {
			now = r.Section
			fmt.Fprintf(&b, "\n## %s\n\n| case | source | unit | expected | tolerance | measured | pass |\n|---|---|---|---|---|---|---|\n", now)
		}
		verdict := "yes"
		if !r.Passes() {
			verdict = "NO"
		}
		fmt.Fprintf(&b, "| %s | %s | %s | %s | %s | %s | %s |\n", cell(r.Case), cell(r.Source), cell(r.Unit), r.Number(r.Expected), r.Tolerance(), r.Number(r.Measured), verdict)
	}
	return b.String()
}

// cell is a text that cannot break out of its table cell.
func cell(s string) string { return strings.NewReplacer("|", "\\|", "\n", " ").Replace(s) }
