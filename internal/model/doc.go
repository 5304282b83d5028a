// Package model holds the words of a recording date as plain types and rules.
// Trade terms keep their trade meaning:
//
//	source     what is heard: a kick drum, a voice, an amplifier
//	line       one path from a source to a track: microphone or DI, cable, tie
//	           line, preamp, converter, track; it has a number on the input list
//	input list the sheet that names every line
//	pass       one run of the recorder: the files that share a start
//	take       music: one performance, recorded by a pass
//	finding    one thing the measurements say, with its evidence and what to do
//	tidemark   a line's level picture: floor, usual range, highest mark, room above
//
// A channel is a channel of a sound file; it becomes a line only by a match.
// Nothing here opens a file, asks the time or knows how a measure is made.
package model
