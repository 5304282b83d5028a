// Package reference runs the programs that others wrote and that Tidemark's
// numbers are held to: libebur128 through a small C program beside this file,
// ffmpeg, sox and Python with scipy. The tests of internal/crosscheck compare
// readings, bench/speed compares time; both find the programs here.
package reference

import (
	"bufio"
	"bytes"
	_ "embed"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
)

// ErrMissing says that a reference program is not installed here.
var ErrMissing = errors.New("not installed: ./test --references installs it")

//go:embed ebur128/ebur128.c
var ebur128Source []byte

// Ebur128 is the compiled C program over libebur128.
type Ebur128 struct {
	Path    string
	Version string // "libebur128 1.2.6", as the library says
}

// CompileEbur128 compiles the program into dir. The error is ErrMissing where
// the compiler or one of the libraries is not installed.
func CompileEbur128(dir string) (Ebur128, error) {
	gcc, err := exec.LookPath("gcc")
	if err != nil {
		return Ebur128{}, fmt.Errorf("gcc %w", ErrMissing)
	}
	source := filepath.Join(dir, "ebur128.c")
	if err := os.WriteFile(source, ebur128Source, 0o600); err != nil {
		return Ebur128{}, err
	}
	e := Ebur128{Path: filepath.Join(dir, "ebur128")}
	out, err := exec.Command(gcc, "-O3", "-march=native", "-Wall", "-o", e.Path, source, "-lebur128", "-lsndfile", "-lm").CombinedOutput()
	switch {
	case err == nil:
	case bytes.Contains(out, []byte("No such file or directory")), bytes.Contains(out, []byte("cannot find -l")):
		return Ebur128{}, fmt.Errorf("libebur128-dev or libsndfile1-dev %w", ErrMissing)
	default:
		return Ebur128{}, fmt.Errorf("gcc: %w: %s", err, out)
	}
	out, err = exec.Command(e.Path, os.DevNull).Output() // says its version before it refuses the file
	version, _, ok := bytes.Cut(bytes.TrimPrefix(out, []byte("version ")), []byte(","))
	if !ok {
		return Ebur128{}, fmt.Errorf("the program over libebur128 says no version: %w", err)
	}
	e.Version = string(version)
	return e, nil
}

// Reading is what libebur128 says of one file. Peaks are linear, full scale ±1;
// levels that do not exist are −Inf. Momentary and ShortTerm are the largest, and
// 0 where the file was not fed in pieces.
type Reading struct {
	Integrated, Range, Momentary, ShortTerm float64
	SamplePeaks, TruePeaks                  []float64 // by channel
}

// Measure runs the program on a file, fed in pieces of so many milliseconds (a
// divisor of 100), or with 0 without looking at momentary and short-term loudness.
func (e Ebur128) Measure(path string, pieceMS int) (Reading, error) {
	if pieceMS > 0 {
		return Ask(e.Path, "-p", strconv.Itoa(pieceMS), path)
	}
	return Ask(e.Path, path)
}

// Ask runs a program that prints as bench/reference/ebur128/ebur128.c does, on
// one file, and reads what it says.
func Ask(program string, args ...string) (Reading, error) {
	out, err := exec.Command(program, args...).Output()
	if err != nil {
		return Reading{}, told(err)
	}
	var r Reading
	for s := bufio.NewScanner(bytes.NewReader(out)); s.Scan(); {
		name, text, _ := strings.Cut(s.Text(), " ")
		if name == "version" || name == "file" {
			continue
		}
		v, err := strconv.ParseFloat(text, 64)
		if err != nil {
			return Reading{}, fmt.Errorf("%s printed %q: %w", program, s.Text(), err)
		}
		switch {
		case name == "integrated":
			r.Integrated = v
		case name == "range":
			r.Range = v
		case name == "momentary":
			r.Momentary = v
		case name == "short-term":
			r.ShortTerm = v
		case strings.HasPrefix(name, "sample-peak-"):
			r.SamplePeaks = append(r.SamplePeaks, v)
		case strings.HasPrefix(name, "true-peak-"):
			r.TruePeaks = append(r.TruePeaks, v)
		default:
			return Reading{}, fmt.Errorf("%s printed %q, which nobody expects", program, s.Text())
		}
	}
	return r, nil
}

// Program is an installed program and the version it prints.
type Program struct{ Path, Version string }

// Find finds ffmpeg, sox, sha256sum, openssl or python3 with scipy.
func Find(name string) (Program, error) {
	ask := map[string]struct {
		args  []string
		shape *regexp.Regexp
		print string
	}{
		"ffmpeg":    {[]string{"-version"}, regexp.MustCompile(`ffmpeg version (\S+)`), "ffmpeg "},
		"sox":       {[]string{"--version"}, regexp.MustCompile(`SoX\s+v?(\S+)`), "SoX "},
		"sha256sum": {[]string{"--version"}, regexp.MustCompile(`coreutils\)? (\S+)`), "coreutils "},
		"openssl":   {[]string{"version"}, regexp.MustCompile(`OpenSSL (\S+)`), "OpenSSL "},
		"python3":   {[]string{"-c", "import scipy, sys; print('scipy', scipy.__version__)"}, regexp.MustCompile(`scipy (\S+)`), "scipy "},
	}
	how, ok := ask[name]
	if !ok {
		panic("reference: no program called " + name)
	}
	paths := []string{name}
	if name == "python3" {
		paths = append(paths, "/usr/bin/python3") // where Debian's scipy is, whatever comes first in the path
	}
	for _, p := range paths {
		at, err := exec.LookPath(p)
		if err != nil {
			continue
		}
		out, err := exec.Command(at, how.args...).Output()
		if m := how.shape.FindSubmatch(out); err == nil && m != nil {
			return Program{at, how.print + string(m[1])}, nil
		}
	}
	if name == "python3" {
		name = "python3 with scipy"
	}
	return Program{}, fmt.Errorf("%s %w", name, ErrMissing)
}

// Output runs the program and returns what it prints on stdout; where both is
// set, stderr as well.
func (p Program) Output(both bool, args ...string) ([]byte, error) {
	c := exec.Command(p.Path, args...)
	if both {
		out, err := c.CombinedOutput()
		if err != nil {
			err = fmt.Errorf("%s: %w: %s", p.Version, err, out)
		}
		return out, err
	}
	out, err := c.Output()
	return out, told(err)
}

// told adds what a program said on stderr to the error of its end.
func told(err error) error {
	if exit, ok := errors.AsType[*exec.ExitError](err); ok {
		return fmt.Errorf("%w: %s", err, exit.Stderr)
	}
	return err
}
