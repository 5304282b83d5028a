// Package statistics tells what a count of answers is worth: could it be luck,
// between which limits does the truth lie, who is preferred by how much.
//
// It is the arithmetic of blind listening. A listener is asked n times and is
// right k times; by guessing alone they would be right with a known chance,
// one in two where there are two answers, one in three where one of three is the
// odd one.
//
//	p      how likely guessing alone gives k right of n, or more: small means heard
//	level  the largest p that is taken for heard: 0.05 and 0.01 are usual
//
// A p holds only for a number of trials that was fixed before: who stops as
// soon as they are ahead reads far too small ones.
//
// Counts that cannot be (more right than asked, fewer than none) are wrong
// calls and panic; no trials at all is an answer: nothing is known.
package statistics
