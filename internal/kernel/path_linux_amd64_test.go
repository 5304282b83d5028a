//go:build !purego

package kernel

import (
	"os"
	"slices"
	"strings"
	"testing"
)

// The operating system lists what the processor can do and it keeps registers for.
func TestTheProcessorIsAskedAsTheSystemAsksIt(t *testing.T) {
	text, err := os.ReadFile("/proc/cpuinfo")
	if err != nil {
		t.Skip(err)
	}
	_, rest, found := strings.Cut(string(text), "\nflags")
	line, _, _ := strings.Cut(rest, "\n")
	flags := strings.Fields(line)
	if !found || len(flags) < 10 {
		t.Skip("the system lists no flags of the processor")
	}
	avx2, fma := detect()
	wantAVX2 := slices.Contains(flags, "avx2")
	wantFMA := wantAVX2 && slices.Contains(flags, "fma")
	if avx2 != wantAVX2 || fma != wantFMA {
		t.Errorf("AVX2 %v, FMA %v; the system says %v, %v", avx2, fma, wantAVX2, wantFMA)
	}
}
