// Package layers holds no code: its test keeps the dependencies pointing inward.
package layers

import (
	"encoding/json"
	"errors"
	"io"
	"os/exec"
	"strings"
	"testing"
)

// table says, for each package, what of this module it may import, and why.
// A package may also import what lies below it (internal/sound/...: sound/wav).
// Do not relax it to make a build pass: move the code.
const table = `
unit       :                                                   # words of measurement, for everybody
kernel     :                                                   # inner loops on slices of numbers
fourier    :                                                   # numbers only
sound      : kernel                                            # files' formats; reads an io.ReaderAt, never a path
acoustics  : unit                                              # calculators
model      : unit                                              # the plan knows no measurement
meter      : unit kernel fourier sound                         # one signal
between    : unit fourier                                      # two signals
inputlist  : model                                             # a sheet becomes lines
match      : model                                             # names become lines
judge      : unit sound meter between acoustics model          # measurements and plan become findings
desk       : unit sound meter between acoustics model judge inputlist match # the use cases
disk       : sound desk                                        # opens what the desk asks for
web        : unit model desk                                   # a face
cli        : unit kernel model inputlist meter desk            # a face
signal     :                                                   # made-up sound, for tests and the demo band
statistics : unit                                              # what a count of answers is worth: numbers only
conform    :                                                   # test support: published values and the page of them
band       : unit sound                                        # the demo session
properties :                                                   # no code: tests of what holds for any sound, over the whole engine
crosscheck :                                                   # tests alone: the meters beside what others wrote
`

// inner are the rings that never touch the world: no files, network, database,
// logs, randomness, goroutines of their own or the clock.
var inner = []string{"unit", "kernel", "fourier", "sound", "acoustics", "statistics", "model", "meter", "between", "inputlist", "match", "judge"}

var worldly = []string{"os", "os/exec", "net", "net/http", "database/sql", "log", "log/slog", "math/rand", "math/rand/v2", "path/filepath", "syscall"}

type pkg struct {
	ImportPath string
	Imports    []string
}

func packages(t *testing.T) []pkg {
	t.Helper()
	out, err := exec.Command("go", "list", "-json=ImportPath,Imports", "tidemark/internal/...").Output()
	if err != nil {
		t.Fatalf("go list: %v", err)
	}
	var all []pkg
	for d := json.NewDecoder(strings.NewReader(string(out))); ; {
		var p pkg
		if err := d.Decode(&p); errors.Is(err, io.EOF) {
			break
		} else if err != nil {
			t.Fatal(err)
		}
		all = append(all, p)
	}
	if len(all) < 10 {
		t.Fatalf("go list found %d packages, expected all of internal", len(all))
	}
	return all
}

func ring(importPath string) string {
	rest, ok := strings.CutPrefix(importPath, "tidemark/internal/")
	if !ok {
		return ""
	}
	first, _, _ := strings.Cut(rest, "/")
	return first
}

func TestImportsPointInward(t *testing.T) {
	allowed := map[string]map[string]bool{}
	for line := range strings.Lines(table) {
		line, _, _ = strings.Cut(line, "#")
		name, list, ok := strings.Cut(line, ":")
		if !ok {
			continue
		}
		m := map[string]bool{}
		for _, a := range strings.Fields(list) {
			m[a] = true
		}
		allowed[strings.TrimSpace(name)] = m
	}
	used := map[string]bool{}
	for _, p := range packages(t) {
		from := ring(p.ImportPath)
		if from == "layers" {
			continue
		}
		may, ok := allowed[from]
		if !ok {
			t.Errorf("%s is in no row of the table: say what it may import and why", p.ImportPath)
			continue
		}
		for _, imp := range p.Imports {
			to := ring(imp)
			used[from+" "+to] = true
			if to != "" && to != from && !may[to] {
				t.Errorf("%s imports %s, and the table does not let %s import %s", p.ImportPath, imp, from, to)
			}
		}
	}
	for from, may := range allowed {
		for to := range may {
			if !used[from+" "+to] {
				t.Errorf("the table lets %s import %s, and nobody does: take it out", from, to)
			}
		}
	}
}

func TestInnerRingsDoNotTouchTheWorld(t *testing.T) {
	isInner, forbidden := map[string]bool{}, map[string]bool{}
	for _, r := range inner {
		isInner[r] = true
	}
	for _, w := range worldly {
		forbidden[w] = true
	}
	for _, p := range packages(t) {
		if !isInner[ring(p.ImportPath)] || strings.HasSuffix(p.ImportPath, "test") { // sound/soundtest serves tests alone
			continue
		}
		for _, imp := range p.Imports {
			if forbidden[imp] {
				t.Errorf("%s imports %s: the inner rings never touch files, network, logs or chance", p.ImportPath, imp)
			}
		}
	}
}
