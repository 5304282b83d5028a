package meter

func init() {
	suiteMeters = append(suiteMeters,
		suiteMeter{"clipping, 24 bit", 1, oneChannel[*Clipping, ClippingReading](func(rate int) *Clipping { return NewClipping(rate, topOf(24)) }), 0},
		suiteMeter{"clipping, float", 1, oneChannel[*Clipping, ClippingReading](func(rate int) *Clipping { return NewClipping(rate, 1) }), 0},
		suiteMeter{"dropout", 1, oneChannel[*Dropout, DropoutReading](NewDropout), 0},
		suiteMeter{"onset", 1, oneChannel[*Onsets, OnsetReading](NewOnset), 0},
		// Two bytes a second; the slice they lie in may be twice as long.
		suiteMeter{"click", 1, oneChannel[*Clicks, ClickReading](NewClick), 4},
		suiteMeter{"hum", 1, oneChannel[*Hum, HumReading](func(rate int) *Hum { return NewHum(rate, MainsAuto) }), 0},
		suiteMeter{"spectrum, sampled", 1, oneChannel[*Spectrum, SpectrumReading](func(rate int) *Spectrum {
			m := NewSpectrum(rate)
			m.sample()
			return m
		}), 0},
		suiteMeter{"spectrum", 1, oneChannel[*Spectrum, SpectrumReading](NewSpectrum), 0},
	)
}
