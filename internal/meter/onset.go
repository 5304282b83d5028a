package meter

// Onset is the beginning of a hit or note.
type Onset struct {
	Frame  int64   // where the rise starts, within about 1 ms
	RiseDB float64 // fast level after against slow level before
	Peak   float32 // largest |x| within 10 ms after it
}

// OnsetReading lists the strongest onsets of a channel, spread over its
// length: at most KeptOnsets, in order of time.
type OnsetReading struct {
	Count  int
	Onsets []Onset
}

// KeptOnsets is how many onsets a channel keeps at most.
const KeptOnsets = 512
