// Package match decides which file is which line.
//
// It works in two steps. Passes gathers recordings into runs of the recorder,
// by when they began. Files gives each channel of a pass to a line of the input
// list, by its name first, by a number in its name next, by its place in the
// file last, and says how sure it is.
//
// A wrong match is worse than none: it would send an assistant to the wrong
// cable. So every match carries a score, the runner-up, and Certain only where
// the margin is clear; and a person's word (Override) always wins.
//
// What recorders call files is common practice without a published source.
package match
