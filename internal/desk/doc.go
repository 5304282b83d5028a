// Package desk holds the use cases: what both faces, command line and web, ask
// Tidemark to do. It owns contexts, goroutines and progress; measuring and
// judging happen in the rings below it, opening and serving in the edges above.
//
// Start reading at CheckPass.
package desk
