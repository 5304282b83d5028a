package meter

// DropoutReading tells of digital silence and of holes in the sound.
type DropoutReading struct {
	Dropouts      Events // exact zeros or one held value of 1 ms and more with a torn edge; Amplitude is the sample before it
	Repeats       Events // a block of sound written twice in a row
	ZeroFrames    int64  // frames of exact zero in all
	LeadingZeros  int64  // frames of exact zero at the start
	TrailingZeros int64  // frames of exact zero at the end
	LongestZero   Run    // longest run of exact zeros anywhere
}
