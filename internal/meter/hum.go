package meter

import "tidemark/internal/unit"

// HumReading is the steady mains hum of one channel.
type HumReading struct {
	Known         bool                  // false: the recording was too short to tell
	FundamentalHz float64               // estimated mains frequency; 0 where no hum was found
	Level         unit.Maybe[unit.DBFS] // RMS of all harmonics found, AES17
	OverFloorDB   float64               // strongest harmonic over the noise between its neighbours
	Harmonics     []Harmonic            // those that stand over the floor, by number
}

// Harmonic is one line of a hum.
type Harmonic struct {
	Number      int
	Hz          float64
	LevelDBFS   float64 // AES17: the level of a sine is its peak level
	OverFloorDB float64
}
