package conform

import (
	"strings"
	"testing"
)

// recorder stands in for a test, to see one fail.
type recorder struct {
	testing.TB
	failed bool
}

func (r *recorder) Errorf(string, ...any) { r.failed = true }
func (r *recorder) Helper()               {}

func row(name string, measured float64) Row {
	return Row{Section: "Loudness", Case: name, Source: "made up for this test", Unit: "LUFS", Expected: -23, Under: 0.4, Over: 0.2, Digits: 1, Measured: measured}
}

func TestAValueOutsideItsToleranceFailsTheTest(t *testing.T) {
	t.Setenv(Folder, "")
	for _, c := range []struct {
		measured float64
		fails    bool
	}{{-23, false}, {-23.375, false}, {-22.875, false}, {-23.5, true}, {-22.75, true}} {
		r := &recorder{TB: t}
		Check(r, row("x", c.measured))
		if r.failed != c.fails {
			t.Errorf("%v: failed is %v, want %v", c.measured, r.failed, c.fails)
		}
	}
}

func TestTolerancesArePrintedWithTheDigitsThatMatter(t *testing.T) {
	sum := 0.042
	sum += 0.01 // 0.052000000000000005
	for _, c := range []struct {
		under, over float64
		want        string
	}{{0, 0, "exact"}, {0.1, 0.1, "±0.1"}, {0.4, 0.2, "+0.2/−0.4"}, {sum, sum, "±0.052"}, {5e-15, 5e-15, "±5e-15"}, {0.688, 0.2, "+0.2/−0.688"}} {
		if got := (Row{Under: c.under, Over: c.over}).Tolerance(); got != c.want {
			t.Errorf("%v below and %v above: got %s, want %s", c.under, c.over, got, c.want)
		}
	}
}

func TestThePageHoldsWhatTestsLeft(t *testing.T) {
	folder := t.TempDir()
	t.Setenv(Folder, folder)
	r := &recorder{TB: t}
	Check(r, row("case 10", -23.04))
	Check(r, row("case 9", -25))
	rows, err := Rows(folder)
	if err != nil {
		t.Fatal(err)
	}
	page := Page(rows)
	nine := strings.Index(page, "| case 9 | made up for this test | LUFS | −23.0 | +0.2/−0.4 | −25.0 | NO |")
	ten := strings.Index(page, "| case 10 | made up for this test | LUFS | −23.0 | +0.2/−0.4 | −23.0 | yes |")
	if nine < 0 || ten < nine || !strings.Contains(page, "1 of 2 values lie within") {
		t.Errorf("page:\n%s", page)
	}
	Check(r, row("case 9", -23))
	if _, err := Rows(folder); err == nil {
		t.Error("two rows of one name were taken")
	}
}
