package meter

import "tidemark/internal/unit"

// Hop is what is kept of each 100 ms of a channel (12 bytes): the picture of a
// line over time, from which its tidemark, its pauses and its end are read.
type Hop struct {
	MeanSquare float32 // Σx²/N
	Peak       float32 // max |x|
	Bright     float32 // Σ(x[n]−x[n−1])²/N: power weighted towards high frequencies
}

// LevelReading is what Level knows of one channel.
type LevelReading struct {
	Frames     int64
	Peak       float64 // max |x|
	PeakFrame  int64   // where it was first reached
	MeanSquare float64
	DC         float64 // mean of the samples, full scale ±1
	HopFrames  int     // frames in a hop: fs/10
	Hops       []Hop   // complete hops, and the last incomplete one if it holds at least half a hop; shared, not to be changed
}

// TidemarkReading is the level picture of a line: where it lies when nobody
// plays, where it lies as a rule, how high the water came, and what is left.
// RMS levels of 100 ms, AES17 (see unit).
type TidemarkReading struct {
	Floor     unit.Maybe[unit.DBFS] // noise floor in pauses: the 5th percentile of hops that are not digital zero
	Steady    bool                  // the quietest tenth of the hops lie within SteadySpreadDB: a real floor, not soft playing
	UsualLow  unit.Maybe[unit.DBFS] // 10th percentile of the hops that pass the gate
	UsualHigh unit.Maybe[unit.DBFS] // 95th percentile of the same
	Highest   unit.Maybe[unit.DBFS] // loudest hop
	Peak      unit.Maybe[unit.DBFS] // sample peak
	Headroom  unit.Maybe[unit.DB]   // from the sample peak up to full scale; negative for float sound above it
}
