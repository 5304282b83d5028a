// Package meter measures one signal as it streams by: levels, loudness, true
// peak, spectrum and the faults of a line.
//
// A meter is made for a rate, fed blocks of any length with Measure and read at
// any time with Reading; reading changes nothing. How the signal was cut into
// blocks changes no reading by a bit. Measure allocates nothing once warmed up,
// and memory is bounded: the few bytes kept for each 100 ms are named where
// they are kept. A one-channel meter takes the samples of its channel; meters
// of several channels take the sound.Block.
//
// Symbols: fs sample rate in Hz, x[n] samples with full scale ±1, n frames from
// the start of the recording. Events carry frames, so that a finding can point
// there. Undefined readings are unit.Maybe without a value.
package meter

// Run is a stretch of frames.
type Run struct {
	Frame     int64   // first frame
	Frames    int64   // length
	Amplitude float32 // the sample value that makes the run (with its sign), or the largest in it
}

// Events gathers runs of one kind: all are counted, the first few are kept.
type Events struct {
	Count  int   // how many runs
	Frames int64 // frames in all of them
	Kept   []Run // the first KeptEvents, in order of time
	Last   Run
}

// KeptEvents is how many places of one kind of event a meter keeps.
const KeptEvents = 256

func (e *Events) add(r Run) {
	e.Count++
	e.Frames += r.Frames
	e.Last = r
	if len(e.Kept) < KeptEvents {
		e.Kept = append(e.Kept, r)
	}
}
