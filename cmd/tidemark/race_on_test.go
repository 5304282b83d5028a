//go:build race

package main

// raced says that the race detector watches, which makes the band play and the
// meters listen many times slower.
const raced = true
