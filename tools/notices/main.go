// Command notices writes THIRD_PARTY.md: every module that is linked into the
// binary, with the text of its licence, read from the module cache.
//
//	go run ./tools/notices           writes the file
//	go run ./tools/notices -check    fails if the file is not up to date
package main

import (
	"bytes"
	"encoding/json"
	"errors"
	"flag"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"sort"
	"strings"
)

type module struct {
	Path, Version, Dir string
	Main               bool
}

func main() {
	check := flag.Bool("check", false, "compare instead of writing")
	flag.Parse()
	text, err := notices()
	if err == nil {
		err = finish(text, *check)
	}
	if err != nil {
		fmt.Fprintln(os.Stderr, "notices:", err)
		os.Exit(1)
	}
}

const file = "THIRD_PARTY.md"

func finish(text []byte, check bool) error {
	if !check {
		return os.WriteFile(file, text, 0o644)
	}
	old, err := os.ReadFile(file)
	if err != nil {
		return err
	}
	if !bytes.Equal(old, text) {
		return fmt.Errorf("%s is not up to date; run go run ./tools/notices", file)
	}
	return nil
}

func notices() ([]byte, error) {
	modules := map[string]module{}
	// The three systems link different modules; the notices cover them all.
	for _, goos := range []string{"linux", "darwin", "windows"} {
		cmd := exec.Command("go", "list", "-deps", "-json=Module", "./cmd/tidemark")
		cmd.Env = append(os.Environ(), "CGO_ENABLED=0", "GOOS="+goos)
		cmd.Stderr = os.Stderr
		out, err := cmd.Output()
		if err != nil {
			return nil, fmt.Errorf("go list for %s: %w", goos, err)
		}
		for d := json.NewDecoder(bytes.NewReader(out)); ; {
			var p struct{ Module *module }
			if err := d.Decode(&p); errors.Is(err, io.EOF) {
				break
			} else if err != nil {
				return nil, err
			}
			if p.Module != nil && !p.Module.Main {
				modules[p.Module.Path] = *p.Module
			}
		}
	}
	var paths []string
	for p := range modules {
		paths = append(paths, p)
	}
	sort.Strings(paths)
	var b bytes.Buffer
	fmt.Fprintf(&b, "# Third-party notices\n\nThe tidemark binary links these modules beside Go's standard library (BSD-3-Clause). Written by `go run ./tools/notices`.\n")
	for _, p := range paths {
		m := modules[p]
		fmt.Fprintf(&b, "\n## %s %s\n", m.Path, m.Version)
		texts, err := licences(m.Dir)
		if err != nil {
			return nil, fmt.Errorf("%s: %w", p, err)
		}
		for _, t := range texts {
			fmt.Fprintf(&b, "\n```\n%s\n```\n", strings.TrimSpace(t))
		}
	}
	return b.Bytes(), nil
}

// licences reads the licence and notice files at the top of a module.
func licences(dir string) ([]string, error) {
	entries, err := os.ReadDir(dir)
	if err != nil {
		return nil, err
	}
	var texts []string
	for _, e := range entries {
		name := strings.ToUpper(e.Name())
		if e.IsDir() || !(strings.HasPrefix(name, "LICENSE") || strings.HasPrefix(name, "LICENCE") || strings.HasPrefix(name, "COPYING") || strings.HasPrefix(name, "NOTICE") || strings.HasPrefix(name, "UNLICENSE")) {
			continue
		}
		text, err := os.ReadFile(filepath.Join(dir, e.Name()))
		if err != nil {
			return nil, err
		}
		texts = append(texts, strings.ReplaceAll(string(text), "\r\n", "\n"))
	}
	if len(texts) == 0 {
		return nil, errors.New("no licence file found")
	}
	return texts, nil
}
