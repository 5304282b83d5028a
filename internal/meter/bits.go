package meter

// BitsReading tells how many bits of the samples are really used.
type BitsReading struct {
	Used  int  // lowest number of bits that holds every sample exactly, 0 for silence
	Float bool // the samples fit no integer of 24 bits: true float, or past full scale
}
