package main

import (
	"crypto/sha256"
	"fmt"
	"io"
	"io/fs"
	"net"
	"net/http"
	"os"
	"path/filepath"
	"sort"
	"strings"
	"time"

	"github.com/rogpeppe/go-internal/testscript"
)

// freePort NAME sets a variable to a port of this machine that nobody uses.
func freePort(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) != 1 {
		ts.Fatalf("usage: freeport NAME")
	}
	l, err := net.Listen("tcp", "127.0.0.1:0")
	ts.Check(err)
	ts.Setenv(args[0], fmt.Sprint(l.Addr().(*net.TCPAddr).Port))
	ts.Check(l.Close())
}

// fetchWait is how long a page may take to be there: the demo is played and
// checked before its result is, on a slow machine under the race detector.
const fetchWait = 4 * time.Minute

// fetch ADDRESS FILE [TEXT] asks a server on this machine for a page until it
// has it (with the text in it, where one is given) and keeps it in a file.
// ! fetch ADDRESS demands that the address is refused or that nobody listens.
func fetch(ts *testscript.TestScript, neg bool, args []string) {
	if neg != (len(args) == 1) || len(args) < 1 || len(args) > 3 {
		ts.Fatalf("usage: fetch ADDRESS FILE [TEXT], or ! fetch ADDRESS")
	}
	text := strings.Join(args[min(2, len(args)):], "")
	client := http.Client{Timeout: 10 * time.Second}
	get := func() (string, []byte, error) {
		r, err := client.Get(args[0])
		if err != nil {
			return "", nil, err
		}
		defer r.Body.Close()
		p, err := io.ReadAll(r.Body)
		return r.Status, p, err
	}
	if neg {
		if status, _, err := get(); err == nil && strings.HasPrefix(status, "200") {
			ts.Fatalf("%s was served", args[0])
		}
		return
	}
	for end := time.Now().Add(fetchWait); ; time.Sleep(50 * time.Millisecond) {
		status, p, err := get()
		switch {
		case err == nil && strings.HasPrefix(status, "200") && strings.Contains(string(p), text):
			ts.Check(os.WriteFile(ts.MkAbs(args[1]), p, 0o644))
			return
		case err == nil && !strings.HasPrefix(status, "503") && !strings.HasPrefix(status, "200"): // not done yet
			ts.Fatalf("%s: %s: %s", args[0], status, p)
		case time.Now().After(end):
			ts.Fatalf("%s: not there after %v (%s, %v)", args[0], fetchWait, status, err)
		}
	}
}

// samefiles FOLDER FILE writes a list of all files below a folder, with their
// times and sums, to FILE if there is none, and else demands that nothing has
// changed since.
func sameFiles(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) != 2 {
		ts.Fatalf("usage: samefiles FOLDER FILE")
	}
	root := ts.MkAbs(args[0])
	var all []string
	ts.Check(filepath.WalkDir(root, func(path string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		info, err := d.Info()
		if err != nil {
			return err
		}
		p, err := os.ReadFile(path)
		name, _ := filepath.Rel(root, path)
		all = append(all, fmt.Sprintf("%s %s %x", filepath.ToSlash(name), info.ModTime().Format(time.RFC3339Nano), sha256.Sum256(p)))
		return err
	}))
	sort.Strings(all)
	now, list := strings.Join(all, "\n"), ts.MkAbs(args[1])
	if before, err := os.ReadFile(list); err == nil {
		if string(before) != now {
			ts.Fatalf("%s has changed from\n%s\nto\n%s", args[0], before, now)
		}
		return
	}
	ts.Check(os.WriteFile(list, []byte(now), 0o644))
}
