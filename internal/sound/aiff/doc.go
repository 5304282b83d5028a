// Package aiff reads AIFF (1.3, 1989) and AIFF-C (draft, 1991), and writes what
// the tests need. All numbers are big-endian.
//
//	FORM size AIFF | COMM channels frames bits rate | SSND offset block samples
//	FORM size AIFC | COMM … compression name        | SSND …
//
// Read are plain samples alone: AIFF, and AIFF-C of the kinds NONE, twos, in24
// and in32 (big-endian integers), sowt (little-endian), raw (unsigned, 8 bits),
// fl32 and fl64. Samples are left-justified; those of 8 bits are signed. Chunks
// may stand in any order. As with WAV, the lengths are claims: the sound of a
// recorder that crashed runs to the last whole frame of the file, and
// Header.Damage says so.
package aiff
