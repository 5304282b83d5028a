package meter

func init() {
	suiteMeters = append(suiteMeters,
		// Eight bytes for each 10 ms; the slice they lie in may be a quarter longer.
		suiteMeter{"pitch", 1, oneChannel[*Pitch, PitchReading](NewPitch), 1000},
		suiteMeter{"pitch of drums", 1, oneChannel[*DrumPitch, DrumReading](NewDrumPitch), 0},
	)
}
