package meter

import "tidemark/internal/sound"

func init() {
	suiteMeters = append(suiteMeters,
		suiteMeter{
			name: "level", channels: 1, bytesPerSecond: 120,
			start: oneChannel(NewLevel),
		},
		suiteMeter{
			name: "true peak, windowed sinc", channels: 1,
			start: oneChannel(func(rateHz int) *TruePeak { return NewTruePeak(rateHz, WindowedSinc) }),
		},
		suiteMeter{
			name: "true peak, table of Annex 2", channels: 1,
			start: oneChannel(func(rateHz int) *TruePeak { return NewTruePeak(rateHz, Annex2Table) }),
		},
		suiteMeter{
			name: "bits", channels: 1,
			start: oneChannel(func(int) *Bits { return NewBits() }),
		},
		suiteMeter{
			name: "stereo", channels: 2,
			start: func(rateHz int) (func(*sound.Block), func() any) {
				m := NewStereo(rateHz)
				return m.Measure, func() any { return m.Reading() }
			},
		},
		suiteMeter{
			name: "loudness of a line", channels: 1, bytesPerSecond: 80,
			start: suiteLoudness(1),
		},
		suiteMeter{
			name: "loudness of a stereo programme", channels: 2, bytesPerSecond: 160,
			start: suiteLoudness(2),
		},
	)
}

// suiteLoudness reads all that a loudness meter can tell.
func suiteLoudness(channels int) func(int) (func(*sound.Block), func() any) {
	return func(rateHz int) (func(*sound.Block), func() any) {
		m := NewLoudness(rateHz, channels, nil)
		return m.Measure, func() any {
			all := []any{m.Reading(), m.ProgrammeHops(), m.Momentary(), m.ShortTerm()}
			for c := range channels {
				all = append(all, m.ChannelReading(c))
			}
			return all
		}
	}
}
