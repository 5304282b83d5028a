package meter

import "tidemark/internal/unit"

// LoudnessReading is the loudness of a programme or of a line by itself.
type LoudnessReading struct {
	Integrated   unit.Maybe[unit.LUFS] // BS.1770-5, gated
	MaxMomentary unit.Maybe[unit.LUFS] // 400 ms
	MaxShortTerm unit.Maybe[unit.LUFS] // 3 s
	Range        unit.Maybe[unit.LU]   // Tech 3342
}
