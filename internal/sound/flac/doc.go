// Package flac reads FLAC, RFC 9639 (12/2024), laid out like it: metadata.go is
// clause 8, header.go 9.1, subframe.go 9.2, residual.go 9.2.7. Symbols:
//
//	block     the samples of one stretch of time, all channels; 16 to 65535 frames
//	frame     in the RFC a coded block. Elsewhere in Tidemark a frame is one
//	          sample per channel; here that is called a sample where both meet
//	residual  what prediction from the samples before leaves over
//
// Nothing that a file declares is allocated before it is held: a block takes at
// most 65535 samples of 8 channels (4 MiB), a coded block at most 4 MiB.
//
// What is broken must not move what is whole: where a coded block is damaged or
// missing, silence of its length stands in its place, so that later sound keeps
// its time, and Damage names the place. Sound that was read from beginning to
// end is compared with the MD5 sum that the encoder left.
package flac
