package cli

import (
	"fmt"
	"runtime"
	"runtime/debug"

	"tidemark/internal/kernel"
)

// version tells which program this is: its version or commit, the system it was
// built for, and which code its inner loops run.
func version() string {
	name := "of unknown origin"
	if info, ok := debug.ReadBuildInfo(); ok {
		name = info.Main.Version
		for _, s := range info.Settings {
			if s.Key == "vcs.revision" && (name == "" || name == "(devel)") {
				name = s.Value[:min(12, len(s.Value))]
			}
		}
	}
	return fmt.Sprintf("%s, %s/%s, kernels: %s", name, runtime.GOOS, runtime.GOARCH, kernel.Path())
}
