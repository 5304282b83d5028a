package meter

import "tidemark/internal/unit"

// TruePeakReading is the true peak of one channel.
type TruePeakReading struct {
	Max   unit.Maybe[unit.DBTP]
	Frame int64 // the frame it lies at or just after
	Overs int   // stretches above 0 dBTP
}
