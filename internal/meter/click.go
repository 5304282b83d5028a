package meter

// Click is one impulse that does not belong to the sound around it.
type Click struct {
	Frame     int64
	Frames    int64   // width
	Amplitude float64 // largest prediction residual
	OverDB    float64 // residual over the robust residual around it
}

// ClickReading lists the clicks of one channel.
type ClickReading struct {
	Count     int
	Clicks    []Click  // the first KeptEvents
	PerSecond []uint16 // clicks in each second of the recording
}
