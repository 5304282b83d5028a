package kernel

// Path names the code in use: "avx2" or "portable".
func Path() string {
	if vector() {
		return "avx2"
	}
	return "portable"
}

// Portable makes every kernel take the portable path from now on, or lets it
// take the processor's again, and returns what was in force before. It is for
// tests, benchmarks and the edge of a command, before the measuring begins: no
// other goroutine may be in a kernel meanwhile.
func Portable(on bool) (was bool) {
	was = forcedPortable
	forcedPortable = on
	choose()
	return was
}

var forcedPortable bool
