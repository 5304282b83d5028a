//go:build race

package desk_test

// raced says that the race detector watches, which makes the band play and the
// meters listen many times slower.
const raced = true
