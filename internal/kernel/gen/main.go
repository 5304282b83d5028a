// Command gen writes the AVX2 assembly of package kernel, and its Go
// declarations, into the folder above. Run it from here, or with
// "go generate ./internal/kernel" from the top.
//
// Each family of kernels has a file that begins with a line such as
//
//	var _ = family("decode", decode)
//
// and becomes decode_asm_amd64.s and decode_asm_amd64.go. With arguments, only the
// families named are written.
package main

import (
	"fmt"
	"log"
	"os"
	"path/filepath"
	"slices"

	"github.com/mmcloughlin/avo/build"
	"github.com/mmcloughlin/avo/pass"
	"github.com/mmcloughlin/avo/printer"
)

// families are what to generate, by name.
var families = map[string]func(*build.Context){}

// family adds a family of kernels.
func family(name string, f func(*build.Context)) bool {
	families[name] = f
	return true
}

func main() {
	log.SetFlags(0)
	log.SetPrefix("gen: ")
	names := os.Args[1:]
	if len(names) == 0 {
		for name := range families {
			names = append(names, name)
		}
		slices.Sort(names)
	}
	for _, name := range names {
		f, ok := families[name]
		if !ok {
			log.Fatalf("no family of kernels is called %q", name)
		}
		if err := write(name, f); err != nil {
			log.Fatalf("%s: %v", name, err)
		}
	}
}

// write generates one family.
func write(name string, f func(*build.Context)) error {
	c := build.NewContext()
	c.ConstraintExpr("!purego")
	f(c)
	file, err := c.Result()
	if err != nil {
		return err
	}
	if err := pass.Compile.Execute(file); err != nil {
		return err
	}
	cfg := printer.Config{Name: "internal/kernel/gen", Pkg: "kernel"}
	for ext, p := range map[string]printer.Printer{
		".s":  printer.NewGoAsm(cfg),
		".go": printer.NewStubs(cfg),
	} {
		text, err := p.Print(file)
		if err != nil {
			return err
		}
		path := filepath.Join("..", fmt.Sprintf("%s_asm_amd64%s", name, ext))
		if err := os.WriteFile(path, text, 0o644); err != nil {
			return err
		}
	}
	return nil
}
